//! The coil shop on small books: what an engineer would check by hand.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

use book::Book;
use book::small::book;
use shops::coil::{Coil, NoPlan, PartNeed, Shelf, Watch, plan};

/// A rectangular lid of 800 by 500 mm and a right-angled corner plate, cut
/// without webs so that all can be checked by hand.
const LID: &str = "
    [plant]
    setting,value
    weeks_per_year,50
    coil_width_step_mm,0
    [materials]
    material,density_kg_m3,price_per_kg,scrap_price_per_kg
    5754-O,2700,4,1.5
    [coils]
    coil,material,gauge_mm,width_mm,mass_kg,lead_time_days,on_hand
    narrow,5754-O,1,500,4000,7,4
    wide,5754-O,1,1000,8000,7,4
    [press_lines]
    press_line,shop,kind,web_mm,edge_mm,head_m,tail_m,bed_x_mm,bed_y_mm
    die line,blanking,blanking,0,0,0,0,4000,2000
    [outlines]
    outline,path,point,x_mm,y_mm
    lid,0,1,0,0
    lid,0,2,800,0
    lid,0,3,800,500
    lid,0,4,0,500
    plate,0,1,0,0
    plate,0,2,400,0
    plate,0,3,0,300
    [parts]
    part,material,gauge_mm,outline,blank_line,blanks_per_min,grain_from_deg,grain_to_deg
";

fn with_parts(parts: &str) -> Book {
    book(&format!("{LID}{parts}"))
}

fn need(part: &str, blanks: f64) -> PartNeed {
    PartNeed {
        part: part.to_owned(),
        blanks: vec![blanks; 13],
    }
}

fn planned(book: &Book, needs: &[PartNeed]) -> Result<Coil, NoPlan> {
    plan(book, needs, &Shelf::new(), &Watch::none())
}

/// Codes, rows and way out of what is wrong.
fn wrong(book: &Book, needs: &[PartNeed]) -> Vec<(String, Option<u32>, String)> {
    match planned(book, needs) {
        Err(NoPlan::Problems(problems)) => problems
            .into_iter()
            .map(|problem| (problem.code, problem.row, problem.mend))
            .collect(),
        other => panic!("expected problems, found {other:?}"),
    }
}

const ONE_LID: &str = "lid,5754-O,1,lid,die line,30,0,0";

#[test]
fn a_lid_as_wide_as_its_strip_wastes_nothing_and_costs_its_metal() {
    let coil = planned(&with_parts(ONE_LID), &[need("lid", 100.0)]).unwrap();
    let lid = &coil.parts[0];
    let best = &lid.layouts[0];
    assert_eq!(best.coil, "narrow");
    assert!((best.pitch_mm - 800.0).abs() < 1e-6 && (best.utilisation - 1.0).abs() < 1e-9);
    // 0.8 m x 0.5 m x 1 mm x 2700 kg/m3 = 1.08 kg; a coil of 4000 kg has 3703 of them.
    assert!((lid.net_kg - 1.08).abs() < 1e-9);
    assert_eq!(best.blanks_of_a_coil, 3703.0);
    // 4000/3703 kg at 4, less 0.0002 kg of scrap at 1.5.
    let gross = 4000.0 / 3703.0;
    assert!((best.cost - (gross * 4.0 - (gross - 1.08) * 1.5)).abs() < 1e-9);
    let figure = &coil.figures[best.figure.as_ref().unwrap()];
    assert_eq!(figure.working.formula, "blank-from-coil");
    assert!((figure.value - best.cost).abs() < 1e-12);
}

#[test]
fn the_layout_that_lost_says_by_how_much() {
    let coil = planned(&with_parts(ONE_LID), &[need("lid", 100.0)]).unwrap();
    let lid = &coil.parts[0];
    let next = lid.runner_up.as_ref().unwrap();
    assert!(next.cost_more >= 0.0);
    assert!((next.cost_more_a_year - next.cost_more * 100.0 * 50.0).abs() < 1e-9);
    assert!(
        lid.layouts
            .windows(2)
            .skip(1)
            .all(|pair| pair[0].cost <= pair[1].cost)
    );
}

