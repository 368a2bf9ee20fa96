//! People or robots on a line with sides, several people a station, models and
//! rules of place.

mod bound;
mod frame;
mod search;
mod weigh;

use super::frontier::must_be_within;
use super::model::Kind;
use super::model::Mode;
use crate::fault::Fault;
use crate::line::{Line, Side};
use crate::watch::{Limits, Watch};
use search::Search;

/// A line whose work kinds can do in modes.
///
/// People of one kind share a station, as many as the line has posts; every other
/// kind has a station to itself and reaches both its sides. A kind of its own
/// does its tasks one after the other and changes tools between them, on the car
/// that has the most of its work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Staffed {
    /// Sides, posts, models, rules and order. Its times are not looked at, but
    /// that a model with 0 for a task does not have it.
    pub line: Line,
    /// For each task the ways to do it, as screened by the caller.
    pub modes: Vec<Vec<Mode>>,
    /// The kinds.
    pub kinds: Vec<Kind>,
    /// The kind that shares stations; none where none does.
    pub people: Option<usize>,
    /// What a station costs a year whoever stands there.
    pub station_per_year: u64,
}

/// Somebody at a station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StaffedPost {
    /// The side; either for a kind that has the station to itself.
    pub side: Side,
    /// The kind.
    pub kind: usize,
    /// Its tools, ascending.
    pub tools: Vec<usize>,
    /// Its work in order: task, mode, start and end in the first measure of the
    /// line; tool changes counted, waiting for other posts too.
    pub work: Vec<(usize, usize, u64, u64)>,
    /// Tool changes in a cycle.
    pub changes: u32,
    /// What it costs a year with its tools.
    pub cost_per_year: u64,
}

/// Who does what where, and how good that is known to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StaffedLine {
    /// By station, those who work there.
    pub stations: Vec<Vec<StaffedPost>>,
    /// For each task the mode taken.
    pub modes: Vec<usize>,
    /// By kind of its own that stands somewhere, its tasks.
    pub alone: Vec<Vec<usize>>,
    /// What all cost a year.
    pub cost_per_year: u64,
    /// On at most so many stations nothing costs less.
    pub bound: u64,
    /// Whether the bound is met.
    pub proven: bool,
}

/// The least yearly cost found of a line within takt, with a bound.
///
/// Who does what is changed task by task and robot by robot; each choice is
/// balanced as a line of its own, by [`crate::line::balance_line`]. The bound
/// prices each task at the cheapest of its modes in a post that is always busy,
/// and counts whole posts.
///
/// # Errors
///
/// Every fault of the line; that no balance was found.
pub fn least_cost_of_line(
    staffed: &Staffed,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<StaffedLine, Vec<Fault>> {
    let points = frontier_of_line(staffed, takt, limits, watch)?;
    let least = points.into_iter().min_by_key(|point| point.cost_per_year);
    least.ok_or_else(|| vec![none_found()])
}

/// The cheapest found for every number of stations, from the fewest on to where
/// more no longer save anything.
///
/// # Errors
///
/// As [`least_cost_of_line`].
pub fn frontier_of_line(
    staffed: &Staffed,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Vec<StaffedLine>, Vec<Fault>> {
    let faults = staffed.faults(takt);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut search = Search::of(staffed, takt, limits, watch);
    search.run();
    let points = search.points();
    if points.is_empty() {
        return Err(search.faults().unwrap_or_else(|| vec![none_found()]));
    }
    Ok(points)
}

/// The least takt for which a crew within a yearly budget was found, a takt below
/// which none can be, and the crew.
///
/// # Errors
///
/// As [`least_cost_of_line`]; and that the budget buys no crew at any takt.
pub fn least_takt_of_line_within(
    staffed: &Staffed,
    budget: u64,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<(u32, u32, StaffedLine), Vec<Fault>> {
    let (mut low, mut high) = staffed.takts();
    let whole = least_cost_of_line(staffed, high, limits, watch)?;
    must_be_within(budget, whole.cost_per_year, whole.bound)?;
    let mut best = whole;
    let mut floor = low;
    while floor < high && !watch.cancelled() {
        let middle = floor + (high - floor) / 2;
        match least_cost_of_line(staffed, middle, limits, watch) {
            Ok(found) if found.cost_per_year <= budget => (high, best) = (middle, found),
            Ok(found) => {
                floor = middle + 1;
                if found.bound > budget {
                    low = low.max(middle + 1);
                }
            }
            Err(_) => floor = middle + 1,
        }
    }
    Ok((high, low.min(high), best))
}

fn none_found() -> Fault {
    Fault::NoAssignment {
        shown: "no way to man the line was found before the search was ended; this does not say \
                that there is none"
            .into(),
    }
}

impl Staffed {
    /// Everything that stands against it at a takt.
    pub fn faults(&self, takt: u32) -> Vec<Fault> {
        let shop = super::Shop {
            after: self.line.work.after.clone(),
            modes: self.modes.clone(),
            kinds: self.kinds.clone(),
            station_per_year: self.station_per_year,
        };
        let mut faults = shop.faults(takt);
        if faults.is_empty() {
            // The rules of place, with the shortest time for each task.
            let shortest = self.modes.iter().map(|modes| {
                let ticks = modes.iter().map(|mode| mode.ticks);
                ticks.min().unwrap_or(0)
            });
            let mut line = self.line.clone();
            line.work.ticks = shortest.collect();
            for model in &mut line.models {
                for (ticks, shortest) in model.ticks.iter_mut().zip(&line.work.ticks) {
                    *ticks = if *ticks > 0 { *shortest } else { 0 };
                }
            }
            let robots = |task: &usize| {
                self.modes[*task]
                    .iter()
                    .any(|m| Some(m.kind) != self.people)
            };
            let of_people = |fault: &Fault| match fault {
                // A robot reaches both sides and is not bound to one post's time.
                Fault::TogetherTooLong { tasks, .. } => !tasks.iter().any(robots),
                _ => true,
            };
            faults.extend(line.faults(takt).into_iter().filter(of_people));
        }
        faults
    }

    /// A takt below which some task fits none, and one that all the work fits.
    fn takts(&self) -> (u32, u32) {
        let (mut low, mut high) = (1_u32, 1_u32);
        for modes in &self.modes {
            let ticks = modes.iter().map(|mode| mode.ticks);
            let change = modes.iter().map(|mode| self.kinds[mode.kind].tool_change);
            let longest = ticks.clone().max().unwrap_or(0) + change.max().unwrap_or(0);
            high = high.saturating_add(longest).min(u32::MAX / 8);
            low = low.max(ticks.min().unwrap_or(0));
        }
        if !self.line.models.is_empty() {
            // A model may exceed takt by its overload.
            let most = u64::from(1_000 + self.line.overload_per_mille);
            low = (u64::from(low) * 1_000 / most).max(1) as u32;
        }
        (low, high.max(low))
    }
}
