//! The painted-body store, by sentences of the trade.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use proptest::prelude::*;
use sequence::store::{
    Repair, RuleIn, RuleOut, Store, after_repairs, disorder, least_disorder, need, run,
};

#[test]
fn a_store_of_one_lane_changes_nothing() {
    let arriving = [2, 0, 1, 4, 3];
    let store = Store {
        lanes: 1,
        places: 3,
        hold: 2,
    };
    let run = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
    assert_eq!(run.leaves, arriving);
    assert_eq!(run.fullest, 3);
}

#[test]
fn cars_repaired_in_paint_come_back_to_their_places() {
    // Two of forty fall back by six and by nine places.
    let repairs = [
        Repair {
            place: 5,
            overtaken_by: 6,
        },
        Repair {
            place: 20,
            overtaken_by: 9,
        },
    ];
    let arriving = after_repairs(40, &repairs);
    assert_eq!(disorder(&arriving).pairs, 15);
    assert_eq!(disorder(&arriving).most_places, 9);
    let need = need(&arriving);
    assert_eq!((need.lanes, need.bodies), (2, 10));
    let store = Store {
        lanes: need.lanes,
        places: need.lane_places,
        hold: need.hold,
    };
    let restored = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
    assert_eq!(restored.disorder.pairs, 0);
    let short = Store { hold: 4, ..store };
    let nearly = run(&short, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
    assert!(nearly.disorder.pairs > 0);
    assert!(nearly.disorder.pairs < disorder(&arriving).pairs);
}

#[test]
fn a_store_that_holds_back_more_than_it_must_spoils_what_it_could_restore() {
    // Twelve cars fall back by four to nine places; three lanes of forty.
    let repairs: Vec<Repair> = (0..12)
        .map(|n| Repair {
            place: 7 + 23 * n,
            overtaken_by: 4 + n % 6,
        })
        .collect();
    let arriving = after_repairs(300, &repairs);
    let need = need(&arriving);
    assert_eq!((need.lanes, need.hold), (2, 9));
    assert_eq!(need.lanes_of(&arriving, 40), 2);
    let left = |hold: usize| {
        let store = Store {
            lanes: 3,
            places: 40,
            hold,
        };
        let run = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted);
        run.unwrap().disorder.pairs
    };
    assert_eq!(left(need.hold), 0);
    assert!(left(need.hold - 1) > 0);
    assert!(left(114) > 0);
    assert_eq!(least_disorder(3, 40, &arriving).0, need.hold);
}

#[test]
fn a_store_that_cannot_be_says_so() {
    let store = Store {
        lanes: 2,
        places: 3,
        hold: 6,
    };
    let faults = run(&store, &[0, 1], RuleIn::InTurn, RuleOut::Oldest).unwrap_err();
    assert_eq!(
        faults[0].to_string(),
        "store.hold: found 6 bodies, expected fewer than its 6 places; hold back 5 or fewer"
    );
    let store = Store {
        lanes: 2,
        places: 3,
        hold: 2,
    };
    let faults = run(&store, &[0, 0], RuleIn::InTurn, RuleOut::Oldest).unwrap_err();
    assert_eq!(faults[0].place, "arriving[1]");
}

fn orders() -> impl Strategy<Value = Vec<usize>> {
    (1_usize..40).prop_flat_map(|n| Just((0..n).collect::<Vec<_>>()).prop_shuffle())
}

proptest! {
    #[test]
    fn what_arrives_leaves_once(
        arriving in orders(),
        lanes in 1_usize..5,
        places in 1_usize..6,
        hold in 0_usize..20,
        rule_in in 0_usize..4,
        rule_out in 0_usize..3,
    ) {
        let store = Store { lanes, places, hold: hold % (lanes * places) };
        let rule_in = [
            RuleIn::InTurn,
            RuleIn::Shortest,
            RuleIn::InOrder,
            RuleIn::LookAhead { bodies: 8 },
        ][rule_in];
        let rule_out = [RuleOut::InTurn, RuleOut::Oldest, RuleOut::NextWanted][rule_out];
        let run = run(&store, &arriving, rule_in, rule_out).unwrap();
        let mut sorted = run.leaves.clone();
        sorted.sort_unstable();
        prop_assert_eq!(sorted, (0..arriving.len()).collect::<Vec<_>>());
        prop_assert!(run.fullest <= lanes * places);
        // In a lane nobody overtakes.
        for (at, stay) in run.stays.iter().enumerate() {
            for other in &run.stays[at + 1..] {
                if stay.lane == other.lane {
                    prop_assert!(stay.left < other.left);
                }
            }
        }
    }

    #[test]
    fn as_many_lanes_and_places_as_are_needed_restore_any_order(arriving in orders()) {
        let need = need(&arriving);
        let store = Store {
            lanes: need.lanes,
            places: need.lane_places,
            hold: need.bodies - 1,
        };
        let restored = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
        prop_assert_eq!(restored.disorder.pairs, 0);
        prop_assert_eq!(restored.fullest, need.bodies);
        // So do lanes of another length, as many as are said, and the fewest
        // places in all are no more than these.
        for places in [1, 2, need.lane_places] {
            let store = Store { lanes: need.lanes_of(&arriving, places), places, ..store };
            let restored = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
            prop_assert_eq!(restored.disorder.pairs, 0);
        }
        let (lanes, places) = need.smallest(&arriving);
        prop_assert!((need.bodies..=need.lanes * need.lane_places).contains(&(lanes * places)));
        let store = Store { lanes, places, hold: need.hold };
        let restored = run(&store, &arriving, RuleIn::InOrder, RuleOut::NextWanted).unwrap();
        prop_assert_eq!(restored.disorder.pairs, 0);
        // With one lane fewer two bodies the wrong way round share one.
        if need.lanes > 1 {
            let fewer = Store { lanes: need.lanes - 1, places: 100, hold: 60 };
            let run = run(&fewer, &arriving, RuleIn::LookAhead { bodies: 40 }, RuleOut::NextWanted);
            prop_assert!(run.unwrap().disorder.pairs > 0);
        }
    }
}