#[test]
fn a_blank_that_no_strip_takes_names_the_least_width() {
    // Turned by 90 degrees within its grain window it is 800 mm high.
    let narrow = LID.replace("wide,5754-O,1,1000,8000,7,4", "");
    let book = book(&format!("{narrow}lid,5754-O,1,lid,die line,30,90,90"));
    let problems = wrong(&book, &[need("lid", 100.0)]);
    assert_eq!(problems.len(), 1);
    let (code, row, mend) = &problems[0];
    assert_eq!((code.as_str(), *row), ("parts/no-width", Some(2)));
    assert!(
        mend.contains("800 mm") && mend.contains("grain window"),
        "{mend}"
    );
}

#[test]
fn an_alloy_and_gauge_without_a_coil_is_named_with_its_part() {
    let book = with_parts("lid,5754-O,2,lid,die line,30,,");
    let problems = wrong(&book, &[need("lid", 100.0)]);
    assert_eq!(problems[0].0, "parts/no-coil");
    assert!(problems[0].2.contains("5754-O 2 mm"));
}

#[test]
fn a_self_crossing_outline_is_named_with_the_rows_of_both_edges() {
    let crossed = LID
        .replace("lid,0,3,800,500", "lid,0,3,0,500")
        .replace("lid,0,4,0,500", "lid,0,4,800,500");
    let book = book(&format!("{crossed}{ONE_LID}"));
    let Err(NoPlan::Problems(problems)) = planned(&book, &[need("lid", 1.0)]) else {
        panic!("a crossed outline is no blank");
    };
    assert_eq!(problems[0].code, "outlines/crosses-itself");
    assert!(problems[0].row.is_some_and(|row| (2..=5).contains(&row)));
    assert!(
        problems[0].found.contains("the other in row"),
        "{}",
        problems[0].found
    );
}

#[test]
fn a_hole_outside_its_blank_is_named_with_its_row() {
    let holed = LID.replace(
        "lid,0,4,0,500",
        "lid,0,4,0,500\nlid,1,1,900,100\nlid,1,2,950,100\nlid,1,3,950,150",
    );
    let book = book(&format!("{holed}{ONE_LID}"));
    let problems = wrong(&book, &[need("lid", 1.0)]);
    assert_eq!(
        (problems[0].0.as_str(), problems[0].1),
        ("outlines/hole-outside", Some(6))
    );
}

#[test]
fn a_web_wider_than_the_part_is_refused_at_its_line() {
    let webbed = LID.replace(
        "die line,blanking,blanking,0,0",
        "die line,blanking,blanking,900,0",
    );
    let book = book(&format!("{webbed}{ONE_LID}"));
    let problems = wrong(&book, &[need("lid", 1.0)]);
    assert_eq!(
        (problems[0].0.as_str(), problems[0].1),
        ("press_lines/strip", Some(2))
    );
    assert!(problems[0].2.contains("500 mm"), "{}", problems[0].2);
}

#[test]
fn a_part_without_an_outline_and_a_metal_without_a_price_are_told_at_once() {
    let poor = LID.replace("5754-O,2700,4,1.5", "5754-O,2700,,1.5");
    let book = book(&format!("{poor}{ONE_LID}\ncap,5754-O,1,,die line,30,,"));
    let codes: Vec<String> = wrong(&book, &[]).into_iter().map(|found| found.0).collect();
    assert_eq!(codes, ["parts/no-blank", "materials/no-price"]);
}

#[test]
fn what_needs_no_laying_is_told_without_it_and_all_at_once() {
    let faulty = LID
        .replace("5754-O,2700,4,1.5", "5754-O,2700,4,9")
        .replace("lid,0,3,800,500", "lid,0,3,0,500")
        .replace("lid,0,4,0,500", "lid,0,4,800,500")
        .replace(
            "die line,blanking,blanking,0,0",
            "die line,blanking,blanking,900,0",
        );
    let parts = "lid,5754-O,1,lid,die line,30,,\nplate,5754-O,1,plate,die line,30,,\n\
                 thick,5754-O,3,plate,die line,30,,\nbare,5754-O,1,,die line,30,,";
    let codes: Vec<String> = shops::coil::problems(&book(&format!("{faulty}{parts}")))
        .into_iter()
        .map(|problem| problem.code)
        .collect();
    for code in [
        "outlines/crosses-itself",
        "materials/dear-scrap",
        "press_lines/strip",
        "parts/no-coil",
        "parts/no-blank",
    ] {
        assert!(codes.iter().any(|own| own == code), "{code}: {codes:?}");
    }
    // A sound book, and one that cuts nothing, have nothing against them.
    assert!(shops::coil::problems(&with_parts(ONE_LID)).is_empty());
    assert!(shops::coil::problems(&with_parts("")).is_empty());
}

