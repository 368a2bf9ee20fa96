//! The plan of the assembly lines as a workbook: who does what where, in which
//! order, and what it costs.

use std::collections::BTreeMap;

use whole::assembly::{
    Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Choice, How, ShopValue, Way,
};

use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};

/// Which stations of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Balance {
    /// Those of the book.
    Today,
    /// The balance with the least work moved from today's.
    LeastMoves,
    /// The balance of the fewest stations, whatever is done where today.
    Fewest,
}

impl Balance {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Today, Self::LeastMoves, Self::Fewest];

    /// Its word in addresses and options.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Today => "today",
            Self::LeastMoves => "moves",
            Self::Fewest => "fewest",
        }
    }

    /// What it is, for headings.
    pub const fn about(self) -> &'static str {
        match self {
            Self::Today => "as the book has it today",
            Self::LeastMoves => "with the least work moved",
            Self::Fewest => "on the fewest stations",
        }
    }

    /// The stations of a line; empty where it has no such balance.
    pub fn stations(self, line: &AssemblyLine) -> &[AssemblyStation] {
        match self {
            Self::Today => line.today.as_ref().map_or(&[], |today| &today.stations),
            Self::LeastMoves => line.again.as_ref().map_or(&[], |again| &again.stations),
            Self::Fewest => &line.stations,
        }
    }
}

/// A line's name as a person says it.
pub(super) fn line_name(line: &AssemblyLine) -> &str {
    line.line.as_deref().unwrap_or(&line.shop)
}

/// The book's name of a station, or its place where the book has none.
pub(super) fn station_name(station: &AssemblyStation) -> String {
    let place = || format!("station {}", station.number);
    station.station.clone().unwrap_or_else(place)
}

/// The way taken for each task, by its row.
pub(super) fn ways(plan: &Assembly) -> BTreeMap<u32, &Way> {
    let choices = plan.choices.iter();
    choices
        .map(|choice| (choice.at.row, &choice.chosen))
        .collect()
}

/// The plan of the assembly lines as the bytes of an .xlsx file: the work list of
/// every station today, after the fewest moves and on the fewest stations; the
/// lines, station times, moves, choices, robots, costs and distances.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn assembly_xlsx(plan: &Assembly) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        work(plan, Balance::Today, "Work today"),
        work(plan, Balance::LeastMoves, "Work, least moves"),
        work(plan, Balance::Fewest, "Work, fewest stations"),
        lines(plan),
        moves(plan),
        times(plan),
        choices(plan),
        robots(plan),
        costs(plan),
        guards(plan),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

fn posts(line: &AssemblyLine, of: Balance) -> impl Iterator<Item = (String, &AssemblyPost)> {
    let stations = of.stations(line).iter();
    stations.flat_map(|station| {
        let name = station_name(station);
        station.posts.iter().map(move |post| (name.clone(), post))
    })
}

fn work(plan: &Assembly, of: Balance, title: &'static str) -> Sheet {
    let ways = ways(plan);
    let mut rows = Vec::new();
    for line in &plan.lines {
        for (station, post) in posts(line, of) {
            for (n, task) in (1..).zip(&post.work) {
                let way = ways.get(&task.at.row);
                rows.push(vec![
                    text(line_name(line)),
                    text(&station),
                    text(post.side.word()),
                    text(&post.by),
                    number(f64::from(n), 0),
                    text(&task.task),
                    way.and_then(|way| way.tool.as_ref())
                        .map_or(Cell::Empty, text),
                    number(task.start_s, 1),
                    number(task.end_s, 1),
                    number(task.seconds, 1),
                ]);
            }
        }
    }
    let columns = [
        "line",
        "station",
        "side",
        "by",
        "order",
        "task",
        "tool or aid",
        "from s",
        "to s",
        "s on a car that has it",
    ];
    Sheet::new(title, &columns, rows)
        .note("From and to are seconds after a mean car arrives, waiting for other posts counted.")
}

fn lines(plan: &Assembly) -> Sheet {
    let rows = plan.lines.iter().map(|line| {
        let today = line.today.as_ref();
        vec![
            text(&line.shop),
            text(line_name(line)),
            number(line.tasks as f64, 0),
            number(line.takt_s.value, 1),
            number(line.cycle_s.value, 1),
            number(line.work_s, 0),
            number_if_any(today.map(|today| today.stations.len() as f64), 0),
            number_if_any(today.map(|today| f64::from(today.people)), 0),
            number_if_any(today.map(|today| today.faults.len() as f64), 0),
            number(line.stations.len() as f64, 0),
            number(line.bound as f64, 0),
            number(f64::from(line.people), 0),
            Cell::Share(line.efficiency),
            number(line.cost_per_year, 0),
            number_if_any(line.again.as_ref().map(|again| again.moved_s), 0),
            text(
                line.stuck
                    .iter()
                    .map(|stuck| stuck.why.as_str())
                    .collect::<Vec<_>>()
                    .join("; "),
            ),
        ]
    });
    let columns = [
        "shop",
        "line",
        "tasks",
        "takt s",
        "cycle s",
        "work s",
        "stations today",
        "people today",
        "faults today",
        "fewest stations",
        "at least",
        "people",
        "balance",
        "a year",
        "least moved s",
        "no balance because",
    ];
    Sheet::new("Lines", &columns, rows.collect())
}

