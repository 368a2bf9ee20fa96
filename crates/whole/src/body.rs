//! The body shop within the plant: how long each line that joins works and how
//! many cars come to it.

use book::{Book, Problem};
use formulas::Sourced;
use shops::body::{BodyNeed, Question, lines};
use units::{Count, Minutes, PerWeek, Quantity, Seconds};

use crate::calendar::{WEEK, weekly_spells};
use crate::requirement::{Requirement, requirement};

pub use shops::body::{
    Aim, AtTakt, Body, BodyLine, BodyRobot, BodyStation, BrokenLimit, Consumable, JoinGroup,
    LimitUsed, MethodWay, OneLess, Progress, RefillStop, RobotStep, ShopFigure, ShopValue,
    StuckJoints, Watch,
};

/// What may be asked beside the book.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Good cars a week, the mix kept; none for the book's own.
    pub rate: Option<PerWeek>,
    /// A takt for all lines in place of their own.
    pub takt: Option<Seconds>,
    /// What is made least.
    pub aim: Aim,
}

impl Asked {
    /// The book's own cars for the fewest robots, as the plan and the run take them.
    pub const PLAIN: Self = Self {
        rate: None,
        takt: None,
        aim: Aim::FewestRobots,
    };
}

/// The plan of every line that the book gives joints.
///
/// # Errors
///
/// All problems at once: those of the requirement and of the body shop.
pub fn body(book: &Book, asked: Asked, watch: &Watch<'_>) -> Result<Body, Vec<Problem>> {
    let need = requirement(book)?;
    let mut needs = needs(book, &need);
    let cars: f64 = need.products.iter().map(|product| product.cars).sum();
    if let Some(rate) = asked.rate.filter(|_| cars > 0.0) {
        for need in &mut needs {
            need.jobs = Sourced::from(Count(need.jobs.value.0 * rate.0 / cars));
        }
    }
    let question = Question {
        book,
        needs: &needs,
        takt: asked.takt,
        aim: asked.aim,
        steps: Question::STEPS,
        ladder: true,
    };
    shops::body::body(&question, watch)
}

/// Working time and cars of each line that joins; lines to which no car comes
/// have none.
pub(crate) fn needs(book: &Book, need: &Requirement) -> Vec<BodyNeed> {
    let of_line = |(line, shop): (String, String)| {
        let rows = book.stations.iter().enumerate();
        let own = rows.filter(|(_, row)| row.line.as_deref().unwrap_or(&row.shop) == line);
        let (busiest, jobs) = own
            .map(|(at, row)| (row, need.visits(at)))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let week = weekly_spells(book, &shop).map_or(WEEK, |week| week.net());
        (jobs > 0.0).then(|| BodyNeed {
            net: Sourced::figure(Minutes(week.get() / 60.0), format!("shop.{shop}.net_time")),
            jobs: Sourced::figure(Count(jobs), format!("station.{}.jobs", busiest.station)),
            line,
            shop,
        })
    };
    lines(book).into_iter().filter_map(of_line).collect()
}

#[cfg(test)]
mod tests;