#[test]
fn a_need_below_nothing_is_refused() {
    let problems = wrong(&with_parts(ONE_LID), &[need("lid", -1.0)]);
    assert_eq!(problems[0].0, "parts/need");
}

#[test]
fn a_coil_that_comes_three_percent_thick_is_three_percent_short() {
    let thick = LID
        .replace(
            "lead_time_days,on_hand",
            "lead_time_days,on_hand,thicker_mm",
        )
        .replace(
            "narrow,5754-O,1,500,4000,7,4",
            "narrow,5754-O,1,500,4000,7,4,0.03",
        );
    let book = book(&format!("{thick}{ONE_LID}"));
    let coil = planned(&book, &[need("lid", 100.0)]).unwrap();
    let narrow = &coil.coils[0];
    // 1 - 1/1.03.
    assert!((narrow.gauge_loss - 0.029_126).abs() < 1e-6);
    assert!((narrow.length_m - 4000.0 / (0.5 * 0.001_03 * 2700.0)).abs() < 1e-9);
}

#[test]
fn a_coil_heavier_than_its_diameters_hold_is_told_with_both_masses() {
    let heavy = LID
        .replace(
            "lead_time_days,on_hand",
            "lead_time_days,on_hand,inner_mm,outer_mm",
        )
        .replace(
            "narrow,5754-O,1,500,4000,7,4",
            "narrow,5754-O,1,500,4000,7,4,500,1300",
        )
        .replace(
            "wide,5754-O,1,1000,8000,7,4",
            "wide,5754-O,1,1000,3000,7,4,500,1300",
        );
    let coil = planned(&book(&format!("{heavy}{ONE_LID}")), &[need("lid", 100.0)]).unwrap();
    let told: Vec<_> = coil
        .notes
        .iter()
        .filter(|note| note.code == "coils/mass-and-diameter")
        .collect();
    // pi/4 (1.3^2 - 0.5^2) m2 x 0.5 m x 2700 kg/m3 = 1526.8 kg, and twice that.
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].row, Some(2));
    assert!(
        told[0].found.contains("4000 kg") && told[0].found.contains("1527 kg"),
        "{}",
        told[0]
    );
    assert!(told[0].mend.contains("outer_mm"), "{}", told[0]);
}

#[test]
fn holding_one_coil_for_all_is_chosen_when_only_one_may_be_held() {
    let two = format!("{ONE_LID}\nplate,5754-O,1,plate,die line,30,,");
    let one = LID.replace(
        "coil_width_step_mm,0",
        "coil_width_step_mm,0\ncoil_specifications,1",
    );
    let needs = [need("lid", 3000.0), need("plate", 3000.0)];
    let coil = planned(&book(&format!("{one}{two}")), &needs).unwrap();
    assert_eq!(coil.holding.chosen.len(), 1);
    assert!(coil.holding.gap < 1e-9);
    assert!(
        coil.parts
            .iter()
            .all(|part| part.to_cut_from == coil.holding.chosen[0].coil)
    );
    // More freedom never costs more.
    let free = planned(&with_parts(&two), &needs).unwrap();
    assert!(free.holding.then.all <= coil.holding.then.all + 1e-6);
    let costs: Vec<f64> = free.holding.by_number.iter().map(|one| one.cost).collect();
    assert!(costs.windows(2).all(|pair| pair[1] <= pair[0]));
}

