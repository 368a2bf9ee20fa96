//! What is said of a plant book, right or wrong.

use std::fs;

use crate::support::{Plant, answer, json, refusal};

#[test]
fn a_sound_book_checks_with_a_sentence_and_exit_0() {
    let plant = Plant::sound();
    let said = answer(&["check", plant.path()], 0);
    assert!(
        said.starts_with("The book can be computed: 4 tables, 7 rows, 0 errors"),
        "{said}"
    );
    let said = json(&["check", plant.path(), "--json"], 0);
    assert_eq!(said["holds"], true);
    assert_eq!(said["errors"], 0);
    assert_eq!(
        said["problems"].as_array().unwrap().len(),
        said["notes"].as_u64().unwrap() as usize
    );
}

#[test]
fn every_wrong_cell_is_named_at_once_with_its_place() {
    let plant = Plant::sound();
    plant.table(
        "stations",
        "station,shop,cycle_s\nsaw,body,11O\nwash,body,-3\npack,body,100\n",
    );
    plant.table("links", "from,to,holds\nsaw,wahs,10\nwash,pack,10\n");
    let said = json(&["check", plant.path(), "--json"], 1);
    assert_eq!(said["holds"], false);
    let places: Vec<(String, u64, String)> = said["problems"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|problem| problem["severity"] == "error")
        .map(|problem| {
            let word = |key: &str| problem[key].as_str().unwrap().to_owned();
            (
                word("table"),
                problem["row"].as_u64().unwrap(),
                word("column"),
            )
        })
        .collect();
    for place in [
        ("stations", 2, "cycle_s"),
        ("stations", 3, "cycle_s"),
        ("links", 2, "to"),
    ] {
        let place = (place.0.to_owned(), place.1, place.2.to_owned());
        assert!(places.contains(&place), "{place:?} is not in {places:?}");
    }
    let said = answer(&["check", plant.path()], 1);
    assert!(
        said.starts_with("The book cannot be computed before its errors are mended"),
        "{said}"
    );
    assert!(said.contains("error  links row 2, to"), "{said}");
    assert!(said.contains("did you mean `wash`?"), "{said}");
}

#[test]
fn a_book_with_errors_is_neither_planned_nor_run() {
    let plant = Plant::sound();
    plant.table("products", "product,cars_per_week\nTern,many\n");
    for question in ["plan", "run"] {
        let said = refusal(&[question, plant.path()], 1);
        assert!(said.contains("products row 2, cars_per_week"), "{said}");
        let said = json(&[question, plant.path(), "--json"], 1);
        assert_eq!(said["holds"], false);
        assert_eq!(said["problems"][0]["table"], "products");
    }
}

#[test]
fn what_is_no_book_ends_with_exit_2() {
    let plant = Plant::sound();
    let missing = plant.beside("nowhere");
    let said = refusal(&["check", missing.to_str().unwrap()], 2);
    assert!(said.contains("nowhere"), "{said}");
    let empty = plant.beside("empty");
    fs::create_dir(&empty).unwrap();
    refusal(&["plan", empty.to_str().unwrap()], 2);
    let broken = plant.beside("broken.xlsx");
    fs::write(&broken, b"PK\x03\x04 and then nothing").unwrap();
    let said = refusal(&["run", broken.to_str().unwrap()], 2);
    assert!(!said.contains("panicked"), "{said}");
}
