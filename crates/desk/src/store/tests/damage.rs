//! Full disks, locks, damaged and foreign files.

use super::*;
use crate::store::held;

fn write(path: &Path, bytes: &[u8]) {
    #[allow(clippy::disallowed_methods, reason = "a test hurts the file")]
    std::fs::write(path, bytes).expect("a file");
}

/// A store written back to one file, without its log.
fn closed(bench: &Bench) -> Revision {
    let (store, base) = filled(bench);
    let last = saved(set(&store, &base, "framing", "59"));
    drop(store);
    assert!(!bench.beside("plant.lw-wal").exists());
    last
}

#[test]
fn a_full_disk_is_said_plainly_and_loses_nothing() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    {
        let connection = held(&store.writer);
        let pages: i64 = connection
            .pragma_query_value(None, "page_count", |row| row.get(0))
            .expect("a number");
        connection
            .pragma_update_and_check(None, "max_page_count", pages + 2, |_| Ok(()))
            .expect("a limit");
    }
    let mut head = base;
    let full = loop {
        let text = "x".repeat(3_000) + &head.id.to_string();
        match set(&store, &head, "trim", &text) {
            Ok(edited) => head = saved(Ok(edited)),
            Err(error) => break error,
        }
    };
    assert!(matches!(full, StoreError::Full), "{full}");
    assert_eq!(store.head(head.variant).expect("a head"), head);
    drop(store);
    let store = bench.open();
    assert_eq!(store.head(head.variant).expect("a head"), head);
    assert!(set(&store, &head, "trim", "58").is_ok(), "with room again");
}

#[test]
fn a_locked_file_is_said_plainly() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let other = rusqlite::Connection::open(&bench.path).expect("a second program");
    other.execute_batch("BEGIN IMMEDIATE").expect("its lock");
    held(&store.writer)
        .busy_timeout(std::time::Duration::from_millis(20))
        .expect("a short patience");
    let locked = set(&store, &base, "trim", "1").expect_err("locked");
    assert!(matches!(locked, StoreError::Locked), "{locked}");
    assert_eq!(cell(&store, base.id, "trim"), "58", "reading goes on");
    other.execute_batch("ROLLBACK").expect("its end");
    assert!(set(&store, &base, "trim", "1").is_ok());
}

#[test]
fn a_later_programs_store_is_left_alone() {
    let bench = Bench::new();
    closed(&bench);
    let other = rusqlite::Connection::open(&bench.path).expect("a later program");
    other
        .execute_batch("PRAGMA journal_mode = DELETE; PRAGMA user_version = 7;")
        .expect("its schema");
    drop(other);
    let before = bytes(&bench.path);
    let Err(error) = Store::open(&bench.path) else {
        panic!("a schema nobody knows");
    };
    assert!(matches!(
        error.bare(),
        StoreError::Newer { found: 7, known: 2 }
    ));
    assert!(error.to_string().contains("use the newer program"));
    assert_eq!(bytes(&bench.path), before);
}

#[test]
fn other_files_are_left_alone() {
    let bench = Bench::new();
    let foreign = bench.beside("foreign.db");
    let other = rusqlite::Connection::open(&foreign).expect("a database");
    other.execute_batch("CREATE TABLE t (a)").expect("a table");
    drop(other);
    let text = bench.beside("notes.txt");
    write(
        &text,
        "a shopping list, rather long for a header".as_bytes(),
    );
    for path in [foreign, text] {
        let before = bytes(&path);
        let Err(error) = Store::open(&path) else {
            panic!("{} is no store", path.display());
        };
        assert!(matches!(error.bare(), StoreError::Foreign(_)), "{error}");
        assert_eq!(bytes(&path), before);
    }
    assert!(Store::open(bench.path.parent().expect("a folder")).is_err());
    assert!(Store::open(&bench.beside("no/such/folder/x.lw")).is_err());
}

/// Whatever the store hands out after a byte was changed is what was put in;
/// else it says that it is damaged.
#[test]
fn a_changed_byte_never_becomes_a_wrong_number() {
    let bench = Bench::new();
    let last = closed(&bench);
    let sound = bytes(&bench.path);
    let (mut noticed, mut harmless) = (0, 0);
    for at in (0..sound.len()).step_by(97) {
        let mut hurt = sound.clone();
        hurt[at] ^= 0x55;
        write(&bench.path, &hurt);
        let told = Store::open(&bench.path).and_then(|store| {
            let head = store.head(last.variant)?;
            let (_, content, _) = store.revision(head.id)?;
            Ok((head, content))
        });
        match told {
            Ok((head, content)) => {
                harmless += 1;
                // A revision may be out of reach, but none is ever made up.
                assert!(head == last || head.id < last.id, "byte {at}: {head:?}");
                let row = &content.table("stations").expect("stations").rows[0];
                let known = if head == last { "59" } else { "60" };
                assert_eq!(row.cells, ["framing", known], "byte {at}");
            }
            Err(_) => {
                noticed += 1;
            }
        }
        let _ = std::fs::remove_file(bench.beside("plant.lw-wal"));
        let _ = std::fs::remove_file(bench.beside("plant.lw-shm"));
    }
    assert!(
        noticed > 20 && harmless > 20,
        "{noticed} noticed, {harmless} not"
    );
}

#[test]
fn a_file_cut_off_is_said_plainly_and_left_alone() {
    let bench = Bench::new();
    closed(&bench);
    let sound = bytes(&bench.path);
    for keep in [50, 1_000, sound.len() / 3, sound.len() - 4_096] {
        write(&bench.path, &sound[..keep]);
        let Err(error) = Store::open(&bench.path) else {
            panic!("{keep} bytes of {}", sound.len());
        };
        let plain = matches!(
            error.bare(),
            StoreError::Damaged(_) | StoreError::Foreign(_)
        );
        assert!(plain, "{keep}: {error}");
        assert_eq!(bytes(&bench.path), sound[..keep]);
    }
}

#[test]
fn a_backup_takes_a_damaged_stores_place_and_a_damaged_backup_does_not() {
    let bench = Bench::new();
    let last = closed(&bench);
    let copy = bench.beside("backup.lw");
    bench.open().backup(&copy).expect("room for a copy");
    let sound = bytes(&bench.path);
    let hurt = &sound[..sound.len() / 2];

    write(&bench.beside("hurt.lw"), hurt);
    let error = restore(&bench.beside("hurt.lw"), &bench.path).expect_err("half a backup");
    assert!(matches!(error.bare(), StoreError::Damaged(_)), "{error}");
    assert_eq!(bytes(&bench.path), sound, "the store stays as it was");

    write(&bench.path, hurt);
    let kept = restore(&copy, &bench.path).expect("a sound backup");
    assert_eq!(bytes(&kept.kept.expect("the damaged store")), hurt);
    assert_eq!(bench.open().head(last.variant).expect("a head"), last);
}
