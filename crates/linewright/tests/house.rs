//! The house rules that the compiler cannot see: which room may use which,
//! where a third-party crate may stand, and under which licences.
//!
//! This file is the only place to change when the house changes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test that cannot go on stops where it stands, and reads the house's files"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// Each room with the rooms it may use, lowest floor first. Rooms that are
/// planned stand here already, so that the first line of a new room is written
/// against its rule.
const MAY_USE: [(&str, &[&str]); 16] = [
    ("units", &[]),
    ("formulas", &["units"]),
    ("asked", &["units"]),
    // Solvers know no plant and never each other.
    ("flow", &["units", "asked"]),
    ("strip", &["units", "asked"]),
    ("lots", &["units", "asked"]),
    ("balance", &["units", "asked"]),
    ("sequence", &["units", "asked"]),
    ("book", &["units"]),
    (
        "shops",
        &[
            "units", "formulas", "book", "flow", "strip", "lots", "balance", "sequence",
        ],
    ),
    ("whole", &["units", "formulas", "book", "flow", "shops"]),
    // Logs are held against the plant as it is run, so evidence stands on whole.
    (
        "evidence",
        &["units", "formulas", "asked", "book", "flow", "whole"],
    ),
    // Knows files and questions, not the plant behind them; its tests hold its
    // answers against those of the reader.
    ("plants", &["book", "whole", "evidence"]),
    (
        "desk",
        &[
            "units", "formulas", "book", "flow", "strip", "lots", "balance", "sequence", "shops",
            "evidence", "whole",
        ],
    ),
    (
        "linewright",
        &[
            "units", "asked", "formulas", "book", "flow", "strip", "lots", "balance", "sequence",
            "shops", "evidence", "whole", "plants", "desk",
        ],
    ),
    ("xtask", &[]),
];

/// Third-party crates that belong in certain rooms only, as a direct
/// dependency of the room's own code. Tests may use what they need.
const ONLY_IN: [(&str, &[&str]); 19] = [
    ("clap", &["linewright"]),
    ("ctrlc", &["linewright"]),
    ("rusqlite", &["desk"]),
    ("axum", &["desk"]),
    ("tokio", &["desk", "plants"]),
    ("datafusion", &["plants"]),
    ("tower-http", &["desk"]),
    ("rust-embed", &["desk"]),
    ("calamine", &["book"]),
    ("rust_xlsxwriter", &["book", "desk"]),
    ("zip", &["book", "desk"]),
    ("csv", &["book", "evidence"]),
    ("parquet", &["evidence"]),
    ("arrow-array", &["evidence"]),
    ("arrow-schema", &["evidence"]),
    ("quick-xml", &["evidence"]),
    // A second random number, clock or sampler would break "same seed, same
    // bits on every machine".
    ("rand", &[]),
    ("rand_distr", &[]),
    ("chrono", &[]),
];

/// What must not even come in through somebody else's dependency, outside the
/// rooms named.
const NEVER_BELOW: [(&str, &[&str]); 3] = [
    ("tokio", &["desk", "linewright"]),
    ("rusqlite", &["desk", "linewright"]),
    ("axum", &["desk", "linewright"]),
];

/// Licences that ask for no more than the notice.
const LICENCES: [&str; 10] = [
    "MIT",
    "Apache-2.0",
    "Zlib",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Unicode-3.0",
    "CC0-1.0",
    "Unlicense",
    "BSL-1.0",
];

