//! Loops of carts, shared crews, shifts and the output of one machine.

use super::*;

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

pub(super) fn cart_loop(c: &Case) -> Measured {
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

pub(super) fn loop_with_units(c: &Case) -> Measured {
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
pub(super) fn corridor(c: &Case) -> Measured {
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

pub(super) fn repair_crews(c: &Case) -> Measured {
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

pub(super) fn calendar(c: &Case) -> Measured {
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
