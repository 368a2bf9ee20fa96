//! Load of every station: jobs, mean cycle, availability, and what it could
//! make alone.

use std::collections::BTreeMap;

use book::{Basis as StopBasis, Cycle, Station, Stop};
use formulas::{Origin, Sourced, load as trade, rate_plan};
use units::{Count, Hours, Minutes, PerWeek, Seconds, Share};

use super::kinds::{self, Kind};
use super::sheet::{Made, Sheet, cell};
use super::{Basis, HeavyRun, Planned, StationPlan};
use crate::work::Worked;

/// Rows of `cycles` and `stops` by station, sought once.
struct Rows<'a> {
    cycles: BTreeMap<&'a str, Vec<&'a Cycle>>,
    stops: BTreeMap<&'a str, Vec<&'a Stop>>,
}

/// The stations' plans, in the book's order; a refused one is left out and its
/// problem kept by the sheet.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) -> Vec<StationPlan> {
    let mut rows = Rows {
        cycles: BTreeMap::new(),
        stops: BTreeMap::new(),
    };
    for row in &basis.book.cycles {
        rows.cycles.entry(&row.station).or_default().push(row);
    }
    for row in &basis.book.stops {
        rows.stops.entry(&row.station).or_default().push(row);
    }
    (0..basis.book.stations.len())
        .filter_map(|station| one(sheet, basis, &rows, station))
        .collect()
}

fn one(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    rows: &Rows<'_>,
    station: usize,
) -> Option<StationPlan> {
    let row = &basis.book.stations[station];
    let name = row.station.as_str();
    let at = Some(row.at);
    let jobs = jobs(sheet, basis, station)?;
    work(sheet, basis, row)?;
    let exceptions = rows.cycles.get(name).map_or(&[][..], Vec::as_slice);
    let kinds = kinds(basis, row, exceptions, station);
    let cycle = mean_cycle(sheet, basis.worked, row, &kinds)?;
    let stops = rows.stops.get(name).map_or(&[][..], Vec::as_slice);
    let availability = availability(sheet, row, stops)?;
    let units = cell(Count(f64::from(row.units)), row.at, "units");
    let net = basis.shops.get(&row.shop)?.net.clone().map(Hours::seconds);
    let effective = sheet.add(
        format!("station.{name}.effective_cycle"),
        format!("effective cycle of {name}"),
        at,
        rate_plan::effective_cycle_of_units(&cycle, &units, &availability),
    )?;
    let load = sheet.add(
        format!("station.{name}.load"),
        format!("load of {name}"),
        at,
        trade::station_load(jobs.part(|j| *j), &cycle, &net, &units, &availability),
    )?;
    let reach = reach(sheet, row, &jobs, (&net, &units, &availability));
    let heavy = reach
        .as_ref()
        .and_then(|reach| heavy(sheet, row, &kinds, reach));
    Some(StationPlan {
        station: row.station.clone(),
        shop: row.shop.clone(),
        line: row.line.clone(),
        at: row.at,
        units: row.units,
        jobs: jobs.planned(|jobs| jobs.0),
        cycle_s: planned(&cycle, |cycle| cycle.0),
        availability: planned(&availability, |availability| availability.0),
        effective_cycle_s: effective.planned(|cycle| cycle.0),
        units_needed: load.planned(|load| load.units_needed.0),
        overtime_h: load.planned(|load| load.overtime.hours().0),
        cycle_to_reach_s: reach.map(|reach| reach.planned(|cycle| cycle.0)),
        alone: alone(
            sheet,
            basis,
            &format!("station.{name}"),
            load.part(|load| load.load),
        ),
        over: formulas::over(load.value.load.0),
        load: load.planned(|load| load.load.0),
        heavy,
    })
}

