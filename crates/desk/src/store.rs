//! The store: one SQLite file that loses nothing.
//!
//! A variant is a line of revisions; its newest one is its head. Revisions are
//! never changed or taken out. Edits name the revision they were made against
//! and are merged with what has come in since ([`merge()`]).

mod arrival;
pub(crate) mod backup;
mod compare;
mod content;
mod digest;
mod fault;
mod logs;
mod merge;
mod open;
mod patch;
pub(crate) mod recent;
mod results;
mod revisions;
mod schema;
mod token;

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rusqlite::{Connection, Transaction, TransactionBehavior};

pub use compare::{BookDifference, ChangedCell, OneSidedRow, compare};
pub use content::{Content, Row, Table};
pub use digest::Digest;
pub use fault::StoreError;
pub(crate) use logs::{FileRole, LogEntry, LogFile, LogNote, LogWords, NewLog};
pub use merge::{Conflict, merge};
pub use patch::Patch;
pub use results::ResultKey;
pub use revisions::{Author, Edit, Edited, Incoming, Revision, Variant};
pub(crate) use token::random;

use recent::Recent;

/// Contents held in memory; tables are shared between them.
const CONTENTS_HELD: usize = 64;
/// Tables held in memory.
const TABLES_HELD: usize = 1_024;
/// Reading connections kept open.
const READERS: usize = 8;

/// An open store; share it between threads.
pub struct Store {
    path: PathBuf,
    /// Before the writer: the last connection to close clears the log away,
    /// and a reading one cannot.
    readers: Mutex<Vec<Connection>>,
    writer: Mutex<Connection>,
    memory: Mutex<Memory>,
}

/// What was read or written lately, by the hash of its bytes.
struct Memory {
    contents: Recent<Digest, Arc<Content>>,
    tables: Recent<String, Arc<Table>>,
}

impl Store {
    /// Opens a store, making the file if there is none.
    ///
    /// ```
    /// let folder = tempfile::tempdir()?;
    /// let store = desk::Store::open(&folder.path().join("plant.lw"))?;
    /// assert!(store.variants()?.is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// When the file is locked, damaged, something else or of a later program;
    /// it is then as it was.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        Self::open_with(path, schema::STEPS)
    }

    fn open_with(path: &Path, steps: &[&str]) -> Result<Self, StoreError> {
        let writer = open::writer(path, steps).map_err(|error| error.at(path))?;
        Ok(Self {
            path: path.to_owned(),
            readers: Mutex::new(Vec::new()),
            writer: Mutex::new(writer),
            memory: Mutex::new(Memory {
                contents: Recent::new(CONTENTS_HELD),
                tables: Recent::new(TABLES_HELD),
            }),
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file's schema.
    ///
    /// # Errors
    /// When the database fails.
    pub fn schema(&self) -> Result<i64, StoreError> {
        self.read(schema::version)
    }

    /// Reads through a connection of its own, beside the writer and others.
    fn read<T>(
        &self,
        work: impl FnOnce(&Connection) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let kept = held(&self.readers).pop();
        let connection = match kept {
            Some(connection) => connection,
            None => open::reader(&self.path)?,
        };
        let result = work(&connection);
        let mut readers = held(&self.readers);
        if readers.len() < READERS {
            readers.push(connection);
        }
        result
    }

    /// Writes everything or nothing; what is returned is on the disk.
    fn write<T>(
        &self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = held(&self.writer);
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let result = work(&transaction)?;
        transaction.commit()?;
        Ok(result)
    }

    /// A content by its hash, from memory or through this connection.
    fn content_of(
        &self,
        connection: &Connection,
        digest: Digest,
    ) -> Result<Arc<Content>, StoreError> {
        if let Some(content) = held(&self.memory).contents.get(&digest) {
            return Ok(content);
        }
        let known = |name: &str| held(&self.memory).tables.get(&name.to_owned());
        let mut fresh = Vec::new();
        let content = Arc::new(content::read(connection, digest, &known, &mut fresh)?);
        for (name, table) in fresh {
            held(&self.memory).tables.put(name, table);
        }
        self.remember(digest, &content);
        Ok(content)
    }

    fn remember(&self, digest: Digest, content: &Arc<Content>) {
        held(&self.memory).contents.put(digest, Arc::clone(content));
    }
}

/// A panic elsewhere leaves these values whole: they are caches and
/// connections, and an open transaction is rolled back when it is dropped.
pub(crate) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests;
