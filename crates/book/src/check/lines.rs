//! Tasks that keep to their line.
//!
//! # Checks
//! A task stands at a station of its own line. Tasks that share a station, or
//! must not, are of one line. A task follows tasks of its line or of one that
//! feeds it. A line that one task alone names is no misspelt other. A bead takes
//! no longer than the robot's time for its task.
//!
//! # Why it hurts
//! Lines are balanced each for itself: a rule across two of them would bind
//! nothing, and work at another line's station would count nowhere.
//!
//! # Example
//! A task of `final` at a station of `trim 1`.
//!
//! # Mended
//! Its station is one of `final`, or its line is `trim 1`.

use std::collections::BTreeMap;

use units::nearest;

use super::graph::reached;
use crate::{
    Book, Table, Task,
    problem::{Problem, Problems},
};

/// A time this little above its limit is rounding, in seconds.
const SLACK: f64 = 0.05;

pub(super) fn check(book: &Book, problems: &mut Problems) {
    if problems.unread(Table::Tasks) || problems.unread(Table::Stations) {
        return;
    }
    let feeds = Feeds::of(book);
    let mut tasks: BTreeMap<&str, &Task> = BTreeMap::new();
    for task in &book.tasks {
        tasks.entry(task.task.as_str()).or_insert(task);
    }
    for task in &book.tasks {
        problems.extend(elsewhere(book, task));
        problems.extend(bead(task));
        for (column, names) in [
            ("same_station", &task.same_station),
            ("other_station", &task.other_station),
        ] {
            for other in names.iter().filter_map(|name| tasks.get(name.as_str())) {
                problems.extend(company(task, other, column));
            }
        }
        for other in task
            .after
            .iter()
            .filter_map(|name| tasks.get(name.as_str()))
        {
            problems.extend(after(&feeds, task, other));
        }
    }
    misspelt(book, problems);
}

type Line<'a> = (&'a str, Option<&'a str>);

fn line(task: &Task) -> Line<'_> {
    (task.shop.as_str(), task.line.as_deref())
}

fn named(task: &Task) -> &str {
    task.line.as_deref().unwrap_or(&task.shop)
}

fn elsewhere(book: &Book, task: &Task) -> Option<Problem> {
    let name = task.station.as_ref()?;
    let row = book.stations.iter().find(|row| row.station == *name)?;
    let lines = task.line.as_ref().zip(row.line.as_ref());
    if row.shop == task.shop && lines.is_none_or(|(own, its)| own == its) {
        return None;
    }
    let its = row.line.as_deref().unwrap_or(&row.shop);
    Some(
        Problem::at(task.at, "other-line")
            .into_note()
            .column("station")
            .found(format!(
                "`{name}` of `{its}` for `{}`, work of `{}`",
                task.task,
                named(task)
            ))
            .expected("a station of the task's own line")
            .mend(format!(
                "name a station of `{}`, or give the task the line `{its}`; until then its work \
                 counts nowhere",
                named(task)
            )),
    )
}

fn company(task: &Task, other: &Task, column: &str) -> Option<Problem> {
    (line(task) != line(other)).then(|| {
        Problem::at(task.at, "across-lines")
            .column(column)
            .found(format!(
                "`{}` of `{}` for a task of `{}`",
                other.task,
                named(other),
                named(task)
            ))
            .expected("a task of the same line, since lines share no station")
            .mend("take it out, or give both tasks one line")
    })
}

fn after(feeds: &Feeds<'_>, task: &Task, other: &Task) -> Option<Problem> {
    if line(task) == line(other) || feeds.from(line(other), line(task)) {
        return None;
    }
    let later = feeds.from(line(task), line(other));
    let problem = Problem::at(task.at, if later { "after-later" } else { "after-apart" })
        .column("after")
        .found(format!(
            "`{}` of `{}`, which {} `{}`",
            other.task,
            named(other),
            if later {
                "comes after"
            } else {
                "no link joins to"
            },
            named(task)
        ))
        .expected("a task of the same line, or of one that feeds it")
        .mend(if later {
            "take it out, or give one of the tasks the other's line"
        } else {
            "link the lines, or take it out; this order is not balanced"
        });
    Some(if later { problem } else { problem.into_note() })
}

