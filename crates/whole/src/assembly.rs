//! The assembly shops within the plant: how long each line works and how many
//! cars come to it.

use book::{Book, Problem, Severity, Task};
use formulas::Sourced;
use shops::assembly::{LineNeed, Question, elsewhere, lines};
use units::{Count, Minutes, PerWeek};

use crate::lots::Timetabled;
use crate::plan::{self, RatePlan};

pub use shops::assembly::{
    Again, Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Bead, Broken, BrokenRule,
    CellStep, Choice, CostPoint, Fallback, Guard, Heavy, How, Move, OptionCycle, ProductCycle,
    Progress, Refused, RobotCell, RobotChange, RobotCount, RobotMove, Screened, ShopFigure,
    ShopValue, StationCycle, Stuck, TimedTask, Today, Unplaced, Waits, Watch, Way,
};

/// The plan of every line that the book gives tasks, for the book's cars.
///
/// # Errors
///
/// All problems at once: those of the rate plan and of the assembly shops.
pub fn assembly(book: &Book, watch: &Watch<'_>) -> Result<Assembly, Vec<Problem>> {
    assembly_at(book, None, watch)
}

/// The same at another rate of good cars a week, the mix kept; none is the
/// book's own.
///
/// # Errors
///
/// As [`assembly`].
pub fn assembly_at(
    book: &Book,
    rate: Option<PerWeek>,
    watch: &Watch<'_>,
) -> Result<Assembly, Vec<Problem>> {
    shops::assembly::assembly(
        &Question {
            book,
            needs: &needs(book, rate)?,
            steps: Question::STEPS,
            only_cost: false,
        },
        watch,
    )
}

/// Every line as the book has it today, at the book's rate or another of good
/// cars a week. Nothing is searched: it follows each change of the book at once.
///
/// # Errors
///
/// As [`assembly`].
pub fn today(
    book: &Book,
    rate: Option<PerWeek>,
    watch: &Watch<'_>,
) -> Result<Vec<Today>, Vec<Problem>> {
    shops::assembly::today(book, &needs(book, rate)?, watch)
}

/// What the assembly lines say against the book before any balance: tasks that
/// nobody can do, options that no car has, and measured cycles that are not those
/// of the tasks. Nothing is searched; none where the book has no tasks or its
/// rate plan has problems of its own.
#[must_use]
pub fn screens(book: &Book) -> Vec<Problem> {
    if book.tasks.is_empty() {
        return Vec::new();
    }
    let Ok(needs) = needs(book, None) else {
        return Vec::new();
    };
    let mut problems = Vec::new();
    let mut apart = Vec::new();
    for need in &needs {
        match shops::assembly::today(book, std::slice::from_ref(need), &Watch::none()) {
            Ok(lines) => apart.extend(lines.iter().flat_map(|line| measured(book, line))),
            Err(more) => {
                let new: Vec<Problem> =
                    more.into_iter().filter(|p| !problems.contains(p)).collect();
                problems.extend(new);
            }
        }
    }
    problems.extend(summed(apart));
    problems.extend(contradictions(book));
    problems
}

/// Pairs of tasks that must share a station and must not, an error each.
/// Longer chains of such rules are told by the balance.
fn contradictions(book: &Book) -> Vec<Problem> {
    let together = |task: &Task, other: &Task| {
        task.same_station.contains(&other.task) || other.same_station.contains(&task.task)
    };
    let mut problems = Vec::new();
    for task in &book.tasks {
        let apart = task.other_station.iter();
        for other in apart.filter_map(|name| book.tasks.iter().find(|row| row.task == *name)) {
            if together(task, other) {
                problems.push(Problem {
                    code: "tasks/zones-contradict".into(),
                    severity: Severity::Error,
                    table: task.at.table.name().into(),
                    row: Some(task.at.row),
                    column: Some("other_station".into()),
                    found: format!(
                        "`{}` must not share the station of `{}` and, by `same_station`, must",
                        task.task, other.task
                    ),
                    expected: "one of the two rules".into(),
                    mend: format!(
                        "take `{}` out of `other_station`, or the pair out of `same_station`",
                        other.task
                    ),
                    nearest: None,
                });
            }
        }
    }
    problems
}

