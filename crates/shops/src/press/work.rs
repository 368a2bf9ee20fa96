//! Parts and lines as the problem that `lots` solves.
//!
//! A day is a seventh of a week: a line that works 111 hours a week works 15.9
//! hours of each. Cars use parts evenly through it. Stops make running longer;
//! changeovers are planned without.

use book::{Part, PartSource, PressLine};
use formulas::{MoneyPerHour, Sourced, press as trade, reliability};
use lots::model::{Item, Line, LineIdx, Way};
use units::Share;

use super::making::Making;
use super::{PressPart, Question};
use crate::sheet::{Sheet, ShopValue, cell, setting};

/// Days of a week.
pub(super) const WEEK_DAYS: f64 = 7.0;

/// One line or one of its like units.
pub(super) struct Unit<'a> {
    pub(super) name: String,
    /// Position of its row in the book.
    pub(super) position: usize,
    pub(super) row: &'a PressLine,
    pub(super) hours: f64,
    /// Hours of the week from Monday 00:00 in which it works.
    pub(super) open: &'a [(f64, f64)],
    pub(super) changeover_min: ShopValue,
    changeover_cost: f64,
}

impl Unit<'_> {
    /// Working hours of a day.
    pub(super) fn day_h(&self) -> f64 {
        self.hours / WEEK_DAYS
    }
}

/// A line that can make a job.
pub(super) struct On {
    /// Its row in the book.
    pub(super) line: usize,
    /// Good pieces an hour.
    pub(super) rate: ShopValue,
    /// Hours of running a week, if it made all.
    pub(super) run_h: f64,
}

/// A part's blanks or panels, made in lots.
pub(super) struct Job<'a> {
    pub(super) part: &'a Part,
    pub(super) blanks: bool,
    /// The line that the book names, then the others that can make it too.
    pub(super) on: Vec<On>,
    /// Good pieces used a week.
    pub(super) used: f64,
    /// Pieces that lie there when the next lot comes.
    pub(super) safety: f64,
    pub(super) most_days: ShopValue,
    pub(super) most_stock: Option<f64>,
    /// Days that a lot may last where the places for its blanks allow less than
    /// the target does.
    pub(super) most_lot_days: Option<f64>,
    pub(super) hold_per_day: f64,
}

impl Job<'_> {
    /// The line in the book that makes it.
    pub(super) fn line_name(&self) -> Option<&str> {
        let line = if self.blanks {
            &self.part.blank_line
        } else {
            &self.part.press_line
        };
        line.as_deref()
    }

    /// Days that a lot may last.
    pub(super) fn most_lot(&self) -> f64 {
        let most = self.most_days.value;
        self.most_lot_days.map_or(most, |days| days.min(most))
    }

    /// Days that a lot may last on a line with so many hours a week, its places
    /// counted: while the line runs, pieces are used already.
    pub(super) fn longest_days(&self, hours: f64) -> f64 {
        let running = (self.own().run_h / hours).min(0.99);
        let by_places = self
            .most_stock
            .map(|most| WEEK_DAYS * most / self.used / (1.0 - running));
        by_places.map_or(self.most_lot(), |days| days.min(self.most_lot()))
    }

    /// The line that the book names.
    pub(super) fn own(&self) -> &On {
        &self.on[0]
    }

    /// The same job on the line in this row; on its own where it cannot be made
    /// there.
    pub(super) fn on_row(&self, line: usize) -> &On {
        let there = self.on.iter().find(|on| on.line == line);
        there.unwrap_or(&self.on[0])
    }
}

/// All that is made in lots.
pub(super) struct Work<'a> {
    pub(super) units: Vec<Unit<'a>>,
    /// Units of lines on which nothing is made.
    pub(super) idle: Vec<Unit<'a>>,
    pub(super) jobs: Vec<Job<'a>>,
}

