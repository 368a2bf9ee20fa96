//! What a run found: every figure with its replications.

use std::ops::Range;

use serde::Serialize;

use crate::clock::{Ticks, seconds};
use crate::engine::{Finished, LinkTally, PlantTally, UnitTally};
use crate::plan::{NONE, Plan};
use crate::run::Settings;
use crate::statistics::{Histogram, Interval};

/// A figure measured in every replication.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Estimate {
    /// Mean over the replications.
    pub mean: f64,
    /// Half-width of its 95 % interval (Student's t over replications).
    pub half_width_95: f64,
    /// The replications' own figures, in order; for paired differences.
    #[serde(skip)]
    pub each: Vec<f64>,
}

impl Estimate {
    /// Of the replications' figures.
    pub fn of(each: Vec<f64>) -> Self {
        let interval = Interval::of(&each, 0.95);
        Self {
            mean: interval.mean,
            half_width_95: interval.half_width,
            each,
        }
    }

    /// The interval at another level, such as 0.99.
    pub fn interval(&self, level: f64) -> Interval {
        Interval::of(&self.each, level)
    }
}

/// A run's result.
#[derive(Clone, Debug, Serialize)]
pub struct Outcome {
    /// Seed of all streams.
    pub seed: u64,
    /// Replications run.
    pub replications: u32,
    /// Seconds left out at the start.
    pub warm_up_s: f64,
    /// Whether the warm-up was found (true), or its search ended at the limit
    /// (false: run longer); none where it was given.
    pub warm_up_found: Option<bool>,
    /// Seconds measured.
    pub length_s: f64,
    /// Good jobs out an hour of calendar time.
    pub rate_per_h: Estimate,
    /// The same by class of job.
    pub rate_by_class: Vec<Estimate>,
    /// Jobs lost as scrap an hour.
    pub scrapped_per_h: Estimate,
    /// First time right: of the jobs that ended, made or lost, the share that
    /// passed every check on its way at the first try (rolled throughput yield).
    /// A job is followed under its own number: what it was split from counts,
    /// what was joined to it does not, so that a part repaired or lost before it
    /// was built in takes nothing from the job that it became part of.
    pub first_time_right: Estimate,
    /// Seconds from birth (the oldest part's) to leaving the plant.
    pub time_in_plant_s: Times,
    /// Mean of jobs in the plant, parts counted as jobs until they are joined.
    pub jobs_in_plant: Estimate,
    /// Jobs that entered an hour, batches and parts counted singly.
    pub entered_per_h: Estimate,
    /// The stations in their order.
    pub stations: Vec<StationOutcome>,
    /// The links in their order.
    pub links: Vec<LinkOutcome>,
    /// Share of the critical path on the way between stations.
    pub on_the_way: Option<Estimate>,
    /// Means over the replications in each slab of the measured time.
    pub over_time: Vec<Spell>,
    /// Station completions simulated, all replications, warm-up included.
    pub moves: u64,
    /// Stations that wait for each other for ever, if any do.
    pub stuck: Option<Stuck>,
}

/// Distribution of a time over jobs.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Times {
    /// Mean.
    pub mean: Estimate,
    /// One job in ten takes less.
    pub p10: Estimate,
    /// Median.
    pub p50: Estimate,
    /// One job in ten takes more.
    pub p90: Estimate,
    /// All replications together.
    #[serde(skip)]
    pub all: Histogram,
}

