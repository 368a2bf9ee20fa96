//! The cascade's troubles in words: which rows, what is seen, the smallest
//! change that frees it.

use book::{At, Book, Link, Part, Problem, Product, Severity, Station};

use super::route::Trouble;

fn error(what: &str, at: At, column: &str) -> Problem {
    let table = at.table.name();
    Problem {
        code: format!("{table}/{what}"),
        severity: Severity::Error,
        table: table.to_owned(),
        row: Some(at.row),
        column: Some(column.to_owned()),
        found: String::new(),
        expected: String::new(),
        mend: String::new(),
        nearest: None,
    }
}

fn said(problem: Problem, found: String, expected: &str, mend: String) -> Problem {
    Problem {
        found,
        expected: expected.to_owned(),
        mend,
        ..problem
    }
}

/// `name` (row 7), `other` (row 9), ...
fn named(book: &Book, stations: &[usize]) -> String {
    let names: Vec<String> = stations
        .iter()
        .map(|&i| {
            format!(
                "`{}` (row {})",
                book.stations[i].station, book.stations[i].at.row
            )
        })
        .collect();
    names.join(", ")
}

/// A trouble of one product as a problem of the book.
pub(crate) fn problem(book: &Book, product: &Product, trouble: &Trouble) -> Problem {
    match trouble {
        Trouble::NoRoute => no_route(product),
        Trouble::DeadEnd { station } => dead_end(&book.stations[*station], product),
        Trouble::Trap { stations } => trap(book, stations),
        Trouble::NothingGood { stations } => nothing_good(book, stations),
        Trouble::NotSupplied { way } => not_supplied(&book.links[*way], product),
        Trouble::Ring { stations } => ring(book, stations),
        Trouble::Uneven { way, brings, takes } => {
            uneven(&book.links[*way], product, *brings, *takes)
        }
        Trouble::Shares { station, sum } => shares(book, *station, product, *sum),
    }
}

fn no_route(product: &Product) -> Problem {
    said(
        error("no-route", product.at, "product"),
        format!(
            "`{}` with no way from a releasing station to an end",
            product.product
        ),
        "links open to the product from a source to a station without further links",
        format!(
            "add `{}` to the `products` of the links it should take",
            product.product
        ),
    )
}

fn dead_end(station: &Station, product: &Product) -> Problem {
    said(
        error("dead-end", station.at, "station"),
        format!(
            "`{}` comes to `{}` and no link takes it on",
            product.product, station.station
        ),
        "an outgoing link open to every product that comes",
        format!(
            "open one link from `{}` to `{}`, or close the links that bring it there",
            station.station, product.product
        ),
    )
}

fn trap(book: &Book, stations: &[usize]) -> Problem {
    let inside = |name: &str| stations.iter().any(|&i| book.stations[i].station == name);
    // The way out that costs least: let a part of the jobs at the station that
    // sends them back pass, or cap the attempts.
    let sender = stations
        .iter()
        .map(|&i| &book.stations[i])
        .find(|row| row.rework_to.as_deref().is_some_and(inside))
        .or_else(|| stations.first().map(|&i| &book.stations[i]));
    let Some(sender) = sender else {
        return no_stations();
    };
    let mend = if sender.rework_to.is_some() {
        format!(
            "set `first_time_ok` of `{}` above 0, or `attempts` so that a hopeless job ends as scrap",
            sender.station
        )
    } else {
        format!("add a link from `{}` out of the loop", sender.station)
    };
    said(
        error("no-way-out", sender.at, "rework_to"),
        format!("jobs go round for ever in {}", named(book, stations)),
        "a loop that some jobs leave",
        mend,
    )
}

fn nothing_good(book: &Book, stations: &[usize]) -> Problem {
    let at = stations
        .first()
        .map_or_else(At::default, |&i| book.stations[i].at);
    said(
        error("nothing-good", at, "first_time_ok"),
        format!("no job leaves {} good", named(book, stations)),
        "a share of good jobs above 0",
        "set `first_time_ok` above 0 and `scrap` below 1, or name `rework_to`".to_owned(),
    )
}

