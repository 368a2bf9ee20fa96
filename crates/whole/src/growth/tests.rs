//! A line of two stations that grows out of itself.

use std::sync::atomic::AtomicBool;

use book::Problem;
use flow::Watch;

use super::{Growth, growth};
use crate::findings::{NoAnswer, RunSettings, Verdict};
use crate::sample;

/// 40 h a week: weld makes 120 cars, frame 90; each idea frees one of them.
const PLANT: &str = "
    [plant]
    setting,value
    learning_model,unit
    learning_rate,0.75
    first_car_hours,40
    ramp_availability,0.5
    ramp_settling_weeks,4
    [shifts]
    shop,shift,days,start,end
    body,day,mon-fri,06:00,14:00
    trim,day,mon-fri,06:00,14:00
    [products]
    product,cars_per_week
    short,50
    long,30
    [stations]
    station,shop,units,cycle_s,heads
    weld,body,1,1200,3
    frame,trim,1,1600,5
    [links]
    from,to,holds
    weld,frame,3
    [ideas]
    idea,table,row,column,to,investment,cost_per_year,weeks
    faster frame,stations,frame,cycle_s,1400,50000,4000,26
    second frame,stations,frame,units,2,400000,20000,40
    second weld,stations,weld,units,2,300000,10000,13
    paint the floor,stations,frame,heads,6,10,0,1
    [forecast]
    period,product,cars_per_week
    2031 Q1,short,50
    2031 Q1,long,30
    2031 Q2,short,60
    2031 Q2,long,35
    2031 Q3,short,70
    2031 Q3,long,40
    2031 Q4,short,90
    2031 Q4,long,45
";

fn of(text: &str) -> Result<Growth, NoAnswer> {
    growth(&sample::workbook(text), None, &Watch::none())
}

fn refused(text: &str) -> Vec<Problem> {
    match of(text) {
        Err(NoAnswer::Problems(problems)) => problems,
        other => panic!("{other:?}"),
    }
}

#[test]
fn each_shop_runs_out_in_the_first_period_that_it_cannot_meet() {
    let found = of(PLANT).unwrap();
    let shop = |name: &str| found.shops.iter().find(|shop| shop.shop == name).unwrap();
    assert_eq!(shop("trim").saturates.as_deref(), Some("2031 Q2"));
    assert_eq!(shop("trim").at.as_deref(), Some("frame"));
    assert_eq!(shop("body").saturates.as_deref(), Some("2031 Q4"));
}

#[test]
fn an_idea_is_decided_its_weeks_before_the_period_that_needs_it() {
    let found = of(PLANT).unwrap();
    let step = found
        .steps
        .iter()
        .find(|step| step.idea == "second weld")
        .unwrap();
    assert_eq!(step.needed_in, "2031 Q4");
    // 13 weeks are 91 days before 1 October
    assert_eq!(step.decide_by, "2031-07-02");
    assert_eq!(step.quarter, "2031 Q3");
    assert_eq!(step.shop, "body");
}

#[test]
fn the_cheaper_idea_comes_first_and_the_next_when_it_no_longer_does() {
    let found = of(PLANT).unwrap();
    let steps: Vec<_> = found
        .steps
        .iter()
        .map(|step| (step.idea.as_str(), step.needed_in.as_str()))
        .collect();
    // 1400 s allow 102 cars: enough for 95, not for 110.
    assert_eq!(steps[0], ("faster frame", "2031 Q2"));
    assert_eq!(steps[1], ("second frame", "2031 Q3"));
    assert!(found.holds && found.stuck.is_empty());
    assert!(!steps.iter().any(|step| step.0 == "paint the floor"));
}

/// Both shops work longer by one idea, which trim needs two periods before body.
const LONGER_DAYS: &str = "faster frame,stations,frame,cycle_s,1400,50000,4000,26
    longer days,shifts,body / day,end,14:00,17:00,0,700,8
    longer days,shifts,trim / day,end,14:00,17:00,0,800,8";

fn with_longer_days() -> Growth {
    let text = PLANT.replace(
        "faster frame,stations,frame,cycle_s,1400,50000,4000,26",
        LONGER_DAYS,
    );
    let text = text.replace(
        "idea,table,row,column,to,",
        "idea,table,row,column,from,to,",
    );
    let text = text.replace("cycle_s,1400,50000", "cycle_s,,1400,50000");
    let text = text
        .replace("units,2,", "units,,2,")
        .replace("heads,6,", "heads,,6,");
    of(&text).unwrap()
}

