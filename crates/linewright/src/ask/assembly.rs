//! `linewright assembly`: work to stations, people or robots, moves, cells.

mod budget;

use std::fmt::Write as _;

use desk::report::{self, Balance};
use serde::Serialize;
use units::PerWeek;
use whole::assembly::{
    Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Budgeted, Choice, RobotCell,
    RobotChange, RobotMove, Watch,
};

use budget::{bought, in_words};

use super::check::{refused, sound};
use super::coils::file_name;
use crate::arguments::AssemblyArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// The plan, and the lines whose numbers are in no total.
#[derive(Serialize)]
struct Told<'p> {
    #[serde(flatten)]
    plan: &'p Assembly,
    without: Vec<String>,
    /// What the budget buys, where one was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    budget: Option<&'p Budgeted>,
}

/// Balances the lines and says who does what.
pub(crate) fn assembly(asked: &AssemblyArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    let rate = rate(asked.cars)?;
    if let Some(budget) = asked
        .budget
        .filter(|budget| !(*budget > 0.0 && budget.is_finite()))
    {
        return Err(Failure::usage(format!(
            "--budget: found {budget}, expected more than 0 a year"
        )));
    }
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    folder::must_be_new_and_end(&asked.html, "html")?;
    if let Some(folder) = &asked.svg {
        folder::make_empty(folder)?;
    }
    let book = sound(path, form)?;
    if book.tasks.is_empty() {
        return Err(Failure::usage(format!(
            "{}: the book has no tasks, so there is nothing to balance; give it a tasks table",
            path.display()
        )));
    }
    let progress = crew::planning();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let planned = match asked.budget {
        Some(budget) => bought(&book, budget, &watch),
        None => whole::assembly::assembly_at(&book, rate, &watch).map(|plan| (plan, None)),
    };
    crew::wipe();
    let (plan, budget) = planned.map_err(|problems| refused(&problems, path, form))?;
    write(asked, &plan)?;
    let json = Told {
        plan: &plan,
        without: without(&plan),
        budget: budget.as_ref(),
    };
    let holds = plan.holds && budget.as_ref().is_none_or(|budget| budget.cars.is_some());
    Answer::of(form, holds, &json, || {
        let mut text = budget.as_ref().map_or_else(String::new, in_words);
        text.push_str(&self::text(&plan, asked.all));
        for place in asked.xlsx.iter().chain(&asked.html).chain(&asked.svg) {
            let _ = write!(text, "\nWritten: {}\n", place.display());
        }
        text
    })
}

fn rate(cars: Option<f64>) -> Result<Option<PerWeek>, Failure> {
    let fits = |cars: f64| cars > 0.0 && cars.is_finite();
    match cars {
        Some(cars) if !fits(cars) => Err(Failure::usage(format!(
            "--cars: found {cars}, expected more than 0 cars a week"
        ))),
        cars => Ok(cars.map(PerWeek)),
    }
}

/// Writes workbook, work lists and drawings where they are asked for.
fn write(asked: &AssemblyArguments, plan: &Assembly) -> Result<(), Failure> {
    if let Some(file) = &asked.xlsx {
        folder::write(file, &report::assembly_xlsx(plan)?)?;
    }
    if let Some(file) = &asked.html {
        let found = Balance::ALL.into_iter().find(|one| one.word() == asked.of);
        let of = asked.book.book.display().to_string();
        let page = report::work_lists_html(plan, found.unwrap_or(Balance::Today), &of);
        folder::write(file, page.as_bytes())?;
    }
    for (n, cell) in (1..).zip(&plan.cells) {
        let Some(folder) = &asked.svg else { break };
        let place = cell.line.as_deref().unwrap_or(&cell.shop);
        let name = file_name(&format!("{n} {} {place}.svg", cell.robot));
        folder::write(&folder.join(name), report::cell_svg(cell).as_bytes())?;
    }
    Ok(())
}

