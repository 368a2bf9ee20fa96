//! The workings of the plan's figures as rows.

use std::collections::BTreeSet;

use formulas::{Origin, Term, Working};
use whole::plan::{Figure, Planned, RatePlan};

/// A list put together from more figures than this (the rates of all stations
/// of a shop) is not followed on paper.
const FOLLOWED: usize = 8;

/// The figures that paper shows: those of plant, shops, lines, fleets, lead time
/// and shortfalls, and what they come from, down to the cells. The figures of a
/// station that is neither the busiest nor short would fill two hundred pages;
/// the workbook has them all.
pub(super) fn told(plan: &RatePlan) -> Vec<&Figure> {
    let mut ahead: Vec<&str> = plan.shortfalls.iter().map(|s| s.figure.as_str()).collect();
    heads(plan).for_each(|planned| names(&planned.from, &mut ahead));
    let mut seen = BTreeSet::new();
    while let Some(id) = ahead.pop() {
        let Some(figure) = plan.figures.get(id) else {
            continue;
        };
        if seen.insert(id) {
            let origins = figure
                .working
                .inputs
                .iter()
                .filter_map(|term| term.from.as_ref());
            origins.for_each(|origin| names(origin, &mut ahead));
        }
    }
    let figures = seen.into_iter();
    figures.filter_map(|id| plan.figures.get(id)).collect()
}

fn heads(plan: &RatePlan) -> impl Iterator<Item = &Planned> {
    let shops = plan.shops.iter().flat_map(|shop| {
        let busiest = shop.busiest.as_ref().map(|(_, load)| load);
        [
            Some(&shop.net_time_h),
            shop.takt_s.as_ref(),
            busiest,
            shop.alone.as_ref(),
        ]
        .into_iter()
        .chain([shop.positions.as_ref(), shop.payroll.as_ref()])
        .flatten()
    });
    let lines = plan.press_lines.iter().flat_map(|line| {
        [
            Some(&line.load),
            Some(&line.changing_h),
            line.alone.as_ref(),
        ]
        .into_iter()
        .flatten()
    });
    let fleets = plan.carriers.iter().map(|fleet| &fleet.needed);
    let time = plan.lead_time.iter().map(|time| &time.total_days);
    plan.capable
        .iter()
        .chain(shops)
        .chain(lines)
        .chain(fleets)
        .chain(time)
}

fn names<'o>(origin: &'o Origin, into: &mut Vec<&'o str>) {
    match origin {
        Origin::Figure(id) => into.push(id),
        Origin::Several(origins) if origins.len() <= FOLLOWED => {
            origins.iter().for_each(|origin| names(origin, into));
        }
        _ => {}
    }
}

/// A figure with its working in words.
pub(super) struct Worked<'f> {
    pub(super) figure: &'f Figure,
    /// `demand = 200 (products, row 2, cars_per_week); ...`
    pub(super) inputs: String,
    /// `takt = 264 s; ...`
    pub(super) results: String,
}

/// Puts a figure's working into words.
pub(super) fn worked(figure: &Figure) -> Worked<'_> {
    let Working {
        inputs, results, ..
    } = &figure.working;
    let listed = |terms: &[Term]| {
        let words: Vec<String> = terms.iter().map(term).collect();
        words.join("; ")
    };
    Worked {
        figure,
        inputs: listed(inputs),
        results: listed(results),
    }
}

fn term(term: &Term) -> String {
    match &term.from {
        Some(origin) => format!("{term} ({})", place(origin)),
        None => term.to_string(),
    }
}

/// A list from hundreds of places is named by its first and their number; the
/// page and the command line name them all.
fn place(origin: &Origin) -> String {
    const NAMED: usize = 3;
    match origin {
        Origin::Several(places) if places.len() > NAMED => {
            let named: Vec<String> = places.iter().take(NAMED).map(place).collect();
            format!("{}; and {} more", named.join("; "), places.len() - NAMED)
        }
        other => other.to_string(),
    }
}
