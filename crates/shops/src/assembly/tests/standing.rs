//! The line as the book has it today.

use super::*;

fn stands(text: &str) -> Vec<Today> {
    let book = book(&with(text));
    match today(&book, &needs(&book), &Watch::none()) {
        Ok(today) => today,
        Err(problems) => panic!("{problems:?}"),
    }
}

/// The one rule that is broken, of the kind named.
fn one_broken(text: &str, rule: BrokenRule) -> Broken {
    let today = stands(text);
    let faults: Vec<&Broken> = today[0].faults.iter().filter(|f| f.rule == rule).collect();
    assert_eq!(faults.len(), 1, "{:?}", today[0].faults);
    assert!(!today[0].holds);
    faults[0].clone()
}

#[test]
fn today_s_stations_stand_in_the_book_s_order_with_their_cycles_by_product_and_option() {
    let tasks = by_hand("lay", 50, "", "left", "T1")
        + &by_hand("join", 30, "lay", "", "T1")
        + "hook,assembly,trim,,tow bar,40,,,,,,join,,,,,,,,,T3,\n\
           stretch,assembly,trim,long,,20,,,,,,,,,,,,,,,T3,\n";
    let today = stands(&tasks);
    let line = &today[0];
    assert!(line.holds, "{:?}", line.faults);
    let names: Vec<_> = line.cycles.iter().map(|c| c.station.as_str()).collect();
    assert_eq!(names, ["T1", "T2", "T3"]);
    assert!(line.stations[1].posts.is_empty());
    // The right waits for the left: 50 + 30 s of one station cycle.
    assert!((line.cycles[0].mean_s - 80.0).abs() < 1e-9);
    assert_eq!((line.cycles[0].people, line.cycles[2].people), (1, 2));
    let last = &line.cycles[2];
    // One on either side: a quarter of the cars has 40 s, a long one 20 s.
    assert!((last.by_product[1].plain_s - 20.0).abs() < 1e-9);
    assert!((last.by_product[0].mean_s - 10.0).abs() < 1e-9);
    assert!((last.by_option[0].cycle_s - 40.0).abs() < 1e-9);
    let waits: Vec<_> = line
        .order
        .iter()
        .map(|w| (w.task.as_str(), w.after.as_str()))
        .collect();
    assert_eq!(waits, [("join", "lay"), ("hook", "join")]);
}

#[test]
fn a_station_over_the_cycle_says_by_how_much_and_what_to_move_where() {
    let tasks = by_hand("a", 60, "", "", "T1")
        + &by_hand("b", 40, "a", "", "T1")
        + &by_hand("c", 20, "b", "", "T2");
    let fault = one_broken(&tasks, BrokenRule::Cycle);
    assert_eq!(fault.station.as_deref(), Some("T1"));
    assert!((fault.by_s.unwrap() - 10.0).abs() < 1e-9);
    assert!(
        fault.what.contains("10.0 s over the cycle of 90.0 s"),
        "{}",
        fault.what
    );
    assert_eq!(fault.way_out, "move `b` to `T2`");
    assert_eq!(fault.rows.len(), 2);
}

#[test]
fn a_task_longer_than_the_cycle_by_itself_asks_for_division_parallel_stations_or_takt() {
    let fault = one_broken(&by_hand("long", 120, "", "", "T1"), BrokenRule::Cycle);
    assert!(fault.way_out.contains("divide it"), "{}", fault.way_out);
    assert!(fault.way_out.contains("in parallel"), "{}", fault.way_out);
    // 120 s are 4/3 of the cycle of 90 s, and so is the takt of 133.3 s of 100 s.
    assert!(
        fault.way_out.contains("takt of 133.3 s"),
        "{}",
        fault.way_out
    );
}

#[test]
fn work_that_only_one_side_can_do_and_that_does_not_fit_it_is_named() {
    let tasks = by_hand("a", 60, "", "left", "T1")
        + &by_hand("b", 40, "", "left", "T1")
        + &by_hand("c", 10, "", "right", "T1");
    let fault = one_broken(&tasks, BrokenRule::Side);
    assert!(
        fault.what.contains("the left of `T1` has 100.0 s"),
        "{}",
        fault.what
    );
    assert_eq!(fault.rows.len(), 2);
}

