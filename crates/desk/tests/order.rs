//! The build order over a real socket, on the demo plant.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

mod support;

use std::time::{Duration, Instant};

use book::raw::Workbook;
use serde_json::Value;
use support::{Served, table};

const ORDER: &str = "/api/revisions/2/shops/order";

fn places(told: &Value) -> Vec<u64> {
    let places = told["planned_places"].as_array().unwrap();
    places.iter().map(|place| place.as_u64().unwrap()).collect()
}

/// The quickest of a few, since other programs have a part of the processors.
#[allow(
    clippy::disallowed_methods,
    reason = "the test measures how long a hand waits"
)]
fn quickest(mut ask: impl FnMut()) -> Duration {
    let once = |()| {
        let begun = Instant::now();
        ask();
        begun.elapsed()
    };
    [(); 5].map(once).into_iter().min().unwrap()
}

#[test]
fn the_order_is_planned_by_a_job_moved_by_hand_at_once_and_taken_along() {
    let desk = Served::demo();
    for early in [
        "",
        "/hand?moves=40.1.60",
        "/places?from=40",
        ".csv",
        ".xlsx",
    ] {
        let reply = desk.get(&format!("{ORDER}{early}"));
        assert_eq!((reply.status, reply.code().as_str()), (404, "not-planned"));
    }
    let asked = desk.ask("POST", ORDER, &[], b"").good();
    let job = desk.job(&asked["job"]);
    assert_eq!(job["state"], "done");
    let plan = desk.get(ORDER).good();
    // Rules given and rules of stations are goals apart in the demo.
    let best = |what: &str| {
        let told = job["best"].as_array().unwrap().iter();
        let own = told.filter(|one| one["what"].as_str().unwrap().starts_with(what));
        own.map(|one| one["value"].as_f64().unwrap()).sum::<f64>()
    };
    let told = (best("changes of colour"), best("runs of cars past a rule"));
    let (colours, sums) = (&plan["colours"], &plan["sums"]);
    let planned = (&colours["changes"], &sums["runs_past"]);
    assert_eq!(
        told,
        (planned.0.as_f64().unwrap(), planned.1.as_f64().unwrap())
    );
    let cars = plan["places"].as_array().unwrap().len() as u64;
    let bare = desk.get(&format!("{ORDER}/hand")).good();
    assert_eq!(places(&bare), (1..=cars).collect::<Vec<u64>>());
    assert_eq!(bare["rules"], plan["rules"]);
    assert_eq!(bare["sums"], plan["sums"]);
    assert_eq!(bare["proof"], plan["proof"]);

    let moves = "moves=100.1.140_300.12.60";
    let moved = desk.get(&format!("{ORDER}/hand?{moves}")).good();
    assert_eq!(places(&moved)[59], 300, "the block stands at place 60");
    assert_eq!(moved["steps"].as_array().unwrap().len(), 2);
    let took = quickest(|| {
        let again = desk.get(&format!("{ORDER}/hand?{moves}")).good();
        assert_eq!(again, moved, "the same moves give the same order");
    });
    assert!(took < Duration::from_millis(300), "a move took {took:?}");
    let found = desk
        .get(&format!("{ORDER}/places?{moves}&from=60&cars=12"))
        .good();
    assert_eq!(found["changes"].as_array().unwrap().len() as u64, cars);
    assert!(found["changes"][0].is_null(), "the first places are frozen");

    let file = desk.get(&format!("{ORDER}.csv?{moves}"));
    let told = file.header("content-disposition").unwrap().to_owned();
    assert!(told.contains("order-week-1-by-hand-r2.csv"), "{told}");
    let text = file.text();
    let line = text.lines().nth(60).unwrap();
    let car = &plan["places"][299];
    assert!(line.starts_with("60,"), "{line}");
    assert!(line.contains(car["product"].as_str().unwrap()), "{line}");
    assert!(line.contains(car["colour"].as_str().unwrap()), "{line}");
    let workbook = desk.get(&format!("{ORDER}.xlsx?{moves}"));
    assert!(workbook.text().starts_with("PK"));
    refuses_what_is_no_move(&desk);
}

