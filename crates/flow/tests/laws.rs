//! Laws of flow that hold for any line, tried on lines drawn at random.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use flow::model::*;
use flow::{Change, Distribution, Outcome, Plan, Settings, WarmUp, Watch, gains, run};
use proptest::prelude::*;

/// A series line with stops, drawn at random.
#[derive(Clone, Debug)]
struct Line {
    cycles: Vec<f64>,
    between: Vec<f64>,
    repair: Vec<f64>,
    holds: Vec<u32>,
    wear: Vec<f64>,
}

fn lines() -> impl Strategy<Value = Line> {
    (3..9_usize).prop_flat_map(|n| {
        (
            proptest::collection::vec(30.0..90.0f64, n),
            proptest::collection::vec(600.0..20_000.0f64, n),
            proptest::collection::vec(30.0..900.0f64, n),
            proptest::collection::vec(0..6_u32, n - 1),
        )
            .prop_map(move |(cycles, between, repair, holds)| Line {
                cycles,
                between,
                repair,
                holds,
                wear: vec![1.0; n],
            })
    })
}

fn network(line: &Line) -> Network {
    let stations = line
        .cycles
        .iter()
        .enumerate()
        .map(|(i, cycle)| Station {
            name: format!("station {i}"),
            work: Work::Cycle(Cycles::same(Distribution::Fixed(*cycle))),
            units: 1,
            stops: vec![Stop {
                cause: "stop".into(),
                basis: Basis::Running,
                between: Distribution::Exponential(line.between[i]),
                repair: Distribution::Exponential(line.repair[i]),
                crew: None,
                in_breaks: true,
            }],
            wear: line.wear[i],
            quality: Quality::PERFECT,
            takes: Takes::Any,
            gives: Gives::Share,
            calendar: None,
            release: None,
        })
        .collect();
    let links = (0_u32..)
        .zip(&line.holds)
        .map(|(i, holds)| Link::new(StationIdx(i), StationIdx(i + 1), Some(*holds)))
        .collect();
    Network {
        stations,
        links,
        ..Network::default()
    }
}

/// Feeders before a merge, and a station behind it, drawn at random.
#[derive(Clone, Debug)]
struct Merge {
    /// Of each feeder its cycle, the places behind it, the way to the merge in
    /// seconds, and how many of its pieces each job needs.
    feeders: Vec<(f64, u32, f64, u32)>,
    cycle: f64,
    takes: Takes,
    /// The last feeder is needed for one of two classes only.
    for_one: bool,
    /// The way on, hand to hand or over some places, in seconds.
    on: (u32, f64),
}

fn merges() -> impl Strategy<Value = Merge> {
    let feeder = (20.0..200.0f64, 0..5_u32, 0.0..90.0f64, 1..4_u32);
    (
        proptest::collection::vec(feeder, 2..5),
        30.0..90.0f64,
        any::<bool>(),
        any::<bool>(),
        (0..4_u32, 0.0..60.0f64),
    )
        .prop_map(|(mut feeders, cycle, as_they_come, for_one, on)| {
            // a place takes one of a kind, and the main job is one
            let many = feeders.iter_mut().enumerate();
            many.filter(|(n, _)| as_they_come || *n == 0)
                .for_each(|(_, feeder)| feeder.3 = 1);
            // so many must fit in the places where they are taken in one go
            for feeder in &mut feeders {
                feeder.3 = feeder.3.min(feeder.1.max(1));
            }
            let takes = if as_they_come {
                Takes::OneOfEachAsTheyCome
            } else {
                Takes::OneOfEach
            };
            Merge {
                feeders,
                cycle,
                takes,
                for_one,
                on,
            }
        })
}

