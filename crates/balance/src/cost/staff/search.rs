//! Choices of who does what, changed one by one, each balanced as a line.

use std::collections::BTreeMap;

use super::bound;
use super::frame::{Choice, Frame};
use super::weigh::staffed;
use super::{Staffed, StaffedLine};
use crate::cost::least_cost;
use crate::cost::load::equipped;
use crate::cost::model::Shop;
use crate::fault::Fault;
use crate::line::balance_as_a_trial;
use crate::watch::{Least, Limits, Progress, Watch};

/// Choices that are balanced at most.
const MOST_CHOICES: u64 = 400;

/// Steps of balance for a choice where the caller sets no limit.
const STEPS: u64 = 20_000;

pub(super) struct Search<'a> {
    of: &'a Staffed,
    shop: Shop,
    takt: u32,
    limits: Limits,
    /// Choices that may still be balanced.
    left: u64,
    /// What is known of choices: stations and cost.
    known: BTreeMap<Choice, Option<(usize, u64)>>,
    /// By stations, the cheapest.
    best: BTreeMap<usize, StaffedLine>,
    /// Why the last choice that has none has no balance.
    faults: Option<Vec<Fault>>,
    bound: u64,
    watch: &'a Watch<'a>,
}

/// What is to become less.
#[derive(Clone, Copy)]
enum By {
    /// Cost, then stations.
    Cost,
    /// Stations, then cost.
    Stations,
}

impl By {
    fn of(self, (stations, cost): (usize, u64)) -> (u64, u64) {
        match self {
            Self::Cost => (cost, stations as u64),
            Self::Stations => (stations as u64, cost),
        }
    }
}

impl<'a> Search<'a> {
    pub(super) fn of(of: &'a Staffed, takt: u32, limits: &Limits, watch: &'a Watch<'a>) -> Self {
        let left = limits
            .steps
            .map_or(MOST_CHOICES, |steps| (steps / 8_000).clamp(6, MOST_CHOICES));
        let steps = limits.steps.map_or(STEPS, |steps| (steps / left).max(500));
        Self {
            of,
            shop: Shop {
                after: of.line.work.after.clone(),
                modes: of.modes.clone(),
                kinds: of.kinds.clone(),
                station_per_year: of.station_per_year,
            },
            takt,
            limits: Limits {
                steps: Some(steps),
                ..*limits
            },
            left,
            known: BTreeMap::new(),
            best: BTreeMap::new(),
            faults: None,
            bound: bound::least(of, takt, u64::MAX),
            watch,
        }
    }

    /// From the robots that the robots' own tasks ask for by themselves, and from
    /// people wherever they can: cheaper and cheaper, then with fewer and fewer
    /// stations. Each way may spend its part of the choices.
    pub(super) fn run(&mut self) {
        let starts = [self.by_robots(), self.by_people()];
        let all = self.left;
        let starts: Vec<Choice> = starts.into_iter().flatten().collect();
        for (n, start) in (1..).zip(&starts) {
            let rest = all - all * n / (starts.len() as u64);
            if self.weigh(start).is_none() {
                continue;
            }
            let half = rest + (self.left.saturating_sub(rest)) / 3;
            let cheap = self.descend(start.clone(), By::Cost, half);
            self.descend(cheap, By::Stations, rest);
        }
    }

    /// The points that are not outdone: more stations only where that is cheaper.
    pub(super) fn points(&self) -> Vec<StaffedLine> {
        let mut points: Vec<StaffedLine> = Vec::new();
        for (stations, line) in &self.best {
            if points
                .last()
                .is_some_and(|last| last.cost_per_year <= line.cost_per_year)
            {
                continue;
            }
            // What holds for any number of stations holds for fewer too.
            let own = bound::least(self.of, self.takt, *stations as u64).max(self.bound);
            let bound = own.min(line.cost_per_year);
            points.push(StaffedLine {
                bound,
                proven: bound >= line.cost_per_year,
                ..line.clone()
            });
        }
        points
    }

    pub(super) fn faults(&self) -> Option<Vec<Fault>> {
        self.faults.clone()
    }