fn text(plan: &Assembly, all: bool) -> String {
    let mut text = format!("{}\n", sentence(plan));
    for line in plan.lines.iter().filter(|line| !line.stuck.is_empty()) {
        // Writing to a `String` cannot fail.
        let _ = writeln!(text, "\n  {} has no balance", name(line));
        for stuck in &line.stuck {
            let rows = stuck.rows.iter().map(ToString::to_string);
            let rows: Vec<String> = rows.collect();
            let _ = writeln!(text, "    {}", stuck.why);
            if !rows.is_empty() {
                let _ = writeln!(text, "    {}", rows.join(", "));
            }
        }
    }
    section(&mut text, "Lines", &lines(plan));
    for line in &plan.lines {
        today(&mut text, line);
        moves(&mut text, line);
    }
    for cell in &plan.cells {
        robot(&mut text, cell);
    }
    section(
        &mut text,
        "Cost against stations, where robots could do some of the work",
        &frontier(plan),
    );
    let title = if all {
        "Person or robot"
    } else {
        "Person or robot: tasks with more than one way (--all shows every one)"
    };
    section(&mut text, title, &choices(plan, all));
    section(&mut text, "Heavy cars in a row", &heavy(plan));
    guards(&mut text, plan);
    if all {
        for line in &plan.lines {
            section(
                &mut text,
                &format!("Stations of {}", name(line)),
                &stations(line),
            );
        }
    }
    text
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn name(line: &AssemblyLine) -> String {
    match &line.line {
        Some(own) if *own != line.shop => format!("{own} ({})", line.shop),
        _ => line.shop.clone(),
    }
}

/// The lines that have a balance and count in the totals.
fn balanced(plan: &Assembly) -> impl Iterator<Item = &AssemblyLine> {
    plan.lines.iter().filter(|line| line.stuck.is_empty())
}

fn without(plan: &Assembly) -> Vec<String> {
    let stuck = plan.lines.iter().filter(|line| !line.stuck.is_empty());
    stuck.map(name).collect()
}

fn sentence(plan: &Assembly) -> String {
    let lines: Vec<&AssemblyLine> = balanced(plan).collect();
    let without = without(plan);
    let dry = plan.cells.iter().filter(|cell| cell.stuck.is_some());
    let dry = dry.count();
    let mut told = if lines.is_empty() {
        "No line can be balanced, so there is nothing to add up.".to_owned()
    } else {
        totals(plan, &lines, &without)
    };
    if !without.is_empty() {
        let _ = write!(
            told,
            " {} cannot be balanced.",
            things(without.len(), "line", "lines")
        );
    }
    if dry > 0 {
        let _ = write!(
            told,
            " {} cannot do its work in order.",
            things(dry, "robot", "robots")
        );
    }
    told.push_str(&drifting(&lines));
    told
}

/// What the lines with a balance come to, and which lines are not in it.
fn totals(plan: &Assembly, lines: &[&AssemblyLine], without: &[String]) -> String {
    let stations: usize = lines.iter().map(|line| line.stations.len()).sum();
    let people: u32 = lines.iter().map(|line| line.people).sum();
    let tasks: usize = lines.iter().map(|line| line.tasks).sum();
    let of_these = |cell: &&RobotCell| {
        let mut own = lines.iter();
        own.any(|line| line.shop == cell.shop && line.line == cell.line)
    };
    let robots = plan.cells.iter().filter(of_these).count();
    let cost: f64 = lines.iter().map(|line| line.cost_per_year).sum();
    format!(
        "{} on {} at {} with {} and {}, {} a year{}.",
        things(tasks, "task", "tasks"),
        things(lines.len(), "line", "lines"),
        things(stations, "station", "stations"),
        things(people as usize, "person a shift", "people a shift"),
        things(robots, "robot", "robots"),
        number(cost, 0),
        if without.is_empty() {
            String::new()
        } else {
            format!(", without {}", without.join(", "))
        }
    )
}

/// Where the balance that is offered lets heavy cars in a row drift too far.
fn drifting(lines: &[&AssemblyLine]) -> String {
    let posts = lines.iter().flat_map(|line| {
        let each = line.stations.iter();
        each.flat_map(move |station| station.posts.iter().map(move |post| (line, station, post)))
    });
    let too_far = posts.filter(|(.., post)| post.heavy.as_ref().is_some_and(|heavy| !heavy.holds));
    let mut places: Vec<String> = too_far
        .map(|(line, station, _)| format!("station {} of {}", station.number, name(line)))
        .collect();
    places.dedup();
    if places.is_empty() {
        return String::new();
    }
    let more = places.len().saturating_sub(3);
    places.truncate(3);
    format!(
        "\nHeavy cars in a row drift further than the plant allows at {}{}: move work from \
         there, space these cars further apart, or make the station longer.",
        places.join(", "),
        if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        }
    )
}

