//! A walk near today's places: units of work moved and exchanged, overload
//! priced, what stands elsewhere than today priced by its time.

use super::place::{Effort, Loads, Places};
use crate::line::Luck;
use crate::watch::Watch;

/// What overload costs against work moved, both in thousandths of takt.
const PRICE: i64 = 5;

/// Moves tried for each that is looked at in full.
const TRIES: u64 = 12;

/// A walk from one assignment; it ends at the least moved that it met and that
/// keeps every rule.
pub(crate) struct Walk<'a> {
    places: &'a Places<'a>,
    units: &'a [Vec<usize>],
    at: Vec<usize>,
    loads: Loads,
    /// By station, what it exceeds takt by, waits counted.
    over: Vec<u64>,
    luck: Luck,
    best: Option<(u64, Vec<usize>)>,
}

/// Units moved, each with the station it goes to.
type Step = Vec<(usize, usize)>;

impl<'a> Walk<'a> {
    pub(crate) fn from(
        places: &'a Places<'a>,
        units: &'a [Vec<usize>],
        at: Vec<usize>,
        luck: u64,
    ) -> Self {
        let over = (0..places.count).map(|s| places.excess(&places.tasks_at(&at, s)));
        let mut walk = Self {
            over: over.collect(),
            loads: places.loads(&at),
            places,
            units,
            at,
            luck: Luck(luck),
            best: None,
        };
        walk.keep();
        walk
    }

    /// What it has cost so far: overload and work moved.
    pub(crate) fn cost(&self) -> i64 {
        let moved = self.places.moved(&self.at);
        self.thousandths(moved) + PRICE * self.over.iter().sum::<u64>() as i64
    }

    pub(crate) fn at(&self) -> &[usize] {
        &self.at
    }

    pub(crate) fn best(self) -> Option<Vec<usize>> {
        self.best.map(|(_, at)| at)
    }

    /// Goes on until the effort is spent, worse steps allowed up to `warm`
    /// thousandths of takt, ever less.
    pub(crate) fn go_on(&mut self, warm: u64, effort: &mut Effort, watch: &Watch<'_>) {
        let whole = effort.left().max(1);
        let mut tries = whole.saturating_mul(TRIES);
        while effort.left() > 0 && tries > 0 {
            tries -= 1;
            let left = effort.left().min(tries / TRIES + 1);
            let heat = warm * left / whole;
            if tries.is_multiple_of(1_024) && watch.cancelled() {
                return;
            }
            let Some(step) = self.step() else { continue };
            let allowed =
                (heat * self.luck.below(1_000) / 1_000 * self.luck.below(1_000) / 500) as i64;
            self.try_out(&step, allowed, effort);
        }
    }

    fn thousandths(&self, moved: u64) -> i64 {
        (moved * 1_000 / self.places.measures[0].room) as i64
    }

    /// A unit to another station; to its own of today, or in exchange, or
    /// anywhere.
    fn step(&mut self) -> Option<Step> {
        let count = self.units.len() as u64;
        let mut unit = self.luck.below(count) as usize;
        // Every other time out of a station that has too much.
        if self.luck.below(2) == 0 {
            let start = self.luck.below(count) as usize;
            let mut around = (0..self.units.len()).map(|i| (i + start) % self.units.len());
            unit = around
                .find(|unit| self.over[self.station(*unit)] > 0)
                .unwrap_or(unit);
        }
        let from = self.station(unit);
        let home = self.places.today[self.units[unit][0]];
        let to = match self.luck.below(4) {
            0 if home != from && home < self.places.count => home,
            1 | 2 => {
                let far = self.luck.below(3) as usize + 1;
                match self.luck.below(2) {
                    0 => from.checked_sub(far)?,
                    _ => from + far,
                }
            }
            _ => self.luck.below(self.places.count as u64) as usize,
        };
        if to == from || to >= self.places.count {
            return None;
        }
        if self.luck.below(3) > 0 {
            return Some(vec![(unit, to)]);
        }
        let start = self.luck.below(count) as usize;
        let mut around = (0..self.units.len()).map(|i| (i + start) % self.units.len());
        let other = around.find(|other| self.station(*other) == to)?;
        Some(vec![(unit, to), (other, from)])
    }

    fn station(&self, unit: usize) -> usize {
        self.at[self.units[unit][0]]
    }

    /// Takes the step where it is legal and costs no more than is allowed.
    fn try_out(&mut self, step: &Step, allowed: i64, effort: &mut Effort) {
        let from: Step = step
            .iter()
            .map(|(unit, _)| (*unit, self.station(*unit)))
            .collect();
        let before = self.rough(&from);
        let moved = self.away(step);
        self.put(step);
        let legal = step.iter().all(|(unit, to)| {
            let mut tasks = self.units[*unit].iter();
            tasks.all(|task| self.places.may_stand(&self.at, *task, *to))
        });
        let more = self.away(step) - moved;
        let rough = self.rough(&from) - before;
        // By sums first; what waits cost is only looked at where those allow it.
        if !legal || PRICE * rough + more > allowed + self.waits(&from) {
            self.put(&from);
            return;
        }
        effort.spend();
        let touched = stations(&from, step);
        let old: Vec<u64> = touched.iter().map(|station| self.over[*station]).collect();
        for station in &touched {
            let tasks = self.places.tasks_at(&self.at, *station);
            self.over[*station] = self.places.excess(&tasks);
        }
        let sum = |over: &[u64]| over.iter().sum::<u64>() as i64;
        let new: Vec<u64> = touched.iter().map(|station| self.over[*station]).collect();
        if PRICE * (sum(&new) - sum(&old)) + more > allowed {
            for (station, over) in touched.iter().zip(old) {
                self.over[*station] = over;
            }
            self.put(&from);
            return;
        }
        self.keep();
    }

    /// Overload by sums at the stations of a step.
    fn rough(&self, step: &Step) -> i64 {
        let mut sum = 0;
        for station in stations(step, step) {
            sum += self.places.over(&self.loads, station) as i64;
        }
        sum
    }

    /// What the waits at the stations of a step cost that it might save.
    fn waits(&self, step: &Step) -> i64 {
        let each = stations(step, step).into_iter();
        PRICE * each.map(|station| self.over[station] as i64).sum::<i64>()
    }

    /// Work of a step's units that stands elsewhere than today.
    fn away(&self, step: &Step) -> i64 {
        let tasks = step.iter().flat_map(|(unit, _)| &self.units[*unit]);
        let away = tasks.filter(|task| self.at[**task] != self.places.today[**task]);
        self.thousandths(away.map(|task| self.places.measures[0].ticks[*task]).sum())
    }

    fn put(&mut self, step: &Step) {
        for (unit, to) in step {
            for task in &self.units[*unit] {
                self.places.take(&mut self.loads, *task, self.at[*task]);
                self.places.add(&mut self.loads, *task, *to);
                self.at[*task] = *to;
            }
        }
    }

    fn keep(&mut self) {
        if self.over.iter().any(|over| *over > 0) {
            return;
        }
        let moved = self.places.moved(&self.at);
        if self.best.as_ref().is_none_or(|(least, _)| moved < *least)
            && let Some(at) = self.places.feasible(self.at.clone())
        {
            self.best = Some((moved, at));
        }
    }
}

fn stations(one: &Step, other: &Step) -> Vec<usize> {
    let mut stations: Vec<usize> = one.iter().chain(other).map(|(_, at)| *at).collect();
    stations.sort_unstable();
    stations.dedup();
    stations
}
