//! The money of a small plant whose sums can be done by hand.

use shops::coil::{NoPlan, Shelf, Watch};

use super::{BetterWay, CarMoney, CostKind, Returns, cases, money, returns};
use crate::sample;

/// One line of two stations, a bought part, rivets and two ideas that exclude
/// each other.
const PLANT: &str = "
    [plant]
    setting,value
    weeks_per_year,50
    hurdle_rate,0.10
    person_cost_per_hour,40
    energy_cost_per_kwh,0.2
    relief_share,0
    absence_share,0
    leave_share,0
    rivet_cost,0.05
    overhead_per_year,2000000
    [shifts]
    shop,shift,days,start,end
    body,day,mon-fri,06:00,14:00
    [products]
    product,cars_per_week,price
    short,75,20000
    long,25,24000
    [parts]
    part,source,price,per_car,products,to
    wheel,bought,100,4,,frame
    bench,bought,400,1,long,frame
    [stations]
    station,shop,units,cycle_s,heads,robots,robot,investment,life_years,energy_kw,upkeep_per_year
    weld,body,1,1200,2,2,rivet robot,100000,10,10,5000
    frame,body,1,1400,3,,,50000,10,0,0
    [links]
    from,to,holds
    weld,frame,2
    [joins]
    join,assembly,station,method,count
    roof,body,weld,rivet,100
    [robots]
    robot,kind,investment,life_years,energy_kw,upkeep_per_year
    rivet robot,robot,160000,8,5,8000
    [ideas]
    idea,table,row,column,to,investment,cost_per_year,weeks
    faster frame,stations,frame,cycle_s,1300,200000,10000,0
    fastest frame,stations,frame,cycle_s,1200,900000,10000,0
    paint the floor,stations,frame,upkeep_per_year,900,30000,0,4
";

