//! The demo plant Merrow Quay, carried in the binary.

use std::path::Path;

use crate::folder;
use crate::outcome::Failure;

include!(concat!(env!("OUT_DIR"), "/demo_tables.rs"));

/// Writes the book into a folder that is new or empty.
pub(crate) fn lay_out(into: &Path) -> Result<(), Failure> {
    folder::make_empty(into)?;
    for (name, text) in TABLES {
        folder::write(&into.join(name), text.as_bytes())?;
    }
    Ok(())
}
