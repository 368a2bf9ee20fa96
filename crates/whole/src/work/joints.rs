//! Cycles, robots and stops that stations have from their joints.

use std::collections::BTreeSet;

use book::{Book, Problem, Stop};
use formulas::Sourced;
use shops::body::{Aim, Body, BodyStation, Question, StuckJoints, Watch, lines};
use units::{Minutes, Seconds};

use super::{Made, Worked, cell, problem};
use crate::requirement::Requirement;

/// How much such a stop varies: planned work by hand (common practice).
const STOP_SPREAD: f64 = 0.2;

/// Takes the body shop's plan into the book: cycles and stops of stations that
/// leave theirs to it, robots of all that join.
///
/// # Errors
///
/// All problems at once: those of the body shop, and joints without a robot.
pub(super) fn take(
    worked: &mut Worked<'_>,
    filled: &mut Book,
    open: &BTreeSet<&str>,
    need: &Requirement,
) -> Result<(), Vec<Problem>> {
    let book = filled.clone();
    let joins = |row: &&book::Station| open.contains(row.station.as_str());
    let lines: BTreeSet<String> = lines(&book).into_iter().map(|(line, _)| line).collect();
    let line = |row: &book::Station| row.line.clone().unwrap_or_else(|| row.shop.clone());
    if !book
        .stations
        .iter()
        .filter(joins)
        .any(|row| lines.contains(&line(row)))
    {
        return Ok(());
    }
    let needs = crate::body::needs(&book, need);
    let question = Question {
        book: &book,
        needs: &needs,
        takt: None,
        aim: Aim::FewestRobots,
        steps: Question::STEPS,
        ladder: false,
    };
    let body = shops::body::body(&question, &Watch::none())?;
    if !body.stuck.is_empty() {
        return Err(body.stuck.iter().map(stuck).collect());
    }
    for station in &body.stations {
        one(worked, filled, open, (&body, station));
    }
    Ok(())
}

fn one(
    worked: &mut Worked<'_>,
    filled: &mut Book,
    open: &BTreeSet<&str>,
    (body, station): (&Body, &BodyStation),
) {
    let rows = filled.stations.iter_mut();
    let Some(row) = rows.into_iter().find(|row| row.station == station.station) else {
        return;
    };
    row.robots = station.robots.len() as u32 + row.robots_beside;
    let name = station.station.as_str();
    if !open.contains(name) || worked.made.contains_key(name) {
        return;
    }
    row.cycle_s = Some(Seconds(station.cycle_s));
    let at = row.at;
    for stop in &station.stops {
        // A stop that the book has for the cause is a measured one.
        let known = filled.stops.iter();
        if known
            .clone()
            .any(|row| row.station == name && row.cause == stop.cause)
        {
            continue;
        }
        filled.stops.push(Stop {
            at,
            station: name.to_owned(),
            cause: stop.cause.clone(),
            mtbf_min: Minutes(stop.between_min),
            mttr_min: Minutes(stop.minutes),
            repair_spread: STOP_SPREAD,
            basis: book::Basis::Running,
            crew: None,
        });
    }
    if !station.robots.is_empty() {
        worked.made.insert(name.to_owned(), made(body, station));
    }
}

/// The work of each robot on a car, with the rows of its joints.
fn made(body: &Body, station: &BodyStation) -> Made {
    let mut names: Vec<String> = Vec::new();
    let mut cells = Vec::new();
    let posts: Vec<Sourced<Seconds>> = station
        .robots
        .iter()
        .map(|robot| {
            let mut own = Vec::new();
            for step in &robot.steps {
                let group = body.groups.iter().find(|group| group.join == step.join);
                let Some(group) = group else { continue };
                let from = cell((), group.at, "count").from;
                if !names.contains(&group.join) {
                    names.push(group.join.clone());
                    cells.push((0, from.clone()));
                }
                own.push(from);
            }
            Sourced::new(Seconds(robot.work_s), formulas::Origin::Several(own))
        })
        .collect();
    let longest = posts.iter().map(|post| post.value.0).fold(0.0, f64::max);
    Made {
        waits: Seconds((station.cycle_s - longest).max(0.0)),
        posts,
        tasks: names,
        people: false,
        cells,
    }
}

fn stuck(stuck: &StuckJoints) -> Problem {
    Problem {
        found: format!("`{}`: {}", stuck.join, stuck.why),
        expected: "a robot for every joint, since stations leave their cycle to it".into(),
        mend: stuck.mend.clone(),
        ..problem("without-robot", stuck.at, "station")
    }
}