fn lines(plan: &Assembly) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("tasks", Side::Right),
        ("takt s", Side::Right),
        ("cycle s", Side::Right),
        ("work s", Side::Right),
        ("stations", Side::Right),
        ("at least", Side::Right),
        ("people", Side::Right),
        ("balance", Side::Right),
        ("a year", Side::Right),
        ("none below", Side::Right),
        ("moved s", Side::Right),
    ]);
    for line in &plan.lines {
        // a line without a balance has none of these, which is not 0
        let of = |shown: String| {
            if line.stuck.is_empty() {
                shown
            } else {
                "-".to_owned()
            }
        };
        grid.row([
            name(line),
            line.tasks.to_string(),
            number(line.takt_s.value, 1),
            number(line.cycle_s.value, 1),
            of(number(line.work_s, 0)),
            of(line.stations.len().to_string()),
            of(line.bound.to_string()),
            of(line.people.to_string()),
            of(percent(line.efficiency, 1)),
            of(number(line.cost_per_year, 0)),
            of(number(line.cost_bound_per_year, 0)),
            line.again
                .as_ref()
                .map_or_else(|| "-".into(), |again| number(again.moved_s, 0)),
        ]);
    }
    grid
}

/// What is broken as the book has the line today.
fn today(text: &mut String, line: &AssemblyLine) {
    let faults = line.today.as_ref().map_or(&[][..], |today| &today.faults);
    if !faults.is_empty() {
        let _ = writeln!(text, "\nToday on {}\n", name(line));
    }
    for fault in faults {
        let _ = writeln!(text, "  {}", fault.what);
        let _ = writeln!(text, "    {}", fault.way_out);
        // A station's rows are many; the station is named.
        if fault.rows.len() <= 2 {
            let rows: Vec<String> = fault.rows.iter().map(ToString::to_string).collect();
            let _ = writeln!(text, "    {}", rows.join(", "));
        }
    }
    for far in &line.too_far {
        let _ = writeln!(text, "\n  {} on the fewest stations", name(line));
        let _ = writeln!(text, "    {}", far.why);
    }
    for stuck in &line.again_stuck {
        let _ = writeln!(text, "\n  {} cannot stay on today's stations", name(line));
        let _ = writeln!(text, "    {}", stuck.why);
    }
}

/// The least work to move from today's stations.
fn moves(text: &mut String, line: &AssemblyLine) {
    let Some(again) = line.again.as_ref().filter(|again| !again.moves.is_empty()) else {
        return;
    };
    let proof = if again.proven {
        "no balance moves less".to_owned()
    } else {
        format!("at least {} s must move", number(again.bound_s, 0))
    };
    let _ = writeln!(
        text,
        "\nMoves on {}: {} s of work, {proof}\n",
        name(line),
        number(again.moved_s, 0)
    );
    let mut grid = Grid::new([
        ("task", Side::Left),
        ("from", Side::Left),
        ("to", Side::Left),
        ("by", Side::Left),
    ]);
    for one in &again.moves {
        let by = one.by.clone().unwrap_or_else(|| "as today".into());
        grid.row([one.task.clone(), one.from.clone(), one.to.clone(), by]);
    }
    let _ = write!(text, "{grid}");
    for one in &again.robots {
        let _ = writeln!(text, "  {}", robot_move(one));
    }
}

/// What becomes of a robot, in words.
fn robot_move(one: &RobotMove) -> String {
    let to = one.to.as_deref().unwrap_or_default();
    let from = one.from.as_deref().unwrap_or_default();
    match one.change {
        RobotChange::Bought => format!(
            "{} is bought for `{to}`: {} a year with its tools",
            one.robot,
            number(one.cost_per_year, 0)
        ),
        RobotChange::Moved => format!("{} goes from `{from}` to `{to}`", one.robot),
        RobotChange::GivenUp => format!(
            "{} at `{from}` has no work any more: {} a year less",
            one.robot,
            number(-one.cost_per_year, 0)
        ),
    }
}

fn robot(text: &mut String, cell: &RobotCell) {
    let place = cell.line.as_deref().unwrap_or(&cell.shop);
    let _ = writeln!(text, "\n{} on {place}", cell.robot);
    if let Some(stuck) = &cell.stuck {
        let _ = writeln!(text, "  {stuck}");
        return;
    }
    let _ = writeln!(
        text,
        "  {} s of {} s, {} s left, {}; two cars at a time save {} s a car\n",
        number(cell.seconds, 1),
        number(cell.cycle_s, 1),
        number(cell.spare_s, 1),
        things(cell.changes as usize, "tool change", "tool changes"),
        cell.pairs_save_s
            .map_or_else(|| "no".into(), |saved| number(saved, 1)),
    );
    let mut grid = Grid::new([
        ("from s", Side::Right),
        ("to s", Side::Right),
        ("tool", Side::Left),
        ("task", Side::Left),
    ]);
    for step in &cell.steps {
        grid.row([
            number(step.start_s, 1),
            number(step.end_s, 1),
            step.tool.clone().unwrap_or_default(),
            step.task.clone(),
        ]);
    }
    let _ = write!(text, "{grid}");
    for bead in &cell.beads {
        let _ = writeln!(
            text,
            "  {}: set {} s after it is begun, open for {} s, bears a stop of {} s{}",
            bead.task,
            number(bead.path_s, 0),
            number(bead.open_s, 0),
            number(bead.margin_s, 0),
            if bead.holds {
                ""
            } else {
                ", less than the plant asks"
            }
        );
    }
    let _ = writeln!(text, "  robot down: {}", cell.fallback.note);
}

