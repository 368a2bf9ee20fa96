//! Tasks that do not fit between two cars.

use super::{RatePlan, planned, two_shifts};

/// A car every 264 s at one unit of `fit`, every 528 s at two of `dress`.
fn notes(tasks: &str) -> Vec<(Option<u32>, String)> {
    let plan = planned(&two_shifts(&format!(
        "[options]
        option,product,share
        roof rack,,0.5
        [stations]
        station,shop,line,units,cycle_s
        fit,trim,one,1,200
        dress,trim,two,2,400
        [links]
        from,to
        fit,dress
        [tasks]
        task,shop,line,option,hand_s,robot_s,station
        {tasks}"
    )));
    let notes = plan.notes.iter();
    notes.map(|note| (note.row, note.to_string())).collect()
}

#[test]
fn a_task_longer_than_takt_is_named_with_what_frees_it() {
    let found = notes("lay harness,trim,,,300,,fit");
    let [(Some(2), note)] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert!(note.contains("300.0 s of undivided work for each car at `fit`"));
    assert!(note.contains("one comes every 264.0 s"));
    assert!(note.contains("divide it so that 36.0 s are done elsewhere, or give `fit` 2 units"));
    assert!(note.contains("[tasks/beyond-takt]"));
}

#[test]
fn a_task_fits_by_robot_by_units_by_its_line_and_by_the_cars_that_have_it() {
    for fits in [
        "set glass,trim,,,300,250,fit",
        "hang doors,trim,,,500,,dress",
        "hang doors,trim,two,,500,,",
        "hang doors,trim,,,500,,",
        "screw rack,trim,,roof rack,500,,fit",
    ] {
        assert!(notes(fits).is_empty(), "{fits}");
    }
    for does_not in [
        "hang doors,trim,one,,500,,",
        "screw rack,trim,,roof rack,600,,fit",
    ] {
        assert_eq!(notes(does_not).len(), 1, "{does_not}");
    }
}

/// A line of two stations with a measured cycle, and tasks that the screens look
/// at.
fn with_lifts(tasks: &str) -> RatePlan {
    planned(&two_shifts(&format!(
        "[stations]
        station,shop,line,cycle_s
        fit,trim,main,200
        test,trim,main,200
        [links]
        from,to
        fit,test
        [robots]
        robot,kind,investment,life_years,payload_kg,reach_mm,repeat_mm
        arm,robot,100000,8,120,2500,0.2
        [tools]
        tool
        lift arm
        [tasks]
        task,shop,line,hand_s,aid_s,aid,robot_s,robot,lift_kg,reach_mm,judgement
        {tasks}"
    )))
}

#[test]
fn the_plan_names_a_task_that_nobody_may_do_though_the_cycles_are_measured() {
    let plan = with_lifts(
        "set bench,trim,main,60,,,20,arm,60,2900,
        plug harness,trim,main,20,,,,,,,",
    );
    assert!(plan.shortfalls.is_empty() && !plan.holds);
    let [bench] = plan.screened.as_slice() else {
        panic!("{:?}", plan.screened);
    };
    assert!(bench.is_stuck() && bench.task == "set bench");
    let why: Vec<&str> = bench.refused.iter().map(|way| way.why.as_str()).collect();
    assert!(why[0].starts_with("lifting index"), "{why:?}");
    assert!(why[1].contains("the robot reaches 2500 mm"), "{why:?}");
    assert!(bench.mend.as_deref().is_some_and(|out| out.contains("aid")));
}

#[test]
fn the_plan_says_where_an_aid_is_demanded_and_where_a_robot_may_not() {
    let plan = with_lifts(
        "look at gaps,trim,main,30,,,20,arm,,,yes
        set bench,trim,main,60,70,lift arm,,,60,,",
    );
    assert!(plan.holds);
    let told: Vec<(&str, bool, &[String])> = plan
        .screened
        .iter()
        .map(|task| (task.task.as_str(), task.needs_aid, task.left.as_slice()))
        .collect();
    assert_eq!(told[0].0, "set bench");
    assert!(told[0].1 && told[0].2[0].ends_with("with lift arm"));
    assert_eq!(
        (told[1].0, told[1].1, told[1].2.len()),
        ("look at gaps", false, 1)
    );
}

#[test]
fn a_task_s_time_against_takt_is_that_of_a_way_the_screens_leave() {
    let plan = with_lifts("set bench,trim,main,60,400,lift arm,,,60,,");
    let note = plan
        .notes
        .iter()
        .find(|note| note.code == "tasks/beyond-takt");
    assert_eq!(note.and_then(|note| note.column.as_deref()), Some("aid_s"));
}