impl Merge {
    fn network(&self, nights: bool) -> Network {
        let station =
            |name: String, cycle: f64| Station::new(name, Distribution::Lognormal(cycle, 0.3));
        let feeders = self.feeders.len() as u32;
        let mut network = Network::default();
        for (n, (cycle, ..)) in self.feeders.iter().enumerate() {
            network
                .stations
                .push(station(format!("feeder {n}"), *cycle));
        }
        network.stations.push(Station {
            takes: self.takes,
            ..station("merge".into(), self.cycle)
        });
        network.stations.push(station("behind".into(), self.cycle));
        if self.for_one {
            network.classes = vec!["one".into(), "other".into()];
            network.stations[0].release = Some(Release::Mix(vec![0.5, 0.5]));
        }
        for (n, (_, holds, move_s, needs)) in (0..feeders).zip(&self.feeders) {
            let last = self.for_one && n + 1 == feeders;
            network.links.push(Link {
                move_s: *move_s,
                needs: *needs,
                needed_for: last.then_some(ClassIdx(0)).into_iter().collect(),
                ..Link::new(StationIdx(n), StationIdx(feeders), Some(*holds))
            });
        }
        network.links.push(Link {
            move_s: self.on.1,
            ..Link::new(
                StationIdx(feeders),
                StationIdx(feeders + 1),
                Some(self.on.0),
            )
        });
        if nights {
            network.calendars.push(Calendar {
                name: "day".into(),
                open: vec![(21_600.0, 50_400.0)],
                repeat_s: 86_400.0,
                at_close: AtClose::Pause,
            });
            for station in &mut network.stations[1..] {
                station.calendar = Some(CalendarIdx(0));
            }
        }
        network
    }
}

fn settings() -> Settings {
    Settings {
        length_s: 6.0e5,
        ..Settings::new(3, 2)
    }
}

fn outcome(network: &Network, settings: &Settings) -> Outcome {
    run(&Plan::compile(network).unwrap(), settings, &Watch::none()).unwrap()
}

fn made(line: &Line) -> Vec<f64> {
    outcome(&network(line), &settings()).rate_per_h.each
}

