use std::{collections::BTreeSet, path::Path};

use book::{Kind, Usual, schema};

#[test]
#[allow(
    clippy::disallowed_methods,
    reason = "the test compares a committed file"
)]
fn the_committed_page_is_fresh() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/plant-book.md");
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        committed == book::schema_markdown(),
        "run `cargo xtask docs`"
    );
}

#[test]
fn every_table_and_column_says_what_it_means() {
    for table in schema() {
        assert!(table.doc.ends_with('.'), "{}", table.name);
        let names: BTreeSet<_> = table.columns.iter().map(|column| column.name).collect();
        assert_eq!(
            names.len(),
            table.columns.len(),
            "{} has a column twice",
            table.name
        );
        for column in table.columns {
            assert!(column.doc.len() > 5, "{}.{}", table.name, column.name);
        }
        for key in table.key {
            assert!(names.contains(key), "{} has no {key}", table.name);
        }
    }
}

#[test]
fn every_reference_points_to_a_table_whose_rows_have_names() {
    for table in schema() {
        for column in table.columns {
            if let Kind::Ref(target) | Kind::Refs(target) = column.kind {
                let name = target.schema().column(target.schema().key[0]).unwrap();
                assert_eq!(name.kind, Kind::Text, "{}.{}", table.name, column.name);
            }
        }
    }
}

/// The unit at the end of a header is the unit of the column.
#[test]
fn headers_carry_their_units() {
    let units = [
        ("_s", "s"),
        ("_min", "min"),
        ("_h", "h"),
        ("_days", "d"),
        ("_mm", "mm"),
        ("_cm", "cm"),
        ("_mm_s", "mm/s"),
        ("_m", "m"),
        ("_kg", "kg"),
        ("_kn", "kN"),
        ("_kj", "kJ"),
        ("_mpa", "MPa"),
        ("_kw", "kW"),
        ("_deg", "deg"),
        ("_um", "um"),
        ("_m2", "m2"),
        ("_l", "l"),
        ("_kg_m3", "kg/m3"),
        ("_m_min", "m/min"),
        ("_ml_min", "ml/min"),
        ("_g_m2", "g/m2"),
        ("_kg_l", "kg/l"),
        ("_kj_mol", "kJ/mol"),
        ("_per_min", "1/min"),
        ("_per_week", "1/week"),
        ("_per_hour", "1/h"),
        ("_per_kg", "cur"),
    ];
    for table in schema() {
        for column in table
            .columns
            .iter()
            .filter(|column| !column.unit.is_empty() && column.unit != "cur")
        {
            let longest = units
                .iter()
                .filter(|(ending, _)| column.name.ends_with(ending))
                .max_by_key(|(ending, _)| ending.len());
            assert_eq!(
                longest.map(|(_, unit)| *unit),
                Some(column.unit),
                "{}.{}",
                table.name,
                column.name
            );
        }
    }
}

/// A usual value that is itself illegal would give every empty cell a problem
/// that nobody can see.
#[test]
fn usual_values_are_read_like_any_other() {
    for table in schema() {
        for column in table.columns {
            if let (Usual::Value(text), Some(legal)) = (column.usual, column.legal) {
                let value: f64 = text.parse().unwrap();
                assert!(legal.holds(value), "{}.{}", table.name, column.name);
            }
            if let (Usual::Value(text), Kind::Word(words)) = (column.usual, column.kind) {
                assert!(words.contains(&text), "{}.{}", table.name, column.name);
            }
        }
    }
}
