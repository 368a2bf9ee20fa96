//! Replications: how many, how long, on all cores, with the same answer on any
//! number of them.

use std::ops::Range;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use rayon::prelude::*;

use crate::clock::{Shifts, Ticks, seconds, ticks};
use crate::engine::{
    Engine, Finished, LANES, LONGEST, Lanes, Line, Luck, Measures, Path, Sizes, Slabs, Tally,
};
use crate::outcome::{Outcome, Sample, Window};
use crate::plan::{NONE, Outlets, Plan};
use crate::statistics::{Histogram, Interval, mser5};

/// How to run a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Seed of all streams.
    pub seed: u64,
    /// Independent runs; at least 2 for an interval.
    pub replications: u32,
    /// What is left out at the start.
    pub warm_up: WarmUp,
    /// Seconds measured after the warm-up.
    pub length_s: f64,
    /// Slabs that the measured time is cut into for series over time.
    pub slabs: u32,
    /// Go on with further replications until this is reached.
    pub precise: Option<Precise>,
    /// Keep the critical path and give elasticities.
    pub elasticities: bool,
    /// Measure how often links are full and empty.
    pub banks: bool,
    /// Measure what stations do and what links hold. Without it the outcome has
    /// neither stations nor links nor moves; its rates and times stay the same.
    pub states: bool,
}

/// What is left out at the start of every replication.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WarmUp {
    /// So many seconds.
    Fixed(f64),
    /// What MSER-5 finds on the pooled series of jobs out, at most so many
    /// seconds, in steps of `step_s`.
    Found {
        /// The most that is tried.
        at_most_s: f64,
        /// The cut is rounded up to a multiple of this.
        step_s: f64,
    },
}

/// When further replications end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Precise {
    /// Half-width of the 95 % interval on the rate, as a share of the rate.
    pub relative_half_width: f64,
    /// Replications at most.
    pub at_most: u32,
}

/// How far a run is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Replications done.
    pub done: u32,
    /// Replications that are to be done, as far as is known.
    pub of: u32,
}

/// The caller's eye on a long run.
pub struct Watch<'a> {
    /// Set to true to end the run early.
    pub cancel: &'a AtomicBool,
    /// Called after every replication, from any thread.
    pub progress: &'a (dyn Fn(Progress) + Sync),
}

/// Why a run gave no outcome.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Halt {
    /// The caller cancelled it.
    Cancelled,
    /// The settings make no run: what is wrong and what was expected.
    Settings(String),
}

impl std::fmt::Display for Halt {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Cancelled => f.write_str("cancelled before the end"),
            Self::Settings(what) => f.write_str(what),
        }
    }
}

impl std::error::Error for Halt {}

/// Runs the plan.
///
/// Two stations of 60 s exponential work with no place between them make 2/3
/// of a job a minute (exact: Hunt 1956).
///
/// ```
/// use flow::model::*;
/// use flow::{Distribution, Plan, Settings, WarmUp};
/// let station = |name: &str| Station::new(name, Distribution::Exponential(60.0));
/// let network = Network {
///     stations: vec![station("press"), station("trim")],
///     links: vec![Link::new(StationIdx(0), StationIdx(1), Some(0))],
///     ..Network::default()
/// };
/// let plan = Plan::compile(&network).expect("a sound network");
/// let settings = Settings { length_s: 2e6, ..Settings::new(1, 20) };
/// let outcome = flow::run(&plan, &settings, &flow::Watch::none()).expect("it runs");
/// assert!(outcome.rate_per_h.interval(0.99).holds(40.0));
/// ```
///
/// # Errors
/// [`Halt::Cancelled`] when the watch's flag is set, [`Halt::Settings`] when
/// the settings are out of range.
pub fn run(plan: &Plan, settings: &Settings, watch: &Watch<'_>) -> Result<Outcome, Halt> {
    check(settings)?;
    let slabs = slabs(settings);
    let horizon = slabs.horizon();
    let shifts: Vec<Shifts> = plan
        .calendars
        .iter()
        .map(|c| Shifts::lay_out(c, horizon))
        .collect();
    let exit = exit_calendar(plan).map(|c| &shifts[c as usize]);
    let open_until = |t: Ticks| exit.map_or(t, |s| s.open_time(0, t));
    // About a thousand bins: enough for batches of five, coarse enough that a
    // bin holds several jobs in most plants.
    let series_step = (open_until(horizon) / 1_000).max(1);
    let job = Job {
        plan,
        settings,
        shifts: &shifts,
        slabs: &slabs,
        series_step,
        paths: Mutex::default(),
        watch,
    };
    let mut finished = job.replications(0..settings.replications)?;
    let mut window = job.window(&finished, &open_until);
    if let Some(precise) = settings.precise {
        let mut done = settings.replications;
        while done < precise.at_most {
            let rates: Vec<f64> = finished
                .iter()
                .map(|f| Sample::of(plan, f, &window).rate_per_h)
                .collect();
            if Interval::of(&rates, 0.95).relative() <= precise.relative_half_width {
                break;
            }
            let next = done.saturating_mul(2).min(precise.at_most);
            finished.extend(job.replications(done..next)?);
            done = next;
            window = job.window(&finished, &open_until);
        }
    }
    Ok(Outcome::of(plan, settings, &finished, &window))
}

