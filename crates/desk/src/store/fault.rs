//! What can go wrong with a store, in plain words.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

/// Why the store did not do what was asked; nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The file system refused.
    #[error("the system refused: {0}")]
    File(#[from] std::io::Error),
    /// Another program holds the file.
    #[error("another program holds the store locked; close it and try again")]
    Locked,
    /// No room is left.
    #[error("no room is left for the store; free some space and try again, nothing was changed")]
    Full,
    /// The file is hurt.
    #[error(
        "the store is damaged ({0}); restore the last backup, the damaged file was not touched"
    )]
    Damaged(String),
    /// The file is something else.
    #[error("the file is no store of this program ({0}); name another file")]
    Foreign(String),
    /// The file comes from a later program.
    #[error(
        "the store has schema {found} and this program knows up to {known}; use the newer program"
    )]
    Newer {
        /// The file's schema.
        found: i64,
        /// The newest one known.
        known: i64,
    },
    /// The file may only be read.
    #[error("the store may only be read; give this user the right to write to it")]
    ReadOnly,
    /// There is no such thing in the store.
    #[error("{0}")]
    Unknown(String),
    /// What was asked makes no sense.
    #[error("{0}")]
    Refused(String),
    /// Anything else that the database says.
    #[error("the store failed: {0}")]
    Database(rusqlite::Error),
    /// The same, of a file that is named.
    #[error("`{}`: {why}", path.display())]
    At {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: Box<StoreError>,
    },
}

impl StoreError {
    /// Names the file; for messages outside the program's own page.
    pub(crate) fn at(self, path: &Path) -> Self {
        Self::At {
            path: path.to_owned(),
            why: Box::new(self),
        }
    }

    /// Without the file's name.
    pub fn bare(&self) -> &Self {
        match self {
            Self::At { why, .. } => why.bare(),
            other => other,
        }
    }

    pub(crate) fn no_revision(id: i64) -> Self {
        Self::Unknown(format!("there is no revision {id}"))
    }

    pub(crate) fn no_variant(id: i64) -> Self {
        Self::Unknown(format!("there is no variant {id}"))
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked,
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged(error.to_string()),
            Some(ErrorCode::NotADatabase) => Self::Foreign(error.to_string()),
            Some(ErrorCode::ReadOnly) => Self::ReadOnly,
            _ => match error {
                // Values of the wrong type stand only where bytes were changed
                // behind the program's back.
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::Utf8Error(..)
                | rusqlite::Error::IntegralValueOutOfRange(..) => Self::Damaged(error.to_string()),
                other => Self::Database(other),
            },
        }
    }
}
