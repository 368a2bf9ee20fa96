//! Made parts: blanking and press lines that run in lots, and their stocks.

use std::collections::BTreeMap;

use book::{At, Part, PartSource, Problem, Severity};
use flow::distribution::Distribution;
use flow::model::{
    ClassIdx, Link, LinkIdx, LotItem, LotRule, Lots, Station, StationIdx, Turn, Work,
};
use serde::{Deserialize, Serialize};
use units::Quantity;

use super::stations::{Cause, OWN_STOP};
use super::{Draft, LinkOrigin, StationOrigin, Way, idx, problem};
use crate::lots::{self, LotFigure};

/// How a part is made in lots on one line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LotPlan {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Name of the line in the network.
    pub line: String,
    /// Pieces in a lot.
    pub lot: LotFigure,
    /// A lot may start when so many pieces are left.
    pub start_below: LotFigure,
    /// Places for pieces.
    pub stock: LotFigure,
    /// Good pieces used in a week of the planned cars.
    pub used_per_week: f64,
    /// Seconds a piece.
    pub piece_s: f64,
}

/// One part on one line: its blanks, or its panels.
struct Run<'b> {
    part: &'b Part,
    /// Row of the line.
    line: usize,
    /// Which of the line's units makes it.
    unit: usize,
    piece_s: f64,
    /// Share of pieces lost here.
    scrap: f64,
    /// Good pieces.
    used_per_week: f64,
    /// The shop that draws the pieces.
    drawn_by: &'b str,
    /// Blanks are cut, else panels are pressed.
    blanks: bool,
}