/// One station's result. Shares are of its open time and add to 1.
#[derive(Clone, Debug, Serialize)]
pub struct StationOutcome {
    /// Name.
    pub name: String,
    /// Work as cycled, repairs not counted.
    pub working: Estimate,
    /// Free, without a job.
    pub starved: Estimate,
    /// Done, the job cannot leave.
    pub blocked: Estimate,
    /// Stopped within a job, waiting for a crew included.
    pub stopped: Estimate,
    /// Changing over between lots.
    pub changeover: Estimate,
    /// Of starved: for want of a carrier.
    pub carrier_wait: Estimate,
    /// Of stopped: for want of a crew.
    pub crew_wait: Estimate,
    /// Mean of jobs at its units by the calendar, whatever is done to them: closed
    /// hours count, and so do the pieces that still lie in the coil of an opened lot and
    /// those that a merge took as they came and holds until all are there.
    pub held: Estimate,
    /// Jobs done an hour of calendar time.
    pub done_per_h: Estimate,
    /// Share of jobs sent to rework.
    pub reworked: Estimate,
    /// Share of jobs lost.
    pub scrapped: Estimate,
    /// What first time right loses here: jobs that failed here first, over the
    /// jobs that ended in the plant. All stations' add to what is not right, but
    /// for those still on their way at the begin and the end of the run.
    pub failed_first: Estimate,
    /// Mean of jobs that lie before it in its incoming links.
    pub queue_mean: Estimate,
    /// What of the critical path lies here.
    pub path: Option<PathShare>,
}

/// Shares of the critical path: elasticities of the rate to the station's
/// times. All stations' shares and [`Outcome::on_the_way`] add to 1.
#[derive(Clone, Debug, Serialize)]
pub struct PathShare {
    /// In its cycles.
    pub cycle: Estimate,
    /// In its stops.
    pub stopped: Estimate,
    /// In its changeovers.
    pub changeover: Estimate,
}

/// One link's result.
#[derive(Clone, Debug, Serialize)]
pub struct LinkOutcome {
    /// Mean of jobs in it, on their way hand to hand too.
    pub content: Estimate,
    /// Share of time with no place free.
    pub full: Estimate,
    /// Share of time with no job.
    pub empty: Estimate,
}

/// A slab of the measured time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spell {
    /// From, seconds from the start of the run.
    pub from_s: f64,
    /// To.
    pub to_s: f64,
    /// Good jobs out an hour.
    pub rate_per_h: f64,
    /// The same by replication.
    #[serde(skip)]
    pub rate_each: Vec<f64>,
    /// Mean of jobs in the plant.
    pub jobs_in_plant: f64,
    /// The same by replication.
    #[serde(skip)]
    pub jobs_each: Vec<f64>,
}

/// A deadlock.
#[derive(Clone, Debug, Serialize)]
pub struct Stuck {
    /// Positions of the stations that wait for each other.
    pub stations: Vec<usize>,
    /// Replications in which it came to that.
    pub replications: u32,
    /// When the plant stood still for good, seconds, in the first of them.
    pub since_s: f64,
}

/// The slabs measured.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) found: Option<bool>,
}

/// One replication's figures within the window.
pub(crate) struct Sample {
    pub(crate) rate_per_h: f64,
    by_class: Vec<f64>,
    scrapped_per_h: f64,
    first_time_right: f64,
    entered_per_h: f64,
    jobs: f64,
    times: Histogram,
    units: Vec<UnitTally>,
    links: Vec<LinkTally>,
    /// Failed for the first time, by unit, over the jobs that ended.
    failed_first: Vec<f64>,
    /// Cycle, stopped, changeover by station, then on the way.
    path: Vec<[f64; 3]>,
    on_the_way: f64,
    hours: f64,
    length: Ticks,
}

