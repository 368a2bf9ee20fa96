//! The store's laws. Kills are in `tests/kill.rs`, since they need a process.

mod damage;
mod laws;

use std::path::{Path, PathBuf};

use book::raw::{RawRow, RawTable, Workbook};
use tempfile::TempDir;

use super::{Author, Edit, Edited, Incoming, Patch, Revision, Store, StoreError};
use crate::keep::restore;

/// A book of three stations, as `name,cycle` rows.
fn small_book() -> Workbook {
    let row = |line, name: &str, cycle: &str| RawRow {
        line,
        cells: vec![name.into(), cycle.into()],
    };
    let stations = RawTable {
        name: "stations".into(),
        columns: vec!["station".into(), "cycle_s".into()],
        rows: vec![
            row(2, "framing", "60"),
            row(5, "primer", "55"),
            row(6, "trim", "58"),
        ],
        source: "stations.csv".into(),
        decimal_comma: false,
    };
    Workbook {
        name: "Merrow Quay".into(),
        tables: vec![stations],
        problems: Vec::new(),
    }
}

fn by(author: &str) -> Author {
    Author::new(author, "")
}

struct Bench {
    _folder: TempDir,
    path: PathBuf,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("plant.lw");
        Self {
            _folder: folder,
            path,
        }
    }

    fn open(&self) -> Store {
        Store::open(&self.path).expect("a sound store")
    }

    fn beside(&self, name: &str) -> PathBuf {
        self.path.with_file_name(name)
    }
}

/// A store with the small book; the revision that holds it.
fn filled(bench: &Bench) -> (Store, Revision) {
    let store = bench.open();
    let variant = store.new_variant("plan", None, &by("Ada")).expect("a name");
    let workbook = small_book();
    let book = Incoming::Book {
        workbook: &workbook,
        name: "",
    };
    let revision = store.import(variant.variant, book, &by("Ada"));
    (store, revision.expect("room for a book"))
}

fn row_of(store: &Store, revision: i64, station: &str) -> String {
    let (_, content, _) = store.revision(revision).expect("a revision");
    let table = content.table("stations").expect("stations");
    let row = table.rows.iter().find(|row| row.cells[0] == station);
    row.expect("the station").id.clone()
}

fn cell(store: &Store, revision: i64, station: &str) -> String {
    let (_, content, _) = store.revision(revision).expect("a revision");
    let table = content.table("stations").expect("stations");
    let row = table.rows.iter().find(|row| row.cells[0] == station);
    row.expect("the station").cells[1].clone()
}

fn set(store: &Store, base: &Revision, station: &str, value: &str) -> Result<Edited, StoreError> {
    let patch = Patch::Set {
        table: "stations".into(),
        row: row_of(store, base.id, station),
        column: "cycle_s".into(),
        value: value.into(),
    };
    store.edit(
        base.variant,
        &Edit {
            base: base.id,
            by: by("Ben"),
            patches: vec![patch],
        },
    )
}

fn saved(edited: Result<Edited, StoreError>) -> Revision {
    match edited.expect("an edit that can be saved") {
        Edited::Saved { revision, .. } => revision,
        Edited::Conflicts { conflicts, .. } => panic!("{conflicts:?}"),
    }
}

#[test]
fn different_cells_merge_and_the_same_cell_is_a_conflict() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    saved(set(&store, &base, "framing", "61"));
    let merged = saved(set(&store, &base, "trim", "57"));
    assert_eq!(cell(&store, merged.id, "framing"), "61");
    assert_eq!(cell(&store, merged.id, "trim"), "57");

    let Ok(Edited::Conflicts { head, conflicts }) = set(&store, &base, "framing", "62") else {
        panic!("two texts for one cell");
    };
    assert_eq!(head, merged);
    assert_eq!(conflicts.len(), 1);
    assert_eq!(conflicts[0].key, "framing");
    assert_eq!(conflicts[0].yours.as_deref(), Some("62"));
    assert_eq!(conflicts[0].theirs.as_deref(), Some("61"));
    assert_eq!(conflicts[0].base.as_deref(), Some("60"));

    // The same text from both is no conflict, and makes no new revision.
    assert_eq!(saved(set(&store, &base, "framing", "61")), merged);
}

