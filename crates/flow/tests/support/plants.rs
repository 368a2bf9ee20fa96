//! Networks for the engine from the cases under `checks/flow`, and what their
//! runs measured.
//!
//! One unit of time of a case is a minute here unless the case speaks of
//! seconds or hours.

use crate::support::Case;
use flow::distribution::Distribution::{self, Erlang, Exponential, Fixed, Lognormal, Uniform};
use flow::model::{
    Arrival, AtClose, Basis, Calendar, CalendarIdx, Crew, CrewIdx, Cycles, Fleet, Gives, Link,
    LinkIdx, Network, Quality, Station, StationIdx, Stop, Takes, Work,
};
use flow::{Estimate, Outcome, Plan, Settings, WarmUp, Watch};

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
        "M/M/c" | "M/G/1" | "M/G/1 with stops" | "batch arrivals" => queue,
        "effective process time" => effective_process_time,
        "visits" | "capped repairs" => repeated,
        "feedback queue" => feedback_queue,
        "main and repair" => main_and_repair,
        "starts" => starts,
        "line" | "two stations" => match case.given["blocking"].as_str() {
            Some("before service") => return None,
            _ => line,
        },
        "best split" => best_split,
        "sensitivity" => sensitivity,
        "reversed line" => reversed_line,
        "merge" => merge,
        "in step" | "in step by the clock" => in_step,
        "loop" | "loop of fixed times" => cart_loop,
        "loop with units" => loop_with_units,
        "repair crews" => repair_crews,
        "corridor" => match case.given.get("jobs") {
            Some(_) => corridor,
            None => return None,
        },
        "calendar" => calendar,
        "reference line" => reference_line,
        "reference line, long run" => long_run,
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
    Station {
        name: name.to_owned(),
        work: Work::Cycle(Cycles::same(cycle)),
        units: 1,
        stops: Vec::new(),
        wear: 1.0,
        quality: Quality::PERFECT,
        takes: Takes::Any,
        gives: Gives::Share,
        calendar: None,
        release: None,
    }
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

/// Arrivals in a replication of a queue, warm-up not counted.
const QUEUE_JOBS: f64 = 80_000.0;

/// Arrivals to one station; the service and its unit of time by the model.
fn queue(c: &Case) -> Measured {
    let (only, between, batch, unit, service) = match c.model.as_str() {
        "M/M/c" => {
            let service = 1.0 / c.number("service_rate");
            let mut only = station("only", Exponential(MINUTE * service));
            only.units = c.whole("units");
            let between = MINUTE / c.number("arrival_rate");
            (only, between, 1, MINUTE, service)
        }
        "M/G/1" => {
            let parts: Vec<f64> = crate::support::numbers(&c.given["service"]["uniform"]);
            let cycle = if let [from, to] = parts[..] {
                Uniform(MINUTE * from, MINUTE * to)
            } else if c.number("scv") == 0.0 {
                Fixed(MINUTE * c.number("mean"))
            } else {
                Lognormal(MINUTE * c.number("mean"), c.number("scv").sqrt())
            };
            let between = MINUTE / c.number("arrival_rate");
            (station("only", cycle), between, 1, MINUTE, c.number("mean"))
        }
        "M/G/1 with stops" => {
            let (mtbf, mttr) = (c.number("mtbf_s"), c.number("mttr_s"));
            let cycle = c.number("cycle_s");
            let mut only = station("only", Fixed(cycle));
            only.stops = vec![stop("stop".to_owned(), Basis::Running, mtbf, mttr)];
            let between = HOUR / c.number("arrivals_per_h");
            (only, between, 1, 1.0, cycle * (1.0 + mttr / mtbf))
        }
        _ => {
            let service = 1.0 / c.number("service_rate");
            let between = MINUTE / c.number("batch_rate");
            let only = station("only", Exponential(MINUTE * service));
            (only, between, c.whole("batch"), MINUTE, service)
        }
    };
    let network = Network {
        stations: vec![only],
        arrivals: arrivals(between, batch),
        ..Network::default()
    };
    let seen = run(c, &network, QUEUE_JOBS * between);
    let time = &seen.time_in_plant_s.mean;
    vec![
        ("jobs", vec![seen.jobs_in_plant.each.clone()]),
        ("waiting", vec![seen.stations[0].queue_mean.each.clone()]),
        ("time", vec![each(time, |t| t / unit)]),
        // The expected service taken off: the engine reports no wait.
        ("wait", vec![each(time, |t| t / unit - service)]),
    ]
}