fn never_fewer(better: &[f64], than: &[f64]) -> bool {
    better.iter().zip(than).all(|(b, t)| *b >= *t - 1e-9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_place_more_never_lowers_the_rate(line in lines(), at in 0..8_usize) {
        let at = at % line.holds.len();
        let mut better = line.clone();
        better.holds[at] += 1;
        prop_assert!(never_fewer(&made(&better), &made(&line)));
    }

    #[test]
    fn a_shorter_cycle_never_lowers_the_rate_when_stops_hit_the_same_jobs(line in lines(), at in 0..9_usize) {
        let at = at % line.cycles.len();
        let mut better = line.clone();
        better.cycles[at] *= 0.9;
        better.wear[at] = 1.0 / 0.9;
        prop_assert!(never_fewer(&made(&better), &made(&line)));
    }

    #[test]
    fn a_shorter_repair_never_lowers_the_rate(line in lines(), at in 0..9_usize) {
        let at = at % line.repair.len();
        let mut better = line.clone();
        better.repair[at] *= 0.7;
        prop_assert!(never_fewer(&made(&better), &made(&line)));
    }

    #[test]
    fn what_goes_into_a_station_comes_out_or_is_still_there(line in lines()) {
        // One slab, so that the counts are those of the whole run.
        let result = outcome(&network(&line), &settings());
        let hours = settings().length_s / 3_600.0;
        for (i, pair) in result.stations.windows(2).enumerate() {
            for (before, after) in pair[0].done_per_h.each.iter().zip(&pair[1].done_per_h.each) {
                let between = ((before - after) * hours).round();
                prop_assert!(between >= 0.0 && between <= f64::from(line.holds[i]) + 1.0, "{between}");
            }
        }
        let last = result.stations.last().unwrap();
        prop_assert_eq!(&last.done_per_h.each, &result.rate_per_h.each);
    }

    #[test]
    fn states_add_to_one_and_content_agrees_with_counts_in_and_out(line in lines(), warm in 0.0..2e5f64) {
        let settings = Settings { warm_up: WarmUp::Fixed(warm), slabs: 3, ..settings() };
        for banks in [false, true] {
            let result = outcome(&network(&line), &Settings { banks, ..settings.clone() });
            let mut inside = 0.0;
            for station in &result.stations {
                let sum = station.working.mean + station.starved.mean + station.blocked.mean
                    + station.stopped.mean + station.changeover.mean;
                prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
                inside += 1.0 - station.starved.mean;
            }
            let held = result.stations.iter().map(|s| s.held.mean).sum::<f64>();
            prop_assert!((held / inside - 1.0).abs() < 1e-9, "{held} {inside}");
            inside += result.links.iter().map(|l| l.content.mean).sum::<f64>();
            // Little's law without its limit: stays added up job by job, against
            // counts of what entered and left.
            prop_assert!((inside / result.jobs_in_plant.mean - 1.0).abs() < 1e-6, "{inside} {}", result.jobs_in_plant.mean);
        }
    }

    #[test]
    fn every_way_of_computing_gives_the_same_bits(line in lines()) {
        let plain = outcome(&network(&line), &Settings { banks: false, slabs: 4, ..settings() });
        for (elasticities, banks) in [(true, false), (false, true), (true, true)] {
            let other = outcome(&network(&line), &Settings { elasticities, banks, slabs: 4, ..settings() });
            prop_assert_eq!(&other.rate_per_h, &plain.rate_per_h);
            prop_assert_eq!(&other.time_in_plant_s.p90, &plain.time_in_plant_s.p90);
            prop_assert_eq!(other.moves, plain.moves);
            for (a, b) in other.stations.iter().zip(&plain.stations) {
                for (x, y) in [(&a.working, &b.working), (&a.starved, &b.starved), (&a.blocked, &b.blocked), (&a.stopped, &b.stopped), (&a.queue_mean, &b.queue_mean)] {
                    prop_assert!((x.mean - y.mean).abs() < 1e-9, "{} {x:?} {y:?}", a.name);
                }
            }
        }
    }

    #[test]
    fn what_is_measured_beside_it_does_not_change_the_rate(line in lines()) {
        let all = outcome(&network(&line), &Settings { slabs: 4, ..settings() });
        let bare = outcome(&network(&line), &Settings { banks: false, states: false, slabs: 4, ..settings() });
        prop_assert_eq!(&bare.rate_per_h, &all.rate_per_h);
        prop_assert_eq!(&bare.jobs_in_plant, &all.jobs_in_plant);
        prop_assert_eq!(&bare.over_time, &all.over_time);
        prop_assert!(bare.stations.is_empty() && bare.links.is_empty());
    }

    #[test]
    fn replications_side_by_side_are_those_one_by_one(line in lines(), drawn in any::<bool>(), replications in 2..8_u32) {
        let mut network = network(&line);
        for link in &mut network.links {
            // Hand to hand goes the general way.
            link.holds = link.holds.map(|places| places.max(1));
        }
        if drawn {
            for station in &mut network.stations {
                station.work = Work::Cycle(Cycles::same(Distribution::Lognormal(60.0, 0.3)));
            }
        }
        let settings = Settings { replications, slabs: 4, banks: false, ..settings() };
        let together = outcome(&network, &settings);
        // Measured banks need the general way.
        let alone = outcome(&network, &Settings { banks: true, ..settings });
        prop_assert_eq!(&together.rate_per_h, &alone.rate_per_h);
        prop_assert_eq!(&together.time_in_plant_s.all, &alone.time_in_plant_s.all);
        prop_assert_eq!(&together.over_time, &alone.over_time);
        prop_assert_eq!(together.moves, alone.moves);
        for (a, b) in together.stations.iter().zip(&alone.stations) {
            for (x, y) in [(&a.done_per_h, &b.done_per_h), (&a.queue_mean, &b.queue_mean)] {
                prop_assert_eq!(x, y);
            }
            for (x, y) in [(&a.working, &b.working), (&a.starved, &b.starved), (&a.blocked, &b.blocked), (&a.stopped, &b.stopped)] {
                for (x, y) in x.each.iter().zip(&y.each) {
                    // A job over the edge of a slab is shared out in whole ticks.
                    prop_assert!((x - y).abs() < 1e-12, "{} {x} {y}", a.name);
                }
            }
        }
    }

    #[test]
    fn an_open_calendar_changes_nothing(line in lines()) {
        let mut open = network(&line);
        open.calendars.push(Calendar { name: "always".into(), open: vec![(0.0, 86_400.0)], repeat_s: 86_400.0, at_close: AtClose::Pause });
        for station in &mut open.stations {
            station.calendar = Some(CalendarIdx(0));
        }
        let with = outcome(&open, &settings());
        prop_assert_eq!(&with.rate_per_h.each, &made(&line));
    }

    #[test]
    fn what_stations_hold_over_nights_and_breaks_agrees_with_counts_in_and_out(
        line in lines(),
        at_close in proptest::sample::select(vec![AtClose::Pause, AtClose::FinishFirst, AtClose::NoStart]),
        warm in 0.0..2e5f64,
    ) {
        let mut closing = network(&line);
        let hours = |spells: &[(f64, f64)]| spells.iter().map(|(a, b)| (a * 3_600.0, b * 3_600.0)).collect();
        for (name, open) in [("early", hours(&[(6.0, 14.0)])), ("late", hours(&[(7.0, 11.5), (12.0, 22.0)]))] {
            closing.calendars.push(Calendar { name: name.into(), open, repeat_s: 86_400.0, at_close });
        }
        for (station, calendar) in closing.stations.iter_mut().zip([0, 1, 1].into_iter().cycle()) {
            station.calendar = Some(CalendarIdx(calendar));
        }
        let settings = Settings { warm_up: WarmUp::Fixed(warm), slabs: 3, ..settings() };
        let result = outcome(&closing, &settings);
        let held = result.stations.iter().map(|s| s.held.mean).sum::<f64>();
        let there = held + result.links.iter().map(|l| l.content.mean).sum::<f64>();
        prop_assert!((there / result.jobs_in_plant.mean - 1.0).abs() < 1e-6, "{there} {}", result.jobs_in_plant.mean);
    }

    #[test]
    fn what_lies_at_merges_and_on_their_ways_adds_up_to_what_is_in_the_plant(
        merge in merges(),
        nights in any::<bool>(),
        warm in 0.0..2e5f64,
    ) {
        let settings = Settings { warm_up: WarmUp::Fixed(warm), slabs: 3, ..settings() };
        let result = outcome(&merge.network(nights), &settings);
        let held = result.stations.iter().map(|s| s.held.mean).sum::<f64>();
        let there = held + result.links.iter().map(|l| l.content.mean).sum::<f64>();
        prop_assert!((there / result.jobs_in_plant.mean - 1.0).abs() < 1e-6, "{there} {}", result.jobs_in_plant.mean);
    }

    #[test]
    fn a_crew_for_everyone_is_as_good_as_none_needed(line in lines()) {
        let mut crewed = network(&line);
        crewed.crews.push(Crew { name: "all".into(), count: 100 });
        for station in &mut crewed.stations {
            station.stops[0].crew = Some(CrewIdx(0));
        }
        prop_assert_eq!(&outcome(&crewed, &settings()).rate_per_h.each, &made(&line));
        crewed.crews[0].count = 1;
        let one = outcome(&crewed, &settings());
        prop_assert!(never_fewer(&made(&line), &one.rate_per_h.each));
    }

    #[test]
    fn critical_path_shares_add_to_one(line in lines()) {
        let result = outcome(&network(&line), &Settings { elasticities: true, ..settings() });
        let sum: f64 = result.stations.iter().filter_map(|s| s.path.as_ref())
            .map(|p| p.cycle.mean + p.stopped.mean + p.changeover.mean).sum::<f64>()
            + result.on_the_way.as_ref().map_or(0.0, |w| w.mean);
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    }
}

fn twenty() -> Line {
    let n = 20_u32;
    Line {
        cycles: (0..n).map(|i| 58.0 + f64::from(i % 5)).collect(),
        between: vec![7_200.0; n as usize],
        repair: vec![300.0; n as usize],
        holds: vec![3; n as usize - 1],
        wear: vec![1.0; n as usize],
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let plan = Plan::compile(&network(&twenty())).unwrap();
    let settings = Settings {
        elasticities: true,
        slabs: 5,
        replications: 7,
        ..settings()
    };
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let outcome = pool.install(|| run(&plan, &settings, &Watch::none()).unwrap());
        serde_json::to_string(&outcome).unwrap()
    };
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(5));
}

