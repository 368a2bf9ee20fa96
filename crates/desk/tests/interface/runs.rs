//! Runs of the plant and single formulas, asked for and refused.

use serde_json::json;

use crate::support::Served;

#[test]
fn a_run_can_be_cancelled_and_the_queue_is_bounded() {
    let desk = Served::demo();
    let run = |seed: u32| {
        let settings = json!({"replications": 1000, "weeks": 52, "seed": seed});
        desk.post(
            "/api/revisions/2/runs",
            &json!({"kind": "precise", "settings": settings}),
        )
    };
    let first = run(1).good()["job"].clone();
    assert_eq!(run(1).good()["job"], first, "the same run is the same job");
    let second = run(2).good()["job"].clone();
    let waiting = desk
        .ask("DELETE", &format!("/api/jobs/{second}"), &[], b"")
        .good();
    assert_eq!(waiting["state"], "cancelled");
    let full = (3..200)
        .map(run)
        .find(|reply| reply.status != 202)
        .expect("a bound");
    assert_eq!((full.status, full.code().as_str()), (503, "queue-full"));
    let jobs = desk.get("/api/jobs").good();
    for job in jobs.as_array().unwrap() {
        desk.ask("DELETE", &format!("/api/jobs/{}", job["id"]), &[], b"")
            .good();
    }
    assert_eq!(desk.job(&first)["state"], "cancelled");
    // The page that comes back finds the job by its number.
    let found = desk.get(&format!("/api/jobs/{first}")).good();
    assert_eq!(found["state"], "cancelled");
    // A preview never waits behind them.
    let preview = desk
        .post("/api/revisions/2/runs", &json!({"kind": "preview"}))
        .good();
    assert_eq!(desk.job(&preview["job"])["state"], "done");
}

#[test]
fn settings_out_of_range_are_refused_with_the_range() {
    let desk = Served::demo();
    for settings in [
        json!({"replications": 1}),
        json!({"replications": 100_000}),
        json!({"weeks": 0}),
        json!({"trials": 50}),
        json!({"warm_up_h": -1.0}),
    ] {
        let body = json!({"kind": "preview", "settings": settings});
        let reply = desk.post("/api/revisions/2/runs", &body);
        assert_eq!((reply.status, reply.code().as_str()), (422, "settings"));
    }
    let unknown = json!({"kind": "preview", "settings": {"sed": 1}});
    assert_eq!(desk.post("/api/revisions/2/runs", &unknown).status, 400);
}

#[test]
fn the_formula_sheet_computes_and_refuses_in_words() {
    let desk = Served::at("127.0.0.1:0", None, |_| ());
    let sheet = desk.get("/api/formulas").good();
    assert!(sheet.as_array().unwrap().len() > 30);
    let values = json!({"net_time": "880 min", "demand": "200"});
    let working = desk.post("/api/formulas/takt", &values).good();
    assert_eq!(working["results"][0]["value"], 264.0);
    let refused = desk.post("/api/formulas/takt", &json!({"net_time": "a while"}));
    assert_eq!(
        (refused.status, refused.code().as_str()),
        (422, "formula-refused")
    );
    let unknown = desk.post("/api/formulas/takd", &json!({}));
    assert_eq!(unknown.status, 404);
    assert!(unknown.text().contains("takt"));
    let schema = desk.get("/api/schema").good();
    assert_eq!(schema["tables"][0]["name"], "plant");
    assert_eq!(desk.get("/api/health").good()["schema"], 2);
}