fn not_supplied(link: &Link, product: &Product) -> Problem {
    said(
        error("not-supplied", link.at, "products"),
        format!(
            "`{}` needs pieces from `{}` for `{}`, and nothing releases them",
            link.to, link.from, product.product
        ),
        "a releasing station before every link of a merge",
        format!(
            "open the links before `{}` to `{}`, mark `source` there, or leave `{}` out of this link's `products`",
            link.from, product.product, product.product
        ),
    )
}

fn ring(book: &Book, stations: &[usize]) -> Problem {
    let at = stations
        .first()
        .map_or_else(At::default, |&i| book.stations[i].at);
    said(
        error("ring", at, "station"),
        format!(
            "lines that wait for each other's pieces: {}",
            named(book, stations)
        ),
        "a merge fed from lines that do not need its own output",
        "turn one of the links between them round or take it out".to_owned(),
    )
}

fn uneven(link: &Link, product: &Product, brings: f64, takes: f64) -> Problem {
    let problem = said(
        error("uneven", link.at, "share"),
        format!(
            "`{}` to `{}` brings {brings:.4} pieces for each good `{}`, where {takes:.4} are taken",
            link.from, link.to, product.product
        ),
        "as many pieces as the merge takes",
        format!(
            "set the shares at `{}` or `needs` so that both agree; until then the line jams or starves",
            link.from
        ),
    );
    Problem {
        severity: Severity::Note,
        ..problem
    }
}

fn shares(book: &Book, station: usize, product: &Product, sum: f64) -> Problem {
    let row = &book.stations[station];
    let first = book.links.iter().find(|link| link.from == row.station);
    // Sums of typed decimals end in a row of nines; six places tell them.
    let told = |share: f64| (share * 1e6).round() / 1e6;
    let (sum, missing) = (told(sum), told(1.0 - sum));
    said(
        error("shares", first.map_or(row.at, |link| link.at), "share"),
        format!(
            "the links of `{}` open to `{}` share {sum}",
            row.station, product.product
        ),
        "shares that add to 1",
        format!("change one share by {missing:+}, or leave one empty for the rest"),
    )
}

/// A station that no car can come to.
pub(crate) fn unreachable(station: &Station) -> Problem {
    said(
        error("unreachable", station.at, "station"),
        format!("no car can come to `{}`", station.station),
        "a link that leads to it, open to a product that passes its start",
        format!(
            "add a link to `{}`, name it in a `rework_to`, or take the row out",
            station.station
        ),
    )
}

/// A station that releases cars though it may not be meant to.
pub(crate) fn unmeant_source(station: &Station) -> Problem {
    let problem = said(
        error("releases-too", station.at, "source"),
        format!(
            "no link leads to `{}`, so it releases cars beside its line's source",
            station.station
        ),
        "a link to it, or `source` marked",
        format!(
            "mark `{}` with `source` yes, add a link to it, or name it in a `rework_to`",
            station.station
        ),
    );
    Problem {
        severity: Severity::Note,
        ..problem
    }
}

/// A part of which nothing good is left.
pub(crate) fn all_scrap(part: &Part) -> Problem {
    said(
        error("all-scrap", part.at, "scrap"),
        format!("{}", part.scrap.0),
        "a share below 1",
        format!("set `scrap` of `{}` below 1", part.part),
    )
}

pub(crate) fn no_products() -> Problem {
    empty(book::Table::Products, "a product with its cars a week")
}

pub(crate) fn no_stations() -> Problem {
    empty(book::Table::Stations, "a station with its cycle")
}

fn empty(table: book::Table, expected: &str) -> Problem {
    let problem = said(
        error("empty", At { table, row: 0 }, ""),
        "no row".to_owned(),
        expected,
        format!("add a row to `{}`", table.name()),
    );
    Problem {
        row: None,
        column: None,
        ..problem
    }
}
