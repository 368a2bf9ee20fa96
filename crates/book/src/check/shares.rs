//! Shares that add to one.
//!
//! # Checks
//! The colours' shares add to 1. At a station that gives by share, the links
//! that a product can take add to 1; an empty share takes what the others leave.
//! What rounding to three decimals leaves over is divided, with a note.
//!
//! # Why it hurts
//! Cars would vanish, or come from nowhere.
//!
//! # Example
//! Two links from one station with 0.6 and 0.3.
//!
//! # Mended
//! The second has 0.4, or is empty.

use std::collections::BTreeMap;

use crate::{
    Book, Gives, Link, Station,
    problem::{Problem, Problems},
};

/// A sum this near to 1 is 1: decimals have no exact binary form.
const EXACT: f64 = 1e-6;

/// How far shares that must add to 1 may miss it when they were rounded: three
/// times 0.333 is meant to be all cars. They are then scaled to add to 1.
pub const ROUNDED_SHARES: f64 = 0.001;

/// Whether a sum of shares is 1, or meant to be.
fn adds_up(sum: f64) -> bool {
    (sum - 1.0).abs() <= ROUNDED_SHARES + EXACT
}

/// The note on shares that are 1 but for rounding; none for an exact sum.
fn rounded(problem: Problem, sum: f64) -> Option<Problem> {
    ((sum - 1.0).abs() > EXACT).then(|| {
        problem
            .expected("a sum of 1")
            .mend("they are taken as rounded and scaled to add to 1")
            .into_note()
    })
}

pub(super) fn check(book: &Book, problems: &mut Problems) {
    colours(book, problems);
    let mut leaving: BTreeMap<&str, Vec<&Link>> = BTreeMap::new();
    for link in &book.links {
        leaving.entry(&link.from).or_default().push(link);
    }
    for station in &book.stations {
        if let Some(links) = leaving.get(station.station.as_str()) {
            station_links(book, station, links, problems);
        }
    }
}

fn colours(book: &Book, problems: &mut Problems) {
    let sum: f64 = book.colours.iter().map(|colour| colour.share.0).sum();
    let largest = book
        .colours
        .iter()
        .reduce(|a, b| if b.share.0 > a.share.0 { b } else { a });
    let Some(largest) = largest else {
        return;
    };
    let problem = |what| {
        Problem::at(largest.at, what)
            .column("share")
            .found(format!("shares of all colours that add to {}", tidy(sum)))
    };
    if adds_up(sum) {
        problems.extend(rounded(problem("shares-rounded"), sum));
    } else {
        problems.push(
            problem("shares-sum")
                .expected("a sum of 1")
                .mend(correction(largest.share.0, sum, &largest.colour)),
        );
    }
}

/// The smallest change: one share takes the whole difference, if it can.
fn correction(share: f64, sum: f64, name: &str) -> String {
    let right = share + 1.0 - sum;
    if (0.0..=1.0).contains(&right) {
        format!("write {} for `{name}`, or change others", tidy(right))
    } else {
        "make the shares smaller until they add to 1".to_owned()
    }
}

/// A number without the dust of binary addition.
fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

fn station_links(book: &Book, station: &Station, links: &[&Link], problems: &mut Problems) {
    let rework = |link: &Link| station.rework_to.as_ref() == Some(&link.to);
    let forward: Vec<&Link> = links.iter().copied().filter(|link| !rework(link)).collect();
    let unused = links
        .iter()
        .filter(|link| link.share.is_some() && (rework(link) || station.gives == Gives::OneToEach));
    for link in unused {
        let why = if rework(link) {
            "the way to rework"
        } else {
            "a link of a station that gives one to each"
        };
        problems.push(
            Problem::at(link.at, "share-not-used")
                .column("share")
                .found(format!("a share on {why}"))
                .mend("it is not used; empty the cell")
                .into_note(),
        );
    }
    if station.gives == Gives::OneToEach {
        return;
    }
    let products: Vec<Option<&str>> = if book.products.is_empty() {
        vec![None]
    } else {
        book.products
            .iter()
            .map(|product| Some(product.product.as_str()))
            .collect()
    };
    // Products that take the same links have the same sum: one report.
    let mut seen: Vec<Vec<u32>> = Vec::new();
    for product in products {
        let open: Vec<&Link> = forward
            .iter()
            .copied()
            .filter(|link| serves(link, product))
            .collect();
        let rows: Vec<u32> = open.iter().map(|link| link.at.row).collect();
        if !open.is_empty() && !seen.contains(&rows) {
            seen.push(rows);
            sum_of(station, product, &open, problems);
        }
    }
}

/// Whether a product's cars can take this link.
pub(super) fn serves(link: &Link, product: Option<&str>) -> bool {
    link.products.is_empty()
        || product.is_none_or(|product| link.products.iter().any(|own| own == product))
}

fn sum_of(station: &Station, product: Option<&str>, links: &[&Link], problems: &mut Problems) {
    let sum: f64 = links
        .iter()
        .filter_map(|link| link.share)
        .map(|share| share.0)
        .sum();
    let rest = links.iter().find(|link| link.share.is_none());
    let cars = product
        .map(|product| format!(" for `{product}`"))
        .unwrap_or_default();
    let found = format!(
        "shares from `{}`{cars} that add to {}",
        station.station,
        tidy(sum)
    );
    let last = links[links.len() - 1];
    let problem = match rest {
        Some(rest) if sum > 1.0 - EXACT && adds_up(sum) => Problem::at(rest.at, "rest-of-nothing")
            .column("share")
            .found(format!("an empty share beside {found}"))
            .expected("a rest for it")
            .mend("no car goes this way; make the other shares smaller if that is not meant")
            .into_note(),
        Some(_) if sum < 1.0 => return,
        None if adds_up(sum) => {
            let problem = Problem::at(last.at, "shares-rounded")
                .column("share")
                .found(found);
            problems.extend(rounded(problem, sum));
            return;
        }
        _ => {
            let share = last.share.map_or(0.0, |share| share.0);
            Problem::at(last.at, "shares-sum")
                .column("share")
                .found(found)
                .expected("a sum of 1, or one empty share that takes the rest")
                .mend(correction(share, sum, &last.to))
        }
    };
    problems.push(problem);
}
