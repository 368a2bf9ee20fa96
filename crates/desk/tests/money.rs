//! Money and growth over the interface: made by jobs, kept, taken along.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails says so"
)]

mod support;

use book::raw::Workbook;
use serde_json::Value;

use support::{Served, table};

/// Two stations, a bought wheel, an idea, a forecast.
fn plant(forecast: &str) -> Workbook {
    Workbook {
        name: "small".to_owned(),
        tables: vec![
            table(
                "shifts",
                "shop,shift,days,start,end\nbody,day,mon-fri,06:00,14:00",
            ),
            table("products", "product,cars_per_week,price\nvan,80,20000"),
            table(
                "parts",
                "part,source,price,per_car,to\nwheel,bought,100,4,frame",
            ),
            table(
                "stations",
                "station,shop,cycle_s,heads\nweld,body,1200,3\nframe,body,1600,5",
            ),
            table("links", "from,to,holds\nweld,frame,3"),
            table(
                "ideas",
                "idea,table,row,column,to,investment,weeks\nfaster,stations,frame,cycle_s,1200,50000,26",
            ),
            table("forecast", forecast),
        ],
        ..Workbook::default()
    }
}

#[test]
fn money_and_growth_are_made_once_kept_and_taken_along() {
    let forecast = "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q2,van,95";
    let desk = Served::at("127.0.0.1:0", Some(plant(forecast)), |_| ());
    let shops = "/api/revisions/2/shops";
    for what in ["money", "growth"] {
        let early = desk.get(&format!("{shops}/{what}.xlsx"));
        assert_eq!((early.status, early.code().as_str()), (404, "not-planned"));
        let asked = desk
            .ask("POST", &format!("{shops}/{what}"), &[], b"")
            .good();
        let job = desk.job(&asked["job"]);
        assert_eq!(
            (job["state"].as_str(), job["kind"].as_str()),
            (Some("done"), Some(what))
        );
        let file = desk.get(&format!("{shops}/{what}.xlsx"));
        assert!(file.text().starts_with("PK"));
        let told = file.header("content-disposition").unwrap();
        assert!(told.contains(&format!("{what}-r2.xlsx")), "{told}");
    }
    let money = desk.get(&format!("{shops}/money")).good();
    assert!(money["total"]["value"].as_f64().unwrap() > 400.0);
    let figure = money["total"]["figure"].as_str().unwrap();
    assert!(money["figures"][figure]["working"]["expression"].is_string());
    let growth = desk.get(&format!("{shops}/growth")).good();
    assert_eq!(growth["steps"][0]["decide_by"], "2030-10-01");
    assert!(growth["periods"][0]["made"].is_null(), "on paper");
    let paper = desk.get("/api/revisions/2/report.html").text();
    for part in ["Cost of a car", "Decisions", "2030-10-01"] {
        assert!(paper.contains(part), "the report lacks {part}");
    }
}

#[test]
fn what_ideas_give_goes_by_the_kept_ranking_or_by_the_plan_where_that_is_chosen() {
    let forecast = "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q2,van,95";
    let desk = Served::at("127.0.0.1:0", Some(plant(forecast)), |_| ());
    let shops = "/api/revisions/2/shops";
    let made = |what: &str| {
        let asked = desk.ask("POST", what, &[], b"").good();
        desk.job(&asked["job"])
    };
    // before there is a ranking it says so, and how to come by one
    let kept = format!("{shops}/money?ideas=kept");
    let failed = made(&kept);
    assert_eq!(failed["state"], "failed");
    let message = failed["message"].as_str().unwrap();
    assert!(message.contains("have them ranked first"), "{message}");
    assert_eq!(desk.get(&kept).code(), "not-planned");

    let plan = format!("{shops}/money?ideas=plan");
    assert_eq!(made(&plan)["state"], "done");
    let on_paper = desk.get(&plan).good();
    assert_eq!(on_paper["gains_by_run"], false);

    let ranked = "/api/revisions/2/next/improve";
    assert_eq!(made(ranked)["state"], "done");
    let ranked = desk.get(ranked).good();
    let ideas = ranked["ideas"].as_array().unwrap();
    let faster = ideas.iter().find(|one| one["idea"]["name"] == "faster");
    let faster = &faster.unwrap()["cars"];
    let job = made(&kept);
    assert_eq!(
        (&job["state"], &job["of"]),
        (&"done".into(), &0.into()),
        "no run"
    );
    let money = desk.get(&kept).good();
    assert_eq!(money["gains_by_run"], true);
    let case = &money["cases"][0];
    assert_eq!(case["cars"], faster["mean"]);
    assert_eq!(case["half_width"], faster["half_width"]);
    // what a car costs is the same whatever ideas go by
    assert_eq!(money["total"]["value"], on_paper["total"]["value"]);
    let file = desk.get(&format!("{shops}/money.xlsx?ideas=kept"));
    assert!(file.text().starts_with("PK"));
    assert_eq!(desk.get(&format!("{shops}/money?ideas=guess")).status, 400);
    the_report_goes_by_the_same_choice(&desk, faster);
}

