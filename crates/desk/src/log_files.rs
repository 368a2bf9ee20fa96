//! The files of logs: beside the store, each under the SHA-256 of its bytes, taken
//! in as they come so that no log has to fit into memory.

use std::fs::{self, File};
use std::io::{self, BufRead as _, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use evidence::read::LogError;
use evidence::scan::Header;
use sha2::{Digest as _, Sha256};

use crate::store::{Digest, StoreError, random};

/// Bytes of one file.
const MOST_BYTES: u64 = 16 << 30;
/// Bytes of all files of all logs.
const MOST_IN_ALL: u64 = 64 << 30;
/// Bytes of an event log, which is read in one piece.
const MOST_EVENTS: u64 = 512 << 20;
/// Files of an archive.
const MOST_PACKED: usize = 400;
/// Bytes of a header line.
const HEADER_BYTES: u64 = 64 << 10;
/// Letters of a file's name.
const NAME_LETTERS: usize = 80;
/// What a file that is still coming in begins with.
const COMING: &str = "coming-";

/// The folder of all logs' files.
pub(crate) struct LogFiles {
    folder: PathBuf,
}

/// A file that was taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TakenFile {
    pub(crate) name: String,
    pub(crate) digest: String,
    pub(crate) bytes: u64,
    /// Cells of its first line; none of a file that is no table.
    pub(crate) columns: Vec<String>,
}

fn refused(what: String) -> StoreError {
    StoreError::Refused(what)
}

/// Why the columns of a Parquet file are not known, with the way out.
fn unread(error: LogError) -> StoreError {
    match error {
        LogError::File { source, .. } => StoreError::File(source),
        LogError::Problems(problems) => {
            let said = problems.iter();
            let said = said.map(|problem| format!("{}; {}", problem.found, problem.mend));
            refused(said.collect::<Vec<_>>().join("; "))
        }
        LogError::Cancelled => refused(error.to_string()),
    }
}

/// Whether the name is an event log's.
pub(crate) fn is_event_log(name: &str) -> bool {
    matches!(
        ending(name).as_str(),
        "xes" | "json" | "jsonocel" | "xml" | "xmlocel"
    )
}

/// Whether the name is that of rows and columns, as text or as Parquet.
fn is_table(name: &str) -> bool {
    matches!(ending(name).as_str(), "csv" | "tsv" | "txt") || is_parquet(name)
}

fn is_parquet(name: &str) -> bool {
    evidence::read::is_parquet(Path::new(name))
}

fn ending(name: &str) -> String {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    ending.to_ascii_lowercase()
}

/// The last part of a path in letters that every system takes.
fn plain_name(path: &str) -> Result<String, StoreError> {
    let last = path.rsplit(['/', '\\']).next().unwrap_or("");
    let plain: String = last
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || "._- ".contains(c) {
                c
            } else {
                '-'
            }
        })
        .collect();
    let plain = plain.trim().trim_start_matches('.').to_owned();
    if plain.is_empty() || plain.chars().count() > NAME_LETTERS {
        return Err(refused(format!(
            "the file's name is `{last}`; give it one of 1 to {NAME_LETTERS} letters"
        )));
    }
    Ok(plain)
}

#[allow(
    clippy::disallowed_methods,
    reason = "logs lie in files beside the store"
)]
impl LogFiles {
    /// Where a store's logs lie.
    pub(crate) fn folder(store: &Path) -> PathBuf {
        let mut name = store.file_name().unwrap_or_default().to_os_string();
        name.push(".logs");
        store.with_file_name(name)
    }

