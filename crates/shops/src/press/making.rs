//! A part's blanks and panels as jobs: on which lines, how fast, and how long
//! their lots may last.

use book::{Part, PressLine, Problem};
use formulas::{PerMinute, Sourced, press as trade};
use units::{Count, Days, Money, Share};

use super::work::{Job, On, WEEK_DAYS};
use super::{Need, PressPart, Question};
use crate::sheet::{Made, Sheet, ShopValue, cell, problem, setting};

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

/// Which lots of a part, and their limits.
struct LotsOf {
    blanks: bool,
    /// The part goes through a press.
    pressed: bool,
    safety: f64,
    most_days: ShopValue,
}

/// A part while its jobs are made.
pub(super) struct Making<'s, 'q, 'a> {
    pub(super) sheet: &'s mut Sheet,
    pub(super) question: &'q Question<'a>,
    pub(super) part: &'a Part,
    pub(super) need: &'q Need,
    /// What its forces were held against, where they are known.
    pub(super) able: Option<&'q PressPart>,
}

impl<'a> Making<'_, '_, 'a> {
    /// Its panels and its blanks, as far as the plant makes them.
    pub(super) fn jobs(mut self, availability: &[Sourced<Share>]) -> Vec<Job<'a>> {
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
