//! Ideas that the tool finds: for every station that the critical path touches,
//! every buffer, crew, fleet and press line near it, and every shop's shifts.
//!
//! Each comes with what it promises: cars a week at the very most, read off the
//! critical path of the plant as it is. The share of the path spent in a time is
//! the elasticity of the rate to it; for places, crews, carriers and shifts,
//! which the path cannot tell, the promise is the share of the time in which a
//! want of them shows, weighed with the path nearby. A promise decides only
//! whether an idea is run.

mod who;

use std::collections::BTreeSet;

use book::{At, Book, Station, Table};
use flow::{Outcome, StationOutcome};
use units::Quantity;

use super::ideas::{Cells, Idea, IdeaKind, typed};
use crate::findings::PathShare;
use crate::network::{Built, Way};
use crate::plan::RatePlan;

/// The part that a cycle gets shorter.
pub(super) const CYCLE_CUT: f64 = 0.05;
/// The part that repairs and changeovers get shorter, and that is added to a
/// buffer, a stock's start level and a fleet of ten.
pub(super) const HALF: f64 = 0.5;
/// The part that lots get smaller.
pub(super) const LOT_CUT: f64 = 0.3;
/// The part that is added to a fleet.
pub(super) const FLEET_SHARE: f64 = 0.05;

/// A found idea and what it promises, cars a week.
pub(super) struct Found {
    pub(super) idea: Idea,
    pub(super) promise: f64,
}

/// What the plant as it is shows.
pub(super) struct Shown<'a> {
    pub(super) book: &'a Book,
    pub(super) cells: Cells<'a>,
    pub(super) built: &'a Built,
    pub(super) outcome: &'a Outcome,
    pub(super) plan: &'a RatePlan,
    /// Cars a week.
    pub(super) made: f64,
}

/// All of them, those that promise most first.
pub(super) fn found(shown: &Shown<'_>) -> Vec<Found> {
    let mut finder = Finder {
        shown,
        path: shown.outcome.stations.iter().map(path).collect(),
        found: Vec::new(),
    };
    for station in 0..shown.built.stations.len() {
        match shown.built.stations[station].at.table {
            Table::Stations => finder.station(station),
            Table::PressLines => finder.press_line(station),
            _ => {}
        }
    }
    finder.places();
    finder.crews();
    finder.carriers();
    finder.shifts();
    finder.who();
    let mut found = finder.found;
    found.sort_by(|a, b| {
        b.promise
            .total_cmp(&a.promise)
            .then_with(|| a.idea.name.cmp(&b.idea.name))
    });
    found
}

fn path(station: &StationOutcome) -> PathShare {
    station
        .path
        .as_ref()
        .map_or_else(PathShare::default, |path| PathShare {
            cycle: path.cycle.mean,
            repair: path.stopped.mean,
            changeover: path.changeover.mean,
        })
}

struct Finder<'a> {
    shown: &'a Shown<'a>,
    path: Vec<PathShare>,
    found: Vec<Found>,
}

/// Money of an idea, as far as the book tells.
#[derive(Clone, Copy, Default)]
struct Told {
    investment: Option<f64>,
    cost_per_year: Option<f64>,
    life_years: Option<f64>,
}

