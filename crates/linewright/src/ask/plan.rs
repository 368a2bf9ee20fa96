//! `linewright plan`: what a week's cars ask of every shop and station.

use std::fmt::Write as _;

use serde::Serialize;
use whole::assembly::{How, Screened};
use whole::plan::{Figure, Planned, RatePlan, ShopPlan, StationPlan};

use super::check::{refused, sound};
use crate::arguments::PlanArguments;
use crate::figure::{number, percent, things};
use crate::grid::{Grid, Side};
use crate::outcome::{Answer, Failure, Form};

/// Plans, or takes one of the plan's figures apart.
pub(crate) fn plan(asked: &PlanArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    let book = sound(path, form)?;
    let plan = whole::plan::plan(&book).map_err(|problems| refused(&problems, path, form))?;
    match &asked.working {
        Some(figure) => working(&plan, figure, form),
        None => Answer::of(form, plan.holds, &plan, || text(&plan, asked.all)),
    }
}

fn text(plan: &RatePlan, all: bool) -> String {
    let mut text = format!("{}\n", sentence(plan));
    section(&mut text, "Shops, from coil to car", &shops(&plan.shops));
    if !plan.shortfalls.is_empty() {
        text.push_str("\nWhat falls short, the worst first\n");
        for short in &plan.shortfalls {
            // Writing to a `String` cannot fail.
            let _ = writeln!(
                text,
                "\n  {} ({}): load {}, {} cars a week short\n    {}",
                short.name,
                short.at,
                percent(short.load, 1),
                number(short.cars_short, 0),
                short.mend
            );
        }
    }
    let title = if all {
        "Stations"
    } else {
        "The busiest stations of each shop (--all shows every one)"
    };
    section(&mut text, title, &stations(&busiest(plan, all)));
    section(
        &mut text,
        "Blanking, laser and press lines, with the book's lots (`press` proposes others)",
        &lines(plan),
    );
    section(&mut text, "Fleets", &fleets(plan));
    lead_time(&mut text, plan);
    first_time_right(&mut text, plan);
    screens(&mut text, plan, all);
    if !plan.notes.is_empty() {
        let notes = things(plan.notes.len(), "note", "notes");
        let _ = writeln!(text, "\n{notes}; `linewright check` lists them.");
    }
    text.push_str(
        "\nTake any figure apart with --working, e.g. --working takt; --working all lists them\n",
    );
    text
}

fn sentence(plan: &RatePlan) -> String {
    let cars = number(plan.cars, 0);
    let capable = plan.capable.as_ref().map_or(String::new(), |capable| {
        format!("; the weakest would allow {}", number(capable.value, 0))
    });
    if plan.holds {
        format!(
            "{}: on paper the plan of {cars} cars a week holds{capable}.",
            plan.plant
        )
    } else {
        let stuck = plan.screened.iter().filter(|task| task.is_stuck()).count();
        let mut why = Vec::new();
        if !plan.shortfalls.is_empty() {
            let short = things(plan.shortfalls.len(), "thing falls", "things fall");
            why.push(format!("{short} short"));
        }
        if stuck > 0 {
            let tasks = things(stuck, "task has", "tasks have");
            why.push(format!("{tasks} nobody who may do it"));
        }
        let why = why.join(" and ");
        format!(
            "{}: the plan of {cars} cars a week does not hold; {why}{capable}.",
            plan.plant
        )
    }
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn shown(planned: Option<&Planned>, decimals: usize) -> String {
    planned.map_or("-".to_owned(), |planned| number(planned.value, decimals))
}

fn shops(shops: &[ShopPlan]) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("h a week", Side::Right),
        ("takt s", Side::Right),
        ("alone, cars", Side::Right),
        ("load", Side::Right),
        ("busiest", Side::Left),
        ("people a shift", Side::Right),
        ("payroll", Side::Right),
        ("robots", Side::Right),
    ]);
    for shop in shops {
        let (busiest, load) = match &shop.busiest {
            Some((name, load)) => (name.clone(), percent(load.value, 1)),
            None => ("-".to_owned(), "-".to_owned()),
        };
        grid.row([
            shop.shop.clone(),
            number(shop.net_time_h.value, 1),
            shown(shop.takt_s.as_ref(), 1),
            shown(shop.alone.as_ref(), 0),
            load,
            busiest,
            shown(shop.positions.as_ref(), 0),
            shown(shop.payroll.as_ref(), 0),
            shop.robots.to_string(),
        ]);
    }
    grid
}