fn effective_process_time(c: &Case) -> Measured {
    let mut only = station("only", Fixed(c.number("cycle_s")));
    let (mtbf, mttr) = (c.number("mtbf_s"), c.number("mttr_s"));
    only.stops = vec![stop("stop".to_owned(), Basis::Running, mtbf, mttr)];
    let seen = run(c, &row(vec![only], &[]), 80.0 * 86_400.0);
    let only = &seen.stations[0];
    let up = both(&only.working, &only.stopped, |up, down| up / (up + down));
    vec![
        ("mean", vec![each(&seen.rate_per_h, |rate| HOUR / rate)]),
        ("availability", vec![up]),
    ]
}

/// A job that fails goes through the same station again.
fn looped(cycle: Distribution, again: f64, attempts: Option<u32>) -> Network {
    let mut only = station("only", cycle);
    only.quality = Quality {
        first_time_ok: 1.0 - again,
        rework: Some(LinkIdx(0)),
        scrap: 0.0,
        attempts,
    };
    Network {
        stations: vec![only],
        links: vec![link(0, 0, None)],
        ..Network::default()
    }
}

fn repeated(c: &Case) -> Measured {
    let (again, attempts) = match c.model.as_str() {
        "visits" => (c.number("again"), None),
        _ => (c.number("fail"), Some(c.whole("repairs") + 1)),
    };
    let mut network = looped(Fixed(MINUTE), again, attempts);
    network.arrivals = arrivals(2.0 * MINUTE, 1);
    let seen = run(c, &network, 100_000.0 * MINUTE);
    let (good, lost) = (&seen.rate_per_h, &seen.scrapped_per_h);
    let passes = &seen.stations[0].done_per_h;
    let started = |good: f64, lost: f64| good + lost;
    let all = Estimate::of(both(good, lost, started));
    vec![
        ("visits", vec![both(passes, good, |done, good| done / good)]),
        ("good", vec![both(good, &all, |good, all| good / all)]),
        (
            "passes per start",
            vec![both(passes, &all, |p, all| p / all)],
        ),
        (
            "passes per good",
            vec![both(passes, good, |p, good| p / good)],
        ),
        (
            "starts per good",
            vec![both(&all, good, |all, good| all / good)],
        ),
    ]
}

fn feedback_queue(c: &Case) -> Measured {
    let service = MINUTE / c.number("service_rate");
    let mut network = looped(Exponential(service), c.number("again"), None);
    network.arrivals = arrivals(MINUTE / c.number("arrival_rate"), 1);
    let seen = run(c, &network, 100_000.0 * MINUTE);
    let time = each(&seen.time_in_plant_s.mean, |t| t / MINUTE);
    vec![
        ("jobs", vec![seen.jobs_in_plant.each.clone()]),
        ("time", vec![time]),
    ]
}

