//! `linewright paint`, as somebody types it.

use std::path::PathBuf;

use tempfile::TempDir;

use crate::support::asked;

/// A booth, an oven and an inspection; a body each 864 s.
const BOOK: &[(&str, &str)] = &[
    ("products", "product,cars_per_week\nvan,700\n"),
    (
        "coats",
        "coat,step,kind,stations,process_s,temperature_c,heat_up_min,least_min,most_min,film_um,transfer_efficiency,solids_share,area_m2,flow_ml_min,coloured,ok_share\n\
         base,1,spray,booth,420,24,,,,15,0.7,0.24,33,260,yes,0.9\n\
         cure,2,oven,,1800,145,10,15,40,,,,,,,\n\
         look,3,inspect,look,300,,,,,,,,,,,0.95\n",
    ),
    (
        "colours",
        "colour,share,change_s,purge_l\nchalk,0.7,14,0.35\ntar,0.3,14,0.35\n",
    ),
    (
        "repairs",
        "repair,share,ok_share,fails_to,back_to,time_min\nspot,0.8,0.95,again,,35\nagain,0.2,,,base,20\n",
    ),
    (
        "stations",
        "station,shop,cycle_s,rework_to,source\nbody,body,600,,yes\nbooth,paint,,,\nlook,paint,,booth,\n\
         trim,assembly,500,,\n",
    ),
    (
        "links",
        "from,to,holds\nbody,booth,3\nbooth,look,3\nlook,booth,9\nlook,trim,9\n",
    ),
];

fn book(changes: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    for (name, text) in BOOK {
        let mut text = (*text).to_owned();
        for (from, to) in changes {
            text = text.replace(from, to);
        }
        std::fs::write(folder.path().join(format!("{name}.csv")), text).expect("a table");
    }
    folder
}

#[test]
fn a_line_that_holds_shows_its_tables_with_cautions() {
    let book = book(&[]);
    let (told, _, code) = asked("paint", book.path(), &["--all"]);
    assert_eq!(code, Some(0), "{told}");
    for words in [
        "The paint line holds: 700 good bodies a week, one each 864.0 s",
        "The line, door to door",
        "Ovens by metal temperature",
        "What stops of the conveyor do",
        "Films, litres and applicators",
        "Robots by station",
        "Colour blocks, EUR a week",
        "Of the bodies inspected 85.5 % are OK (by the coats)",
        "explosive zones",
        "isocyanates",
        "licensed engineer",
    ] {
        assert!(told.contains(words), "no `{words}` in\n{told}");
    }
}

#[test]
fn json_names_every_figure_and_another_rate_changes_the_robots() {
    let book = book(&[]);
    let of = |more: &[&str]| {
        let (told, _, _) = asked("paint", book.path(), more);
        serde_json::from_str::<serde_json::Value>(&told).expect("JSON")
    };
    let (own, more) = (of(&["--json"]), of(&["--json", "--cars", "2800"]));
    let figure = own["steps"][0]["needed_m"]["figure"]
        .as_str()
        .expect("a figure");
    assert_eq!(own["figures"][figure]["id"], figure);
    assert!(more["robots"].as_u64() > own["robots"].as_u64());
    let (_, said, code) = asked("paint", book.path(), &["--cars", "0"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("expected more than 0 cars a week"), "{said}");
}

#[test]
fn an_oven_too_short_and_a_conveyor_too_slow_exit_with_row_and_way_out() {
    let book = book(&[
        ("cure,2,oven,,1800", "cure,2,oven,,1200"),
        ("coat,step", "speed_m_min,coat,step"),
        ("\nbase", "\n0.3,base"),
        ("\ncure", "\n,cure"),
        ("\nlook,3", "\n,look,3"),
    ]);
    let (told, _, code) = asked("paint", book.path(), &[]);
    assert_eq!(code, Some(1));
    assert!(
        told.contains("2 things do not hold on the paint line"),
        "{told}"
    );
    assert!(
        told.contains("coats row 2, speed_m_min: found 0.3 m/min at `base`"),
        "{told}"
    );
    assert!(
        told.contains("coats row 3, process_s: found 20.0 min from door to door"),
        "{told}"
    );
    assert!(told.contains("make it at least 1500 s"), "{told}");
}

#[test]
fn workbook_and_drawing_are_written_once() {
    let book = book(&[]);
    let place = TempDir::new().expect("a folder");
    let at = |name: &str| -> PathBuf { place.path().join(name) };
    let (xlsx, svg) = (at("paint.xlsx"), at("line.svg"));
    let more = [
        "--xlsx",
        xlsx.to_str().unwrap(),
        "--svg",
        svg.to_str().unwrap(),
    ];
    let (told, _, code) = asked("paint", book.path(), &more);
    assert_eq!(code, Some(0));
    assert!(told.contains("Written: "), "{told}");
    assert!(std::fs::read(&xlsx).unwrap().starts_with(b"PK"));
    let drawing = std::fs::read_to_string(&svg).unwrap();
    assert!(drawing.contains("metal 20.0 of 15 to 40 min"), "{drawing}");
    let (_, said, code) = asked("paint", book.path(), &more);
    assert_eq!(code, Some(2));
    assert!(said.contains("is there already"), "{said}");
}

#[test]
fn a_book_without_coats_is_told_what_to_give() {
    let book = book(&[]);
    std::fs::remove_file(book.path().join("coats.csv")).unwrap();
    std::fs::remove_file(book.path().join("repairs.csv")).unwrap();
    let stations = "station,shop,cycle_s,source\nbody,body,600,yes\n";
    std::fs::write(book.path().join("stations.csv"), stations).unwrap();
    std::fs::write(book.path().join("links.csv"), "from,to\n").unwrap();
    let (_, said, code) = asked("paint", book.path(), &[]);
    assert_eq!(code, Some(2));
    assert!(said.contains("give it a coats table"), "{said}");
}
