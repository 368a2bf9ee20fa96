//! The least moves from today, with robots where they stand.

use super::*;

/// The book with robots at some of the stations.
fn with_robots(tasks: &str, at: &str) -> String {
    let robots = |name: &str| if at.contains(name) { "1" } else { "" };
    with(tasks)
        .replace("cycle_s,source", "cycle_s,robots,source")
        .replace(
            "T1,assembly,trim,90,yes",
            &format!("T1,assembly,trim,90,{},yes", robots("T1")),
        )
        .replace(
            "T2,assembly,trim,90,",
            &format!("T2,assembly,trim,90,{},", robots("T2")),
        )
        .replace(
            "T3,assembly,trim,90,\n",
            &format!("T3,assembly,trim,90,{},\n", robots("T3")),
        )
}

#[test]
fn a_robot_with_a_little_too_much_gives_its_least_work_to_people_and_stays() {
    let glass = GLASS
        .replace("hoist,23", "hoist,36")
        .replace(",,,40,,,23,", ",,,40,,,36,");
    let tasks = glass + &by_hand("a", 80, "", "", "T2") + &by_hand("b", 40, "", "", "T3");
    let plan = planned(&with_robots(&tasks, "T1"));
    let again = plan.lines[0].again.as_ref().unwrap();
    // 92 s with two changes where there are 90 s: the seat goes, as the glass
    // comes between two tasks that stay.
    let moved: Vec<_> = again
        .moves
        .iter()
        .map(|m| (m.task.as_str(), m.to.as_str()))
        .collect();
    assert_eq!(moved, [("set seat", "T3")]);
    assert_eq!(again.moves[0].by.as_deref(), Some("fitter with hoist"));
    assert!(
        again.proven && again.robots.is_empty(),
        "{:?}",
        again.robots
    );
    let faults = &plan.lines[0].today.as_ref().unwrap().faults;
    let fault = faults.iter().find(|f| f.rule == BrokenRule::Robot).unwrap();
    assert!(
        fault
            .way_out
            .contains("two cars between returns to the first tool")
            && fault.way_out.contains("82.0 s a car and fits")
            && fault
                .way_out
                .contains("second robot at a station of its own"),
        "{}",
        fault.way_out
    );
}

#[test]
fn work_at_a_station_without_robots_stays_with_people_though_a_robot_costs_less() {
    let quick = "lift,assembly,trim,,,80,,,10,arm,,,,,,,,,,,T2,\n";
    let plan = planned(&with_robots(&(GLASS.to_owned() + quick), "T1"));
    let line = &plan.lines[0];
    let again = line.again.as_ref().unwrap();
    assert!(again.moves.is_empty() && again.robots.is_empty());
    let posts = &line.today.as_ref().unwrap().stations[1].posts;
    assert_eq!(posts[0].by, "fitter");
}

#[test]
fn a_robot_that_the_work_takes_and_no_station_has_is_bought() {
    // Nobody may lift it, and the station has no robot.
    let heavy = "heavy,assembly,trim,,,,,,40,arm,,,,,,,,,,,T2,\n";
    let plan = planned(&with_robots(&(GLASS.to_owned() + heavy), "T1"));
    let again = plan.lines[0].again.as_ref().unwrap();
    let robots: Vec<_> = again
        .robots
        .iter()
        .map(|r| (r.robot.as_str(), r.change, r.to.as_deref()))
        .collect();
    assert_eq!(robots, [("arm", RobotChange::Bought, Some("T2"))]);
    assert!(again.robots[0].cost_per_year > 0.0);
    // The book has one at T1 and none at T2.
    let counts: Vec<_> = again
        .counts
        .iter()
        .map(|count| (count.station.as_str(), count.now, count.then))
        .collect();
    assert_eq!(counts, [("T2", 0, 1)]);
}
