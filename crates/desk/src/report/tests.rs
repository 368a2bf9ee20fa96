//! The report of the demo plant.

use std::path::Path;
use std::sync::OnceLock;

use book::raw::Workbook;
use flow::Watch;
use whole::findings::{Answer, RunSettings, find};
use whole::plan::{RatePlan, plan};

use super::{Report, html, xlsx};

struct Demo {
    workbook: Workbook,
    plan: RatePlan,
    answer: Answer,
}

fn demo() -> &'static Demo {
    static DEMO: OnceLock<Demo> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/merrow-quay");
        let workbook = book::read_path(Path::new(folder)).expect("the demo plant");
        let book = book::check(&workbook).book;
        let settings = RunSettings {
            replications: 2,
            weeks: 1,
            trials: 0,
            ..RunSettings::USUAL
        };
        Demo {
            plan: plan(&book).expect("a plan"),
            answer: find(&book, &settings, &Watch::none()).expect("an answer"),
            workbook,
        }
    })
}

fn report(answer: bool) -> Report<'static> {
    let demo = demo();
    Report {
        workbook: &demo.workbook,
        plan: &demo.plan,
        answer: answer.then_some(&demo.answer),
        of: "revision 2 by <Ada> & Ben",
    }
}

#[test]
fn the_page_stands_alone_and_tells_the_answer() {
    let page = html(&report(true));
    let sentence = &demo().answer.sentence;
    assert!(page.to_lowercase().contains(&sentence.to_lowercase()));
    for outside in [
        "<script",
        "http-equiv",
        "src=",
        "@import",
        "url(http",
        "<link",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    for rule in [
        "size: A4",
        "size: A3 landscape",
        "table-header-group",
        "<svg",
    ] {
        assert!(page.contains(rule), "{rule}");
    }
    // the strip, the days, the spread of the times
    assert_eq!(page.matches("<svg").count(), 3);
    assert!(page.contains("days from coil to car"));
    assert!(page.contains("revision 2 by &lt;Ada&gt; &amp; Ben"));
    for station in &demo().plan.stations {
        assert!(
            page.contains(&super::escaped(&station.station)),
            "{}",
            station.station
        );
    }
    let plan = &demo().plan;
    let workings = page.matches("class=\"source\"").count();
    assert!((50..plan.figures.len()).contains(&workings), "{workings}");
    for short in &plan.shortfalls {
        let title = &plan.figures[&short.figure].title;
        assert!(page.contains(&super::escaped(title)), "{title}");
    }
}

#[test]
fn without_a_run_the_report_says_so() {
    let page = html(&report(false));
    assert!(page.contains("The plant was not run"));
    assert!(!page.contains("<svg"));
}

#[test]
fn the_workbook_holds_every_figure_and_the_book() {
    let bytes = xlsx(&report(true)).expect("a workbook");
    let read = book::read_xlsx_bytes(&bytes).expect("a workbook that opens");
    let figures = read.table("Figures").expect("all figures");
    assert_eq!(figures.rows.len(), demo().plan.figures.len());
    let stations = read.table("Stations in the plan").expect("stations");
    assert_eq!(stations.rows.len(), demo().plan.stations.len());
    let answer = &demo().answer;
    for (sheet, rows) in [
        ("Shops in the flow", answer.shops.len()),
        ("Day by day", answer.days.len()),
        (
            "How long the cars take",
            answer.coil_to_car.spread.days.len(),
        ),
    ] {
        let read = read.table(sheet).expect(sheet);
        // a sheet with a note has it as one more row
        assert_eq!(read.rows.len(), rows + 1, "{sheet}");
    }
    let own = read.table("book stations").expect("the book's own table");
    assert_eq!(own.rows.len(), demo().plan.stations.len());
    assert!(own.columns.contains(&"cycle_s".to_owned()));
    let made = &read.table("Report").expect("a summary").rows;
    assert!(made.iter().any(|row| row.cells[0] == "cars a week made"));
}
