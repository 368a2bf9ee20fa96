//! Where the plants' files lie.

use std::path::{Path, PathBuf};

use crate::fault::Fault;

/// A plant's files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plant {
    /// Its name: that of its folder.
    pub name: String,
    /// `states*.parquet`, by name.
    pub states: Vec<PathBuf>,
    /// `counts.parquet`, where there is one.
    pub counts: Option<PathBuf>,
    /// `planned.csv`: the planned cycles of its stations.
    pub planned: PathBuf,
    /// `hours.csv`: the shifts of its shops.
    pub hours: PathBuf,
}

/// The plants of a folder, by name: the folder itself, or those of its folders
/// that hold logs.
///
/// ```
/// let folder = std::env::temp_dir().join("no-such-folder-of-plants");
/// let fault = plants::find(&folder).unwrap_err();
/// assert!(fault.to_string().starts_with("cannot read"));
/// ```
///
/// # Errors
/// The folder cannot be read, holds no plant, or a plant lacks a file.
pub fn find(folder: &Path) -> Result<Vec<Plant>, Fault> {
    let mut found = Vec::new();
    found.extend(plant(folder)?);
    if found.is_empty() {
        for path in entries(folder)? {
            if path.is_dir() {
                found.extend(plant(&path)?);
            }
        }
    }
    if found.is_empty() {
        return Err(Fault::NoPlant(folder.to_owned()));
    }
    Ok(found)
}

fn plant(folder: &Path) -> Result<Option<Plant>, Fault> {
    let is_states = |path: &PathBuf| {
        let name = path.file_name().and_then(|name| name.to_str());
        name.is_some_and(|name| name.starts_with("states") && name.ends_with(".parquet"))
    };
    let states: Vec<PathBuf> = entries(folder)?.into_iter().filter(is_states).collect();
    if states.is_empty() {
        return Ok(None);
    }
    let needed = |file: &'static str| {
        let path = folder.join(file);
        if path.is_file() {
            Ok(path)
        } else {
            Err(Fault::NotPlanned(folder.to_owned(), file))
        }
    };
    let name = folder.file_name().and_then(|name| name.to_str());
    let counts = folder.join("counts.parquet");
    Ok(Some(Plant {
        name: name.unwrap_or("plant").to_owned(),
        states,
        counts: counts.is_file().then_some(counts),
        planned: needed("planned.csv")?,
        hours: needed("hours.csv")?,
    }))
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>, Fault> {
    let cannot = |error: std::io::Error| Fault::Folder(folder.to_owned(), error.to_string());
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(cannot)? {
        paths.push(entry.map_err(cannot)?.path());
    }
    paths.sort();
    Ok(paths)
}