/// The kept ranking and the plan alone were asked for on the page, runs were not.
fn the_report_goes_by_the_same_choice(desk: &Served, faster: &Value) {
    let report = |query: &str| {
        let page = desk.get(&format!("/api/revisions/2/report.html{query}"));
        assert_eq!(page.status, 200, "{query}");
        page.text()
    };
    let (kept, plan) = (report("?ideas=kept"), report("?ideas=plan"));
    assert!(kept.contains("What ideas give goes by the ranking of ideas that was kept."));
    let half = format!("{:.2}", faster["half_width"].as_f64().unwrap());
    assert!(kept.contains(&half), "± {half} of the kept ranking");
    assert!(plan.contains("goes by the plan&#39;s weakest station, without runs."));
    assert!(plan.contains("Worth of ideas") && !plan.contains("not added up yet"));
    let runs = report("?ideas=runs");
    assert!(runs.contains("not added up yet") && !runs.contains("Worth of ideas"));
    assert!(!report("").contains("Cost of a car"), "nobody asked for it");
    let figures = desk.get("/api/revisions/2/figures.xlsx?ideas=plan");
    assert!(figures.text().starts_with("PK"));
    let guess = desk.get("/api/revisions/2/report.html?ideas=guess");
    assert_eq!(guess.status, 400);
}

#[test]
fn every_period_of_the_forecast_is_run_where_that_is_asked_for() {
    let forecast = "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q2,van,95";
    let desk = Served::at("127.0.0.1:0", Some(plant(forecast)), |_| ());
    let runs = "/api/revisions/2/shops/growth?run=true";
    assert_eq!(desk.get(runs).code(), "not-planned");
    let asked = desk.ask("POST", runs, &[], b"").good();
    let job = desk.job(&asked["job"]);
    assert_eq!(job["state"], "done");
    // As it is in both periods, and with the idea that is there in the second.
    assert_eq!((&job["done"], &job["of"]), (&18.into(), &18.into()));
    let growth = desk.get(runs).good();
    let last = &growth["periods"][1];
    assert_eq!(last["verdict"], "missed");
    let made = |of: &str| last[of]["mean"].as_f64().unwrap();
    assert!(made("made_with") > made("made"), "{last}");
    let file = desk.get("/api/revisions/2/shops/growth.xlsx?run=true");
    assert!(file.text().starts_with("PK"));
}

#[test]
fn a_forecast_with_a_gap_fails_with_its_row_and_way_out() {
    let forecast = "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q3,van,95";
    let desk = Served::at("127.0.0.1:0", Some(plant(forecast)), |_| ());
    let asked = desk
        .ask("POST", "/api/revisions/2/shops/growth", &[], b"")
        .good();
    let job = desk.job(&asked["job"]);
    assert_eq!(job["state"], "failed");
    let message = job["message"].as_str().unwrap();
    for part in [
        "forecast row 3",
        "right after `2031 Q1`",
        "add rows for 2031 Q2",
    ] {
        assert!(message.contains(part), "{message}");
    }
}
