//! Places to write to. Nothing that stands there already is overwritten.

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
