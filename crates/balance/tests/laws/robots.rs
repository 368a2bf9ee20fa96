//! Joints to robots: what every plan keeps, and what small shops take at least.

use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

use balance::robots::{Group, Kind, Place, Plan, Shop, allocate, bound};
use balance::{Fault, Watch};
use proptest::prelude::*;

pub(crate) fn solved(shop: &Shop, steps: u64) -> Result<Plan, Vec<Fault>> {
    allocate(shop, steps, &Watch::none())
}

pub(crate) fn group(joints: u32, ticks: u32, stations: &[usize]) -> Group {
    Group {
        joints,
        ticks,
        start: 0,
        tool: 0,
        kinds: vec![0],
        after: vec![],
        zone: None,
        stations: stations.to_vec(),
        geometry: false,
    }
}

fn shop(groups: Vec<Group>, stations: usize, ticks: u32, most: u32) -> Shop {
    Shop {
        groups,
        stations: vec![Place { ticks, most }; stations],
        kinds: vec![Kind { cost: 1, change: 3 }],
    }
}

/// Holds a plan against the question, from the charts alone.
#[expect(
    clippy::too_many_lines,
    reason = "every law of a plan in turn, sharing nothing with the solver"
)]
fn broken(shop: &Shop, plan: &Plan) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut made = vec![0; shop.groups.len()];
    let mut first = vec![(usize::MAX, u32::MAX); shop.groups.len()];
    let mut last = vec![(0, 0); shop.groups.len()];
    let mut cost = 0;
    for (at, robots) in plan.stations.iter().enumerate() {
        let place = &shop.stations[at];
        if robots.len() > place.most as usize {
            wrong.push(format!("{} robots at station {at}", robots.len()));
        }
        for robot in robots {
            let kind = &shop.kinds[robot.kind];
            cost += kind.cost;
            let (mut time, mut tool, mut changes) = (0, None, 0);
            for step in &robot.steps {
                let group = &shop.groups[step.group];
                let changed = tool.is_some_and(|tool| tool != group.tool);
                changes += u32::from(changed);
                let earliest = time + if changed { kind.change } else { 0 };
                let work = group.start + step.joints * group.ticks;
                if step.start < earliest || step.end != step.start + work {
                    wrong.push(format!("{step:?} after {time}"));
                }
                if changed != step.changed || !group.kinds.contains(&robot.kind) {
                    wrong.push(format!("{step:?} by kind {}", robot.kind));
                }
                if !group.stations.contains(&at) {
                    wrong.push(format!("{step:?} at {at}"));
                }
                time = step.end;
                tool = Some(group.tool);
                made[step.group] += step.joints;
                first[step.group] = first[step.group].min((at, step.start));
                last[step.group] = last[step.group].max((at, step.end));
            }
            let begun = robot.steps.first().map(|step| shop.groups[step.group].tool);
            let back = tool != begun;
            changes += u32::from(back);
            time += if back { kind.change } else { 0 };
            if robot.end != time || time > place.ticks || robot.changes != changes {
                wrong.push(format!(
                    "{robot:?} at {at} ends at {time} of {}",
                    place.ticks
                ));
            }
        }
        let steps: Vec<_> = robots
            .iter()
            .enumerate()
            .flat_map(|(who, robot)| robot.steps.iter().map(move |step| (who, step)))
            .collect();
        for (who, one) in &steps {
            for (other_who, other) in &steps {
                let zones = (shop.groups[one.group].zone, shop.groups[other.group].zone);
                let shared = who < other_who && zones.0.is_some() && zones.0 == zones.1;
                if shared && one.start < other.end && other.start < one.end {
                    wrong.push(format!("{one:?} and {other:?} in one zone"));
                }
            }
        }
    }
    for (at, group) in shop.groups.iter().enumerate() {
        let left = plan
            .left
            .iter()
            .find(|(left, _)| *left == at)
            .map_or(0, |left| left.1);
        if made[at] + left != group.joints {
            wrong.push(format!("{} of {} joints of {at}", made[at], group.joints));
        }
        if !plan.holds() || group.joints == 0 {
            continue;
        }
        for before in &group.after {
            if shop.groups[*before].joints > 0 && last[*before] > first[at] {
                wrong.push(format!("{at} begins before {before} ends"));
            }
        }
        if group.geometry {
            // What any geometry of the station comes after may come before all of it.
            let mut ancestors: Vec<usize> = shop
                .groups
                .iter()
                .filter(|other| other.geometry && other.stations == group.stations)
                .flat_map(|other| other.after.clone())
                .collect();
            let mut seen = 0;
            while let Some(next) = ancestors.get(seen) {
                ancestors.extend(shop.groups[*next].after.clone());
                seen += 1;
            }
            for (other, of) in shop.groups.iter().enumerate() {
                let here = plan.stations[group.stations[0]]
                    .iter()
                    .flat_map(|r| &r.steps);
                let early = here
                    .filter(|step| step.group == other)
                    .any(|step| (group.stations[0], step.start) < last[at]);
                if early && !of.geometry && !ancestors.contains(&other) {
                    wrong.push(format!("{other} before the geometry of {at}"));
                }
            }
        }
    }
    if plan.cost != cost || plan.holds() && plan.cost < plan.bound {
        wrong.push(format!(
            "cost {} of {cost}, bound {}",
            plan.cost, plan.bound
        ));
    }
    wrong
}