fn main_and_repair(c: &Case) -> Measured {
    let mut main = station("main", Exponential(MINUTE / c.number("main_rate")));
    main.quality = Quality {
        first_time_ok: 1.0 - c.number("again"),
        rework: Some(LinkIdx(0)),
        scrap: 0.0,
        attempts: None,
    };
    let repair = station("repair", Exponential(MINUTE / c.number("repair_rate")));
    let network = Network {
        stations: vec![main, repair],
        links: vec![link(0, 1, None), link(1, 0, None)],
        arrivals: arrivals(MINUTE / c.number("arrival_rate"), 1),
        ..Network::default()
    };
    let seen = run(c, &network, 100_000.0 * MINUTE);
    let rate = |i: usize| each(&seen.stations[i].done_per_h, |rate| rate / 60.0);
    vec![
        ("rate at main", vec![rate(0)]),
        ("rate at repair", vec![rate(1)]),
        ("jobs at main", vec![at_station(&seen, 0)]),
        ("jobs at repair", vec![at_station(&seen, 1)]),
        (
            "time",
            vec![each(&seen.time_in_plant_s.mean, |t| t / MINUTE)],
        ),
    ]
}

/// Jobs waiting before a single-unit station and at it.
fn at_station(seen: &Outcome, i: usize) -> Vec<f64> {
    let station = &seen.stations[i];
    both(&station.queue_mean, &station.starved, |queue, starved| {
        queue + 1.0 - starved
    })
}

fn starts(c: &Case) -> Measured {
    let yields = c.list("yields");
    let steps = (1..).zip(&yields).map(|(i, passed)| {
        let mut step = station(&format!("step {i}"), Fixed(30.0));
        step.quality.scrap = 1.0 - passed;
        step
    });
    let places = vec![Some(5); yields.len() - 1];
    let seen = run(c, &row(steps.collect(), &places), 50_000.0 * MINUTE);
    let good = c.number("good");
    let needed = both(
        &seen.stations[0].done_per_h,
        &seen.rate_per_h,
        |first, out| good * first / out,
    );
    vec![("starts", vec![needed])]
}

fn line_network(means: &[f64], phases: u32, places: &[u16]) -> Network {
    let stations = (1..).zip(means).map(|(i, mean)| {
        let cycle = match phases {
            1 => Exponential(MINUTE * mean),
            _ => Erlang(phases, MINUTE * mean),
        };
        station(&format!("station {i}"), cycle)
    });
    let places: Vec<_> = places.iter().map(|&p| Some(u32::from(p))).collect();
    row(stations.collect(), &places)
}

fn means(c: &Case) -> Vec<f64> {
    c.list("rates").iter().map(|rate| 1.0 / rate).collect()
}

const LINE_LENGTH: f64 = 20_000.0 * MINUTE;

fn line(c: &Case) -> Measured {
    let phases = c.given["phases"].as_u64().unwrap_or(1) as u32;
    let network = line_network(&means(c), phases, &c.wholes("places"));
    let seen = run(c, &network, LINE_LENGTH);
    let over = |part: fn(&flow::StationOutcome) -> &Estimate| {
        let each = seen.stations.iter().map(|s| part(s).each.clone());
        each.collect::<Vec<_>>()
    };
    let waiting = seen.links.iter().map(|l| l.content.each.clone());
    vec![
        ("throughput", vec![per_minute(&seen)]),
        ("throughput as a fraction", vec![per_minute(&seen)]),
        ("jobs", vec![seen.jobs_in_plant.each.clone()]),
        ("busy", over(|s| &s.working)),
        ("blocked", over(|s| &s.blocked)),
        ("starved", over(|s| &s.starved)),
        ("waiting", waiting.collect()),
    ]
}

/// The line with the best split, rounded as given, must make the best rate:
/// at the top it hardly depends on the rounding.
fn best_split(c: &Case) -> Measured {
    let split = c.figures.iter().find(|f| f.name == "means");
    let means = crate::support::numbers(&split.unwrap().value);
    let network = line_network(&means, 1, &c.wholes("places"));
    let seen = run(c, &network, 2.0 * LINE_LENGTH);
    vec![("throughput", vec![per_minute(&seen)])]
}

