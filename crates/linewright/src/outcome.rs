//! What a question ends with: an answer, or the reason why there is none.

use std::fmt;
use std::path::Path;

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

/// Why there is no answer; goes to standard error.
#[derive(Debug)]
pub(crate) struct Failure {
    message: String,
    /// The exit code.
    pub(crate) code: u8,
}

impl Failure {
    /// The question cannot be asked so, or the file cannot be read.
    pub(crate) fn usage(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            code: 2,
        }
    }

    /// The answer is no, and the reasons are all there is to say.
    pub(crate) fn no(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            code: 1,
        }
    }

    /// Somebody pressed Ctrl-C; 130 is what shells expect then.
    pub(crate) fn cancelled(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            code: 130,
        }
    }

    /// A file or folder did not do what was asked of it.
    pub(crate) fn file(verb: &str, path: &Path, error: impl fmt::Display) -> Self {
        Self::usage(format!("cannot {verb} {}: {error}", path.display()))
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}
