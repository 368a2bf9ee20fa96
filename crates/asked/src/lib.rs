//! JSON questions to the solvers, read strictly.
//!
//! A question is read by walking it with a [`Cursor`]. Nothing in it is guessed
//! at or passed over: an unknown key, a misspelt name, a number out of its
//! [`Range`] is refused with its path, the value found, what was expected and
//! the smallest change that mends it, all misfits at once.
//!
//! ```
//! use asked::{Cursor, Range};
//!
//! let read = |text: &str| {
//!     asked::read(text, |cursor: &mut Cursor, whole| {
//!         let fields = cursor.object(whole, &["takt_s"])?;
//!         let takt = cursor.required(&fields, "takt_s")?;
//!         cursor.number(&takt, &Range::SECONDS)
//!     })
//! };
//! assert_eq!(read(r#"{"takt_s": 60}"#), Ok(60.0));
//! let refused = read(r#"{"tkat_s": 60}"#).unwrap_err();
//! assert_eq!(refused[0].path, "tkat_s");
//! assert_eq!(refused[0].mend, "did you mean `takt_s`?");
//! ```

mod cursor;
mod fault;
mod json;

use std::fmt;

use serde::Serialize;

pub use cursor::{Cursor, Fields, LONGEST_S, Range, Spot};
pub use fault::Fault;
pub use json::{Json, shown};

/// What does not fit in a question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Where: `stations[2].stops[0].basis`; empty for the whole text.
    pub path: String,
    /// What stands there.
    pub found: String,
    /// What could stand there.
    pub expected: String,
    /// The smallest change that mends it.
    pub mend: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = if self.path.is_empty() {
            "the question"
        } else {
            &self.path
        };
        write!(
            f,
            "{place}: found {}, expected {}; {}",
            self.found, self.expected, self.mend
        )
    }
}

/// Reads a whole question with `reader`.
///
/// # Errors
///
/// Every misfit of the text, in the order in which it was met; never an empty
/// list.
pub fn read<T>(
    text: &str,
    reader: impl FnOnce(&mut Cursor, &Spot<'_>) -> Option<T>,
) -> Result<T, Vec<Problem>> {
    let value = json::parse(text).map_err(|problem| vec![problem])?;
    let mut cursor = Cursor::default();
    let whole = Spot {
        path: String::new(),
        value: &value,
    };
    match reader(&mut cursor, &whole) {
        Some(question) if cursor.problems.is_empty() => Ok(question),
        _ => Err(cursor.problems),
    }
}
