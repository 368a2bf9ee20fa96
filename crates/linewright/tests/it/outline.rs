//! `linewright outline` as a person runs it.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support;
use crate::support::DEMO;

fn drawing(folder: &Path, name: &str, text: &str) -> PathBuf {
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    file
}

fn asked(file: &Path, more: &[&str]) -> (i32, String, String) {
    let named = [&["--name", "lid"], more].concat();
    let (out, err, code) = support::asked("outline", file, &named);
    (code.unwrap(), out, err)
}

/// A plate of 4 by 2 inches with a round hole of 1 inch.
const PLATE: &str = "0 SECTION 2 HEADER 9 $INSUNITS 70 1 0 ENDSEC 0 SECTION 2 ENTITIES \
    0 LWPOLYLINE 8 BLANK 90 4 70 1 10 0 20 0 10 4 20 0 10 4 20 2 10 0 20 2 \
    0 CIRCLE 8 BLANK 10 2 20 1 40 0.5 0 TEXT 8 NOTES 1 lid 0 ENDSEC 0 EOF";

fn plate() -> String {
    PLATE.split_whitespace().collect::<Vec<_>>().join("\n")
}

#[test]
fn a_drawn_plate_becomes_rows_that_the_book_takes() {
    let folder = tempfile::tempdir().unwrap();
    let file = drawing(folder.path(), "plate.dxf", &plate());
    let out = folder.path().join("plate.csv");
    let (code, text, _) = asked(&file, &["--layer", "BLANK", "--out", out.to_str().unwrap()]);
    assert_eq!(code, 0);
    assert!(text.contains("101.60 by 50.80 mm"), "{text}");
    assert!(text.contains("1 hole; drawn in inches"), "{text}");
    let csv = std::fs::read_to_string(&out).unwrap();
    assert!(
        csv.starts_with("outline,path,point,x_mm,y_mm,bulge\n"),
        "{csv}"
    );
    assert!(csv.contains("lid,0,2,101.6,0,"), "{csv}");
    // In the demo's own book, beside its outlines, the rows are read without a fault.
    let mut own = book::read_path(Path::new(DEMO)).unwrap();
    let added = csv.lines().skip(1).map(|line| book::raw::RawRow {
        line: 0,
        cells: line.split(',').map(str::to_owned).collect(),
    });
    let table = own.tables.iter_mut().find(|table| table.name == "outlines");
    table.unwrap().rows.extend(added);
    let checked = book::check(&own);
    assert!(checked.problems.is_empty(), "{:?}", checked.problems);
    let (again, _, told) = asked(&file, &["--out", out.to_str().unwrap()]);
    assert_eq!(again, 2, "{told}");
}

#[test]
fn a_picture_and_bare_path_data_give_the_same_blank() {
    let folder = tempfile::tempdir().unwrap();
    let data = "M0,0 h400 v-100 h-300 v-300 h-100 z";
    let svg = format!(
        "<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400mm\" \
         viewBox=\"0 0 400 400\">\n<path\n d=\"{data}\"/></svg>"
    );
    let picture = drawing(folder.path(), "corner.svg", &svg);
    let bare = drawing(folder.path(), "bare.svg", data);
    let rows = |file: &Path, more: &[&str]| -> Value {
        let (code, text, told) = asked(file, &[&["--json"], more].concat());
        assert_eq!(code, 0, "{told}");
        let json: Value = serde_json::from_str(&text).unwrap();
        assert!((json["area_mm2"].as_f64().unwrap() - 70_000.0).abs() < 1e-6);
        json["rows"].clone()
    };
    assert_eq!(rows(&picture, &[]), rows(&bare, &["--unit", "mm"]));
}

#[test]
fn what_is_wrong_with_a_drawing_is_told_at_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let told = |name: &str, text: &str, more: &[&str]| {
        let (code, _, told) = asked(&drawing(folder.path(), name, text), more);
        (code, told)
    };
    let (code, text) = told("a.svg", "M0 0\nL10 0 L10 10", &["--unit", "mm"]);
    assert!(code == 1 && text.contains("line 2, character"), "{text}");
    let (code, text) = told("b.svg", "M0 0 h1 v1 z", &[]);
    assert!(code == 1 && text.contains("--unit"), "{text}");
    let (code, text) = told("c.dxf", &plate(), &["--layer", "NONE"]);
    assert!(code == 1 && text.contains("layer NONE"), "{text}");
    let (code, text) = told("d.dxf", "0\nSECTION\nnonsense\n5\n", &[]);
    assert!(code == 1 && text.contains("line 3"), "{text}");
    let (code, text) = told("e.svg", "M0 0 L9 9 L9 0 L0 9 Z", &["--unit", "cm"]);
    assert!(code == 1 && text.contains("cross at (45, -45)"), "{text}");
    let (code, text) = told("f.pdf", "%", &[]);
    assert!(
        code == 2 && text.contains("neither .dxf nor .svg"),
        "{text}"
    );
}