/// Robots by work over net time for each tool, and by the largest group: from
/// the question alone, by other arithmetic than the solver's.
fn plain_bound(shop: &Shop) -> u64 {
    let net = shop
        .stations
        .iter()
        .map(|place| u64::from(place.ticks))
        .max()
        .unwrap_or(1);
    let work = |group: &Group| u64::from(group.joints) * u64::from(group.ticks);
    let kinds = 0..shop.kinds.len();
    let by_kind = kinds.map(|kind| {
        let own = shop.groups.iter().filter(|group| group.kinds == [kind]);
        own.map(work).sum::<u64>().div_ceil(net)
    });
    let all = shop.groups.iter().map(work).sum::<u64>().div_ceil(net);
    let largest = shop.groups.iter().map(|group| {
        let each = net / u64::from(group.ticks.max(1));
        u64::from(group.joints).div_ceil(each.max(1))
    });
    by_kind
        .sum::<u64>()
        .max(all)
        .max(largest.max().unwrap_or(0))
}

prop_compose! {
    fn any_group(stations: usize)(
        joints in 0_u32..9, ticks in 1_u32..9, start in 0_u32..3, tool in 0_usize..3,
        both in any::<bool>(), zone in prop::option::of(0_usize..3),
        range in (0..stations, 0..stations), geometry in prop::bool::weighted(0.2),
        after in prop::collection::vec(0_usize..12, 0..2),
    ) -> (Group, Vec<usize>) {
        let (from, to) = (range.0.min(range.1), range.0.max(range.1));
        let to = if geometry { from } else { to };
        let kinds = if both { vec![0, 1] } else { vec![tool % 2] };
        let stations = (from..=to).collect();
        (Group { joints, ticks, start, tool, kinds, after: vec![], zone, stations, geometry }, after)
    }
}