#[test]
fn a_row_removed_here_and_changed_there_is_a_conflict() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let remove = Edit {
        base: base.id,
        by: by("Cy"),
        patches: vec![Patch::RemoveRow {
            table: "stations".into(),
            row: row_of(&store, base.id, "primer"),
        }],
    };
    saved(set(&store, &base, "primer", "50"));
    let Ok(Edited::Conflicts { conflicts, .. }) = store.edit(base.variant, &remove) else {
        panic!("the change would be lost");
    };
    assert_eq!(conflicts[0].yours, None);
    assert_eq!(conflicts[0].theirs.as_deref(), Some("50"));
}

#[test]
fn revisions_know_their_parents_and_a_restore_is_a_new_one() {
    let bench = Bench::new();
    let (store, first) = filled(&bench);
    let second = saved(set(&store, &first, "framing", "59"));
    assert_eq!(second.parent, Some(first.id));
    let third = store
        .restore_revision(first.variant, first.id, &by("Ada"))
        .expect("an old revision");
    assert_eq!(third.parent, Some(second.id));
    assert_eq!(cell(&store, third.id, "framing"), "60");
    let ids: Vec<i64> = store
        .revisions(first.variant)
        .expect("a variant")
        .iter()
        .map(|revision| revision.id)
        .collect();
    assert_eq!(ids, [third.id, second.id, first.id, first.id - 1]);
}

#[test]
fn a_branch_begins_with_its_revision_and_goes_its_own_way() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let branch = store.new_variant("third shift", Some(base.id), &by("Cy"));
    let branch = branch.expect("a new name").head;
    assert_eq!(branch.parent, Some(base.id));
    let changed = saved(set(&store, &branch, "trim", "40"));
    assert_eq!(store.head(base.variant).expect("a head"), base);
    let difference = store.compare(base.id, changed.id).expect("two revisions");
    assert_eq!(difference.cells.len(), 1);
    assert_eq!(difference.cells[0].key, "trim");
    let twice = store.new_variant("third shift", None, &by("Cy"));
    assert!(matches!(twice, Err(StoreError::Refused(_))));
    assert!(matches!(
        set(&store, &branch, "trim", "40").map(|_| ()),
        Ok(())
    ));
    let wrong_variant = Edit {
        base: base.id,
        by: by("Cy"),
        patches: Vec::new(),
    };
    assert!(store.edit(branch.variant, &wrong_variant).is_err());
}

#[test]
fn an_import_keeps_the_ids_of_rows_with_the_same_key() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let mut workbook = small_book();
    workbook.tables[0].rows.remove(1);
    workbook.tables[0].rows[1].cells[1] = "59".into();
    let book = Incoming::Book {
        workbook: &workbook,
        name: "",
    };
    let next = store
        .import(base.variant, book, &by("Ada"))
        .expect("a book");
    assert_eq!(
        row_of(&store, base.id, "trim"),
        row_of(&store, next.id, "trim")
    );
    let difference = store.compare(base.id, next.id).expect("two revisions");
    assert_eq!(
        (difference.cells.len(), difference.rows_removed.len()),
        (1, 1)
    );
    assert!(difference.rows_added.is_empty());
    let again = store
        .import(base.variant, book, &by("Ada"))
        .expect("a book");
    assert_eq!(again, next, "the same book once more is no new revision");
}

#[test]
fn an_import_is_taken_back_in_one_step_and_what_came_since_stays() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let before = store.revision(base.id).expect("a revision").1;
    let mut workbook = small_book();
    workbook.tables[0].rows.remove(0);
    workbook.tables.push(RawTable {
        name: "remarks".into(),
        columns: vec!["remark".into()],
        rows: vec![RawRow {
            line: 2,
            cells: vec!["from outside".into()],
        }],
        ..RawTable::default()
    });
    let book = Incoming::Book {
        workbook: &workbook,
        name: "",
    };
    let imported = store.import(base.variant, book, &by("Ada"));
    let imported = imported.expect("an import");
    let back = saved(store.take_back(base.variant, imported.id, &by("Ada")));
    assert_eq!(store.revision(back.id).expect("a revision").1, before);

    // taken back once more it is there again, also under an edit made since
    let again = saved(store.take_back(base.variant, back.id, &by("Ada")));
    let there = store.revision(again.id).expect("a revision").1;
    assert!(there.table("remarks").is_some());
    let column = Patch::AddColumn {
        table: "stations".into(),
        column: "note".into(),
        before: Some("cycle_s".into()),
    };
    let edit = Edit {
        base: again.id,
        by: by("Ben"),
        patches: vec![column],
    };
    saved(store.edit(base.variant, &edit));
    let last = saved(store.take_back(base.variant, again.id, &by("Ada")));
    let last = store.revision(last.id).expect("a revision").1;
    assert!(last.table("remarks").is_none());
    let stations = last.table("stations").expect("stations");
    assert!(stations.column("note").is_some(), "Ben's column stays");
    assert_eq!(
        stations.rows.len(),
        before.table("stations").expect("stations").rows.len()
    );
    let first = store.take_back(base.variant, 1, &by("Ada"));
    assert!(matches!(first, Err(StoreError::Refused(_))));
}