fn sensitivity(c: &Case) -> Measured {
    let (means, places) = (means(c), c.wholes("places"));
    let settings = Settings {
        elasticities: true,
        ..settings(c, LINE_LENGTH)
    };
    let seen = run_with(&line_network(&means, 1, &places), &settings);
    let gradient = means.iter().zip(&seen.stations).map(|(mean, station)| {
        let share = &station.path.as_ref().unwrap().cycle;
        both(share, &seen.rate_per_h, |share, rate| {
            -share * rate / 60.0 / mean
        })
    });
    let gains = (0..places.len()).map(|i| {
        let mut more = places.clone();
        more[i] += 1;
        let other = run_with(&line_network(&means, 1, &more), &settings);
        both(&other.rate_per_h, &seen.rate_per_h, |new, old| {
            (new - old) / 60.0
        })
    });
    vec![
        ("gradient by mean time", gradient.collect()),
        ("gain of one more place", gains.collect()),
    ]
}

fn reversed_line(c: &Case) -> Measured {
    let (mut means, mut places) = (means(c), c.wholes("places"));
    let there = run(c, &line_network(&means, 1, &places), 2.0 * LINE_LENGTH);
    means.reverse();
    places.reverse();
    let back = run(c, &line_network(&means, 1, &places), 2.0 * LINE_LENGTH);
    let difference = both(&there.rate_per_h, &back.rate_per_h, |a, b| (a - b) / 60.0);
    vec![("difference", vec![difference])]
}

fn merge(c: &Case) -> Measured {
    let feeders = c.list("feeders");
    let mut stations: Vec<Station> = (1..)
        .zip(&feeders)
        .map(|(i, rate)| station(&format!("feeder {i}"), Exponential(MINUTE / rate)))
        .collect();
    let mut assembly = station("assembly", Exponential(MINUTE / c.number("assembly")));
    assembly.takes = match c.given["loading"].as_str() {
        Some("together") => Takes::OneOfEach,
        _ => Takes::OneOfEachAsTheyCome,
    };
    stations.push(assembly);
    let last = feeders.len() as u32;
    let links = (0..)
        .zip(c.wholes("places"))
        .map(|(i, places)| link(i, last, Some(u32::from(places))));
    let network = Network {
        links: links.collect(),
        stations,
        ..Network::default()
    };
    let seen = run(c, &network, LINE_LENGTH);
    vec![
        ("throughput", vec![per_minute(&seen)]),
        (
            "feeder 1 blocked",
            vec![seen.stations[0].blocked.each.clone()],
        ),
        (
            "feeder 2 blocked",
            vec![seen.stations[1].blocked.each.clone()],
        ),
    ]
}

/// Machines in step are one station with a cause of stops for each; its slot
/// is a minute.
fn in_step(c: &Case) -> Measured {
    let basis = match c.model.as_str() {
        "in step" => Basis::Running,
        _ => Basis::Clock,
    };
    let mut only = station("line", Fixed(MINUTE));
    let (between, repair) = (MINUTE / c.number("fail"), MINUTE / c.number("repair"));
    only.stops = (1..=c.whole("machines"))
        .map(|i| stop(format!("machine {i}"), basis, between, repair))
        .collect();
    let seen = run(c, &row(vec![only], &[]), 60_000.0 * MINUTE);
    vec![("rate", vec![per_minute(&seen)])]
}

/// Carts go through the stations and travel back to the first.
fn carts(stations: Vec<Station>, count: u32, return_s: f64) -> Network {
    let last = stations.len() as u32 - 1;
    let places = vec![None; stations.len() - 1];
    let mut network = row(stations, &places);
    network.fleets = vec![Fleet {
        name: "carts".to_owned(),
        count,
        taken_at: StationIdx(0),
        returned_at: StationIdx(last),
        return_s,
    }];
    network
}

