//! The press shop's plan in sentences of the trade.

use book::{At, Book, Material, OutlinePoint, Part, PartSource, PressKind, PressLine, Table};
use formulas::Sourced;
use units::{Count, Days, Kilograms, Kilonewtons, Megapascals, Millimetres, Minutes, Money, Share};

use super::*;

fn at(table: Table, row: u32) -> At {
    At { table, row }
}

/// A square blank of one metre, so that its cut is 4,000 mm.
fn square() -> Vec<OutlinePoint> {
    let corners = [
        (0.0, 0.0),
        (1_000.0, 0.0),
        (1_000.0, 1_000.0),
        (0.0, 1_000.0),
    ];
    (0_u32..)
        .zip(corners)
        .map(|(point, (x, y))| OutlinePoint {
            outline: "square".into(),
            point,
            x_mm: Millimetres(x),
            y_mm: Millimetres(y),
            at: at(Table::Outlines, point + 2),
            ..OutlinePoint::default()
        })
        .collect()
}

fn panel(name: &str, row: u32) -> Part {
    Part {
        part: name.into(),
        at: at(Table::Parts, row),
        material: Some("soft".into()),
        gauge_mm: Some(Millimetres(1.0)),
        outline: Some("square".into()),
        per_car: 1,
        source: PartSource::Made,
        blank_line: Some("cutter".into()),
        press_line: Some("big".into()),
        strokes_per_min: Some(10.0),
        pieces_per_stroke: 1,
        blanks_per_min: Some(20.0),
        draw_ratio: 1.3,
        rack: 20,
        net_kg: Some(Kilograms(2.7)),
        ..Part::default()
    }
}

fn line(name: &str, row: u32, kind: PressKind, force: f64, change: f64) -> PressLine {
    PressLine {
        press_line: name.into(),
        at: at(Table::PressLines, row),
        shop: "press".into(),
        kind,
        force_kn: Some(Kilonewtons(force)),
        change_min: Minutes(change),
        first_off_min: Minutes(5.0),
        units: 1,
        ..PressLine::default()
    }
}

/// Two panels on one line, with a stronger line beside it.
fn shop() -> Book {
    Book {
        materials: vec![Material {
            material: "soft".into(),
            at: at(Table::Materials, 2),
            density_kg_m3: 2_700.0,
            shear_mpa: Some(Megapascals(150.0)),
            tensile_mpa: Some(Megapascals(220.0)),
            price_per_kg: Some(Money(4.0)),
            ..Material::default()
        }],
        outlines: square(),
        parts: vec![panel("roof", 2), panel("door", 3)],
        press_lines: vec![
            line("cutter", 2, PressKind::Blanking, 6_000.0, 5.0),
            line("big", 3, PressKind::Press, 20_000.0, 10.0),
            line("bigger", 4, PressKind::Press, 40_000.0, 10.0),
        ],
        ..Book::default()
    }
}

fn ask(book: &Book, good: f64, hours: f64) -> Result<Press, Vec<Problem>> {
    let need = Need {
        good,
        begun: good,
        panel_safety: Sourced::from(Count(20.0)),
        blank_safety: Sourced::from(Count(20.0)),
    };
    let days: Vec<(f64, f64)> = (0..5)
        .map(|day| {
            (
                f64::from(day) * 24.0 + 6.0,
                f64::from(day) * 24.0 + 6.0 + hours / 5.0,
            )
        })
        .collect();
    let works = LineHours {
        net_h: hours,
        open: days,
    };
    press(
        &Question {
            book,
            needs: &vec![need; book.parts.len()],
            hours: &vec![works; book.press_lines.len()],
            after: Sourced::from(Days(3.0)),
            search: lots::Settings {
                seed: 1,
                work: 20_000_000,
            },
        },
        &Watch::none(),
    )
}

fn plan(book: &Book, good: f64, hours: f64) -> Press {
    match ask(book, good, hours) {
        Ok(press) => press,
        Err(problems) => panic!("{problems:?}"),
    }
}