/// What the hard screens refuse on the lines of a plan, tasks that nobody may do
/// first.
pub(crate) fn screened(book: &Book, plan: &RatePlan) -> Vec<Screened> {
    shops::assembly::screened(book, &needs_of(book, plan))
}

/// So many stations whose measured cycle is not that of their tasks are named
/// each.
const NAMED: usize = 3;

/// A measured cycle this much from the tasks' is told.
const APART: f64 = 0.1;

/// Stations of a line whose measured cycle and tasks differ, a note each.
fn measured(book: &Book, line: &Today) -> Vec<Problem> {
    let apart = line.cycles.iter().filter_map(|cycle| {
        let row = book
            .stations
            .iter()
            .find(|row| row.station == cycle.station)?;
        let own = row.cycle_s?.0;
        let made = cycle.mean_s;
        (made > 0.0 && (own - made).abs() > APART * made).then(|| Problem {
            code: "stations/measured-apart".into(),
            severity: Severity::Note,
            table: row.at.table.name().into(),
            row: Some(row.at.row),
            column: Some("cycle_s".into()),
            found: format!(
                "{own} s at `{}`, whose tasks take {made:.1} s on a mean car",
                row.station
            ),
            expected: "a measured cycle within 10 % of its tasks".into(),
            mend: "measure anew, correct the tasks, or empty the cell so that the tasks count; \
                   until then the measured one counts"
                .into(),
            nearest: None,
        })
    });
    apart.collect()
}

/// A few notes each for itself, many as one.
fn summed(mut notes: Vec<Problem>) -> Vec<Problem> {
    if notes.len() <= NAMED {
        return notes;
    }
    let more = notes.len() - 1;
    notes.truncate(1);
    for note in &mut notes {
        note.found = format!("{}, and {more} more stations so", note.found);
    }
    notes
}

/// The lines with their needs.
fn needs(book: &Book, rate: Option<PerWeek>) -> Result<Vec<LineNeed>, Vec<Problem>> {
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let times = rate
        .filter(|_| plan.cars > 0.0)
        .map_or(1.0, |rate| rate.0 / plan.cars);
    let mut needs = needs_of(book, &plan);
    if rate.is_some() {
        for need in &mut needs {
            need.jobs = Sourced::from(Count(need.jobs.value.0 * times));
        }
    }
    Ok(needs)
}

/// The lines with their needs in a plan.
fn needs_of(book: &Book, plan: &RatePlan) -> Vec<LineNeed> {
    let of_line = |(shop, line)| need(book, plan, shop, line);
    lines(book).into_iter().filter_map(of_line).collect()
}

/// A line's need; none where no car comes to it.
fn need(book: &Book, plan: &RatePlan, shop: String, line: Option<String>) -> Option<LineNeed> {
    let own = |name: &str| {
        let mut tasks = book
            .tasks
            .iter()
            .filter(|t| t.shop == shop && t.line == line);
        tasks.any(|task| task.station.as_deref() == Some(name) && elsewhere(book, task).is_none())
    };
    // Where tasks name stations those count, else all of the line.
    let named = plan.stations.iter().any(|row| own(&row.station));
    let of_line = |row: &&plan::StationPlan| {
        if named {
            own(&row.station)
        } else {
            row.shop == shop && (line.is_none() || row.line == line)
        }
    };
    let busiest = plan.stations.iter().filter(of_line);
    let jobs = busiest.max_by(|a, b| a.jobs.value.total_cmp(&b.jobs.value))?;
    let net = &plan.shops.iter().find(|row| row.shop == shop)?.net_time_h;
    (jobs.jobs.value > 0.0).then(|| LineNeed {
        net: Sourced::new(Minutes(net.value * 60.0), net.from.clone()),
        jobs: Sourced::new(Count(jobs.jobs.value), jobs.jobs.from.clone()),
        shop,
        line,
    })
}

mod budget;

pub use budget::{Budgeted, Looking, RateCost, within_budget};

#[cfg(test)]
mod tests;
