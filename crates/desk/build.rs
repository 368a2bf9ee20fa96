//! Lists the built page for embedding, and names the engine by its sources: an
//! answer kept by one engine must not be shown for another.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a build script talks to cargo and writes what is compiled"
)]

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The rooms whose code decides what an answer says.
const ENGINE: [&str; 6] = ["units", "formulas", "flow", "book", "whole", "evidence"];

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR")?);
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    println!("cargo::rerun-if-changed=build.rs");
    std::fs::write(out.join("page_files.rs"), page(&root)?)?;
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for room in ENGINE {
        let folder = root.join("..").join(room).join("src");
        println!("cargo::rerun-if-changed={}", folder.display());
        for file in files(&folder)? {
            // FNV-1a: only to tell builds apart, no safeguard.
            for byte in std::fs::read(&file)? {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    println!("cargo::rustc-env=LINEWRIGHT_ENGINE={hash:016x}");
    Ok(())
}

/// The built page as a table of address and bytes.
fn page(root: &Path) -> Result<String, Box<dyn Error>> {
    let web = root.join("../../web");
    let built = web.join("dist");
    // As long as the page is not built, whatever appears beside it counts; a
    // path that is missing would make cargo build this crate every time.
    let watched = if built.exists() { &built } else { &web };
    if watched.exists() {
        println!("cargo::rerun-if-changed={}", watched.display());
    }
    let mut code = "static FILES: &[(&str, &[u8])] = &[\n".to_owned();
    if built.join("index.html").is_file() {
        for file in files(&built)? {
            let address = file
                .strip_prefix(&built)?
                .to_string_lossy()
                .replace('\\', "/");
            let place = file.canonicalize()?.display().to_string();
            writeln!(code, "    ({address:?}, include_bytes!({place:?})),")?;
        }
    }
    code.push_str("];\n");
    Ok(code)
}

/// All files below a folder, in an order that is not the disk's.
fn files(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut found = Vec::new();
    let mut ahead = vec![folder.to_owned()];
    while let Some(folder) = ahead.pop() {
        if !folder.is_dir() {
            continue;
        }
        for entry in std::fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                ahead.push(path);
            } else {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}