impl<'a> Draft<'a> {
    /// Adds blanking, laser and press lines with the parts they make.
    pub(super) fn add_presses(&mut self) {
        let parts: Vec<(&'a Part, StationIdx, f64)> = self.joined_parts();
        let mut panels: Vec<Run> = Vec::new();
        let mut blanks: Vec<Run> = Vec::new();
        for &(part, to, used) in &parts {
            panels.extend(self.panel_run(part, to, used));
            blanks.extend(self.blank_run(part, to, used));
        }
        self.share_units(&mut panels, &mut blanks);
        let station_of = self.add_lines(&panels, &blanks);
        let to_of: BTreeMap<&str, StationIdx> = parts
            .iter()
            .map(|(part, to, _)| (part.part.as_str(), *to))
            .collect();
        let mut pressed: BTreeMap<&str, (StationIdx, usize)> = BTreeMap::new();
        for run in &panels {
            let line = station_of.get(&(run.line, run.unit)).copied();
            let (Some(line), Some(&to)) = (line, to_of.get(run.part.part.as_str())) else {
                continue;
            };
            let (_, item) = self.add_run(run, line, to, Way::Panels(run.part.part.clone()));
            pressed.insert(&run.part.part, (line, item));
        }
        for run in &blanks {
            let name = run.part.part.as_str();
            let line = station_of.get(&(run.line, run.unit)).copied();
            let (Some(line), Some(&to)) = (line, to_of.get(name)) else {
                continue;
            };
            let Some(&(press, item)) = pressed.get(name) else {
                self.add_run(run, line, to, Way::Panels(name.to_owned()));
                continue;
            };
            let (link, _) = self.add_run(run, line, press, Way::Blanks(name.to_owned()));
            if let Work::Lots(lots) = &mut self.network.stations[press.at()].work {
                lots.items[item].from = Some(link);
                lots.items[item].born_here = false;
            }
        }
        for (unit, line) in station_of {
            self.follow_timetable(unit, line);
        }
    }

    /// Gives a line its timetable's order, if there is one. A lot that the book
    /// gives stays as it is.
    fn follow_timetable(&mut self, unit: (usize, usize), line: StationIdx) {
        let Some(order) = self.timetabled.order.get(&unit) else {
            return;
        };
        let links = &self.links;
        let name = &self.stations[line.at()].name;
        let Work::Lots(lots) = &mut self.network.stations[line.at()].work else {
            return;
        };
        let blanks = |item: &LotItem| matches!(links[item.to.at()].way, Way::Blanks(_));
        let mut turns = Vec::new();
        for turn in order {
            let part = self.book.parts.iter().find(|part| part.part == turn.part);
            let before_press = part.is_some_and(|part| lots::feeds_press(part, turn.blanks));
            let same = |item: &LotItem| item.name == turn.part && blanks(item) == before_press;
            let Some(item) = lots.items.iter().position(same) else {
                continue;
            };
            let plan = self
                .lots
                .iter()
                .find(|plan| plan.part == turn.part && plan.line == *name);
            let given = plan.is_some_and(|plan| plan.lot.given);
            // a lot is at least one piece and below what a u32 counts
            let pieces = turn.pieces.ceil().clamp(1.0, f64::from(u32::MAX)) as u32;
            turns.push(Turn {
                item: idx(item),
                lot: if given { lots.items[item].lot } else { pieces },
            });
        }
        // An item that the timetable leaves out would never be made.
        let all = (0..lots.items.len()).all(|i| turns.iter().any(|turn| turn.item == idx(i)));
        if all {
            lots.rule = LotRule::InOrder(turns);
        }
    }

    /// Made parts with a line and a place where they are joined, and their
    /// use a week.
    fn joined_parts(&mut self) -> Vec<(&'a Part, StationIdx, f64)> {
        let book = self.book;
        let mut parts = Vec::new();
        for part in book
            .parts
            .iter()
            .filter(|part| part.source == PartSource::Made)
        {
            let to = part
                .to
                .as_ref()
                .and_then(|to| self.station_of.get(to.as_str()));
            let has_line = part.press_line.is_some() || part.blank_line.is_some();
            let (Some(&to), true) = (to, has_line) else {
                let column = if has_line { "to" } else { "press_line" };
                self.problems.push(Problem {
                    severity: Severity::Note,
                    found: format!("made part {} without {column}", part.part),
                    expected: "a line that makes it and a station that joins it".into(),
                    mend: "fill the cell, or take the part as never short in the flow".into(),
                    ..problem("parts", "not-in-the-flow", Some(part.at), column)
                });
                continue;
            };
            let serves =
                |p: &&book::Product| part.products.is_empty() || part.products.contains(&p.product);
            let cars: f64 = book
                .products
                .iter()
                .filter(serves)
                .map(|p| p.cars_per_week.get())
                .sum();
            if cars > 0.0 {
                parts.push((part, to, cars * f64::from(part.per_car)));
            }
        }
        parts
    }

    fn panel_run(&mut self, part: &'a Part, to: StationIdx, used: f64) -> Option<Run<'a>> {
        let line = self.line_row(part.press_line.as_ref()?)?;
        let strokes = self.speed(part, part.strokes_per_min, "strokes_per_min")?;
        let pieces = strokes * f64::from(part.pieces_per_stroke);
        Some(Run {
            part,
            line,
            unit: 0,
            piece_s: 60.0 / pieces,
            scrap: part.scrap.get(),
            used_per_week: used,
            drawn_by: &self.book.stations[to.at()].shop,
            blanks: false,
        })
    }

    fn blank_run(&mut self, part: &'a Part, to: StationIdx, used: f64) -> Option<Run<'a>> {
        let line = self.line_row(part.blank_line.as_ref()?)?;
        let blanks = self.speed(part, part.blanks_per_min, "blanks_per_min")?;
        let press = part
            .press_line
            .as_ref()
            .and_then(|press| self.line_row(press));
        Some(Run {
            part,
            line,
            unit: 0,
            piece_s: 60.0 / blanks,
            // the scrap of a pressed part falls at the press
            scrap: if press.is_some() {
                0.0
            } else {
                part.scrap.get()
            },
            used_per_week: match press {
                Some(_) => used / (1.0 - part.scrap.get()),
                None => used,
            },
            drawn_by: match press {
                Some(press) => &self.book.press_lines[press].shop,
                None => &self.book.stations[to.at()].shop,
            },
            blanks: true,
        })
    }

    fn line_row(&self, name: &str) -> Option<usize> {
        self.book
            .press_lines
            .iter()
            .position(|row| row.press_line == name)
    }

    fn speed(&mut self, part: &Part, given: Option<f64>, column: &str) -> Option<f64> {
        let speed = given.filter(|speed| *speed > 0.0);
        if speed.is_none() {
            self.problems.push(Problem {
                found: format!("no speed for {}", part.part),
                expected: format!("{column} above 0 for a part with this line"),
                mend: "give the speed, or take the line away from the part".into(),
                ..problem("parts", "no-speed", Some(part.at), column)
            });
        }
        speed
    }

    /// Gives each part to one of the like units of its line: the heaviest part
    /// first, to the unit that has least to do.
    fn share_units<'b>(&self, panels: &mut [Run<'b>], blanks: &mut [Run<'b>]) {
        let mut runs: Vec<&mut Run<'b>> = panels.iter_mut().chain(blanks.iter_mut()).collect();
        let work = |run: &Run| run.piece_s * run.used_per_week / (1.0 - run.scrap);
        runs.sort_by(|a, b| work(b).total_cmp(&work(a)));
        let units = self
            .book
            .press_lines
            .iter()
            .map(|line| line.units.max(1) as usize);
        let mut load: Vec<Vec<f64>> = units.map(|units| vec![0.0; units]).collect();
        for run in runs {
            let line = &mut load[run.line];
            if let Some(made) = self.timetabled.of(&run.part.part, run.blanks) {
                run.unit = made.unit.min(line.len().saturating_sub(1));
                continue;
            }
            let least = (0..line.len()).min_by(|&a, &b| line[a].total_cmp(&line[b]));
            run.unit = least.unwrap_or(0);
            line[run.unit] += work(run);
        }
    }

    /// Adds a station for each unit of a line that has something to make.
    fn add_lines(
        &mut self,
        panels: &[Run],
        blanks: &[Run],
    ) -> BTreeMap<(usize, usize), StationIdx> {
        let book = self.book;
        let mut station_of = BTreeMap::new();
        for (position, row) in book.press_lines.iter().enumerate() {
            for unit in 0..row.units.max(1) as usize {
                let mut runs = panels.iter().chain(blanks);
                if !runs.any(|run| run.line == position && run.unit == unit) {
                    continue;
                }
                let name = if row.units > 1 {
                    format!("{} {}", row.press_line, unit + 1)
                } else {
                    row.press_line.clone()
                };
                let station = self.add_line(row, self.free_name(&name));
                station_of.insert((position, unit), station);
            }
        }
        station_of
    }

    fn add_line(&mut self, row: &book::PressLine, name: String) -> StationIdx {
        let stop = self.stop(&Cause {
            name: OWN_STOP,
            between: row.mtbf_min,
            repair: row.mttr_min,
            spread: 1.0,
            basis: book::Basis::Running,
            crew: row.crew.as_deref(),
        });
        let change = row.change_min.seconds() + row.first_off_min.seconds();
        let station = StationIdx(idx(self.network.stations.len()));
        self.stations.push(StationOrigin {
            name: name.clone(),
            at: row.at,
            shop: row.shop.clone(),
            stage: self.stage(&row.shop, None),
        });
        self.network.stations.push(Station {
            stops: stop.into_iter().collect(),
            calendar: self.hours.calendar(&row.shop),
            ..Station::new(
                name,
                Work::Lots(Lots {
                    items: Vec::new(),
                    changeover: Distribution::Fixed(change.get()),
                    rule: LotRule::LeastCover,
                }),
            )
        });
        station
    }

    /// Adds a part to a line with the stock that it fills.
    fn add_run(
        &mut self,
        run: &Run<'a>,
        line: StationIdx,
        to: StationIdx,
        way: Way,
    ) -> (LinkIdx, usize) {
        let part = run.part;
        let day = run.used_per_week / f64::from(self.hours.days_per_week(run.drawn_by));
        let lot = lots::of(part, run.blanks, day, &self.timetabled);
        let classes = self.classes.of_products(&part.products);
        let class = classes.first().copied().unwrap_or(ClassIdx(0));
        let into_car = matches!(way, Way::Panels(_));
        let link = LinkIdx(idx(self.network.links.len()));
        self.network.links.push(Link {
            from: line,
            to,
            holds: Some(lot.stock.pieces),
            move_s: 0.0,
            share: 1.0,
            classes: Vec::new(),
            needs: if into_car { part.per_car } else { 1 },
            needed_for: Vec::new(),
        });
        self.link_products.push(&part.products);
        self.links.push(LinkOrigin { at: part.at, way });
        let drawn_h = self.hours.open_s_per_week(run.drawn_by) / 3_600.0;
        let item = LotItem {
            name: part.part.clone(),
            class,
            from: None,
            to: link,
            cycle: Distribution::Fixed(run.piece_s),
            scrap: run.scrap,
            lot: lot.lot.pieces,
            start_below: lot.start_below.pieces,
            drawn_per_hour: run.used_per_week / drawn_h,
            at_start: lot.at_start(),
            born_here: true,
        };
        self.lots.push(LotPlan {
            part: part.part.clone(),
            at: part.at,
            line: self.stations[line.at()].name.clone(),
            lot: lot.lot,
            start_below: lot.start_below,
            stock: lot.stock,
            used_per_week: run.used_per_week,
            piece_s: run.piece_s,
        });
        let Work::Lots(lots) = &mut self.network.stations[line.at()].work else {
            return (link, 0);
        };
        lots.items.push(item);
        (link, lots.items.len() - 1)
    }
}
