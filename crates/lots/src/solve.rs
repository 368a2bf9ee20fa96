//! Timetables of all lines: the rotation cycle, and the best one found.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::assign::{Assignment, Yardstick, assign, assign_from};
use crate::bound::{self, Independent};
use crate::fit::{Fit, fit};
use crate::model::{Checked, ItemIdx, Job, LineIdx};
use crate::overload::describe;
use crate::programme::{Goal, Lengths, Programme};
use crate::refusal::Refusal;
use crate::replay::{Replay, replay};
use crate::rotation;
use crate::search::{Found, Hunt, hunt};
use crate::timetable::{Timetable, days};
use units::SoFar;

/// How long and with which luck to search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seed of the search.
    pub seed: u64,
    /// Multiply-adds to spend on sequences, all lines together; a core does
    /// about a thousand million in a second. The same work with the same seed
    /// gives the same timetable on every machine and any number of cores.
    pub work: u64,
}

impl Settings {
    /// A search of some seconds on two cores.
    pub const fn thorough(seed: u64) -> Self {
        Self {
            seed,
            work: 8_000_000_000,
        }
    }

    /// A search of some tenths of a second, within a percent or so of the
    /// thorough one.
    pub const fn quick(seed: u64) -> Self {
        Self {
            seed,
            work: 400_000_000,
        }
    }
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress<'a> {
    /// Multiply-adds spent.
    pub done: u64,
    /// Multiply-adds to spend.
    pub of: u64,
    /// The least cost a day of the line in hand so far, with a charge for limits
    /// not kept yet.
    pub line_cost_per_day: f64,
    /// The line in hand.
    pub line: LineIdx,
    /// Its name.
    pub line_name: &'a str,
    /// What it costs a day at the least.
    pub at_least_per_day: f64,
}

impl Progress<'_> {
    /// The best so far of the line in hand, in words; none while it has no
    /// timetable.
    pub fn so_far(&self) -> Option<SoFar> {
        let cost = self.line_cost_per_day;
        let what = format!("cost a day of {}", self.line_name);
        cost.is_finite()
            .then(|| SoFar::new(what, cost, self.at_least_per_day))
    }
}

/// The caller's eye on a search.
pub struct Watch<'a> {
    /// Set to true to end the search early, with the best found so far.
    pub cancel: &'a AtomicBool,
    /// Called now and then, from any thread.
    pub progress: &'a (dyn Fn(Progress<'_>) + Sync),
}

static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'_> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER,
            progress: &|_| {},
        }
    }
}

/// Timetables for all lines, replayed and found to hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// One for each line of the problem, in its order.
    pub timetables: Vec<Timetable>,
    /// What replaying them gave: costs, stocks, covers, shares of time.
    pub replay: Replay,
}

/// The best schedule found, and what none can beat.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// The schedule.
    pub schedule: Schedule,
    /// No timetable that makes each item on one line, or even on several,
    /// costs less than this a day.
    pub lower_bound_per_day: f64,
    /// False when the search was cancelled before its work was done.
    pub complete: bool,
}

impl Solution {
    /// How far the schedule may be from the best there is, as a share of the
    /// bound.
    pub fn gap(&self) -> f64 {
        self.schedule.replay.cost_per_day / self.lower_bound_per_day - 1.0
    }
}

/// A line with its items and the sequence in hand.
#[derive(Clone)]
struct Bench {
    line: usize,
    items: Vec<usize>,
    jobs: Vec<Job>,
    relaxed: Option<Independent>,
    found: Option<Found>,
}