fn moves(plan: &Assembly) -> Sheet {
    let mut rows = Vec::new();
    for line in &plan.lines {
        for one in line.again.iter().flat_map(|again| &again.moves) {
            rows.push(vec![
                text(line_name(line)),
                text(&one.task),
                text(&one.from),
                text(&one.to),
                text(one.by.as_deref().unwrap_or("as today")),
                Cell::Empty,
            ]);
        }
        for one in line.again.iter().flat_map(|again| &again.robots) {
            rows.push(vec![
                text(line_name(line)),
                text(&one.robot),
                text(one.from.as_deref().unwrap_or("bought")),
                text(one.to.as_deref().unwrap_or("given up")),
                text("robot"),
                number(one.cost_per_year, 0),
            ]);
        }
    }
    let columns = ["line", "task or robot", "from", "to", "by", "added a year"];
    Sheet::new("Moves", &columns, rows)
        .note("The least work to move from today's stations so that takt is kept.")
}

fn times(plan: &Assembly) -> Sheet {
    let mut rows = Vec::new();
    for line in &plan.lines {
        let cycles = line.today.iter().flat_map(|today| &today.cycles);
        for cycle in cycles {
            for product in &cycle.by_product {
                rows.push(vec![
                    text(line_name(line)),
                    text(&cycle.station),
                    text(&product.product),
                    number(product.mean_s, 1),
                    number(product.plain_s, 1),
                    number(line.cycle_s.value, 1),
                    number(line.takt_s.value, 1),
                ]);
            }
        }
    }
    let columns = [
        "line",
        "station",
        "product",
        "s on its mean car",
        "s without options",
        "cycle s",
        "takt s",
    ];
    Sheet::new("Station times today", &columns, rows)
}

/// A way in words.
pub(super) fn way(way: &Way) -> String {
    match (way.how, &way.tool) {
        (How::Aided, Some(aid)) => format!("{} with {aid}", way.by),
        _ => way.by.clone(),
    }
}

fn choices(plan: &Assembly) -> Sheet {
    let row = |choice: &Choice| {
        let chosen = &choice.chosen;
        let next = choice.runner_up.as_ref();
        let index = |way: &Way| way.lifting_index.as_ref().map(|index| index.value);
        let refused = choice.refused.iter();
        let refused =
            refused.map(|one| format!("{}: {}", way(one), one.refused.as_deref().unwrap_or("no")));
        vec![
            text(&choice.task),
            text(way(chosen)),
            number(chosen.seconds, 1),
            number(chosen.cost_per_year, 0),
            number_if_any(index(chosen), 2),
            text(&choice.reason),
            next.map_or(Cell::Empty, |next| text(way(next))),
            number_if_any(next.map(|next| next.seconds), 1),
            number_if_any(next.map(|next| next.cost_per_year), 0),
            text(refused.collect::<Vec<_>>().join("; ")),
        ]
    };
    let columns = [
        "task",
        "by",
        "s",
        "a year",
        "lifting index",
        "reason",
        "runner-up",
        "its s",
        "its a year",
        "refused",
    ];
    Sheet::new(
        "Person or robot",
        &columns,
        plan.choices.iter().map(row).collect(),
    )
}

fn robots(plan: &Assembly) -> Sheet {
    let rows = plan.cells.iter().flat_map(|cell| {
        cell.steps.iter().map(|step| {
            vec![
                text(cell.line.as_deref().unwrap_or(&cell.shop)),
                text(&cell.robot),
                number(step.change_s, 1),
                number(step.start_s, 1),
                number(step.end_s, 1),
                step.tool.as_ref().map_or(Cell::Empty, text),
                text(&step.task),
                number(cell.spare_s, 1),
                text(&cell.fallback.note),
            ]
        })
    });
    let columns = [
        "line",
        "robot",
        "tool change before s",
        "from s",
        "to s",
        "tool",
        "task",
        "s left of the cycle",
        "robot down",
    ];
    Sheet::new("Robots", &columns, rows.collect())
}

fn costs(plan: &Assembly) -> Sheet {
    let rows = plan.lines.iter().flat_map(|line| {
        line.frontier.iter().map(|point| {
            vec![
                text(line_name(line)),
                number(f64::from(point.stations), 0),
                number(f64::from(point.posts), 0),
                number(f64::from(point.robots), 0),
                number(point.cost_per_year, 0),
                number(point.bound_per_year, 0),
            ]
        })
    });
    let columns = [
        "line",
        "stations",
        "posts",
        "robots",
        "a year",
        "none below",
    ];
    Sheet::new("Cost against stations", &columns, rows.collect())
        .note("Lines where robots could do some of the work; each point mans the whole line.")
}

fn guards(plan: &Assembly) -> Sheet {
    let mm = |value: &Option<ShopValue>| number_if_any(value.as_ref().map(|mm| mm.value), 0);
    let rows = plan.guards.iter().map(|guard| {
        vec![
            text(&guard.robot),
            mm(&guard.curtain_mm),
            mm(&guard.scanner_mm),
            mm(&guard.separation_mm),
            text(&guard.caution),
        ]
    });
    let columns = [
        "robot",
        "light curtain mm",
        "floor scanner mm",
        "speed and separation mm",
        "caution",
    ];
    Sheet::new("People near robots", &columns, rows.collect())
}
