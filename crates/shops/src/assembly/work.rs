//! A line's tasks and what is known of them before they are placed.

use book::{At, Book, Station, Task};

use super::model::Way;

/// Ticks in a second: tasks are timed to a tenth.
pub(super) const PER_SECOND: f64 = 10.0;

/// Seconds as whole ticks.
pub(super) fn ticks(seconds: f64) -> u32 {
    // a task takes a million seconds at most
    (seconds * PER_SECOND)
        .round()
        .clamp(0.0, f64::from(u32::MAX / 8)) as u32
}

/// Ticks as seconds.
pub(super) fn seconds(ticks: u64) -> f64 {
    ticks as f64 / PER_SECOND
}

/// The station that a task names where it is another line's: the task then
/// stands at none of its own. A station without a line is any line's of its shop.
pub fn elsewhere<'b>(book: &'b Book, task: &Task) -> Option<&'b Station> {
    let name = task.station.as_ref()?;
    let row = book.stations.iter().find(|row| row.station == *name)?;
    let other_line = task
        .line
        .as_ref()
        .zip(row.line.as_ref())
        .is_some_and(|(own, its)| own != its);
    (row.shop != task.shop || other_line).then_some(row)
}

/// A line's tasks; their positions are those of all lists here.
pub(super) struct Work<'a> {
    pub(super) tasks: Vec<&'a Task>,
    /// The station of each today; none also where it is another line's.
    pub(super) station: Vec<Option<&'a str>>,
    /// How many units of its station do each by turns, so that it stays there; 1
    /// where it may go elsewhere.
    pub(super) units: Vec<u32>,
    /// What comes before each on this line.
    pub(super) after: Vec<Vec<usize>>,
    /// The ways to do each.
    pub(super) ways: Vec<Vec<Way>>,
    /// The share of all cars that have each.
    pub(super) share: Vec<f64>,
    pub(super) takt_s: f64,
    /// The part of takt that work may fill.
    pub(super) cycle_s: f64,
}

impl<'a> Work<'a> {
    /// A row of a task, by its position.
    pub(super) fn at(&self, task: usize) -> At {
        self.tasks[task].at
    }

    /// The units of a task's station where these do it by turns, each on every so
    /// many cars.
    pub(super) fn parallel(&self, task: usize, doing: &Doing) -> Option<u32> {
        let Doing::Person(way) = doing else {
            return None;
        };
        let units = self.units[task];
        let fits = way.seconds <= self.cycle_s * f64::from(units);
        (units > 1 && fits).then_some(units)
    }

    /// Positions of the tasks of these names; other lines' tasks are left out.
    pub(super) fn named(tasks: &[&'a Task], names: &[String]) -> Vec<usize> {
        let place = |name: &String| tasks.iter().position(|task| task.task == *name);
        names.iter().filter_map(place).collect()
    }
}

/// Who does a task.
#[derive(Clone, Debug)]
pub(super) enum Doing {
    /// A person, by hand or with an aid.
    Person(Way),
    /// The robot of a cell, by its number.
    Robot(Way, usize),
    /// No way is left.
    Nobody,
}

impl Doing {
    pub(super) fn way(&self) -> Option<&Way> {
        match self {
            Self::Person(way) | Self::Robot(way, _) => Some(way),
            Self::Nobody => None,
        }
    }

    pub(super) fn cell(&self) -> Option<usize> {
        match self {
            Self::Robot(_, cell) => Some(*cell),
            _ => None,
        }
    }
}
