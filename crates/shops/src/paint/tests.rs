//! The paint shop, by hand-checkable numbers.

use book::Book;
use formulas::Sourced;
use proptest::prelude::*;
use units::{Count, Hours, Minutes};

use super::model::BlockPoint;
use super::{Paint, Question, paint};

/// A line of three conveyors: a cure, a coloured coat and its cure.
const PLAIN: &str = "\
[plant]
setting,value
paint_pitch_m,6
paint_efficiency,0.9
painted_lanes,2
painted_lane_places,12
[colours]
colour,share,change_s,purge_l
chalk,0.4,20,0.35
slate,0.25,20,0.35
tar,0.15,20,0.35
gorse,0.1,20,0.35
kelp,0.06,20,0.35
brick,0.04,20,0.35
[coats]
coat,step,kind,process_s,temperature_c,heat_up_min,least_min,most_min,film_um,transfer_efficiency,solids_share,area_m2,flow_ml_min,coloured,ok_share,density_kg_l,solvent_share,escapes
e-coat cure,1,oven,2100,180,10,20,40,,,,,,,,,,
base,2,spray,420,24,,,,45,0.8,0.6,32.5,400,yes,,1,0.5,0.2
clear cure,3,oven,1800,140,10,20,25,,,,,,,0.85,,,
look,4,inspect,240,,,,,,,,,,,,,,
wax,5,bead,240,,,,,,,,,,,,,,
[repairs]
repair,share,ok_share,fails_to,back_to,time_min,bays
spot,0.8,0.95,again,,40,3
again,0.18,1,,base,60,2
";

fn book(changes: &[(&str, &str)]) -> Book {
    let mut text = PLAIN.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "no `{from}` in the sample");
        text = text.replace(from, to);
    }
    book::check(&book::small::workbook(&text)).book
}

/// 880 minutes a day for 200 good bodies.
fn planned_for(book: &Book, bodies: f64) -> Paint {
    paint(&Question {
        book,
        shop: "paint",
        net: Sourced::from(Minutes(880.0)),
        bodies: Sourced::from(Count(bodies)),
        shut: Hours(55.0),
    })
    .expect("a plan")
}

fn planned(book: &Book) -> Paint {
    planned_for(book, 200.0)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-4 * b.abs().max(1e-3)
}

fn codes(plan: &Paint) -> Vec<&str> {
    let all = plan.broken.iter().chain(&plan.notes);
    all.map(|problem| problem.code.as_str()).collect()
}

#[test]
fn a_conveyor_runs_as_fast_as_its_rate_and_stops_ask() {
    // paint-conveyor: 6 m each 237.6 s is 1.515152 m/min (kinematics)
    let plan = planned(&book(&[]));
    let wax = &plan.steps[4];
    assert!(near(wax.cycle_s.value, 237.6) && near(wax.speed_m_min, 1.515_152));
    assert!(near(wax.length_m, 1.515_152 * 4.0));
    assert!(near(plan.takt_s.value, 264.0));
    // 207.469 passes a day for 200 good bodies
    let base = &plan.steps[1];
    assert!(near(base.bodies, 207.469), "{}", base.bodies);
    assert!(base.cycle_s.value < wax.cycle_s.value);
}

#[test]
fn repairs_load_booth_and_bays_as_the_absorbing_chain_says() {
    // cal-paint-loop, by fundamental matrix: 1.03413 booth passes and 0.124095
    // spot repairs a body entering, final yield 0.996898
    let plan = planned(&book(&[]));
    let repairs = &plan.repairs;
    assert!(near(repairs.final_yield, 0.996_898));
    assert!(near(repairs.first_time_ok.value, 0.85) && !repairs.measured);
    let spot = &repairs.ways[0];
    assert!(near(spot.week, 24.8963) && near(repairs.inspections * 200.0, 207.469));
    // 24.9 spots of 40 min in three bays of 880 min
    assert!(near(spot.load, 24.8963 * 40.0 / 2640.0));
    // again: a wait for the bay's 60 min and the line from base to inspection
    let line: f64 = plan.steps[1..4].iter().map(|step| step.dwell_min).sum();
    assert!(near(repairs.ways[1].delay_h * 60.0, 60.0 + line));
    // what lies before `base` sees no repaired body
    assert!(near(plan.steps[0].passes, 1.0 / repairs.final_yield));
}