impl<'a> Work<'a> {
    /// The work of a plan; parts without any cover left are refused.
    pub(super) fn of(sheet: &mut Sheet, question: &Question<'a>, able: &[PressPart]) -> Self {
        let book = question.book;
        let mut units = Vec::new();
        let mut availability = Vec::new();
        for (position, row) in book.press_lines.iter().enumerate() {
            let share = running(sheet, row);
            units.extend(units_of(sheet, question, position, row));
            availability.push(share);
        }
        let mut jobs = Vec::new();
        for (part, need) in book.parts.iter().zip(question.needs) {
            if part.source != PartSource::Made || need.good <= 0.0 {
                continue;
            }
            let made = Making {
                sheet,
                question,
                part,
                need,
                able: able.iter().find(|screened| screened.at == part.at),
            };
            jobs.extend(made.jobs(&availability));
        }
        // A line that makes nothing has no timetable.
        let (units, idle) = units.into_iter().partition(|unit: &Unit<'_>| {
            let here = |job: &Job<'_>| job.on.iter().any(|on| on.line == unit.position);
            jobs.iter().any(here)
        });
        Self { units, idle, jobs }
    }

    /// The work of these units alone, of parts whose own line is among them.
    pub(super) fn on_units(self, keep: impl Fn(usize) -> bool) -> Self {
        let units: Vec<Unit<'a>> = (0..)
            .zip(self.units)
            .filter_map(|(at, unit)| keep(at).then_some(unit))
            .collect();
        let here = |job: &Job<'_>| units.iter().any(|unit| unit.position == job.own().line);
        let jobs = self.jobs.into_iter().filter(here).collect();
        Self {
            units,
            idle: self.idle,
            jobs,
        }
    }

    /// The problem: each part on the units of the lines that can make it.
    pub(super) fn problem(&self) -> lots::model::Problem {
        let lines = self.units.iter().map(|unit| Line {
            name: unit.name.clone(),
            available: 1.0,
        });
        let item = |job: &Job<'_>| {
            let ways = (0_u32..).zip(&self.units).filter_map(|(at, unit)| {
                let on = job.on.iter().find(|on| on.line == unit.position)?;
                Some((at, unit, on))
            });
            Item {
                name: name(job),
                rate_per_day: job.used / WEEK_DAYS,
                hold_cost_per_day: job.hold_per_day,
                max_cover_days: Some(job.most_lot()),
                max_stock: job.most_stock,
                ways: ways
                    .map(|(at, unit, on)| Way {
                        line: LineIdx(at),
                        make_per_day: on.rate.value * unit.day_h(),
                        changeover_days: unit.changeover_min.value / 60.0 / unit.day_h(),
                        changeover_cost: unit.changeover_cost,
                    })
                    .collect(),
            }
        };
        lots::model::Problem {
            items: self.jobs.iter().map(item).collect(),
            lines: lines.collect(),
        }
    }
}

/// How messages name a job.
pub(super) fn name(job: &Job<'_>) -> String {
    let made = if job.blanks { "blanks" } else { "panels" };
    format!("{made} of {}", job.part.part)
}

/// Part of the running time wanted in which a line runs.
fn running(sheet: &mut Sheet, row: &PressLine) -> Sourced<Share> {
    let made = row
        .mtbf_min
        .zip(row.mttr_min)
        .and_then(|(between, repair)| {
            let made = reliability::availability_from_mtbf(
                cell(between, row.at, "mtbf_min"),
                cell(repair, row.at, "mttr_min"),
            );
            let id = format!("line.{}.availability", row.press_line);
            sheet.add(
                id,
                format!("availability of {}", row.press_line),
                row.at,
                made,
            )
        });
    match made {
        Some(made) => made.part(|share| *share),
        None => Sourced::usual(Share(1.0), "press_lines", "mtbf_min"),
    }
}

fn units_of<'a>(
    sheet: &mut Sheet,
    question: &Question<'a>,
    position: usize,
    row: &'a PressLine,
) -> Vec<Unit<'a>> {
    let plant = &question.book.plant;
    let rate = setting(&plant.die_change_cost_per_hour, "die_change_cost_per_hour");
    let made = trade::changeover(
        cell(row.change_min, row.at, "change_min"),
        cell(row.first_off_min, row.at, "first_off_min"),
        rate.map(|money| MoneyPerHour(money.0)),
    );
    let id = format!("line.{}.changeover", row.press_line);
    let title = format!("changeover of {}", row.press_line);
    let (Some(made), Some(hours)) = (
        sheet.add(id, title, row.at, made),
        question.hours.get(position),
    ) else {
        return Vec::new();
    };
    let units = row.units.max(1);
    let unit = |n: u32| Unit {
        name: match units {
            1 => row.press_line.clone(),
            _ => format!("{} {}", row.press_line, n + 1),
        },
        position,
        row,
        hours: hours.net_h,
        open: &hours.open,
        changeover_min: made.value(|change| change.time.0),
        changeover_cost: made.value.cost.0,
    };
    (0..units).map(unit).collect()
}