/// The rotation cycle: on each line every item once, over and over, on the
/// cycle that costs least.
///
/// Two items on one line, each used 100 a day and made 400 a day, 50 a
/// changeover and 0.01 a piece and day to keep: the square root of 100 over
/// 1.5 x 0.5 is a cycle of 11.547 days at 17.32 a day.
///
/// ```
/// use lots::model::{Item, Line, LineIdx, Problem, Way};
/// let item = |name: &str| Item {
///     name: name.into(),
///     rate_per_day: 100.0,
///     hold_cost_per_day: 0.01,
///     max_cover_days: None,
///     max_stock: None,
///     ways: vec![Way {
///         line: LineIdx(0), make_per_day: 400.0, changeover_days: 0.02, changeover_cost: 50.0,
///     }],
/// };
/// let problem = Problem {
///     items: vec![item("door"), item("roof")],
///     lines: vec![Line { name: "press".into(), available: 1.0 }],
/// };
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let schedule = lots::common_cycle(&checked, 1).map_err(|refusal| refusal.to_string())?;
/// assert!((schedule.replay.lines[0].cycle_days - 11.547).abs() < 1e-3);
/// assert!((schedule.replay.cost_per_day - 17.3205).abs() < 1e-4);
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// [`Refusal::Overloaded`] or [`Refusal::RotationTooLong`].
pub fn common_cycle(checked: &Checked, seed: u64) -> Result<Schedule, Refusal> {
    let assignment = assign(checked, Yardstick::Rotation, seed, &NEVER);
    let benches = benches(checked, &assignment);
    for bench in &benches {
        if bench.jobs.is_empty() {
            continue;
        }
        if let Err(floor) = rotation::of(&bench.jobs) {
            if let Some(overload) = crate::overload::overload(checked) {
                return Err(Refusal::Overloaded(overload));
            }
            return Err(Refusal::RotationTooLong {
                line: LineIdx(bench.line as u32),
                least_days: floor.least_days,
                most_days: floor.most_days,
                item: ItemIdx(bench.items[floor.tightest] as u32),
            });
        }
    }
    let mut programme = Programme::default();
    let rotations = benches.into_iter().map(|mut bench| {
        bench.found = (!bench.jobs.is_empty()).then(|| Found {
            sequence: (0..bench.jobs.len() as u16).collect(),
            rank: 0.0,
        });
        bench
    });
    finish(checked, &rotations.collect::<Vec<_>>(), &mut programme)
}

/// The best repeating timetable found within the settings' work, with lots of
/// varying length, and a bound on any timetable.
///
/// Never dearer than [`common_cycle`], where that exists. A cancelled search
/// gives the best found so far.
///
/// ```
/// # use lots::model::{Item, Line, LineIdx, Problem, Way};
/// # let item = |rate_per_day: f64| Item {
/// #     name: String::new(), rate_per_day, hold_cost_per_day: 0.02,
/// #     max_cover_days: None, max_stock: None,
/// #     ways: vec![Way { line: LineIdx(0), make_per_day: 1_000.0, changeover_days: 0.1,
/// #         changeover_cost: 50.0 }],
/// # };
/// # let line = Line { name: "press".into(), available: 0.9 };
/// # let problem = Problem { items: vec![item(300.0), item(20.0)], lines: vec![line] };
/// use lots::{Settings, Watch, best, common_cycle};
///
/// // A part used 300 times a day and one used 20 times, on one press.
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let settings = Settings { seed: 1, work: 4_000_000 };
/// let found = best(&checked, &settings, &Watch::none()).map_err(|why| why.to_string())?;
/// let rotation = common_cycle(&checked, 1).map_err(|why| why.to_string())?;
/// let cost = found.schedule.replay.cost_per_day;
/// assert!(cost <= rotation.replay.cost_per_day);
/// assert!(found.lower_bound_per_day <= cost);
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// [`Refusal::Overloaded`] when a line has too little time,
/// [`Refusal::NotFound`] when no sequence found keeps the limits on cover.
pub fn best(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Solution, Refusal> {
    let spread = spread(checked, settings, watch)?;
    let known = vec![None; checked.line_count()];
    let share = if checked.line_count() > 1 { 0.03 } else { 0.0 };
    // More room on a line makes its limits on cover easier to keep: where
    // items can choose, the spreads that leave some are tried as well.
    let mut tried: Vec<(f64, Vec<Bench>)> = Vec::new();
    for assignment in spreads(checked, settings, watch, &spread) {
        let mut benches = benches(checked, &assignment);
        let quick = (settings.work as f64 * share) as u64;
        search((checked, &mut benches), &known, quick, settings.seed, watch);
        tried.push((rank(&benches), benches));
    }
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, mut benches)) = tried.into_iter().next() else {
        return Err(Refusal::Overloaded(describe(checked, &spread, false)));
    };
    let known: Vec<Option<Vec<u16>>> = benches
        .iter()
        .map(|bench| bench.found.as_ref().map(|found| found.sequence.clone()))
        .collect();
    search(
        (checked, &mut benches),
        &known,
        settings.work,
        settings.seed,
        watch,
    );
    let mut programme = Programme::default();
    let mut schedule = finish(checked, &benches, &mut programme);
    if let Ok(rotation) = common_cycle(checked, settings.seed) {
        let dearer = |found: &Schedule| found.replay.cost_per_day > rotation.replay.cost_per_day;
        if schedule.as_ref().map_or(true, dearer) {
            schedule = Ok(rotation);
        }
    }
    let schedule = schedule?;
    Ok(Solution {
        lower_bound_per_day: bound_near(checked, &benches, schedule.replay.cost_per_day),
        schedule,
        complete: !watch.cancel.load(Ordering::Relaxed),
    })
}

