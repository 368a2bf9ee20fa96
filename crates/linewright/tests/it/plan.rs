//! `linewright plan`: what holds on paper, and what does not.

use crate::support::{Plant, answer, json, refusal};

#[test]
fn a_plan_that_holds_on_paper_says_so() {
    let plant = Plant::sound();
    let said = answer(&["plan", plant.path()], 0);
    assert!(
        said.contains("on paper the plan of 1,000 cars a week holds"),
        "{said}"
    );
    let said = json(&["plan", plant.path(), "--json"], 0);
    assert_eq!(said["holds"], true);
    // 40 h a week over 1000 cars is a takt of 144 s; a cycle of 120 s in it is
    // a load of 5/6.
    let wash = &said["stations"][1];
    assert_eq!(wash["station"], "wash");
    let load = wash["load"]["value"].as_f64().unwrap();
    assert!((load - 120.0 / 144.0).abs() < 1e-9, "{load}");
}

#[test]
fn a_station_beyond_takt_is_named_with_the_smallest_change() {
    let plant = Plant::sound();
    plant.table("products", "product,cars_per_week\nTern,1300\n");
    let said = answer(&["plan", plant.path()], 1);
    assert!(said.contains("does not hold"), "{said}");
    assert!(
        said.contains("wash (stations row 3): load 108.3 %"),
        "{said}"
    );
    // Nothing is wrong with the tables, but whoever asks is told.
    let said = answer(&["check", plant.path()], 0);
    assert!(
        said.contains("note  stations row 3  [stations/falls-short]"),
        "{said}"
    );
    assert!(
        said.contains("bring the mean cycle from 120.0 s to 110.8 s"),
        "{said}"
    );
}

#[test]
fn a_task_beyond_takt_is_named_with_the_smallest_change() {
    let plant = Plant::sound();
    plant.table(
        "tasks",
        "task,shop,hand_s,station\nrinse twice,body,150,wash\n",
    );
    let said = answer(&["check", plant.path()], 0);
    assert!(
        said.contains("note  tasks row 2, hand_s  [tasks/beyond-takt]"),
        "{said}"
    );
    assert!(
        said.contains("divide it so that 6.0 s are done elsewhere, or give `wash` 2 units"),
        "{said}"
    );
}

#[test]
fn a_figure_of_the_plan_can_be_taken_apart() {
    let plant = Plant::sound();
    let said = answer(&["plan", plant.path(), "--working", "shop.body.takt"], 0);
    assert!(said.contains("144 s"), "{said}");
    assert!(said.contains("source:"), "{said}");
    let said = answer(&["plan", plant.path(), "--working", "takt body"], 0);
    assert!(said.starts_with("shop.body.takt"), "{said}");
    let said = answer(&["plan", plant.path(), "--working", "wash"], 0);
    assert!(said.contains("name one to take it apart"), "{said}");
    let said = refusal(&["plan", plant.path(), "--working", "shop.body.takd"], 2);
    assert!(said.contains("did you mean `shop.body.takt`?"), "{said}");
}

#[test]
fn a_plan_tells_the_share_of_cars_right_first_time() {
    let said = answer(&["plan", Plant::sound().path()], 0);
    assert!(said.contains("First time right: "), "{said}");
    assert!(
        said.contains("share of all cars right at the first try"),
        "{said}"
    );
}
