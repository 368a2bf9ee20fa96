//! What to do next: ideas, banks, a way to a rate, a budget.

use serde_json::json;

use crate::support::Served;

#[test]
fn what_to_do_next_is_asked_for_and_wrong_questions_are_refused_with_a_way_out() {
    let desk = Served::demo();
    let path = |what: &str| format!("/api/revisions/2/next/{what}");
    for what in [
        "improve",
        "banks",
        "reach?cars=1400",
        "reach?days=4",
        "improve.xlsx",
    ] {
        assert_eq!(desk.get(&path(what)).status, 404, "{what}");
    }
    for what in [
        "reach?cars=-1",
        "reach?",
        "reach?cars=1400&days=0",
        "together?ideas=1,1",
        "together?ideas=x",
    ] {
        assert_eq!(desk.get(&path(what)).status, 422, "{what}");
    }
    let unranked = desk.post(&path("together?ideas=1"), &json!({}));
    assert_eq!(unranked.status, 404);
    assert_eq!(unranked.code(), "no-such-idea");
}

/// Three quick stations round the clock, the second slow, and two ideas for it: a
/// ranking takes some seconds.
fn three_stations() -> book::raw::Workbook {
    let folder = tempfile::tempdir().unwrap();
    let put = |table: &str, text: &str| {
        std::fs::write(folder.path().join(format!("{table}.csv")), text).unwrap();
    };
    put("products", "product,cars_per_week\nvan,90000\n");
    put(
        "stations",
        "station,shop,cycle_s,spread,mtbf_min,mttr_min\ncut,body,6,0.1,90,2\n\
         weld,body,7.5,0.1,90,4\ncheck,body,6,0.1,90,2\n",
    );
    put("links", "from,to,holds\ncut,weld,4\nweld,check,4\n");
    put(
        "ideas",
        "idea,table,row,column,from,to,investment,cost_per_year,weeks\n\
         quick torch,stations,weld,cycle_s,7.5,6.6,100000,2000,6\n\
         second fitter,stations,weld,mttr_min,4,2,0,60000,2\n",
    );
    book::read_path(folder.path()).unwrap()
}

#[test]
fn a_ranking_that_is_stopped_shows_the_best_so_far_and_goes_on_from_its_runs() {
    let desk = Served::at("127.0.0.1:0", Some(three_stations()), |_| ());
    let path = "/api/revisions/2/next/improve";
    let job = desk.post(path, &json!({})).good()["job"].clone();
    loop {
        let state = desk.get(&format!("/api/jobs/{job}")).good();
        assert_ne!(state["state"], "done", "it was to be stopped before");
        if state["done"].as_u64() > Some(60) {
            break;
        }
        std::thread::yield_now();
    }
    let stop = format!("/api/jobs/{job}");
    desk.ask("DELETE", &stop, &[], b"").good();
    assert_eq!(desk.job(&job)["state"], "cancelled");
    let so_far = desk.get(path).good();
    assert_eq!(so_far["stopped"], true);
    assert!(!so_far["ideas"].as_array().unwrap().is_empty());
    let again = desk.post(path, &json!({})).good()["job"].clone();
    assert_eq!(desk.job(&again)["state"], "done");
    let whole = desk.get(path).good();
    assert_eq!(whole["stopped"], false);
    assert!(whole["runs"].as_u64() > so_far["runs"].as_u64());
}

#[test]
fn what_a_budget_buys_is_found_by_a_job_that_can_be_stopped() {
    let desk = Served::demo();
    let path = |money: &str| format!("/api/revisions/2/next/budget?money={money}");
    assert_eq!(desk.get(&path("24000000")).code(), "not-found-out");
    for money in ["0", "-1", "NaN", "1e13"] {
        let refused = desk.ask("POST", &path(money), &[], b"");
        assert_eq!(
            (refused.status, refused.code().as_str()),
            (422, "budget"),
            "{money}"
        );
    }
    let asked = desk.ask("POST", &path("24000000"), &[], b"");
    assert_eq!(asked.status, 202);
    let job = asked.json()["job"].clone();
    let state = desk.get(&format!("/api/jobs/{job}")).good();
    assert_eq!(state["kind"], "budget");
    desk.ask("DELETE", &format!("/api/jobs/{job}"), &[], b"")
        .good();
    assert_eq!(desk.job(&job)["state"], "cancelled");
    assert_eq!(
        desk.get(&path("24000000")).status,
        404,
        "half an answer is none"
    );
}
