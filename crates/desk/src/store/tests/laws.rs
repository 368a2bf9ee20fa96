//! What holds for every merge.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use proptest::prelude::*;

use crate::store::patch::apply;
use crate::store::{Content, Patch, Row, Table, compare, merge};

/// Six rows of three columns.
fn base() -> Content {
    let row = |n: usize| Row {
        id: format!("r{n}"),
        cells: (0..3).map(|c| format!("{n}{c}")).collect(),
    };
    let table = Table {
        name: "stations".into(),
        columns: ["a", "b", "c"].map(String::from).to_vec(),
        decimal_comma: false,
        rows: (0..6).map(row).collect(),
    };
    Content {
        name: "plant".into(),
        tables: vec![Arc::new(table)],
    }
}

/// An edit as somebody would make it; `who` names the rows added.
#[derive(Clone, Debug)]
enum Step {
    Set(usize, usize, u8),
    Add(usize),
    Remove(usize),
    Column,
    Drop(usize),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        6 => (0..6_usize, 0..3_usize, 0..3_u8).prop_map(|(r, c, v)| Step::Set(r, c, v)),
        2 => (0..6_usize).prop_map(Step::Add),
        1 => (0..6_usize).prop_map(Step::Remove),
        1 => Just(Step::Column),
        1 => (1..3_usize).prop_map(Step::Drop),
    ];
    prop::collection::vec(step, 0..8)
}

/// The steps that make sense one after another.
fn edited(base: &Content, steps: &[Step], who: &str) -> Content {
    let table = || "stations".to_owned();
    let mut content = base.clone();
    for (n, step) in steps.iter().enumerate() {
        let patch = match *step {
            Step::Set(row, column, value) => Patch::Set {
                table: table(),
                row: format!("r{row}"),
                column: ["a", "b", "c"][column].into(),
                value: format!("new {value}"),
            },
            Step::Add(after) => Patch::AddRow {
                table: table(),
                row: format!("{who}{n}"),
                after: Some(format!("r{after}")),
                cells: [("a".to_owned(), who.to_owned())].into(),
            },
            Step::Remove(row) => Patch::RemoveRow {
                table: table(),
                row: format!("r{row}"),
            },
            Step::Column => Patch::AddColumn {
                table: table(),
                column: format!("of {who}"),
                before: None,
            },
            Step::Drop(column) => Patch::DropColumn {
                table: table(),
                column: ["a", "b", "c"][column].into(),
            },
        };
        if let Ok(next) = apply(&content, &[patch]) {
            content = next;
        }
    }
    content
}

/// Cells by row and column, the order of rows and columns left aside.
fn cells(content: &Content) -> BTreeMap<(String, String), String> {
    let mut cells = BTreeMap::new();
    for table in &content.tables {
        for row in &table.rows {
            for (column, cell) in table.columns.iter().zip(&row.cells) {
                cells.insert((row.id.clone(), column.clone()), cell.clone());
            }
        }
    }
    cells
}

/// What an edit touches: cells by row and column, whole rows by `*`.
fn touched(before: &Content, after: &Content) -> BTreeSet<(String, String)> {
    let difference = compare(before, after);
    let cells = difference.cells.into_iter().map(|c| (c.row, c.column));
    let gone = difference.rows_removed.into_iter();
    cells.chain(gone.map(|row| (row.row, "*".into()))).collect()
}

proptest! {
    #[test]
    fn one_sided_edits_stand(steps in steps()) {
        let base = base();
        let mine = edited(&base, &steps, "mine");
        prop_assert_eq!(merge(&base, &base, &mine).expect("nothing to merge"), mine.clone());
        prop_assert_eq!(merge(&base, &mine, &base).expect("nobody else"), mine.clone());
        prop_assert_eq!(cells(&merge(&base, &mine, &mine).expect("the same")), cells(&mine));
    }

    #[test]
    fn who_comes_first_makes_no_difference(a in steps(), b in steps()) {
        let base = base();
        let (mine, theirs) = (edited(&base, &a, "mine"), edited(&base, &b, "theirs"));
        let (one, other) = (merge(&base, &mine, &theirs), merge(&base, &theirs, &mine));
        match (one, other) {
            (Ok(one), Ok(other)) => prop_assert_eq!(cells(&one), cells(&other)),
            (Err(one), Err(other)) => {
                let place = |c: &crate::store::Conflict| (c.row.clone(), c.column.clone());
                let ones: BTreeSet<_> = one.iter().map(place).collect();
                let others: BTreeSet<_> = other.iter().map(place).collect();
                prop_assert_eq!(ones, others);
                prop_assert!(one.iter().all(|c| c.yours != c.theirs));
            }
            _ => prop_assert!(false, "a conflict for one is a conflict for the other"),
        }
    }

    #[test]
    fn edits_of_different_places_always_merge_and_both_stand(a in steps(), b in steps()) {
        let base = base();
        let (mine, theirs) = (edited(&base, &a, "mine"), edited(&base, &b, "theirs"));
        let (here, there) = (touched(&base, &mine), touched(&base, &theirs));
        let clash = here.iter().any(|(row, column)| {
            there.iter().any(|(other, at)| {
                row == other && (column == at || column == "*" || at == "*")
            })
        });
        if !clash {
            let merged = merge(&base, &mine, &theirs).expect("different places");
            let after = cells(&merged);
            for (before, side) in [(&base, &mine), (&base, &theirs)] {
                for change in compare(before, side).cells {
                    // a cell that is gone with its column says as much as an empty one
                    let stands = after.get(&(change.row, change.column));
                    prop_assert_eq!(
                        stands.map_or("", String::as_str),
                        change.b.as_deref().unwrap_or("")
                    );
                }
                for row in compare(before, side).rows_added {
                    let first = after.get(&(row.row.clone(), "a".to_owned()));
                    prop_assert_eq!(first, row.cells.get("a"));
                }
            }
        }
    }

    #[test]
    fn a_merge_keeps_the_order_of_both(a in steps(), b in steps()) {
        let base = base();
        let (mine, theirs) = (edited(&base, &a, "mine"), edited(&base, &b, "theirs"));
        if let Ok(merged) = merge(&base, &mine, &theirs) {
            let order: Vec<&str> = merged.tables[0].rows.iter().map(|r| r.id.as_str()).collect();
            let unique: BTreeSet<&str> = order.iter().copied().collect();
            prop_assert_eq!(unique.len(), order.len());
            for side in [&mine, &theirs] {
                let kept: Vec<&str> = side.tables[0]
                    .rows
                    .iter()
                    .map(|r| r.id.as_str())
                    .filter(|id| unique.contains(id))
                    .collect();
                let of_side: BTreeSet<&str> = kept.iter().copied().collect();
                let in_merge: Vec<&str> =
                    order.iter().copied().filter(|id| of_side.contains(id)).collect();
                prop_assert_eq!(kept, in_merge);
            }
        }
    }

    #[test]
    fn a_comparison_of_a_book_with_itself_is_empty(steps in steps()) {
        let mine = edited(&base(), &steps, "mine");
        prop_assert_eq!(compare(&mine, &mine.clone()), crate::store::BookDifference::default());
    }
}
