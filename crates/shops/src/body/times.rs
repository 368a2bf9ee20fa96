//! Takt and cycle of each line, and what they leave each station's robots.

use book::At;
use formulas::{Sourced, calendar, joining};
use units::{Count, Hours, Minutes, Seconds};

use super::chart::Times;
use super::stack::{Floor, Stack};
use super::{BodyNeed, Question, kinds};
use crate::sheet::{Sheet, ShopValue, cell, setting};

/// A line's takt and the cycle that its stations are planned for.
pub(super) struct LineTime {
    pub(super) line: String,
    pub(super) shop: String,
    pub(super) takt_s: ShopValue,
    pub(super) cycle_s: ShopValue,
    pub(super) cars: f64,
}

/// The takt and cycle of every line.
pub(super) fn lines(sheet: &mut Sheet, question: &Question<'_>) -> Vec<LineTime> {
    let book = question.book;
    let mut lines = Vec::new();
    for need in question.needs {
        let at = row(question, need);
        let takt = match question.takt {
            // A takt that was asked for: the working time for which it makes as
            // many cars as the line's time allows.
            Some(takt) => calendar::takt(
                need.net.clone(),
                Count(need.net.value.0 * 60.0 / takt.0.max(1e-6)),
            ),
            None => calendar::takt(need.net.clone(), need.jobs.clone()),
        };
        let title = format!("takt of {}", need.line);
        let Some(takt) = sheet.add(format!("body.{}.takt", need.line), title, at, takt) else {
            continue;
        };
        let efficiency = setting(&book.plant.line_efficiency, "line_efficiency");
        let cycle = calendar::design_cycle(takt.part(|takt| *takt), efficiency);
        let title = format!("cycle that {} is planned for", need.line);
        let id = format!("body.{}.cycle", need.line);
        let Some(cycle) = sheet.add(id, title, at, cycle) else {
            continue;
        };
        lines.push(LineTime {
            line: need.line.clone(),
            shop: need.shop.clone(),
            takt_s: takt.value(|takt| takt.0),
            cycle_s: cycle.value(|cycle| cycle.0),
            cars: need.net.value.0 * 60.0 / takt.value.0,
        });
    }
    lines
}

fn row(question: &Question<'_>, need: &BodyNeed) -> At {
    let mut rows = question.book.stations.iter();
    let own = rows.find(|row| row.line.as_deref().unwrap_or(&row.shop) == need.line);
    own.map_or_else(At::default, |row| row.at)
}

/// What the cycle leaves the robots of each station, and the part of a second of
/// takt that does.
pub(super) fn stations(
    sheet: &mut Sheet,
    question: &Question<'_>,
    floor: &Floor<'_>,
    lines: &[LineTime],
) -> (Vec<Times>, Vec<f64>) {
    let plant = &question.book.plant;
    let mut times = Vec::new();
    let mut shares = Vec::new();
    for (at, row) in floor.stations.iter().enumerate() {
        let Some(line) = lines.iter().find(|line| line.line == floor.line(at)) else {
            // A line to which no car comes has no takt; its joints have all time.
            times.push(Times {
                takt_s: 0.0,
                index_s: 0.0,
                net_s: ShopValue {
                    value: 3600.0,
                    figure: String::new(),
                },
            });
            shares.push(0.0);
            continue;
        };
        let spare = match row.spare_share {
            Some(spare) => cell(spare, row.at, "spare_share"),
            None => setting(&plant.robot_spare_share, "robot_spare_share"),
        };
        let index = match row.index_s {
            Some(index) => cell(index, row.at, "index_s"),
            None => setting(&plant.robot_index_s, "robot_index_s"),
        };
        shares.push((1.0 - spare.value.0) * plant.line_efficiency.value.0);
        let index_s = index.value.0;
        let cycle = Sourced::figure(Seconds(line.cycle_s.value), line.cycle_s.figure.clone());
        let made = joining::robot_time(cycle, spare, index);
        let title = format!("time to join at {}", row.station);
        let id = format!("station.{}.net", row.station);
        if let Some(made) = sheet.add(id, title, row.at, made) {
            times.push(Times {
                takt_s: line.takt_s.value,
                index_s,
                net_s: made.value(|net| net.0),
            });
        }
    }
    (times, shares)
}

/// The kinds of robot, priced for the working hours of the line that works most.
pub(super) fn kinds_of(sheet: &mut Sheet, question: &Question<'_>) -> Vec<kinds::JoiningKind> {
    let book = question.book;
    let longest = question
        .needs
        .iter()
        .max_by(|a, b| a.net.value.0.total_cmp(&b.net.value.0));
    let net = longest.map_or_else(|| Sourced::from(Minutes(60.0)), |need| need.net.clone());
    let weeks = book.plant.weeks_per_year.value;
    let hours = net.map(|net| Hours((net.0 / 60.0 * weeks).max(1.0)));
    let at = longest.map_or_else(At::default, |need| row(question, need));
    kinds::kinds(sheet, book, &hours, at)
}

/// Cars a week that come to a group's stations.
pub(super) fn jobs(question: &Question<'_>, floor: &Floor<'_>, stack: &Stack<'_>) -> f64 {
    let line = stack.stations.first().map(|at| floor.line(*at));
    let mut needs = question.needs.iter();
    let need = needs.find(|need| Some(need.line.as_str()) == line);
    need.map_or(0.0, |need| match question.takt {
        Some(takt) => need.net.value.0 * 60.0 / takt.0.max(1e-6),
        None => need.jobs.value.0,
    })
}
