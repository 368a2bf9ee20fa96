//! The joints as the solver's question, and its faults in words of the book.

use std::collections::BTreeMap;

use balance::Fault;
use balance::robots::{Group, Kind, Place, Shop};
use book::{Join, Problem};

use super::choose::Choices;
use super::kinds::{JoiningKind, able};
use super::model::Aim;
use super::stack::{Floor, Stack};
use crate::sheet::problem;

/// Ticks of a second.
pub(super) const TICKS: f64 = 100.0;

/// Robots around a car where the station does not say (common practice).
pub(super) const ROBOTS_MOST: u32 = 4;

/// Seconds as ticks, so that a plan never promises what it does not hold.
pub(super) fn up(seconds: f64) -> u32 {
    (seconds * TICKS - 1e-6).ceil().max(0.0) as u32
}

fn down(seconds: f64) -> u32 {
    (seconds * TICKS + 1e-6).floor().max(0.0) as u32
}

/// The solver's question; `net_s` is what each station's cycle leaves its robots.
pub(super) fn question(
    floor: &Floor<'_>,
    stacks: &[Stack<'_>],
    choices: &[Choices],
    kinds: &[JoiningKind],
    (net_s, aim): (&[f64], Aim),
) -> Shop {
    let mut tools: BTreeMap<&str, usize> = BTreeMap::new();
    let mut zones: BTreeMap<&str, usize> = BTreeMap::new();
    let names: BTreeMap<&str, usize> = stacks
        .iter()
        .enumerate()
        .map(|(at, stack)| (stack.row.join.as_str(), at))
        .collect();
    let groups = stacks.iter().zip(choices).map(|(stack, choices)| {
        let option = choices.chosen();
        let next = tools.len();
        let tool = *tools.entry(&option.making.variant).or_insert(next);
        let zone = stack.row.zone.as_deref().map(|zone| {
            let next = zones.len();
            *zones.entry(zone).or_insert(next)
        });
        let reach = stack.row.reach_mm.map(|reach| reach.0);
        Group {
            joints: option.making.joints,
            ticks: up(option.making.seconds.value.in_cycle.0),
            start: 0,
            tool,
            kinds: able(kinds, option.method, reach),
            after: stack
                .row
                .after
                .iter()
                .filter_map(|name| names.get(name.as_str()).copied())
                .collect(),
            zone,
            stations: stack.stations.clone(),
            geometry: stack.row.geometry,
        }
    });
    let groups = groups.collect();
    let stations = floor.stations.iter().zip(net_s).map(|(row, net)| Place {
        ticks: down(*net),
        most: row.robots_most.unwrap_or(ROBOTS_MOST),
    });
    let cost = |kind: &JoiningKind| match aim {
        Aim::FewestRobots => 1,
        Aim::LeastCost => kind.per_year.round().max(1.0) as u64,
    };
    Shop {
        groups,
        stations: stations.collect(),
        kinds: kinds
            .iter()
            .map(|kind| Kind {
                cost: cost(kind),
                change: up(kind.change_s),
            })
            .collect(),
    }
}

/// A fault of the solver at the row that causes it.
pub(super) fn told(fault: &Fault, floor: &Floor<'_>, stacks: &[Stack<'_>]) -> Problem {
    let row = |group: usize| stacks[group].row;
    let name = |group: usize| format!("`{}`", row(group).join);
    let named = |groups: &[usize], between: &str| {
        let names: Vec<String> = groups.iter().map(|group| name(*group)).collect();
        names.join(between)
    };
    match fault {
        Fault::LongerThanTakt { task, ticks, takt } => longer_than_takt(row(*task), *ticks, *takt),
        Fault::ZoneTooLong { tasks, ticks, takt } => {
            let first = row(tasks.first().copied().unwrap_or(0));
            zone_too_long(first, &named(tasks, ", "), *ticks, *takt)
        }
        Fault::NoRoom {
            task,
            earliest,
            pushed,
            ..
        } => {
            let station = floor.stations.get(*earliest);
            Problem {
                found: format!(
                    "{} at a station before `{}`, where {} leaves it",
                    name(*task),
                    station.map_or("", |row| row.station.as_str()),
                    named(pushed, " before ")
                ),
                expected: "stations in the order of the joints".into(),
                mend: "move one of them to another station, or take the name out of after".into(),
                ..problem("out-of-order", row(*task).at, Some("after"))
            }
        }
        Fault::Circle { tasks } => {
            let first = row(tasks.first().copied().unwrap_or(0));
            let names: Vec<String> = tasks.iter().map(|group| name(*group)).collect();
            Problem {
                found: format!("the circle {}", names.join(" > ")),
                expected: "an order in which each comes after what it waits for".into(),
                mend: "take one of the names out of after".into(),
                ..problem("circle", first.at, Some("after"))
            }
        }
        other => {
            let first = stacks.first();
            let at = first.map_or_else(book::At::default, |stack| stack.row.at);
            Problem {
                found: other.told(&name),
                expected: "joints that robots can share out".into(),
                mend: "mend what it names".into(),
                ..problem("not-allocated", at, None)
            }
        }
    }
}

fn seconds(ticks: u64) -> f64 {
    ticks as f64 / TICKS
}

fn longer_than_takt(row: &Join, ticks: u64, takt: u64) -> Problem {
    Problem {
        found: format!(
            "a joint of `{}` takes {:.1} s, and a cycle leaves its robots {:.1} s",
            row.join,
            seconds(ticks),
            seconds(takt)
        ),
        expected: "joints that end within the cycle".into(),
        mend: format!(
            "divide the seam or bead (count) so that each takes {:.1} s, or raise takt",
            seconds(takt)
        ),
        ..problem("longer-than-takt", row.at, Some("length_mm"))
    }
}

/// `first` is the first of the zone's joints, whose names are `names`.
fn zone_too_long(first: &Join, names: &str, ticks: u64, takt: u64) -> Problem {
    let zone = first.zone.as_deref().unwrap_or("");
    Problem {
        found: format!(
            "zone `{zone}`, where one robot works at a time: {names} take {:.1} s, and their \
             stations have {:.1} s",
            seconds(ticks),
            seconds(takt)
        ),
        expected: "no more work in a zone than its stations have time".into(),
        mend: format!(
            "divide the zone in two, leave the station of a group empty, or raise takt by {:.1} s",
            seconds(ticks - takt)
        ),
        ..problem("zone-too-long", first.at, Some("zone"))
    }
}
