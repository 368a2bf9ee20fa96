//! Killed at any instant, the store has every edit that it acknowledged.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    reason = "a test that starts and kills itself"
)]

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use desk::Store;
use desk::store::{Author, Edit, Edited, Patch};

const KILLS: u32 = 220;
/// A fresh store after so many, so that opening stays quick.
const KILLS_A_STORE: u32 = 20;
const STORE: &str = "LINEWRIGHT_KILL_TEST_STORE";

fn author() -> Author {
    Author::new("Ada", "")
}

/// The number that the last edit wrote.
fn number(store: &Store) -> u64 {
    let head = store.head(1).expect("a head");
    let (_, content, _) = store.revision(head.id).expect("a whole revision");
    let table = content.table("stations").expect("stations");
    table.rows[0].cells[1].parse().expect("a number")
}

/// The child: writes numbers one after another and says each when it is saved.
#[test]
fn child() {
    let Ok(path) = std::env::var(STORE) else {
        return;
    };
    let store = Store::open(Path::new(&path)).expect("a sound store");
    let mut last = number(&store);
    let mut out = std::io::stdout();
    writeln!(out, "\nopen").unwrap();
    loop {
        let head = store.head(1).expect("a head");
        last += 1;
        let patches = vec![Patch::Set {
            table: "stations".into(),
            row: "first".into(),
            column: "cycle_s".into(),
            value: last.to_string(),
        }];
        let edit = Edit {
            base: head.id,
            by: author(),
            patches,
        };
        let Ok(Edited::Saved { .. }) = store.edit(1, &edit) else {
            return;
        };
        writeln!(out, "saved {last}").unwrap();
        out.flush().unwrap();
    }
}

fn begin(path: &Path) {
    let store = Store::open(path).expect("a new store");
    let variant = store.new_variant("plan", None, &author()).expect("a name");
    let patches = vec![
        Patch::AddTable {
            table: "stations".into(),
            columns: vec!["station".into(), "cycle_s".into()],
        },
        Patch::AddRow {
            table: "stations".into(),
            row: "first".into(),
            after: None,
            cells: [("cycle_s".to_owned(), "0".to_owned())].into(),
        },
    ];
    let edit = Edit {
        base: variant.head.id,
        by: author(),
        patches,
    };
    store.edit(1, &edit).expect("a first book");
}

#[test]
fn no_kill_loses_an_acknowledged_edit() {
    let folder = tempfile::tempdir().unwrap();
    let mut luck = 0x2545_f491_4f6c_dd1d_u64;
    let (mut acknowledged, mut in_time) = (0_u64, 0_u32);
    for kill in 0..KILLS {
        let path = folder.path().join(format!("{}.lw", kill / KILLS_A_STORE));
        if kill % KILLS_A_STORE == 0 {
            begin(&path);
        }
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "child", "--nocapture", "--test-threads=1"])
            .env(STORE, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a second process");
        let pipe = child.stdout.take().expect("its words");
        let reader = std::thread::spawn(move || {
            let lines = BufReader::new(pipe).lines().map_while(Result::ok);
            let saved = lines.filter_map(|line| line.strip_prefix("saved ")?.parse::<u64>().ok());
            saved.last()
        });
        // xorshift64 (Marsaglia, Journal of Statistical Software 8, 2003)
        luck ^= luck << 13;
        luck ^= luck >> 7;
        luck ^= luck << 17;
        let until = Instant::now() + Duration::from_micros(2_000 + luck % 40_000);
        while Instant::now() < until {
            std::hint::spin_loop();
        }
        child.kill().expect("its end");
        child.wait().expect("its end");
        let last = reader.join().expect("its last word");
        let store = Store::open(&path).expect("a store after a kill");
        let found = number(&store);
        if let Some(last) = last {
            in_time += 1;
            acknowledged = acknowledged.max(last);
            assert!(
                found >= last,
                "kill {kill}: {last} was saved, {found} is there"
            );
        }
        let revisions = store.revisions(1).expect("all revisions");
        assert_eq!(revisions.len() as u64, found + 2, "kill {kill}");
    }
    assert!(
        in_time > KILLS / 5 && acknowledged > 20,
        "{in_time} kills hit work, {acknowledged} edits at most"
    );
}
