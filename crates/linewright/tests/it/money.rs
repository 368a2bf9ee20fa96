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
fn ideas_are_worth_what_the_runs_of_improve_say_where_those_were_kept() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let keep = folder.path().join("runs.json");
    let keep = ["--keep", keep.to_str().unwrap()];
    let (_, error, code) = asked("cost", &book, &keep);
    assert_eq!(code, Some(2));
    assert!(error.contains("linewright improve"), "{error}");
    let (ranked, error, _) = asked("improve", &book, &[&keep[..], &["--json"]].concat());
    let ranked: Value = serde_json::from_str(&ranked).expect(&error);
    let (said, error, _) = asked("cost", &book, &[&keep[..], &["--json"]].concat());
    let found: Value = serde_json::from_str(&said).expect(&error);
    assert_eq!(found["gains_by_run"], true);
    assert_eq!(
        found["made"],
        Value::Null,
        "the plant was not run for lost minutes"
    );
    let named = |rows: &Value, place: &str| {
        let mut rows = rows.as_array().unwrap().iter();
        let row = rows.find(|row| row.pointer(place).unwrap() == "faster frame");
        row.expect("the idea").clone()
    };
    let case = named(&found["cases"], "/idea");
    let idea = named(&ranked["ideas"], "/idea/name");
    assert_eq!(case["cars"], idea["cars"]["mean"]);
    let (said, _, _) = asked("cost", &book, &keep);
    assert!(said.contains("cars by runs with the same luck"), "{said}");
}

#[test]
fn a_report_tells_what_ideas_give_by_what_was_chosen_and_says_which() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), &[]);
    let keep = folder.path().join("runs.json");
    let keep = ["--keep", keep.to_str().unwrap()];
    let report = |name: &str, more: &[&str]| {
        let out = folder.path().join(name);
        let brief = ["--replications", "2", "--weeks", "1", "--out"];
        let asks = [&brief[..], &[out.to_str().unwrap()], more].concat();
        let (_, error, code) = asked("report", &book, &asks);
        (
            std::fs::read_to_string(out).unwrap_or_default(),
            error,
            code,
        )
    };
    let (plan, error, _) = report("plan.html", &[]);
    assert!(
        plan.contains("goes by the plan&#39;s weakest station"),
        "{error}"
    );
    assert!(plan.contains("Worth of ideas") && plan.contains("faster frame"));
    let (_, error, code) = report("none.html", &["--ideas", "kept"]);
    assert_eq!(code, Some(2));
    assert!(
        error.contains("needs --keep FILE") && error.contains("--ideas runs"),
        "{error}"
    );
    let by_kept = [&["--ideas", "kept"][..], &keep].concat();
    let (_, error, code) = report("none.html", &by_kept);
    assert_eq!(code, Some(2));
    assert!(
        error.contains("linewright improve") && error.contains("--ideas plan"),
        "{error}"
    );
    let by_runs = [&["--ideas", "runs"][..], &keep].concat();
    let (runs, error, _) = report("runs.html", &by_runs);
    assert!(
        runs.contains("goes by runs of the plant with and without"),
        "{error}"
    );
    let (kept, error, _) = report("kept.html", &by_kept);
    assert!(
        kept.contains("goes by the ranking of ideas that was kept"),
        "{error}"
    );
    // the same runs, so that the same worth is told
    let worth = |page: &str| {
        let from = page.find("faster frame</td>").unwrap();
        page[from..from + 300]
            .split("</tr>")
            .next()
            .unwrap()
            .to_owned()
    };
    assert_eq!(worth(&runs), worth(&kept));
    assert_ne!(worth(&runs), worth(&plan), "the plan counts no waiting");
}