fn of_text(text: &str) -> CarMoney {
    let workbook = sample::workbook(text);
    money(&workbook, None, &Shelf::new(), &Watch::none()).unwrap()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

#[test]
fn the_cost_of_a_car_is_the_sum_of_its_shops_its_kinds_and_its_products() {
    let found = of_text(PLANT);
    let shops: f64 = found.shops.iter().map(|shop| shop.cost.value).sum();
    let kinds: f64 = found.kinds.iter().map(|kind| kind.cost).sum();
    let items = found.shops.iter().flat_map(|shop| &shop.items);
    let items: f64 = items.map(|item| item.cost.value).sum();
    let products = found.products.iter();
    let products: f64 = products.map(|row| row.cost * row.cars / found.cars).sum();
    for sum in [shops, kinds, items, products] {
        assert!(close(sum, found.total.value), "{sum} {}", found.total.value);
    }
}

#[test]
fn each_kind_of_cost_can_be_done_by_hand() {
    let found = of_text(PLANT);
    let cost = |kind: CostKind| {
        found
            .kinds
            .iter()
            .find(|one| one.kind == kind)
            .unwrap()
            .cost
    };
    // 4 wheels of 100, and a bench of 400 in every fourth car
    assert!(close(cost(CostKind::BoughtParts), 500.0));
    // 100 rivets of 0.05
    assert!(close(cost(CostKind::Consumables), 5.0));
    // 5 people of 40 hours, 40 an hour, for 100 cars a week
    assert!(close(cost(CostKind::People), 5.0 * 40.0 * 40.0 / 100.0));
    // 20 kW while the weld works, 1200 s a car
    assert!(close(cost(CostKind::Energy), 20.0 * 1200.0 / 3600.0 * 0.2));
    // 21000 a year over 5000 cars
    assert!(close(cost(CostKind::Upkeep), 21_000.0 / 5_000.0));
    // A/P at 10 %: 0.162745 for 10 years, 0.187444 for 8 (interest tables)
    let capital = 150_000.0 * 0.162745 + 320_000.0 * 0.187444;
    assert!((cost(CostKind::Capital) - capital / 5_000.0).abs() < 1e-3);
    assert!(close(cost(CostKind::Overhead), 400.0));
}

#[test]
fn people_at_press_lines_are_on_the_payroll_and_their_cost_is_the_same_people() {
    let text = "[shifts]
        shop,shift,days,start,end
        press,early,mon-fri,06:00,14:00
        press,late,mon-fri,14:00,22:00
        [products]
        product,cars_per_week
        van,900
        [plant]
        setting,value
        weeks_per_year,50
        person_cost_per_hour,40
        relief_share,0
        absence_share,0
        leave_share,0
        [press_lines]
        press_line,shop,kind,units,change_min,heads
        big,press,press,2,30,3
        [parts]
        part,per_car,press_line,strokes_per_min,pieces_per_stroke,lot,to,start_below
        door,2,big,10,1,500,frame,100
        [stations]
        station,shop,cycle_s
        frame,body,100";
    let plan = crate::plan::plan(&sample::book(text)).unwrap();
    let press = plan.shops.iter().find(|row| row.shop == "press").unwrap();
    let value = |of: &Option<crate::plan::Planned>| of.as_ref().unwrap().value;
    // Two lines of 3 on two shifts (computed).
    assert_eq!(
        (value(&press.positions), value(&press.payroll)),
        (6.0, 12.0)
    );
    let found = of_text(text);
    // 12 people of 40 h, 50 weeks, at 40 an hour (computed).
    let people = &found.figures["year.press.people"];
    assert!(close(people.value, 12.0 * 40.0 * 50.0 * 40.0), "{people:?}");
}

#[test]
fn every_figure_of_the_stack_has_its_working() {
    let found = of_text(PLANT);
    let items = found.shops.iter().flat_map(|shop| &shop.items);
    for value in items
        .map(|item| &item.cost)
        .chain([&found.total, &found.variable])
    {
        let figure = &found.figures[&value.figure];
        assert!(close(figure.value, value.value), "{}", figure.id);
    }
    // What a working names can be looked up as well.
    for figure in found.figures.values() {
        for term in &figure.working.inputs {
            let mut named = Vec::new();
            term.from
                .iter()
                .for_each(|from| super::named(from, &mut named));
            for id in named {
                assert!(found.figures.contains_key(&id), "{} names {id}", figure.id);
            }
        }
    }
}

#[test]
fn a_car_lost_at_the_constraint_costs_its_margin_and_nothing_off_it() {
    let found = of_text(PLANT);
    let lost = found.lost.as_ref().unwrap();
    let price = 0.75 * 20_000.0 + 0.25 * 24_000.0;
    assert!(close(
        lost.at_constraint.value,
        price - found.variable.value
    ));
    assert_eq!(lost.off_constraint, 0.0);
    assert_eq!(lost.minutes[0].place, "frame");
    // 40 h of 1400 s cycles are 102.86 cars a week
    let minute = lost.at_constraint.value * (40.0 * 3_600.0 / 1_400.0) / 2_400.0;
    assert!(close(lost.minutes[0].minute.value, minute));
}

#[test]
fn the_margin_of_the_settings_wins_over_the_prices() {
    let text = PLANT.replace("rivet_cost,0.05", "rivet_cost,0.05\n margin_per_car,7000");
    let lost = of_text(&text).lost.unwrap();
    assert!(lost.given);
    assert_eq!(lost.at_constraint.value, 7_000.0);
}

#[test]
fn runs_tell_what_ideas_give_by_the_ranking_and_are_not_made_again() {
    use crate::improve::{IdeaKind, ImproveSettings, Memory, improve};
    let workbook = sample::workbook(PLANT);
    let (shelf, memory) = (Shelf::new(), Memory::default());
    let calm = flow::Watch::none();
    let ranking = improve(
        &workbook,
        &ImproveSettings::USUAL,
        &shelf,
        &memory,
        &Watch::none(),
    )
    .unwrap();
    let before = memory.to_json().unwrap();
    let found = super::money_by_runs(&workbook, &super::RUNS, &shelf, &memory, &calm).unwrap();
    assert_eq!(memory.to_json().unwrap(), before, "nothing was run again");
    assert!(found.gains_by_run);
    let mut told = 0;
    for ranked in ranking
        .ideas
        .iter()
        .filter(|one| one.idea.kind == IdeaKind::Yours)
    {
        let case = found
            .cases
            .iter()
            .find(|case| case.idea == ranked.idea.name);
        let case = case.expect("its case");
        assert!(close(case.cars, ranked.cars.mean));
        assert_eq!(case.shown, ranked.shown);
        told += 1;
    }
    assert_eq!(told, 2);
    // what the run does not see gives no car
    let floor = found
        .cases
        .iter()
        .find(|case| case.idea == "paint the floor");
    assert_eq!(
        floor.map(|case| (case.cars, case.half_width)),
        Some((0.0, Some(0.0)))
    );
    // both weigh a car alike
    let lost = found.lost.expect("a lost car's cost").at_constraint.value;
    assert!(close(lost, ranking.car.expect("what a car brings").value));
}

#[test]
fn kept_runs_tell_what_ideas_give_and_one_that_is_missing_is_not_made() {
    use crate::improve::{ImproveSettings, Memory, improve};
    let workbook = sample::workbook(PLANT);
    let (shelf, memory) = (Shelf::new(), Memory::default());
    let calm = flow::Watch::none();
    let usual = ImproveSettings::USUAL;
    improve(&workbook, &usual, &shelf, &memory, &Watch::none()).unwrap();
    let by_runs = super::money_by_runs(&workbook, &super::RUNS, &shelf, &memory, &calm).unwrap();
    let kept = memory.to_json().unwrap();
    let closed = Memory::from_json(&kept).unwrap().closed();
    let by_kept = |settings| {
        super::money_by_kept(&workbook, &settings, &shelf, &closed, &calm).expect("an answer")
    };
    let found = by_kept(usual).expect("all its runs are kept");
    assert!(found.gains_by_run && found.made.is_none());
    assert_eq!(found.cases, by_runs.cases);
    // other luck is other runs, and none is made
    assert_eq!(by_kept(ImproveSettings { seed: 2, ..usual }), None);
    assert_eq!(closed.to_json().unwrap(), kept);
}

#[test]
fn a_missing_price_is_named_with_its_row_and_never_guessed() {
    let text = PLANT.replace("wheel,bought,100", "wheel,bought,");
    let found = of_text(&text);
    assert!(!found.complete);
    let missing = &found.missing[0];
    assert_eq!((missing.table.as_str(), missing.row), ("parts", Some(2)));
    let told = missing.to_string();
    for part in ["parts: row 2", "price", "wheel", "write it into price"] {
        assert!(told.contains(part), "{told}");
    }
    let bought = found
        .kinds
        .iter()
        .find(|one| one.kind == CostKind::BoughtParts);
    assert!(close(bought.unwrap().cost, 100.0));
}

#[test]
fn without_prices_of_cars_a_lost_car_is_not_priced() {
    let text = PLANT.replace("long,25,24000", "long,25,");
    let found = of_text(&text);
    assert_eq!(found.lost, None);
    let missing = found
        .missing
        .iter()
        .find(|one| one.table == "products")
        .unwrap();
    assert_eq!((missing.row, missing.name.as_str()), (Some(3), "long"));
    assert!(missing.what.contains("margin_per_car"));
}

#[test]
fn rows_that_lack_the_same_are_one_entry() {
    let text = PLANT
        .replace("wheel,bought,100", "wheel,bought,")
        .replace("bench,bought,400", "bench,bought,");
    let found = of_text(&text);
    assert_eq!(found.missing.len(), 1);
    assert_eq!(found.missing[0].more, 1);
}

#[test]
fn a_negative_life_is_refused_with_its_row() {
    let text = PLANT.replace(
        "fastest frame,stations,frame,cycle_s,1200",
        "x,stations,frame,life_years,-3",
    );
    let workbook = sample::workbook(&text);
    let Err(NoPlan::Problems(problems)) = money(&workbook, None, &Shelf::new(), &Watch::none())
    else {
        panic!("an idea of a life of -3 years was taken");
    };
    assert_eq!(problems[0].row, Some(3));
    assert!(problems[0].found.contains("-3"), "{}", problems[0]);
    assert!(!problems[0].mend.is_empty());
}

#[test]
fn ideas_on_one_cell_exclude_each_other_and_go_by_the_difference() {
    let text = PLANT.replace("short,75", "short,95");
    let found = of_text(&text);
    assert_eq!(found.exclusive.len(), 1);
    let pair = &found.exclusive[0];
    assert_eq!(
        (pair.first.as_str(), pair.second.as_str()),
        ("faster frame", "fastest frame")
    );
    let value = |idea: &str| {
        let case = found.cases.iter().find(|case| case.idea == idea);
        case.unwrap().npv.value
    };
    assert!(close(
        pair.gain.value,
        value("fastest frame") - value("faster frame")
    ));
}

#[test]
fn an_idea_that_brings_no_car_has_no_return_and_says_why() {
    let found = of_text(PLANT);
    let case = found
        .cases
        .iter()
        .find(|case| case.idea == "paint the floor")
        .unwrap();
    assert_eq!(case.payback, None);
    assert!(case.returns.rates.is_empty());
    assert!(
        case.returns
            .note
            .as_deref()
            .unwrap()
            .contains("no money comes in")
    );
}

#[test]
fn a_bought_sub_assembly_frees_the_constraint_as_far_as_cars_are_needed_and_the_next_lets_them() {
    let text = PLANT
        .replace("station,shop,units", "station,shop,line,units")
        .replace("weld,body,1,", "weld,body,,1,")
        .replace("frame,body,1,", "frame,body,framing,1,")
        .replace("short,75", "short,90")
        .replace("weld,frame,2", "weld,frame,2\n    frame,ship,2")
        .replace(
            "    [links]",
            "    ship,body,,1,600,0,0,,0,10,0,0\n    [links]",
        );
    let offers = "[offers]\nline,price,min_order,lead_time_days\nframing,900,100,7\n";
    let found = of_text(&format!("{text}\n{offers}"));
    let offer = &found.make_or_buy[0];
    assert!(offer.freed.iter().any(|freed| freed.constraint));
    // 115 needed, the frame lets 102.86 pass, the weld 120
    assert!(close(offer.cars_freed, 115.0 - 144_000.0 / 1_400.0));
    let margin = found.lost.as_ref().unwrap().at_constraint.value;
    assert!(close(
        offer.freed_worth,
        margin * offer.cars_freed / offer.pieces
    ));
    assert!(offer.why.contains("the cars counted"));
}

#[test]
fn several_returns_are_all_told_and_none_where_there_is_none() {
    // 100 (1 + r)^2 - 230 (1 + r) + 132 = 100 (r - 0.1) (r - 0.2)
    let two = returns(&[-100.0, 230.0, -132.0]);
    assert!(close(two.rates[0], 0.1) && close(two.rates[1], 0.2));
    assert!(
        two.note
            .unwrap()
            .contains("none of them means anything alone")
    );
    let none = returns(&[1.0, -1.0, 1.0]);
    assert!(none.rates.is_empty());
    assert!(
        none.note
            .unwrap()
            .contains("no rate makes the stream worth nothing")
    );
    assert_eq!(returns(&[-100.0, 110.0]).note, None);
    assert_eq!(returns(&[]).rates, Returns::default().rates);
}

#[test]
fn a_year_in_which_the_idea_works_half_brings_half() {
    let of = crate::change::Costs {
        investment: 100.0,
        cost_per_year: 10.0,
        weeks: 365.25 / 14.0,
        life_years: 2.0,
    };
    let flows = cases::flows(&of, &[(f64::INFINITY, 60.0)]);
    assert_eq!(flows.len(), 4);
    for (flow, wanted) in flows.iter().zip([-100.0, 25.0, 50.0, 25.0]) {
        assert!((flow - wanted).abs() < 1e-9, "{flows:?}");
    }
}

#[test]
fn a_robot_is_cheaper_from_the_hours_at_which_both_cost_the_same() {
    let found = of_text(PLANT);
    let robot = &found.hours.robots[0];
    let hours = robot.pays_from_h.unwrap();
    // At that many hours a year its capital, upkeep and current cost what a person does.
    let capital = 160_000.0 * 0.1 / (1.0 - 1.1_f64.powi(-8));
    let robot_a_year = capital + 8_000.0 + hours * 5.0 * 0.2;
    assert!(close(robot_a_year, hours * robot.person));
    assert_eq!(robot.robot_cheaper, hours < robot.hours_a_year * robot.used);
}

#[test]
fn a_line_that_another_offers_is_made_or_bought_by_what_is_saved() {
    let text = PLANT
        .replace("station,shop,units", "station,shop,line,units")
        .replace("weld,body,1,", "weld,body,welding,1,")
        .replace("frame,body,1,", "frame,body,,1,");
    let offer = |price: f64| {
        let offers =
            format!("[offers]\nline,price,min_order,lead_time_days\nwelding,{price},200,7\n");
        of_text(&format!("{text}\n{offers}")).make_or_buy.remove(0)
    };
    let dear = offer(9_000.0);
    assert_eq!(dear.verdict, BetterWay::Make);
    // rivets and energy
    assert!(close(dear.make_saved, 5.0 + 20.0 * 1200.0 / 3600.0 * 0.2));
    assert_eq!(offer(1.0).verdict, BetterWay::Buy);
    let between = (dear.make_saved + dear.make.value) / 2.0;
    assert_eq!(offer(between).verdict, BetterWay::MakeWhileLinesStay);
    // 200 pieces last two weeks, and take one to come.
    assert!(close(dear.buy_days.unwrap().value, 21.0));
}

#[test]
fn an_idea_is_worth_cars_only_as_far_as_each_period_asks_for_them() {
    // 102.86 cars a week pass the frame, 110.77 the faster one
    let grown = format!(
        "{PLANT}\n[forecast]\nperiod,product,cars_per_week\n2031,short,75\n2031,long,25\n\
         2032,short,80\n2032,long,25\n"
    );
    let found = of_text(&grown);
    let case = found.cases.iter().find(|case| case.idea == "faster frame");
    let case = case.unwrap();
    let later = 105.0 - 144_000.0 / 1_400.0;
    assert_eq!(case.cars, 0.0);
    assert!(close(case.cars_later.unwrap(), later));
    assert_eq!(case.no_car, None);
    // it costs from the start, and earns once the second year asks for more
    let margin = found.lost.as_ref().unwrap().at_constraint.value;
    assert!((case.flows[1] + 10_000.0).abs() < margin * later * 50.0 * 0.01);
    assert!(close(case.flows[3], margin * later * 50.0 - 10_000.0));
    // where nobody asks for more it says so
    let flat = of_text(PLANT);
    let case = flat.cases.iter().find(|case| case.idea == "faster frame");
    assert!(
        case.unwrap()
            .no_car
            .as_deref()
            .unwrap()
            .contains("no period asks for more")
    );
}

#[test]
fn an_idea_off_the_constraint_is_hidden_behind_it_and_stands_last() {
    let text = PLANT.replace("short,75", "short,95").replace(
        "paint the floor,stations,frame,upkeep_per_year,900",
        "faster weld,stations,weld,cycle_s,900",
    );
    let found = of_text(&text);
    let last = found.cases.last().unwrap();
    assert_eq!(last.idea, "faster weld");
    assert_eq!(last.no_car.as_deref(), Some("hidden behind frame"));
    assert!(found.cases[..2].iter().all(|case| case.no_car.is_none()));
}

#[test]
fn yearly_costs_are_spread_over_the_cars_of_a_run_too() {
    let workbook = sample::workbook(&PLANT.replace("short,75", "short,175"));
    let calm = flow::Watch::none();
    let (shelf, memory) = (Shelf::new(), crate::improve::Memory::default());
    let found = super::money_by_runs(&workbook, &super::RUNS, &shelf, &memory, &calm).unwrap();
    let (made, over) = (found.made.unwrap().mean, found.at_made.unwrap());
    assert!(made < 150.0, "{made}");
    let fixed = found.total.value - found.variable.value;
    assert!(close(
        over.value,
        found.variable.value + fixed * found.cars / made
    ));
    assert!(close(found.figures[&over.figure].value, over.value));
}

#[test]
fn a_minute_lost_is_made_up_as_long_as_the_plant_has_spare_time() {
    let lost = of_text(PLANT).lost.unwrap();
    let spare = lost.spare.unwrap();
    // 102.86 cars in 2400 minutes, 100 needed
    assert_eq!(spare.place, "frame");
    assert!(close(
        spare.minutes,
        2_400.0 * (1.0 - 100.0 * 1_400.0 / 144_000.0)
    ));
    assert_eq!(
        of_text(&PLANT.replace("short,75", "short,95"))
            .lost
            .unwrap()
            .spare,
        None
    );
}

#[test]
fn without_metal_parts_or_energy_no_margin_is_made_up() {
    let text = PLANT
        .replace("wheel,bought,100,4,,frame", "wheel,bought,0,4,,frame")
        .replace(
            "bench,bought,400,1,long,frame",
            "bench,bought,0,1,long,frame",
        )
        .replace("rivet_cost,0.05", "rivet_cost,0")
        .replace("energy_cost_per_kwh,0.2", "energy_cost_per_kwh,0");
    let found = of_text(&text);
    assert_eq!(found.lost, None);
    assert!(found.products.iter().all(|row| row.margin.is_none()));
    let told = found.missing.iter().map(ToString::to_string);
    let told: Vec<String> = told.collect();
    assert!(
        told.iter().any(|told| told.contains("energy_kw")),
        "{told:?}"
    );
}
