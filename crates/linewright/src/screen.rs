//! The two ways out: standard output for answers, standard error for the rest.

use std::io::{self, Write};
use std::process::ExitCode;

use crate::outcome::{Answer, Failure};

/// Prints an answer.
pub(crate) fn answer(answer: &Answer) -> ExitCode {
    print(&answer.text, ExitCode::from(u8::from(!answer.holds)))
}

fn print(text: &str, code: ExitCode) -> ExitCode {
    let mut out = io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Ok(()) => code,
        // `linewright plan BOOK | head`: the reader has seen enough.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => code,
        Err(error) => failure(&Failure::usage(format!("cannot write the answer: {error}"))),
    }
}

/// Prints why there is no answer.
pub(crate) fn failure(failure: &Failure) -> ExitCode {
    let code = ExitCode::from(failure.code);
    if failure.as_asked {
        return print(&failure.to_string(), code);
    }
    say(&format!("linewright: {failure}\n"));
    code
}

/// Says something beside the answer. Who has closed standard error does not
/// want to hear it, so a failure to write is no failure.
pub(crate) fn say(text: &str) {
    let mut err = io::stderr().lock();
    let _ = err.write_all(text.as_bytes());
    let _ = err.flush();
}
