//! `linewright formula` and `linewright tables`.

use crate::support::{answer, json, refusal};

#[test]
fn the_formula_sheet_lists_explains_and_computes() {
    let said = answer(&["formula"], 0);
    assert!(said.contains("takt"), "{said}");
    assert_eq!(said, answer(&["formula", "list"], 0));
    let said = answer(&["formula", "takt"], 0);
    assert!(
        said.contains("net_time") && said.contains("source:"),
        "{said}"
    );
    // 880 min for 200 cars: 264 s.
    let said = answer(&["formula", "takt", "net_time=880min", "demand=200"], 0);
    assert!(said.contains("takt = 264 s"), "{said}");
    let said = json(
        &[
            "formula",
            "takt",
            "net_time=14.666666666666666 h",
            "demand=200",
            "--json",
        ],
        0,
    );
    assert_eq!(said["formula"], "takt");
    assert!(answer(&["formula", "--markdown"], 0).starts_with("# "));
}

#[test]
fn a_formula_asked_wrongly_says_what_it_wants() {
    for (arguments, wanted) in [
        (&["formula", "takd"][..], "the nearest is `takt`"),
        (
            &["formula", "takt", "net_time=880min"],
            "`demand` is missing",
        ),
        (&["formula", "takt", "880"], "`880` is no pair"),
        (
            &["formula", "takt", "net_time=880kg", "demand=200"],
            "net_time",
        ),
        (
            &["formula", "takt", "net_time=NaN", "demand=200"],
            "net_time",
        ),
        (
            &["formula", "takt", "net_time=1e300", "demand=1e-300"],
            "takt",
        ),
    ] {
        let said = refusal(arguments, 2);
        assert!(said.contains(wanted), "{arguments:?}: {said}");
    }
}

#[test]
fn the_tables_explain_themselves() {
    assert!(answer(&["tables"], 0).contains("press_lines"));
    let said = answer(&["tables", "stations"], 0);
    assert!(said.contains("cycle_s"), "{said}");
    let said = refusal(&["tables", "statoins"], 2);
    assert!(said.contains("did you mean `stations`?"), "{said}");
    assert_eq!(
        json(&["tables", "--json"], 0)["tables"]
            .as_array()
            .unwrap()
            .len(),
        32
    );
}