#[test]
fn a_film_asks_for_its_litres_and_those_for_whole_applicators() {
    // paint-guns: 3.04688 l at 0.4 l/min, 65 % and 75 % of 237.6 s are 3.94571
    let plan = planned(&book(&[]));
    let film = plan.steps[1].film.as_ref().expect("a film");
    assert!(near(film.litres, 3.046_875) && near(film.wet_um.expect("wet"), 75.0));
    assert!(near(film.missed_l, 0.2 * 3.046_875));
    let guns = film.applicators.as_ref().expect("applicators");
    let cycle = plan.steps[1].cycle_s.value;
    assert!(near(guns.exact, 3.945_71 * 237.6 / cycle));
    assert_eq!(guns.needed.value, guns.exact.ceil());
}

#[test]
fn colours_change_by_chance_and_less_often_in_blocks() {
    // paint-colour: 0.7398 in random order; a block of five has a change in five
    let plan = planned(&book(&[]));
    let colours = plan.colours.expect("colours");
    assert!(near(colours.change_probability.value, 0.7398));
    let five = &colours.curve[4];
    assert!(near(five.changes, colours.bodies / 5.0) && near(five.waiting, 12.0));
    assert!(near(five.purge_l, five.changes * 0.35));
    assert_eq!(colours.curve.len(), 15);
    let least = colours
        .curve
        .iter()
        .map(BlockPoint::cost)
        .fold(f64::MAX, f64::min);
    assert_eq!(colours.curve[colours.best as usize - 1].cost(), least);
}

#[test]
fn an_oven_bears_a_stop_up_to_its_window() {
    let plan = planned(&book(&[]));
    let window = plan.steps[2].window.as_ref().expect("a window");
    // 30 min from door to door, 10 of them to heat up; 25 at most
    assert!(near(window.at_metal_min.value, 20.0));
    assert_eq!(
        window.allowance_min.as_ref().map(|a| a.value.round()),
        Some(5.0)
    );
    let ten = window
        .stops
        .iter()
        .find(|stop| stop.minutes == 10.0)
        .expect("ten");
    assert!(near(ten.over_min, 5.0) && ten.caught == window.bodies);
    // a second pass bakes again
    assert!(near(window.twice_min.expect("repairs come back"), 40.0));
    assert!(codes(&plan).contains(&"coats/repair-bake"));
    assert!(codes(&plan).contains(&"coats/stop-not-borne"));
}

#[test]
fn places_behind_an_oven_let_it_empty_itself() {
    let more = (
        "clear cure,3,oven,1800,140,10,20,25",
        "clear cure,3,oven,1800,140,10,20,25",
    );
    let head = (
        "coat,step,kind,process_s",
        "empty_places,coat,step,kind,process_s",
    );
    let rows = [
        ("\ne-coat cure", "\n,e-coat cure"),
        ("\nbase,", "\n,base,"),
        ("\nclear cure", "\n3,clear cure"),
        ("\nlook", "\n,look"),
        ("\nwax", "\n,wax"),
    ];
    let plan = planned(&book(&[&[more, head][..], &rows[..]].concat()));
    let window = plan.steps[2].window.as_ref().expect("a window");
    let cycle = plan.steps[2].cycle_s.value / 60.0;
    assert!(near(window.stop_min.expect("a stop"), 5.0 + 3.0 * cycle));
    let enough = book(
        &[
            &[more, head, ("\nclear cure", "\n99,clear cure")][..],
            &rows[..2],
            &rows[3..],
        ]
        .concat(),
    );
    let plan = planned(&enough);
    let window = plan.steps[2].window.as_ref().expect("a window");
    assert_eq!(window.stop_min, None, "any stop is borne");
    assert!(window.stops.iter().all(|stop| stop.over_min == 0.0));
}