impl Sample {
    pub(crate) fn of(plan: &Plan, finished: &Finished, window: &Window) -> Self {
        let tally = &finished.tally;
        let edges = &tally.slabs.edges;
        let n = tally.slabs.slots();
        let length = edges[window.to] - edges[window.from];
        let hours = seconds(length) / 3_600.0;
        let slabs = window.from..window.to;
        let mut by_class = vec![0.0; plan.class_names.len()];
        let mut times = Histogram::new();
        let (mut scrapped, mut entered) = (0, 0);
        let (mut not_right, mut lost) = (0, 0);
        for slab in &tally.plant[slabs] {
            for (sum, n) in by_class.iter_mut().zip(&slab.by_class) {
                *sum += *n as f64;
            }
            scrapped += slab.scrapped;
            entered += slab.entered;
            not_right += slab.not_right;
            lost += slab.lost;
        }
        let slots = slots(finished, window);
        for slot in &tally.times[slots.clone()] {
            times.merge(slot);
        }
        let made: f64 = by_class.iter().sum();
        let units = (0..plan.unit_count)
            .map(|u| sum_units(&tally.units[u * n + slots.start..u * n + slots.end]))
            .collect();
        let links = (0..plan.links.len())
            .map(|l| sum_links(&tally.links[l * n + slots.start..l * n + slots.end]))
            .collect();
        let (path, on_the_way) = path_shares(plan, finished, window);
        let ended = (made + lost as f64).max(1.0);
        let failed_first = (0..plan.unit_count)
            .map(|u| &tally.failed_first[u * n + slots.start..u * n + slots.end])
            .map(|unit| unit.iter().sum::<u64>() as f64 / ended)
            .collect();
        Self {
            first_time_right: (made - not_right as f64) / ended,
            failed_first,
            rate_per_h: made / hours,
            by_class: by_class.into_iter().map(|n| n / hours).collect(),
            scrapped_per_h: scrapped as f64 / hours,
            entered_per_h: entered as f64 / hours,
            jobs: inside(&tally.plant, edges, window),
            times,
            units,
            links,
            path,
            on_the_way,
            hours,
            length,
        }
    }

    fn time(&self, p: f64) -> f64 {
        self.times.quantile(p).unwrap_or(0.0) / 1e9
    }

    /// The station's units summed.
    fn station(&self, plan: &Plan, s: usize) -> UnitTally {
        let first = plan.pools[s].first_unit as usize;
        sum_units(&self.units[first..first + plan.pools[s].units as usize])
    }
}

/// The slots of the window.
fn slots(finished: &Finished, window: &Window) -> Range<usize> {
    let slabs = &finished.tally.slabs;
    slabs.slot(window.from)..slabs.slot(window.to - 1) + 1
}

/// Mean of jobs in the plant over the window, from counts of what entered and
/// left, not from the jobs' own times.
fn inside(plant: &[PlantTally], edges: &[Ticks], window: &Window) -> f64 {
    let mut there: i64 = 0;
    let mut area: i128 = 0;
    for (slab, tally) in plant.iter().enumerate().take(window.to) {
        if slab >= window.from {
            area += i128::from(there) * i128::from(edges[slab + 1] - edges[slab]) + tally.inside;
        }
        there += i64::try_from(tally.entered).unwrap_or(0) - i64::try_from(tally.left).unwrap_or(0);
    }
    area as f64 / (edges[window.to] - edges[window.from]) as f64
}

fn sum_units(tallies: &[UnitTally]) -> UnitTally {
    tallies.iter().fold(UnitTally::default(), |mut sum, t| {
        sum.working += t.working;
        sum.starved += t.starved;
        sum.blocked += t.blocked;
        sum.stopped += t.stopped;
        sum.changeover += t.changeover;
        sum.beside += t.beside;
        sum.carrier_wait += t.carrier_wait;
        sum.crew_wait += t.crew_wait;
        sum.done += t.done;
        sum.scrapped += t.scrapped;
        sum.reworked += t.reworked;
        sum
    })
}

/// Job-ticks at a station.
fn held(t: &UnitTally) -> f64 {
    (t.working + t.blocked + t.stopped + t.changeover + t.beside) as f64
}

fn sum_links(tallies: &[LinkTally]) -> LinkTally {
    tallies.iter().fold(LinkTally::default(), |mut sum, t| {
        sum.content += t.content;
        sum.full += t.full;
        sum.empty += t.empty;
        sum
    })
}

