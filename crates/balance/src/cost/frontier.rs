//! Cost against stations, and the least takt that a budget buys.

use super::bound::at_most;
use super::model::{Crewed, Shop};
use super::order::Orders;
use super::solve::{first_order, least_cost, patience};
use crate::fault::Fault;
use crate::watch::{Limits, Watch};

/// A point of the frontier: what so many stations cost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Point {
    /// At most so many stations.
    pub stations: u32,
    /// The cheapest found, with the bound that holds for at most so many.
    pub crewed: Crewed,
}

/// The cheapest crew for every number of stations from the fewest that any
/// order found needs up to where more stations no longer save anything. The
/// points are good answers, each with a bound of its own.
///
/// # Errors
///
/// As [`least_cost`].
pub fn frontier(
    shop: &Shop,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Vec<Point>, Vec<Fault>> {
    let cheapest = least_cost(shop, takt, limits, watch)?;
    let useful = shop.useful(takt);
    let start = first_order(shop)?;
    // What is shown for any number of stations holds for fewer too.
    let bound_of = |most: usize| at_most(shop, &useful, takt, most as u64).max(cheapest.bound);
    let mut points = vec![Point {
        stations: cheapest.stations.len() as u32,
        crewed: cheapest.clone(),
    }];
    // From the cheapest down: one station fewer each, until no order is found.
    let mut order = order_of(&cheapest, start);
    let mut most = cheapest.stations.len().saturating_sub(1);
    while most > 0 && !watch.cancelled() {
        let bound = bound_of(most);
        if bound == u64::MAX {
            break;
        }
        let orders = Orders {
            shop,
            useful: &useful,
            takt,
            stations: Some(most),
        };
        // The order of the neighbour may need a station more than it should:
        // then one shaped for few stations, whatever they cost, comes first.
        let from = match orders.cut(&order) {
            Some(_) => order.clone(),
            None => shaped(shop, takt, &order, most, watch),
        };
        let Some((better, cuts)) = orders.improve(&from, bound, patience(order.len()) / 4, watch)
        else {
            break;
        };
        let stations = orders.stations(&better, &cuts);
        let bound = bound_of(stations.len()).min(cuts.cost);
        most = stations.len().saturating_sub(1);
        points.push(Point {
            stations: stations.len() as u32,
            crewed: Crewed {
                proven: cuts.cost <= bound,
                stations,
                cost_per_year: cuts.cost,
                bound,
            },
        });
        order = better;
    }
    points.reverse();
    Ok(points)
}

/// The order in which the stations do the work; `start` where some is missing.
fn order_of(crewed: &Crewed, start: Vec<usize>) -> Vec<usize> {
    let stations = crewed.stations.iter();
    let work = stations.flat_map(|station| station.work.iter().map(|(task, _)| *task));
    let order: Vec<usize> = work.collect();
    if order.len() == start.len() {
        order
    } else {
        start
    }
}

/// An order that needs few stations: every kind costs the same in it.
fn shaped(shop: &Shop, takt: u32, order: &[usize], most: usize, watch: &Watch<'_>) -> Vec<usize> {
    let mut even = shop.clone();
    even.station_per_year = 1;
    for kind in &mut even.kinds {
        kind.cost_per_year = 0;
        kind.tools.fill(0);
    }
    let useful = even.useful(takt);
    let orders = Orders {
        shop: &even,
        useful: &useful,
        takt,
        stations: None,
    };
    let shaped = orders.improve(order, most as u64, patience(order.len()) / 4, watch);
    shaped.map_or_else(|| order.to_vec(), |(order, _)| order)
}

/// The least takt for which a crew within a yearly budget was found, with the
/// crew, and a takt below which none can be.
///
/// # Errors
///
/// As [`least_cost`]; and that the budget buys no crew at any takt.
pub fn least_takt_within(
    shop: &Shop,
    budget: u64,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<(u32, u32, Crewed), Vec<Fault>> {
    let mut sum: u32 = 1;
    let mut low: u32 = 1;
    let faults = shop.faults(u32::MAX / 4);
    if !faults.is_empty() {
        return Err(faults);
    }
    for modes in &shop.modes {
        let ticks = modes.iter().map(|mode| mode.ticks);
        let change = modes.iter().map(|mode| shop.kinds[mode.kind].tool_change);
        let longest = ticks.clone().max().unwrap_or(0) + change.max().unwrap_or(0);
        sum = sum.saturating_add(longest).min(u32::MAX / 4);
        low = low.max(ticks.min().unwrap_or(0));
    }
    let whole = least_cost(shop, sum, limits, watch)?;
    must_be_within(budget, whole.cost_per_year, whole.bound)?;
    let (mut takt, mut best) = (sum, whole);
    let mut floor = low;
    while floor < takt && !watch.cancelled() {
        let middle = floor + (takt - floor) / 2;
        let found = least_cost(shop, middle, limits, watch)?;
        if found.cost_per_year <= budget {
            let longest = found.stations.iter().map(|station| station.ticks).max();
            takt = longest.map_or(middle, |ticks| ticks.max(1) as u32);
            best = found;
        } else {
            floor = middle + 1;
            if found.bound > budget {
                low = low.max(middle + 1);
            }
        }
    }
    Ok((takt, low.min(takt), best))
}

/// Refuses a budget below the cheapest crew, which is that of the longest takt.
pub(super) fn must_be_within(budget: u64, cheapest: u64, bound: u64) -> Result<(), Vec<Fault>> {
    if cheapest <= budget {
        return Ok(());
    }
    Err(vec![Fault::NoAssignment {
        shown: format!(
            "a budget of {budget} a year buys no crew at any takt; the cheapest found costs \
             {cheapest} and none costs less than {bound}"
        ),
    }])
}
