//! A sample of the published instances beside the project; where they are not
//! there this says so and passes. The example `records` runs all of them.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a test that reads data files and stops where it cannot go on"
)]

#[path = "../examples/records/files.rs"]
mod files;

use std::path::PathBuf;

use balance::cost::least_cost;
use balance::line::{balance_line, broken_rules};
use balance::{Limits, Watch, fewest_stations, least_takt};
use serde_json::Value;

const LIMITS: Limits = Limits {
    memory_mb: 500,
    steps: None,
};

fn data() -> Option<(PathBuf, Vec<Value>)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    let Ok(text) = std::fs::read_to_string(folder.join("index.json")) else {
        println!("no published instances beside the project: nothing compared");
        return None;
    };
    let index: Value = serde_json::from_str(&text).unwrap();
    Some((folder, index["instances"].as_array().unwrap().clone()))
}

#[test]
fn every_pair_of_the_classic_set_is_proven_at_its_known_optimum() {
    let Some((folder, instances)) = data() else {
        return;
    };
    for instance in instances.iter().filter(|i| i["kind"] == "SALBP-1/2 graph") {
        let work = files::graph(&folder.join(instance["file"].as_str().unwrap())).unwrap();
        for pair in instance["salbp1"].as_array().unwrap() {
            let takt = pair["c"].as_u64().unwrap() as u32;
            let found = fewest_stations(&work, takt, &LIMITS, &Watch::none()).unwrap();
            let place = format!("{} at {takt}", instance["file"]);
            assert!(found.proven, "{place}");
            assert_eq!(
                pair["optimum"].as_u64(),
                Some(found.stations.len() as u64),
                "{place}"
            );
        }
    }
}

#[test]
fn a_sample_of_the_generated_sets_is_within_what_is_known() {
    let Some((folder, instances)) = data() else {
        return;
    };
    let few = Limits {
        steps: Some(500_000),
        ..LIMITS
    };
    let generated = instances.iter().filter(|i| i["kind"] == "SALBP-1");
    for instance in generated
        .filter(|i| i["n"].as_u64() < Some(1_000))
        .step_by(9)
    {
        let file = instance["file"].as_str().unwrap();
        let (work, takt) = files::generated(&folder.join(file)).unwrap();
        let found = fewest_stations(&work, takt, &few, &Watch::none()).unwrap();
        let stations = found.stations.len() as u64;
        assert!(stations <= instance["ub"].as_u64().unwrap(), "{file}");
        assert!(stations >= instance["lb"].as_u64().unwrap(), "{file}");
        assert!(found.bound <= instance["ub"].as_u64().unwrap(), "{file}");
    }
}

#[test]
fn least_takts_are_those_known() {
    let Some((folder, instances)) = data() else {
        return;
    };
    for name in ["BUXEY", "SAWYER30", "KILBRID", "HAHN"] {
        let instance = instances
            .iter()
            .find(|i| i["file"].as_str().is_some_and(|file| file.contains(name)))
            .unwrap();
        let work = files::graph(&folder.join(instance["file"].as_str().unwrap())).unwrap();
        for pair in instance["salbp2_own_cpsat"].as_array().unwrap() {
            let stations = pair["m"].as_u64().unwrap() as u32;
            let found = least_takt(&work, stations, &LIMITS, &Watch::none()).unwrap();
            assert!(found.proven, "{name} with {stations}");
            assert_eq!(
                pair["best_c"].as_u64(),
                Some(found.longest(&work)),
                "{name} {stations}"
            );
        }
    }
}

#[test]
fn two_sided_lines_take_the_pairs_known() {
    let Some((folder, instances)) = data() else {
        return;
    };
    for instance in instances
        .iter()
        .filter(|i| i["talbp1_own_cpsat"].is_array())
    {
        let file = instance["file"].as_str().unwrap();
        let line = files::two_sided(&folder.join(file)).unwrap();
        for pair in instance["talbp1_own_cpsat"].as_array().unwrap() {
            let takt = pair["c"].as_u64().unwrap() as u32;
            let found = balance_line(&line, takt, &LIMITS, &Watch::none()).unwrap();
            assert_eq!(
                broken_rules(&line, takt, &found.stations),
                Vec::<String>::new()
            );
            assert!(found.proven, "{file} at {takt}");
            if pair["mated_proven"] == true {
                let pairs = found.stations.len() as u64;
                assert_eq!(
                    pair["mated_found"].as_u64(),
                    Some(pairs),
                    "{file} at {takt}"
                );
            }
        }
    }
}

/// Workers that each take their own time for a task (ALWABP-2, Chaves and
/// others 2007; best known from Borba & Ritt 2014): there each works at one
/// station, here a kind may work at several, so at the takt published so many
/// stations are enough and no bound may ask for more.
#[test]
fn at_a_takt_known_for_workers_of_their_own_speed_so_many_stations_are_enough() {
    let Some((folder, instances)) = data() else {
        return;
    };
    let few = Limits {
        steps: Some(1_000_000),
        memory_mb: 300,
    };
    let small = instances.iter().filter(|i| {
        let kind = i["kind"].as_str().unwrap_or_default();
        kind.starts_with("ALWABP") && i["n"].as_u64() < Some(30) && i["optimum"].is_u64()
    });
    for instance in small.step_by(6) {
        let file = instance["file"].as_str().unwrap();
        let shop = files::workers(&folder.join(file)).unwrap();
        let takt = instance["optimum"].as_u64().unwrap() as u32;
        let found = least_cost(&shop, takt, &few, &Watch::none()).unwrap();
        let workers = instance["workers"].as_u64().unwrap();
        assert!(found.bound <= workers, "{file}");
        assert!(
            found.cost_per_year <= workers,
            "{file}: {}",
            found.cost_per_year
        );
    }
}