    /// In a folder, which stays as it is.
    pub(crate) fn at(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
        }
    }

    /// Beside a store; what was left half way by an earlier program goes.
    pub(crate) fn beside(store: &Path) -> Self {
        let folder = Self::folder(store);
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            if entry.file_name().to_string_lossy().starts_with(COMING) {
                // What cannot be taken away now is taken away the next time.
                let _ = fs::remove_file(entry.path());
            }
        }
        Self { folder }
    }

    /// A file that begins to come in.
    pub(crate) fn begin(&self) -> Result<Coming, StoreError> {
        fs::create_dir_all(&self.folder)?;
        let number = u64::from_le_bytes(random::<8>()?);
        let path = self.folder.join(format!("{COMING}{number:016x}"));
        let file = File::create(&path)?;
        Ok(Coming {
            file: Some(BufWriter::with_capacity(1 << 20, file)),
            path,
            hash: Sha256::new(),
            bytes: 0,
            most: MOST_BYTES.min(MOST_IN_ALL.saturating_sub(self.bytes())),
        })
    }

    /// Keeps what came in; an archive is unpacked, and its files are kept.
    pub(crate) fn keep(&self, name: &str, coming: Coming) -> Result<Vec<TakenFile>, StoreError> {
        let name = plain_name(name)?;
        let coming = coming.ended()?;
        if ending(&name) == "zip" {
            return self.unpack(&coming);
        }
        if !is_table(&name) && !is_event_log(&name) {
            return Err(refused(format!(
                "`{name}` is no log; send .csv, .parquet, .zip, or an event log (.xes, .json, .xml)"
            )));
        }
        Ok(vec![self.settle(name, coming)?])
    }

    fn settle(&self, name: String, mut coming: Coming) -> Result<TakenFile, StoreError> {
        if is_event_log(&name) && coming.bytes > MOST_EVENTS {
            return Err(refused(format!(
                "the event log `{name}` has {} bytes and at most {MOST_EVENTS} are read; export \
                 it in parts, or as states in CSV",
                coming.bytes
            )));
        }
        let columns = if is_parquet(&name) {
            let found = evidence::read::parquet_columns(&coming.path, &name);
            found.map_err(unread)?
        } else if is_table(&name) {
            columns(&coming.path)?
        } else {
            Vec::new()
        };
        let digest = coming.digest().to_string();
        let folder = self.folder.join(&digest);
        if self.path(&digest).is_none() {
            fs::create_dir_all(&folder)?;
            fs::rename(&coming.path, folder.join(&name))?;
        }
        Ok(TakenFile {
            name,
            digest,
            bytes: coming.bytes,
            columns,
        })
    }

    fn unpack(&self, archive: &Coming) -> Result<Vec<TakenFile>, StoreError> {
        let broken =
            |what: &str| refused(format!("the archive {what}; pack the log's files again"));
        let file = File::open(&archive.path)?;
        let mut zip =
            zip::ZipArchive::new(BufReader::new(file)).map_err(|_| broken("cannot be read"))?;
        if zip.len() > MOST_PACKED {
            return Err(broken("holds more than 400 files"));
        }
        let mut taken = Vec::new();
        for index in 0..zip.len() {
            let mut entry = zip.by_index(index).map_err(|_| broken("cannot be read"))?;
            let path = entry.name().replace('\\', "/");
            let hidden =
                path.starts_with("__MACOSX/") || path.split('/').any(|p| p.starts_with('.'));
            if !entry.is_file() || hidden || !(is_table(&path) || is_event_log(&path)) {
                continue;
            }
            let mut coming = self.begin()?;
            let mut buffer = vec![0; 1 << 16];
            loop {
                let read = entry
                    .read(&mut buffer)
                    .map_err(|_| broken("is cut off or damaged"))?;
                if read == 0 {
                    break;
                }
                coming.take(&buffer[..read])?;
            }
            taken.push(self.settle(plain_name(&path)?, coming.ended()?)?);
        }
        if taken.is_empty() {
            return Err(broken("holds no .csv, no .parquet and no event log"));
        }
        Ok(taken)
    }

    /// Where a file lies; none where it was not taken in.
    pub(crate) fn path(&self, digest: &str) -> Option<PathBuf> {
        let is_digest = digest.len() == 64 && digest.bytes().all(|b| b.is_ascii_hexdigit());
        if !is_digest {
            return None;
        }
        let entries = fs::read_dir(self.folder.join(digest)).ok()?;
        entries
            .flatten()
            .map(|entry| entry.path())
            .find(|path| path.is_file())
    }

    /// Takes a file away.
    pub(crate) fn remove(&self, digest: &str) -> io::Result<()> {
        match self.path(digest) {
            Some(path) => fs::remove_dir_all(path.parent().unwrap_or(&path)),
            None => Ok(()),
        }
    }

    /// Bytes of all files.
    fn bytes(&self) -> u64 {
        let folders = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        folders
            .map(|entry| {
                let path = entry.path();
                let inner = fs::read_dir(&path).into_iter().flatten().flatten();
                let size = |entry: fs::DirEntry| entry.metadata().map_or(0, |facts| facts.len());
                if path.is_dir() {
                    inner.map(size).sum()
                } else {
                    size(entry)
                }
            })
            .sum()
    }
}

