//! The store's tables, one step a version, and the runner of the steps.

use rusqlite::{Connection, TransactionBehavior};

use super::fault::StoreError;

/// Marks the file as a store of this program (`LwSt`), so that no other
/// SQLite file is ever taken for one.
pub(super) const APPLICATION_ID: i64 = 0x4c77_5374;

/// The steps; the file's `user_version` says how many were taken. A step that
/// was released is never changed: the next one changes the tables.
pub(super) const STEPS: &[&str] = &[
    "
    CREATE TABLE variant (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL UNIQUE
    ) STRICT;
    CREATE TABLE revision (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        variant INTEGER NOT NULL REFERENCES variant (id),
        parent INTEGER REFERENCES revision (id),
        author TEXT NOT NULL,
        time_ms INTEGER NOT NULL,
        note TEXT NOT NULL,
        content BLOB NOT NULL REFERENCES content (digest),
        book BLOB NOT NULL,
        seal BLOB NOT NULL
    ) STRICT;
    CREATE INDEX revision_of_variant ON revision (variant, id);
    CREATE TABLE content (
        digest BLOB PRIMARY KEY,
        bytes BLOB NOT NULL
    ) STRICT;
    CREATE TABLE result (
        key BLOB PRIMARY KEY,
        bytes BLOB NOT NULL,
        seal BLOB NOT NULL,
        used_ms INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX result_by_use ON result (used_ms);
    CREATE TABLE token (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        salt BLOB NOT NULL,
        hash BLOB NOT NULL
    ) STRICT;
    CREATE TRIGGER revisions_stay BEFORE UPDATE ON revision
        BEGIN SELECT RAISE (ABORT, 'a revision is never changed'); END;
    CREATE TRIGGER revisions_are_kept BEFORE DELETE ON revision
        BEGIN SELECT RAISE (ABORT, 'a revision is never taken out'); END;
    CREATE TRIGGER contents_stay BEFORE UPDATE ON content
        BEGIN SELECT RAISE (ABORT, 'a content is never changed'); END;
",
    "
    CREATE TABLE log (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        author TEXT NOT NULL,
        time_ms INTEGER NOT NULL,
        digest BLOB NOT NULL UNIQUE,
        files TEXT NOT NULL,
        words TEXT NOT NULL
    ) STRICT;
    CREATE TABLE log_header (
        digest BLOB PRIMARY KEY,
        remembered TEXT NOT NULL
    ) STRICT;
    CREATE TABLE log_note (
        log INTEGER NOT NULL REFERENCES log (id) ON DELETE CASCADE,
        day TEXT NOT NULL,
        loss TEXT NOT NULL,
        note TEXT NOT NULL,
        time_ms INTEGER NOT NULL,
        PRIMARY KEY (log, day, loss)
    ) STRICT;
",
];

/// The newest schema this program knows.
pub(super) fn newest(steps: &[&str]) -> i64 {
    i64::try_from(steps.len()).unwrap_or(i64::MAX)
}

/// The schema of a file.
pub(super) fn version(connection: &Connection) -> Result<i64, StoreError> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

/// Takes the steps that a file lacks, all or none.
pub(super) fn migrate(connection: &mut Connection, steps: &[&str]) -> Result<(), StoreError> {
    if version(connection)? == newest(steps) {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have been quicker.
    let taken = version(&transaction)?;
    for (step, sql) in steps.iter().enumerate() {
        if i64::try_from(step).is_ok_and(|step| step >= taken) {
            transaction.execute_batch(sql)?;
        }
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", newest(steps).max(taken))?;
    transaction.commit()?;
    Ok(())
}
