//! Networks for the engine from the cases under `checks/flow`, and what their
//! runs measured.
//!
//! One unit of time of a case is a minute here unless the case speaks of
//! seconds or hours.

use crate::support::Case;
use flow::distribution::Distribution::{self, Erlang, Exponential, Fixed, Lognormal, Uniform};
use flow::model::{
    Arrival, AtClose, Basis, Calendar, CalendarIdx, Crew, CrewIdx, Fleet, Link, LinkIdx, Network,
    Quality, Station, StationIdx, Stop, Takes,
};
use flow::{Estimate, Outcome, Plan, Settings, WarmUp, Watch};

mod lines;
mod loops;
mod queues;

pub(crate) use loops::output_of_months;

/// Replications of every run.
pub(crate) const REPLICATIONS: u32 = 20;

const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;

/// A measured figure: its name, and for each of its numbers the values of the
/// replications.
pub(crate) type Measured = Vec<(&'static str, Vec<Vec<f64>>)>;

/// Runs the case; none where the engine has no such system.
pub(crate) fn simulate(case: &Case) -> Option<Measured> {
    let simulate: fn(&Case) -> Measured = match case.model.as_str() {
        "M/M/c" | "M/G/1" | "M/G/1 with stops" | "batch arrivals" => queues::queue,
        "effective process time" => queues::effective_process_time,
        "visits" | "capped repairs" => queues::repeated,
        "feedback queue" => queues::feedback_queue,
        "main and repair" => queues::main_and_repair,
        "starts" => queues::starts,
        "line" | "two stations" => match case.given["blocking"].as_str() {
            Some("before service") => return None,
            _ => lines::line,
        },
        "best split" => lines::best_split,
        "sensitivity" => lines::sensitivity,
        "reversed line" => lines::reversed_line,
        "merge" => lines::merge,
        "in step" | "in step by the clock" => queues::in_step,
        "loop" | "loop of fixed times" => loops::cart_loop,
        "loop with units" => loops::loop_with_units,
        "repair crews" => loops::repair_crews,
        "corridor" => match case.given.get("jobs") {
            Some(_) => loops::corridor,
            None => return None,
        },
        "calendar" => loops::calendar,
        "reference line" => lines::reference_line,
        "reference line, long run" => lines::long_run,
        _ => return None,
    };
    Some(simulate(case))
}

/// Seed of a case: its name, so that no case shares its luck with another and
/// a new case leaves the others alone.
fn seed(case: &Case) -> u64 {
    case.name.bytes().fold(0xCBF2_9CE4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3)
    })
}

fn run_with(network: &Network, settings: &Settings) -> Outcome {
    let plan = Plan::compile(network).unwrap_or_else(|faults| panic!("{}", faults[0]));
    flow::run(&plan, settings, &Watch::none()).unwrap()
}

/// Runs for `length_s` after a tenth of it as warm-up.
fn run(case: &Case, network: &Network, length_s: f64) -> Outcome {
    run_with(network, &settings(case, length_s))
}

fn settings(case: &Case, length_s: f64) -> Settings {
    Settings {
        warm_up: WarmUp::Fixed(0.1 * length_s),
        length_s,
        ..Settings::new(seed(case), REPLICATIONS)
    }
}

fn station(name: &str, cycle: Distribution) -> Station {
    Station::new(name, cycle)
}

fn stop(cause: String, basis: Basis, between_s: f64, repair_s: f64) -> Stop {
    Stop {
        cause,
        basis,
        between: Exponential(between_s),
        repair: Exponential(repair_s),
        crew: None,
        in_breaks: true,
    }
}

fn link(from: u32, to: u32, holds: Option<u32>) -> Link {
    Link::new(StationIdx(from), StationIdx(to), holds)
}

fn arrivals(between_s: f64, batch: u32) -> Vec<Arrival> {
    vec![Arrival {
        station: StationIdx(0),
        between: Exponential(between_s),
        batch,
        mix: Vec::new(),
    }]
}

/// Stations one after the other with these places between.
fn row(stations: Vec<Station>, places: &[Option<u32>]) -> Network {
    let links = (0..).zip(places).map(|(i, &holds)| link(i, i + 1, holds));
    Network {
        links: links.collect(),
        stations,
        ..Network::default()
    }
}

/// A figure made from one estimate, number by number.
fn each(estimate: &Estimate, change: impl Fn(f64) -> f64) -> Vec<f64> {
    estimate.each.iter().map(|&x| change(x)).collect()
}

/// A figure made from two estimates of the same runs.
fn both(a: &Estimate, b: &Estimate, join: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    a.each
        .iter()
        .zip(&b.each)
        .map(|(&x, &y)| join(x, y))
        .collect()
}

fn per_minute(outcome: &Outcome) -> Vec<f64> {
    each(&outcome.rate_per_h, |rate| rate / 60.0)
}

/// Jobs waiting before a single-unit station and at it.
fn at_station(seen: &Outcome, i: usize) -> Vec<f64> {
    let station = &seen.stations[i];
    both(&station.queue_mean, &station.starved, |queue, starved| {
        queue + 1.0 - starved
    })
}