#[test]
fn a_flat_part_asks_its_line_for_the_cut_of_its_blank() {
    let press = plan(&shop(), 700.0, 80.0);
    let roof = &press.parts[0];
    // 4,000 mm x 1 mm x 150 MPa = 600 kN, through half a millimetre 0.3 kJ.
    let blanking = roof.blanking.as_ref().unwrap();
    assert!((blanking.force_kn.value - 600.0).abs() < 1e-9);
    assert!((blanking.energy_kj.as_ref().unwrap().value - 0.3).abs() < 1e-9);
    // With 15 % to strip it, 690 of 6,000 kN.
    assert!((blanking.force_used.as_ref().unwrap().value - 0.115).abs() < 1e-9);
    let working = &press.figures[&blanking.force_used.as_ref().unwrap().figure].working;
    assert!(
        working
            .caution
            .as_ref()
            .unwrap()
            .contains("licensed engineer")
    );
    assert_eq!(roof.lines, ["big", "bigger"]);
}

#[test]
fn a_drawn_part_asks_for_its_draw_and_the_blankholder() {
    let mut book = shop();
    book.parts[0].draw_depth_mm = Some(Millimetres(100.0));
    let press = plan(&book, 700.0, 80.0);
    let forming = press.parts[0].forming.as_ref().unwrap();
    // 4,000 / 1.3 mm around the punch x 220 MPa x 0.6 x 4/3 = 541.5 kN, below
    // the 600 kN of trimming: the trim decides.
    assert!((forming.force_kn.value - 600.0).abs() < 1e-9);
    book.parts[0].draw_ratio = 1.6;
    let press = plan(&book, 700.0, 80.0);
    let forming = press.parts[0].forming.as_ref().unwrap();
    let by_hand = 4_000.0 / 1.6 * 220.0 * 0.9 * 4.0 / 3.0 / 1_000.0;
    assert!((forming.force_kn.value - by_hand).abs() < 1e-9);
    let energy = forming.energy_kj.as_ref().unwrap().value;
    assert!((energy - by_hand * 0.1 * 0.7).abs() < 1e-9);
}

#[test]
fn a_part_stronger_than_its_line_is_told_the_force_and_the_strongest_line() {
    let mut book = shop();
    book.parts[1].gauge_mm = Some(Millimetres(40.0));
    let press = plan(&book, 700.0, 80.0);
    let strong: Vec<_> = press
        .too_strong
        .iter()
        .map(|s| (s.part.as_str(), s.line.as_str()))
        .collect();
    assert_eq!(strong, [("door", "cutter"), ("door", "big")]);
    // 24,000 kN and 15 %.
    assert!((press.too_strong[1].force_kn - 27_600.0).abs() < 1e-6);
    assert_eq!(press.too_strong[1].mend, "make it on bigger");
    assert!(
        press.too_strong[0].mend.contains("lacks 21600 kN"),
        "{}",
        press.too_strong[0].mend
    );
    assert!(!press.holds);
    assert_eq!(press.too_strong[1].at.row, 3);
    assert_eq!(press.parts[1].lines, ["bigger"]);
}

#[test]
fn a_bed_too_small_takes_a_line_off_the_list() {
    let mut book = shop();
    book.press_lines[2].bed_x_mm = Some(Millimetres(1_200.0));
    book.press_lines[2].bed_y_mm = Some(Millimetres(900.0));
    assert_eq!(plan(&book, 700.0, 80.0).parts[0].lines, ["big"]);
}

#[test]
fn lots_keep_the_days_that_the_target_leaves() {
    let press = plan(&shop(), 700.0, 80.0);
    assert!(press.holds);
    // 5 days less 3, less a fifth of a day of safety for panels: 1.8 days, 45 %
    // for blanks. Of the rest a half for panels, since blanks wait as long for
    // their press.
    for lot in &press.lots {
        let most = if lot.blanks {
            0.45 * 1.8
        } else {
            0.55 * 1.8 / 2.0
        };
        assert!((lot.most_days.value - most).abs() < 1e-9);
        assert!(lot.longest_days <= most + 1e-9);
        let waits = if lot.blanks { 0.55 * 1.8 / 2.0 } else { 0.2 };
        assert!(lot.oldest_days <= most + waits + 1e-9);
    }
    // A press draws a whole lot of blanks at once.
    for blanks in press.lots.iter().filter(|lot| lot.blanks) {
        let panels = |lot: &&PartLots| lot.part == blanks.part && !lot.blanks;
        let panels = press.lots.iter().find(panels).unwrap();
        let drawn = blanks.used_per_week * panels.longest_days / 7.0;
        assert!((blanks.safety - drawn).abs() < 1e-9);
    }
    let pair: f64 = ["blanks", "panels"]
        .iter()
        .map(|made| {
            let of = press
                .lots
                .iter()
                .filter(|lot| lot.part == "roof" && lot.blanks == (*made == "blanks"));
            of.map(|lot| lot.oldest_days).sum::<f64>()
        })
        .sum();
    assert!(pair <= 2.0 + 1e-9, "blank and panel together {pair} days");
}