fn frontier(plan: &Assembly) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("stations", Side::Right),
        ("posts", Side::Right),
        ("robots", Side::Right),
        ("a year", Side::Right),
        ("none below", Side::Right),
    ]);
    for line in &plan.lines {
        for point in &line.frontier {
            grid.row([
                name(line),
                point.stations.to_string(),
                point.posts.to_string(),
                point.robots.to_string(),
                number(point.cost_per_year, 0),
                number(point.bound_per_year, 0),
            ]);
        }
    }
    grid
}

fn choices(plan: &Assembly, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("task", Side::Left),
        ("by", Side::Left),
        ("s", Side::Right),
        ("runner-up", Side::Left),
        ("reason", Side::Left),
    ]);
    let several = |choice: &&Choice| choice.runner_up.is_some() || !choice.refused.is_empty();
    for choice in plan.choices.iter().filter(|choice| all || several(choice)) {
        let runner_up = choice.runner_up.as_ref().map(by);
        grid.row([
            choice.task.clone(),
            by(&choice.chosen),
            number(choice.chosen.seconds, 0),
            runner_up.unwrap_or_else(|| "-".into()),
            choice.reason.clone(),
        ]);
    }
    grid
}

fn by(way: &whole::assembly::Way) -> String {
    match (way.how, &way.tool) {
        (whole::assembly::How::Aided, Some(aid)) => format!("{} with {aid}", way.by),
        _ => way.by.clone(),
    }
}

fn heavy(plan: &Assembly) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("station", Side::Right),
        ("side", Side::Left),
        ("cars", Side::Left),
        ("s", Side::Right),
        ("past takt s", Side::Right),
        ("m", Side::Right),
        ("drift", Side::Left),
    ]);
    for line in &plan.lines {
        for station in &line.stations {
            for post in &station.posts {
                let Some(heavy) = &post.heavy else { continue };
                grid.row([
                    name(line),
                    station.number.to_string(),
                    post.side.word().into(),
                    heavy.cars.clone(),
                    number(heavy.seconds, 0),
                    number(heavy.past_s, 1),
                    number(heavy.past_m, 2),
                    if heavy.holds { "within" } else { "too far" }.into(),
                ]);
            }
        }
    }
    grid
}

fn guards(text: &mut String, plan: &Assembly) {
    let Some(first) = plan.guards.first() else {
        return;
    };
    let mut grid = Grid::new([
        ("robot", Side::Left),
        ("light curtain mm", Side::Right),
        ("floor scanner mm", Side::Right),
        ("speed and separation mm", Side::Right),
    ]);
    let mm = |value: &Option<whole::assembly::ShopValue>| {
        value
            .as_ref()
            .map_or_else(|| "-".into(), |mm| number(mm.value, 0))
    };
    for guard in &plan.guards {
        grid.row([
            guard.robot.clone(),
            mm(&guard.curtain_mm),
            mm(&guard.scanner_mm),
            mm(&guard.separation_mm),
        ]);
    }
    section(text, "People near robots", &grid);
    let _ = writeln!(text, "\n{}", first.caution);
}

fn stations(line: &AssemblyLine) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Right),
        ("side", Side::Left),
        ("by", Side::Left),
        ("s", Side::Right),
        ("work", Side::Left),
    ]);
    for station in &line.stations {
        for post in &station.posts {
            grid.row(row(station, post));
        }
    }
    grid
}

fn row(station: &AssemblyStation, post: &AssemblyPost) -> [String; 5] {
    let work = post
        .work
        .iter()
        .map(|task| format!("{} {}", task.task, number(task.seconds, 0)));
    [
        station.number.to_string(),
        post.side.word().into(),
        post.by.clone(),
        number(post.load_s, 1),
        work.collect::<Vec<_>>().join(", "),
    ]
}