/// The longest mean cycle that holds the plan; none without jobs.
fn reach(
    sheet: &mut Sheet,
    row: &Station,
    jobs: &Made<Count>,
    (net, units, availability): (&Sourced<Seconds>, &Sourced<Count>, &Sourced<Share>),
) -> Option<Made<Seconds>> {
    if jobs.value.0 <= 0.0 {
        return None;
    }
    sheet.add(
        format!("station.{}.cycle_to_reach", row.station),
        format!("longest mean cycle of {} that holds the plan", row.station),
        Some(row.at),
        rate_plan::cycle_to_reach(jobs.part(|jobs| *jobs), net, units, availability),
    )
}

/// A formula's input as a value of the plan.
pub(super) fn planned<T: Copy>(sourced: &Sourced<T>, pick: impl Fn(T) -> f64) -> Planned {
    Planned {
        value: pick(sourced.value),
        from: sourced.from.clone(),
    }
}

/// The cars a week that something allows alone, from its load.
pub(super) fn alone(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    id: &str,
    load: Sourced<Share>,
) -> Option<Planned> {
    if load.value.0 <= 0.0 {
        return None;
    }
    let products = 0..basis.book.products.len();
    let cars: Vec<_> = products.map(|p| kinds::cars_cell(basis.book, p)).collect();
    let cars: Sourced<Vec<f64>> = cars.into();
    let cars = cars.map(|cars| PerWeek(cars.iter().sum()));
    let made = sheet.add(
        format!("{id}.rate"),
        "cars a week that it allows alone",
        None,
        rate_plan::rate_alone(cars, load),
    )?;
    Some(made.planned(|rate| rate.0))
}

fn jobs(sheet: &mut Sheet, basis: &Basis<'_>, station: usize) -> Option<Made<Count>> {
    let row = &basis.book.stations[station];
    let products = || 0..basis.need.products.len();
    let cars = products().map(|p| kinds::cars_cell(basis.book, p).map(PerWeek));
    let visits = products().map(|p| {
        let jobs = basis.need.products[p].per_car.visits[station];
        Sourced::figure(Count(jobs), "cascade")
    });
    sheet.add(
        format!("station.{}.jobs", row.station),
        format!("jobs a week at {}", row.station),
        Some(row.at),
        rate_plan::jobs_needed(cars.collect::<Vec<_>>(), visits.collect::<Vec<_>>()),
    )
}

fn kinds<'a>(
    basis: &Basis<'a>,
    row: &'a Station,
    exceptions: &[&'a Cycle],
    station: usize,
) -> Vec<Kind<'a>> {
    let book = basis.book;
    let mut found = Vec::new();
    for (product, need) in book.products.iter().zip(&basis.need.products) {
        let jobs = need.cars * need.per_car.visits[station];
        if jobs > 0.0 {
            found.extend(kinds::of(
                (book, basis.worked),
                row,
                exceptions,
                &product.product,
                jobs,
            ));
        }
    }
    found
}

/// The figure of the work that makes a station's cycle, where tasks do.
fn work(sheet: &mut Sheet, basis: &Basis<'_>, row: &Station) -> Option<()> {
    if let Some(made) = basis.worked.made(&row.station) {
        sheet.add(
            kinds::work_figure(row),
            format!("work at {}: {}", row.station, made.tasks.join(", ")),
            Some(row.at),
            rate_plan::cycle_of_work(made.posts.clone(), made.waits),
        )?;
    }
    Some(())
}

