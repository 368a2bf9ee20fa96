//! The demo plant Merrow Quay, carried in the binary.

use std::path::Path;

use crate::folder;
use crate::outcome::Failure;

include!(concat!(env!("OUT_DIR"), "/demo_tables.rs"));

/// Writes the book into a folder that is new or empty.
#[allow(
    clippy::disallowed_methods,
    reason = "laying out a folder is this command's job"
)]
pub(crate) fn lay_out(into: &Path) -> Result<(), Failure> {
    folder::make_empty(into)?;
    for (name, text) in TABLES {
        let path = into.join(name);
        std::fs::write(&path, text).map_err(|error| Failure::file("write", &path, error))?;
    }
    Ok(())
}