fn cart_loop(c: &Case) -> Measured {
    let (count, travel) = (c.whole("carts"), c.number("travel"));
    let of = |mean: f64| match c.model.as_str() {
        "loop" => Exponential(MINUTE * mean),
        _ => Fixed(MINUTE * mean),
    };
    let stations = (1..)
        .zip(c.list("times"))
        .map(|(i, mean)| station(&format!("station {i}"), of(mean)));
    let network = carts(stations.collect(), count, MINUTE * travel);
    let seen = run(c, &network, 40_000.0 * MINUTE);
    let count = f64::from(count);
    // Carts wait for the first station as carts, not as jobs: what is neither
    // elsewhere nor on the way is there.
    let mut at: Vec<Vec<f64>> = (1..seen.stations.len())
        .map(|i| at_station(&seen, i))
        .collect();
    let first = (0..REPLICATIONS as usize).map(|r| {
        let elsewhere: f64 = at.iter().map(|station| station[r]).sum();
        count - elsewhere - seen.rate_per_h.each[r] / 60.0 * travel
    });
    at.insert(0, first.collect());
    vec![
        ("throughput", vec![per_minute(&seen)]),
        (
            "time",
            vec![each(&seen.rate_per_h, |rate| count * 60.0 / rate)],
        ),
        ("at station", at),
    ]
}

fn loop_with_units(c: &Case) -> Measured {
    let stations = (1..)
        .zip(c.list("times"))
        .zip(c.wholes("units"))
        .map(|((i, mean), units)| {
            let mut station = station(&format!("station {i}"), Exponential(HOUR * mean));
            station.units = u32::from(units);
            station
        });
    let network = carts(stations.collect(), c.whole("carts"), 0.0);
    let seen = run(c, &network, 40_000.0 * HOUR);
    vec![("throughput", vec![seen.rate_per_h.each.clone()])]
}

/// The best case with fixed times, the practical worst case as the balanced
/// exponential line it is defined by.
fn corridor(c: &Case) -> Measured {
    let (rate, raw) = (c.number("bottleneck_rate"), c.number("raw_time"));
    let count = c.whole("jobs");
    let balanced = |of: fn(f64) -> Distribution| {
        let stations = (rate * raw).round() as u32;
        let step = |i| station(&format!("station {i}"), of(HOUR / rate));
        let network = carts((1..=stations).map(step).collect(), count, 0.0);
        run(c, &network, 40_000.0 * HOUR)
    };
    let (best, practical) = (balanced(Fixed), balanced(Exponential));
    // A job waits for its cart outside the plant, so its own time is not the
    // whole loop; the time of the corridor is jobs over throughput.
    vec![
        ("best throughput", vec![best.rate_per_h.each.clone()]),
        (
            "practical worst throughput",
            vec![practical.rate_per_h.each.clone()],
        ),
    ]
}

fn repair_crews(c: &Case) -> Measured {
    let (mtbf, mttr) = (c.number("mtbf"), c.number("mttr"));
    let stations = (1..=c.whole("machines")).map(|i| {
        let mut machine = station(&format!("machine {i}"), Fixed(10.0 * MINUTE));
        let mut cause = stop(
            "stop".to_owned(),
            Basis::Running,
            MINUTE * mtbf,
            MINUTE * mttr,
        );
        cause.crew = Some(CrewIdx(0));
        machine.stops = vec![cause];
        machine
    });
    let network = Network {
        stations: stations.collect(),
        crews: vec![Crew {
            name: "repair".to_owned(),
            count: c.whole("crews"),
        }],
        ..Network::default()
    };
    let seen = run(c, &network, 60_000.0 * MINUTE);
    let summed = |part: fn(&flow::StationOutcome) -> &Estimate| {
        let sum = |r: usize| seen.stations.iter().map(|s| part(s).each[r]).sum();
        Estimate::of((0..REPLICATIONS as usize).map(sum).collect())
    };
    let (down, waiting) = (summed(|s| &s.stopped), summed(|s| &s.crew_wait));
    let (machines, crews) = (f64::from(c.whole("machines")), f64::from(c.whole("crews")));
    vec![
        (
            "availability",
            vec![each(&down, |down| 1.0 - down / machines)],
        ),
        ("down", vec![down.each.clone()]),
        ("waiting", vec![waiting.each.clone()]),
        // Little's law: stops come at (machines up) / MTBF.
        (
            "wait",
            vec![both(&waiting, &down, |w, down| {
                w * mtbf / (machines - down)
            })],
        ),
        (
            "crew busy",
            vec![both(&down, &waiting, |down, w| (down - w) / crews)],
        ),
    ]
}

