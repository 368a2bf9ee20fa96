//! What a question ends with: an answer, or the reason why there is none.

use std::fmt;
use std::path::Path;

use desk::report::WorkbookError;
use serde::Serialize;

/// The form an answer is printed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    /// Sentences and tables for a person.
    Text,
    /// One JSON object for a program.
    Json,
}

/// What goes to standard output.
pub(crate) struct Answer {
    /// The whole text, in the form asked for.
    pub(crate) text: String,
    /// Whether the answer is the one hoped for: exit code 0, else 1.
    pub(crate) holds: bool,
}

impl Answer {
    /// The answer in one of its two forms; only the one asked for is made.
    pub(crate) fn of(
        form: Form,
        holds: bool,
        json: &impl Serialize,
        text: impl FnOnce() -> String,
    ) -> Result<Self, Failure> {
        let text = match form {
            Form::Text => text(),
            Form::Json => {
                let mut text = serde_json::to_string_pretty(json)
                    .map_err(|error| Failure::usage(format!("cannot write the JSON: {error}")))?;
                text.push('\n');
                text
            }
        };
        Ok(Self { text, holds })
    }
}

/// Why there is no answer.
#[derive(Debug)]
pub(crate) struct Failure {
    message: String,
    /// The exit code.
    pub(crate) code: u8,
    /// Whether the message is what was asked for, as JSON for a program, and so
    /// goes to standard output; else it goes to standard error.
    pub(crate) as_asked: bool,
}

impl Failure {
    /// The question cannot be asked so, or the file cannot be read.
    pub(crate) fn usage(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            code: 2,
            as_asked: false,
        }
    }

    /// The answer is no, and the reasons are all there is to say.
    pub(crate) fn no(message: impl Into<String>) -> Self {
        Self {
            code: 1,
            ..Self::usage(message)
        }
    }

    /// The answer is no: the reasons for a program, or in words.
    pub(crate) fn reasons(
        form: Form,
        json: &impl Serialize,
        words: impl FnOnce() -> String,
    ) -> Self {
        match Answer::of(form, false, json, words) {
            Ok(answer) => Self {
                as_asked: form == Form::Json,
                ..Self::no(answer.text)
            },
            Err(failure) => failure,
        }
    }

    /// Somebody pressed Ctrl-C; 130 is what shells expect then.
    pub(crate) fn cancelled(message: impl Into<String>) -> Self {
        Self {
            code: 130,
            ..Self::usage(message)
        }
    }

    /// A file or folder did not do what was asked of it.
    pub(crate) fn file(verb: &str, path: &Path, error: impl fmt::Display) -> Self {
        Self::usage(format!("cannot {verb} {}: {error}", path.display()))
    }
}

impl From<WorkbookError> for Failure {
    fn from(error: WorkbookError) -> Self {
        Self::usage(error.to_string())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}
