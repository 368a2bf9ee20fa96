//! Final assembly and sub-plants: which work at which station, by a person or
//! by which robot, what it costs a year, and the least work to move when takt
//! or mix changes.
//!
//! [`assembly`] takes the book and each line's working time and cars, and makes
//! an [`Assembly`]. Hard screens come first (lift, reach, access, how exactly,
//! judgement); of the ways that are left the cheapest is taken. The line is
//! then balanced by the solver `balance`: two sides, the mean over the mix
//! within the cycle, the overload of each car limited, and searched again where
//! heavy cars in a row drift too far. A robot has a station of its own.
//!
//! *Never:* a requirement of its own, a clock.

mod again;
mod cells;
mod choose;
mod drift;
mod follow;
mod frame;
mod guard;
mod home;
mod keep;
mod line;
mod mix;
mod model;
mod parallel;
mod place;
mod prepare;
mod price;
mod screen;
mod screened;
mod tally;
mod today;
mod today_told;
mod work;

use book::{Book, Problem, Task};
use formulas::Sourced;
use rayon::prelude::*;
use units::{Count, Minutes};

use crate::sheet::Sheet;
use line::{Planned, line, without};
use prepare::{Prepared, prepared};

pub use crate::follow::{Progress, Watch};
pub use crate::sheet::{ShopFigure, ShopValue};
pub use model::{
    Again, Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Bead, CellStep, Choice,
    CostPoint, Fallback, Guard, Heavy, How, Move, RobotCell, RobotChange, RobotCount, RobotMove,
    Stuck, TimedTask, Way,
};
pub use screened::{Refused, Screened, screened};
pub use today::today;
pub use today_told::{
    Broken, BrokenRule, OptionCycle, ProductCycle, StationCycle, Today, Unplaced, Waits,
};
pub use work::elsewhere;

/// What a line works on, beside the book.
#[derive(Clone, Debug, PartialEq)]
pub struct LineNeed {
    /// Its shop.
    pub shop: String,
    /// Its name, as the tasks give it.
    pub line: Option<String>,
    /// Its working time a week.
    pub net: Sourced<Minutes>,
    /// Cars a week that it works on.
    pub jobs: Sourced<Count>,
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// The lines, from [`lines`], each with its need.
    pub needs: &'a [LineNeed],
    /// Steps of search a line.
    pub steps: u64,
    /// Only the balances and what they cost: without today's line and the moves
    /// from it.
    pub only_cost: bool,
}

impl Question<'_> {
    /// The search that plan, run and page share: a page's line of a hundred
    /// tasks in a fraction of a second.
    pub const STEPS: u64 = 80_000;
}

/// The lines that tasks name, as shop and line, in the order of the book.
pub fn lines(book: &Book) -> Vec<(String, Option<String>)> {
    let mut lines: Vec<(String, Option<String>)> = Vec::new();
    for task in &book.tasks {
        let line = (task.shop.clone(), task.line.clone());
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// Plans all assembly lines. A line without a balance is no error but says
/// why; [`Assembly::holds`] is false then.
///
/// # Errors
///
/// All problems at once, each with its row, where no line is without any: a task
/// without a time, a robot that is none, a task that the screens leave no way, a
/// value that its formula refuses. A line with problems beside others without is
/// told as one that cannot be balanced.
pub fn assembly(question: &Question<'_>, watch: &Watch<'_>) -> Result<Assembly, Vec<Problem>> {
    assembly_line_by_line(question, watch, &|| {})
}

/// The same; `line_done` is called for each line that is planned, from any
/// thread.
///
/// # Errors
///
/// As [`assembly`].
pub fn assembly_line_by_line(
    question: &Question<'_>,
    watch: &Watch<'_>,
    line_done: &(dyn Fn() + Sync),
) -> Result<Assembly, Vec<Problem>> {
    let book = question.book;
    let mut sheet = Sheet::default();
    let (asked, mut told) = read(question, &mut sheet);
    if !sheet.problems.is_empty() {
        return Err(sheet.problems);
    }
    // Lines know nothing of each other, and come back in their order.
    told.par_extend(asked.into_par_iter().map(|(number, need, ready)| {
        let name = need.line.as_deref().unwrap_or(&need.shop);
        let planned = follow::of_line(watch, name, |watch| line(question, need, ready, watch));
        line_done();
        (number, planned)
    }));
    told.sort_by_key(|(number, _)| *number);
    let mut plan = of_lines(told.into_iter().map(|(_, planned)| planned));
    let mut robots: Vec<String> = plan.cells.iter().map(|cell| cell.robot.clone()).collect();
    robots.sort();
    robots.dedup();
    plan.guards = guard::guards(&mut sheet, book, &robots);
    if !sheet.problems.is_empty() {
        return Err(sheet.problems);
    }
    plan.figures = sheet.figures;
    Ok(plan)
}

/// Lines that can be planned, by their number.
type Asked<'a> = Vec<(usize, &'a LineNeed, Prepared<'a>)>;

/// Reads the rows of all lines: those that can be planned, and those told by
/// what is wrong with their rows. Where no line is left, the sheet has all
/// problems.
fn read<'a>(question: &Question<'a>, sheet: &mut Sheet) -> (Asked<'a>, Vec<(usize, Planned)>) {
    let book = question.book;
    let mut told = Vec::new();
    let mut asked = Vec::new();
    let mut refused = Vec::new();
    for (number, need) in question.needs.iter().enumerate() {
        let own = |task: &&Task| task.shop == need.shop && task.line == need.line;
        let tasks: Vec<&Task> = book.tasks.iter().filter(own).collect();
        let Some(at) = tasks.first().map(|task| task.at) else {
            continue;
        };
        let (count, before) = (tasks.len(), sheet.problems.len());
        match prepared(book, sheet, need, tasks, at) {
            Some(ready) => asked.push((number, need, ready)),
            None => {
                let problems = sheet.problems.split_off(before);
                refused.push((number, need, (count, at), problems));
            }
        }
    }
    if asked.is_empty() || !sheet.problems.is_empty() {
        let all = refused.into_iter().flat_map(|(.., problems)| problems);
        sheet.problems.extend(all);
        return (asked, told);
    }
    // A row of one line says nothing against the others.
    for (number, need, line, problems) in refused {
        match without(book, sheet, need, line, &problems) {
            Some(planned) => told.push((number, planned)),
            None => sheet.problems.extend(problems),
        }
    }
    (asked, told)
}

/// The plan of all lines, figures and guards apart.
fn of_lines(lines: impl Iterator<Item = Planned>) -> Assembly {
    let mut plan = Assembly {
        holds: true,
        lines: Vec::new(),
        choices: Vec::new(),
        cells: Vec::new(),
        guards: Vec::new(),
        cost_per_year: 0.0,
        figures: std::collections::BTreeMap::new(),
    };
    for planned in lines {
        plan.lines.push(planned.line);
        plan.choices.extend(planned.choices);
        plan.cells.extend(planned.cells);
    }
    let stuck = |line: &AssemblyLine| !line.stuck.is_empty();
    plan.holds =
        !plan.lines.iter().any(stuck) && plan.cells.iter().all(|cell| cell.stuck.is_none());
    plan.cost_per_year = plan.lines.iter().map(|line| line.cost_per_year).sum();
    plan.choices.sort_by_key(|choice| choice.at.row);
    plan
}

#[cfg(test)]
mod tests;
