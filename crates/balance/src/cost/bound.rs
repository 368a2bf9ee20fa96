//! What the work must cost at least.

use super::model::{Mode, Shop};

/// Prices of tasks in parts of a tick of takt: the least that any of its
/// modes takes of the yearly cost of its kind, with the station's.
pub(crate) struct Prices {
    pub(crate) of: Vec<u128>,
    takt: u128,
    /// All costs are multiples of this.
    grain: u64,
}

impl Prices {
    pub(crate) fn of(shop: &Shop, useful: &[Vec<(usize, Mode)>], takt: u32) -> Self {
        let cost = |mode: &Mode| {
            let kind = &shop.kinds[mode.kind];
            u128::from(kind.cost_per_year + shop.station_per_year) * u128::from(mode.ticks)
        };
        let kinds = shop.kinds.iter();
        let grain = kinds.fold(0, |grain, kind| {
            let whole = gcd(grain, kind.cost_per_year + shop.station_per_year);
            kind.tools
                .iter()
                .fold(whole, |grain, tool| gcd(grain, *tool))
        });
        Self {
            of: useful
                .iter()
                .map(|modes| modes.iter().map(|(_, mode)| cost(mode)).min().unwrap_or(0))
                .collect(),
            takt: u128::from(takt),
            grain: grain.max(1),
        }
    }

    /// The least cost of work with so much price.
    pub(crate) fn cost(&self, price: u128) -> u64 {
        let cost = price.div_ceil(self.takt) as u64;
        cost.next_multiple_of(self.grain)
    }
}

fn gcd(mut one: u64, mut other: u64) -> u64 {
    while other > 0 {
        (one, other) = (other, one % other);
    }
    one
}

/// The least yearly cost of all the work: by price; by whole stations, where
/// for every number of the dearer of two kinds the rest needs so many of the
/// cheaper; and the tools that some task cannot do without.
pub(crate) fn at_root(shop: &Shop, useful: &[Vec<(usize, Mode)>], takt: u32) -> u64 {
    at_most(shop, useful, takt, u64::MAX)
}

/// The same with at most so many stations; [`u64::MAX`] where so many cannot do
/// the work.
pub(crate) fn at_most(shop: &Shop, useful: &[Vec<(usize, Mode)>], takt: u32, most: u64) -> u64 {
    let prices = Prices::of(shop, useful, takt);
    let by_price = prices.cost(prices.of.iter().sum());
    let by_stations = by_two_kinds(shop, useful, takt, most);
    let tools = useful.iter().map(|modes| {
        let tool = |mode: &Mode| {
            mode.tool
                .map_or(0, |tool| shop.kinds[mode.kind].tools[tool])
        };
        modes.iter().map(|(_, mode)| tool(mode)).min().unwrap_or(0)
    });
    let one_tool = tools.max().unwrap_or(0);
    by_price.max(by_stations.saturating_add(one_tool))
}

/// Where more than two kinds are in use the fastest mode of any kind but one
/// stands for the rest, at the cheapest of their costs.
fn by_two_kinds(shop: &Shop, useful: &[Vec<(usize, Mode)>], takt: u32, most: u64) -> u64 {
    let takt = u64::from(takt);
    let mut best = 0;
    for one in 0..shop.kinds.len() {
        let cost = |kind: usize| shop.kinds[kind].cost_per_year + shop.station_per_year;
        let others = (0..shop.kinds.len()).filter(|kind| *kind != one);
        let other_cost = others.map(cost).min();
        let mut fixed_one = 0_u64;
        let mut fixed_other = 0_u64;
        let mut either: Vec<(u64, u64)> = Vec::new();
        for modes in useful {
            let least = |mine: bool| {
                let of = modes.iter().filter(|(_, mode)| (mode.kind == one) == mine);
                of.map(|(_, mode)| u64::from(mode.ticks)).min()
            };
            match (least(true), least(false)) {
                (Some(ticks), None) => fixed_one += ticks,
                (None, Some(ticks)) => fixed_other += ticks,
                (Some(mine), Some(theirs)) => either.push((mine, theirs)),
                (None, None) => {}
            }
        }
        // Falling by what is taken off the others for a tick of the one.
        either.sort_by(|a, b| (b.1 * a.0.max(1)).cmp(&(a.1 * b.0.max(1))));
        let mut least = u64::MAX;
        let all: u64 = fixed_one + either.iter().map(|(mine, _)| mine).sum::<u64>();
        for stations in fixed_one.div_ceil(takt)..=all.div_ceil(takt) {
            let rest = fixed_other + left(&either, stations * takt - fixed_one);
            if rest > 0 && other_cost.is_none() {
                continue;
            }
            let others = rest.div_ceil(takt);
            if stations + others <= most {
                least = least.min(stations * cost(one) + others * other_cost.unwrap_or(0));
            }
        }
        best = best.max(least);
    }
    best
}

/// What is left for the others when the one has so much room, a last task
/// shared between them; rounded down.
fn left(either: &[(u64, u64)], mut room: u64) -> u64 {
    let mut left = 0;
    for (mine, theirs) in either {
        if *mine <= room {
            room -= mine;
        } else {
            left += theirs - (theirs * room).div_ceil(*mine).min(*theirs);
            room = 0;
        }
    }
    left
}
