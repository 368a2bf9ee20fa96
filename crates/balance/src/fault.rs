//! What stands against a question before or after any search.

mod told;

use std::fmt;

/// Why work cannot be balanced as asked. Tasks and stations are positions from
/// 0; [`Fault::told`] puts names in their place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Each task waits for the one before it in the list, the first for the last.
    Circle {
        /// The tasks around the circle.
        tasks: Vec<usize>,
    },
    /// No station can do the task within takt.
    LongerThanTakt {
        /// The task.
        task: usize,
        /// Its shortest time, in ticks.
        ticks: u64,
        /// What a station may take, in ticks.
        takt: u64,
    },
    /// A position beyond the list of tasks.
    NoSuchTask {
        /// The task that names it.
        task: usize,
        /// The position named.
        named: usize,
    },
    /// More tasks than the solver takes.
    TooMany {
        /// How many.
        tasks: usize,
        /// The most.
        most: usize,
    },
    /// A line of no stations, or of no people at a station.
    NoStations,
    /// Takt is nothing.
    NoTakt,
    /// Times too long to add up without overflow.
    TooLong {
        /// The first task at which the sum overflows.
        task: usize,
    },
    /// Two tasks that must share a station and must not.
    TogetherAndApart {
        /// One.
        one: usize,
        /// The other.
        other: usize,
    },
    /// Tasks that must share a station are together longer than it can take.
    TogetherTooLong {
        /// The tasks.
        tasks: Vec<usize>,
        /// Their time, in ticks.
        ticks: u64,
        /// What a station may take, in ticks.
        takt: u64,
    },
    /// Tasks that must share a station are fixed to different ones.
    FixedApart {
        /// One.
        one: usize,
        /// The other.
        other: usize,
    },
    /// A task is fixed to two stations.
    FixedTwice {
        /// The task.
        task: usize,
        /// One of the stations.
        one: usize,
        /// The other.
        other: usize,
    },
    /// A task must stand where the station cannot be: its predecessors need
    /// the stations before it, its followers those after.
    NoRoom {
        /// The task.
        task: usize,
        /// The first station it could stand at.
        earliest: usize,
        /// The last station it could stand at.
        latest: usize,
        /// The way through the order by which a fixed task pushes it, that
        /// task first; the task alone where it is fixed beyond the line's end;
        /// empty where the work before it does.
        pushed: Vec<usize>,
    },
    /// A task asks for a side that the line does not have.
    NoSide {
        /// The task.
        task: usize,
    },
    /// A task has no way to be done.
    NoMode {
        /// The task.
        task: usize,
    },
    /// A model takes more of its list of times than there are tasks, or fewer.
    ModelTimes {
        /// The model.
        model: usize,
        /// Times given.
        given: usize,
        /// Tasks.
        tasks: usize,
    },
    /// A mode names a kind or a tool that is not there.
    NoSuchKind {
        /// The task.
        task: usize,
        /// Its mode.
        mode: usize,
    },
    /// The models' shares do not add up to anything.
    NoShares,
    /// Rules of place that no balance keeps together, none of them left out.
    Clash {
        /// The rules.
        rules: Vec<PlaceRule>,
        /// Whether a longer takt might help.
        takt_helps: bool,
    },
    /// No order of a robot's work sets a part into its bead in time.
    OpenTooShort {
        /// The job that lays the bead.
        from: usize,
        /// The job that sets the part into it.
        to: usize,
        /// Ticks that the adhesive stays open.
        open: u64,
        /// Ticks of a stop that must not cost the bead.
        stop: u64,
        /// Ticks from laying to set in the order that comes nearest.
        path: u64,
    },
    /// Work in a zone that only one robot may be in at a time is longer than
    /// its stations have time.
    ZoneTooLong {
        /// The work.
        tasks: Vec<usize>,
        /// Its time, in ticks.
        ticks: u64,
        /// The time of the stations at which it may be done.
        takt: u64,
    },
    /// The search has shown that no assignment meets all conditions.
    NoAssignment {
        /// What was tried, in words.
        shown: String,
    },
}

impl Fault {
    /// The fault in words, with `name` for a task.
    pub fn told(&self, name: &dyn Fn(usize) -> String) -> String {
        match self {
            Self::Circle { tasks } => told::circle(tasks, name),
            Self::LongerThanTakt { task, ticks, takt } => told::longer(&name(*task), *ticks, *takt),
            Self::NoSuchTask { task, named } => told::no_such_task(&name(*task), *named),
            Self::TooMany { tasks, most } => told::too_many(*tasks, *most),
            Self::NoStations => "a line needs at least one station with one person".to_owned(),
            Self::NoTakt => "takt must be more than nothing".to_owned(),
            Self::TooLong { task } => told::too_long(&name(*task)),
            Self::TogetherAndApart { one, other } => told::both(&name(*one), &name(*other)),
            Self::TogetherTooLong { tasks, ticks, takt } => {
                told::together(&told::listed(tasks, name), *ticks, *takt)
            }
            Self::FixedApart { one, other } => told::fixed_apart(&name(*one), &name(*other)),
            Self::FixedTwice { task, one, other } => told::fixed_twice(&name(*task), *one, *other),
            Self::NoRoom {
                task,
                earliest,
                latest,
                pushed,
            } => told::no_room(&name(*task), (earliest + 1, latest + 1), pushed, name),
            Self::Clash { rules, takt_helps } => told::clash(rules, *takt_helps, name),
            Self::NoSide { task } => told::no_side(&name(*task)),
            Self::NoMode { task } => {
                format!("{} can be done by nobody; give it a mode", name(*task))
            }
            Self::ModelTimes {
                model,
                given,
                tasks,
            } => told::model_times(*model, *given, *tasks),
            Self::NoSuchKind { task, mode } => told::no_such_kind(&name(*task), *mode),
            Self::NoShares => {
                "the models' shares add up to nothing; give one a share above 0".to_owned()
            }
            Self::OpenTooShort {
                from,
                to,
                open,
                stop,
                path,
            } => told::open_too_short((&name(*from), &name(*to)), *open, *stop, *path),
            Self::ZoneTooLong { tasks, ticks, takt } => {
                told::zone(&told::listed(tasks, name), *ticks, *takt)
            }
            Self::NoAssignment { shown } => shown.clone(),
        }
    }
}

/// A rule of place, as a fault names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlaceRule {
    /// Two tasks at the same station.
    Together(usize, usize),
    /// Two tasks at different stations.
    Apart(usize, usize),
    /// A task at a station.
    Fixed(usize, usize),
    /// The second so many stations after the first.
    Distance(usize, usize, u32),
}

impl PlaceRule {
    /// The tasks that it speaks of.
    pub fn tasks(&self) -> Vec<usize> {
        match *self {
            Self::Fixed(task, _) => vec![task],
            Self::Together(one, other)
            | Self::Apart(one, other)
            | Self::Distance(one, other, _) => vec![one, other],
        }
    }

    fn told(&self, name: &dyn Fn(usize) -> String) -> String {
        match *self {
            Self::Together(one, other) => {
                format!("{} and {} share a station", name(one), name(other))
            }
            Self::Apart(one, other) => {
                format!("{} and {} share no station", name(one), name(other))
            }
            Self::Fixed(task, station) => {
                format!("{} is fixed to station {}", name(task), station + 1)
            }
            Self::Distance(one, other, far) => format!(
                "{} stands at least {far} stations after {}",
                name(other),
                name(one)
            ),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told(&|task| format!("task {}", task + 1)))
    }
}

impl std::error::Error for Fault {}