#[test]
fn an_oven_timed_from_its_door_bakes_too_little() {
    let plan = planned(&book(&[(
        "clear cure,3,oven,1800,140,10,20",
        "clear cure,3,oven,1200,140,10,20",
    )]));
    let problem = &plan.broken[0];
    assert_eq!(problem.code, "coats/oven-too-short");
    assert_eq!(
        (problem.row, problem.column.as_deref()),
        (Some(4), Some("process_s"))
    );
    assert!(problem.found.contains("10.0 min"), "{problem}");
    assert!(problem.mend.contains("at least 1800 s"), "{problem}");
    assert!(!plan.holds);
    // the length follows from the metal, whatever the door says
    let step = &plan.steps[2];
    assert!(near(step.needed_m.value, step.speed_m_min * 30.0));
}

#[test]
fn a_conveyor_that_cannot_hold_the_rate_is_named_with_the_speed_that_can() {
    let slow = &[
        (
            "coat,step,kind,process_s",
            "speed_m_min,length_m,coat,step,kind,process_s",
        ),
        ("\ne-coat cure", "\n,,e-coat cure"),
        ("\nbase,", "\n1.3,9.1,base,"),
        ("\nclear cure", "\n1.5,30,clear cure"),
        ("\nlook", "\n,,look"),
        ("\nwax", "\n,,wax"),
    ];
    let plan = planned(&book(slow));
    assert_eq!(plan.broken[0].code, "coats/speed-too-slow");
    assert!(plan.broken[0].found.contains("277 s"), "{}", plan.broken[0]);
    assert!(
        plan.broken[0].expected.contains("254 s"),
        "{}",
        plan.broken[0]
    );
    // 30 m at 1.5 m/min are 20 min, of which 10 are at temperature
    assert_eq!(plan.broken[1].code, "coats/oven-too-short");
    assert_eq!(plan.broken[1].column.as_deref(), Some("length_m"));
    assert!(plan.broken[1].mend.contains("45.0 m"), "{}", plan.broken[1]);
    assert!(codes(&plan).contains(&"coats/speed-without-reserve"));
    assert!(codes(&plan).contains(&"coats/length-apart"));
}

#[test]
fn too_few_bays_and_too_little_room_say_what_would_do() {
    let plan = planned(&book(&[
        ("spot,0.8,0.95,again,,40,3", "spot,0.8,0.95,again,,40,1"),
        (
            "coat,step,kind,process_s",
            "robots_most,coat,step,kind,process_s",
        ),
        ("\ne-coat cure", "\n,e-coat cure"),
        ("\nbase,", "\n3,base,"),
        ("\nclear cure", "\n,clear cure"),
        ("\nlook", "\n,look"),
        ("\nwax", "\n,wax"),
    ]));
    let bays = plan
        .broken
        .iter()
        .find(|p| p.code == "repairs/too-few-bays")
        .expect("bays");
    assert!(bays.mend.contains("have 2 bays"), "{bays}");
    let room = plan
        .broken
        .iter()
        .find(|p| p.code == "coats/no-room-for-robots")
        .expect("room");
    assert!(
        room.found.contains("room for 3 on `base`, which needs 5"),
        "{room}"
    );
    assert!(room.mend.contains("add 1 more station"), "{room}");
}

#[test]
fn solvent_is_weighed_by_coat_and_held_against_its_limit() {
    let plan = planned(&book(&[]));
    let solvent = plan.solvent.as_ref().expect("solvent");
    // base: 3.046875 l of 1 kg/l, half solvent, a fifth of that escapes
    let base = &solvent.sources[0];
    assert!(near(base.grams, 304.6875 * plan.steps[1].passes));
    assert!(near(
        solvent.per_m2_g * solvent.area_m2,
        solvent.body_g.value
    ));
    let strict = planned(&book(&[(
        "painted_lanes,2",
        "painted_lanes,2\nsolvent_limit_g_m2,5",
    )]));
    let over = strict
        .broken
        .iter()
        .find(|p| p.code == "plant/solvent-limit")
        .expect("over");
    assert_eq!(over.row, Some(5));
}