#[test]
fn panels_an_hour_count_stops_and_scrap() {
    let mut book = shop();
    book.press_lines[1].mtbf_min = Some(Minutes(190.0));
    book.press_lines[1].mttr_min = Some(Minutes(10.0));
    book.parts[0].scrap = Share(0.02);
    let press = plan(&book, 700.0, 80.0);
    let roof = press
        .lots
        .iter()
        .find(|lot| lot.part == "roof" && !lot.blanks)
        .unwrap();
    // 600 strokes an hour x 0.95 x 0.98.
    assert!((roof.rate_per_hour.value - 600.0 * 0.95 * 0.98).abs() < 1e-9);
}

#[test]
fn places_given_limit_the_lot() {
    let mut book = shop();
    book.parts[0].stock = Some(60);
    let press = plan(&book, 700.0, 80.0);
    let roof = press
        .lots
        .iter()
        .find(|lot| lot.part == "roof" && !lot.blanks)
        .unwrap();
    assert_eq!(roof.most_stock, Some(40.0));
    assert!(roof.peak_stock <= 60.0 + 1e-6, "{}", roof.peak_stock);
}

#[test]
fn a_line_spends_its_week_once() {
    let press = plan(&shop(), 700.0, 80.0);
    for line in &press.lines {
        assert!(line.load <= 1.0 + 1e-9);
        let end = |lot: &CycleLot| lot.start_day + lot.changeover_days + lot.run_days;
        for pair in line.cycle.windows(2) {
            assert!(end(&pair[0]) <= pair[1].start_day + 1e-9, "lots overlap");
        }
        for pair in line.week.windows(2) {
            assert!(pair[0].end_h <= pair[1].start_h + 1e-4, "{pair:?}");
        }
        for lot in &line.week {
            let open = |hour: f64| (6.0 - 1e-4..=22.0 + 1e-4).contains(&(hour % 24.0));
            assert!(
                open(lot.start_h) && open(lot.run_h) && open(lot.end_h),
                "{lot:?}"
            );
        }
    }
}

#[test]
fn the_best_timetable_costs_no_more_than_the_rotation_and_no_less_than_the_bound() {
    let press = plan(&shop(), 700.0, 80.0);
    let (best, common) = (
        press.best.cost_per_year.unwrap(),
        press.common_cycle.cost_per_year.unwrap(),
    );
    let bound = press.lower_bound_per_year.unwrap();
    assert!(best <= common * (1.0 + 1e-9) && best >= bound * (1.0 - 1e-9));
}

#[test]
fn an_overloaded_line_lacks_the_hours_that_arithmetic_says() {
    // 700 panels of each part a week at 600 an hour are 2.33 hours; two parts,
    // each at least every 0.495 days for 15 minutes, are 7.07 hours.
    let press = plan(&shop(), 700.0, 6.0);
    let over = press
        .overload
        .iter()
        .find(|over| over.line == "big")
        .unwrap();
    let needed = 1_400.0 / 600.0 + 2.0 * 7.0 / 0.495 * 0.25;
    assert!(
        (over.missing_h - (needed - 6.0)).abs() < 1e-6,
        "{}",
        over.missing_h
    );
    assert_eq!(over.at.row, 3);
    assert_eq!(over.move_parts.len(), 1);
    assert_eq!(over.move_parts[0].to, ["bigger"]);
    // A minute off each of 28.3 changeovers a week.
    let minutes = (needed - 6.0) * 60.0 / (2.0 * 7.0 / 0.495);
    // Told to a tenth, rounded up.
    let told = over.save_minutes.unwrap();
    assert!(told >= minutes && told < minutes + 0.1);
    assert!(!press.holds && press.lots.iter().all(|lot| lot.line != "big"));
    assert!(
        press
            .notes
            .iter()
            .any(|note| note.code == "press_lines/overloaded")
    );
}