#[test]
fn an_empty_coil_is_not_hidden_behind_a_full_one() {
    let short = LID.replace(
        "narrow,5754-O,1,500,4000,7,4",
        "narrow,5754-O,1,500,4000,21,0",
    );
    let coil = planned(&book(&format!("{short}{ONE_LID}")), &[need("lid", 3000.0)]).unwrap();
    assert!(!coil.holds);
    let emptiest = coil.orders.emptiest.as_ref().unwrap();
    assert_eq!(
        (emptiest.coil.as_str(), emptiest.cover_days),
        ("narrow", 0.0)
    );
    assert_eq!(coil.orders.coils[0].runs_out, Some(1));
    assert!(coil.notes.iter().any(|note| note.code == "coils/runs-out"));
}

#[test]
fn a_coil_that_is_emptier_now_than_ever_after_is_the_emptiest_now() {
    // 3703 lids of a coil, five coils a week; one lies there, ten come in week 1.
    let fed = LID
        .replace(
            "narrow,5754-O,1,500,4000,7,4",
            "narrow,5754-O,1,500,4000,7,1",
        )
        .replace(
            "[press_lines]",
            "[deliveries]\ncoil,week,coils\nnarrow,1,10\n[press_lines]",
        );
    let book = book(&format!("{fed}{ONE_LID}"));
    let coil = planned(&book, &[need("lid", 3703.0 * 5.0)]).unwrap();
    let orders = &coil.orders;
    let emptiest = orders.emptiest.as_ref().unwrap();
    // Five coils a week: one lasts a fifth of a week, 1.4 days.
    assert_eq!((emptiest.coil.as_str(), emptiest.week), ("narrow", 0));
    assert!((emptiest.cover_days - 1.4).abs() < 1e-9);
    let narrow = &orders.coils[0];
    assert!((narrow.least_cover_days - 1.4).abs() < 1e-9);
    let week = &narrow.weeks[0];
    assert_eq!((week.before, week.due), (1.0, 10));
    assert!((week.before_days - 1.4).abs() < 1e-9);
    // A delivery after Tuesday comes too late.
    assert_eq!(orders.delivery_day, "Monday");
    let told = coil.notes.iter().find(|n| n.code == "coils/needed-early");
    assert!(told.unwrap().found.contains("1.4 days"), "{told:?}");
}

#[test]
fn coils_of_which_nothing_is_cut_take_places_too() {
    let full = LID
        .replace(
            "[plant]\n    setting,value",
            "[plant]\n    setting,value\n    coil_places,7",
        )
        .replace(
            "wide,5754-O,1,1000,8000,7,4",
            "wide,5754-O,1,1000,8000,7,4\nidle,5754-O,2,1000,8000,7,3",
        );
    let coil = planned(&book(&format!("{full}{ONE_LID}")), &[need("lid", 100.0)]).unwrap();
    let unused: Vec<_> = coil
        .notes
        .iter()
        .filter(|n| n.code == "coils/not-used")
        .collect();
    assert_eq!(unused.len(), 2);
    assert!(
        unused.iter().all(|note| note.mend.contains("sell them")),
        "{unused:?}"
    );
    // 4 narrow, 4 wide and 3 of another gauge.
    assert_eq!(coil.orders.stored_now, 11.0);
    assert_eq!(coil.orders.stored_after_deliveries[0], 11.0);
    assert!(!coil.holds);
    let places = coil
        .notes
        .iter()
        .find(|n| n.code == "plant/coil-places")
        .unwrap();
    assert!(
        places.found.contains("11 coils in the store now"),
        "{places}"
    );
}

#[test]
fn deliveries_of_one_day_that_find_no_place_are_told_with_what_finds_one() {
    let fed = LID
        .replace(
            "[plant]\n    setting,value",
            "[plant]\n    setting,value\n    coil_places,12",
        )
        .replace(
            "[press_lines]",
            "[deliveries]\ncoil,week,coils\nnarrow,1,6\n[press_lines]",
        );
    let coil = planned(
        &book(&format!("{fed}{ONE_LID}")),
        &[need("lid", 3703.0 * 5.0)],
    )
    .unwrap();
    assert_eq!(coil.orders.stored_after_deliveries[0], 14.0);
    assert!(coil.holds, "spread over the week they find their places");
    let places = coil
        .notes
        .iter()
        .find(|n| n.code == "plant/coil-places")
        .unwrap();
    assert!(places.mend.contains("4 coils on the first"), "{places}");
}