/// The mean over the kinds of job; a station's own cycle where all take it.
fn mean_cycle(
    sheet: &mut Sheet,
    worked: &Worked<'_>,
    row: &Station,
    kinds: &[Kind<'_>],
) -> Option<Sourced<Seconds>> {
    let own = kinds::own(worked, row);
    if kinds.iter().all(|kind| kind.cycle == own) {
        return Some(own);
    }
    let id = format!("station.{}.jobs", row.station);
    let jobs = kinds
        .iter()
        .map(|kind| Sourced::figure(Count(kind.jobs), id.clone()));
    let cycles = kinds.iter().map(|kind| kind.cycle.clone());
    let made = sheet.add(
        format!("station.{}.cycle", row.station),
        format!("mean cycle of {}", row.station),
        Some(row.at),
        rate_plan::mean_cycle(jobs.collect::<Vec<_>>(), cycles.collect::<Vec<_>>()),
    )?;
    Some(made.part(|cycle| *cycle))
}

/// A station's stops of one basis: between and repair, cause by cause.
#[derive(Default)]
struct Causes {
    between: Vec<Sourced<Minutes>>,
    repair: Vec<Sourced<Minutes>>,
}

impl Causes {
    fn push(&mut self, at: book::At, between: Minutes, repair: Minutes) {
        self.between.push(cell(between, at, "mtbf_min"));
        self.repair.push(cell(repair, at, "mttr_min"));
    }
}

fn availability(sheet: &mut Sheet, row: &Station, stops: &[&Stop]) -> Option<Sourced<Share>> {
    let (mut running, mut clock) = (Causes::default(), Causes::default());
    let own = row
        .mtbf_min
        .zip(row.mttr_min)
        .map(|(up, down)| (row.at, row.stop_basis, up, down));
    let more = stops
        .iter()
        .map(|stop| (stop.at, stop.basis, stop.mtbf_min, stop.mttr_min));
    for (at, basis, up, down) in own.into_iter().chain(more) {
        match basis {
            StopBasis::Running => running.push(at, up, down),
            StopBasis::Clock => clock.push(at, up, down),
        }
    }
    let id = format!("station.{}.availability", row.station);
    let title = format!("availability of {}", row.station);
    let (runs, clocks) = (!running.between.is_empty(), !clock.between.is_empty());
    let name = |part: &str| {
        if runs && clocks {
            format!("{id}.{part}")
        } else {
            id.clone()
        }
    };
    let at = Some(row.at);
    let mut of_running = None;
    if runs {
        let made = rate_plan::running_availability(running.between, running.repair);
        of_running = Some(sheet.add(name("running"), &title, at, made)?);
    }
    let mut of_clock = None;
    if clocks {
        let made = rate_plan::clock_availability(clock.between, clock.repair);
        of_clock = Some(sheet.add(name("clock"), &title, at, made)?);
    }
    match (of_running, of_clock) {
        (Some(running), Some(clock)) => {
            let made = rate_plan::joint_availability(running.part(|a| *a), clock.part(|a| *a));
            Some(sheet.add(id, title, at, made)?.part(|a| *a))
        }
        (Some(one), None) | (None, Some(one)) => Some(one.part(|a| *a)),
        (None, None) => Some(Sourced::usual(Share(1.0), "stations", "mtbf_min")),
    }
}

/// A group of kinds whose runs are limited alike.
struct Group {
    cars: String,
    jobs: f64,
    cycle: Sourced<Seconds>,
    /// The most in a row, where a spacing rule says so.
    most: Option<Sourced<f64>>,
}

/// The worst run of cars that take longer than the station has for each.
fn heavy(
    sheet: &mut Sheet,
    row: &Station,
    kinds: &[Kind<'_>],
    reach: &Made<Seconds>,
) -> Option<HeavyRun> {
    let pace = reach.value.0;
    let all: f64 = kinds.iter().map(|kind| kind.jobs).sum();
    let heavies: Vec<&Kind<'_>> = kinds
        .iter()
        .filter(|kind| kind.cycle.value.0 > pace)
        .collect();
    let light: f64 = all - heavies.iter().map(|kind| kind.jobs).sum::<f64>();
    if heavies.is_empty() || light <= all * 1e-9 {
        // Every car overruns: that is a load above 1, not a run.
        return None;
    }
    let mut worst: Option<(f64, Group, Sourced<Count>)> = None;
    for group in groups(&heavies) {
        let run = match &group.most {
            Some(most) => most.clone().map(Count),
            None => by_chance(sheet, row, &group, all)?,
        };
        // Units side by side share a run.
        let run = run.map(|run| Count((run.0 / f64::from(row.units.max(1))).ceil()));
        let behind = run.value.0 * (group.cycle.value.0 - pace);
        if worst.as_ref().is_none_or(|(before, ..)| behind > *before) {
            worst = Some((behind, group, run));
        }
    }
    let (_, group, run) = worst?;
    if run.value.0 < 1.0 {
        return None;
    }
    let overrun = sheet.add(
        format!("station.{}.overrun", row.station),
        format!(
            "work behind after the worst run of heavy cars at {}",
            row.station
        ),
        Some(row.at),
        trade::worst_run(&group.cycle, reach.part(|cycle| *cycle), &run),
    )?;
    let recovery = recovery(sheet, row, kinds, &overrun, reach);
    Some(HeavyRun {
        cars: group.cars,
        by_rule: group.most.is_some(),
        share: group.jobs / all,
        cycle_s: group.cycle.value.0,
        run: planned(&run, |run| run.0),
        overrun_s: overrun.planned(|overrun| overrun.0),
        recovery,
    })
}

/// Heavy kinds with a spacing rule each for its option; the rest together,
/// since chance mixes them, with their mean cycle.
fn groups(heavies: &[&Kind<'_>]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let (ruled, free): (Vec<&Kind<'_>>, Vec<&Kind<'_>>) = heavies
        .iter()
        .copied()
        .partition(|kind| kind.option.and_then(kinds::rule).is_some());
    for kind in ruled {
        let Some(option) = kind.option else { continue };
        let same = |group: &&mut Group| group.cars == option.option;
        match groups.iter_mut().find(same) {
            Some(group) => {
                group.jobs += kind.jobs;
                if kind.cycle.value > group.cycle.value {
                    group.cycle = kind.cycle.clone();
                }
            }
            None => groups.push(Group {
                cars: option.option.clone(),
                jobs: kind.jobs,
                cycle: kind.cycle.clone(),
                most: kinds::rule(option),
            }),
        }
    }
    let jobs: f64 = free.iter().map(|kind| kind.jobs).sum();
    if jobs > 0.0 {
        let work: f64 = free.iter().map(|kind| kind.jobs * kind.cycle.value.0).sum();
        let mut names: Vec<&str> = Vec::new();
        for kind in &free {
            let name = kind
                .option
                .map_or(kind.product, |option| option.option.as_str());
            if !names.contains(&name) {
                names.push(name);
            }
        }
        groups.push(Group {
            cars: names.join(", "),
            jobs,
            cycle: Sourced::new(Seconds(work / jobs), kinds::origins(&free)),
            most: None,
        });
    }
    groups
}

fn by_chance(sheet: &mut Sheet, row: &Station, group: &Group, all: f64) -> Option<Sourced<Count>> {
    let jobs = format!("station.{}.jobs", row.station);
    let made = rate_plan::longest_run(
        Sourced::figure(Count(all), jobs.clone()),
        Sourced::new(Share(group.jobs / all), Origin::Figure(jobs)),
        Share(HeavyRun::QUANTILE),
    );
    let made = sheet.add(
        format!("station.{}.run", row.station),
        format!("longest run of heavy cars at {} in a week", row.station),
        Some(row.at),
        made,
    )?;
    Some(made.part(|run| *run))
}

/// Light cars that make the run good, when the light ones are light enough.
fn recovery(
    sheet: &mut Sheet,
    row: &Station,
    kinds: &[Kind<'_>],
    overrun: &Made<Seconds>,
    reach: &Made<Seconds>,
) -> Option<Planned> {
    let lights: Vec<&Kind<'_>> = kinds
        .iter()
        .filter(|kind| kind.cycle.value.0 < reach.value.0)
        .collect();
    let jobs: f64 = lights.iter().map(|kind| kind.jobs).sum();
    if jobs <= 0.0 {
        return None;
    }
    let work: f64 = lights
        .iter()
        .map(|kind| kind.jobs * kind.cycle.value.0)
        .sum();
    let light = Sourced::new(Seconds(work / jobs), kinds::origins(&lights));
    let made = sheet.add(
        format!("station.{}.recovery", row.station),
        format!("light cars that make good the run at {}", row.station),
        Some(row.at),
        trade::recovery_run(overrun.part(|o| *o), light, reach.part(|cycle| *cycle)),
    )?;
    Some(made.planned(|cars| cars.0))
}