/// The stations to show: all in the book's order, or of every shop the few
/// with the highest load.
fn busiest(plan: &RatePlan, all: bool) -> Vec<&StationPlan> {
    const OF_EACH_SHOP: usize = 3;
    if all {
        return plan.stations.iter().collect();
    }
    let mut chosen = Vec::new();
    for shop in &plan.shops {
        let mut own: Vec<&StationPlan> = plan
            .stations
            .iter()
            .filter(|station| station.shop == shop.shop)
            .collect();
        own.sort_by(|one, other| other.load.value.total_cmp(&one.load.value));
        chosen.extend(own.into_iter().take(OF_EACH_SHOP));
    }
    chosen
}

fn stations(stations: &[&StationPlan]) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("station", Side::Left),
        ("units", Side::Right),
        ("jobs a week", Side::Right),
        ("cycle s", Side::Right),
        ("runs", Side::Right),
        ("load", Side::Right),
        ("alone, cars", Side::Right),
        ("heavy run", Side::Left),
    ]);
    for station in stations {
        let heavy = station.heavy.as_ref().map_or(String::new(), |heavy| {
            format!(
                "{} in a row of {}: {} s behind",
                number(heavy.run.value, 0),
                heavy.cars,
                number(heavy.overrun_s.value, 0)
            )
        });
        grid.row([
            station.shop.clone(),
            station.station.clone(),
            station.units.to_string(),
            number(station.jobs.value, 0),
            number(station.cycle_s.value, 1),
            percent(station.availability.value, 1),
            percent(station.load.value, 1),
            shown(station.alone.as_ref(), 0),
            heavy,
        ]);
    }
    grid
}

fn lines(plan: &RatePlan) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("shop", Side::Left),
        ("parts", Side::Right),
        ("runs", Side::Right),
        ("changing, h", Side::Right),
        ("load", Side::Right),
        ("alone, cars", Side::Right),
    ]);
    for line in &plan.press_lines {
        grid.row([
            line.press_line.clone(),
            line.shop.clone(),
            line.runs.len().to_string(),
            percent(line.availability.value, 1),
            number(line.changing_h.value, 1),
            percent(line.load.value, 1),
            shown(line.alone.as_ref(), 0),
        ]);
    }
    grid
}

fn fleets(plan: &RatePlan) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("there are", Side::Right),
        ("needed", Side::Right),
        ("alone, cars", Side::Right),
    ]);
    for fleet in &plan.carriers {
        grid.row([
            fleet.carrier.clone(),
            fleet.count.to_string(),
            number(fleet.needed.value, 0),
            shown(fleet.alone.as_ref(), 0),
        ]);
    }
    grid
}

fn lead_time(text: &mut String, plan: &RatePlan) {
    let Some(lead) = &plan.lead_time else {
        return;
    };
    let mut grid = Grid::new([("stage", Side::Left), ("days", Side::Right)]);
    for stage in &lead.stages {
        grid.row([stage.stage.clone(), number(stage.days.value, 2)]);
    }
    let title = format!(
        "Coil to car: {} days with every place filled, against a target of {} ({})",
        number(lead.total_days.value, 2),
        number(lead.target_days, 1),
        lead.meaning
    );
    section(text, &title, &grid);
}