#[allow(
    clippy::disallowed_methods,
    reason = "logs lie in files beside the store"
)]
fn columns(path: &Path) -> Result<Vec<String>, StoreError> {
    let mut line = Vec::new();
    let reader = BufReader::new(File::open(path)?);
    reader.take(HEADER_BYTES).read_until(b'\n', &mut line)?;
    if line.contains(&0) {
        return Err(refused(
            "the file is no text; export the log as CSV in UTF-8".to_owned(),
        ));
    }
    let (_, names) = Header::names(&line);
    Ok(names)
}

/// A file while it comes in; it is gone when this is dropped unless it was kept.
pub(crate) struct Coming {
    file: Option<BufWriter<File>>,
    path: PathBuf,
    hash: Sha256,
    bytes: u64,
    most: u64,
}

impl Coming {
    /// The next bytes.
    pub(crate) fn take(&mut self, bytes: &[u8]) -> Result<(), StoreError> {
        self.bytes += bytes.len() as u64;
        if self.bytes > self.most {
            return Err(refused(format!(
                "the file is larger than the {} bytes that may still be kept; take old logs out, \
                 or send a shorter one",
                self.most
            )));
        }
        self.hash.update(bytes);
        if let Some(file) = &mut self.file {
            file.write_all(bytes)?;
        }
        Ok(())
    }

    /// All of it is on the disk.
    fn ended(mut self) -> Result<Self, StoreError> {
        if let Some(mut file) = self.file.take() {
            file.flush()?;
        }
        Ok(self)
    }

    fn digest(&mut self) -> Digest {
        Digest(self.hash.finalize_reset().into())
    }
}

impl Write for Coming {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = self.take(bytes);
        taken.map_err(|error| io::Error::other(error.to_string()))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.as_mut().map_or(Ok(()), Write::flush)
    }
}

impl Drop for Coming {
    fn drop(&mut self) {
        // A file that was kept is no longer at this place.
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(files: &LogFiles, name: &str, bytes: &[u8]) -> Result<Vec<TakenFile>, StoreError> {
        let mut coming = files.begin().unwrap();
        coming.take(bytes).unwrap();
        files.keep(name, coming)
    }

    #[test]
    fn a_file_is_kept_once_under_its_digest_with_its_columns() {
        let folder = tempfile::tempdir().unwrap();
        let files = LogFiles::beside(&folder.path().join("plant.lw"));
        let text = b"Maschine;Beginn;Status\r\nA;2026-03-02T06:00;RUN\r\n";
        let first = taken(&files, "C:\\out\\shift.csv", text).unwrap();
        assert_eq!(first[0].name, "shift.csv");
        assert_eq!(first[0].columns, ["Maschine", "Beginn", "Status"]);
        assert_eq!(
            taken(&files, "again.csv", text).unwrap()[0].digest,
            first[0].digest
        );
        let path = files.path(&first[0].digest).unwrap();
        assert!(path.ends_with("shift.csv"));
        files.remove(&first[0].digest).unwrap();
        assert_eq!(files.path(&first[0].digest), None);
        assert_eq!(files.path("../plant.lw"), None);
    }

    #[test]
    fn an_archive_gives_its_logs_and_what_was_cut_off_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let files = LogFiles::beside(&folder.path().join("plant.lw"));
        let mut zip = zip::ZipWriter::new(io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        for (name, text) in [
            ("log/states.csv", "station,from,state\n"),
            ("log/counts.csv", "station,time,made\n"),
            ("log/read me.md", "hello"),
        ] {
            zip.start_file(name, options).unwrap();
            zip.write_all(text.as_bytes()).unwrap();
        }
        let bytes = zip.finish().unwrap().into_inner();
        let names: Vec<String> = taken(&files, "log.zip", &bytes)
            .unwrap()
            .into_iter()
            .map(|file| file.name)
            .collect();
        assert_eq!(names, ["states.csv", "counts.csv"]);
        assert!(taken(&files, "log.zip", &bytes[..bytes.len() / 2]).is_err());
        assert!(taken(&files, "log.pdf", b"%PDF").is_err());
        let no_parquet = taken(&files, "log.parquet", b"PAR1, cut off").unwrap_err();
        assert!(no_parquet.to_string().contains("Parquet"), "{no_parquet}");
        assert!(taken(&files, "log.csv", b"a\0b\n").is_err());
        let left = fs::read_dir(&files.folder).unwrap().flatten();
        let coming = left.filter(|entry| entry.file_name().to_string_lossy().starts_with(COMING));
        assert_eq!(coming.count(), 0);
    }
}
