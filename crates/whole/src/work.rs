//! Cycles and people that stations have from their tasks.
//!
//! A station of the book whose `cycle_s` is empty takes a car as long as its
//! tasks do: those that name it, post by post, as the line stands today; where
//! no task of the line names a station, those of the balance, whose stations
//! fill the line's empty rows in their order; where robots join, as long as the
//! body shop's plan. A measured cycle wins. Cars of a
//! product, or with an option that makes a difference, have their own, as in
//! the table of cycles.

mod joints;

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use book::{At, Book, Cycle, Problem, Severity, Station, Table, Task};
use formulas::{Origin, Sourced};
use shops::assembly::{
    AssemblyStation, LineNeed, Question, StationCycle, TimedTask, Today, Watch, elsewhere, lines,
};
use units::{Count, Minutes, Quantity, Seconds};

use crate::calendar::{WEEK, weekly_spells};
use crate::requirement::{Requirement, requirement};

mod painted;

pub(crate) use painted::inspected;

/// An option that changes a product's cycle by less is no class of its own; its
/// seconds go into the product's mean.
const OWN_CLASS: f64 = 0.05;

/// A book whose stations all have a cycle, and where those of tasks came from.
pub(crate) struct Worked<'b> {
    pub(crate) book: Cow<'b, Book>,
    made: BTreeMap<String, Made>,
    /// What is odd but can be computed.
    pub(crate) notes: Vec<Problem>,
}

/// A station's work on a mean car.
#[derive(Clone, Debug)]
pub(crate) struct Made {
    /// Work of each post, with the tasks' cells.
    pub(crate) posts: Vec<Sourced<Seconds>>,
    /// What the last one is later than its own work, for waiting.
    pub(crate) waits: Seconds,
    /// The tasks' names.
    pub(crate) tasks: Vec<String>,
    /// Whether the station's people are those of its posts.
    pub(crate) people: bool,
    /// The tasks' cells.
    cells: Vec<(usize, Origin)>,
}

impl Made {
    /// The tasks' cells, all together.
    pub(crate) fn origin(&self) -> Origin {
        Origin::Several(self.cells.iter().map(|(_, from)| from.clone()).collect())
    }
}

impl Worked<'_> {
    /// The work that makes a station's cycle; none where the cycle is measured.
    pub(crate) fn made(&self, station: &str) -> Option<&Made> {
        self.made.get(station)
    }

    /// Where the cycle of a row comes from: its own cell, or the tasks of such
    /// a car.
    pub(crate) fn origin(&self, row: &Cycle) -> Origin {
        let made = self.made.get(&row.station);
        let Some(made) = made.filter(|_| row.at.table == Table::Tasks) else {
            return cell((), row.at, "cycle_s").from;
        };
        let has = |task: &Task| {
            let own = task.product.is_none() || task.product == row.product;
            own && (task.option.is_none() || task.option == row.option)
        };
        let cells = made.cells.iter();
        let own = cells.filter(|(task, _)| has(&self.book.tasks[*task]));
        Origin::Several(own.map(|(_, from)| from.clone()).collect())
    }
}

/// The book with every cycle filled in.
///
/// # Errors
///
/// All problems at once: a line whose tasks have no balance, more stations
/// needed than the book has, a task that nobody can do.
pub(crate) fn of(book: &Book) -> Result<Worked<'_>, Vec<Problem>> {
    let open: BTreeSet<&str> = book
        .stations
        .iter()
        .filter(|row| row.cycle_s.is_none())
        .map(|row| row.station.as_str())
        .collect();
    let mut worked = Worked {
        book: Cow::Borrowed(book),
        made: BTreeMap::new(),
        notes: Vec::new(),
    };
    let inspected = inspected(book);
    if open.is_empty() {
        worked.book = inspected;
        return Ok(worked);
    }
    let need = requirement(&inspected)?;
    let mut problems = Vec::new();
    let mut filled = inspected.into_owned();
    for (shop, line) in lines(book) {
        let of_line = Line {
            book,
            shop: &shop,
            line: line.as_deref(),
        };
        if !of_line
            .rows()
            .any(|row| open.contains(row.station.as_str()))
        {
            continue;
        }
        let Some(line_need) = of_line.need(&need) else {
            continue;
        };
        match of_line.today(&line_need) {
            Ok(today) => take(&mut worked, &mut filled, &open, &today),
            Err(more) => problems.extend(more),
        }
    }
    if let Err(more) = joints::take(&mut worked, &mut filled, &open, &need) {
        problems.extend(more);
    }
    if let Err(more) = painted::take(&mut worked, &mut filled, &open, &need) {
        problems.extend(more);
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    worked.notes.extend(idle(&filled, &open, &need));
    worked.book = Cow::Owned(filled);
    Ok(worked)
}