/// What cargo knows of the workspace and all it is built from on this machine.
fn metadata() -> Value {
    let host = Command::new("rustc").arg("-vV").output().unwrap();
    let host = String::from_utf8(host.stdout).unwrap();
    let host = host
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .expect("rustc names its host");
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version=1", "--locked"])
        .args(["--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

fn items<'v>(value: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    value[key].as_array().unwrap().iter()
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap()
}

/// The packages of the workspace by room: the name without `linewright-`.
fn rooms(metadata: &Value) -> BTreeMap<String, &Value> {
    let members: BTreeSet<&str> = items(metadata, "workspace_members")
        .map(|id| id.as_str().unwrap())
        .collect();
    items(metadata, "packages")
        .filter(|package| members.contains(text(package, "id")))
        .map(|package| (room_name(text(package, "name")), package))
        .collect()
}

fn room_name(package: &str) -> String {
    package
        .strip_prefix("linewright-")
        .unwrap_or(package)
        .to_owned()
}

/// Declared dependencies of a package; those of its tests too, if asked.
fn declared(package: &Value, with_tests: bool) -> impl Iterator<Item = &Value> {
    items(package, "dependencies")
        .filter(move |dependency| with_tests || dependency["kind"].as_str() != Some("dev"))
}

#[test]
fn a_room_uses_only_rooms_it_may_see() {
    let metadata = metadata();
    let rooms = rooms(&metadata);
    let mut broken = Vec::new();
    for (room, package) in &rooms {
        let Some((_, allowed)) = MAY_USE.iter().find(|(name, _)| name == room) else {
            broken.push(format!("{room} has no line in MAY_USE"));
            continue;
        };
        for dependency in declared(package, true) {
            let used = room_name(text(dependency, "name"));
            if rooms.contains_key(&used) && !allowed.contains(&used.as_str()) {
                broken.push(format!("{room} uses {used}, which it may not see"));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn no_room_may_be_reached_from_itself() {
    for (room, _) in MAY_USE {
        let mut seen = BTreeSet::new();
        let mut ahead = vec![room];
        while let Some(here) = ahead.pop() {
            let (_, below) = MAY_USE.iter().find(|(name, _)| *name == here).unwrap();
            for next in *below {
                assert_ne!(*next, room, "{room} comes back to itself through {here}");
                if seen.insert(*next) {
                    ahead.push(next);
                }
            }
        }
    }
}

#[test]
fn third_party_crates_stand_only_in_their_rooms() {
    let metadata = metadata();
    let mut broken = Vec::new();
    for (room, package) in rooms(&metadata) {
        for dependency in declared(package, false) {
            let name = text(dependency, "name");
            if let Some((_, allowed)) = ONLY_IN.iter().find(|(crate_name, _)| *crate_name == name)
                && !allowed.contains(&room.as_str())
            {
                broken.push(format!("{room} depends on {name}, allowed in {allowed:?}"));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// For each package id the ids its own code is built from.
fn built_from(metadata: &Value) -> BTreeMap<&str, Vec<&str>> {
    items(&metadata["resolve"], "nodes")
        .map(|node| {
            let used = items(node, "deps")
                .filter(|dep| items(dep, "dep_kinds").any(|kind| kind["kind"] != "dev"))
                .map(|dep| text(dep, "pkg"))
                .collect();
            (text(node, "id"), used)
        })
        .collect()
}

#[test]
fn pure_rooms_are_built_without_servers_and_stores() {
    let metadata = metadata();
    let built_from = built_from(&metadata);
    let names: BTreeMap<&str, &str> = items(&metadata, "packages")
        .map(|package| (text(package, "id"), text(package, "name")))
        .collect();
    for (room, package) in rooms(&metadata) {
        let mut seen = BTreeSet::new();
        let mut ahead = vec![text(package, "id")];
        while let Some(id) = ahead.pop() {
            if seen.insert(id) {
                ahead.extend(&built_from[id]);
            }
        }
        for (banned, allowed) in NEVER_BELOW {
            let found = seen.iter().any(|id| names[id] == banned);
            assert!(
                !found || allowed.contains(&room.as_str()),
                "{room} is built from {banned}"
            );
        }
    }
}

#[test]
fn every_package_has_a_licence_that_asks_for_the_notice_only() {
    let metadata = metadata();
    let mut broken = Vec::new();
    for package in items(&metadata, "packages") {
        let licence = package["license"].as_str().unwrap_or("none");
        if !permits(licence) {
            broken.push(format!("{} is under {licence}", text(package, "name")));
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// Whether an SPDX expression can be met with the licences of the list.
fn permits(expression: &str) -> bool {
    // Older manifests write `MIT/Apache-2.0` where SPDX writes OR.
    let spaced = expression
        .replace('/', " OR ")
        .replace('(', " ( ")
        .replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let met = any_of(&words, &mut at);
    met && at == words.len()
}

fn any_of(words: &[&str], at: &mut usize) -> bool {
    let mut met = all_of(words, at);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all_of(words, at);
    }
    met
}

fn all_of(words: &[&str], at: &mut usize) -> bool {
    let mut met = one(words, at);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(words, at);
    }
    met
}

fn one(words: &[&str], at: &mut usize) -> bool {
    let word = words.get(*at).copied().unwrap_or("");
    *at += 1;
    if word == "(" {
        let met = any_of(words, at);
        *at += 1;
        return met;
    }
    // An exception takes conditions away and adds none.
    if words.get(*at) == Some(&"WITH") {
        *at += 2;
    }
    LICENCES.contains(&word)
}

#[test]
fn licence_expressions_are_read_as_spdx_means_them() {
    for (expression, met) in [
        ("MIT", true),
        ("MIT OR Apache-2.0", true),
        ("MIT/Apache-2.0", true),
        ("GPL-3.0-only", false),
        ("GPL-3.0-only OR MIT", true),
        ("GPL-3.0-only AND MIT", false),
        ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
        ("(MIT OR Apache-2.0) AND EPL-2.0", false),
        ("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only", true),
        ("none", false),
        ("", false),
    ] {
        assert_eq!(permits(expression), met, "{expression}");
    }
}

#[test]
fn every_path_on_the_map_of_the_code_leads_somewhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let map = std::fs::read_to_string(root.join("ARCHITECTURE.md")).unwrap();
    let ends = ["/", ".rs", ".md", ".toml", ".ts", ".svelte"];
    // What stands between two backticks is every second piece.
    let quoted = map.split('`').skip(1).step_by(2);
    let paths: Vec<&str> = quoted
        .filter(|word| ends.iter().any(|end| word.ends_with(end)))
        .collect();
    let lost: Vec<&&str> = paths
        .iter()
        .filter(|path| !root.join(path).exists())
        .collect();
    assert!(
        lost.is_empty(),
        "the map names {lost:?}, which is not there"
    );
    assert!(paths.len() > 30, "{} paths", paths.len());
}

/// A target that is not declared is never built, and one that is not described
/// is never run.
#[test]
fn every_fuzz_target_is_declared_and_described() {
    let fuzz = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz");
    let read = |name: &str| std::fs::read_to_string(fuzz.join(name)).unwrap();
    let (manifest, readme) = (read("Cargo.toml"), read("README.md"));
    let declared: BTreeSet<String> = manifest
        .lines()
        .filter_map(|line| line.strip_prefix("path = \"fuzz_targets/"))
        .map(|file| file.trim_end_matches('"').to_owned())
        .collect();
    let there: BTreeSet<String> = std::fs::read_dir(fuzz.join("fuzz_targets"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(declared, there);
    for file in there {
        let name = file.trim_end_matches(".rs");
        assert!(manifest.contains(&format!("name = \"{name}\"")), "{name}");
        assert!(readme.contains(&format!("| `{name}` |")), "{name}");
    }
}
