//! Places to read from and to write to. Nothing that stands there already is
//! overwritten.

use std::path::{Path, PathBuf};

use crate::outcome::Failure;

/// Makes the folder, or takes an empty one.
pub(crate) fn make_empty(folder: &Path) -> Result<(), Failure> {
    match std::fs::read_dir(folder).map(|mut entries| entries.next().is_none()) {
        Ok(true) => Ok(()),
        Ok(false) => Err(Failure::usage(format!(
            "{} is not empty, nothing was written; name a new or an empty folder",
            folder.display()
        ))),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            std::fs::create_dir_all(folder).map_err(|error| Failure::file("make", folder, error))
        }
        Err(error) => Err(Failure::file("use", folder, error)),
    }
}

/// Writes a file that was asked for by name.
#[allow(clippy::disallowed_methods, reason = "an answer goes to a file")]
pub(crate) fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    std::fs::write(file, bytes).map_err(|error| Failure::file("write", file, error))
}

/// Refuses a file that is there already.
pub(crate) fn must_be_new(file: &Path) -> Result<(), Failure> {
    if file.exists() {
        return Err(Failure::usage(format!(
            "{} is there already, nothing was written; name a new file",
            file.display()
        )));
    }
    Ok(())
}

/// Refuses files that are there already, or whose ending says that something
/// else is in them.
pub(crate) fn must_be_new_and_end<'a>(
    files: impl IntoIterator<Item = &'a PathBuf>,
    ending: &str,
) -> Result<(), Failure> {
    for file in files {
        let own = file.extension().map(std::ffi::OsStr::to_ascii_lowercase);
        if own.as_deref() != Some(std::ffi::OsStr::new(ending)) {
            return Err(Failure::usage(format!(
                "{} does not end in .{ending}, nothing was written; name a file such as {}",
                file.display(),
                file.with_extension(ending).display()
            )));
        }
        must_be_new(file)?;
    }
    Ok(())
}

/// Refuses a place at which no book stands, with what a book is and the nearest
/// name there.
pub(crate) fn must_hold_a_book(path: &Path) -> Result<(), Failure> {
    if path.exists() {
        return Ok(());
    }
    let name = path.file_name().and_then(|name| name.to_str());
    let beside = beside(path);
    let near = units::nearest(name.unwrap_or_default(), beside.iter().map(String::as_str));
    let near = near.map_or_else(String::new, |near| format!(" did you mean `{near}`?"));
    Err(Failure::usage(format!(
        "cannot read {}: nothing stands there;{near} a book is a folder of .csv tables or one \
         .xlsx workbook, and `linewright demo FOLDER` writes one to begin with",
        path.display()
    )))
}

/// Folders and workbooks beside a place, in order.
fn beside(path: &Path) -> Vec<String> {
    let parent = path
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty());
    let entries = std::fs::read_dir(parent.unwrap_or(Path::new(".")));
    let entries = entries.into_iter().flatten().flatten();
    let books = entries.filter(|entry| {
        let path = entry.path();
        path.is_dir() || path.extension().is_some_and(|ending| ending == "xlsx")
    });
    let names = books.filter_map(|entry| entry.file_name().into_string().ok());
    let mut names: Vec<String> = names.filter(|name| !name.starts_with('.')).collect();
    names.sort();
    names
}