/// A line that has tasks.
struct Line<'a> {
    book: &'a Book,
    shop: &'a str,
    line: Option<&'a str>,
}

impl<'a> Line<'a> {
    fn tasks(&self) -> impl Iterator<Item = &'a Task> {
        let (shop, line) = (self.shop, self.line);
        let tasks = self.book.tasks.iter();
        tasks.filter(move |task| task.shop == shop && task.line.as_deref() == line)
    }

    /// Its stations, and those that its tasks name.
    fn rows(&self) -> impl Iterator<Item = &'a Station> {
        let (shop, line) = (self.shop, self.line);
        let own = self
            .tasks()
            .filter(|task| elsewhere(self.book, task).is_none());
        let named: BTreeSet<&str> = own.filter_map(|t| t.station.as_deref()).collect();
        let rows = self.book.stations.iter();
        rows.filter(move |row| {
            row.shop == shop && row.line.as_deref() == line || named.contains(row.station.as_str())
        })
    }

    /// Working time and cars of the line; none where no car comes to it.
    fn need(&self, need: &Requirement) -> Option<LineNeed> {
        let rows: BTreeSet<&str> = self.rows().map(|row| row.station.as_str()).collect();
        let stations = self.book.stations.iter().enumerate();
        let here = stations.filter(|(_, row)| rows.contains(row.station.as_str()));
        let (busiest, jobs) = here
            .map(|(i, row)| (row, need.visits(i)))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let week = weekly_spells(self.book, self.shop).map_or(WEEK, |week| week.net());
        (jobs > 0.0).then(|| LineNeed {
            shop: self.shop.to_owned(),
            line: self.line.map(str::to_owned),
            net: Sourced::figure(
                Minutes(week.get() / 60.0),
                format!("shop.{}.net_time", self.shop),
            ),
            jobs: Sourced::figure(Count(jobs), format!("station.{}.jobs", busiest.station)),
        })
    }

    /// The line as it stands, or as the balance sets it up where no task says.
    fn today(&self, need: &LineNeed) -> Result<Stood<'a>, Vec<Problem>> {
        let placed = self.tasks().any(|task| task.station.is_some());
        let book = if placed {
            Cow::Borrowed(self.book)
        } else {
            Cow::Owned(self.balanced(need)?)
        };
        let mut today = shops::assembly::today(&book, std::slice::from_ref(need), &Watch::none())?;
        let today = today.pop().ok_or_else(Vec::new)?;
        Ok(Stood {
            tasks: &self.book.tasks,
            today,
        })
    }

    /// The book with every task of the line at a station of the balance.
    fn balanced(&self, need: &LineNeed) -> Result<Book, Vec<Problem>> {
        let question = Question {
            book: self.book,
            needs: std::slice::from_ref(need),
            steps: Question::STEPS,
            only_cost: false,
        };
        let plan = shops::assembly::assembly(&question, &Watch::none())?;
        let at = self.tasks().next().map_or_else(At::default, |task| task.at);
        let Some(line) = plan.lines.first().filter(|line| line.stuck.is_empty()) else {
            let stuck = plan.lines.first().and_then(|line| line.stuck.first());
            let why = stuck.map_or_else(|| "no balance".to_owned(), |stuck| stuck.why.clone());
            return Err(vec![Problem {
                found: format!("no balance of the tasks of `{}`: {why}", self.name()),
                expected: "a balance, since its stations have no cycle of their own".into(),
                mend: "mend what it names, or write the stations' cycle_s".into(),
                ..problem("no-balance", at, "station")
            }]);
        };
        let rows: Vec<&Station> = self.rows().filter(|row| row.cycle_s.is_none()).collect();
        let used = |station: &&AssemblyStation| !station.posts.is_empty();
        let stations: Vec<&AssemblyStation> = line.stations.iter().filter(used).collect();
        if stations.len() > rows.len() {
            return Err(vec![Problem {
                found: format!(
                    "work for {} stations on `{}`, which has {} without a cycle",
                    stations.len(),
                    self.name(),
                    rows.len()
                ),
                expected: "a station for each of the balance".into(),
                mend: format!(
                    "add {} to stations with an empty cycle_s, or raise takt",
                    stations.len() - rows.len()
                ),
                ..problem("too-few-stations", at, "station")
            }]);
        }
        let mut book = self.book.clone();
        for (station, row) in stations.iter().zip(rows) {
            let here: BTreeSet<&str> = work_of(station).map(|task| task.task.as_str()).collect();
            let tasks = book.tasks.iter_mut();
            for task in tasks.filter(|task| here.contains(task.task.as_str())) {
                task.station = Some(row.station.clone());
            }
        }
        Ok(book)
    }

    fn name(&self) -> &'a str {
        self.line.unwrap_or(self.shop)
    }
}