/// The best timetables with the items where `schedule` has them, starting from
/// its sequences: never dearer than `schedule` where that still holds. With no
/// work to spend, its sequences with their best lengths.
///
/// # Errors
///
/// As [`best`].
pub fn improve(
    checked: &Checked,
    schedule: &Schedule,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Solution, Refusal> {
    let mut way = vec![0; checked.item_count()];
    for (item, seen) in schedule.replay.items.iter().enumerate() {
        let ways = 0..checked.ways(item).len();
        way[item] = ways
            .into_iter()
            .find(|way| checked.line_of(item, *way) == seen.line.at())
            .unwrap_or(0);
    }
    let spread = Assignment::judged(checked, Yardstick::Independent(1.0), &way);
    if spread.grade.over > 0.0 {
        return Err(Refusal::Overloaded(describe(checked, &spread, false)));
    }
    let mut benches = benches(checked, &spread);
    let known: Vec<Option<Vec<u16>>> = benches
        .iter()
        .map(|bench| Some(sequence_of(&schedule.timetables[bench.line], &bench.items)))
        .collect();
    search(
        (checked, &mut benches),
        &known,
        settings.work,
        settings.seed,
        watch,
    );
    let schedule = finish(checked, &benches, &mut Programme::default())?;
    Ok(Solution {
        lower_bound_per_day: bound_near(checked, &benches, schedule.replay.cost_per_day),
        schedule,
        complete: !watch.cancel.load(Ordering::Relaxed),
    })
}

fn sequence_of(timetable: &Timetable, items: &[usize]) -> Vec<u16> {
    let local = |lot: &crate::timetable::Lot| {
        let at = items.iter().position(|item| *item == lot.item.at());
        at.map(|at| at as u16)
    };
    timetable.lots.iter().filter_map(local).collect()
}

/// A spread of the items over the lines that has time enough everywhere.
fn spread(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Assignment, Refusal> {
    let yardstick = Yardstick::Independent(1.0);
    let found = assign(checked, yardstick, settings.seed, watch.cancel);
    if found.grade.over <= 0.0 {
        return Ok(found);
    }
    match fit(checked) {
        Fit::Found(way) => Ok(assign_from(
            checked,
            yardstick,
            &way,
            settings.seed,
            watch.cancel,
        )),
        Fit::Proven => Err(Refusal::Overloaded(describe(checked, &found, true))),
        Fit::Unknown => Err(Refusal::Overloaded(describe(checked, &found, false))),
    }
}

/// Shares of the lines' time that spreads are asked to keep to.
const ROOMS: [f64; 3] = [0.98, 0.95, 0.9];

fn spreads(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
    first: &Assignment,
) -> Vec<Assignment> {
    let mut all = vec![first.clone()];
    let choice = (0..checked.item_count()).any(|item| checked.ways(item).len() > 1);
    if !choice {
        return all;
    }
    for room in ROOMS {
        let yardstick = Yardstick::Independent(room);
        let found = assign_from(checked, yardstick, &first.way, settings.seed, watch.cancel);
        if found.grade.over <= 0.0 && all.iter().all(|other| other.way != found.way) {
            all.push(found);
        }
    }
    all
}

fn benches(checked: &Checked, assignment: &Assignment) -> Vec<Bench> {
    let bench = |line| {
        let items = assignment.items_on(checked, line);
        let jobs = assignment.jobs(checked, &items);
        Bench {
            line,
            relaxed: bound::independent(&jobs, 1.0),
            items,
            jobs,
            found: None,
        }
    };
    (0..checked.line_count()).map(bench).collect()
}

/// Searches sequences for every line, the work shared out by what a candidate
/// costs there.
fn search(
    (checked, benches): (&Checked, &mut [Bench]),
    known: &[Option<Vec<u16>>],
    work: u64,
    seed: u64,
    watch: &Watch<'_>,
) {
    let weight = |bench: &Bench| {
        let n = bench.items.len() as f64;
        if n < 2.0 { 0.0 } else { n * n }
    };
    let whole: f64 = benches.iter().map(weight).sum();
    let done = Mutex::new(0_u64);
    for bench in benches {
        let Some(relaxed) = bench.relaxed.as_ref().filter(|_| !bench.jobs.is_empty()) else {
            continue;
        };
        let line = LineIdx(bench.line as u32);
        let share = (work as f64 * weight(bench) / whole.max(1.0)) as u64;
        let told = |spent: u64, cost: f64| {
            let mut done = done
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            *done += spent;
            (watch.progress)(Progress {
                done: (*done).min(work),
                of: work,
                line_cost_per_day: cost,
                line,
                line_name: &checked.problem().lines[bench.line].name,
                at_least_per_day: relaxed.cost,
            });
        };
        bench.found = Some(hunt(&Hunt {
            jobs: &bench.jobs,
            relaxed,
            known: known[bench.line].as_deref(),
            seed,
            line: bench.line as u64,
            work: share,
            cancel: watch.cancel,
            told: &told,
        }));
    }
}

fn rank(benches: &[Bench]) -> f64 {
    let busy = benches.iter().filter(|bench| !bench.jobs.is_empty());
    busy.map(|bench| {
        bench
            .found
            .as_ref()
            .map_or(f64::INFINITY, |found| found.rank)
    })
    .sum()
}

/// Best lengths to the last digit, rounded to ticks and replayed.
fn finish(
    checked: &Checked,
    benches: &[Bench],
    programme: &mut Programme,
) -> Result<Schedule, Refusal> {
    let mut timetables = Vec::with_capacity(benches.len());
    for bench in benches {
        let line = LineIdx(bench.line as u32);
        match &bench.found {
            Some(found) => {
                let timetable = lay_down(bench, found, programme);
                timetables
                    .push(timetable.map_err(|over_days| Refusal::NotFound { line, over_days })?);
            }
            None => timetables.push(Timetable::idle(line)),
        }
    }
    let replay = replay(checked, &timetables).map_err(Refusal::Unsound)?;
    Ok(Schedule { timetables, replay })
}

/// Least and growth of the margins tried: from a few ticks to a second or so.
const MARGIN_TICKS: f64 = 8.0;
const MARGIN_GROWS: f64 = 20.0;
const MARGINS: usize = 5;

/// A timetable in ticks, or the days by which its limits are missed.
fn lay_down(bench: &Bench, found: &Found, programme: &mut Programme) -> Result<Timetable, f64> {
    let (jobs, sequence) = (&bench.jobs, &found.sequence);
    let line = LineIdx(bench.line as u32);
    let round = |lengths: &Lengths| Timetable::rounded(line, &bench.items, jobs, sequence, lengths);
    let rotates = sequence.len() == jobs.len();
    if let Some(lengths) = rotation::lengths(jobs, sequence, 0.0).filter(|_| rotates)
        && let Some(timetable) = round(&lengths)
    {
        return Ok(timetable);
    }
    let mut margin = days(1) * MARGIN_TICKS;
    let mut over = f64::INFINITY;
    for _ in 0..MARGINS {
        let goal = Goal {
            gap: 1e-10,
            give_up_above: f64::INFINITY,
            margin,
        };
        let closed = rotation::lengths(jobs, sequence, margin).filter(|_| rotates);
        if let Some(lengths) = closed.or_else(|| programme.solve(jobs, sequence, &goal)) {
            over = over.min(lengths.over);
            if let Some(timetable) = round(&lengths) {
                return Ok(timetable);
            }
        }
        margin *= MARGIN_GROWS;
    }
    Err(over.max(days(1)))
}

/// What no timetable of the problem costs less than, a day; none when its lines
/// have too little time.
pub fn lower_bound(checked: &Checked) -> Option<f64> {
    let yardstick = Yardstick::Independent(1.0);
    let mut spread = Assignment::spread(checked, yardstick);
    if spread.grade.over > 0.0 {
        let Fit::Found(way) = fit(checked) else {
            return None;
        };
        spread = Assignment::judged(checked, yardstick, &way);
    }
    Some(bound_near(
        checked,
        &benches(checked, &spread),
        f64::INFINITY,
    ))
}

fn bound_near(checked: &Checked, benches: &[Bench], cost: f64) -> f64 {
    let relaxed = || benches.iter().filter_map(|bench| bench.relaxed.as_ref());
    let prices: Vec<f64> = benches
        .iter()
        .map(|bench| bench.relaxed.as_ref().map_or(0.0, |relaxed| relaxed.price))
        .collect();
    let near = relaxed().map(|relaxed| relaxed.cost).sum::<f64>();
    bound::of_all(checked, &prices, near.min(cost))
}