#[test]
fn half_the_changeover_gives_time_or_days_and_racks() {
    let press = plan(&shop(), 700.0, 80.0);
    assert_eq!(press.halved.len(), 3, "each line and both");
    let all = press.halved.last().unwrap();
    assert_eq!(all.line, None);
    assert!(all.hours_per_week >= -1e-9 && all.saved_per_year > 0.0);
    let mean: f64 = press
        .lots
        .iter()
        .map(|lot| lot.oldest_days - 7.0 * lot.safety / lot.used_per_week)
        .sum::<f64>()
        / press.lots.len() as f64;
    assert!((all.days - mean / 2.0).abs() < 1e-9);
    assert!(all.racks >= 0.0);
}

#[test]
fn like_units_share_the_parts_of_their_line() {
    let mut book = shop();
    book.press_lines[1].units = 2;
    let press = plan(&book, 700.0, 80.0);
    let names: Vec<&str> = press.lines.iter().map(|line| line.line.as_str()).collect();
    assert_eq!(names, ["cutter", "big 1", "big 2"]);
}

#[test]
fn a_part_without_speed_is_refused_with_its_row() {
    let mut book = shop();
    book.parts[1].strokes_per_min = None;
    let problems = ask(&book, 700.0, 80.0).unwrap_err();
    assert_eq!(problems[0].code, "parts/no-speed");
    assert_eq!(problems[0].row, Some(3));
}

#[test]
fn a_line_without_changeover_time_is_refused() {
    let mut book = shop();
    book.press_lines[1].change_min = Minutes(0.0);
    book.press_lines[1].first_off_min = Minutes(0.0);
    let problems = ask(&book, 700.0, 80.0).unwrap_err();
    assert!(
        problems
            .iter()
            .all(|problem| problem.code == "parts/no-lots"),
        "{problems:?}"
    );
}

#[test]
fn a_part_without_an_outline_has_lots_but_no_force() {
    let mut book = shop();
    book.parts[1].outline = None;
    let press = plan(&book, 700.0, 80.0);
    assert_eq!(press.parts[1].unknown.as_deref(), Some("no outline"));
    assert!(press.lots.iter().any(|lot| lot.part == "door"));
    assert!(press.notes.iter().any(|note| note.code == "parts/no-force"));
}

#[test]
fn racks_hold_the_highest_stock_and_a_little_more() {
    let press = plan(&shop(), 700.0, 80.0);
    for lot in press.lots.iter().filter(|lot| !lot.blanks) {
        let racks = lot.racks.as_ref().unwrap().value;
        let filled = (lot.peak_stock / 20.0).ceil();
        assert_eq!(racks, ((filled + 2.0) * 1.05).ceil());
    }
}

mod laws {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// Whatever the demand and the hours: a timetable keeps every limit, or
        /// the plan says what is missing; never both, never neither.
        #[test]
        fn a_timetable_or_a_reason(good in 400.0..3_000.0_f64, hours in 5.0..120.0_f64) {
            let press = plan(&shop(), good, hours);
            let told = |line: &&PressLineLots| press.lots.iter().any(|lot| lot.line == line.line);
            let whole = press.lines.iter().all(|line| told(&line));
            prop_assert!(whole || press.best.why.is_some());
            prop_assert_eq!(press.holds, press.best.why.is_none());
            for lot in &press.lots {
                prop_assert!(lot.longest_days <= lot.most_days.value * (1.0 + 1e-9));
            }
            for line in press.lines.iter().filter(|line| line.cycle_days > 0.0) {
                let busy: f64 = line.cycle.iter().map(|lot| lot.changeover_days + lot.run_days).sum();
                prop_assert!(busy <= line.cycle_days * (1.0 + 1e-9));
            }
        }

