//! What stands against a question before or after any search.

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
            Self::Circle { tasks } => told_circle(tasks, name),
            Self::LongerThanTakt { task, ticks, takt } => format!(
                "{} takes {ticks} at its quickest, {} more than a station may take ({takt}); \
                 split it, let stations in parallel do it, or allow a takt of {ticks}",
                name(*task),
                ticks - takt
            ),
            Self::NoSuchTask { task, named } => format!(
                "{} comes after task {named}, which is not in the list; drop it or add the task",
                name(*task)
            ),
            Self::TooMany { tasks, most } => format!(
                "{tasks} tasks are more than the {most} the solver takes; join tasks that \
                 are always done together"
            ),
            Self::NoStations => "a line needs at least one station with one person".to_owned(),
            Self::NoTakt => "takt must be more than nothing".to_owned(),
            Self::TooLong { task } => format!(
                "the times up to {} add up to more than the solver can hold; use a \
                 coarser tick",
                name(*task)
            ),
            Self::TogetherAndApart { one, other } => format!(
                "{} and {} must share a station and must not; drop one of the two rules",
                name(*one),
                name(*other)
            ),
            Self::TogetherTooLong { tasks, ticks, takt } => format!(
                "{} must share a station and take {ticks} together, {} more than it may \
                 take ({takt}); let one of them go or raise takt to {ticks}",
                listed(tasks, name),
                ticks - takt
            ),
            Self::FixedApart { one, other } => format!(
                "{} and {} must share a station but are fixed to different ones; fix both to one, \
                 or drop the rule",
                name(*one),
                name(*other)
            ),
            Self::FixedTwice { task, one, other } => format!(
                "{} is fixed to station {} and to station {}; leave one",
                name(*task),
                one + 1,
                other + 1
            ),
            Self::NoRoom {
                task,
                earliest,
                latest,
                pushed,
            } => told_no_room(&name(*task), (earliest + 1, latest + 1), pushed, name),
            Self::Clash { rules, takt_helps } => {
                let each: Vec<String> = rules.iter().map(|rule| rule.told(name)).collect();
                format!(
                    "no number of stations meets these together: {}; drop or change one of \
                     them{}",
                    each.join("; "),
                    if *takt_helps { ", or raise takt" } else { "" }
                )
            }
            Self::NoSide { task } => format!(
                "{} asks for a side on a line that has only one; leave the side open or \
                 make the line two-sided",
                name(*task)
            ),
            Self::NoMode { task } => {
                format!("{} can be done by nobody; give it a mode", name(*task))
            }
            Self::ModelTimes {
                model,
                given,
                tasks,
            } => format!(
                "model {model} has {given} times for {tasks} tasks; give it one for each, 0 where \
                 it does not have the task"
            ),
            Self::NoSuchKind { task, mode } => format!(
                "mode {mode} of {} names a kind or a tool that is not in the list; add it or name \
                 another",
                name(*task)
            ),
            Self::NoShares => {
                "the models' shares add up to nothing; give one a share above 0".to_owned()
            }
            Self::OpenTooShort {
                from,
                to,
                open,
                stop,
                path,
            } => format!(
                "no order of work keeps the bead of {} open until {} is done: the shortest path \
                 found takes {path} and a stop of the line {stop}, {} more than the {open} that \
                 it stays open; shorten the stop to be borne, the tool change or the batch, or \
                 take an adhesive that stays open longer",
                name(*from),
                name(*to),
                (path + stop).saturating_sub(*open)
            ),
            Self::ZoneTooLong { tasks, ticks, takt } => format!(
                "{} are in one zone, where one robot works at a time, and take {ticks} together, \
                 {} more than their stations have ({takt}); divide the zone, allow one more \
                 station, or raise takt",
                listed(tasks, name),
                ticks - takt
            ),
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

fn told_no_room(
    task: &str,
    (earliest, latest): (usize, usize),
    pushed: &[usize],
    name: &dyn Fn(usize) -> String,
) -> String {
    match pushed {
        [] => format!(
            "{task} can stand at station {earliest} at the earliest, as the work before it needs \
             that long, and must at station {latest} at the latest; raise takt or fix it further on"
        ),
        [_] => format!(
            "{task} is fixed to station {earliest} of a line that ends at {latest}; add stations \
             or fix it sooner"
        ),
        [first, ..] => {
            let way: Vec<String> = pushed.iter().map(|task| name(*task)).collect();
            format!(
                "{task} can stand at station {earliest} at the earliest and must at station \
                 {latest} at the latest: {} is fixed beyond it and comes first ({}); fix one of \
                 the two elsewhere or drop the order between them",
                name(*first),
                way.join(" before ")
            )
        }
    }
}

fn told_circle(tasks: &[usize], name: &dyn Fn(usize) -> String) -> String {
    let mut around: Vec<String> = tasks.iter().map(|task| name(*task)).collect();
    if let [only] = around.as_slice() {
        return format!("{only} waits for itself; drop it from its own list");
    }
    if let Some(first) = around.first().cloned() {
        around.push(first);
    }
    format!(
        "the order goes in a circle: {}; drop one of these",
        around.join(" before ")
    )
}

fn listed(tasks: &[usize], name: &dyn Fn(usize) -> String) -> String {
    let names: Vec<String> = tasks.iter().map(|task| name(*task)).collect();
    names.join(", ")
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told(&|task| format!("task {}", task + 1)))
    }
}

impl std::error::Error for Fault {}