fn any_shop() -> impl Strategy<Value = Shop> {
    (2_usize..5, 12_u32..40, 1_u32..5, 0_u32..4).prop_flat_map(|(stations, ticks, most, change)| {
        prop::collection::vec(any_group(stations), 1..9).prop_map(move |rows| {
            let mut groups: Vec<Group> = Vec::new();
            for (mut group, after) in rows {
                // Only what came before, and only where the stations allow it.
                group.after = after
                    .into_iter()
                    .filter(|before| {
                        let earlier: Option<&Group> = groups.get(*before);
                        earlier.is_some_and(|e| e.stations[0] <= *group.stations.last().unwrap())
                    })
                    .collect();
                groups.push(group);
            }
            Shop {
                groups,
                stations: vec![Place { ticks, most }; stations],
                kinds: vec![
                    Kind { cost: 1, change },
                    Kind {
                        cost: 1,
                        change: 2 * change,
                    },
                ],
            }
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_plan_makes_all_joints_once_in_order_alone_in_its_zones_and_in_time(shop in any_shop()) {
        if let Ok(plan) = solved(&shop, 300) {
            prop_assert_eq!(broken(&shop, &plan), Vec::<String>::new());
            if plan.holds() {
                prop_assert!(plan.robots() as u64 >= plain_bound(&shop));
                prop_assert!(bound(&shop) >= plain_bound(&shop) || shop.kinds.len() > 1);
            }
        }
    }

    #[test]
    fn the_same_question_has_the_same_plan_on_one_thread_and_on_many(shop in any_shop()) {
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| solved(&shop, 100))
        };
        prop_assert_eq!(on(1), on(3));
    }
}

#[test]
fn nine_hundred_rivets_take_nineteen_robots() {
    // 237.6 s at 92 % less 12 s of overhead, 2.0 + 2.2 s a rivet: 49 a robot
    // (arithmetic; robots for 900 rivets).
    let net = (237_600.0 * 0.92 - 12_000.0) as u32;
    let rivets = group(900, 4_200, &(0..10).collect::<Vec<_>>());
    let plan = solved(&shop(vec![rivets], 10, net, 4), 500).unwrap();
    assert_eq!((plan.robots(), plan.bound), (19, 19));
    assert_eq!(
        plan.stations[0][0].steps.iter().map(|s| s.joints).max(),
        Some(49)
    );
}

#[test]
fn two_robots_take_turns_in_one_zone_and_their_waiting_is_seen() {
    let zone = |tool| Group {
        tool,
        zone: Some(0),
        ..group(5, 4, &[0])
    };
    let mut both = shop(vec![zone(0), zone(1)], 1, 41, 2);
    both.kinds[0].change = 10;
    let plan = solved(&both, 100).unwrap();
    // One robot would take 40 and twice 10 of change; two wait for each other.
    assert_eq!(plan.robots(), 2);
    let mut spans: Vec<_> = plan.stations[0]
        .iter()
        .map(|r| (r.steps[0].start, r.end))
        .collect();
    spans.sort_unstable();
    assert_eq!(spans, [(0, 20), (20, 40)]);
}

#[test]
fn geometry_comes_first_in_its_frame_after_the_bead_below_it() {
    let bead = group(1, 10, &[0, 1]);
    let frame = Group {
        after: vec![0],
        geometry: true,
        ..group(6, 2, &[1])
    };
    let rest = group(9, 2, &[1, 2]);
    let question = shop(vec![bead, frame, rest], 3, 30, 2);
    let plan = solved(&question, 200).unwrap();
    assert_eq!(broken(&question, &plan), Vec::<String>::new());
    assert!(plan.holds());
}

#[test]
fn what_no_robot_can_do_is_said_before_any_search() {
    let mut long = shop(vec![group(3, 50, &[0])], 1, 40, 2);
    assert!(matches!(
        solved(&long, 10).unwrap_err()[..],
        [Fault::LongerThanTakt {
            ticks: 50,
            takt: 40,
            ..
        }]
    ));
    long.groups = vec![
        Group {
            after: vec![1],
            ..group(1, 1, &[0])
        },
        Group {
            after: vec![0],
            ..group(1, 1, &[0])
        },
    ];
    assert!(matches!(
        solved(&long, 10).unwrap_err()[..],
        [Fault::Circle { .. }]
    ));
    let crowded = Group {
        zone: Some(4),
        ..group(6, 8, &[0])
    };
    let faults = solved(&shop(vec![crowded], 1, 40, 4), 10).unwrap_err();
    assert!(matches!(
        faults[..],
        [Fault::ZoneTooLong {
            ticks: 48,
            takt: 40,
            ..
        }]
    ));
    assert!(faults[0].to_string().contains("divide the zone"));
    let back = vec![
        group(1, 1, &[1]),
        Group {
            after: vec![0],
            ..group(1, 1, &[0])
        },
    ];
    assert!(matches!(
        solved(&shop(back, 2, 40, 1), 10).unwrap_err()[..],
        [Fault::NoRoom { task: 1, .. }]
    ));
}

#[test]
fn joints_beyond_the_robots_that_have_room_are_left_and_told() {
    let plan = solved(&shop(vec![group(30, 4, &[0])], 1, 40, 2), 100).unwrap();
    assert_eq!(plan.left, [(0, 10)]);
    assert!(!plan.holds());
}

#[test]
fn a_cancelled_search_gives_what_it_has() {
    let cancel = AtomicBool::new(true);
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {},
    };
    let plan = allocate(&shop(vec![group(30, 4, &[0, 1])], 2, 40, 2), 1_000, &watch).unwrap();
    assert!(!plan.complete);
}

/// A body of the size that a plant has: 60 stations in 6 lines, 250 groups.
fn body() -> Shop {
    let mut seed = 11_u64;
    let mut next = |below: u64| {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % below
    };
    let mut groups: Vec<Group> = Vec::new();
    // The first station that the order leaves to each.
    let mut earliest: Vec<usize> = Vec::new();
    for at in 0..250_usize {
        let line = at % 6;
        let first = line * 10 + next(8) as usize;
        let tool = next(5) as usize;
        let fixed = next(6) == 0;
        let stations: Vec<usize> = if fixed {
            vec![first]
        } else {
            (first..line * 10 + 10).collect()
        };
        let earlier = groups.len().checked_sub(6).filter(|_| next(4) == 0);
        let last = *stations.last().unwrap();
        let after = earlier.filter(|before| earliest[*before] <= last);
        let after: Vec<usize> = after.into_iter().collect();
        let pushed = after
            .iter()
            .map(|before| earliest[*before])
            .max()
            .unwrap_or(0);
        earliest.push(pushed.max(stations[0]));
        let geometry = fixed && next(3) == 0;
        groups.push(Group {
            joints: if geometry { 6 } else { 8 + next(16) as u32 },
            ticks: 280 + 10 * next(17) as u32,
            start: 100,
            tool,
            kinds: vec![tool],
            after,
            zone: (next(3) > 0).then(|| line * 8 + next(8) as usize),
            stations,
            geometry,
        });
    }
    Shop {
        groups,
        stations: vec![
            Place {
                ticks: 15_300,
                most: 6
            };
            60
        ],
        kinds: vec![
            Kind {
                cost: 1,
                change: 1_200
            };
            5
        ],
    }
}

#[test]
fn a_whole_body_is_within_three_percent_of_its_bound_and_says_how_far_it_is() {
    let shop = body();
    let told = Mutex::new(Vec::new());
    let cancel = AtomicBool::new(false);
    let watch = Watch {
        cancel: &cancel,
        progress: &|p| told.lock().unwrap().push(p),
    };
    let plan = allocate(&shop, 20_000, &watch).unwrap();
    assert_eq!(broken(&shop, &plan), Vec::<String>::new());
    assert_eq!(plan.left, []);
    assert!(plan.cost as f64 <= 1.03 * plan.bound as f64);
    assert!(
        told.lock()
            .unwrap()
            .iter()
            .any(|p| p.best == Some(plan.cost))
    );
}
