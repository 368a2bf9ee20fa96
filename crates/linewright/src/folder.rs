//! Places to read from and to write to. Nothing that stands there already is
//! overwritten.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use crate::outcome::Failure;

/// Makes the folder, or takes an empty one.
pub(crate) fn make_empty(folder: &Path) -> Result<(), Failure> {
    match std::fs::read_dir(folder).map(|mut entries| entries.next().is_none()) {
        Ok(true) => Ok(()),
        Ok(false) => Err(not_empty(folder)),
        Err(error) if error.kind() == ErrorKind::NotFound => {
            std::fs::create_dir_all(folder).map_err(|error| Failure::file("make", folder, error))
        }
        Err(error) => Err(not_a_folder(folder, &error)),
    }
}

/// Refuses folders that cannot be made or taken later, so that a question that
/// takes minutes says so before it begins. Makes none.
pub(crate) fn must_be_empty<'a>(
    folders: impl IntoIterator<Item = &'a PathBuf>,
) -> Result<(), Failure> {
    for folder in folders {
        match std::fs::read_dir(folder).map(|mut entries| entries.next().is_none()) {
            Ok(true) => {}
            Ok(false) => return Err(not_empty(folder)),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(not_a_folder(folder, &error)),
        }
    }
    Ok(())
}

fn not_empty(folder: &Path) -> Failure {
    Failure::usage(format!(
        "{} is not empty, nothing was written; name a new or an empty folder",
        folder.display()
    ))
}

fn not_a_folder(folder: &Path, error: &std::io::Error) -> Failure {
    if error.kind() == ErrorKind::NotADirectory {
        return Failure::usage(format!(
            "{} is a file, nothing was written; name a new or an empty folder",
            folder.display()
        ));
    }
    Failure::file("use", folder, error)
}

/// Writes a file that was asked for by name; one that came to stand there in the
/// meantime stays as it is.
pub(crate) fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    create(file)?
        .write_all(bytes)
        .map_err(|error| Failure::file("write", file, error))
}

/// A new file to write into.
pub(crate) fn create(file: &Path) -> Result<File, Failure> {
    let made = OpenOptions::new().write(true).create_new(true).open(file);
    made.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => there_already(file),
        _ => Failure::file("write", file, error),
    })
}

/// Writes a file that was read before, and is kept from one question to the next.
#[allow(
    clippy::disallowed_methods,
    reason = "what is kept takes the place of what was"
)]
pub(crate) fn write_anew(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    std::fs::write(file, bytes).map_err(|error| Failure::file("write", file, error))
}

/// Refuses a file that is there already, or in a folder that is not: after
/// minutes of work is too late to hear of it.
pub(crate) fn must_be_new(file: &Path) -> Result<(), Failure> {
    if file.exists() {
        return Err(there_already(file));
    }
    match file
        .parent()
        .filter(|within| !within.as_os_str().is_empty())
    {
        Some(within) if !within.is_dir() => Err(Failure::usage(format!(
            "cannot write {}: there is no folder {}, nothing was written; make the folder first, \
             or name a file in one that is there",
            file.display(),
            within.display()
        ))),
        _ => Ok(()),
    }
}

fn there_already(file: &Path) -> Failure {
    Failure::usage(format!(
        "{} is there already, nothing was written; name a new file",
        file.display()
    ))
}

/// Refuses files that are there already, or whose ending says that something
/// else is in them.
pub(crate) fn must_be_new_and_end<'a>(
    files: impl IntoIterator<Item = &'a PathBuf>,
    ending: &str,
) -> Result<(), Failure> {
    for file in files {
        must_be_new_and_end_in_one_of(file, &[ending])?;
    }
    Ok(())
}

/// The same for a file that may be of several kinds: which of the endings it has.
pub(crate) fn must_be_new_and_end_in_one_of<'e>(
    file: &Path,
    endings: &[&'e str],
) -> Result<&'e str, Failure> {
    let own = ending(file);
    let Some(own) = endings.iter().find(|ending| **ending == own) else {
        let all: Vec<String> = endings.iter().map(|ending| format!(".{ending}")).collect();
        let first = endings.first().copied().unwrap_or_default();
        return Err(Failure::usage(format!(
            "{} does not end in {}, nothing was written; name a file such as {}",
            file.display(),
            all.join(" or "),
            file.with_extension(first).display()
        )));
    };
    must_be_new(file)?;
    Ok(own)
}

/// What a name ends in, in small letters and without the dot.
pub(crate) fn ending(file: &Path) -> String {
    let ending = file.extension().and_then(std::ffi::OsStr::to_str);
    ending.unwrap_or_default().to_ascii_lowercase()
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