#[test]
fn heat_of_all_bakes_counts_against_what_a_material_bears() {
    let limits = |rows: &str| {
        format!("[heat_limits]\nlimit,at_c,least_min,most_min,energy_kj_mol\n{rows}[coats]")
    };
    let with = |rows: &str| planned(&book(&[("[coats]", limits(rows).as_str())]));
    // 25 min at 180 in the e-coat oven; 140 counts only with an energy
    let plan = with("adhesive,170,20,,\ntemper,180,,40,115.73171\n");
    assert!(near(plan.heat[0].normal_min.value, 25.0));
    // 20 min at 140: Arrhenius, pace exp(-E/R (1/413.15 - 1/453.15))
    let pace = libm::exp(-115.731_71 / 8.314_462_618e-3 * (1.0 / 413.15 - 1.0 / 453.15));
    assert!(near(plan.heat[1].normal_min.value, 25.0 + 20.0 * pace));
    assert!(near(plan.heat[1].repairs[1].adds_min, 20.0 * pace));
    assert!(plan.holds, "{:?}", plan.broken);
    assert_eq!(
        with("adhesive,170,30,,\n").broken[0].code,
        "heat_limits/too-little-heat"
    );
    assert_eq!(
        with("temper,180,,22,115\n").broken[0].code,
        "heat_limits/too-much-heat"
    );
}

#[test]
fn a_book_without_new_columns_still_gets_lengths_and_litres() {
    let old = "[coats]
coat,step,shop,process_s,temperature_c,film_um,transfer_efficiency,solids_share,area_m2
degrease,1,paint,330,55,,,,
e-coat,2,paint,240,32,20,0.98,0.18,104
cure,3,paint,2160,172,,,,
";
    let start = PLAIN.find("[plant]").expect("the start");
    let plan = planned(&book(&[(&PLAIN[start..], old)]));
    assert_eq!(plan.steps[2].kind, book::CoatKind::Oven);
    assert!(plan.holds && plan.colours.is_none() && plan.solvent.is_none());
    assert!(near(
        plan.steps[1].film.as_ref().expect("film").litres,
        104.0 * 20.0 / 176.4
    ));
    assert!(near(plan.repairs.entering, 1.0) && plan.robots == 0);
}

/// Numbers between 0 and 1, the same at every run (splitmix64, Steele, Lea and
/// Flood 2014).
struct Luck(u64);

impl Luck {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn colour(&mut self, mix: &[f64]) -> usize {
        let mut at = self.next();
        let found = mix.iter().position(|share| {
            at -= share;
            at < 0.0
        });
        found.unwrap_or(mix.len() - 1)
    }
}

/// Bodies come in random colours; a lane paints its block as soon as it is full.
#[test]
fn blocks_collected_out_of_a_random_row_change_and_wait_as_the_formula_says() {
    let mix = [0.4, 0.25, 0.15, 0.1, 0.06, 0.04];
    let colours = planned(&book(&[])).colours.expect("colours");
    for block in [1_u32, 3, 5, 10] {
        let (mut luck, bodies) = (Luck(7), 200_000);
        let (mut lanes, mut last) = ([0_u32; 6], usize::MAX);
        let (mut changes, mut waiting, mut fullest) = (0.0, 0.0, 0_u32);
        for _ in 0..bodies {
            let colour = luck.colour(&mix);
            lanes[colour] += 1;
            if lanes[colour] == block {
                lanes[colour] = 0;
                changes += f64::from(u8::from(last != colour));
                last = colour;
            }
            let held = lanes.iter().sum::<u32>();
            waiting += f64::from(held);
            fullest = fullest.max(held);
        }
        let point = &colours.curve[block as usize - 1];
        let often = changes / f64::from(bodies);
        let formula = point.changes / colours.bodies;
        // Two blocks of one colour in a row need no change: the formula is on the
        // safe side, and exact as colours come.
        assert!(
            often <= formula * 1.01,
            "{block}: {often} against {formula}"
        );
        assert!(block > 1 || (often - formula).abs() < 0.01, "{often}");
        let mean = waiting / f64::from(bodies);
        assert!(
            (mean - point.waiting).abs() < 0.03 * point.waiting + 0.01,
            "{mean}"
        );
        assert!(point.places <= f64::from(6 * (block - 1)));
    }
}

