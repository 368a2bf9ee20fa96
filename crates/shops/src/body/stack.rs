//! The joint groups of the book, each with its sheets and the stations that may
//! make it.

use std::collections::{BTreeMap, BTreeSet};

use book::{At, Book, Join, JoinMethod, Part, Problem, Station};
use units::nearest;

use crate::sheet::problem;

/// A group as the book has it.
pub(super) struct Stack<'b> {
    pub(super) row: &'b Join,
    /// Thickness of each sheet, the one on the die last.
    pub(super) gauges: Vec<f64>,
    /// Its sheets in words.
    pub(super) told: String,
    /// Whether its sheets are of metals of different density.
    pub(super) mixed: bool,
    /// Stations that may make it, by their place in [`Floor::stations`].
    pub(super) stations: Vec<usize>,
}

impl Stack<'_> {
    /// The methods that the product allows.
    pub(super) fn allowed(&self, method: JoinMethod) -> bool {
        match self.row.methods.is_empty() {
            true => self.row.method == method,
            false => self.row.methods.contains(&method),
        }
    }
}

/// The stations that make joints, in the order of the book.
pub(super) struct Floor<'b> {
    pub(super) stations: Vec<&'b Station>,
    by_name: BTreeMap<&'b str, usize>,
}

impl<'b> Floor<'b> {
    /// Stations that a group names, and those of an assembly's line that say how
    /// many robots they bear.
    pub(super) fn of(book: &'b Book) -> Self {
        let named: BTreeSet<&str> = book
            .joins
            .iter()
            .filter_map(|row| row.station.as_deref())
            .collect();
        let lines: BTreeSet<&str> = book.joins.iter().map(|row| row.assembly.as_str()).collect();
        let joins = |row: &&Station| {
            let line = row.line.as_deref().is_some_and(|line| lines.contains(line));
            named.contains(row.station.as_str()) || line && row.robots_most.is_some()
        };
        let stations: Vec<&Station> = book.stations.iter().filter(joins).collect();
        let names = stations.iter().enumerate();
        Self {
            by_name: names.map(|(at, row)| (row.station.as_str(), at)).collect(),
            stations,
        }
    }

    pub(super) fn line(&self, station: usize) -> &'b str {
        let row = self.stations[station];
        row.line.as_deref().unwrap_or(&row.shop)
    }
}

/// Metals whose densities differ by more are different ones: aluminium alloys lie
/// between 2.6 and 2.9 t/m3, steels at 7.8.
const SAME_METAL: f64 = 1.3;

/// Reads every group.
pub(super) fn stacks<'b>(
    book: &'b Book,
    floor: &Floor<'b>,
    problems: &mut Vec<Problem>,
) -> Vec<Stack<'b>> {
    let parts: BTreeMap<&str, &Part> = book
        .parts
        .iter()
        .map(|row| (row.part.as_str(), row))
        .collect();
    let densities: BTreeMap<&str, f64> = book
        .materials
        .iter()
        .map(|row| (row.material.as_str(), row.density_kg_m3))
        .collect();
    let order = StationOrder::of(book);
    let mut stacks = Vec::new();
    for row in &book.joins {
        let sheets: Vec<&Part> = row
            .stack
            .iter()
            .filter_map(|name| parts.get(name.as_str()).copied())
            .collect();
        let Some(gauges) = gauges(row, &sheets, problems) else {
            continue;
        };
        let metals: Vec<f64> = sheets
            .iter()
            .filter_map(|part| densities.get(part.material.as_deref()?).copied())
            .collect();
        let lightest = metals.iter().copied().fold(f64::INFINITY, f64::min);
        let heaviest = metals.iter().copied().fold(0.0, f64::max);
        let stations = stations(row, &sheets, floor, &order);
        if stations.is_empty() {
            problems.push(no_station(row, floor));
            continue;
        }
        if row.geometry && row.station.is_none() {
            problems.push(Problem {
                found: format!("`{}` holds the shape and has no station", row.join),
                expected: "the station whose frame holds the parts".into(),
                mend: "name the station, or write `no` in geometry".into(),
                ..problem("no-frame", row.at, Some("station"))
            });
            continue;
        }
        let told = sheets.iter().zip(&gauges);
        stacks.push(Stack {
            row,
            told: told
                .map(|(part, gauge)| format!("{} {gauge}", part.part))
                .collect::<Vec<_>>()
                .join(" + "),
            gauges,
            mixed: heaviest > SAME_METAL * lightest,
            stations,
        });
    }
    stacks
}

fn gauges(row: &Join, sheets: &[&Part], problems: &mut Vec<Problem>) -> Option<Vec<f64>> {
    let before = problems.len();
    if sheets.is_empty() {
        problems.push(Problem {
            found: format!("`{}` without sheets", row.join),
            expected: "the parts in its stack, the one on the die last".into(),
            mend: "name the parts, separated by `;`".into(),
            ..problem("empty-stack", row.at, Some("stack"))
        });
    }
    let mut gauges = Vec::new();
    for part in sheets {
        match part.gauge_mm {
            Some(gauge) => gauges.push(gauge.0),
            None => problems.push(Problem {
                found: format!("`{}`, which has no gauge", part.part),
                expected: "parts whose thickness the parts table has".into(),
                mend: format!("write gauge_mm of `{}` ({})", part.part, part.at),
                ..problem("no-gauge", row.at, Some("stack"))
            }),
        }
    }
    (problems.len() == before).then_some(gauges)
}

/// The place of every station within its line.
struct StationOrder<'b> {
    places: BTreeMap<&'b str, (Option<&'b str>, usize)>,
}

impl<'b> StationOrder<'b> {
    fn of(book: &'b Book) -> Self {
        let rows = book.stations.iter().enumerate();
        Self {
            places: rows
                .map(|(at, row)| (row.station.as_str(), (row.line.as_deref(), at)))
                .collect(),
        }
    }
}

/// The group's own station, or those of its line from where its last part comes.
fn stations(
    row: &Join,
    sheets: &[&Part],
    floor: &Floor<'_>,
    order: &StationOrder<'_>,
) -> Vec<usize> {
    if let Some(own) = row.station.as_deref() {
        return floor.by_name.get(own).copied().into_iter().collect();
    }
    let arrives = sheets
        .iter()
        .filter_map(|part| order.places.get(part.to.as_deref()?))
        .filter(|(line, _)| *line == Some(row.assembly.as_str()))
        .map(|(_, place)| *place)
        .max()
        .unwrap_or(0);
    let in_line = |at: &usize| {
        let station = floor.stations[*at];
        let place = order.places.get(station.station.as_str());
        station.line.as_deref() == Some(row.assembly.as_str())
            && place.is_some_and(|(_, place)| *place >= arrives)
    };
    (0..floor.stations.len()).filter(in_line).collect()
}

fn no_station(row: &Join, floor: &Floor<'_>) -> Problem {
    let lines = floor.stations.iter().filter_map(|row| row.line.as_deref());
    let lines: BTreeSet<&str> = lines.collect();
    Problem {
        found: format!(
            "`{}`, whose line has no station that takes joints after its parts have come",
            row.assembly
        ),
        expected: "an assembly that is a line of stations, or a station of its own".into(),
        mend: "name the station, correct the assembly, or write robots_most at a station of its \
               line"
            .into(),
        nearest: nearest(&row.assembly, lines).map(str::to_owned),
        ..problem("no-station", row.at, Some("assembly"))
    }
}

/// Where a row of joins stands.
pub(super) fn at(stacks: &[Stack<'_>], group: usize) -> At {
    stacks[group].row.at
}
