//! One replication told as it goes: every job at every station, every stop.
//!
//! What an observer is told is what a perfect log of the plant would hold, so
//! that whoever reads logs can be tried on one whose truth is known.

use std::sync::atomic::AtomicBool;

use crate::clock::{Shifts, ticks};
use crate::engine::{Engine, Luck, Measures, Path, Sizes, Slabs, Tally};
use crate::plan::Plan;
use crate::run::Halt;

/// What an observer is told.
#[derive(Clone, Copy, Debug)]
pub enum Observed<'a> {
    /// What a unit did with one job.
    Pass(Pass<'a>),
    /// A good job left the plant.
    Out(JobOut),
}

/// What a unit did from the end of one job to the end of the next. Times are
/// nanoseconds from the start of the run; those computed ahead may lie behind
/// its end.
#[derive(Clone, Copy, Debug)]
pub struct Pass<'a> {
    /// Position of the station.
    pub station: usize,
    /// Unit of the station, from 0.
    pub unit: usize,
    /// Class of the job.
    pub class: usize,
    /// The last job had left.
    pub free_ns: i64,
    /// Work began; free without a job before.
    pub begun_ns: i64,
    /// Work ended.
    pub finish_ns: i64,
    /// The job left; blocked before.
    pub left_ns: i64,
    /// Of the work, the changeover it began with, in open time.
    pub changeover_ns: i64,
    /// Stops, in order. One by the clock may lie before the work.
    pub downs: &'a [Down],
    /// What became of the job.
    pub verdict: Verdict,
    /// False for what the end of the run cut off.
    pub ended: bool,
}

/// A stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Down {
    /// Position among the station's causes.
    pub cause: usize,
    /// The unit stood.
    pub down_ns: i64,
    /// Somebody was there to repair it.
    pub mended_from_ns: i64,
    /// It ran again.
    pub up_ns: i64,
}

/// What became of a job at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It went on.
    Ok,
    /// It went to rework.
    Rework,
    /// It was lost.
    Scrap,
}

/// A good job that left the plant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JobOut {
    /// The station it left.
    pub station: usize,
    /// Its class.
    pub class: usize,
    /// When it (or the oldest of its parts) was born.
    pub born_ns: i64,
    /// When it left.
    pub out_ns: i64,
}

/// Runs one replication and tells `each` what happens. For one unit it is told
/// in the order of time; between units it is not, since the engine computes
/// ahead where it can.
///
/// The jobs made are those of [`crate::run()`] with the same seed.
///
/// ```
/// use std::sync::atomic::AtomicBool;
/// use flow::model::*;
/// use flow::{Distribution, Observed, Plan, observe};
///
/// // A press of a minute a piece that spoils nothing, for an hour.
/// let press = Station::new("press", Distribution::Fixed(60.0));
/// let network = Network { stations: vec![press], ..Network::default() };
/// let plan = Plan::compile(&network).map_err(|faults| faults[0].to_string())?;
/// let mut finished_ns = Vec::new();
/// let mut each = |seen: Observed<'_>| {
///     if let Observed::Out(job) = seen {
///         finished_ns.push(job.out_ns);
///     }
/// };
/// let never = AtomicBool::new(false);
/// observe(&plan, 1, 0, 3_600.0, &never, &mut each).map_err(|halt| halt.to_string())?;
/// assert_eq!(finished_ns[..2], [60_000_000_000, 120_000_000_000]);
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
/// [`Halt::Cancelled`] when `cancel` is set, [`Halt::Settings`] when the
/// length is out of range.
pub fn observe(
    plan: &Plan,
    seed: u64,
    replication: u32,
    length_s: f64,
    cancel: &AtomicBool,
    each: &mut dyn FnMut(Observed<'_>),
) -> Result<(), Halt> {
    if !(length_s > 0.0 && length_s <= 3.2e9) {
        return Err(Halt::Settings(format!(
            "a length of {length_s} s, expected above 0 and at most 3.2e9 s"
        )));
    }
    let horizon = ticks(length_s);
    let slabs = Slabs {
        edges: vec![0, horizon],
        warm: 0,
    };
    let calendars = plan.calendars.iter();
    let shifts: Vec<Shifts> = calendars.map(|c| Shifts::lay_out(c, horizon)).collect();
    let sizes = Sizes {
        units: plan.unit_count,
        links: plan.links.len(),
        classes: plan.class_names.len(),
    };
    let measures = Measures {
        banks: false,
        states: true,
    };
    let tally = Tally::new(slabs, sizes, horizon, measures);
    let luck = Luck { seed, replication };
    let engine = Engine::<false>::new(plan, &shifts, luck, tally, Path::default());
    engine
        .observed(each)
        .run(cancel)
        .map(|_| ())
        .ok_or(Halt::Cancelled)
}
