//! Parts and lines as the problem that `lots` solves.
//!
//! A day is a seventh of a week: a line that works 111 hours a week works 15.9
//! hours of each. Cars use parts evenly through it. Stops make running longer;
//! changeovers are planned without.

use book::{Book, Part, PartSource, PressLine, Problem};
use formulas::{MoneyPerHour, PerMinute, Sourced, press as trade, reliability};
use lots::model::{Item, Line, LineIdx, Way};
use units::{Count, Days, Money, Share};

use super::{Need, Question};
use crate::sheet::{Made, Sheet, ShopValue, cell, problem, setting};

/// Days of a week.
pub(super) const WEEK_DAYS: f64 = 7.0;

/// One line or one of its like units.
pub(super) struct Unit<'a> {
    pub(super) name: String,
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

/// A part's blanks or panels, made in lots.
pub(super) struct Job<'a> {
    pub(super) part: &'a Part,
    pub(super) blanks: bool,
    /// Row of the line in the book.
    pub(super) line: usize,
    /// Good pieces used a week.
    pub(super) used: f64,
    pub(super) safety: f64,
    pub(super) rate: ShopValue,
    pub(super) run_h: f64,
    pub(super) most_days: ShopValue,
    pub(super) most_stock: Option<f64>,
    hold_per_day: f64,
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
}

/// All that is made in lots.
pub(super) struct Work<'a> {
    pub(super) units: Vec<Unit<'a>>,
    pub(super) jobs: Vec<Job<'a>>,
}

