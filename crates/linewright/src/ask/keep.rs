//! `linewright backup`, `restore` and `token`: looking after a store.

use std::fmt::Write as _;
use std::path::Path;

use desk::Store;
use desk::keep::{self, Copied, Logs, Restored};
use serde_json::json;

use crate::figure::{number, things};
use crate::folder;
use crate::outcome::{Answer, Failure, Form};

/// Copies a store into a new file, its logs into a folder beside that.
pub(crate) fn backup(
    store: &Path,
    out: &Path,
    without_logs: bool,
    form: Form,
) -> Result<Answer, Failure> {
    folder::must_be_new(out)?;
    let logs = if without_logs {
        Logs::Without
    } else {
        Logs::With
    };
    let logs = keep::backup(&open(store)?, out, logs).map_err(refused)?;
    Answer::of(form, true, &json!({ "backup": out, "logs": logs }), || {
        format!("The backup is in {}.\n{}", out.display(), told(&logs))
    })
}

/// Puts a backup in a store's place.
pub(crate) fn restore(backup: &Path, store: &Path, form: Form) -> Result<Answer, Failure> {
    let Restored { kept, logs } = keep::restore(backup, store).map_err(refused)?;
    let answer = json!({ "store": store, "kept": kept, "logs": logs });
    Answer::of(form, true, &answer, || {
        let old = kept.as_ref().map_or_else(String::new, |kept| {
            format!("; the store that was there is kept as {}", kept.display())
        });
        let store = store.display();
        format!("{store} now holds the backup{old}.\n{}", told(&logs))
    })
}

/// The logs of a copy in words.
fn told(logs: &Copied) -> String {
    let mut text = String::new();
    if let Some(folder) = &logs.folder {
        let _ = writeln!(
            text,
            "{} of logs, {} MB, {} in {}.",
            things(logs.files, "file", "files"),
            number(logs.bytes as f64 / 1e6, 1),
            if logs.files == 1 { "is" } else { "are" },
            folder.display()
        );
    }
    if !logs.missing.is_empty() {
        let _ = writeln!(
            text,
            "{} of logs {} not there: {}. Send these logs again to read them.",
            things(logs.missing.len(), "file", "files"),
            if logs.missing.len() == 1 { "is" } else { "are" },
            logs.missing.join(", ")
        );
    }
    text
}

/// Makes a new token and shows it this once.
pub(crate) fn token(store: &Path, form: Form) -> Result<Answer, Failure> {
    let token = open(store)?.new_token().map_err(refused)?;
    Answer::of(form, true, &json!({ "token": token }), || {
        format!(
            "{token}\nOther machines sign in with this token. It is shown this once, and takes the \
             place of any earlier one.\n"
        )
    })
}

/// A store that must be there: none is made by asking for its backup.
fn open(store: &Path) -> Result<Store, Failure> {
    if !store.is_file() {
        return Err(Failure::usage(format!(
            "there is no store {}; `linewright serve` makes one",
            store.display()
        )));
    }
    Store::open(store).map_err(refused)
}

#[allow(clippy::needless_pass_by_value, reason = "handed to `map_err`")]
fn refused(error: desk::StoreError) -> Failure {
    Failure::usage(error.to_string())
}
