//! The program and its plants, as every test wants them.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// The invented plant's book where it lies.
pub(crate) const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/merrow-quay");

/// The program, with nothing asked yet.
pub(crate) fn linewright() -> Command {
    Command::new(env!("CARGO_BIN_EXE_linewright"))
}

/// What the program said.
pub(crate) struct Told {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Told {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.err))
    }
}

/// Asks and listens.
pub(crate) fn ask(arguments: impl IntoIterator<Item = impl AsRef<OsStr>>) -> Told {
    told(linewright().args(arguments))
}

/// Asks a question of a book: what was said, what was complained of, the exit code.
pub(crate) fn asked(question: &str, book: &Path, more: &[&str]) -> (String, String, Option<i32>) {
    let told = told(linewright().arg(question).arg(book).args(more));
    (told.out, told.err, told.code)
}

/// Asks a solver by standard input.
pub(crate) fn solve(solver: &str, question: &str, more: &[&str]) -> Told {
    let mut command = linewright();
    command.args(["solve", solver, "-"]).args(more);
    told(command.write_stdin(question))
}

fn told(command: &mut Command) -> Told {
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Told {
        code: output.status.code(),
        out: text(output.stdout),
        err: text(output.stderr),
    }
}

/// The invented plant's book, laid out to be changed.
pub(crate) fn demo(within: &Path) -> PathBuf {
    let book = within.join("quay");
    linewright().arg("demo").arg(&book).assert().success();
    book
}

/// A book of a few tables.
pub(crate) fn lay_out<'t>(book: &Path, tables: impl IntoIterator<Item = (&'t str, &'t str)>) {
    fs::create_dir_all(book).unwrap();
    for (table, text) in tables {
        fs::write(book.join(format!("{table}.csv")), text).unwrap();
    }
}

/// What was written into a file.
pub(crate) fn written(path: &Path) -> String {
    fs::read_to_string(path).unwrap()
}

/// The answer on standard output, after its exit code has been checked.
pub(crate) fn answer(arguments: &[&str], code: i32) -> String {
    let told = ask(arguments);
    assert_eq!(told.code, Some(code), "{arguments:?}: {}", told.err);
    told.out
}

/// The same as JSON.
pub(crate) fn json(arguments: &[&str], code: i32) -> Value {
    serde_json::from_str(&answer(arguments, code)).unwrap()
}

/// What standard error says; standard output must stay empty.
pub(crate) fn refusal(arguments: &[&str], code: i32) -> String {
    let told = ask(arguments);
    assert_eq!(told.code, Some(code), "{arguments:?}");
    assert_eq!(told.out, "", "{arguments:?}");
    told.err
}

/// A plant of four tables: a saw, a wash and a pack in one shop, 40 h a week.
pub(crate) struct Plant {
    folder: TempDir,
}

impl Plant {
    pub(crate) fn sound() -> Self {
        let plant = Self {
            folder: TempDir::new().unwrap(),
        };
        plant.table(
            "shifts",
            "shop,shift,days,start,end\nbody,early,mon-fri,06:00,14:00\n",
        );
        plant.table("products", "product,cars_per_week\nTern,1000\n");
        plant.table(
            "stations",
            "station,shop,cycle_s,mtbf_min,mttr_min\n\
             saw,body,110,240,5\n\
             wash,body,120,,\n\
             pack,body,100,300,8\n",
        );
        plant.table("links", "from,to,holds\nsaw,wash,10\nwash,pack,10\n");
        plant
    }

    pub(crate) fn table(&self, name: &str, text: &str) {
        fs::write(self.folder.path().join(format!("{name}.csv")), text).unwrap();
    }

    pub(crate) fn path(&self) -> &str {
        self.folder.path().to_str().unwrap()
    }

    pub(crate) fn beside(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}
