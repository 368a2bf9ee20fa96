//! Backup and restore.

use std::path::{Path, PathBuf};

use rusqlite::Connection;

use super::fault::StoreError;
use super::schema::{STEPS, newest};
use super::{Store, open};
use crate::clock;

impl Store {
    /// Writes the whole store as of now into a new file, while others go on
    /// working; the logs beside it are [`crate::keep`]'s.
    ///
    /// # Errors
    /// When the file exists, or the disk refuses; a file begun is removed.
    pub fn backup(&self, to: &Path) -> Result<(), StoreError> {
        new_file(to)?;
        let Some(name) = to.to_str() else {
            return Err(StoreError::Refused("the backup's name is no text".into()).at(to));
        };
        let written = self.read(|connection| {
            connection.execute("VACUUM INTO ?1", [name])?;
            Ok(())
        });
        let checked = written.and_then(|()| open::probe(to, newest(STEPS)));
        checked.map_err(|error| {
            // What is left of a failed backup must not be taken for one.
            let _ = std::fs::remove_file(to);
            error.at(to)
        })
    }
}

/// Whether a backup may take a store's place: it is whole, and nobody has the
/// store open.
pub(crate) fn may_restore(backup: &Path, into: &Path) -> Result<(), StoreError> {
    if !backup.is_file() {
        return Err(StoreError::Unknown("there is no such backup".into()).at(backup));
    }
    open::probe(backup, newest(STEPS)).map_err(|error| error.at(backup))?;
    if into.exists() {
        nobody_uses(into).map_err(|error| error.at(into))?;
    }
    Ok(())
}

/// Copies a backup to where it is made ready.
pub(crate) fn copy(backup: &Path, fresh: &Path) -> Result<(), StoreError> {
    let _ = std::fs::remove_file(fresh);
    // Through the database rather than byte by byte: a backup that is itself a
    // store in use may have part of its content in its log.
    let source = open::reader(backup)?;
    let Some(name) = fresh.to_str() else {
        return Err(StoreError::Refused("the store's name is no text".into()));
    };
    source.execute("VACUUM INTO ?1", [name])?;
    open::probe(fresh, newest(STEPS))
}

/// Puts what is ready in a store's place. A store that is there is kept beside
/// it, under the name returned.
pub(crate) fn swap(fresh: &Path, into: &Path) -> Result<Option<PathBuf>, StoreError> {
    if !into.exists() {
        std::fs::rename(fresh, into)?;
        return Ok(None);
    }
    nobody_uses(into)?;
    let kept = beside(into, &format!("before-restore-{}", clock::now_ms()));
    for ending in ["", "-wal", "-shm"] {
        let (from, to) = (with_ending(into, ending), with_ending(&kept, ending));
        if from.exists() {
            std::fs::rename(from, to)?;
        }
    }
    std::fs::rename(fresh, into)?;
    Ok(Some(kept))
}

/// A store that another program has open must not be moved from under it.
fn nobody_uses(path: &Path) -> Result<(), StoreError> {
    let alone = || -> Result<(), StoreError> {
        let connection = Connection::open(path)?;
        connection.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
        connection.execute_batch("BEGIN EXCLUSIVE; ROLLBACK;")?;
        Ok(())
    };
    match alone() {
        Err(StoreError::Locked) => Err(StoreError::Locked),
        // A damaged store is what a restore is for.
        Ok(()) | Err(_) => Ok(()),
    }
}

fn new_file(path: &Path) -> Result<(), StoreError> {
    if path.exists() {
        return Err(
            StoreError::Refused("the file is there already; name a new one".into()).at(path),
        );
    }
    Ok(())
}

pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    with_ending(path, &format!(".{ending}"))
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}