/// Elasticities of one run against paired re-runs with every time of one
/// station 2 % shorter.
#[test]
fn the_critical_path_predicts_what_a_shorter_cycle_gives() {
    let mut line = twenty();
    line.cycles[7] = 66.0;
    let long = Settings {
        length_s: 6e6,
        elasticities: true,
        ..Settings::new(5, 6)
    };
    let base = outcome(&network(&line), &long);
    let share = base.stations[7].path.as_ref().unwrap().cycle.mean;
    let mut shorter = line.clone();
    shorter.cycles[7] *= 0.995;
    shorter.wear[7] = 1.0 / 0.995;
    let better = outcome(&network(&shorter), &long);
    let gain = better.rate_per_h.mean / base.rate_per_h.mean - 1.0;
    assert!(
        (gain / 0.005 / share - 1.0).abs() < 0.05,
        "gain {gain}, share {share}"
    );
    assert!(share > 0.15, "{share}");
}

#[test]
fn a_log_of_the_path_that_is_cut_down_tells_the_same_story() {
    // 20 stations and 6e6 s make more entries than the log keeps at once.
    let long = Settings {
        length_s: 6e6,
        elasticities: true,
        ..Settings::new(5, 1)
    };
    let result = outcome(&network(&twenty()), &long);
    assert!(result.moves > 1_000_000);
    let sum: f64 = result
        .stations
        .iter()
        .filter_map(|s| s.path.as_ref())
        .map(|p| p.cycle.mean + p.stopped.mean)
        .sum();
    assert!((sum + result.on_the_way.unwrap().mean - 1.0).abs() < 1e-9);
}

