//! Backup and restore of a store with the logs that were sent to it.
//!
//! A backup is a store like any other: one file, and beside it the folder of its
//! logs' files. So it can also be put back by hand: with nobody at work, both are
//! copied to the store's own name.

use std::ffi::OsString;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::log_files::LogFiles;
use crate::store::{LogFile, Store, StoreError, backup as database};

/// Whether the logs' files go with a backup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Logs {
    /// They are copied.
    With,
    /// They stay behind: which logs there are, how their words are read and what
    /// was noted of their days is in the backup all the same.
    Without,
}

/// The logs' files that were copied, and those that could not be.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Copied {
    /// Where they lie; none where there are none.
    pub folder: Option<PathBuf>,
    /// How many.
    pub files: usize,
    /// Their size.
    pub bytes: u64,
    /// Files of the list of logs that are not there, by name.
    pub missing: Vec<String>,
}

/// What a restore has done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Restored {
    /// Where the store that was there is kept, its logs beside it.
    pub kept: Option<PathBuf>,
    /// The logs of the store now.
    pub logs: Copied,
}

/// Writes a store as of now into a new file and its logs into a folder beside
/// that, while others go on working.
///
/// # Errors
/// When the file or the folder exists, or the disk refuses; what was begun is
/// removed.
pub fn backup(store: &Store, to: &Path, logs: Logs) -> Result<Copied, StoreError> {
    let folder = LogFiles::folder(to);
    if folder.exists() {
        let why = "the folder of a backup's logs is there already; name a new file";
        return Err(StoreError::Refused(why.into()).at(&folder));
    }
    store.backup(to)?;
    if logs == Logs::Without {
        return Ok(Copied::default());
    }
    // The copy's own list: what is sent from now on is not in it.
    let copied = listed(to).and_then(|list| {
        let from = [LogFiles::folder(store.path())];
        copy(&list, &from, &folder)
    });
    copied.map_err(|error| {
        // What is left of a failed backup must not be taken for one.
        let _ = std::fs::remove_file(to);
        let _ = std::fs::remove_dir_all(&folder);
        error.at(&folder)
    })
}

/// Puts a backup in a store's place, its logs with it. Files of logs that the
/// backup was made without are taken from the store that was there.
///
/// # Errors
/// When the backup is no whole store, the store is in use, or the disk refuses;
/// the store then stays as it was.
pub fn restore(backup: &Path, into: &Path) -> Result<Restored, StoreError> {
    database::may_restore(backup, into)?;
    let fresh = database::beside(into, "restoring");
    let folder = LogFiles::folder(&fresh);
    let restored = || -> Result<Restored, StoreError> {
        database::copy(backup, &fresh)?;
        absent(std::fs::remove_dir_all(&folder))?;
        let from = [LogFiles::folder(backup), LogFiles::folder(into)];
        let mut logs = copy(&listed(&fresh)?, &from, &folder)?;
        let kept = database::swap(&fresh, into)?;
        let own = LogFiles::folder(into);
        if let Some(kept) = &kept {
            absent(std::fs::rename(&own, LogFiles::folder(kept)))?;
        }
        if logs.folder.is_some() {
            std::fs::rename(&folder, &own)?;
            logs.folder = Some(own);
        }
        Ok(Restored { kept, logs })
    };
    restored().map_err(|error| {
        let _ = std::fs::remove_file(&fresh);
        let _ = std::fs::remove_dir_all(&folder);
        error.at(into)
    })
}

/// The files of a store's logs, each once.
fn listed(store: &Path) -> Result<Vec<LogFile>, StoreError> {
    let mut files: Vec<LogFile> = Store::open(store)?
        .logs()?
        .into_iter()
        .flat_map(|log| log.files)
        .collect();
    files.sort_by(|a, b| a.digest.cmp(&b.digest));
    files.dedup_by(|a, b| a.digest == b.digest);
    Ok(files)
}

/// Copies files from the first folder that has them.
fn copy(list: &[LogFile], from: &[PathBuf], to: &Path) -> Result<Copied, StoreError> {
    let mut copied = Copied::default();
    for file in list {
        let mut places = from.iter();
        let Some(source) = places.find_map(|folder| LogFiles::at(folder).path(&file.digest)) else {
            copied.missing.push(file.name.clone());
            continue;
        };
        let into = to.join(&file.digest);
        std::fs::create_dir_all(&into)?;
        let name = source
            .file_name()
            .map_or_else(OsString::new, ToOwned::to_owned);
        copied.bytes += std::fs::copy(&source, into.join(name))?;
        copied.files += 1;
        copied.folder = Some(to.to_owned());
    }
    Ok(copied)
}