impl<'a> Work<'a> {
    /// The work of a plan; parts without any cover left are refused.
    pub(super) fn of(sheet: &mut Sheet, question: &Question<'a>) -> Self {
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
            };
            jobs.extend(made.jobs(&availability));
        }
        // A line that makes nothing has no timetable.
        units.retain(|unit| {
            jobs.iter()
                .any(|job| book.press_lines[job.line].at == unit.row.at)
        });
        Self { units, jobs }
    }

    /// The problem: each part on the units of its line.
    pub(super) fn problem(&self, book: &Book) -> lots::model::Problem {
        let lines = self.units.iter().map(|unit| Line {
            name: unit.name.clone(),
            available: 1.0,
        });
        let item = |job: &Job<'_>| {
            let row = book.press_lines[job.line].at;
            let ways = (0_u32..)
                .zip(&self.units)
                .filter(|(_, unit)| unit.row.at == row);
            Item {
                name: name(job),
                rate_per_day: job.used / WEEK_DAYS,
                hold_cost_per_day: job.hold_per_day,
                max_cover_days: Some(job.most_days.value),
                max_stock: job.most_stock,
                ways: ways
                    .map(|(at, unit)| Way {
                        line: LineIdx(at),
                        make_per_day: job.rate.value * unit.day_h(),
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
        row,
        hours: hours.net_h,
        open: &hours.open,
        changeover_min: made.value(|change| change.time.0),
        changeover_cost: made.value.cost.0,
    };
    (0..units).map(unit).collect()
}

/// A part while its jobs are made.
struct Making<'s, 'q, 'a> {
    sheet: &'s mut Sheet,
    question: &'q Question<'a>,
    part: &'a Part,
    need: &'q Need,
}

impl<'a> Making<'_, '_, 'a> {
    fn jobs(mut self, availability: &[Sourced<Share>]) -> Vec<Job<'a>> {
        let row = |name: &Option<String>| {
            let name = name.as_ref()?;
            let mut lines = self.question.book.press_lines.iter();
            lines.position(|row| row.press_line == *name)
        };
        let (blank, press) = (row(&self.part.blank_line), row(&self.part.press_line));
        let Some(limits) = self.limits(blank.is_some(), press.is_some()) else {
            return Vec::new();
        };
        let mut jobs = Vec::new();
        if let Some(line) = press {
            let most = limits.value(|limits| limits.panels.0);
            jobs.extend(self.job(line, false, press.is_some(), most, availability));
        }
        if let Some(line) = blank {
            let most = limits.value(|limits| limits.blanks.0);
            jobs.extend(self.job(line, true, press.is_some(), most, availability));
        }
        jobs
    }

    /// How long the part's lots may last.
    fn limits(&mut self, blank: bool, press: bool) -> Option<Made<trade::LotCoverLimits>> {
        let (part, plant) = (self.part, &self.question.book.plant);
        let last = |safety: &Sourced<Count>, used: f64| {
            safety
                .clone()
                .map(|pieces| Days(WEEK_DAYS * pieces.0 / used))
        };
        let none = || Sourced::from(Days(0.0));
        let share = match (blank, press) {
            (true, true) => setting(&plant.blank_cover_share, "blank_cover_share"),
            (true, false) => Sourced::from(Share(1.0)),
            _ => Sourced::from(Share(0.0)),
        };
        let made = trade::lot_cover_limits(
            setting(&plant.coil_to_car_target_days, "coil_to_car_target_days"),
            self.question.after.clone(),
            if blank {
                last(&self.need.blank_safety, self.need.begun)
            } else {
                none()
            },
            if press {
                last(&self.need.panel_safety, self.need.good)
            } else {
                none()
            },
            share,
        );
        let id = format!("part.{}.cover", part.part);
        let title = format!("longest lots of {}", part.part);
        let made = self.sheet.add(id, title, part.at, made)?;
        let left = made.value.left.0;
        if left > 0.0 {
            return Some(made);
        }
        self.sheet.problems.push(Problem {
            found: format!("no day left for lots of `{}`: {left:.2} days", part.part),
            expected: format!(
                "a coil_to_car_target_days above {:.2}",
                plant.coil_to_car_target_days.value.0 - left
            ),
            mend: "raise the target, lower start_below, or shorten the way after the press shop"
                .into(),
            ..problem("no-cover-left", part.at, Some("start_below"))
        });
        None
    }

    fn job(
        &mut self,
        line: usize,
        blanks: bool,
        pressed: bool,
        most_days: ShopValue,
        availability: &[Sourced<Share>],
    ) -> Option<Job<'a>> {
        let (part, need) = (self.part, self.need);
        let (speed, column, per_stroke) = if blanks {
            (part.blanks_per_min, "blanks_per_min", 1)
        } else {
            (
                part.strokes_per_min,
                "strokes_per_min",
                part.pieces_per_stroke,
            )
        };
        let Some(speed) = speed else {
            self.sheet.problems.push(Problem {
                found: format!("no speed for `{}`", part.part),
                expected: format!("`{column}` above 0 for a part with this line"),
                mend: "give the speed, or take the line away from the part".into(),
                ..problem("no-speed", part.at, Some(column))
            });
            return None;
        };
        // Blanks for a press are all good; its scrap falls there.
        let scrap = if blanks && pressed { 0.0 } else { part.scrap.0 };
        let used = if blanks && pressed {
            need.begun
        } else {
            need.good
        };
        let good = availability[line]
            .clone()
            .map(|share| Share(share.0 * (1.0 - scrap)));
        let made = trade::press_rate(
            cell(PerMinute(speed), part.at, column),
            cell(Count(f64::from(per_stroke)), part.at, "pieces_per_stroke"),
            good,
            Count(used),
        );
        let what = if blanks { "blanks" } else { "panels" };
        let id = format!("part.{}.{what}.rate", part.part);
        let title = format!("{what} of {} an hour", part.part);
        let made = self.sheet.add(id, title, part.at, made)?;
        let safety = if blanks {
            &need.blank_safety
        } else {
            &need.panel_safety
        };
        let places = match (blanks, part.blank_stock) {
            (true, Some(places)) => Some(places),
            (true, None) if pressed => None,
            _ => part.stock,
        };
        let safety = safety.value.0;
        Some(Job {
            part,
            blanks,
            line,
            used,
            safety,
            rate: made.value(|rate| rate.rate.0),
            run_h: made.value.hours.0,
            most_days,
            most_stock: places.map(|places| (f64::from(places) - safety).max(1.0)),
            hold_per_day: self.keeping(blanks),
        })
    }

    /// What keeping a piece a day costs: its metal's part of the yearly cost of
    /// stock. A part whose metal has no price costs nothing to keep, and its
    /// cover alone limits the lot.
    fn keeping(&mut self, blanks: bool) -> f64 {
        let (part, book) = (self.part, self.question.book);
        let material = part.material.as_ref();
        let material =
            material.and_then(|name| book.materials.iter().find(|row| row.material == *name));
        let price = material.and_then(|row| row.price_per_kg);
        let (Some(kg), Some(price)) = (part.net_kg, price) else {
            return 0.0;
        };
        let made = trade::keeping_cost(
            cell(Money(kg.0 * price.0), part.at, "net_kg"),
            setting(&book.plant.stock_cost_share, "stock_cost_share"),
        );
        let what = if blanks { "blanks" } else { "panels" };
        let id = format!("part.{}.{what}.keeping", part.part);
        let title = format!("keeping a piece of {} a day", part.part);
        self.sheet
            .add(id, title, part.at, made)
            .map_or(0.0, |made| made.value.0)
    }
}