/// Which line's cars or parts reach which.
struct Feeds<'a> {
    reach: BTreeMap<Line<'a>, Vec<bool>>,
    at: BTreeMap<Line<'a>, Vec<usize>>,
}

impl<'a> Feeds<'a> {
    fn of(book: &'a Book) -> Self {
        let mut place: BTreeMap<&str, usize> = BTreeMap::new();
        let mut at: BTreeMap<Line<'a>, Vec<usize>> = BTreeMap::new();
        for (number, row) in book.stations.iter().enumerate() {
            place.insert(&row.station, number);
            let of = |line| (row.shop.as_str(), line);
            at.entry(of(row.line.as_deref())).or_default().push(number);
            if row.line.is_some() {
                at.entry(of(None)).or_default().push(number);
            }
        }
        let mut edges = vec![Vec::new(); book.stations.len()];
        for link in &book.links {
            let ends = place
                .get(link.from.as_str())
                .zip(place.get(link.to.as_str()));
            if let Some((from, to)) = ends {
                edges[*from].push(*to);
            }
        }
        let named = book.tasks.iter().map(line);
        let reach = named
            .filter_map(|line| Some((line, at.get(&line)?.clone())))
            .collect::<BTreeMap<_, _>>()
            .into_iter()
            .map(|(line, first)| (line, reached(&edges, first)))
            .collect();
        Self { reach, at }
    }

    fn from(&self, one: Line<'_>, other: Line<'_>) -> bool {
        let reach = self.reach.get(&one);
        let at = self.at.get(&other);
        reach
            .zip(at)
            .is_some_and(|(reach, at)| at.iter().any(|station| reach[*station]))
    }
}

fn misspelt(book: &Book, problems: &mut Problems) {
    let mut count: BTreeMap<Line<'_>, (usize, &Task)> = BTreeMap::new();
    for task in book.tasks.iter().filter(|task| task.line.is_some()) {
        count.entry(line(task)).or_insert((0, task)).0 += 1;
    }
    for (line, (_, task)) in count.iter().filter(|(_, (tasks, _))| *tasks == 1) {
        let known = |row: &&crate::Station| row.shop == line.0 && row.line.as_deref() == line.1;
        if book.stations.iter().any(|row| known(&row)) {
            continue;
        }
        let others = count
            .iter()
            .filter(|(other, (tasks, _))| other.0 == line.0 && *tasks > 1);
        let name = line.1.unwrap_or_default();
        let near = nearest(name, others.filter_map(|(other, _)| other.1));
        if near.is_none() {
            continue;
        }
        problems.push(
            Problem::at(task.at, "lone-line")
                .into_note()
                .column("line")
                .found(format!(
                    "`{name}`, which no other task and no station names"
                ))
                .expected("a line of the shop")
                .mend("correct the name, if it is not meant as a line of its own")
                .nearest(near),
        );
    }
}

fn bead(task: &Task) -> Option<Problem> {
    let (length, speed) = task.bead_mm.zip(task.bead_mm_s)?;
    let robot = task.robot_s?;
    let laying = length.0 / speed;
    (laying > robot.0 + SLACK).then(|| {
        Problem::at(task.at, "bead-longer")
            .column("robot_s")
            .found(format!(
                "{} s for a bead of {} mm, which takes {laying:.1} s at {speed} mm/s",
                robot.0, length.0
            ))
            .expected("at least the time in which the bead is laid")
            .mend(format!(
                "write {:.0} or more, or correct bead_mm or bead_mm_s",
                laying.ceil()
            ))
    })
}
