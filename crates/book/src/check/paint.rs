//! Windows, shares and ways of the paint shop that hold together.
//!
//! # Checks
//! A step's least minutes at metal temperature are no more than its most; the
//! shares of repairs add to 1 at most; a repair that never is OK leads to one
//! that is; what goes through the line again comes to an inspection. A film has
//! all that litres follow from, or a note says so.
//!
//! # Why it hurts
//! No oven keeps a window whose ends are the wrong way round, and a body that is
//! sent round for ever loads every bay without end.
//!
//! # Example
//! `spot` fails to `panel`, `panel` fails to `spot`, and none of them is ever OK.
//!
//! # Mended
//! `panel` has an `ok_share` of 0.9.

use std::collections::BTreeMap;

use super::graph;
use crate::{
    Book, Coat, CoatKind, HeatLimit, Repair,
    problem::{Problem, Problems},
};

/// Slack of shares typed as decimals.
const EXACT: f64 = 1e-6;

pub(super) fn check(book: &Book, problems: &mut Problems) {
    for row in &book.coats {
        window(row.at, row.least_min, row.most_min, problems);
        film(row, problems);
    }
    for HeatLimit {
        at,
        least_min,
        most_min,
        ..
    } in &book.heat_limits
    {
        window(*at, *least_min, *most_min, problems);
    }
    shares(book, problems);
    rounds(book, problems);
    for row in &book.repairs {
        again(book, row, problems);
    }
}

fn window(
    at: crate::At,
    least: Option<units::Minutes>,
    most: Option<units::Minutes>,
    problems: &mut Problems,
) {
    let Some((least, most)) = least.zip(most).filter(|(least, most)| least.0 > most.0) else {
        return;
    };
    problems.push(
        Problem::at(at, "window-turned-round")
            .column("most_min")
            .found(format!("{most}, below the least of {least}"))
            .expected("the longest time, no less than the least")
            .mend("exchange the two, or correct one"),
    );
}

/// A film without what litres follow from.
fn film(row: &Coat, problems: &mut Problems) {
    if row.film_um.is_none() || row.wet_l.is_some() {
        return;
    }
    let missing = [
        ("area_m2", row.area_m2.is_none()),
        ("solids_share", row.solids_share.is_none()),
        ("transfer_efficiency", row.transfer_efficiency.is_none()),
    ];
    for (column, _) in missing.iter().filter(|(_, missing)| *missing) {
        problems.push(
            Problem::at(row.at, "film-unpriced")
                .column(column)
                .found("an empty cell beside `film_um`")
                .expected("what the litres of a film follow from")
                .mend("fill it; until then the coat has no litres and no robots")
                .into_note(),
        );
    }
}

fn shares(book: &Book, problems: &mut Problems) {
    let sum: f64 = book.repairs.iter().map(|row| row.share.0).sum();
    let largest = book
        .repairs
        .iter()
        .reduce(|a, b| if b.share.0 > a.share.0 { b } else { a });
    let Some(row) = largest.filter(|_| sum > 1.0 + EXACT) else {
        return;
    };
    let right = row.share.0 + 1.0 - sum;
    problems.push(
        Problem::at(row.at, "shares-sum")
            .column("share")
            .found(format!("shares of all repairs that add to {}", tidy(sum)))
            .expected("a sum of 1 at most; the rest is scrapped")
            .mend(if right >= 0.0 {
                format!(
                    "write {} for `{}`, or change others",
                    tidy(right),
                    row.repair
                )
            } else {
                "make the shares smaller".to_owned()
            }),
    );
}

/// A number without the dust of binary addition.
fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// Repairs that only lead to each other and are never OK.
fn rounds(book: &Book, problems: &mut Problems) {
    let places: BTreeMap<&str, usize> = book
        .repairs
        .iter()
        .enumerate()
        .map(|(place, row)| (row.repair.as_str(), place))
        .collect();
    let next = |(place, row): (usize, &Repair)| {
        let to = row.fails_to.as_deref();
        let to = to.map_or(Some(place), |name| places.get(name).copied());
        to.filter(|_| row.ok_share.0 < 1.0).into_iter().collect()
    };
    let edges: Vec<Vec<usize>> = book.repairs.iter().enumerate().map(next).collect();
    for component in graph::components(&edges) {
        let never = component
            .iter()
            .all(|place| book.repairs[*place].ok_share.0 <= 0.0);
        let leaves = component.iter().any(|place| {
            let mut next = edges[*place].iter();
            next.any(|next| component.binary_search(next).is_err())
        });
        if !never || leaves {
            continue;
        }
        let names: Vec<&str> = component
            .iter()
            .map(|place| book.repairs[*place].repair.as_str())
            .collect();
        problems.push(
            Problem::at(book.repairs[component[0]].at, "no-way-out")
                .column("ok_share")
                .found(format!(
                    "bodies that go round `{}` without end",
                    names.join(" > ")
                ))
                .expected("a repair that is OK in some part")
                .mend(format!("make the ok_share of `{}` larger than 0", names[0])),
        );
    }
}

/// What is sent back must come to an inspection.
fn again(book: &Book, row: &Repair, problems: &mut Problems) {
    let Some(back) = &row.back_to else { return };
    let own = book.coats.iter().filter(|coat| coat.coat == *back);
    let Some(from) = own.map(|coat| coat.step).min() else {
        return;
    };
    let mut inspections = book
        .coats
        .iter()
        .filter(|coat| coat.kind == Some(CoatKind::Inspect));
    if inspections.any(|coat| coat.step >= from) {
        return;
    }
    problems.push(
        Problem::at(row.at, "never-inspected")
            .column("back_to")
            .found(format!(
                "`{back}`, after which no step of `coats` is an inspection"
            ))
            .expected("a coat before an inspection")
            .mend("name an earlier coat, or write `inspect` as the kind of a step behind it"),
    );
}