#[test]
fn a_column_taken_out_here_and_filled_there_is_a_conflict() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let edit = |base: i64, patch| {
        let edit = Edit {
            base,
            by: by("Ben"),
            patches: vec![patch],
        };
        store.edit(1, &edit)
    };
    let added = saved(edit(
        base.id,
        Patch::AddColumn {
            table: "stations".into(),
            column: "note".into(),
            before: None,
        },
    ));
    let drop = || Patch::DropColumn {
        table: "stations".into(),
        column: "note".into(),
    };
    let row = store.revision(added.id).expect("a revision").1;
    let row = row.table("stations").expect("stations").rows[0].id.clone();
    let filled = saved(edit(
        added.id,
        Patch::Set {
            table: "stations".into(),
            row: row.clone(),
            column: "note".into(),
            value: "ask the fitters".into(),
        },
    ));
    let Ok(Edited::Conflicts { conflicts, .. }) = edit(added.id, drop()) else {
        panic!("a note would be lost");
    };
    assert_eq!((conflicts[0].row.as_str(), conflicts.len()), (&*row, 1));
    assert_eq!(conflicts[0].theirs.as_deref(), Some("ask the fitters"));
    assert_eq!(conflicts[0].yours, None);
    // who has seen the note may take it out
    saved(edit(filled.id, drop()));
}

#[test]
fn what_makes_no_sense_is_refused_and_named() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let edit = |patches| {
        let edit = Edit {
            base: base.id,
            by: by("Ben"),
            patches,
        };
        store.edit(base.variant, &edit).map_err(|e| e.to_string())
    };
    let table = || "stations".to_owned();
    let wrong = [
        Patch::RemoveRow {
            table: table(),
            row: "nobody".into(),
        },
        Patch::AddColumn {
            table: table(),
            column: "cycle_s".into(),
            before: None,
        },
        Patch::AddColumn {
            table: table(),
            column: "note".into(),
            before: Some("no such".into()),
        },
        Patch::DropColumn {
            table: table(),
            column: "no such".into(),
        },
        Patch::AddTable {
            table: "Stations".into(),
            columns: vec!["a".into()],
        },
        Patch::AddRow {
            table: table(),
            row: "with blanks".into(),
            after: None,
            cells: [].into(),
        },
        Patch::Set {
            table: "no such".into(),
            row: "1".into(),
            column: "a".into(),
            value: String::new(),
        },
    ];
    for patch in wrong {
        let message = edit(vec![patch.clone()]).expect_err("no sense");
        assert!(message.starts_with("step 1: "), "{patch:?}: {message}");
    }
    let nameless = store.new_variant("x", None, &by("  "));
    assert!(matches!(nameless, Err(StoreError::Refused(_))));
    assert_eq!(store.head(base.variant).expect("a head"), base);
}

#[test]
fn revisions_cannot_be_changed_or_taken_out() {
    let bench = Bench::new();
    let (store, _) = filled(&bench);
    for sql in [
        "UPDATE revision SET note = 'x'",
        "DELETE FROM revision",
        "UPDATE content SET bytes = x'00'",
    ] {
        let changed = store.write(|transaction| Ok(transaction.execute(sql, [])?));
        assert!(changed.is_err(), "{sql}");
    }
}

#[test]
fn a_backup_is_a_whole_store_and_comes_back() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let copy = bench.beside("backup.lw");
    store.backup(&copy).expect("room for a copy");
    assert!(
        store.backup(&copy).is_err(),
        "a backup is never written over"
    );
    saved(set(&store, &base, "framing", "10"));

    let busy = restore(&copy, &bench.path).expect_err("the store is open");
    assert!(matches!(busy.bare(), StoreError::Locked), "{busy}");
    drop(store);
    let kept = restore(&copy, &bench.path).expect("a sound backup");
    assert_eq!(bench.open().head(base.variant).expect("a head"), base);
    let kept = Store::open(&kept.kept.expect("the old store")).expect("a sound store");
    let head = kept.head(base.variant).expect("a head");
    assert_eq!(cell(&kept, head.id, "framing"), "10");
}

