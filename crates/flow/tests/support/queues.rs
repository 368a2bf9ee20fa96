//! Single stations and open networks: arrivals, stops, rework.

use super::*;

/// Arrivals in a replication of a queue, warm-up not counted.
const QUEUE_JOBS: f64 = 80_000.0;

/// Arrivals to one station; the service and its unit of time by the model.
pub(super) fn queue(c: &Case) -> Measured {
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

pub(super) fn effective_process_time(c: &Case) -> Measured {
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

pub(super) fn repeated(c: &Case) -> Measured {
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

pub(super) fn feedback_queue(c: &Case) -> Measured {
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

pub(super) fn main_and_repair(c: &Case) -> Measured {
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

pub(super) fn starts(c: &Case) -> Measured {
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

/// Machines in step are one station with a cause of stops for each; its slot
/// is a minute.
pub(super) fn in_step(c: &Case) -> Measured {
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
