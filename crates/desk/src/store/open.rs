//! Opening the file: what it is, whether it is whole, and only then a
//! connection that may write.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::fault::StoreError;
use super::schema::{APPLICATION_ID, migrate, newest, version};

/// How long a statement waits for another program's lock.
const PATIENCE: Duration = Duration::from_secs(4);

/// Opens the file for writing, making it if there is none, and brings it to the
/// newest schema.
///
/// A file that is something else, is damaged or comes from a later program is
/// looked at through a connection that cannot write, and so stays untouched.
pub(super) fn writer(path: &Path, steps: &[&str]) -> Result<Connection, StoreError> {
    let length = match std::fs::metadata(path) {
        Ok(metadata) if metadata.is_file() => metadata.len(),
        Ok(_) => return Err(StoreError::Foreign("it is a folder".into())),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => 0,
        Err(error) => return Err(error.into()),
    };
    if length > 0 {
        probe(path, newest(steps))?;
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = connect(path, flags)?;
    // Full sync: an edit is acknowledged when the disk has it, so that not even
    // a power cut takes it back.
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", "ON")?;
    connection.pragma_update(None, "trusted_schema", "OFF")?;
    migrate(&mut connection, steps)?;
    Ok(connection)
}

/// Opens the file for reading.
pub(super) fn reader(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    connect(path, flags)
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    let connection = Connection::open_with_flags(path, flags).map_err(|error| {
        match error.sqlite_error_code() {
            Some(rusqlite::ErrorCode::CannotOpen) => StoreError::File(std::io::Error::other(
                "the file cannot be opened or made; check that its folder is there and may be written",
            )),
            _ => error.into(),
        }
    })?;
    connection.busy_timeout(PATIENCE)?;
    Ok(connection)
}

/// Says what is wrong with a file, without a change to it.
pub(super) fn probe(path: &Path, known: i64) -> Result<(), StoreError> {
    let connection = reader(path)?;
    let id: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let found = version(&connection)?;
    if id != APPLICATION_ID {
        let tables: i64 =
            connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
        // A program killed before its first step leaves an empty database.
        if tables > 0 || found != 0 || id != 0 {
            return Err(StoreError::Foreign("another program's database".into()));
        }
        return Ok(());
    }
    if found > known {
        return Err(StoreError::Newer { found, known });
    }
    let state: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if state != "ok" {
        return Err(StoreError::Damaged(state));
    }
    Ok(())
}
