//! `linewright cost` and `linewright growth`, as somebody types them.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{asked, lay_out};

const PLANT: &str = "setting,value\nweeks_per_year,50\nrivet_cost,0.05\noverhead_per_year,2000000\n\
                     learning_model,unit\nlearning_rate,0.75\nfirst_car_hours,40\n";
const PRODUCTS: &str = "product,cars_per_week,price\nvan,80,20000\n";
const PARTS: &str = "part,source,price,per_car,to\nwheel,bought,100,4,frame\n";
const IDEAS: &str = "idea,table,row,column,to,investment,cost_per_year,weeks\n\
                     faster frame,stations,frame,cycle_s,1200,50000,4000,26\n";
const FORECAST: &str =
    "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q2,van,95\n2031 Q3,van,110\n";

/// Two stations of a 40-hour week; the second makes 90 cars.
fn small(within: &Path, changes: &[(&str, &str)]) -> PathBuf {
    let book = within.join("book");
    let usual = [
        ("plant", PLANT),
        ("products", PRODUCTS),
        ("parts", PARTS),
        ("ideas", IDEAS),
        ("forecast", FORECAST),
        (
            "shifts",
            "shop,shift,days,start,end\nbody,day,mon-fri,06:00,14:00\n",
        ),
        (
            "stations",
            "station,shop,cycle_s,heads,investment,energy_kw,upkeep_per_year\n\
             weld,body,1200,3,100000,10,5000\nframe,body,1600,5,50000,0,0\n",
        ),
        ("links", "from,to,holds\nweld,frame,3\n"),
    ];
    let tables = usual.map(|(table, text)| {
        let own = changes.iter().find(|(name, _)| *name == table);
        (table, own.map_or(text, |(_, text)| *text))
    });
    lay_out(&book, tables);
    book
}

#[test]
fn the_cost_of_a_car_is_said_and_its_workbook_written() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let file = folder.path().join("money.xlsx");
    let (said, error, code) = asked("cost", &book, &["--xlsx", file.to_str().unwrap()]);
    assert_eq!(code, Some(0), "{said}{error}");
    for part in [
        "a car costs",
        "bought parts",
        "400.00",
        "overhead",
        "faster frame",
    ] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
    assert_eq!(&std::fs::read(file).unwrap()[..2], b"PK");
    let (said, _, _) = asked("cost", &book, &["--json"]);
    let found: Value = serde_json::from_str(&said).unwrap();
    let shops = found["shops"].as_array().unwrap();
    let sum: f64 = shops
        .iter()
        .map(|shop| shop["cost"]["value"].as_f64().unwrap())
        .sum();
    assert!((sum - found["total"]["value"].as_f64().unwrap()).abs() < 1e-9 * sum);
}

#[test]
fn a_figure_of_the_cost_is_taken_apart() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let (said, _, code) = asked("cost", &book, &["--working", "cost.body.people"]);
    assert_eq!(code, Some(0));
    assert!(said.contains("share = cost / (cars * weeks)"), "{said}");
    let (_, error, code) = asked("cost", &book, &["--working", "cost.bdoy.people"]);
    assert_eq!(code, Some(1));
    assert!(
        error.contains("the nearest is `cost.body.people`"),
        "{error}"
    );
}

#[test]
fn a_missing_price_ends_with_1_and_says_where_to_write_it() {
    let folder = tempfile::tempdir().unwrap();
    let parts = PARTS.replace("100", "");
    let book = small(folder.path(), &[("parts", &parts)]);
    let (said, _, code) = asked("cost", &book, &[]);
    assert_eq!(code, Some(1));
    for part in [
        "prices are missing",
        "parts: row 2, price",
        "write it into price",
    ] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
}

#[test]
fn a_negative_life_is_refused_with_row_value_and_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let ideas =
        "idea,table,row,column,to,life_years\nfaster frame,stations,frame,cycle_s,1200,-2\n";
    let book = small(folder.path(), &[("ideas", ideas)]);
    let (said, error, code) = asked("cost", &book, &[]);
    let said = said + &error;
    assert_ne!(code, Some(0));
    for part in ["ideas row 2", "life_years", "-2", "above 0"] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
}

