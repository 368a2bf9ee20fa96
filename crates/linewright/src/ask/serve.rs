//! `linewright serve`: the page on this machine, or for others with a token.

use std::net::SocketAddr;

use desk::{Options, Stop};

use super::check::read;
use crate::arguments::ServeArguments;
use crate::outcome::{Answer, Failure};
use crate::screen;

/// Serves until Ctrl-C.
pub(crate) fn serve(asked: &ServeArguments) -> Result<Answer, Failure> {
    let first_book = asked.book.as_deref().map(read).transpose()?;
    let open = asked.open;
    let options = Options {
        store: asked.store.clone(),
        address: SocketAddr::new(asked.address, asked.port),
        hosts: asked.hosts.clone(),
        first_book,
        on_bound: Box::new(move |bound| {
            screen::say(&format!(
                "Linewright is at http://{bound}/ ; Ctrl-C ends it.\n"
            ));
            if open && !show(bound) {
                screen::say("No browser could be opened; open the address by hand.\n");
            }
        }),
        stop: Stop::new(),
    };
    desk::serve(options).map_err(|error| Failure::usage(error.to_string()))?;
    Ok(Answer {
        text: String::new(),
        holds: true,
    })
}

/// Asks the system to show the page; false if it has no way to.
fn show(bound: SocketAddr) -> bool {
    let address = format!("http://{bound}/");
    let (program, arguments) = if cfg!(target_os = "windows") {
        ("cmd", vec!["/C", "start", "", &address])
    } else if cfg!(target_os = "macos") {
        ("open", vec![address.as_str()])
    } else {
        ("xdg-open", vec![address.as_str()])
    };
    std::process::Command::new(program)
        .args(arguments)
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .is_ok()
}
