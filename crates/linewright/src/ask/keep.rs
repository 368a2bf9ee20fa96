//! `linewright backup`, `restore` and `token`: looking after a store.

use std::path::Path;

use desk::Store;
use serde_json::json;

use crate::folder;
use crate::outcome::{Answer, Failure, Form};

/// Copies a store into a new file.
pub(crate) fn backup(store: &Path, out: &Path, form: Form) -> Result<Answer, Failure> {
    folder::must_be_new(out)?;
    open(store)?.backup(out).map_err(refused)?;
    Answer::of(form, true, &json!({ "backup": out }), || {
        format!("The backup is in {}.\n", out.display())
    })
}

/// Puts a backup in a store's place.
pub(crate) fn restore(backup: &Path, store: &Path, form: Form) -> Result<Answer, Failure> {
    let kept = desk::store::restore(backup, store).map_err(refused)?;
    Answer::of(
        form,
        true,
        &json!({ "store": store, "kept": kept }),
        || match &kept {
            Some(kept) => format!(
                "{} now holds the backup; the store that was there is kept as {}.\n",
                store.display(),
                kept.display()
            ),
            None => format!("{} now holds the backup.\n", store.display()),
        },
    )
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