#[test]
fn a_left_and_a_right_plate_share_a_strip_where_that_is_cheaper() {
    let paired = LID
        .replace(
            "grain_from_deg,grain_to_deg",
            "grain_from_deg,grain_to_deg,mirrored,strip_with",
        )
        .replace(
            "die line,blanking,blanking,0,0",
            "die line,blanking,blanking,6,6",
        );
    let book = book(&format!(
        "{paired}left,5754-O,1,plate,die line,30,0,0,no,right\nright,5754-O,1,plate,die line,30,0,0,yes,"
    ));
    let coil = planned(&book, &[need("left", 500.0), need("right", 500.0)]).unwrap();
    let (left, right) = (&coil.parts[0], &coil.parts[1]);
    assert_eq!(left.with.is_some(), right.with.is_some());
    if left.with.is_some() {
        assert_eq!(left.layouts[0].kind, "mixed_pair");
        assert_eq!(left.layouts[0].coil, right.layouts[0].coil);
    }
    // Turned over, the right part costs what the left one does.
    let alone = |part: &shops::coil::StripPart| {
        part.layouts
            .iter()
            .find(|l| l.kind == "single")
            .map(|l| l.cost)
            .unwrap()
    };
    assert!((alone(left) - alone(right)).abs() < 1e-9);
    assert!(coil.svg(left, 0).unwrap().starts_with("<svg"));
    assert!(coil.dxf(right, 0).unwrap().contains("POLYLINE"));
}

#[test]
fn a_pair_that_loses_is_shown_with_what_it_would_cost() {
    let asked = LID.replace(
        "grain_from_deg,grain_to_deg",
        "grain_from_deg,grain_to_deg,strip_with",
    );
    // The lid fills the narrow strip alone: no pair is better than nothing wasted.
    let book = book(&format!(
        "{asked}lid,5754-O,1,lid,die line,30,0,0,plate\nplate,5754-O,1,plate,die line,30,,,"
    ));
    let coil = planned(&book, &[need("lid", 500.0), need("plate", 500.0)]).unwrap();
    for (part, other) in [("lid", "plate"), ("plate", "lid")] {
        let part = coil.part(part).unwrap();
        assert_eq!(part.with, None);
        let beside = part.beside.as_ref().unwrap();
        assert_eq!(beside.part, other);
        assert!(beside.cost_a_week.unwrap() > beside.apart_a_week);
        assert!(
            beside.why.contains("of the metal in blanks against"),
            "{}",
            beside.why
        );
        let at = beside.layout.unwrap() as usize;
        let tried = &part.layouts[at];
        assert_eq!(tried.kind, "mixed_pair");
        assert!(tried.utilisation > 0.0 && tried.utilisation <= tried.bound + 1e-9);
        assert!(coil.svg(part, at).unwrap().contains(other));
    }
}

#[test]
fn a_pair_too_wide_for_every_coil_is_told_with_the_reason() {
    let asked = LID
        .replace(
            "grain_from_deg,grain_to_deg",
            "grain_from_deg,grain_to_deg,strip_with",
        )
        .replace("wide,5754-O,1,1000,8000,7,4\n", "")
        // A bed that takes one blank at a time.
        .replace("0,0,0,0,4000,2000", "0,0,0,0,900,2000");
    let book = book(&format!(
        "{asked}lid,5754-O,1,lid,die line,30,0,0,other\nother,5754-O,1,lid,die line,30,0,0,"
    ));
    let coil = planned(&book, &[need("lid", 500.0), need("other", 500.0)]).unwrap();
    let lid = coil.part("lid").unwrap();
    assert_eq!(lid.beside.as_ref().unwrap().layout, None);
    let pair = lid
        .without
        .iter()
        .find(|none| none.kind == "mixed_pair")
        .unwrap();
    assert!(pair.why.contains("`other`"), "{}", pair.why);
}

#[test]
fn a_runner_up_never_gives_two_like_numbers_as_its_reason() {
    let coil = planned(&with_parts(ONE_LID), &[need("lid", 100.0)]).unwrap();
    let why = &coil.parts[0].runner_up.as_ref().unwrap().why;
    assert!(!why.contains("or is the less simple"), "{why}");
    if let Some((before, after)) = why.split_once(" against ") {
        let last = before.rsplit(": ").next().unwrap();
        assert!(
            !after.starts_with(last.split(" of").next().unwrap()),
            "{why}"
        );
    }
}