fn calendar(c: &Case) -> Measured {
    let mut only = station("only", Fixed(c.number("cycle_s")));
    only.calendar = Some(CalendarIdx(0));
    let (shift, breaks) = (c.number("shift_s"), c.list("breaks_s"));
    // Spells of even length between the breaks; that none of them is a whole
    // number of cycles is the point: work in hand pauses.
    let worked = (shift - breaks.iter().sum::<f64>()) / (breaks.len() + 1) as f64 + 7.0;
    let mut open = Vec::new();
    let mut from = 0.0;
    for pause in &breaks {
        open.push((from, from + worked));
        from += worked + pause;
    }
    open.push((from, shift));
    let network = Network {
        stations: vec![only],
        calendars: vec![Calendar {
            name: "day".to_owned(),
            open,
            repeat_s: 86_400.0,
            at_close: AtClose::Pause,
        }],
        ..Network::default()
    };
    let settings = Settings {
        length_s: shift,
        ..Settings::new(1, 2)
    };
    let seen = run_with(&network, &settings);
    let parts = each(&seen.rate_per_h, |rate| rate * shift / HOUR);
    vec![("parts per shift", vec![parts])]
}

fn reference_line(c: &Case) -> Measured {
    let hours = 24.0 * c.number("days");
    let (plan, settings) = flow::reference::plan(&flow::reference::ReferenceLine {
        stations: c.whole("stations"),
        places: c.whole("places"),
        days: c.number("days"),
        seed: u64::from(c.whole("seed")),
        replications: 1,
        jitter: true,
    })
    .unwrap();
    let seen = flow::run(&plan, &settings, &Watch::none()).unwrap();
    vec![(
        "jobs out",
        vec![each(&seen.rate_per_h, |rate| rate * hours)],
    )]
}

/// The known rate left out 3000 jobs and ran 100 000; a shorter run must leave
/// out more, for with ten places the line goes on filling for some 10 000 jobs
/// (measured: 54.4 an hour after 3000, 55.1 after 12 000).
fn long_run(c: &Case) -> Measured {
    let (plan, settings) = flow::reference::plan(&flow::reference::ReferenceLine {
        stations: c.whole("stations"),
        places: c.whole("places"),
        days: 10.0,
        seed: 1000,
        replications: REPLICATIONS,
        jitter: c.given["jitter"].as_bool().unwrap(),
    })
    .unwrap();
    let settings = Settings {
        warm_up: WarmUp::Fixed(800_000.0),
        ..settings
    };
    let seen = flow::run(&plan, &settings, &Watch::none()).unwrap();
    vec![("rate", vec![seen.rate_per_h.each.clone()])]
}

/// Parts that one machine makes in 30 days, run by run. A day is left out at
/// the start, so that the machine need not be up when counting begins.
pub(crate) fn output_of_months(c: &Case, replications: u32) -> Vec<f64> {
    let mut only = station("only", Fixed(c.number("cycle_s")));
    let (mtbf, mttr) = (c.number("mtbf_s"), c.number("mttr_s"));
    only.stops = vec![stop("stop".to_owned(), Basis::Running, mtbf, mttr)];
    let settings = Settings {
        warm_up: WarmUp::Fixed(86_400.0),
        ..Settings::new(seed(c), replications)
    };
    let seen = run_with(&row(vec![only], &[]), &settings);
    each(&seen.rate_per_h, |rate| rate * settings.length_s / HOUR)
}