#[test]
fn a_margin_is_withheld_where_nothing_that_a_car_takes_is_known_and_the_way_out_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let free = "part,source,price,per_car,to\nwheel,bought,0,4,frame\n";
    let unlit = format!("{PLANT}energy_cost_per_kwh,0\n");
    let book = small(folder.path(), &[("parts", free), ("plant", &unlit)]);
    let (said, error, code) = asked("cost", &book, &[]);
    assert_eq!(code, Some(1), "{said}{error}");
    for part in [
        "of which an unknown part is for one more",
        "prices are missing",
        "the setting margin_per_car would do too",
    ] {
        assert!(said.contains(part), "no `{part}` in\n{said}");
    }
    assert!(
        !said.contains("A car lost at the constraint costs"),
        "{said}"
    );
    let with_margin = format!("{unlit}margin_per_car,900\n");
    let given = small(
        &folder.path().join("given"),
        &[("parts", free), ("plant", &with_margin)],
    );
    let (said, _, _) = asked("cost", &given, &[]);
    assert!(
        said.contains("A car lost at the constraint costs 900"),
        "{said}"
    );
}

#[test]
fn the_metal_of_the_coils_becomes_that_of_the_cars_in_rows_that_add_up() {
    let folder = tempfile::tempdir().unwrap();
    // One lid of 0.8 m by 0.5 m by 1 mm a car, 1.08 kg, of which the presses leave 1 kg;
    // one in five is lost there. Of 13 weeks the first builds 106 cars for 80.
    let parts = "part,material,gauge_mm,outline,blank_line,blanks_per_min,grain_from_deg,\
                 grain_to_deg,net_kg,scrap,to\nlid,5754-O,1,lid,die line,30,0,0,1,0.2,frame\n";
    let book = small(folder.path(), &[("parts", parts)]);
    lay_out(
        &book,
        [
            (
                "materials",
                "material,density_kg_m3,price_per_kg,scrap_price_per_kg\n5754-O,2700,4,1.5\n",
            ),
            (
                "coils",
                "coil,material,gauge_mm,width_mm,mass_kg,lead_time_days,on_hand\n\
                 narrow,5754-O,1,500,4000,7,4\n",
            ),
            (
                "press_lines",
                "press_line,shop,kind,web_mm,edge_mm,head_m,tail_m,bed_x_mm,bed_y_mm\n\
                 die line,body,blanking,0,0,0,0,4000,2000\n",
            ),
            (
                "outlines",
                "outline,path,point,x_mm,y_mm\n\
                 lid,0,1,0,0\nlid,0,2,800,0\nlid,0,3,800,500\nlid,0,4,0,500\n",
            ),
            ("builds", "week,product,cars\n1,van,106\n"),
        ],
    );
    let (said, error, _) = asked("cost", &book, &["--json"]);
    let cost: Value = serde_json::from_str(&said).expect(&error);
    let (said, error, _) = asked("coils", &book, &["--json"]);
    let coils: Value = serde_json::from_str(&said).expect(&error);
    let told = |place: &str, wanted: f64| {
        let value = cost["metal"][place].as_f64().unwrap();
        assert!((value - wanted).abs() < 1e-6, "{place}: {value}, {wanted}");
    };
    // A coil of 4000 kg has 3703 lids; what is over is scrap.
    let bought = 4_000.0 / 3_703.0;
    let blank = bought * 4.0 - (bought - 1.08) * 1.5;
    let (begun, built) = (80.0 / 0.8, (106.0 + 12.0 * 80.0) / 13.0 / 0.8);
    told("coils", built * blank);
    told("coils", coils["metal"]["cost"].as_f64().unwrap());
    told("builds", (built - begun) * blank);
    let offal = (begun * 1.08 - 80.0) * 1.5;
    told("offal", offal);
    told("rest", 0.0);
    told("cars", begun * blank - offal);
    let kinds = cost["kinds"].as_array().unwrap();
    let metal = kinds.iter().find(|kind| kind["kind"] == "metal").unwrap();
    told("cars", metal["cost"].as_f64().unwrap() * 80.0);
    let (said, _, _) = asked("cost", &book, &[]);
    assert!(said.contains("credited at the presses"), "{said}");
    assert!(said.contains("the builds has more cars"), "{said}");
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
        "once and EUR 4,000 a year from then on",
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