fn path_shares(plan: &Plan, finished: &Finished, window: &Window) -> (Vec<[f64; 3]>, f64) {
    let block = plan.unit_count + 1;
    if finished.spent.is_empty() {
        return (Vec::new(), 0.0);
    }
    let mut stations = vec![[0.0; 3]; plan.station_count];
    let mut way = 0.0;
    for slot in slots(finished, window) {
        let Some(spent) = finished.spent.get(slot * block..(slot + 1) * block) else {
            break;
        };
        for (s, sums) in stations.iter_mut().enumerate() {
            let first = plan.pools[s].first_unit as usize;
            for unit in &spent[first..first + plan.pools[s].units as usize] {
                sums[0] += unit.cycle as f64;
                sums[1] += unit.stopped as f64;
                sums[2] += unit.changeover as f64;
            }
        }
        way += spent[block - 1].cycle as f64;
        // Waiting for an arrival from outside is time on the way, too.
        for pool in &plan.pools[plan.station_count..] {
            way += spent[pool.first_unit as usize].cycle as f64;
        }
    }
    let total = way + stations.iter().flatten().sum::<f64>();
    if total > 0.0 {
        stations.iter_mut().flatten().for_each(|x| *x /= total);
        way /= total;
    }
    (stations, way)
}

impl Outcome {
    pub(crate) fn of(
        plan: &Plan,
        settings: &Settings,
        finished: &[Finished],
        window: &Window,
    ) -> Self {
        let samples: Vec<Sample> = finished
            .iter()
            .map(|f| Sample::of(plan, f, window))
            .collect();
        let over = |f: &dyn Fn(&Sample) -> f64| Estimate::of(samples.iter().map(f).collect());
        let edges = &finished[0].tally.slabs.edges;
        let mut all = Histogram::new();
        for sample in &samples {
            all.merge(&sample.times);
        }
        let with_path = samples.iter().all(|s| !s.path.is_empty());
        Self {
            seed: settings.seed,
            replications: samples.len() as u32,
            warm_up_s: seconds(edges[window.from]),
            warm_up_found: window.found,
            length_s: seconds(edges[window.to] - edges[window.from]),
            rate_per_h: over(&|s| s.rate_per_h),
            rate_by_class: (0..plan.class_names.len())
                .map(|c| over(&|s| s.by_class[c]))
                .collect(),
            scrapped_per_h: over(&|s| s.scrapped_per_h),
            first_time_right: over(&|s| s.first_time_right),
            time_in_plant_s: Times {
                mean: over(&|s| s.times.mean().unwrap_or(0.0) / 1e9),
                p10: over(&|s| s.time(0.1)),
                p50: over(&|s| s.time(0.5)),
                p90: over(&|s| s.time(0.9)),
                all,
            },
            jobs_in_plant: over(&|s| s.jobs),
            entered_per_h: over(&|s| s.entered_per_h),
            stations: (0..if settings.states {
                plan.station_count
            } else {
                0
            })
                .map(|i| station(plan, i, &samples, with_path))
                .collect(),
            links: (0..if settings.states { plan.link_count } else { 0 })
                .map(|i| link(i, &samples))
                .collect(),
            on_the_way: with_path.then(|| over(&|s| s.on_the_way)),
            over_time: over_time(finished, window),
            moves: if settings.states {
                finished.iter().map(|f| moves(plan, f)).sum()
            } else {
                0
            },
            stuck: stuck(finished),
        }
    }

    /// Position of the station of this name.
    pub fn station(&self, name: &str) -> Option<&StationOutcome> {
        self.stations.iter().find(|s| s.name == name)
    }
}

/// Completions of the plant's own stations in all the time simulated.
fn moves(plan: &Plan, finished: &Finished) -> u64 {
    let pools = &plan.pools[..plan.station_count];
    let units: usize = pools.iter().map(|p| p.units as usize).sum();
    let tally = &finished.tally;
    let own = &tally.units[..units * tally.slabs.slots()];
    own.iter().map(|t| t.done).sum()
}

