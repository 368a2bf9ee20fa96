//! Parts and lines as the problem that `lots` solves.
//!
//! A day is a seventh of a week: a line that works 111 hours a week works 15.9
//! hours of each. Cars use parts evenly through it. Stops make running longer;
//! changeovers are planned without.

use book::{Part, PartSource, PressLine, Problem};
use formulas::{MoneyPerHour, PerMinute, Sourced, press as trade, reliability};
use lots::model::{Item, Line, LineIdx, Way};
use units::{Count, Days, Money, Share};

use super::{Need, PressPart, Question};
use crate::sheet::{Made, Sheet, ShopValue, cell, problem, setting};

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

/// A line that a part names beside its own but that is of another kind.
fn other_kind(part: &Part, blanks: bool, line: &PressLine) -> Problem {
    let (column, own) = if blanks {
        ("blank_lines_too", "blank_line")
    } else {
        ("press_lines_too", "press_line")
    };
    Problem {
        found: format!("`{}`, a {} line", line.press_line, line.kind.word()),
        expected: format!("lines of the kind of the part's {own}"),
        mend: format!("take it out, or make it the part's {own}"),
        ..problem("other-kind", part.at, Some(column))
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

/// Which lots of a part, and their limits.
struct LotsOf {
    blanks: bool,
    /// The part goes through a press.
    pressed: bool,
    safety: f64,
    most_days: ShopValue,
}

/// A part while its jobs are made.
struct Making<'s, 'q, 'a> {
    sheet: &'s mut Sheet,
    question: &'q Question<'a>,
    part: &'a Part,
    need: &'q Need,
    /// What its forces were held against, where they are known.
    able: Option<&'q PressPart>,
}

impl<'a> Making<'_, '_, 'a> {
    fn jobs(mut self, availability: &[Sourced<Share>]) -> Vec<Job<'a>> {
        let (blank, press) = (self.lines(true), self.lines(false));
        let pressed = !press.is_empty();
        let Some(limits) = self.limits(!blank.is_empty(), pressed) else {
            return Vec::new();
        };
        let panels = limits.value(|limits| limits.panels.0);
        let blanks = limits.value(|limits| limits.blanks.0);
        let mut jobs = Vec::new();
        // Blanks that lie ready when a press begins its lot.
        let mut ready = self.need.blank_safety.value.0;
        if pressed {
            let made = LotsOf {
                blanks: false,
                pressed,
                safety: self.need.panel_safety.value.0,
                most_days: panels,
            };
            let Some(mut job) = self.job(&press, made, availability) else {
                return Vec::new();
            };
            if !blank.is_empty() {
                ready = self.ready(&mut job);
            }
            jobs.push(job);
        }
        if !blank.is_empty() {
            let made = LotsOf {
                blanks: true,
                pressed,
                safety: ready,
                most_days: blanks,
            };
            jobs.extend(self.job(&blank, made, availability));
        }
        jobs
    }

    /// Blanks that must lie ready for the longest lot of panels: a press draws
    /// them all at once. The lot is as long as its days and places allow; where
    /// the blanks' places hold no more, it is shortened so that their part of
    /// the places is left for a lot of blanks.
    fn ready(&self, panels: &mut Job<'_>) -> f64 {
        let part = self.part;
        let on = panels.own();
        let hours = self
            .question
            .hours
            .get(on.line)
            .map_or(0.0, |line| line.net_h);
        // While it runs, panels are used already.
        let running = if hours > 0.0 {
            (on.run_h / hours).min(0.99)
        } else {
            0.0
        };
        let by_days = panels.used * panels.most_days.value / WEEK_DAYS;
        let by_places = panels.most_stock.map(|most| most / (1.0 - running));
        let lot = by_places.map_or(by_days, |most| most.min(by_days));
        let begun = self.need.begun / panels.used;
        let share = self.question.book.plant.blank_cover_share.value.0;
        let room = part
            .blank_stock
            .map(|places| f64::from(places) * (1.0 - share));
        match room {
            Some(room) if lot * begun > room => {
                panels.most_lot_days = Some(WEEK_DAYS * room / self.need.begun);
                room
            }
            _ => lot * begun,
        }
    }

    /// Rows of the lines that can make the blanks or panels: the book's own,
    /// then the others it names, of press lines those that are strong and
    /// large enough where that is known.
    fn lines(&mut self, blanks: bool) -> Vec<usize> {
        let (own, others) = if blanks {
            (&self.part.blank_line, &self.part.blank_lines_too)
        } else {
            (&self.part.press_line, &self.part.press_lines_too)
        };
        let rows = &self.question.book.press_lines;
        let row = |name: &String| rows.iter().position(|row| row.press_line == *name);
        let Some(own) = own.as_ref().and_then(row) else {
            return Vec::new();
        };
        let known = self.able.filter(|able| !blanks && able.forming.is_some());
        let strong =
            |line: &usize| known.is_none_or(|able| able.lines.contains(&rows[*line].press_line));
        let mut lines = vec![own];
        for line in others.iter().filter_map(row) {
            // Blanks are laid out for the kind of their line.
            if rows[line].kind != rows[own].kind {
                self.sheet
                    .problems
                    .push(other_kind(self.part, blanks, &rows[line]));
            } else if strong(&line) && !lines.contains(&line) {
                lines.push(line);
            }
        }
        lines
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
            if blank && !press {
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
            Sourced::from(Count(if blank && press { 1.0 } else { 0.0 })),
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
        lines: &[usize],
        lots: LotsOf,
        availability: &[Sourced<Share>],
    ) -> Option<Job<'a>> {
        let (part, need) = (self.part, self.need);
        let (speed, column) = if lots.blanks {
            (part.blanks_per_min, "blanks_per_min")
        } else {
            (part.strokes_per_min, "strokes_per_min")
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
        let speed = cell(PerMinute(speed), part.at, column);
        let used = if lots.blanks && lots.pressed {
            need.begun
        } else {
            need.good
        };
        let mut on = Vec::new();
        for (choice, line) in lines.iter().enumerate() {
            on.push(self.on(*line, choice, &lots, (&speed, used), availability)?);
        }
        let places = match (lots.blanks, part.blank_stock) {
            (true, Some(places)) => Some((places, "blank_stock")),
            (true, None) if lots.pressed => None,
            _ => part.stock.map(|places| (places, "stock")),
        };
        let most_stock = match places {
            Some((places, column)) => Some(self.room(places, column, &lots)?),
            None => None,
        };
        Some(Job {
            part,
            blanks: lots.blanks,
            on,
            used,
            safety: lots.safety,
            most_days: lots.most_days,
            most_lot_days: None,
            most_stock,
            hold_per_day: self.keeping(lots.blanks),
        })
    }

    /// Pieces that a lot may add to what lies there; none, with the problem
    /// told, where not even one fits.
    fn room(&mut self, places: u32, column: &'static str, lots: &LotsOf) -> Option<f64> {
        let room = f64::from(places) - lots.safety;
        if room >= 1.0 {
            return Some(room);
        }
        let (what, lies) = if lots.blanks && lots.pressed {
            ("blanks", "that lie ready for the press")
        } else if lots.blanks {
            ("blanks", "of start_below")
        } else {
            ("panels", "of start_below")
        };
        self.sheet.problems.push(Problem {
            found: format!(
                "{places} places for {what} of `{}`, where {:.0} are {lies}",
                self.part.part, lots.safety
            ),
            expected: format!("at least {:.0} places", (lots.safety + 1.0).ceil()),
            mend: format!("raise {column}, or lower start_below"),
            ..problem("no-places-left", self.part.at, Some(column))
        });
        None
    }

    /// The job on one of its lines.
    fn on(
        &mut self,
        line: usize,
        choice: usize,
        lots: &LotsOf,
        (speed, used): (&Sourced<PerMinute>, f64),
        availability: &[Sourced<Share>],
    ) -> Option<On> {
        let part = self.part;
        let per_stroke = if lots.blanks {
            1
        } else {
            part.pieces_per_stroke
        };
        // Blanks for a press are all good; its scrap falls there.
        let scrap = if lots.blanks && lots.pressed {
            0.0
        } else {
            part.scrap.0
        };
        let good = availability[line]
            .clone()
            .map(|share| Share(share.0 * (1.0 - scrap)));
        let made = trade::press_rate(
            speed.clone(),
            cell(Count(f64::from(per_stroke)), part.at, "pieces_per_stroke"),
            good,
            Count(used),
        );
        let what = if lots.blanks { "blanks" } else { "panels" };
        let name = &self.question.book.press_lines[line].press_line;
        let (mut id, mut title) = (
            format!("part.{}.{what}.rate", part.part),
            format!("{what} of {} an hour", part.part),
        );
        if choice > 0 {
            id = format!("{id}.{name}");
            title = format!("{title} on {name}");
        }
        let made = self.sheet.add(id, title, part.at, made)?;
        Some(On {
            line,
            rate: made.value(|rate| rate.rate.0),
            run_h: made.value.hours.0,
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