/// What is not there need not be moved or removed.
fn absent(done: std::io::Result<()>) -> std::io::Result<()> {
    match done {
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use tempfile::TempDir;

    use super::*;
    use crate::store::{FileRole, LogWords, NewLog};

    /// A store with a log of one file, in a folder of its own.
    fn store() -> (TempDir, PathBuf, String) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plant.lw");
        let digest = sent(&path, "a week", "weld");
        (folder, path, digest)
    }

    /// Sends a log to a store; the digest of its file.
    fn sent(path: &Path, name: &str, station: &str) -> String {
        let files = LogFiles::beside(path);
        let mut coming = files.begin().unwrap();
        let text = format!("station,from,state\n{station},2026-03-02T06:00Z,working\n");
        coming.take(text.as_bytes()).unwrap();
        let taken = files.keep("states.csv", coming).unwrap().remove(0);
        let new = NewLog {
            name: name.to_owned(),
            author: "Ada".to_owned(),
            words: LogWords::default(),
            files: vec![LogFile {
                name: taken.name,
                digest: taken.digest.clone(),
                bytes: taken.bytes,
                role: FileRole::States,
                columns: taken.columns,
            }],
        };
        Store::open(path).unwrap().add_log(&new).unwrap();
        taken.digest
    }

    fn has(store: &Path, digest: &str) -> bool {
        let listed = listed(store).unwrap();
        assert!(listed.iter().any(|file| file.digest == digest));
        LogFiles::at(&LogFiles::folder(store))
            .path(digest)
            .is_some()
    }

    #[test]
    fn a_backup_holds_the_logs_and_comes_back_with_them() {
        let (folder, path, digest) = store();
        let copy = folder.path().join("backup.lw");
        let copied = backup(&Store::open(&path).unwrap(), &copy, Logs::With).unwrap();
        assert_eq!((copied.files, copied.missing.len()), (1, 0));
        assert!(copied.bytes > 40 && has(&copy, &digest));

        // What comes after it is not in it, and is kept with the old store.
        let later = sent(&path, "another", "frame");
        let restored = restore(&copy, &path).unwrap();
        assert!(has(&path, &digest));
        assert_eq!(listed(&path).unwrap().len(), 1);
        let kept = restored.kept.unwrap();
        assert!(has(&kept, &digest) && has(&kept, &later));
        assert_eq!(restored.logs.folder, Some(LogFiles::folder(&path)));

        // Where there was no store nothing is kept, and the logs come all the same.
        let new = folder.path().join("new.lw");
        assert_eq!(restore(&copy, &new).unwrap().kept, None);
        assert!(has(&new, &digest));
    }

    #[test]
    fn a_backup_is_put_back_by_hand_by_copying_both() {
        let (folder, path, digest) = store();
        let copy = folder.path().join("backup.lw");
        backup(&Store::open(&path).unwrap(), &copy, Logs::With).unwrap();
        let by_hand = folder.path().join("by hand.lw");
        std::fs::copy(&copy, &by_hand).unwrap();
        let (from, to) = (LogFiles::folder(&copy), LogFiles::folder(&by_hand));
        std::fs::rename(from, to).unwrap();
        assert!(has(&by_hand, &digest));
    }

    #[test]
    fn logs_left_out_are_taken_from_the_store_that_is_replaced_or_said_to_be_gone() {
        let (folder, path, digest) = store();
        let copy = folder.path().join("backup.lw");
        let copied = backup(&Store::open(&path).unwrap(), &copy, Logs::Without).unwrap();
        assert_eq!(copied, Copied::default());
        assert!(!LogFiles::folder(&copy).exists());
        assert_eq!(restore(&copy, &path).unwrap().logs.files, 1);
        assert!(has(&path, &digest));

        let elsewhere = folder.path().join("elsewhere.lw");
        let restored = restore(&copy, &elsewhere).unwrap();
        assert_eq!(restored.logs.missing, ["states.csv"]);
        assert!(!has(&elsewhere, &digest));
    }

    #[test]
    fn no_backup_is_written_over_another() {
        let (folder, path, digest) = store();
        let copy = folder.path().join("backup.lw");
        let store = Store::open(&path).unwrap();
        backup(&store, &copy, Logs::With).unwrap();
        assert!(backup(&store, &copy, Logs::With).is_err());
        std::fs::remove_file(&copy).unwrap();
        let error = backup(&store, &copy, Logs::With).unwrap_err();
        assert!(error.to_string().contains("backup.lw.logs"), "{error}");
        assert!(!copy.exists());
        let left = LogFiles::at(&LogFiles::folder(&copy));
        assert!(left.path(&digest).is_some(), "what was there stays");
    }
}
