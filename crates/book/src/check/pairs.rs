//! Cells of one row that need each other.
//!
//! # Checks
//! A product has cars; mean time between stops comes with time to repair; a
//! spacing rule has both its numbers; a fleet has a way back; a made part has a
//! line; a car that is not OK has a place to go; a grain range is a range; a
//! special cycle says for which cars.
//!
//! # Why it hurts
//! Half a statement would be read as none at all.
//!
//! # Example
//! A station with `mtbf_min` 300 and an empty `mttr_min`.
//!
//! # Mended
//! `mttr_min` is 12.

use std::collections::BTreeSet;

use units::Minutes;

use crate::{
    At, Book, Carrier, Cycle, OptionRow, Part, PartSource, Station, Table, Takes,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    for product in book
        .products
        .iter()
        .filter(|product| product.cars_per_week.0 == 0.0)
    {
        problems.push(
            Problem::at(product.at, "no-cars")
                .column("cars_per_week")
                .found("0")
                .expected("cars to be built")
                .mend("write the weekly need, or take the row away"),
        );
    }
    let known: BTreeSet<&str> = book
        .stations
        .iter()
        .map(|row| row.station.as_str())
        .collect();
    let linked: BTreeSet<(&str, &str)> = book
        .links
        .iter()
        .map(|link| (link.from.as_str(), link.to.as_str()))
        .collect();
    let joins = |station: &Station| {
        let made = |part: &&Part| part.source == PartSource::Made;
        station.takes != Takes::Any
            || book
                .parts
                .iter()
                .filter(made)
                .any(|part| part.to.as_ref() == Some(&station.station))
    };
    for station in &book.stations {
        stop(station.at, station.mtbf_min, station.mttr_min, problems);
        if !problems.unread(Table::Links) {
            rework(station, joins(station), &known, &linked, problems);
        }
    }
    for line in &book.press_lines {
        stop(line.at, line.mtbf_min, line.mttr_min, problems);
    }
    book.options
        .iter()
        .for_each(|option| spacing(option, problems));
    book.carriers
        .iter()
        .for_each(|carrier| way_back(carrier, problems));
    book.parts.iter().for_each(|part| made(part, problems));
    cycles(book, problems);
}

fn stop(at: At, mtbf: Option<Minutes>, mttr: Option<Minutes>, problems: &mut Problems) {
    let (given, missing) = match (mtbf, mttr) {
        (Some(_), None) => ("mtbf_min", "mttr_min"),
        (None, Some(_)) => ("mttr_min", "mtbf_min"),
        _ => return,
    };
    problems.push(
        Problem::at(at, "half-a-stop")
            .column(missing)
            .found(format!("an empty cell beside a {given}"))
            .expected("both or none of the two")
            .mend(format!("fill {missing}, or empty {given}")),
    );
}

fn rework(
    station: &Station,
    joins: bool,
    known: &BTreeSet<&str>,
    linked: &BTreeSet<(&str, &str)>,
    problems: &mut Problems,
) {
    match &station.rework_to {
        None if station.ok().0 < 1.0 => problems.push(
            Problem::at(station.at, "no-rework-way")
                .column("rework_to")
                .found(format!(
                    "an empty cell beside first_time_ok {}",
                    station.ok().0
                ))
                .expected("the station where a car that is not OK goes")
                // A station that joins would wait for the parts of a car that has them.
                .mend(if joins {
                    "name a repair station that leads on behind this one, which joins and \
                     cannot take a car again"
                } else {
                    "name that station; it may be the same one"
                }),
        ),
        Some(to) if *to != station.station => {
            let linked = linked.contains(&(station.station.as_str(), to.as_str()));
            if known.contains(to.as_str()) && !linked {
                problems.push(
                    Problem::at(station.at, "no-rework-link")
                        .column("rework_to")
                        .found(format!(
                            "`{to}`, to which no link leads from `{}`",
                            station.station
                        ))
                        .expected("a link for the cars that are not OK")
                        .mend(format!("add a link from `{}` to `{to}`", station.station)),
                );
            }
        }
        _ => {}
    }
}