/// The share of cars that need no rework, of the mix and product by product.
fn first_time_right(text: &mut String, plan: &RatePlan) {
    let Some(all) = plan.figures.get("plant.first_time_right") else {
        return;
    };
    let mut grid = Grid::new([("product", Side::Left), ("right first time", Side::Right)]);
    for row in &plan.products {
        let id = format!("product.{}.first_time_right", row.product);
        if let Some(figure) = plan.figures.get(&id) {
            grid.row([row.product.clone(), percent(figure.value, 1)]);
        }
    }
    let title = format!(
        "First time right: {} ({})",
        percent(all.value, 1),
        all.title
    );
    section(text, &title, &grid);
}

/// What the hard screens refuse: all, or only what bare hands may not do.
fn screens(text: &mut String, plan: &RatePlan, all: bool) {
    let bare_hands = |task: &Screened| task.refused.iter().any(|way| way.how == How::Hand);
    let pressing = |task: &&Screened| all || task.is_stuck() || bare_hands(task);
    let told: Vec<&Screened> = plan.screened.iter().filter(pressing).collect();
    let mut grid = Grid::new([
        ("task", Side::Left),
        ("row", Side::Right),
        ("who may", Side::Left),
        ("refused", Side::Left),
    ]);
    for task in &told {
        let why = task.refused.iter();
        let why: Vec<String> = why.map(|way| format!("{}: {}", way.by, way.why)).collect();
        let way_out = task.mend.iter().cloned();
        let why: Vec<String> = why.into_iter().chain(way_out).collect();
        grid.row([
            task.task.clone(),
            task.at.row.to_string(),
            if task.is_stuck() {
                "nobody".to_owned()
            } else {
                task.left.join(" or ")
            },
            why.join("; "),
        ]);
    }
    let more = plan.screened.len() - told.len();
    let rest = match more {
        0 => String::new(),
        more => format!(
            "; {} more, where only an aid or a robot is refused, with --all",
            number(more as f64, 0)
        ),
    };
    let title = format!("Assembly tasks that not everybody may do{rest}");
    section(text, &title, &grid);
}

/// The figures whose id and title hold all words asked for; the working of a
/// single one.
fn working(plan: &RatePlan, asked: &str, form: Form) -> Result<Answer, Failure> {
    #[derive(Serialize)]
    struct Figures<'p> {
        figures: Vec<&'p Figure>,
    }
    let asked_low = asked.to_lowercase();
    let wanted = |figure: &&Figure| {
        let names = format!("{} {}", figure.id, figure.title).to_lowercase();
        asked_low
            .split_whitespace()
            .all(|word| names.contains(word))
    };
    let found: Vec<&Figure> = match plan.figures.get(asked) {
        Some(figure) => vec![figure],
        None if asked_low == "all" => plan.figures.values().collect(),
        None => plan.figures.values().filter(wanted).collect(),
    };
    if found.is_empty() {
        let ids = plan.figures.keys().map(String::as_str);
        let hint = match book::nearest(asked, ids) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "--working all lists its {} figures",
                number(plan.figures.len() as f64, 0)
            ),
        };
        return Err(Failure::usage(format!(
            "no figure of the plan has all of `{asked}` in its name; {hint}, and those of costs, \
             margins and ideas are taken apart by `cost --working`, those of coils by `coils \
             --working`"
        )));
    }
    let figures = Figures { figures: found };
    Answer::of(form, true, &figures, || match figures.figures.as_slice() {
        [one] => format!("{}: {}\n\n{}\n", one.id, one.title, one.working),
        several => {
            let mut grid = Grid::new([
                ("figure", Side::Left),
                ("value", Side::Right),
                ("unit", Side::Left),
                ("what it is", Side::Left),
            ]);
            for figure in several {
                grid.row([
                    figure.id.clone(),
                    number(figure.value, 3),
                    figure.unit.clone(),
                    figure.title.clone(),
                ]);
            }
            format!(
                "{} match `{asked}`; name one to take it apart.\n\n{grid}",
                things(several.len(), "figure", "figures")
            )
        }
    })
}
