//! Least yearly cost within takt.

use super::bound::at_root;
use super::model::{Crewed, Mode, Shop};
use super::order::Orders;
use super::search::{Search, Shown};
use crate::fault::Fault;
use crate::watch::{Least, Limits, Progress, Watch};
use crate::work::Work;

/// The least yearly cost of stations that do all the work within takt, each
/// with one person or robot of some kind and the tools its work takes.
///
/// Every tool change counts, the one back to the first tool too. For work of
/// moderate size the answer is exact; for long lines it is the best of a
/// search over orders, with a bound that counts whole stations.
///
/// ```
/// use balance::cost::{Kind, Mode, Shop, least_cost};
/// use balance::{Limits, Watch};
///
/// let person = |ticks| Mode { kind: 0, ticks, tool: None };
/// let robot = |ticks| Mode { kind: 1, ticks, tool: Some(0) };
/// let shop = Shop {
///     after: vec![vec![], vec![0]],
///     modes: vec![vec![person(50), robot(20)], vec![person(50), robot(20)]],
///     kinds: vec![
///         Kind { cost_per_year: 60_000, tool_change: 0, tools: vec![] },
///         Kind { cost_per_year: 70_000, tool_change: 10, tools: vec![5_000] },
///     ],
///     station_per_year: 0,
/// };
/// let limits = Limits { memory_mb: 100, steps: None };
/// // Two people at 60 a cycle, or one robot.
/// let found = least_cost(&shop, 60, &limits, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!((found.cost_per_year, found.proven), (75_000, true));
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// Every fault of the shop: a task without a mode, or longer than takt.
pub fn least_cost(
    shop: &Shop,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Crewed, Vec<Fault>> {
    let faults = shop.faults(takt);
    if !faults.is_empty() {
        return Err(faults);
    }
    let useful = shop.useful(takt);
    let (order, bound) = (first_order(shop)?, at_root(shop, &useful, takt));
    let orders = Orders {
        shop,
        useful: &useful,
        takt,
        stations: None,
    };
    let patience = patience(shop.after.len());
    let start = orders.improve(&order, bound, patience, watch);
    // Every task fits a station of its own, so every order has its cuts.
    let Some((order, cuts)) = start else {
        return Err(vec![Fault::NoStations]);
    };
    let mut found = Crewed {
        stations: orders.stations(&order, &cuts),
        cost_per_year: cuts.cost,
        bound,
        proven: cuts.cost <= bound,
    };
    (watch.progress)(Progress {
        least: Least::Cost,
        best: Some(found.cost_per_year),
        bound,
    });
    if !found.proven && !found.stations.is_empty() {
        sized!(
            shop.after.len(),
            exactly(shop, &useful, takt, limits, watch, &mut found)
        );
    }
    Ok(found)
}

pub(crate) fn first_order(shop: &Shop) -> Result<Vec<usize>, Vec<Fault>> {
    let work = Work {
        ticks: vec![0; shop.after.len()],
        after: shop.after.clone(),
    };
    work.order().map_err(|circle| vec![circle])
}

/// Changes in vain after which an order is taken for good.
pub(crate) fn patience(tasks: usize) -> u32 {
    (3_000 + 100 * tasks as u32).min(50_000)
}

fn exactly<const W: usize>(
    shop: &Shop,
    useful: &[Vec<(usize, Mode)>],
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
    found: &mut Crewed,
) {
    // Long lines have no end; a short try still lifts many a bound.
    let usual = if shop.after.len() > 60 {
        100_000
    } else {
        5_000_000
    };
    let steps = limits.steps.unwrap_or(usual);
    let mut search = Search::<W>::new(shop, useful, takt, steps, watch);
    let states = limits.memory_mb as usize * 1_000_000 / (400 + 32 * W);
    match search.run(found.cost_per_year, states) {
        Shown::Cheaper(stations) => {
            found.cost_per_year = stations.iter().map(|station| station.cost_per_year).sum();
            found.stations = stations;
            found.bound = found.cost_per_year;
        }
        Shown::None => found.bound = found.cost_per_year,
        Shown::AtLeast(cost) => found.bound = found.bound.max(cost),
    }
    found.proven = found.bound >= found.cost_per_year;
    (watch.progress)(Progress {
        least: Least::Cost,
        best: Some(found.cost_per_year),
        bound: found.bound,
    });
}