#[test]
fn a_reversed_line_keeps_its_rate() {
    // Reversibility of lines with blocking after service: Muth 1979,
    // Management Science 25, 152-158 (from memory).
    let mut line = twenty();
    line.cycles[3] = 75.0;
    line.holds[4] = 9;
    let mut back = line.clone();
    for times in [&mut back.cycles, &mut back.between, &mut back.repair] {
        times.reverse();
    }
    back.holds.reverse();
    let long = Settings {
        length_s: 3e6,
        warm_up: WarmUp::Fixed(1e5),
        ..Settings::new(5, 12)
    };
    let (a, b) = (
        outcome(&network(&line), &long),
        outcome(&network(&back), &long),
    );
    let apart = (a.rate_per_h.mean - b.rate_per_h.mean).abs();
    let (wide, other) = (
        a.rate_per_h.interval(0.99).half_width,
        b.rate_per_h.interval(0.99).half_width,
    );
    assert!(
        apart < wide.hypot(other),
        "{apart} against {wide} and {other}"
    );
}

/// Exact gains of a place more in lines of exponential stations of one minute,
/// from the stationary Markov chain; the same figures stand in `checks/flow`.
#[test]
fn a_place_more_gives_what_the_exact_chain_says() {
    let cases: [(u32, u32, &[f64]); 2] = [
        (3, 0, &[0.049_230_769_230_769_3, 0.049_230_769_230_769_3]),
        (
            5,
            2,
            &[
                0.008_964_115_289,
                0.013_650_821_380,
                0.013_650_821_380,
                0.008_964_115_289,
            ],
        ),
    ];
    for (n, holds, exact) in cases {
        let mut line = network(&Line {
            cycles: vec![60.0; n as usize],
            between: vec![1e9; n as usize],
            repair: vec![1.0; n as usize],
            holds: vec![holds; n as usize - 1],
            wear: vec![1.0; n as usize],
        });
        for station in &mut line.stations {
            station.work = Work::Cycle(Cycles::same(Distribution::Exponential(60.0)));
            station.stops.clear();
        }
        let changes: Vec<Change> = (0..n - 1).map(|l| Change::Places(LinkIdx(l), 1)).collect();
        let settings = Settings {
            length_s: 3e6,
            warm_up: WarmUp::Fixed(6e4),
            ..Settings::new(11, 20)
        };
        let found = gains(&line, &changes, &settings, &Watch::none()).unwrap();
        for (gain, exact) in found.iter().zip(exact) {
            // 99 % from the 95 % interval: t(0.995, 19) / t(0.975, 19).
            let wide = gain.rate_per_h.half_width * 2.861 / 2.093;
            assert!(
                (gain.rate_per_h.mean - exact * 60.0).abs() < wide,
                "{gain:?} against {}",
                exact * 60.0
            );
            assert!(gain.shown);
        }
    }
}

#[test]
fn what_is_not_the_constraint_gives_nothing_and_what_is_gives_something() {
    let mut network = network(&twenty());
    if let Work::Cycle(cycles) = &mut network.stations[10].work {
        *cycles = Cycles::same(Distribution::Fixed(80.0));
    }
    network.crews.push(Crew {
        name: "day".into(),
        count: 1,
    });
    for station in &mut network.stations {
        station.stops[0].crew = Some(CrewIdx(0));
    }
    let long = Settings {
        length_s: 3e6,
        warm_up: WarmUp::Fixed(1e5),
        ..Settings::new(5, 8)
    };
    let changes = [
        Change::Units(StationIdx(10), 1),
        Change::BetweenStops(StationIdx(10), 2.0),
        Change::Crew(CrewIdx(0), 1),
        Change::Changeover(StationIdx(10), 0.5),
        Change::Units(StationIdx(0), 1),
    ];
    let found = gains(&network, &changes, &long, &Watch::none()).unwrap();
    assert_eq!(
        found.len(),
        4,
        "a station without changeover has none to shorten"
    );
    assert!(
        found[..3]
            .iter()
            .all(|gain| gain.shown && gain.rate_per_h.mean > 0.0),
        "{found:?}"
    );
    assert!(found[3].rate_per_h.mean.abs() < 0.1, "{found:?}");
}