#[test]
fn a_result_is_found_by_everything_it_was_made_from() {
    use super::ResultKey;
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    let (_, _, digest) = store.revision(base.id).expect("a revision");
    let key = ResultKey::new("answer", "1", "{}", digest);
    assert_eq!(store.result(key).expect("a store"), None);
    store.keep_result(key, "{\"made\":1}").expect("room");
    assert_eq!(
        store.result(key).expect("a store").as_deref(),
        Some("{\"made\":1}")
    );
    let other = saved(set(&store, &base, "trim", "1"));
    let (_, _, changed) = store.revision(other.id).expect("a revision");
    for other in [
        ResultKey::new("plan", "1", "{}", digest),
        ResultKey::new("answer", "2", "{}", digest),
        ResultKey::new("answer", "1", "{\"seed\":2}", digest),
        ResultKey::new("answer", "1", "{}", changed),
    ] {
        assert_eq!(store.result(other).expect("a store"), None);
    }
    // The way back has the same text, so the same answers.
    let back = saved(set(&store, &other, "trim", "58"));
    assert_eq!(store.revision(back.id).expect("a revision").2, digest);
}

#[test]
fn a_revision_of_a_large_book_writes_little() {
    let bench = Bench::new();
    let store = bench.open();
    let variant = store.new_variant("plan", None, &by("Ada")).expect("a name");
    let mut workbook = small_book();
    workbook.tables[0].rows = (0..5_000)
        .map(|n| RawRow {
            line: n + 2,
            cells: vec![format!("station {n}"), "60".into()],
        })
        .collect();
    let book = Incoming::Book {
        workbook: &workbook,
        name: "",
    };
    let mut base = store
        .import(variant.variant, book, &by("Ada"))
        .expect("a book");
    let bytes = |store: &Store| -> i64 {
        let sql = "SELECT sum(length(bytes)) FROM content";
        store
            .read(|connection| Ok(connection.query_row(sql, [], |row| row.get(0))?))
            .expect("a sum")
    };
    let before = bytes(&store);
    for n in 0..20 {
        base = saved(set(&store, &base, &format!("station {}", n * 200), "61"));
    }
    let each = (bytes(&store) - before) / 20;
    assert!(each < 20_000, "{each} bytes for one cell of 5,000 rows");
}

#[test]
fn a_store_of_version_1_opens_with_all_it_held() {
    let bench = Bench::new();
    let first = &super::schema::STEPS[..1];
    let store = Store::open_with(&bench.path, first).expect("a store of version 1");
    let variant = store.new_variant("plan", None, &by("Ada")).expect("a name");
    let workbook = small_book();
    let book = Incoming::Book {
        workbook: &workbook,
        name: "",
    };
    let old = store
        .import(variant.variant, book, &by("Ada"))
        .expect("a book");
    drop(store);
    // What this program does to it, and what a later one might.
    let later: Vec<&str> = super::schema::STEPS
        .iter()
        .copied()
        .chain(["ALTER TABLE variant ADD COLUMN colour TEXT;"])
        .collect();
    for steps in [super::schema::STEPS, &later] {
        let store = Store::open_with(&bench.path, steps).expect("a step up");
        assert_eq!(store.schema().expect("a number"), steps.len() as i64);
        assert_eq!(store.head(variant.variant).expect("a head"), old);
        assert_eq!(cell(&store, old.id, "primer"), "55");
    }
}

#[test]
fn a_step_that_fails_leaves_the_store_as_it_was() {
    let bench = Bench::new();
    let (store, base) = filled(&bench);
    drop(store);
    let steps: Vec<&str> = super::schema::STEPS
        .iter()
        .copied()
        .chain(["CREATE TABLE half (a INTEGER); CREATE TABLE half (a INTEGER);"])
        .collect();
    assert!(Store::open_with(&bench.path, &steps).is_err());
    let store = bench.open();
    let own = super::schema::STEPS.len() as i64;
    assert_eq!(store.schema().expect("a number"), own);
    assert_eq!(store.head(base.variant).expect("a head"), base);
}

fn bytes(path: &Path) -> Vec<u8> {
    #[allow(clippy::disallowed_methods, reason = "a test looks at the file itself")]
    std::fs::read(path).expect("a file")
}
