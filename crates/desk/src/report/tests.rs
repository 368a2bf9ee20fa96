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
        money: None,
        ideas_by: None,
        growth: None,
        order: None,
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

fn assembly() -> &'static whole::assembly::Assembly {
    static ASSEMBLY: OnceLock<whole::assembly::Assembly> = OnceLock::new();
    ASSEMBLY.get_or_init(|| {
        let book = book::check(&demo().workbook).book;
        whole::assembly::assembly(&book, &whole::assembly::Watch::none()).expect("a balance")
    })
}

#[test]
fn every_task_stands_on_the_work_list_of_one_station() {
    let plan = assembly();
    let page = super::work_lists_html(plan, super::Balance::Today, "Merrow <Quay>");
    assert!(page.contains("Merrow &lt;Quay&gt;"));
    let today = plan.lines.iter().filter_map(|line| line.today.as_ref());
    let at_work = today
        .flat_map(|today| &today.stations)
        .filter(|station| !station.posts.is_empty())
        .count();
    assert_eq!(page.matches("<section>").count(), at_work);
    for choice in &plan.choices {
        let row = format!("<td>{}</td><td>", super::escaped(&choice.task));
        assert_eq!(page.matches(&row).count(), 1, "{}", choice.task);
    }
}

#[test]
fn a_robots_chart_names_its_tools_and_says_whether_it_fits() {
    let cell = assembly().cells.iter().find(|cell| cell.changes > 0);
    let cell = cell.expect("a robot that changes tools");
    let chart = super::cell_svg(cell);
    for step in &cell.steps {
        let tool = step.tool.as_deref().expect("a tool");
        assert!(chart.contains(tool) && chart.contains(&step.task));
    }
    assert!(chart.contains("s left; ") && chart.contains("s allowed"));
    for bead in &cell.beads {
        assert!(chart.contains(&format!("{} stays open", bead.task)));
    }
    let late = whole::assembly::RobotCell {
        cycle_s: cell.seconds - 5.0,
        spare_s: -5.0,
        ..cell.clone()
    };
    assert!(super::cell_svg(&late).contains("5.0 s more than"));
}

#[test]
fn the_assembly_workbook_has_a_work_list_of_each_balance() {
    let bytes = super::assembly_xlsx(assembly()).expect("a workbook");
    assert!(bytes.starts_with(b"PK"));
}