/// A line as it stands, with the book's tasks.
struct Stood<'a> {
    tasks: &'a [Task],
    today: Today,
}

fn work_of(station: &AssemblyStation) -> impl Iterator<Item = &TimedTask> {
    station.posts.iter().flat_map(|post| &post.work)
}

/// Takes the cycles of a line's open stations into the book.
fn take(worked: &mut Worked<'_>, filled: &mut Book, open: &BTreeSet<&str>, stood: &Stood<'_>) {
    worked.notes.extend(unplaced(&stood.today));
    let stations = stood.today.stations.iter().zip(&stood.today.cycles);
    for (station, cycle) in stations {
        let name = cycle.station.as_str();
        if !open.contains(name) || worked.made.contains_key(name) {
            continue;
        }
        let Some(row) = filled.stations.iter_mut().find(|row| row.station == name) else {
            continue;
        };
        row.cycle_s = Some(Seconds(cycle.mean_s));
        let people = row.heads.is_none();
        row.heads = row.heads.or(Some(f64::from(cycle.people)));
        if cycle.mean_s > 0.0 {
            let rows = rows(filled, station, cycle);
            filled.cycles.extend(rows);
            let made = made(stood.tasks, station, cycle, people);
            worked.made.insert(name.to_owned(), made);
        }
    }
}

/// The work on a mean car, post by post, with the cells of its tasks.
fn made(tasks: &[Task], station: &AssemblyStation, cycle: &StationCycle, people: bool) -> Made {
    let of_task = |timed: &TimedTask| {
        let position = tasks.iter().position(|task| task.at == timed.at)?;
        let task = &tasks[position];
        let is = |seconds: Option<Seconds>| seconds == Some(Seconds(timed.seconds));
        let column = match () {
            () if is(task.hand_s) => "hand_s",
            () if is(task.aid_s) => "aid_s",
            () => "robot_s",
        };
        Some((position, cell((), task.at, column).from))
    };
    let post = |post: &shops::assembly::AssemblyPost| {
        let cells = post.work.iter().filter_map(of_task);
        let from = Origin::Several(cells.map(|(_, from)| from).collect());
        Sourced::new(Seconds(post.load_s), from)
    };
    let posts: Vec<Sourced<Seconds>> = station.posts.iter().map(post).collect();
    let longest = posts.iter().map(|post| post.value.0).fold(0.0, f64::max);
    Made {
        waits: Seconds((cycle.mean_s - longest).max(0.0)),
        posts,
        people,
        tasks: work_of(station).map(|task| task.task.clone()).collect(),
        cells: work_of(station).filter_map(of_task).collect(),
    }
}

