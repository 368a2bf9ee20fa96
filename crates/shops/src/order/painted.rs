//! The painted-body store: what repairs in paint do to the order, what the
//! store makes good, and what it would take to make good all of it.

mod repairs;

use serde::{Deserialize, Serialize};

use sequence::store::{self, Disorder, RuleIn, RuleOut, Store};

use super::Question;
pub use repairs::RepairWay;
pub(super) use repairs::ways;

/// The store between paint and the line. Places count from 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PaintedStore {
    /// Lanes.
    pub lanes: u32,
    /// Places in each.
    pub lane_places: u32,
    /// Bodies that it holds back so that it can choose.
    pub hold: u32,
    /// The ways on which paint sends bodies round.
    pub repairs: Vec<RepairWay>,
    /// Bodies repaired in this week's luck.
    pub repaired: u32,
    /// Places of the wanted order, as bodies arrive.
    pub arriving: Vec<u32>,
    /// How far that is from the wanted order.
    pub arriving_off: Off,
    /// What simple rules and the look-ahead make of it.
    pub rules: Vec<StoreRule>,
    /// Places of the wanted order, as bodies leave by the best of these.
    pub on_line: Vec<u32>,
    /// How far that is from the wanted order.
    pub on_line_off: Off,
    /// Most bodies in the store at once, by the best rules.
    pub fullest: u32,
    /// Each body's stay, in the order of arrival.
    pub stays: Vec<LaneStay>,
    /// What it takes to restore the wanted order in full.
    pub needed: StoreNeed,
}

/// How far an order is from the wanted one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Off {
    /// Pairs of cars the wrong way round.
    pub pairs: u64,
    /// Places that a car is away from its own, on average.
    pub mean_places: f64,
    /// The same of the car farthest away.
    pub most_places: u32,
    /// Share of cars in their place.
    pub in_place: f64,
}

impl From<Disorder> for Off {
    fn from(of: Disorder) -> Self {
        Self {
            pairs: of.pairs,
            mean_places: of.mean_places,
            most_places: of.most_places as u32,
            in_place: of.in_place,
        }
    }
}

/// A pair of rules, into the lanes and out of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StoreRule {
    /// Into which lane.
    pub into: String,
    /// From which lane.
    pub out: String,
    /// How far what leaves is from the wanted order.
    pub off: Off,
}

/// A body's stay in the store.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LaneStay {
    /// Its place in the wanted order.
    pub place: u32,
    /// The lane, from 1.
    pub lane: u32,
    /// The beat in which it came.
    pub came: u32,
    /// The beat in which it left.
    pub left: u32,
}

/// Lanes and places that restore the wanted order in full.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StoreNeed {
    /// Lanes, in this week's luck; with fewer no rule restores it.
    pub lanes: u32,
    /// Bodies in the store at once.
    pub bodies: u32,
    /// Places in each lane.
    pub lane_places: u32,
    /// Weeks tried, each with its own luck.
    pub weeks: u32,
    /// Lanes on average over these weeks.
    pub mean_lanes: f64,
    /// Lanes in the worst of them.
    pub most_lanes: u32,
    /// Bodies at once in the worst of them.
    pub most_bodies: u32,
}

/// Weeks over which the need is averaged.
const WEEKS: u64 = 20;
/// Arrivals that the look-ahead tries out.
const AHEAD: usize = 8;

/// The store for so many cars, `takt_s` apart.
pub(super) fn painted(question: &Question<'_>, cars: usize, takt_s: f64) -> PaintedStore {
    let plant = &question.book.plant;
    let (lanes, lane_places) = (plant.painted_lanes.value, plant.painted_lane_places.value);
    let room = lanes * lane_places;
    let hold = (plant.painted_fill.value.0 * f64::from(room)).floor() as u32;
    let hold = hold.min(room.saturating_sub(1));
    let store = Store {
        lanes: lanes as usize,
        places: lane_places as usize,
        hold: hold as usize,
    };
    let ways = ways(question.book, takt_s);
    let repairs = repairs::drawn(&ways, cars, question.search.seed);
    let arriving = store::after_repairs(cars, &repairs);
    let (rules, best) = tried(&store, &arriving);
    let place = |body: &usize| *body as u32 + 1;
    let leaves = best.as_ref().map_or(&arriving, |run| &run.leaves);
    let stays = best.iter().flat_map(|run| &run.stays);
    PaintedStore {
        lanes,
        lane_places,
        hold,
        repaired: repairs.len() as u32,
        arriving: arriving.iter().map(place).collect(),
        arriving_off: store::disorder(&arriving).into(),
        rules,
        on_line: leaves.iter().map(place).collect(),
        on_line_off: store::disorder(leaves).into(),
        fullest: best.as_ref().map_or(0, |run| run.fullest as u32),
        stays: stays
            .map(|stay| LaneStay {
                place: place(&stay.body),
                lane: stay.lane as u32 + 1,
                came: stay.came as u32,
                left: stay.left as u32,
            })
            .collect(),
        needed: needed(&ways, cars, question.search.seed, &arriving),
        repairs: ways,
    }
}

/// What each pair of rules makes of the bodies as they arrive, and the best run.
fn tried(store: &Store, arriving: &[usize]) -> (Vec<StoreRule>, Option<store::Run>) {
    let pairs = [
        ("in turn", RuleIn::InTurn, "in turn", RuleOut::InTurn),
        (
            "shortest lane",
            RuleIn::Shortest,
            "oldest first",
            RuleOut::Oldest,
        ),
        (
            "behind the last wanted before it",
            RuleIn::InOrder,
            "next wanted",
            RuleOut::NextWanted,
        ),
        (
            "look-ahead",
            RuleIn::LookAhead { bodies: AHEAD },
            "next wanted",
            RuleOut::NextWanted,
        ),
    ];
    let mut rules = Vec::new();
    let mut best: Option<store::Run> = None;
    for (into, rule_in, out, rule_out) in pairs {
        // The store is checked by the book's ranges, the order is a permutation.
        let Ok(run) = store::run(store, arriving, rule_in, rule_out) else {
            continue;
        };
        rules.push(StoreRule {
            into: into.into(),
            out: out.into(),
            off: run.disorder.into(),
        });
        let pairs = run.disorder.pairs;
        if best.as_ref().is_none_or(|best| pairs < best.disorder.pairs) {
            best = Some(run);
        }
    }
    (rules, best)
}

fn needed(ways: &[RepairWay], cars: usize, seed: u64, arriving: &[usize]) -> StoreNeed {
    let own = store::need(arriving);
    let weeks: Vec<store::Need> = (0..WEEKS)
        .map(|week| {
            let repairs = repairs::drawn(ways, cars, seed.wrapping_add(week));
            store::need(&store::after_repairs(cars, &repairs))
        })
        .collect();
    let lanes = || weeks.iter().map(|need| need.lanes as u32);
    StoreNeed {
        lanes: own.lanes as u32,
        bodies: own.bodies as u32,
        lane_places: own.lane_places as u32,
        weeks: WEEKS as u32,
        mean_lanes: lanes().map(f64::from).sum::<f64>() / WEEKS as f64,
        most_lanes: lanes().max().unwrap_or(0),
        most_bodies: weeks
            .iter()
            .map(|need| need.bodies as u32)
            .max()
            .unwrap_or(0),
    }
}
