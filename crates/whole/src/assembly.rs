//! The assembly shops within the plant: how long each line works and how many
//! cars come to it.

use book::{Book, Problem};
use formulas::Sourced;
use shops::assembly::{LineNeed, Question, elsewhere, lines};
use units::{Count, Minutes, PerWeek};

use crate::lots::Timetabled;
use crate::plan::{self, RatePlan};

pub use shops::assembly::{
    Again, Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Bead, Broken, BrokenRule,
    CellStep, Choice, CostPoint, Fallback, Guard, Heavy, How, Move, OptionCycle, ProductCycle,
    Progress, RobotCell, ShopFigure, ShopValue, StationCycle, Stuck, TimedTask, Today, Unplaced,
    Waits, Watch, Way,
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

/// The lines with their needs.
fn needs(book: &Book, rate: Option<PerWeek>) -> Result<Vec<LineNeed>, Vec<Problem>> {
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let times = rate
        .filter(|_| plan.cars > 0.0)
        .map_or(1.0, |rate| rate.0 / plan.cars);
    let of_line = |(shop, line)| need(book, &plan, shop, line);
    let mut needs: Vec<LineNeed> = lines(book).into_iter().filter_map(of_line).collect();
    if rate.is_some() {
        for need in &mut needs {
            need.jobs = Sourced::from(Count(need.jobs.value.0 * times));
        }
    }
    Ok(needs)
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

#[cfg(test)]
mod tests;
