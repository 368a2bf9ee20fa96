//! The assembly shops within the plant: how long each line works and how many
//! cars come to it.

use book::{Book, Problem};
use formulas::Sourced;
use shops::assembly::{LineNeed, Question, lines};
use units::{Count, Minutes};

use crate::lots::Timetabled;
use crate::plan::{self, RatePlan};

pub use shops::assembly::{
    Again, Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Bead, CellStep, Choice,
    CostPoint, Fallback, Guard, Heavy, How, Move, Progress, RobotCell, ShopFigure, ShopValue,
    Stuck, TimedTask, Watch, Way,
};

/// The plan of every line that the book gives tasks, for the book's cars.
///
/// # Errors
///
/// All problems at once: those of the rate plan and of the assembly shops.
pub fn assembly(book: &Book, watch: &Watch<'_>) -> Result<Assembly, Vec<Problem>> {
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let needs = lines(book)
        .into_iter()
        .filter_map(|(shop, line)| need(book, &plan, shop, line));
    shops::assembly::assembly(
        &Question {
            book,
            needs: &needs.collect::<Vec<_>>(),
            steps: Question::STEPS,
        },
        watch,
    )
}

/// A line's need; none where no car comes to it.
fn need(book: &Book, plan: &RatePlan, shop: String, line: Option<String>) -> Option<LineNeed> {
    let own = |name: &str| {
        let mut tasks = book
            .tasks
            .iter()
            .filter(|t| t.shop == shop && t.line == line);
        tasks.any(|task| task.station.as_deref() == Some(name))
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