#[test]
fn a_task_before_what_it_follows_names_both_stations() {
    let tasks = by_hand("a", 10, "", "", "T2") + &by_hand("b", 10, "a", "", "T1");
    let fault = one_broken(&tasks, BrokenRule::Order);
    assert!(
        fault.what.contains("`b` at `T1` must follow `a`"),
        "{}",
        fault.what
    );
    assert!(
        fault.way_out.contains("move `b` to `T2`"),
        "{}",
        fault.way_out
    );
    assert_eq!(
        fault.rows.iter().map(|at| at.row).collect::<Vec<_>>(),
        [3, 2]
    );
}

#[test]
fn tasks_that_must_or_must_not_share_a_station_are_named_where_they_do_not() {
    let tasks = by_hand("a", 10, "", "", "T1") + "b,assembly,trim,,,10,,,,,,,,,,,,,,,T2,a\n";
    let fault = one_broken(&tasks, BrokenRule::SameStation);
    assert!(
        fault.what.contains("must share the station of `a`"),
        "{}",
        fault.what
    );
}

#[test]
fn tasks_without_a_station_are_listed_and_still_drawn() {
    let tasks = by_hand("a", 10, "", "", "T1") + &by_hand("b", 10, "a", "", "");
    let today = stands(&tasks);
    assert_eq!(today[0].unplaced[0].task, "b");
    let fault = one_broken(&tasks, BrokenRule::Unplaced);
    assert_eq!(fault.rows[0].row, 3);
}

#[test]
fn a_car_beyond_the_overload_that_the_plant_allows_is_named() {
    let tasks =
        by_hand("lay", 60, "", "", "T1") + "hook,assembly,trim,,tow bar,60,,,,,,,,,,,,,,,T1,\n";
    let fault = one_broken(&tasks, BrokenRule::Overload);
    // 120 s where 90 s and a fifth more are allowed.
    assert!(
        fault.what.contains("with tow bar takes 120.0 s at `T1`"),
        "{}",
        fault.what
    );
    assert!((fault.by_s.unwrap() - 12.0).abs() < 1e-9);
}

#[test]
fn a_robot_has_its_station_to_itself_today_as_in_the_plan() {
    let tasks = GLASS.to_owned() + &by_hand("a", 10, "", "", "T1");
    let fault = one_broken(&tasks, BrokenRule::Robot);
    assert!(
        fault.what.contains("arm does not have `T1` to itself"),
        "{}",
        fault.what
    );
    let alone = stands(GLASS);
    assert!((alone[0].cycles[0].mean_s - 79.0).abs() < 1e-9);
    assert_eq!(
        (alone[0].cycles[0].people, alone[0].cycles[0].robots),
        (0, 1)
    );
}

/// A book with another line, `final`, behind trim.
fn two_lines(tasks: &str) -> Book {
    let text = with(tasks)
        .replace(
            "T3,assembly,trim,90,\n",
            "T3,assembly,trim,90,\nF1,assembly,final,90,\nF2,assembly,final,90,\n",
        )
        .replace("T2,T3\n", "T2,T3\nT3,F1\nF1,F2\n");
    book(&text)
}

#[test]
fn a_task_at_another_line_s_station_counts_nowhere_and_the_least_moves_bring_just_it_home() {
    let of_final = |name: &str, seconds: u32, after: &str, station: &str| {
        by_hand(name, seconds, after, "", station).replace(",trim,", ",final,")
    };
    let tasks = by_hand("a", 60, "", "", "T1")
        + &of_final("b", 50, "", "F1")
        + &of_final("c", 40, "b", "T3")
        + &of_final("d", 70, "", "F2");
    let plan = plan(&two_lines(&tasks)).unwrap();
    let line = plan
        .lines
        .iter()
        .find(|l| l.line.as_deref() == Some("final"));
    let line = line.unwrap();
    let today = line.today.as_ref().unwrap();
    let names: Vec<_> = today.cycles.iter().map(|c| c.station.as_str()).collect();
    assert_eq!(names, ["F1", "F2"]);
    let fault = today
        .faults
        .iter()
        .find(|f| f.rule == BrokenRule::Elsewhere);
    let fault = fault.unwrap();
    assert!(
        fault.what.contains("no station has its work"),
        "{}",
        fault.what
    );
    assert_eq!(today.unplaced[0].task, "c");
    let again = line.again.as_ref().unwrap();
    let moves: Vec<_> = again
        .moves
        .iter()
        .map(|m| (m.task.as_str(), m.from.as_str(), m.to.as_str()))
        .collect();
    assert_eq!(moves, [("c", "T3", "F1")]);
    assert!(again.proven && (again.moved_s - 40.0).abs() < 1e-9);
}