fn station(plan: &Plan, s: usize, samples: &[Sample], with_path: bool) -> StationOutcome {
    let sums: Vec<(UnitTally, &Sample)> = samples.iter().map(|x| (x.station(plan, s), x)).collect();
    let share = |part: &dyn Fn(&UnitTally) -> i64| {
        Estimate::of(
            sums.iter()
                .map(|(t, _)| {
                    let open = t.working + t.starved + t.blocked + t.stopped + t.changeover;
                    part(t) as f64 / open.max(1) as f64
                })
                .collect(),
        )
    };
    let per_job = |part: &dyn Fn(&UnitTally) -> u64| {
        Estimate::of(
            sums.iter()
                .map(|(t, _)| part(t) as f64 / t.done.max(1) as f64)
                .collect(),
        )
    };
    let path = |k: usize| Estimate::of(samples.iter().map(|x| x.path[s][k]).collect());
    let first = plan.pools[s].first_unit as usize;
    let units = first..first + plan.pools[s].units as usize;
    StationOutcome {
        name: plan.pools[s].name.clone(),
        working: share(&|t| t.working),
        starved: share(&|t| t.starved),
        blocked: share(&|t| t.blocked),
        stopped: share(&|t| t.stopped),
        changeover: share(&|t| t.changeover),
        carrier_wait: share(&|t| t.carrier_wait),
        crew_wait: share(&|t| t.crew_wait),
        held: Estimate::of(
            sums.iter()
                .map(|(t, x)| held(t) / x.length as f64)
                .collect(),
        ),
        done_per_h: Estimate::of(sums.iter().map(|(t, x)| t.done as f64 / x.hours).collect()),
        reworked: per_job(&|t| t.reworked),
        scrapped: per_job(&|t| t.scrapped),
        failed_first: Estimate::of(
            samples
                .iter()
                .map(|x| x.failed_first[units.clone()].iter().sum())
                .collect(),
        ),
        queue_mean: Estimate::of(samples.iter().map(|x| queued(plan, s, x)).collect()),
        path: with_path.then(|| PathShare {
            cycle: path(0),
            stopped: path(1),
            changeover: path(2),
        }),
    }
}

/// Mean of jobs that lie before a station.
fn queued(plan: &Plan, s: usize, sample: &Sample) -> f64 {
    let links = plan.links.iter().zip(&sample.links);
    let before = links.filter(|(link, _)| link.to_pool != NONE && link.to_pool as usize == s);
    before.map(|(_, tally)| tally.content as f64).sum::<f64>() / sample.length as f64
}

fn link(l: usize, samples: &[Sample]) -> LinkOutcome {
    let over = |part: &dyn Fn(&LinkTally) -> f64| {
        Estimate::of(
            samples
                .iter()
                .map(|x| part(&x.links[l]) / x.length as f64)
                .collect(),
        )
    };
    LinkOutcome {
        content: over(&|t| t.content as f64),
        full: over(&|t| t.full as f64),
        empty: over(&|t| t.empty as f64),
    }
}

fn over_time(finished: &[Finished], window: &Window) -> Vec<Spell> {
    let edges = &finished[0].tally.slabs.edges;
    let n = finished.len() as f64;
    (window.from..window.to)
        .map(|slab| {
            let hours = seconds(edges[slab + 1] - edges[slab]) / 3_600.0;
            let rate_each: Vec<f64> = finished
                .iter()
                .map(|f| f.tally.plant[slab].by_class.iter().sum::<u64>() as f64 / hours)
                .collect();
            let one = Window {
                from: slab,
                to: slab + 1,
                found: None,
            };
            let jobs_each: Vec<f64> = finished
                .iter()
                .map(|f| inside(&f.tally.plant, edges, &one))
                .collect();
            Spell {
                from_s: seconds(edges[slab]),
                to_s: seconds(edges[slab + 1]),
                rate_per_h: rate_each.iter().sum::<f64>() / n,
                rate_each,
                jobs_in_plant: jobs_each.iter().sum::<f64>() / n,
                jobs_each,
            }
        })
        .collect()
}

fn stuck(finished: &[Finished]) -> Option<Stuck> {
    let first = finished.iter().find(|f| !f.stuck.is_empty())?;
    Some(Stuck {
        stations: first.stuck.iter().map(|s| *s as usize).collect(),
        replications: u32::try_from(finished.iter().filter(|f| !f.stuck.is_empty()).count())
            .unwrap_or(u32::MAX),
        since_s: seconds(first.stuck_since),
    })
}