#[test]
fn growth_says_what_to_decide_by_when() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let file = folder.path().join("growth.xlsx");
    let (said, error, code) = asked("growth", &book, &["--xlsx", file.to_str().unwrap()]);
    assert_eq!(code, Some(0), "{said}{error}");
    // 26 weeks before 1 April 2031
    for part in [
        "2031 Q2",
        "faster frame",
        "2030-10-01",
        "Ramp of a start",
        "unit model",
        "on paper (no run stands behind it",
        "the first to decide, by 2030-10-01, is faster frame for body",
    ] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
    assert_eq!(&std::fs::read(file).unwrap()[..2], b"PK");
}

#[test]
fn a_forecast_with_a_gap_is_refused_with_its_row_and_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let forecast = FORECAST.replace("2031 Q2,van,95\n", "");
    let book = small(folder.path(), &[("forecast", &forecast)]);
    let (said, error, code) = asked("growth", &book, &[]);
    let said = said + &error;
    assert_ne!(code, Some(0));
    for part in [
        "forecast row 3",
        "`2031 Q3` right after `2031 Q1`",
        "add rows for 2031 Q2",
    ] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
}

#[test]
fn what_is_decided_first_stands_first_whatever_its_step() {
    let folder = tempfile::tempdir().unwrap();
    // the weld is needed a quarter later and takes a year longer
    let ideas = format!("{IDEAS}faster weld,stations,weld,cycle_s,900,50000,4000,78\n");
    let forecast = "period,product,cars_per_week\n2031 Q1,van,80\n2031 Q2,van,110\n\
                    2031 Q3,van,125\n";
    let ideas = ideas.replace("cycle_s,1200,", "cycle_s,1000,");
    let book = small(folder.path(), &[("ideas", &ideas), ("forecast", forecast)]);
    let (said, error, _) = asked("growth", &book, &[]);
    let table = said
        .split("What to decide by when")
        .nth(1)
        .unwrap_or_else(|| panic!("{said}{error}"));
    let (weld, frame) = (
        table.find("faster weld").unwrap(),
        table.find("faster frame").unwrap(),
    );
    assert!(weld < frame, "{said}");
    let row = table
        .lines()
        .find(|line| line.contains("faster weld"))
        .unwrap();
    assert_eq!(row.split_whitespace().nth(1), Some("2"), "{row}");
}

#[test]
fn a_book_without_a_forecast_is_asked_for_one_and_is_no_book_with_errors() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(
        folder.path(),
        &[("forecast", "period,product,cars_per_week\n")],
    );
    for question in ["growth", "coils"] {
        let (said, error, code) = asked(question, &book, &[]);
        assert_eq!(code, Some(2), "{said}{error}");
        assert!(
            error.contains("the book has nothing for this question in its"),
            "{error}"
        );
        assert!(!error.contains("errors are mended"), "{error}");
    }
}

#[test]
fn what_stands_behind_the_constraint_is_said_to_be_hidden_and_not_to_be_worth_less_than_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let ideas = format!("{IDEAS}faster weld,stations,weld,cycle_s,900,50000,4000,26\n");
    let book = small(folder.path(), &[("ideas", &ideas)]);
    let (said, error, _) = asked("cost", &book, &[]);
    let row = said.lines().find(|line| line.contains("faster weld"));
    let row = row.unwrap_or_else(|| panic!("{said}{error}"));
    assert!(row.contains("hidden behind frame"), "{row}");
    assert!(!row.contains("never"), "{row}");
    assert!(said.contains("`growth` takes it in its turn"), "{said}");
}

#[test]
fn somebody_who_asks_the_plan_for_costs_is_sent_to_cost() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let (_, error, code) = asked("plan", &book, &["--working", "cost"]);
    assert_eq!(code, Some(2));
    assert!(error.contains("`cost --working`"), "{error}");
    let (said, _, code) = asked("plan", &book, &["--working", "all"]);
    assert_eq!(code, Some(0));
    assert!(
        said.contains("figures match `all`") && said.contains("plant.rate"),
        "{said}"
    );
}