struct Job<'a> {
    plan: &'a Plan,
    settings: &'a Settings,
    shifts: &'a [Shifts],
    slabs: &'a Slabs,
    series_step: Ticks,
    /// Logs of the critical path that no replication is using.
    paths: Mutex<Vec<Path>>,
    watch: &'a Watch<'a>,
}

impl Job<'_> {
    fn replications(&self, which: Range<u32>) -> Result<Vec<Finished>, Halt> {
        let done = AtomicU32::new(which.start);
        let of = which.end;
        let tell = || {
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            (self.watch.progress)(Progress { done, of });
        };
        let line = self.line();
        let groups: Vec<Range<u32>> = which
            .clone()
            .step_by(if line.is_some() { LANES } else { 1 })
            .map(|from| from..(from + LANES as u32).min(of))
            .collect();
        let all: Vec<Option<Vec<Finished>>> = groups
            .into_par_iter()
            .map(|group| match &line {
                Some(line) if group.len() > 1 => {
                    let finished = self.side_by_side(line, group)?;
                    finished.iter().for_each(|_| tell());
                    Some(finished)
                }
                _ => {
                    let finished = self.one(group.start)?;
                    tell();
                    Some(vec![finished])
                }
            })
            .collect();
        let all: Option<Vec<Vec<Finished>>> = all.into_iter().collect();
        Ok(all.ok_or(Halt::Cancelled)?.into_iter().flatten().collect())
    }

    /// The plan as a line whose replications can go side by side, if it is one
    /// and nothing is asked that only the general way measures.
    fn line(&self) -> Option<Line> {
        let settings = self.settings;
        let plain = !settings.elasticities && !settings.banks;
        (plain && self.slabs.horizon() <= LONGEST)
            .then(|| Line::of(self.plan))
            .flatten()
    }

    /// Some replications of a line; lanes left over repeat the last.
    fn side_by_side(&self, line: &Line, which: Range<u32>) -> Option<Vec<Finished>> {
        if self.watch.cancel.load(Ordering::Relaxed) {
            return None;
        }
        let last = which.end - 1;
        let luck = std::array::from_fn(|lane| Luck {
            seed: self.settings.seed,
            replication: (which.start + lane as u32).min(last),
        });
        let tallies = luck.iter().map(|_| self.tally()).collect();
        let lanes = Lanes::new(self.plan, line, luck, tallies);
        let mut finished = lanes.run(self.watch.cancel)?;
        finished.truncate(which.len());
        Some(finished)
    }

    fn one(&self, replication: u32) -> Option<Finished> {
        if self.watch.cancel.load(Ordering::Relaxed) {
            return None;
        }
        let luck = Luck {
            seed: self.settings.seed,
            replication,
        };
        let tally = self.tally();
        let (plan, shifts) = (self.plan, self.shifts);
        if !self.settings.elasticities {
            let path = Path::default();
            return Engine::<false>::new(plan, shifts, luck, tally, path).run(self.watch.cancel);
        }
        // Memory that one replication has touched serves the next.
        let path = self.paths.lock().ok().and_then(|mut paths| paths.pop());
        let path = path.unwrap_or_default();
        let mut finished =
            Engine::<true>::new(plan, shifts, luck, tally, path).run(self.watch.cancel)?;
        if let Ok(mut paths) = self.paths.lock() {
            paths.push(std::mem::take(&mut finished.path).cleared());
        }
        Some(finished)
    }

    fn tally(&self) -> Tally {
        let sizes = Sizes {
            units: self.plan.unit_count,
            links: self.plan.links.len(),
            classes: self.plan.class_names.len(),
        };
        let measures = Measures {
            banks: self.settings.banks,
            states: self.settings.states,
        };
        Tally::new(self.slabs.clone(), sizes, self.series_step, measures)
    }

    /// Which slabs are measured.
    fn window(&self, finished: &[Finished], open_until: &dyn Fn(Ticks) -> Ticks) -> Window {
        let edges = &self.slabs.edges;
        let WarmUp::Found { .. } = self.settings.warm_up else {
            return Window {
                from: usize::from(edges.len() > 2 && self.warm_slabs() > 0),
                to: edges.len() - 1,
                found: None,
            };
        };
        let (mut series, most) = (pooled(finished), self.warm_slabs());
        // In a long run the least error may lie anywhere by chance; what fills
        // a plant shows in the time around the warm-up looked for.
        let seen = open_until(edges[(6 * most).min(edges.len() - 1)]) / self.series_step;
        series.truncate(usize::try_from(seen).unwrap_or(usize::MAX));
        let cut = mser5(&series);
        let (bins, at_limit) = cut.map_or((0, false), |c| (c.at, c.at_limit));
        let wanted = Ticks::try_from(bins).unwrap_or(0) * self.series_step;
        let filled = oldest(finished);
        let first = (0..=most).find(|i| open_until(edges[*i]) >= wanted && edges[*i] >= filled);
        let from = first.unwrap_or(most);
        let measured = edges.len() - 1 - most;
        Window {
            from,
            to: from + measured,
            found: Some(!at_limit && first.is_some()),
        }
    }

    /// Slabs that may be warm-up.
    fn warm_slabs(&self) -> usize {
        self.slabs.warm
    }
}