impl Finder<'_> {
    /// Adds an idea whose changes all have a place; `share` is what it promises
    /// of the cars made.
    fn add(
        &mut self,
        kind: IdeaKind,
        (name, place): (String, &str),
        changes: &[(At, &str, String)],
        share: f64,
        told: Told,
    ) {
        let cells = self.shown.cells;
        let changes: Option<Vec<_>> = changes
            .iter()
            .map(|(at, column, to)| cells.change(*at, column, to.clone()))
            .collect();
        let Some(changes) = changes.filter(|changes| !changes.is_empty()) else {
            return;
        };
        self.found.push(Found {
            promise: share * self.shown.made,
            idea: Idea {
                id: 0,
                name,
                kind,
                place: place.to_owned(),
                changes,
                investment: told.investment,
                cost_per_year: told.cost_per_year,
                life_years: told.life_years.unwrap_or(8.0),
                weeks: None,
            },
        });
    }

    fn station(&mut self, station: usize) {
        let shown = self.shown;
        let origin = &shown.built.stations[station];
        let mut rows = shown.book.stations.iter();
        let Some(row) = rows.find(|row| row.at == origin.at) else {
            return;
        };
        if self.path[station].total() > 0.0 {
            self.cycle(station, row);
            self.stops(station, row);
            self.unit(station, row);
            self.first_time_ok(station, row);
        }
    }

    /// A measured cycle shorter, with those of its exceptions; where tasks make it,
    /// the work. Where joints do it is left alone: they are shared out to the fewest
    /// robots that keep the pace, so that quicker ones save robots and no time, and
    /// their seconds are those of a method, not of a station.
    fn cycle(&mut self, station: usize, row: &Station) {
        let (name, keep) = (row.station.as_str(), 1.0 - CYCLE_CUT);
        let (mut changes, told) = match row.cycle_s {
            Some(cycle) => (
                vec![(row.at, "cycle_s", typed(cycle.get() * keep, 1))],
                format!("cycle of {name} 5 % shorter"),
            ),
            None => (
                self.quicker_tasks(name, keep),
                format!("work at {name} 5 % shorter"),
            ),
        };
        if changes.is_empty() {
            return;
        }
        let all = self.shown.book.cycles.iter();
        let own = all.filter(|cycle| cycle.station == name);
        changes.extend(own.map(|c| (c.at, "cycle_s", typed(c.cycle_s.get() * keep, 1))));
        let share = self.path[station].cycle * CYCLE_CUT;
        self.add(
            IdeaKind::Cycle,
            (told, name),
            &changes,
            share,
            Told::default(),
        );
    }

    /// The tasks that name a station in less time, whoever does them: how does not
    /// matter, so that all ways of a task keep their order. A bead is laid no faster.
    fn quicker_tasks(&self, station: &str, keep: f64) -> Vec<(At, &'static str, String)> {
        let tasks = self.shown.book.tasks.iter();
        let here = tasks.filter(|task| task.station.as_deref() == Some(station));
        let mut changes = Vec::new();
        for task in here {
            let bead = task.bead_mm.zip(task.bead_mm_s);
            let bead = bead.map_or(0.0, |(long, speed)| long.get() / speed);
            let ways = [
                ("hand_s", task.hand_s, 0.0),
                ("aid_s", task.aid_s, 0.0),
                ("robot_s", task.robot_s, bead),
            ];
            for (column, time, stays) in ways {
                let Some(time) = time.map(Quantity::get).filter(|time| *time > stays) else {
                    continue;
                };
                changes.push((task.at, column, typed(stays + (time - stays) * keep, 2)));
            }
        }
        changes
    }

    /// Repairs shorter, and stops rarer, whatever the cause.
    fn stops(&mut self, station: usize, row: &Station) {
        let name = row.station.as_str();
        let mut repairs: Vec<(At, &str, String)> = Vec::new();
        let mut between: Vec<(At, &str, String)> = Vec::new();
        if let (Some(mtbf), Some(mttr)) = (row.mtbf_min, row.mttr_min) {
            repairs.push((row.at, "mttr_min", typed(mttr.get() * HALF, 2)));
            between.push((row.at, "mtbf_min", typed(mtbf.get() / HALF, 1)));
        }
        let all = self.shown.book.stops.iter();
        for stop in all.filter(|stop| stop.station == name) {
            repairs.push((stop.at, "mttr_min", typed(stop.mttr_min.get() * HALF, 2)));
            between.push((stop.at, "mtbf_min", typed(stop.mtbf_min.get() / HALF, 1)));
        }
        let saved = self.path[station].repair * HALF;
        let told = format!("repairs of {name} twice as quick");
        let free = Told::default();
        self.add(IdeaKind::Repair, (told, name), &repairs, saved, free);
        let told = format!("stops of {name} halved");
        self.add(IdeaKind::Stops, (told, name), &between, saved, free);
    }

    fn unit(&mut self, station: usize, row: &Station) {
        if row.source || row.units >= 10_000 {
            return;
        }
        let name = row.station.as_str();
        let told = format!("one more unit of {name}");
        let more = [(row.at, "units", (row.units + 1).to_string())];
        let share = self.path[station].total() / (f64::from(row.units) + 1.0);
        let money = self.unit_money(row);
        self.add(IdeaKind::Unit, (told, name), &more, share, money);
    }

    fn first_time_ok(&mut self, station: usize, row: &Station) {
        let Some(ok) = row.first_time_ok.map(|ok| ok.0).filter(|ok| *ok < 1.0) else {
            return;
        };
        let name = row.station.as_str();
        let better = 0.5 * (1.0 + ok);
        let told = format!("half the faults at {name}");
        let change = [(row.at, "first_time_ok", typed(better, 4))];
        let gain = (better - ok) / ok.max(0.05);
        let rework = row.rework_to.as_ref().and_then(|to| self.position(to));
        let rework = rework.map_or(0.0, |at| HALF * self.path[at].total());
        let share = self.path[station].total() * gain + rework;
        let kind = IdeaKind::FirstTimeOk;
        self.add(kind, (told, name), &change, share, Told::default());
    }

    /// A unit with its robots and people, where the book has all their money.
    fn unit_money(&self, row: &Station) -> Told {
        let book = self.shown.book;
        let robots = if row.robots == 0 {
            Some(0.0)
        } else {
            let kind = row.robot.as_ref();
            let kind = kind.and_then(|kind| book.robots.iter().find(|r| r.robot == *kind));
            let each = f64::from(row.robots) / f64::from(row.units.max(1));
            kind.map(|kind| each.ceil() * kind.investment.get())
        };
        let own = row.investment.map(Quantity::get);
        let people = row.people() / f64::from(row.units.max(1));
        let upkeep = row.upkeep_per_year.map_or(0.0, Quantity::get);
        Told {
            investment: own.zip(robots).map(|(own, robots)| own + robots),
            cost_per_year: Some(people * self.hour_cost(&row.shop) + upkeep),
            life_years: Some(row.life_years),
        }
    }

    /// Hours a week of a shop.
    fn hours(&self, shop: &str) -> f64 {
        let mut shops = self.shown.plan.shops.iter();
        let shop = shops.find(|row| row.shop == shop);
        shop.map_or(168.0, |row| row.net_time_h.value)
    }

    /// People of a shop at a time, where the plan knows.
    fn people_of(&self, shop: &str) -> Option<f64> {
        let mut shops = self.shown.plan.shops.iter();
        let shop = shops.find(|row| row.shop == shop)?;
        shop.positions.as_ref().map(|people| people.value)
    }

    /// What a person on every shift of a shop costs a year.
    fn hour_cost(&self, shop: &str) -> f64 {
        let plant = &self.shown.book.plant;
        self.hours(shop) * plant.weeks_per_year.value * plant.person_cost_per_hour.value.get()
    }

    fn position(&self, station: &str) -> Option<usize> {
        self.shown
            .built
            .stations
            .iter()
            .position(|origin| origin.name == station)
    }

    fn press_line(&mut self, station: usize) {
        let shown = self.shown;
        let origin = &shown.built.stations[station];
        let path = self.path[station];
        let Some(row) = shown
            .book
            .press_lines
            .iter()
            .find(|row| row.at == origin.at)
        else {
            return;
        };
        if path.total() <= 0.0 {
            return;
        }
        let (name, at) = (row.press_line.as_str(), row.at);
        if self.found.iter().any(|known| known.idea.place == name) {
            // further units of a line share its row
            return;
        }
        if row.change_min.get() > 0.0 {
            let told = format!("die changes of {name} twice as quick");
            let change = [(at, "change_min", typed(row.change_min.get() * HALF, 2))];
            self.add(
                IdeaKind::Changeover,
                (told, name),
                &change,
                path.changeover * HALF,
                Told::default(),
            );
        }
        if let Some(mttr) = row.mttr_min {
            let told = format!("repairs of {name} twice as quick");
            let change = [(at, "mttr_min", typed(mttr.get() * HALF, 2))];
            self.add(
                IdeaKind::Repair,
                (told, name),
                &change,
                path.repair * HALF,
                Told::default(),
            );
        }
        self.lots(station, name);
    }

    /// Lots of a line smaller, and begun earlier.
    fn lots(&mut self, station: usize, name: &str) {
        let shown = self.shown;
        let (line, path) = (&shown.built.stations[station].name, self.path[station]);
        let lots: Vec<_> = shown
            .built
            .lots
            .iter()
            .filter(|lot| lot.line == *line)
            .collect();
        let (mut smaller, mut earlier) = (Vec::new(), Vec::new());
        for lot in lots {
            let blanks = shown
                .book
                .parts
                .iter()
                .any(|part| part.at == lot.at && part.blank_line.as_deref() == Some(name));
            let (lot_column, stock) = if blanks {
                ("blank_lot", "blank_stock")
            } else {
                ("lot", "stock")
            };
            let pieces = (f64::from(lot.lot.pieces) * (1.0 - LOT_CUT)).ceil();
            smaller.push((lot.at, lot_column, typed(pieces, 0)));
            if !blanks {
                let start = (f64::from(lot.start_below.pieces) * (1.0 + HALF)).ceil();
                let more = start - f64::from(lot.start_below.pieces);
                earlier.push((lot.at, "start_below", typed(start, 0)));
                earlier.push((lot.at, stock, typed(f64::from(lot.stock.pieces) + more, 0)));
            }
        }
        let told = format!("lots of {name} 30 % smaller");
        self.add(
            IdeaKind::Lots,
            (told, name),
            &smaller,
            path.total() * LOT_CUT,
            Told::default(),
        );
        let told = format!("lots of {name} begun earlier");
        self.add(
            IdeaKind::Start,
            (told, name),
            &earlier,
            path.total() * LOT_CUT,
            Told::default(),
        );
    }

    /// Path shares with half of those next door, over two doors.
    fn spread(&self) -> Vec<f64> {
        let mut near: Vec<f64> = self.path.iter().map(|path| path.total()).collect();
        for _ in 0..2 {
            let before = near.clone();
            for link in &self.shown.built.network.links {
                let (a, b) = (link.from.at(), link.to.at());
                near[a] = near[a].max(HALF * before[b]);
                near[b] = near[b].max(HALF * before[a]);
            }
        }
        near
    }

    fn places(&mut self) {
        let shown = self.shown;
        let near = self.spread();
        for (l, (link, origin)) in shown
            .built
            .network
            .links
            .iter()
            .zip(&shown.built.links)
            .enumerate()
        {
            let Some(holds) = link.holds.filter(|_| origin.way == Way::Onward) else {
                continue;
            };
            let seen = &shown.outcome.links[l];
            let (from, to) = (link.from.at(), link.to.at());
            let share = HALF
                * (seen.empty.mean * near[to] * waits(&shown.outcome.stations[to], false)
                    + seen.full.mean * near[from] * waits(&shown.outcome.stations[from], true));
            let more = holds.div_ceil(2).max(1);
            let name = &shown.built.stations[from].name;
            let told = format!(
                "{more} more place{} from {name} to {}",
                if more == 1 { "" } else { "s" },
                shown.built.stations[to].name
            );
            let change = [(origin.at, "holds", (holds + more).to_string())];
            self.add(
                IdeaKind::Places,
                (told, name),
                &change,
                share,
                Told::default(),
            );
        }
    }

    fn crews(&mut self) {
        let shown = self.shown;
        for (position, crew) in shown.book.crews.iter().enumerate() {
            let mut share = 0.0;
            let mut shop = crew.shop.as_deref();
            for (s, station) in shown.built.network.stations.iter().enumerate() {
                let own = |stop: &flow::model::Stop| stop.crew.is_some_and(|c| c.at() == position);
                if !station.stops.iter().any(own) {
                    continue;
                }
                let seen = &shown.outcome.stations[s];
                let waits = seen.crew_wait.mean / seen.stopped.mean.max(1e-9);
                share += self.path[s].repair * waits.min(1.0);
                shop = shop.or(Some(&shown.built.stations[s].shop));
            }
            let Some(shop) = shop else { continue };
            let told = Told {
                investment: Some(0.0),
                cost_per_year: Some(self.hour_cost(shop)),
                life_years: None,
            };
            let name = format!("one more of {}", crew.crew);
            let change = [(crew.at, "count", (crew.count + 1).to_string())];
            self.add(IdeaKind::Crew, (name, &crew.crew), &change, share, told);
        }
    }

    fn carriers(&mut self) {
        let shown = self.shown;
        let near = self.spread();
        for row in &shown.book.carriers {
            let Some(at) = self.position(&row.taken_at) else {
                continue;
            };
            let more = ((f64::from(row.count) * FLEET_SHARE).ceil() as u32).max(1);
            let seen = &shown.outcome.stations[at];
            let share = seen.carrier_wait.mean * near[at].max(0.1);
            let name = format!("{more} more of {}", row.carrier);
            let change = [(row.at, "count", (row.count + more).to_string())];
            self.add(
                IdeaKind::Carriers,
                (name, &row.carrier),
                &change,
                share,
                Told::default(),
            );
        }
    }

    /// Another shift pattern for each shop: its breaks covered, and its first shift
    /// on Saturday too where it works Monday to Friday.
    fn shifts(&mut self) {
        let shown = self.shown;
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        for row in &shown.book.shifts {
            if !seen.insert(&row.shop) {
                continue;
            }
            let in_shop = |s: &usize| shown.built.stations[*s].shop == row.shop;
            let path: f64 = (0..self.path.len())
                .filter(in_shop)
                .map(|s| self.path[s].total())
                .sum();
            self.breaks(&row.shop, path);
            let days = shown.cells.change(row.at, "days", String::new());
            if days.is_none_or(|days| days.from != "mon-fri") {
                continue;
            }
            let mut shops = shown.plan.shops.iter();
            let Some(shop) = shops.find(|shop| shop.shop == row.shop) else {
                continue;
            };
            let rows = shown
                .book
                .shifts
                .iter()
                .filter(|other| other.shop == row.shop)
                .count();
            // a week has five days of each of its shifts
            let hours = shop.net_time_h.value / (5 * rows) as f64;
            let plant = &shown.book.plant;
            let people = self.people_of(&row.shop);
            let cost = people.map(|people| {
                people * hours * plant.weeks_per_year.value * plant.person_cost_per_hour.value.get()
            });
            let told = Told {
                investment: Some(0.0),
                cost_per_year: cost,
                life_years: None,
            };
            let name = format!("{} shift of {} on Saturday too", row.shift, row.shop);
            let change = [(row.at, "days", "mon-sat".to_owned())];
            self.add(
                IdeaKind::Shift,
                (name, &row.shop),
                &change,
                path / (5 * rows) as f64,
                told,
            );
        }
    }
}

/// How much of its open time a station waits on one side.
fn waits(station: &StationOutcome, below: bool) -> f64 {
    if below {
        station.blocked.mean
    } else {
        station.starved.mean
    }
}

#[cfg(test)]
mod tests;