#[test]
fn what_is_laid_once_stays_on_the_shelf() {
    let book = with_parts(ONE_LID);
    let never = AtomicBool::new(false);
    let told = Mutex::new(Vec::new());
    let watch = Watch {
        cancel: &never,
        progress: &|at| told.lock().unwrap().push((at.done, at.of)),
    };
    let shelf = Shelf::new();
    let first = plan(&book, &[need("lid", 100.0)], &shelf, &watch).unwrap();
    let laid = shelf.len();
    let again = plan(&book, &[need("lid", 100.0)], &shelf, &watch).unwrap();
    assert_eq!(first, again);
    assert_eq!(shelf.len(), laid);
    assert!(
        told.lock()
            .unwrap()
            .iter()
            .all(|(done, of)| done <= of && *of > 0)
    );
}

/// Lids of which the widest coil loses most, and widths in steps of a centimetre to
/// think of.
fn wasteful() -> Book {
    let plant = LID
        .replace("coil_width_step_mm,0", "coil_width_step_mm,10")
        .replace(
            "narrow,5754-O,1,500,4000,7,4",
            "narrow,5754-O,1,620,4000,7,4",
        );
    let parts: String = (0..6)
        .map(|n| format!("lid {n},5754-O,1,lid,die line,30,,\n"))
        .collect();
    book(&format!("{plant}{parts}"))
}

#[test]
fn while_blanks_are_laid_the_cheapest_way_so_far_is_told_and_the_last_is_the_plan() {
    let book = wasteful();
    let needs: Vec<PartNeed> = (0..6).map(|n| need(&format!("lid {n}"), 100.0)).collect();
    let never = AtomicBool::new(false);
    let told = Mutex::new(Vec::new());
    let watch = Watch {
        cancel: &never,
        progress: &|at| told.lock().unwrap().push(at.best.clone()),
    };
    // One thread, so that what is told is told in its order.
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let made = pool
        .unwrap()
        .install(|| plan(&book, &needs, &Shelf::new(), &watch));
    let coil = made.unwrap();
    let told = told.into_inner().unwrap();
    assert!(told[0].is_empty(), "no way before every lid lies somewhere");
    let best: Vec<_> = told.into_iter().filter(|best| !best.is_empty()).collect();
    let whats: Vec<&str> = best[0].iter().map(|one| one.what.as_str()).collect();
    let money = format!("{} a year for coils", coil.currency);
    assert_eq!(whats, [&money, "t of coil a week", "% of it not in blanks"]);
    for pair in best.windows(2) {
        assert!(pair[1][0].value <= pair[0][0].value, "{pair:?}");
    }
    let first = &best[0];
    assert!(
        (first[0].value - coil.holding.now.all).abs() < 1e-6,
        "{first:?}"
    );
    assert!((first[1].value - coil.metal.bought_kg / 1e3).abs() < 1e-9);
    assert!((first[2].value - 100.0 * (1.0 - coil.metal.utilisation)).abs() < 1e-9);
    assert!(
        coil.holding.then.all < coil.holding.now.all,
        "another width is cheaper"
    );
    assert!(best.last().unwrap()[0].value >= coil.holding.then.all - 1e-6);
}

#[test]
fn a_cancelled_plan_is_no_plan() {
    let pressed = AtomicBool::new(true);
    let watch = Watch {
        cancel: &pressed,
        progress: &|_| {},
    };
    let book = with_parts(ONE_LID);
    let outcome = plan(&book, &[need("lid", 100.0)], &Shelf::new(), &watch);
    assert_eq!(outcome, Err(NoPlan::Cancelled));
}

#[test]
fn the_plan_is_one_json_object() {
    let coil = planned(&with_parts(ONE_LID), &[need("lid", 100.0)]).unwrap();
    let json = serde_json::to_value(&coil).unwrap();
    assert_eq!(json["parts"][0]["layouts"][0]["coil"], "narrow");
}
