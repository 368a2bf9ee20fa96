//! Small plants whose plan can be checked by hand, and the trade's worked
//! cases led through a book.

mod first_time;
mod laws;
mod tasks;
mod unsound;

use formulas::Origin;

use super::*;
use crate::sample;

fn planned(text: &str) -> RatePlan {
    plan(&sample::book(text)).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// The problems of a sound book after a change that the book's own check might
/// catch before.
fn refused(text: &str, spoil: impl Fn(&mut Book)) -> Vec<Problem> {
    let mut book = sample::book(text);
    assert!(plan(&book).is_ok(), "the book is sound before the change");
    spoil(&mut book);
    plan(&book).expect_err("the book has no answer after the change")
}

fn near(got: f64, wanted: f64) -> bool {
    (got - wanted).abs() <= 1e-4 * wanted.abs()
}

fn station<'a>(plan: &'a RatePlan, name: &str) -> &'a StationPlan {
    plan.stations
        .iter()
        .find(|row| row.station == name)
        .expect("the station is planned")
}

fn shop<'a>(plan: &'a RatePlan, name: &str) -> &'a ShopPlan {
    plan.shops
        .iter()
        .find(|row| row.shop == name)
        .expect("the shop is planned")
}

fn value(planned: &Option<Planned>) -> f64 {
    planned.as_ref().expect("the figure is planned").value
}

/// Two shifts of 480 min with 40 min of breaks on five days, 200 cars a day.
const TWO_SHIFTS: &str = "
    [shifts]
    shop,shift,days,start,end,planned_stops_min
    trim,early,mon-fri,06:00,14:00,40
    trim,late,mon-fri,14:00,22:00,40
    [products]
    product,cars_per_week
    van,1000
";

fn two_shifts(more: &str) -> String {
    format!("{TWO_SHIFTS}{more}")
}

#[test]
fn takt_follows_from_the_shift_pattern() {
    // cal-takt (computed): 2 x 480 min less 40 min, 200 good cars a day: net
    // 880 min a day, takt 264 s; 90 % efficiency: design cycle 237.6 s.
    let plan = planned(&two_shifts(
        "[stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,trim,200,90,10",
    ));
    let trim = shop(&plan, "trim");
    assert!(near(trim.net_time_h.value * 60.0, 5.0 * 880.0));
    assert!(near(value(&trim.takt_s), 264.0));
    let fit = station(&plan, "fit");
    assert!(near(fit.availability.value, 0.9));
    assert!(near(value(&fit.cycle_to_reach_s), 237.6));
    assert!(near(fit.load.value, 200.0 / 237.6));
    assert!(near(value(&fit.alone), 1_000.0 * 237.6 / 200.0));
    assert!(plan.holds);
}