    /// The first better neighbour again and again, the most promising first, as
    /// long as more than so many choices are left.
    fn descend(&mut self, start: Choice, by: By, rest: u64) -> Choice {
        let mut at = start.numbered();
        let Some(mut own) = self.weigh(&at) else {
            return at;
        };
        'better: loop {
            let mut next: Vec<(u64, Choice)> = self
                .neighbours(&at)
                .into_iter()
                .filter_map(|next| Some((self.promise(&next, by, own)?, next.numbered())))
                .collect();
            next.sort();
            next.dedup();
            for (_, next) in next {
                if self.left <= rest || self.watch.cancelled() {
                    return at;
                }
                if let Some(found) = self.weigh(&next)
                    && by.of(found) < by.of(own)
                {
                    (at, own) = (next, found);
                    continue 'better;
                }
            }
            return at;
        }
    }

    /// What a choice would come to if all posts were always busy, to sort by; none
    /// where a robot has too much for takt or even so it is no better than `own`.
    fn promise(&self, choice: &Choice, by: By, own: (usize, u64)) -> Option<u64> {
        let takt = u64::from(self.takt.max(1));
        let mut robots = 0;
        let cells = choice.cells();
        for tasks in cells.values() {
            let work: Vec<(usize, usize)> = tasks
                .iter()
                .map(|task| (*task, choice.modes[*task]))
                .collect();
            let kind = self.of.modes[work[0].0][work[0].1].kind;
            let made = equipped(&self.shop, kind, &work);
            if made.ticks > takt {
                return None;
            }
            robots += made.cost_per_year;
        }
        let people = (0..choice.modes.len()).filter(|task| choice.alone[*task].is_none());
        let work: u64 = people
            .map(|task| {
                let ticks = self.of.modes[task][choice.modes[task]].ticks;
                u64::from(bound::mean_ticks(self.of, task, ticks))
            })
            .sum();
        let posts = self.of.line.posts().len().max(1) as u64;
        let each = self
            .of
            .people
            .map_or(0, |kind| self.of.kinds[kind].cost_per_year);
        let stations = cells.len() as u64 + work.div_ceil(posts * takt);
        let cost = robots
            + work.div_ceil(takt) * each
            + work.div_ceil(posts * takt) * self.of.station_per_year;
        match by {
            By::Cost => (cost < own.1).then_some(robots + (work * each).div_ceil(takt)),
            By::Stations => {
                (stations <= own.0 as u64).then_some(cells.len() as u64 * posts * takt + work)
            }
        }
    }

    /// Stations and cost of a choice; none where it has no balance.
    fn weigh(&mut self, choice: &Choice) -> Option<(usize, u64)> {
        let choice = choice.clone().numbered();
        if let Some(known) = self.known.get(&choice) {
            return *known;
        }
        let found = self.balanced(&choice);
        let told = found
            .as_ref()
            .map(|line| (line.stations.len(), line.cost_per_year));
        if let Some(line) = found {
            let stations = line.stations.len();
            let least = self.best.get(&stations).map(|best| best.cost_per_year);
            if least.is_none_or(|least| line.cost_per_year < least) {
                self.best.insert(stations, line);
                let best = self.best.values().map(|line| line.cost_per_year).min();
                (self.watch.progress)(Progress {
                    least: Least::Cost,
                    best,
                    bound: self.bound,
                });
            }
        }
        self.known.insert(choice, told);
        told
    }

    fn balanced(&mut self, choice: &Choice) -> Option<StaffedLine> {
        let frame = Frame::of(self.of, &self.shop, self.takt, choice)?;
        self.left = self.left.saturating_sub(1);
        // Work that must come before and after what shares its station has no order.
        match balance_as_a_trial(&frame.line, self.takt, &self.limits, self.watch) {
            Ok(found) if found.stations.is_empty() => None,
            Ok(found) => Some(staffed(self.of, self.takt, choice, &frame, &found.stations)),
            Err(faults) => {
                self.faults = Some(faults);
                None
            }
        }
    }

    /// The cheapest mode of people for a task, its part of a post and its tool.
    fn of_people(&self, task: usize) -> Option<usize> {
        let kind = self.of.people?;
        let modes = self.of.modes[task].iter().enumerate();
        let price = |mode: &crate::cost::Mode| {
            let own = &self.of.kinds[kind];
            let tool = mode.tool.map_or(0, |tool| own.tools[tool]);
            u64::from(mode.ticks) * own.cost_per_year / u64::from(self.takt.max(1)) + tool
        };
        let own = modes.filter(|(_, mode)| mode.kind == kind);
        own.min_by_key(|(at, mode)| (price(mode), *at))
            .map(|(at, _)| at)
    }

    /// The quickest mode of a kind of its own.
    fn of_kind(&self, task: usize, kind: usize) -> Option<usize> {
        let modes = self.of.modes[task].iter().enumerate();
        let own = modes.filter(|(_, mode)| mode.kind == kind);
        own.min_by_key(|(at, mode)| (mode.ticks, *at))
            .map(|(at, _)| at)
    }

    /// People wherever they can; what only a robot can do each by one of its own.
    fn by_people(&self) -> Option<Choice> {
        let mut choice = Choice {
            modes: Vec::new(),
            alone: Vec::new(),
        };
        for task in 0..self.of.modes.len() {
            let people = self.of_people(task);
            let alone = self.of.modes[task].iter().enumerate();
            let alone = alone
                .min_by_key(|(at, mode)| (mode.ticks, *at))
                .map(|(at, _)| at);
            choice.modes.push(people.or(alone)?);
            choice.alone.push(people.is_none().then_some(task));
        }
        Some(choice)
    }

    /// What kinds of their own can do, as it costs least by itself; people do the
    /// rest.
    fn by_robots(&self) -> Option<Choice> {
        let mut choice = self.by_people()?;
        let is_alone = |mode: &crate::cost::Mode| Some(mode.kind) != self.of.people;
        let open: Vec<usize> = (0..self.of.modes.len())
            .filter(|task| self.of.modes[*task].iter().any(is_alone))
            .collect();
        let place = |task: &usize| open.iter().position(|own| own == task);
        let shop = Shop {
            after: open
                .iter()
                .map(|task| self.shop.after[*task].iter().filter_map(place).collect())
                .collect(),
            modes: open
                .iter()
                .map(|task| self.of.modes[*task].clone())
                .collect(),
            ..self.shop.clone()
        };
        let limits = Limits {
            steps: self.limits.steps.map(|steps| steps * 4),
            ..self.limits
        };
        let found = least_cost(&shop, self.takt, &limits, self.watch).ok()?;
        for (number, station) in found.stations.iter().enumerate() {
            for (own, mode) in &station.work {
                let task = open[*own];
                choice.modes[task] = *mode;
                let alone = Some(station.kind) != self.of.people;
                choice.alone[task] = alone.then_some(number + self.of.modes.len());
            }
        }
        Some(choice)
    }

    /// Choices one change away: a robot's work given to people or to another
    /// robot, a task to people, to a robot that is there or to one of its own, a
    /// task with people done another way.
    fn neighbours(&self, at: &Choice) -> Vec<Choice> {
        let mut next = Vec::new();
        let cells = at.cells();
        for tasks in cells.values() {
            next.extend(self.given_up(at, tasks));
        }
        let kind_of = |tasks: &[usize]| self.of.modes[tasks[0]][at.modes[tasks[0]]].kind;
        for (one, tasks) in &cells {
            for more in cells.range(one + 1..).map(|(_, more)| more) {
                if kind_of(tasks) == kind_of(more) {
                    let mut joined = at.clone();
                    for task in more {
                        joined.alone[*task] = Some(*one);
                    }
                    next.push(joined);
                }
            }
        }
        for task in 0..at.modes.len() {
            if at.alone[task].is_some() {
                next.extend(self.given_up(at, &[task]));
            }
            for (cell, tasks) in &cells {
                if at.alone[task] != Some(*cell)
                    && let Some(mode) = self.of_kind(task, kind_of(tasks))
                {
                    next.push(with(at, task, mode, Some(*cell)));
                }
            }
            for (mode, own) in self.of.modes[task].iter().enumerate() {
                let alone = Some(own.kind) != self.of.people;
                if alone || at.alone[task].is_none() && mode != at.modes[task] {
                    // Beyond all numbers in use.
                    let cell = alone.then_some(at.modes.len() + task);
                    next.push(with(at, task, mode, cell));
                }
            }
        }
        next
    }

    /// Some of a robot's tasks by people; none where they cannot do one.
    fn given_up(&self, at: &Choice, tasks: &[usize]) -> Option<Choice> {
        let mut less = at.clone();
        for task in tasks {
            less.modes[*task] = self.of_people(*task)?;
            less.alone[*task] = None;
        }
        Some(less)
    }
}

fn with(at: &Choice, task: usize, mode: usize, cell: Option<usize>) -> Choice {
    let mut next = at.clone();
    next.modes[task] = mode;
    next.alone[task] = cell;
    next
}