/// The chain by walking bodies through it.
#[test]
fn bodies_walked_through_inspection_and_repairs_load_them_as_the_chain_says() {
    let plan = planned(&book(&[]));
    let mut luck = Luck(11);
    let (mut entered, mut good, mut spots, mut inspected) = (0.0_f64, 0.0, 0.0, 0.0);
    for _ in 0..200_000 {
        entered += 1.0;
        loop {
            inspected += 1.0;
            if luck.next() < 0.85 {
                good += 1.0;
                break;
            }
            let way = luck.next();
            if way < 0.8 {
                spots += 1.0;
                if luck.next() < 0.95 {
                    good += 1.0;
                    break;
                }
            } else if way >= 0.98 {
                break;
            }
        }
    }
    let repairs = &plan.repairs;
    assert!((entered / good - repairs.entering).abs() < 0.001);
    assert!((inspected / good - repairs.inspections).abs() < 0.002);
    assert!((spots / good - repairs.ways[0].visits).abs() < 0.002);
}

/// A store that lets nobody overtake holds at most what comes while the first
/// repaired body is away.
#[test]
fn the_store_holds_all_others_while_a_repaired_body_is_away() {
    let plan = planned(&book(&[]));
    let spot = &plan.store.ways[0];
    let (takt, delay) = (plan.takt_s.value, plan.repairs.ways[0].delay_h * 3_600.0);
    let mut luck = Luck(3);
    let (mut fullest, mut free_at) = (0_usize, Vec::new());
    for body in 0..20_000 {
        let come = f64::from(body) * takt;
        let late = if luck.next() < 0.12 { delay } else { 0.0 };
        free_at.push(come + late);
        let mut latest: f64 = 0.0;
        let held = free_at.iter().skip(free_at.len().saturating_sub(60));
        let held = held.filter(|at| {
            latest = latest.max(**at);
            **at <= come && latest > come
        });
        fullest = fullest.max(held.count());
    }
    let formula = spot.places.value;
    assert!(fullest as f64 <= formula, "{fullest} against {formula}");
    assert!(
        fullest as f64 >= formula - 1.0,
        "{fullest} against {formula}"
    );
    // 24 places in the book
    assert_eq!(plan.store.places, 24);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A conveyor that has to run faster needs no shorter a zone.
    #[test]
    fn more_bodies_never_shorten_a_zone(low in 20.0..300.0_f64, more in 1.0..2.0_f64) {
        let book = book(&[]);
        let (slow, fast) = (planned_for(&book, low), planned_for(&book, low * more));
        for (slow, fast) in slow.steps.iter().zip(&fast.steps) {
            prop_assert!(fast.speed_m_min >= slow.speed_m_min - 1e-9);
            prop_assert!(fast.needed_m.value >= slow.needed_m.value - 1e-9);
            prop_assert!(fast.length_m >= slow.length_m - 1e-9);
        }
    }

    /// Fewer faults load no bay more and send no more bodies round.
    #[test]
    fn more_first_time_ok_never_loads_the_loop_more(ok in 0.3..0.95_f64, more in 0.0..0.05_f64) {
        let of = |ok: f64| {
            let share = format!(",,,,,,,{ok},,,\nlook");
            planned(&book(&[(",,,,,,,0.85,,,\nlook", share.as_str())]))
        };
        let (worse, better) = (of(ok), of(ok + more));
        prop_assert!(better.repairs.inspections <= worse.repairs.inspections + 1e-9);
        for (better, worse) in better.repairs.ways.iter().zip(&worse.repairs.ways) {
            prop_assert!(better.load <= worse.load + 1e-9);
        }
    }

    /// A larger block never changes colour more often, nor waits less.
    #[test]
    fn a_larger_block_never_purges_more(bodies in 20.0..400.0_f64) {
        let colours = planned_for(&book(&[]), bodies).colours.expect("colours");
        for pair in colours.curve.windows(2) {
            prop_assert!(pair[1].purge_l <= pair[0].purge_l + 1e-9);
            prop_assert!(pair[1].waiting >= pair[0].waiting);
        }
    }
}