/// Moves and weeks that are none, told in words.
fn refuses_what_is_no_move(desk: &Served) {
    for (query, status, told) in [
        ("moves=1.1.50", 422, "frozen"),
        (
            "moves=90.1.100_9999.1.50",
            422,
            "move 2: place 9999; expected a place from 1 to",
        ),
        ("moves=90.1", 400, "from.cars.to"),
        ("moves=a.b.c", 400, "`a.b.c`"),
        ("week=0", 422, "week 0"),
        ("week=x", 400, ""),
        ("effort=0", 422, "0 times the usual moves"),
        ("effort=1000", 404, "not planned yet"),
        ("effort=1001", 422, "ask for 1 to 1000 times"),
    ] {
        let reply = desk.get(&format!("{ORDER}/hand?{query}"));
        assert_eq!(reply.status, status, "{query}: {}", reply.text());
        assert!(reply.text().contains(told), "{query}: {}", reply.text());
    }
    let many = vec!["90.1.91"; 501].join("_");
    let reply = desk.get(&format!("{ORDER}/hand?moves={many}"));
    assert_eq!(reply.code(), "too-many-moves");
}

/// A line with an option under a rule that must hold, and two colours.
fn small() -> Workbook {
    Workbook {
        name: "small".to_owned(),
        tables: vec![
            table("plant", "setting,value\nname,Little Quay\norder_shop,trim"),
            table(
                "shifts",
                "shop,shift,days,start,end\ntrim,day,mon-fri,06:00,14:00",
            ),
            table("products", "product,cars_per_week\nvan,120"),
            table(
                "stations",
                "station,shop,cycle_s,source\ndoors,trim,900,yes\nseats,trim,880,",
            ),
            table("links", "from,to,holds\ndoors,seats,2"),
            table(
                "options",
                "option,share,at_most,in_every,must\ntow bar,0.3,1,3,yes\nroof rails,0.3,1,2,",
            ),
            table(
                "colours",
                "colour,share,change_s,purge_l\nwhite,0.6,12,0.3\nblue,0.4,12,0.3",
            ),
        ],
        ..Workbook::default()
    }
}

#[test]
fn an_order_searched_for_longer_says_so_and_is_the_same_each_time() {
    let plan = |effort: &str| {
        let desk = Served::at("127.0.0.1:0", Some(small()), |_| ());
        let order = format!("{ORDER}{effort}");
        let asked = desk.ask("POST", &order, &[], b"").good();
        assert_eq!(desk.job(&asked["job"])["state"], "done");
        desk.get(&order).good()
    };
    let (usual, longer) = (plan(""), plan("?effort=2"));
    let moves = |plan: &Value| plan["proof"]["moves"].as_u64().unwrap();
    assert!(moves(&longer) >= moves(&usual));
    assert_eq!(longer, plan("?effort=2"), "the same effort, the same order");
}

#[test]
fn an_order_cut_short_keeps_its_best_to_be_moved_until_the_whole_search_is_made() {
    let desk = Served::demo();
    let order = format!("{ORDER}?effort=64");
    let begin = || desk.ask("POST", &order, &[], b"").good()["job"].clone();
    let job = begin();
    loop {
        let now = desk.get(&format!("/api/jobs/{job}")).good();
        if now["done"].as_u64() > Some(0) {
            break;
        }
        assert_ne!(now["state"], "failed", "{now}");
        std::thread::sleep(Duration::from_millis(50));
    }
    desk.ask("DELETE", &format!("/api/jobs/{job}"), &[], b"")
        .good();
    assert_eq!(desk.job(&job)["state"], "cancelled");
    let plan = desk.get(&order).good();
    assert_eq!(plan["proof"]["complete"], false);
    assert_eq!(plan["places"].as_array().unwrap().len(), 1_400);
    let moved = desk
        .get(&format!("{ORDER}/hand?effort=64&moves=100.1.140"))
        .good();
    assert_eq!(places(&moved)[139], 100);
    assert_eq!(desk.get(ORDER).code(), "not-planned", "of the usual moves");
    let again = begin();
    assert_ne!(again, job, "what was cut short is no plan that was kept");
    desk.ask("DELETE", &format!("/api/jobs/{again}"), &[], b"")
        .good();
}
