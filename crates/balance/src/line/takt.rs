//! Least takt for a line's number of stations.

use super::model::{Line, LineBalance, Station};
use super::search::Spell;
use super::solve::{Asked, Ends, plain};
use crate::fault::Fault;
use crate::simple::least_takt;
use crate::watch::{Least, Limits, Progress, Watch};

/// The least takt, in ticks, at which so many stations (pairs of them on a
/// two-sided line) do all the work within the rules. [`LineBalance::bound`] is
/// in ticks; the second of the pair is the takt of the answer.
///
/// # Errors
///
/// Every fault of the line, and proof that no takt will do.
pub fn least_takt_of_line(
    line: &Line,
    stations: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<(LineBalance, u32), Vec<Fault>> {
    if line.is_plain() {
        let found = least_takt(&line.work, stations, limits, watch)?;
        let takt = found.longest(&line.work) as u32;
        let listed = found.stations.iter();
        let balance = LineBalance {
            stations: listed.map(|tasks| plain(&line.work, tasks)).collect(),
            bound: found.bound,
            proven: found.proven,
            steps: found.steps,
        };
        return Ok((balance, takt));
    }
    let mut faults = line.faults(u32::MAX / 4);
    if stations == 0 {
        faults.push(Fault::NoStations);
    }
    for (task, station) in &line.rules.fixed {
        if *station >= stations as usize {
            faults.push(Fault::NoRoom {
                task: *task,
                earliest: *station,
                latest: stations.saturating_sub(1) as usize,
                pushed: vec![*task],
            });
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    sized!(line.work.ticks.len(), solve(line, stations, limits, watch))
}

/// What is known of the least takt.
struct Gap<'a> {
    line: &'a Line,
    stations: u32,
    limits: &'a Limits,
    watch: &'a Watch<'a>,
    low: u32,
    high: u32,
    best: Vec<Station>,
    steps: u64,
}

fn solve<const W: usize>(
    line: &Line,
    stations: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<(LineBalance, u32), Vec<Fault>> {
    // Everything at one post is the most that a takt can be.
    let measures = line.measures(1);
    let whole = |at: usize| measures[at].ticks.iter().sum::<u64>() as u32;
    let most = (usize::from(measures.len() > 1)..measures.len())
        .map(whole)
        .max();
    let mut gap = Gap {
        line,
        stations,
        limits,
        watch,
        low: 1,
        high: most.unwrap_or(1).max(1),
        best: Vec::new(),
        steps: 0,
    };
    if gap.ask::<W>(gap.high, u64::MAX) == Some(false) {
        return Err(vec![Fault::NoAssignment {
            shown: format!(
                "the rules of place cannot be met with {stations} stations at any takt; \
                 drop a rule or add stations"
            ),
        }]);
    }
    gap.raise::<W>();
    let mut most = 50_000;
    while gap.low < gap.high && !gap.is_ended() {
        gap.narrow::<W>(most);
        most *= 4;
    }
    let balance = LineBalance {
        proven: !gap.best.is_empty() && gap.low >= gap.high,
        stations: gap.best,
        bound: u64::from(gap.low),
        steps: gap.steps,
    };
    Ok((balance, gap.high))
}

impl Gap<'_> {
    fn is_ended(&self) -> bool {
        self.watch.cancelled() || self.steps >= self.limits.steps.unwrap_or(u64::MAX)
    }

    /// The least takt that bounds alone do not rule out.
    fn raise<const W: usize>(&mut self) {
        let (mut no, mut maybe) = (self.low - 1, self.high);
        while no + 1 < maybe && !self.watch.cancelled() {
            let middle = no + (maybe - no) / 2;
            let fits = self.line.faults(middle).is_empty()
                && Ends::<W>::of(self.line, middle).is_ok_and(|ends| ends.bound <= self.stations);
            if fits {
                maybe = middle;
            } else {
                no = middle;
            }
        }
        self.low = no + 1;
        let mut step = (self.low / 100).max(1);
        let mut takt = self.low;
        while takt < self.high && !self.is_ended() && self.ask::<W>(takt, 20_000) != Some(true) {
            takt = takt.saturating_add(step);
            step = step.saturating_mul(2);
        }
    }

    fn narrow<const W: usize>(&mut self, most: u64) {
        let mut floor = self.low;
        while floor < self.high && !self.is_ended() {
            let middle = floor + (self.high - floor) / 2;
            if self.ask::<W>(middle, most).is_none() {
                floor = middle + 1;
            }
            floor = floor.max(self.low);
        }
        let mut ceiling = self.high;
        while self.low < ceiling && !self.is_ended() {
            let middle = self.low + (ceiling - self.low) / 2;
            if self.ask::<W>(middle, most).is_none() {
                ceiling = middle;
            }
            ceiling = ceiling.min(self.high);
        }
        if self.low < self.high && !self.is_ended() {
            self.ask::<W>(self.high - 1, most.saturating_mul(2));
        }
    }

    /// Whether a takt can be met; none where the steps do not tell.
    fn ask<const W: usize>(&mut self, takt: u32, most: u64) -> Option<bool> {
        let asked = Asked {
            line: self.line,
            takt,
            limits: self.limits,
            watch: self.watch,
            most_steps: self.limits.steps.unwrap_or(u64::MAX),
        };
        let mut ends = match self.line.faults(takt).is_empty() {
            true => Ends::<W>::of(self.line, takt).ok(),
            false => None,
        };
        if let Some(ends) = ends.as_mut().filter(|_| self.line.models.is_empty()) {
            ends.price();
        }
        let ends = ends.filter(|ends| ends.bound <= self.stations);
        let answer = match &ends {
            None => Some(false),
            Some(ends) => match ends.decide(&asked, self.stations, most, &mut self.steps) {
                Spell::Found(loads) => {
                    self.best = ends.timetables(&loads);
                    self.high = takt;
                    Some(true)
                }
                Spell::Refuted => Some(false),
                Spell::Open => None,
            },
        };
        if answer == Some(false) {
            self.low = self.low.max(takt.saturating_add(1));
        }
        (self.watch.progress)(Progress {
            least: Least::Takt,
            best: (!self.best.is_empty()).then_some(u64::from(self.high)),
            bound: u64::from(self.low),
        });
        answer
    }
}