#[test]
fn a_car_plants_line_needs_a_car_a_minute() {
    // cal-groover-240k (Groover, manual assembly line problem; computed):
    // 240,000 cars in 50 weeks of 2 x 5 shifts of 8 h: 60 an hour; 95 % uptime
    // leaves a cycle of 0.95 min.
    let plan = planned(
        "[shifts]
        shop,shift,days,start,end
        final,early,mon-fri,06:00,14:00
        final,late,mon-fri,14:00,22:00
        [products]
        product,cars_per_week
        car,4800
        [stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,final,57,95,5",
    );
    assert!(near(value(&shop(&plan, "final").takt_s), 60.0));
    let fit = station(&plan, "fit");
    assert!(near(value(&fit.cycle_to_reach_s), 0.95 * 60.0));
    assert!(near(fit.load.value, 1.0) && plan.holds);
}

#[test]
fn five_shifts_a_week_make_a_hundred_thousand_a_year() {
    // cal-groover-100k (Groover, worked example, from memory): 50 weeks, 5
    // shifts of 7.5 h: 53.33 an hour, cycle 1.08 min at 96 % uptime.
    let plan = planned(
        "[shifts]
        shop,shift,days,start,end
        line,day,mon-fri,07:00,14:30
        [products]
        product,cars_per_week
        unit,2000
        [stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,line,60,96,4",
    );
    assert!(near(3_600.0 / value(&shop(&plan, "line").takt_s), 53.3333));
    assert!(near(
        value(&station(&plan, "fit").cycle_to_reach_s),
        1.08 * 60.0
    ));
}

#[test]
fn an_appliance_line_of_2500_hours_makes_one_a_minute() {
    // cal-groover-150k (Groover, problem; computed): 150,000 a year in 2,500 h
    // (50 weeks of 50 h): 60 an hour, cycle 0.96 min at 96 % uptime.
    let plan = planned(
        "[shifts]
        shop,shift,days,start,end
        line,day,mon-fri,07:00,17:00
        [products]
        product,cars_per_week
        unit,3000
        [stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,line,51.6,96,4",
    );
    assert!(near(value(&shop(&plan, "line").takt_s), 60.0));
    let fit = station(&plan, "fit");
    assert!(near(value(&fit.cycle_to_reach_s), 0.96 * 60.0));
    // What moving leaves of the cycle: 0.86 min of service time.
    assert!(near(fit.load.value, 0.86 / 0.96));
}

#[test]
fn a_part_without_a_speed_on_its_line_is_named() {
    let text = "
        [products]
        product,cars_per_week
        van,100
        [press_lines]
        press_line,shop,kind
        big,press,press
        [parts]
        part,press_line,strokes_per_min,to
        door,big,10,frame
        [stations]
        station,shop,cycle_s
        frame,body,100";
    let found = refused(text, |book| book.parts[0].strokes_per_min = None);
    assert_eq!(
        (found[0].code.as_str(), found[0].row),
        ("parts/no-speed", Some(2))
    );
    assert_eq!(found[0].column.as_deref(), Some("strokes_per_min"));
}

#[test]
fn scrap_is_made_up_from_the_last_stage_back() {
    // cal-yield-cascade (computed), as a line of stations and a pressed part.
    let plan = planned(
        "[products]
        product,cars_per_week
        van,200
        [stations]
        station,shop,cycle_s,scrap
        blank,press,10,0.01
        press,press,10,0.03
        body,body,10,0.015
        paint,paint,10,0.01
        assembly,final,10,0.002
        [links]
        from,to
        blank,press
        press,body
        body,paint
        paint,assembly",
    );
    let jobs = |name| station(&plan, name).jobs.value;
    assert!(near(jobs("assembly"), 200.4008));
    assert!(near(jobs("paint"), 202.4251));
    assert!(near(jobs("body"), 205.5077));
    assert!(near(jobs("press"), 211.8636));
    assert!(near(jobs("blank"), 214.0036));
    assert!(near(200.0 / jobs("blank"), 0.934_563_7));
    assert!(near(plan.figures["cascade"].value, 214.0036));
}

#[test]
fn a_repair_loop_loads_the_booth_again() {
    // cal-paint-loop (computed): 85 % right, rejects 80 % to spot repair (95 %
    // right), 18 % through the booth again, 2 % scrap; 200 good bodies a day.
    let plan = planned(
        "[products]
        product,cars_per_week
        body,200
        [stations]
        station,shop,cycle_s,first_time_ok,rework_to,scrap,source
        booth,paint,10,1,,0,yes
        inspect,paint,10,0.85,sort,0,
        sort,paint,10,1,,0.02,
        spot,paint,10,0.95,booth,0,
        out,paint,10,1,,0,
        [links]
        from,to,share
        booth,inspect,
        inspect,out,
        inspect,sort,
        sort,spot,0.816326530612245
        sort,booth,
        spot,out,
        spot,booth,",
    );
    assert!(near(station(&plan, "booth").jobs.value, 207.469));
    assert!(near(station(&plan, "spot").jobs.value, 24.8963));
    let entered = plan.figures["cascade"].value;
    assert!(near(station(&plan, "booth").jobs.value / entered, 1.034_13));
    assert!(near(200.0 / entered, 0.996_898));
}

#[test]
fn a_weighted_mean_below_takt_hides_the_heavy_cars() {
    // cal-mixed (computed): 60/30/10 % at 200/240/300 s against 237.6 s: mean
    // 222 s, load 0.934343; two heavy cars in a row are 124.8 s behind.
    let plan = planned(&two_shifts(
        "[options]
        option,product,share,at_most,in_every
        rack,,0.1,2,10
        [stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,trim,213.3333333333333,90,10
        [cycles]
        station,product,option,cycle_s
        fit,,rack,300",
    ));
    let fit = station(&plan, "fit");
    assert!(near(fit.cycle_s.value, 222.0));
    assert!(near(fit.load.value, 0.934_343));
    let heavy = fit.heavy.as_ref().expect("the racks are heavy");
    assert!(heavy.by_rule && heavy.cars == "rack" && near(heavy.share, 0.1));
    assert_eq!(heavy.run.value, 2.0);
    assert!(near(heavy.overrun_s.value, 124.8));
}

#[test]
fn without_a_rule_chance_makes_longer_runs() {
    let plan = planned(
        "[shifts]
        shop,shift,days,start,end,planned_stops_min
        trim,early,mon-fri,06:00,14:00,40
        trim,late,mon-fri,14:00,22:00,40
        [products]
        product,cars_per_week
        short,600
        long,300
        high,100
        [stations]
        station,shop,cycle_s,mtbf_min,mttr_min
        fit,trim,200,90,10
        [cycles]
        station,product,option,cycle_s
        fit,long,,240
        fit,high,,300",
    );
    let fit = station(&plan, "fit");
    assert!(near(fit.cycle_s.value, 222.0));
    let heavy = fit.heavy.as_ref().expect("long and high are heavy");
    assert!(!heavy.by_rule && near(heavy.share, 0.4) && near(heavy.cycle_s, 255.0));
    // No run longer than 10 in 95 % of weeks: exp(-600 * 0.4^11) = 0.975, and
    // exp(-600 * 0.4^10) = 0.939 is below (computed).
    assert_eq!(heavy.run.value, 10.0);
    assert!(near(heavy.overrun_s.value, 10.0 * (255.0 - 237.6)));
    // 174 s at 37.6 s a light car.
    assert_eq!(value(&heavy.recovery), 5.0);
}

#[test]
fn people_on_the_payroll_fill_the_positions() {
    // cal-staff (common practice): 120 positions, 2 shifts, 6 % relief, 5 %
    // absence, 10 % leave: 298 heads.
    let plan = planned(&two_shifts(
        "[stations]
        station,shop,cycle_s,heads,robots
        fit,trim,200,70,2
        test,trim,200,50,1
        [links]
        from,to
        fit,test",
    ));
    let trim = shop(&plan, "trim");
    assert_eq!(
        (value(&trim.positions), value(&trim.payroll)),
        (120.0, 298.0)
    );
    assert_eq!(trim.robots, 3);
}

#[test]
fn carts_of_a_line_come_from_its_loop() {
    // asm-carts (computed): 24 stations at 237.6 s, 120 m back at 40 m/min and
    // 2 min of transfer, 95 % fit: 27 carts.
    let stations: String = (1..=24).map(|i| format!("s{i},trim,200\n")).collect();
    let links: String = (1..24).map(|i| format!("s{i},s{}\n", i + 1)).collect();
    let text = format!(
        "[shifts]
        shop,shift,days,start,end
        trim,day,mon-fri,06:00,17:00
        [products]
        product,cars_per_week
        van,833.3333333333334
        [carriers]
        carrier,count,taken_at,returned_at,speed_m_min,loop_m,load_s,unload_s,availability
        cart,26,s1,s24,40,120,60,60,0.95
        [stations]
        station,shop,cycle_s
        {stations}
        [links]
        from,to
        {links}"
    );
    let plan = planned(&text);
    assert!(near(value(&shop(&plan, "trim").takt_s), 237.6));
    assert_eq!(plan.carriers[0].needed.value, 27.0);
    let short = &plan.shortfalls[0];
    assert_eq!((short.kind, short.units_to_add), (Short::Carrier, 1));
    assert!(!plan.holds);
}

#[test]
fn an_overloaded_station_says_what_would_free_it() {
    let plan = planned(&two_shifts(
        "[stations]
        station,shop,cycle_s
        fit,trim,330",
    ));
    let short = &plan.shortfalls[0];
    assert!(near(short.load, 1.25) && near(short.cars_short, 200.0));
    assert!(near(
        short.cycle_to_reach_s.expect("a cycle frees it"),
        264.0
    ));
    assert_eq!(short.units_to_add, 1);
    // A quarter of 73.33 h a week.
    assert!(near(
        short.overtime_h.expect("the week has hours left"),
        18.3333
    ));
    assert_eq!(
        short.mend,
        "bring the mean cycle from 330.0 s to 264.0 s (-20.0 %), or add 1 unit, or work 18.3 h a week longer"
    );
    assert!(near(value(&plan.capable), 800.0));
}

#[test]
fn stops_by_the_clock_and_by_running_time_both_count() {
    let plan = planned(&two_shifts(
        "[stations]
        station,shop,cycle_s,mtbf_min,mttr_min,stop_basis
        fit,trim,200,90,10,running
        [stops]
        station,cause,mtbf_min,mttr_min,basis
        fit,jam,45,5,running
        fit,power,190,10,clock",
    ));
    // 1/(1 + 10/90 + 5/45) * 190/200 (computed)
    let wanted = 1.0 / (1.0 + 2.0 / 9.0) * 0.95;
    assert!(near(station(&plan, "fit").availability.value, wanted));
}

#[test]
fn a_press_line_is_loaded_by_runs_stops_and_changes() {
    let plan = planned(
        "[shifts]
        shop,shift,days,start,end
        press,day,mon-fri,06:00,18:00
        [products]
        product,cars_per_week
        van,900
        [press_lines]
        press_line,shop,kind,change_min,first_off_min,mtbf_min,mttr_min
        big,press,press,30,10,90,10
        [parts]
        part,per_car,press_line,strokes_per_min,pieces_per_stroke,scrap,lot,to,start_below
        door,2,big,10,1,0.1,500,frame,100
        [stations]
        station,shop,cycle_s
        frame,body,100",
    );
    // 1,800 good doors are 2,000 pressed: 200 min of running at 90 % are 222.2
    // min, 4 lots of 40 min are 160 min, of 3,600 min (computed).
    let line = &plan.press_lines[0];
    assert!(near(
        line.load.value,
        (2_000.0 / 10.0 / 0.9 + 160.0) / 3_600.0
    ));
    assert!(near(line.runs[0].pieces.value, 2_000.0) && near(line.runs[0].lots.value, 4.0));
    // 600 pieces at 2,000 a week are 2.1 days.
    assert!(near(line.runs[0].worst_age_days.value, 2.1));
    let lead = plan.lead_time.as_ref().expect("there is a way");
    assert_eq!(lead.stages[0].stage, "panels of door");
}

#[test]
fn the_longest_way_is_the_sum_of_its_stages() {
    let plan = planned(
        "[products]
        product,cars_per_week
        van,700
        [stations]
        station,shop,cycle_s
        weld,body,10
        coat,paint,10
        fit,final,10
        [links]
        from,to,holds,move_s
        weld,coat,99,0
        coat,fit,unlimited,86400",
    );
    // 100 cars a day: 1 in weld and 99 in the bank behind it, 1 in coat and 100
    // moving on, 1 in fit: 1.00 + 1.01 + 0.01 days.
    let lead = plan.lead_time.expect("there is a way");
    let days: Vec<f64> = lead.stages.iter().map(|stage| stage.days.value).collect();
    assert!(
        near(days[0], 1.0) && near(days[1], 1.01) && near(days[2], 0.01),
        "{days:?}"
    );
    assert!(near(lead.total_days.value, 2.02));
}

#[test]
fn the_longest_way_does_not_begin_in_the_mend_bay() {
    let plan = planned(
        "[products]
        product,cars_per_week
        van,700
        [stations]
        station,shop,cycle_s,first_time_ok,rework_to
        weld,body,10,,
        test,trim,10,0.9,mend
        mend,trim,10,,
        [links]
        from,to,holds
        weld,test,100
        test,mend,5
        mend,test,9999",
    );
    // 100 cars a day: 1 in weld, 100 in the bank and 1 in test; the mend bay and
    // its large store lie beside the way of a car that is right.
    let lead = plan.lead_time.expect("there is a way");
    let stages: Vec<&str> = lead.stages.iter().map(|stage| &*stage.stage).collect();
    assert_eq!(stages, ["body", "trim"]);
    assert!(near(lead.total_days.value, 1.02), "{lead:?}");
}

#[test]
fn a_circle_that_is_no_rework_does_not_end_the_way() {
    let plan = planned(
        "[products]
        product,cars_per_week
        van,700
        [stations]
        station,shop,cycle_s
        weld,body,10
        test,trim,10
        wash,trim,10
        pack,trim,10
        [links]
        from,to,holds,share
        weld,test,99,
        test,wash,10,0.5
        wash,test,10,
        test,pack,100,0.5",
    );
    let lead = plan.lead_time.expect("there is a way");
    let stages: Vec<&str> = lead.stages.iter().map(|stage| &*stage.stage).collect();
    assert_eq!(stages, ["body", "trim"], "from weld to pack");
}

#[test]
fn every_origin_named_is_a_figure_of_the_plan_or_a_cell() {
    let plan = planned(sample::SMALL_PLANT);
    fn check(plan: &RatePlan, origin: &Origin) {
        match origin {
            Origin::Figure(id) => assert!(plan.figures.contains_key(id), "no figure {id}"),
            Origin::Several(all) => all.iter().for_each(|one| check(plan, one)),
            Origin::Cell { table, column, .. } => {
                let table = book::Table::find(table).expect("the table exists");
                let known = table.schema().column(column).is_some();
                assert!(known, "no column {column} in {}", table.name());
            }
            Origin::Given | Origin::Usual { .. } => {}
        }
    }
    for figure in plan.figures.values() {
        assert!(
            figure.value.is_finite(),
            "{} is {}",
            figure.id,
            figure.value
        );
        let inputs = figure.working.inputs.iter();
        inputs
            .filter_map(|term| term.from.as_ref())
            .for_each(|from| check(&plan, from));
    }
    assert!(serde_json::to_string(&plan).is_ok());
}

#[test]
fn pieces_released_are_cars_and_scrap_and_what_was_joined() {
    let book = sample::book(sample::SMALL_PLANT);
    let need = requirement(&book).expect("the small plant has a requirement");
    let released: f64 = (0..book.stations.len()).map(|i| need.released(i)).sum();
    let plan = plan(&book).expect("the small plant has a plan");
    assert!(near(plan.figures["cascade"].value, released));
}