/// The cycles of products and options that differ from the station's, except
/// where the book has measured ones.
fn rows(book: &Book, station: &AssemblyStation, cycle: &StationCycle) -> Vec<Cycle> {
    let measured: Vec<&Cycle> = book
        .cycles
        .iter()
        .filter(|row| row.station == cycle.station)
        .collect();
    let at = work_of(station).next().map_or_else(At::default, |t| t.at);
    let row = |product: &str, option: Option<&str>, seconds: f64| Cycle {
        at,
        station: cycle.station.clone(),
        product: Some(product.to_owned()),
        option: option.map(str::to_owned),
        cycle_s: Seconds(seconds),
    };
    let mut found = Vec::new();
    for product in &cycle.by_product {
        let name = product.product.as_str();
        let plain = product.plain_s;
        let options = cycle.by_option.iter().filter(|row| row.product == name);
        let (own, spread): (Vec<_>, Vec<_>) =
            options.partition(|row| (row.cycle_s - plain).abs() >= OWN_CLASS * plain);
        let more: f64 = spread
            .iter()
            .map(|row| share(book, &row.option, name) * (row.cycle_s - plain))
            .sum();
        let says = |option: Option<&str>| {
            measured.iter().any(|row| {
                let fits = row.product.as_deref().is_none_or(|own| own == name);
                fits && row.option.as_deref() == option
            })
        };
        if !says(None) {
            found.push(row(name, None, plain + more));
        }
        let own = own.iter().filter(|own| !says(Some(&own.option)));
        found.extend(own.map(|own| row(name, Some(&own.option), own.cycle_s + more)));
    }
    let same = |row: &Cycle| (row.cycle_s.0 - cycle.mean_s).abs() < 1e-6;
    if found.iter().all(same) {
        found.clear();
    }
    found
}

/// The share of a product's cars that have an option.
fn share(book: &Book, option: &str, product: &str) -> f64 {
    let named = || book.options.iter().filter(|row| row.option == option);
    let own = named().find(|row| row.product.as_deref() == Some(product));
    let row = own.or_else(|| named().find(|row| row.product.is_none()));
    row.map_or(0.0, |row| row.share.0)
}

/// Tasks whose work is in no cycle, as one note.
fn unplaced(today: &Today) -> Option<Problem> {
    let first = today.unplaced.first()?;
    let more = today.unplaced.len() - 1;
    Some(Problem {
        severity: Severity::Note,
        found: match more {
            0 => format!("no station for `{}`", first.task),
            _ => format!("no station for `{}` and {more} more tasks", first.task),
        },
        expected: "a station for every task, or for none of the line".into(),
        mend: "name their stations; until then their seconds are in no cycle".into(),
        ..problem("unplaced", first.at, "station")
    })
}

/// Stations whose cycle was left to tasks that they do not have, as a note each.
fn idle(book: &Book, open: &BTreeSet<&str>, need: &Requirement) -> Vec<Problem> {
    let stations = book.stations.iter().enumerate();
    stations
        .filter(|(i, row)| {
            open.contains(row.station.as_str()) && row.cycle().0 <= 0.0 && need.visits(*i) > 0.0
        })
        .map(|(_, row)| Problem {
            severity: Severity::Note,
            found: "an empty cell, and no task of its line here".into(),
            expected: "a cycle, or a task that names the station".into(),
            mend: "cars pass it without work; write its cycle_s if that is not meant".into(),
            ..problem("no-work", row.at, "cycle_s")
        })
        .collect()
}

fn problem(code: &str, at: At, column: &str) -> Problem {
    let table = at.table.name();
    Problem {
        code: format!("{table}/{code}"),
        severity: Severity::Error,
        table: table.into(),
        row: Some(at.row),
        column: Some(column.into()),
        found: String::new(),
        expected: String::new(),
        mend: String::new(),
        nearest: None,
    }
}

fn cell<T>(value: T, at: At, column: &str) -> Sourced<T> {
    Sourced::cell(value, at.table.name(), at.row as usize, column)
}

#[cfg(test)]
mod tests;