#[test]
fn a_shop_that_an_idea_taken_for_another_keeps_going_names_that_idea() {
    let found = with_longer_days();
    let body = found.shops.iter().find(|shop| shop.shop == "body").unwrap();
    assert_eq!(body.saturates.as_deref(), Some("2031 Q4"));
    assert_eq!(body.idea.as_deref(), Some("longer days"));
    // Decided before trim runs out in April, not before body does in October.
    assert_eq!(body.decide_by.as_deref(), Some("2031-02-04"));
    let starts = |name: &str| found.periods.iter().find(|one| one.period == name).unwrap();
    for shop in &found.shops {
        let (out, by) = (shop.saturates.as_deref(), shop.decide_by.as_deref());
        assert!(
            by.unwrap() < starts(out.unwrap()).starts.as_str(),
            "{shop:?}"
        );
    }
}

#[test]
fn what_the_steps_cost_a_year_stands_beside_what_they_cost_once() {
    let found = with_longer_days();
    let days = found.steps.iter().find(|step| step.idea == "longer days");
    assert_eq!(days.unwrap().cost_per_year, 1500.0);
    let yearly: f64 = found.steps.iter().map(|step| step.cost_per_year).sum();
    assert_eq!(found.cost_per_year, yearly);
    let last = found.money.last().unwrap().running * 4.0;
    assert!((last - yearly).abs() < 1e-6, "{last}, not {yearly}");
}

#[test]
fn a_decision_whose_day_has_passed_says_from_when_the_idea_works_instead() {
    let found = of(PLANT).unwrap();
    let day = |year, month, day| units::civil::days(year, month, day);
    // The second frame was to be decided 40 weeks before July 2031.
    assert!(found.past(day(2030, 9, 24)).is_empty());
    let past = found.past(day(2030, 9, 25));
    assert_eq!(past.len(), 1, "{past:?}");
    assert_eq!(past[0].step.decide_by, "2030-09-24");
    assert_eq!(past[0].works_from, "2031-07-02");
}

#[test]
fn all_shops_that_run_out_in_the_first_such_period_are_named() {
    let found = of(PLANT).unwrap();
    assert_eq!(found.first_out(), Some(("2031 Q2", vec!["trim"])));
    let both = of(&PLANT.replace("weld,body,1,1200,3", "weld,body,1,1550,3")).unwrap();
    assert_eq!(both.first_out(), Some(("2031 Q2", vec!["body", "trim"])));
}

#[test]
fn every_period_is_met_with_the_ideas_taken_by_then() {
    let found = of(PLANT).unwrap();
    for period in &found.periods {
        assert!(
            period.can_with.unwrap() >= period.cars - 1e-9,
            "{}",
            period.period
        );
    }
    assert!(found.periods[3].can.unwrap() < found.periods[3].cars);
}

#[test]
fn what_no_idea_frees_is_told_with_its_way_out() {
    let text = PLANT.replace(
        "second weld,stations,weld,units,2",
        "second weld,stations,weld,units,1",
    );
    let found = of(&text).unwrap();
    assert!(!found.holds);
    assert_eq!(found.stuck[0].place, "weld");
    assert_eq!(found.stuck[0].period, "2031 Q4");
    assert!(!found.stuck[0].mend.is_empty());
}

#[test]
fn the_money_of_the_quarters_is_that_of_the_steps() {
    let found = of(PLANT).unwrap();
    let invested: f64 = found.money.iter().map(|quarter| quarter.investment).sum();
    assert_eq!(invested, found.investment);
    let steps: f64 = found.steps.iter().map(|step| step.investment).sum();
    assert_eq!(invested, steps);
    // The second frame is decided 40 weeks before July 2031.
    let first = found.money.first().unwrap();
    assert_eq!(first.quarter, "2030 Q3");
    let last = found.money.last().unwrap();
    assert_eq!(last.quarter, "2031 Q4");
    let running: f64 = found.money.iter().map(|quarter| quarter.running).sum();
    assert!((last.spent - invested - running).abs() < 1e-6);
}

#[test]
fn a_forecast_with_a_gap_is_refused_with_its_row_and_the_period_left_out() {
    let text = PLANT.replace("2031 Q2,short,60\n    2031 Q2,long,35\n    ", "");
    let problems = refused(&text);
    assert_eq!(problems[0].code, "forecast/gap");
    assert_eq!(problems[0].row, Some(4));
    assert!(
        problems[0]
            .found
            .contains("`2031 Q3` right after `2031 Q1`")
    );
    assert!(problems[0].mend.contains("2031 Q2"));
}

#[test]
fn a_product_left_out_of_a_period_is_a_gap_too() {
    let problems = refused(&PLANT.replace("2031 Q2,long,35\n", ""));
    assert_eq!(problems[0].code, "forecast/gap");
    assert!(problems[0].found.contains("no row for long in 2031 Q2"));
    assert!(problems[0].mend.contains("or 0 if none is built"));
}

