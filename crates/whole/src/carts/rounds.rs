//! Supply fleets confirmed in the flow: calls for loads that come by chance,
//! answered by a closed fleet.

use book::{Book, Supply};
use flow::distribution::Distribution;
use flow::model::{Arrival, Cycles, Fleet, Link, Network, Station, StationIdx, Work};
use flow::statistics::{Interval, paired_difference};
use flow::{Halt, Plan, Settings, WarmUp, Watch};
use shops::carts::SupplyFleet;

use super::model::{SupplyCurve, SupplyPoint};
use super::trial::Terms;
use crate::calendar::WEEK;
use crate::findings::measure::Stopped;

/// The most carts that are tried; a fleet beyond it is counted by formula.
const MOST: u32 = 60;
/// Tried beyond what is needed and there is.
const BEYOND: u32 = 2;
/// A day until the queue of calls has found its length.
const WARM_UP_S: f64 = 86_400.0;

/// A fleet's rounds with some number of carts.
struct Seen {
    loads_per_h: Vec<f64>,
    wait_min: Vec<f64>,
}

/// The curve of loads an hour against carts; none where the fleet has no loads
/// or too many carts to try.
pub(super) fn curve(
    book: &Book,
    fleet: &SupplyFleet,
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<Option<SupplyCurve>, Stopped> {
    let calls: f64 = fleet.runs.iter().map(|run| run.loads_per_hour).sum();
    let needed = fleet.needed.as_ref().map(|needed| needed.value as u32);
    let useful = fleet.crowding.as_ref().map_or(1, |c| c.most_at);
    let most = needed.unwrap_or(useful).max(fleet.count.unwrap_or(1)) + BEYOND;
    if calls <= 0.0 || most > MOST {
        return Ok(None);
    }
    let mut seen = Vec::new();
    for carts in 1..=most {
        seen.push(run(&network(book, fleet, carts), terms, watch)?);
    }
    let gain = |from: usize| {
        let pair = (&seen[from + 1].loads_per_h, &seen[from].loads_per_h);
        paired_difference(pair.0, pair.1, terms.level)
            .unwrap_or_else(|| Interval::of(&[], terms.level))
    };
    let gains: Vec<Interval> = (0..seen.len() - 1).map(gain).collect();
    let enough = gains.iter().position(|gain| !shows(*gain, terms));
    let points = seen.iter().enumerate().map(|(at, seen)| SupplyPoint {
        carts: at as u32 + 1,
        loads_per_hour: Interval::of(&seen.loads_per_h, terms.level),
        wait_min: Interval::of(&seen.wait_min, terms.level),
        one_more: gains.get(at).copied(),
    });
    Ok(Some(SupplyCurve {
        fleet: fleet.fleet.clone(),
        at: fleet.at,
        count: fleet.count,
        needed,
        calls_per_hour: calls,
        enough: enough.map(|at| at as u32 + 1),
        points: points.collect(),
    }))
}

/// Whether a gain is shown and more than a load at the window's edge.
fn shows(gain: Interval, terms: &Terms) -> bool {
    let edge = 3_600.0 / (WEEK.0 * f64::from(terms.window.weeks));
    gain.mean - gain.half_width > 0.0 && gain.mean > edge
}

/// Calls by chance, so many carts, every time lengthened by what availability,
/// charging and traffic take. Only carts on the move slow others: at most as many
/// as the calls keep busy, `exact / traffic` of the plan by Little's law.
fn network(book: &Book, fleet: &SupplyFleet, carts: u32) -> Network {
    let loss = fleet.crowding.as_ref().map_or(0.0, |c| c.loss);
    let busy = fleet.crowding.as_ref().map_or(fleet.exact, |crowding| {
        fleet.exact / crowding.traffic.max(0.02)
    });
    let moving = f64::from(carts).min(busy.max(1.0));
    let traffic = (1.0 - loss * (moving - 1.0)).max(0.02);
    let calls: f64 = fleet.runs.iter().map(|run| run.loads_per_hour).sum();
    let (mut loading, mut away, mut mix) = (Vec::new(), Vec::new(), Vec::new());
    let mut back = 0.0;
    for run in &fleet.runs {
        let row = book.supplies.iter().find(|row| row.at == run.at);
        let (load, empty) = row.map_or((0.0, 0.0), |row| parts(row, run.cycle_min.value));
        // what a load keeps a cart, by the plan's own figure
        let whole = 3_600.0 * run.carts / run.loads_per_hour / traffic;
        let share = run.loads_per_hour / calls;
        loading.push(Distribution::Fixed(whole * load));
        away.push(Distribution::Fixed(whole * (1.0 - load - empty)));
        back += share * whole * empty;
        mix.push(share);
    }
    let station = |name: &str, times: Vec<Distribution>| Station {
        units: carts,
        ..Station::new(
            name,
            Work::Cycle(Cycles {
                of_class: (0..times.len() as u16).collect(),
                distributions: times,
            }),
        )
    };
    Network {
        classes: fleet.runs.iter().map(|run| run.supply.clone()).collect(),
        stations: vec![station("loading", loading), station("on the way", away)],
        links: vec![Link::new(StationIdx(0), StationIdx(1), None)],
        arrivals: vec![Arrival {
            station: StationIdx(0),
            between: Distribution::Exponential(3_600.0 / calls),
            batch: 1,
            mix,
        }],
        fleets: vec![Fleet {
            name: fleet.fleet.clone(),
            count: carts,
            taken_at: StationIdx(0),
            returned_at: StationIdx(1),
            return_s: back,
        }],
        ..Network::default()
    }
}

/// Shares of a round: loading, and the empty way.
fn parts(row: &Supply, cycle_min: f64) -> (f64, f64) {
    if cycle_min <= 0.0 {
        return (0.0, 0.0);
    }
    let empty = row.empty_m.unwrap_or(row.loaded_m).0 / row.speed_m_min;
    (row.load_min.0 / cycle_min, empty / cycle_min)
}

fn run(network: &Network, terms: &Terms, watch: &Watch<'_>) -> Result<Seen, Stopped> {
    let plan = Plan::compile(network).map_err(Stopped::Faults)?;
    let how = Settings {
        seed: terms.window.seed,
        replications: terms.window.replications,
        warm_up: WarmUp::Fixed(WARM_UP_S),
        length_s: f64::from(terms.window.weeks) * WEEK.0,
        slabs: 1,
        precise: None,
        elasticities: false,
        banks: false,
        states: false,
    };
    let outcome = flow::run(&plan, &how, watch).map_err(Stopped::Halt)?;
    if outcome.rate_per_h.each.is_empty() {
        return Err(Stopped::Halt(Halt::Settings("no replications".into())));
    }
    let minutes = outcome.time_in_plant_s.mean.each.iter().map(|s| s / 60.0);
    Ok(Seen {
        wait_min: minutes.collect(),
        loads_per_h: outcome.rate_per_h.each,
    })
}
