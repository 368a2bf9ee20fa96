//! Books written elsewhere: workbooks, and the invented plant.

use tempfile::TempDir;

use crate::support::{Plant, answer, json, refusal, written};

#[test]
fn a_book_goes_to_a_workbook_and_back_unchanged() {
    let plant = Plant::sound();
    let workbook = plant.beside("plant.xlsx");
    let back = plant.beside("back");
    let (workbook, back_name) = (workbook.to_str().unwrap(), back.to_str().unwrap());
    answer(&["convert", plant.path(), workbook], 0);
    answer(&["convert", workbook, back_name], 0);
    for table in ["shifts", "products", "stations", "links"] {
        let name = format!("{table}.csv");
        assert_eq!(
            written(&plant.beside(&name)),
            written(&back.join(&name)),
            "{table}"
        );
    }
    let said = refusal(&["convert", plant.path(), workbook], 2);
    assert!(
        said.contains("is there already, nothing was written"),
        "{said}"
    );
    let said = refusal(&["convert", plant.path(), back_name], 2);
    assert!(said.contains("is not empty, nothing was written"), "{said}");
    let said = refusal(&["convert", plant.path(), "plant.ods"], 2);
    assert!(said.contains("not .ods"), "{said}");
}

#[test]
fn the_demo_plant_is_laid_out_whole_and_sound() {
    let folder = TempDir::new().unwrap();
    let book = folder.path().join("merrow-quay");
    let book_name = book.to_str().unwrap();
    answer(&["demo", book_name], 0);
    let said = json(&["check", book_name, "--json"], 0);
    assert_eq!(
        said["tables"], 32,
        "every table of the book stands in the demo"
    );
    let said = refusal(&["demo", book_name], 2);
    assert!(said.contains("is not empty, nothing was written"), "{said}");
}