#[test]
fn periods_that_cannot_be_dated_or_are_of_unlike_length_are_refused() {
    let problems = refused(&PLANT.replace("2031 Q4", "next winter"));
    assert_eq!(problems.len(), 2);
    assert_eq!(
        (problems[0].code.as_str(), problems[0].row),
        ("forecast/unknown-period", Some(8))
    );
    let problems = refused(&PLANT.replace("2031 Q4", "2031-12"));
    assert_eq!(problems[0].code, "forecast/mixed-periods");
}

#[test]
fn no_forecast_is_a_plain_problem() {
    let text = &PLANT[..PLANT.find("[forecast]").unwrap()];
    assert_eq!(refused(text)[0].code, "forecast/none");
}

#[test]
fn in_a_ramp_stops_and_work_settle_at_rates_of_their_own() {
    let ramp = of(PLANT).unwrap().ramp.unwrap();
    // 8 people of 40 h for 80 cars
    assert!((ramp.settled_hours.value - 4.0).abs() < 1e-12);
    let first = &ramp.weeks[0];
    assert_eq!(first.availability, 0.5);
    assert!(first.by_work && first.cars < 40.0);
    assert!(
        ramp.weeks
            .windows(2)
            .all(|pair| pair[1].cars >= pair[0].cars - 1e-9)
    );
    let last = ramp.weeks.last().unwrap();
    assert!(last.cars >= 0.99 * 80.0);
    assert_eq!(ramp.full_in, Some(last.week));
    // More people make more cars at first, and cost.
    assert!(first.people > ramp.people && ramp.manning_cost > 0.0);
    assert!(ramp.cars_lost > ramp.cars_lost_manned);
}

#[test]
fn the_average_model_promises_a_shorter_ramp_under_the_same_label() {
    let unit = of(PLANT).unwrap().ramp.unwrap();
    let average = of(&PLANT.replace("learning_model,unit", "learning_model,average"));
    let average = average.unwrap().ramp.unwrap();
    assert_ne!(unit.model, average.model);
    assert!(average.cars_lost < unit.cars_lost);
}

#[test]
fn a_first_car_with_less_work_than_the_plan_is_refused() {
    let problems = refused(&PLANT.replace("first_car_hours,40", "first_car_hours,3"));
    assert_eq!(
        (problems[0].code.as_str(), problems[0].row),
        ("plant/first-car", Some(4))
    );
}

#[test]
fn without_a_model_of_learning_the_ramp_says_what_is_missing() {
    let found = of(&PLANT.replace("learning_model,unit\n", "")).unwrap();
    assert_eq!(found.ramp, None);
    assert!(found.no_ramp.unwrap().contains("learning_model"));
}

#[test]
fn runs_say_what_each_period_makes_before_and_with_the_ideas() {
    let settings = RunSettings {
        replications: 2,
        weeks: 1,
        ..RunSettings::USUAL
    };
    let found = growth(&sample::workbook(PLANT), Some(&settings), &Watch::none()).unwrap();
    let last = &found.periods[3];
    let (before, with) = (last.made.unwrap().mean, last.made_with.unwrap().mean);
    assert!(before <= 91.0 && with > before + 20.0, "{before} {with}");
    assert_eq!(found.periods[0].made, found.periods[0].made_with);
    let verdicts = (last.verdict, last.verdict_with);
    assert_eq!(verdicts.0, Some(Verdict::Missed), "{last:?}");
    assert_ne!(verdicts.1, Some(Verdict::Missed), "{last:?}");
}

#[test]
fn runs_of_periods_tell_how_many_of_all_are_made() {
    let told = std::sync::Mutex::new(Vec::new());
    let settings = RunSettings {
        replications: 2,
        weeks: 1,
        ..RunSettings::USUAL
    };
    let watch = Watch {
        cancel: &AtomicBool::new(false),
        progress: &|at| told.lock().unwrap().push((at.done, at.of)),
    };
    let found = growth(&sample::workbook(PLANT), Some(&settings), &watch).unwrap();
    let told = told.into_inner().unwrap();
    let all = told[0].1;
    assert!(all >= 2 * found.periods.len() as u32, "{told:?}");
    assert!(told.iter().all(|(_, of)| *of == all), "{told:?}");
    assert_eq!(told.iter().map(|(done, _)| *done).max(), Some(all));
}

#[test]
fn what_must_be_decided_first_is_told_first_with_the_number_in_which_it_counts() {
    let found = of(PLANT).unwrap();
    let turn = found.in_turn();
    assert!(turn.is_sorted_by(|a, b| a.1.decide_by <= b.1.decide_by));
    for (number, step) in turn {
        assert_eq!(found.steps[number - 1], *step);
    }
}