fn spacing(option: &OptionRow, problems: &mut Problems) {
    let problem = match (option.at_most, option.in_every) {
        (Some(most), Some(every)) if most > every => Problem::at(option.at, "spacing")
            .column("at_most")
            .found(format!("{most} in every {every}"))
            .expected(format!("no more than the {every} cars in a row"))
            .mend("swap the two, or make at_most smaller"),
        (Some(_), None) => half_spacing(option, "in_every"),
        (None, Some(_)) => half_spacing(option, "at_most"),
        _ => return,
    };
    problems.push(problem);
}

fn half_spacing(option: &OptionRow, missing: &str) -> Problem {
    Problem::at(option.at, "half-a-spacing")
        .column(missing)
        .found("an empty cell")
        .expected("both at_most and in_every, or none")
        .mend(format!("fill {missing}, or empty the other"))
}

fn way_back(carrier: &Carrier, problems: &mut Problems) {
    let by_speed = carrier.speed_m_min.is_some() && carrier.loop_m.is_some();
    if carrier.return_s.is_none() && !by_speed {
        problems.push(
            Problem::at(carrier.at, "no-way-back")
                .column("return_s")
                .found("an empty cell without both speed_m_min and loop_m")
                .expected("the time of the empty way back")
                .mend("write return_s (0 if there is no way), or speed_m_min and loop_m"),
        );
    }
}

fn made(part: &Part, problems: &mut Problems) {
    let wrong = |what, column, found: &str, expected: &str, mend: &str| {
        Problem::at(part.at, what)
            .column(column)
            .found(found)
            .expected(expected)
            .mend(mend)
    };
    if part.source == PartSource::Made && part.press_line.is_none() && part.blank_line.is_none() {
        problems.push(wrong(
            "made-nowhere",
            "press_line",
            "an empty cell in a part that is made",
            "the line that presses it",
            "name its press_line (or blank_line), or write `bought` as its source",
        ));
    }
    let rates = [
        (&part.press_line, part.strokes_per_min, "strokes_per_min"),
        (&part.blank_line, part.blanks_per_min, "blanks_per_min"),
    ];
    for (line, rate, column) in rates {
        if line.is_some() && rate.is_none() {
            problems.push(wrong(
                "no-rate",
                column,
                "an empty cell beside its line",
                "how fast the line makes it",
                "fill the cell",
            ));
        }
    }
    match (part.grain_from_deg, part.grain_to_deg) {
        (Some(from), Some(to)) if from > to => problems.push(wrong(
            "grain",
            "grain_to_deg",
            &format!("{from} to {to}"),
            "an angle not below grain_from_deg",
            "swap the two",
        )),
        _ => {}
    }
}

fn cycles(book: &Book, problems: &mut Problems) {
    let all: BTreeSet<&str> = option_names(book, None);
    for cycle in &book.cycles {
        match (&cycle.product, &cycle.option) {
            (None, None) => problems.push(
                Problem::at(cycle.at, "cycle-for-nobody")
                    .column("product")
                    .found("neither a product nor an option")
                    .expected("the cars that have this cycle")
                    .mend("name a product or an option, or write the time into stations"),
            ),
            (Some(product), Some(option))
                if all.contains(option.as_str())
                    && !option_names(book, Some(product)).contains(option.as_str()) =>
            {
                problems.push(option_of_another(cycle, product, option));
            }
            _ => {}
        }
    }
}

fn option_of_another(cycle: &Cycle, product: &str, option: &str) -> Problem {
    Problem::at(cycle.at, "option-of-another")
        .column("option")
        .found(format!("`{option}`, which `{product}` can't have"))
        .expected(format!("an option of `{product}`"))
        .mend(format!(
            "add a row for `{product}` to options, or correct the product"
        ))
}

fn option_names<'b>(book: &'b Book, product: Option<&str>) -> BTreeSet<&'b str> {
    let fits = |option: &&OptionRow| match (&option.product, product) {
        (Some(own), Some(product)) => own == product,
        _ => true,
    };
    book.options
        .iter()
        .filter(fits)
        .map(|option| option.option.as_str())
        .collect()
}
