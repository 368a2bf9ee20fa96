//! Writes the interface's description and the page's types from the code.
#![allow(clippy::disallowed_methods, reason = "this is what it is for")]

use std::path::Path;

fn main() -> std::io::Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    std::fs::write(root.join("openapi.json"), desk::contract::openapi())?;
    std::fs::write(
        root.join("../../web/src/api/types.ts"),
        desk::contract::types(),
    )
}