#[test]
fn two_units_do_a_task_of_one_and_a_third_cycles_on_every_other_car() {
    let tasks = by_hand("long", 120, "", "", "T2") + &by_hand("b", 60, "long", "", "T3");
    let text = with(&tasks).replace("cycle_s,source", "cycle_s,units,source");
    let text = text.replace("T1,assembly,trim,90,yes", "T1,assembly,trim,90,1,yes");
    let text = text.replace("T2,assembly,trim,90,", "T2,assembly,trim,90,2,");
    let text = text.replace("T3,assembly,trim,90,\n", "T3,assembly,trim,90,1,\n");
    let plan = planned(&text);
    let line = &plan.lines[0];
    assert!(plan.holds, "{:?}", line.stuck);
    let today = line.today.as_ref().unwrap();
    assert!(today.holds, "{:?}", today.faults);
    assert!(line.again.as_ref().unwrap().moves.is_empty());
    // One at each of the two units, and one at the station behind.
    assert_eq!(line.people, 3);
    assert!(
        plan.choices[0].reason.contains("2 units"),
        "{}",
        plan.choices[0].reason
    );
}

#[test]
fn short_tasks_at_two_units_have_twice_the_cycle_together_and_stay() {
    let tasks = by_hand("a", 80, "", "", "T2") + &by_hand("b", 80, "a", "", "T2");
    let text = with(&tasks).replace("cycle_s,source", "cycle_s,units,source");
    let text = text.replace("T1,assembly,trim,90,yes", "T1,assembly,trim,90,1,yes");
    let text = text.replace("T2,assembly,trim,90,", "T2,assembly,trim,90,2,");
    let text = text.replace("T3,assembly,trim,90,\n", "T3,assembly,trim,90,1,\n");
    let plan = planned(&text);
    let line = &plan.lines[0];
    // 160 s of the 180 s that two units have for a car.
    assert!(line.today.as_ref().unwrap().holds);
    assert!(line.again.as_ref().unwrap().moves.is_empty());
    assert_eq!((line.stations.len(), line.people), (1, 2));
    // A third task of 40 s is too much for them and goes elsewhere.
    let more = text + &by_hand("c", 40, "b", "", "T2") + &by_hand("d", 10, "c", "", "T3");
    let plan = planned(&more);
    let again = plan.lines[0].again.as_ref().unwrap();
    let moves: Vec<_> = again
        .moves
        .iter()
        .map(|m| (m.task.as_str(), m.to.as_str()))
        .collect();
    assert_eq!(moves, [("c", "T3")]);
}

#[test]
fn one_bad_row_leaves_the_other_lines_their_balance() {
    let bad = "x,assembly,final,,,,,,,,,,,,,,,,,,,\n";
    let plan = plan(&two_lines(&(by_hand("a", 60, "", "", "T1") + bad))).unwrap();
    assert!(!plan.holds && plan.lines.len() == 2);
    assert!(plan.lines[0].stuck.is_empty() && !plan.lines[0].stations.is_empty());
    let stuck = &plan.lines[1].stuck[0];
    assert!(stuck.why.contains("no time for `x`"), "{}", stuck.why);
    assert_eq!(stuck.rows[0].row, 3);
}

#[test]
fn one_bad_row_leaves_the_other_lines_shown_as_they_stand() {
    let bad = "x,assembly,final,,,,,,,,,,,,,,,,,,,\n";
    let book = two_lines(&(by_hand("a", 60, "", "", "T1") + bad));
    let told = today(&book, &needs(&book), &Watch::none()).unwrap();
    assert_eq!(told.len(), 2);
    assert!(told[0].holds && told[0].people == 1);
    let fault = &told[1].faults[0];
    assert_eq!((fault.rule, fault.rows[0].row), (BrokenRule::Row, 3));
    assert!(fault.what.contains("no time for `x`"), "{}", fault.what);
}