/// Time in plant that one job in twenty exceeds. The rate may settle sooner, but
/// jobs that leave before it were born into an empty plant and look young.
fn oldest(finished: &[Finished]) -> Ticks {
    let mut all = Histogram::new();
    for times in finished.iter().flat_map(|f| &f.tally.times) {
        all.merge(times);
    }
    all.quantile(0.95).map_or(0, |age| age as Ticks)
}

/// Mean over replications of the series of jobs out, as far as all have it.
fn pooled(finished: &[Finished]) -> Vec<f64> {
    let len = finished
        .iter()
        .map(|f| f.tally.series.len())
        .min()
        .unwrap_or(0);
    (0..len)
        .map(|i| {
            finished
                .iter()
                .map(|f| f64::from(f.tally.series[i]))
                .sum::<f64>()
                / finished.len() as f64
        })
        .collect()
}

/// The calendar of the first station from which jobs leave the plant.
fn exit_calendar(plan: &Plan) -> Option<u32> {
    plan.pools
        .iter()
        .find(|p| matches!(p.outlets, Outlets::Leave))
        .map(|p| p.calendar)
        .filter(|c| *c != NONE)
}

fn slabs(settings: &Settings) -> Slabs {
    let mut edges = vec![0];
    match settings.warm_up {
        WarmUp::Fixed(s) => {
            if s > 0.0 {
                edges.push(ticks(s));
            }
        }
        WarmUp::Found { at_most_s, step_s } => {
            let steps = (at_most_s / step_s).ceil() as u32;
            edges.extend((1..=steps).map(|i| ticks(step_s * f64::from(i))));
        }
    }
    let warm = edges.len() - 1;
    let start = seconds(edges[warm]);
    let n = settings.slabs.max(1);
    edges.extend((1..=n).map(|i| ticks(start + settings.length_s * f64::from(i) / f64::from(n))));
    Slabs { edges, warm }
}

fn check(settings: &Settings) -> Result<(), Halt> {
    let wrong = |what: String| Err(Halt::Settings(what));
    if settings.replications == 0 || settings.replications > 100_000 {
        return wrong(format!(
            "{} replications, expected 1 to 100000",
            settings.replications
        ));
    }
    if !(settings.length_s > 0.0 && settings.length_s <= 3.2e9) {
        return wrong(format!(
            "a length of {} s, expected above 0 and at most 3.2e9 s",
            settings.length_s
        ));
    }
    if settings.slabs > 10_000 {
        return wrong(format!("{} slabs, expected at most 10000", settings.slabs));
    }
    match settings.warm_up {
        WarmUp::Fixed(s) if !(0.0..3.2e9).contains(&s) => {
            wrong(format!("a warm-up of {s} s, expected 0 to 3.2e9 s"))
        }
        WarmUp::Found { at_most_s, step_s }
            if !(at_most_s > 0.0
                && step_s > 0.0
                && at_most_s < 3.2e9
                && at_most_s / step_s <= 10_000.0) =>
        {
            wrong(format!(
                "a warm-up of at most {at_most_s} s in steps of {step_s} s, expected 1 to 10000 steps"
            ))
        }
        WarmUp::Found { step_s, .. }
            if (settings.length_s / f64::from(settings.slabs.max(1)) / step_s - 1.0).abs()
                > 1e-9 =>
        {
            wrong(format!(
                "slabs of {} s and warm-up steps of {step_s} s, expected the same length",
                settings.length_s / f64::from(settings.slabs.max(1))
            ))
        }
        _ => Ok(()),
    }
}

impl Settings {
    /// A run without warm-up of 30 days with the usual measures.
    pub fn new(seed: u64, replications: u32) -> Self {
        Self {
            seed,
            replications,
            warm_up: WarmUp::Fixed(0.0),
            length_s: 30.0 * 86_400.0,
            slabs: 1,
            precise: None,
            elasticities: false,
            banks: true,
            states: true,
        }
    }
}

static NEVER_CANCELLED: AtomicBool = AtomicBool::new(false);

impl Watch<'static> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER_CANCELLED,
            progress: &|_| {},
        }
    }
}