        /// A heavier gauge never asks for less force, and never opens a line.
        #[test]
        fn thicker_metal_opens_no_line(gauge in 0.5..60.0_f64) {
            let mut book = shop();
            let lines = |book: &Book| plan(book, 700.0, 80.0).parts[0].lines.len();
            book.parts[0].gauge_mm = Some(Millimetres(gauge));
            let thin = lines(&book);
            book.parts[0].gauge_mm = Some(Millimetres(gauge * 1.2));
            prop_assert!(lines(&book) <= thin);
        }
    }
}

#[test]
fn the_larger_work_of_drawing_and_trimming_is_held_against_the_line() {
    let mut book = shop();
    // Drawn deep, the work of drawing is far above that of the trim cut, though
    // the cut takes more force.
    book.materials[0].shear_mpa = Some(Megapascals(900.0));
    book.parts[0].draw_depth_mm = Some(Millimetres(165.0));
    let press = plan(&book, 700.0, 80.0);
    let forming = press.parts[0].forming.as_ref().unwrap();
    assert_eq!(forming.force_kn.figure, "part.roof.cut.force");
    let energy = forming.energy_kj.as_ref().unwrap();
    assert_eq!(energy.figure, "part.roof.draw.energy");
}

#[test]
fn a_longer_target_never_leaves_blanks_without_places() {
    let mut book = shop();
    for part in &mut book.parts {
        (part.stock, part.blank_stock) = (Some(140), Some(160));
    }
    let mut before: Option<f64> = None;
    for target in [5.0, 6.0, 8.0, 20.0] {
        book.plant.coil_to_car_target_days.value = Days(target);
        let press = plan(&book, 700.0, 80.0);
        assert!(press.holds, "{target}: {:?}", press.notes);
        for lot in press.lots.iter().filter(|lot| lot.blanks) {
            assert!(lot.peak_stock <= 160.0 + 1e-6, "{lot:?}");
        }
        let bound = press.lower_bound_per_year.unwrap();
        assert!(before.is_none_or(|before| bound <= before * (1.0 + 1e-9)));
        before = Some(bound);
    }
}

#[test]
fn a_stock_without_a_place_for_a_lot_is_refused_with_the_places_it_takes() {
    let mut book = shop();
    book.parts[1].stock = Some(20);
    let problems = ask(&book, 700.0, 80.0).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert_eq!(problems[0].code, "parts/no-places-left");
    assert_eq!(problems[0].row, Some(3));
    assert_eq!(problems[0].column.as_deref(), Some("stock"));
    assert!(problems[0].expected.contains("21 places"), "{problems:?}");
}

#[test]
fn a_line_that_keeps_up_has_its_timetable_though_another_cannot() {
    let mut book = shop();
    book.press_lines[1].change_min = Minutes(400.0);
    let press = plan(&book, 700.0, 80.0);
    assert!(!press.holds);
    assert_eq!(press.overload[0].line, "big");
    let cutter = press
        .lines
        .iter()
        .find(|line| line.line == "cutter")
        .unwrap();
    assert!(!cutter.cycle.is_empty());
    assert!(press.lots.iter().all(|lot| lot.blanks) && press.lots.len() == 2);
}

#[test]
fn the_ways_out_of_an_overload_free_the_line_when_they_are_gone() {
    let mut book = shop();
    book.press_lines[1].change_min = Minutes(190.0);
    let over = plan(&book, 700.0, 80.0).overload[0].clone();
    // The minutes are rounded up, so that they are enough.
    let minutes = over.save_minutes.unwrap();
    book.press_lines[1].change_min = Minutes(190.0 - minutes);
    let saved = plan(&book, 700.0, 80.0);
    assert!(saved.overload.is_empty(), "{:?}", saved.overload);
    // The line named has room, since nothing is made on it yet.
    book.press_lines[1].change_min = Minutes(190.0);
    for part in &over.move_parts {
        let row = book
            .parts
            .iter_mut()
            .find(|row| row.part == part.part)
            .unwrap();
        match part.to.first() {
            Some(to) => row.press_line = Some(to.clone()),
            None => assert!(
                over.mend.contains("no other line here has room"),
                "{}",
                over.mend
            ),
        }
    }
    assert!(!over.mend.contains("hours a week longer") || over.missing_h <= 168.0 - 80.0);
}
