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
    /// Places in each of so many lanes.
    pub lane_places: u32,
    /// Bodies to hold back for it; more only fill the lanes.
    pub hold: u32,
    /// Lanes that it takes at the plant's own length of a lane.
    pub own_length_lanes: u32,
    /// The fewest lanes that restore it ...
    pub smallest_lanes: u32,
    /// ... and the fewest places in each of them.
    pub smallest_places: u32,
    /// Bodies that the plant's own store should hold back this week, so that
    /// the least disorder is left ...
    pub best_hold: u32,
    /// ... and what is then left.
    pub best_hold_off: Off,
    /// All this in words.
    pub told: String,
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
        needed: needed(&ways, question.search.seed, &arriving, &store),
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

fn needed(ways: &[RepairWay], seed: u64, arriving: &[usize], given: &Store) -> StoreNeed {
    let cars = arriving.len();
    let own = store::need(arriving);
    let own_length_lanes = own.lanes_of(arriving, given.places);
    let smallest = own.smallest(arriving);
    let (best_hold, left) = store::least_disorder(given.lanes, given.places, arriving);
    let weeks: Vec<store::Need> = (0..WEEKS)
        .map(|week| {
            let repairs = repairs::drawn(ways, cars, seed.wrapping_add(week));
            store::need(&store::after_repairs(cars, &repairs))
        })
        .collect();
    let lanes = || weeks.iter().map(|need| need.lanes as u32);
    StoreNeed {
        told: Restored {
            need: own,
            given,
            own_length_lanes,
            smallest,
            best: (best_hold, left.pairs),
        }
        .told(),
        hold: own.hold as u32,
        own_length_lanes: own_length_lanes as u32,
        smallest_lanes: smallest.0 as u32,
        smallest_places: smallest.1 as u32,
        best_hold: best_hold as u32,
        best_hold_off: left.into(),
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

/// What restores the wanted order, beside the store that is there.
struct Restored<'a> {
    need: store::Need,
    given: &'a Store,
    own_length_lanes: usize,
    /// Lanes and places.
    smallest: (usize, usize),
    /// Bodies to hold back, and pairs then left the wrong way round.
    best: (usize, u64),
}

impl Restored<'_> {
    fn told(&self) -> String {
        let (need, given) = (&self.need, self.given);
        let (lanes, places) = self.smallest;
        if need.hold == 0 {
            return "bodies arrive in the wanted order: nothing need be held back".into();
        }
        let advice = match self.best {
            (best, 0) => format!("held back {best}, its own lanes restore the order"),
            (best, left) => format!(
                "its own lanes do best with {best} held back, which leaves {left} pairs the wrong \
                 way round"
            ),
        };
        let more = if given.hold > need.hold {
            format!(
                "; it holds back {}, and each one beyond what is needed only fills the lanes, so \
                 that late bodies go in behind others wanted after them",
                given.hold
            )
        } else {
            String::new()
        };
        format!(
            "hold back {} bodies, in {} lanes of {} places each as they are now; with fewer than \
             {lanes} lanes no rule restores it, and {lanes} need {places} places each. The store: \
             {advice}{more}",
            need.hold, self.own_length_lanes, given.places
        )
    }
}

#[cfg(test)]
mod tests {
    use sequence::store::Repair;

    use super::*;

    #[test]
    fn a_store_that_holds_back_too_much_is_told_how_much_is_enough() {
        // Every sixteenth car falls back by six; three lanes of forty hold 114.
        let repairs: Vec<Repair> = (0..20)
            .map(|n| Repair {
                place: 5 + 16 * n,
                overtaken_by: 6,
            })
            .collect();
        let arriving = store::after_repairs(330, &repairs);
        let given = Store {
            lanes: 3,
            places: 40,
            hold: 114,
        };
        let (rules, best) = tried(&given, &arriving);
        let left = |rule: &StoreRule| rule.off.pairs;
        assert!(rules.iter().map(left).min() > Some(0) && best.is_some());
        let need = needed(&[], 1, &arriving, &given);
        assert_eq!((need.lanes, need.hold, need.bodies), (2, 6, 7));
        assert_eq!((need.best_hold, need.best_hold_off.pairs), (6, 0));
        assert_eq!(need.own_length_lanes, 2);
        assert!(need.smallest_lanes * need.smallest_places <= need.lanes * need.lane_places);
        for words in [
            "hold back 6 bodies, in 2 lanes of 40 places",
            "held back 6, its own lanes restore the order",
            "it holds back 114, and each one beyond what is needed only fills the lanes",
        ] {
            assert!(need.told.contains(words), "{}", need.told);
        }
    }

    #[test]
    fn a_store_that_cannot_restore_the_order_is_told_what_it_does_best_with() {
        // Every eighth car falls back by twelve, with two lanes of four.
        let repairs: Vec<Repair> = (0..30)
            .map(|n| Repair {
                place: 3 + 8 * n,
                overtaken_by: 12,
            })
            .collect();
        let arriving = store::after_repairs(260, &repairs);
        let given = Store {
            lanes: 2,
            places: 4,
            hold: 6,
        };
        let need = needed(&[], 1, &arriving, &given);
        assert!(need.best_hold_off.pairs > 0 && need.own_length_lanes > 2);
        let words = format!("its own lanes do best with {} held back", need.best_hold);
        assert!(need.told.contains(&words), "{}", need.told);
    }
}
