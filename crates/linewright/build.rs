//! Lists the demo plant's tables, so that the binary carries every one of them
//! and a table added to the folder needs no second entry anywhere.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a build script talks to cargo and writes what is compiled"
)]

use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let crate_root = std::env::var("CARGO_MANIFEST_DIR")?;
    let folder = Path::new(&crate_root).join("../../demo/merrow-quay");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut tables = Vec::new();
    for entry in std::fs::read_dir(&folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "csv") {
            tables.push(path);
        }
    }
    // The order of a folder is the disk's; the binary's must not be.
    tables.sort();
    let mut code = "pub(crate) static TABLES: &[(&str, &str)] = &[\n".to_owned();
    for path in tables {
        println!("cargo::rerun-if-changed={}", path.display());
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let path = path.display().to_string();
        writeln!(code, "    ({name:?}, include_str!({path:?})),")?;
    }
    code.push_str("];\n");
    let out = std::env::var("OUT_DIR")?;
    std::fs::write(Path::new(&out).join("demo_tables.rs"), code)?;
    Ok(())
}
