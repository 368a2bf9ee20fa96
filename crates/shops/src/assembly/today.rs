//! The line as the book has it today: each task where its row says.

mod broken;
mod cycles;

use balance::Watch;
use balance::line::{Station, given_station};
use book::{At, Book, Problem, Task};

use super::cells;
use super::choose;
use super::frame::{Frame, Node};
use super::model::{AssemblyPost, AssemblyStation, How, RobotCell};
use super::place::Placing;
use super::prepare::{cycle, prepared};
use super::price::Prices;
use super::tally::{mean, places, tally};
use super::today_told::{Broken, BrokenRule, Today, Unplaced, Waits};
use super::work::{Doing, Work};
use super::{LineNeed, follow, keep};
use crate::sheet::Sheet;

/// Every line as the book has it today: station by station the posts with
/// their work in order, how long each takes which car, and every rule that is
/// broken with the way out. Where work may be by person or robot, the choice is
/// that of the plan, searched once for each line and takt. Nothing else is
/// searched, so it follows each change of the book at once.
///
/// # Errors
///
/// As [`super::assembly`]: all problems at once, each with its row, where no line
/// is without any. A line with problems beside others without has no stations, and
/// its problems as faults.
pub fn today(
    book: &Book,
    needs: &[LineNeed],
    watch: &super::Watch<'_>,
) -> Result<Vec<Today>, Vec<Problem>> {
    let mut sheet = Sheet::default();
    let mut lines = Vec::new();
    let mut refused = Vec::new();
    for need in needs {
        let own = |task: &&Task| task.shop == need.shop && task.line == need.line;
        let tasks: Vec<&Task> = book.tasks.iter().filter(own).collect();
        let Some(at) = tasks.first().map(|task| task.at) else {
            continue;
        };
        let before = sheet.problems.len();
        let stands = follow::quiet(watch, |watch| {
            line(book, &mut sheet, need, (tasks, at), watch)
        });
        match stands {
            Some(line) => lines.push(line),
            None => {
                let problems = sheet.problems.split_off(before);
                let times = cycle(&mut Sheet::default(), book, need, at);
                refused.push((lines.len() + refused.len(), need, times, problems));
            }
        }
    }
    let without_takt = refused.iter().any(|(_, _, times, _)| times.is_none());
    if lines.is_empty() || without_takt || !sheet.problems.is_empty() {
        let all = refused.into_iter().flat_map(|(.., problems)| problems);
        sheet.problems.extend(all);
        return if sheet.problems.is_empty() {
            Ok(lines)
        } else {
            Err(sheet.problems)
        };
    }
    for (place, need, times, problems) in refused {
        if let Some((takt, cycle)) = times {
            lines.insert(place, unread(need, (takt.value, cycle.value), &problems));
        }
    }
    Ok(lines)
}

/// A line whose rows cannot all be read: what is wrong with them, and no more.
fn unread(need: &LineNeed, (takt_s, cycle_s): (f64, f64), problems: &[Problem]) -> Today {
    let faults = problems.iter().map(|problem| {
        let place = book::Table::find(&problem.table).zip(problem.row);
        Broken {
            rule: BrokenRule::Row,
            station: None,
            by_s: None,
            what: problem.found.clone(),
            way_out: problem.mend.clone(),
            rows: place
                .map(|(table, row)| At { table, row })
                .into_iter()
                .collect(),
        }
    });
    Today {
        shop: need.shop.clone(),
        line: need.line.clone(),
        holds: false,
        takt_s,
        cycle_s,
        two_sided: false,
        work_s: 0.0,
        cycles: Vec::new(),
        stations: Vec::new(),
        people: 0,
        efficiency: 0.0,
        cost_per_year: 0.0,
        faults: faults.collect(),
        unplaced: Vec::new(),
        order: Vec::new(),
    }
}

fn line(
    book: &Book,
    sheet: &mut Sheet,
    need: &LineNeed,
    (tasks, at): (Vec<&Task>, At),
    watch: &Watch<'_>,
) -> Option<Today> {
    let (work, prices) = prepared(book, sheet, need, tasks, at)?.1;
    let parts = keep::Line {
        book,
        place: (need.shop.as_str(), need.line.as_deref()),
        work: &work,
        prices: &prices,
    };
    let places = places(book, &work);
    let doing = parts.today(&choose::who(book, &work, &prices, &places, watch));
    Some(of_line(book, need, &work, &doing, &prices, watch))
}

/// A line's stations of today, for work and people already known.
pub(super) fn of_line(
    book: &Book,
    need: &LineNeed,
    work: &Work<'_>,
    doing: &[Doing],
    prices: &Prices,
    watch: &Watch<'_>,
) -> Today {
    let places = all_places(book, need, work);
    let doing = by_station(work, doing, &places);
    let place = (need.shop.as_str(), need.line.as_deref());
    let cells = cells::plain(book, place, work, &doing, prices, watch);
    let frame = Frame::of(book, work, &doing, &places);
    let placing = Placing {
        book,
        work,
        doing: &doing,
        cells: &cells,
        prices,
        frame: &frame,
        places: &places,
        steps: 0,
    };
    Standing::of(&placing).told(need)
}

/// The line's stations in the book's order: those of its own and those that its
/// tasks name.
fn all_places(book: &Book, need: &LineNeed, work: &Work<'_>) -> Vec<String> {
    let used = |name: &str| work.station.contains(&Some(name));
    let rows = book.stations.iter();
    rows.filter(|row| row.shop == need.shop && row.line == need.line || used(&row.station))
        .map(|row| row.station.clone())
        .collect()
}

/// The same people and robots, with a robot's work divided by station.
fn by_station(work: &Work<'_>, doing: &[Doing], places: &[String]) -> Vec<Doing> {
    let mut known: Vec<(Option<usize>, String)> = Vec::new();
    let of = |(at, who): (usize, &Doing)| match who {
        Doing::Robot(way, _) => {
            let place = station_of(work, at, places);
            let key = (place, way.by.clone());
            let cell = known.iter().position(|other| *other == key);
            let cell = cell.unwrap_or_else(|| {
                known.push(key);
                known.len() - 1
            });
            Doing::Robot(way.clone(), cell)
        }
        other => other.clone(),
    };
    doing.iter().enumerate().map(of).collect()
}

/// The place of a task's station.
fn station_of(work: &Work<'_>, task: usize, places: &[String]) -> Option<usize> {
    let name = work.station[task]?;
    places.iter().position(|place| place == name)
}

/// The tasks at their stations.
struct Standing<'a> {
    placing: &'a Placing<'a>,
    /// By task.
    at: Vec<Option<usize>>,
    /// By station, its nodes' people.
    stations: Vec<Station>,
    /// By station, its robots' cells.
    robots: Vec<Vec<usize>>,
}

impl<'a> Standing<'a> {
    fn of(placing: &'a Placing<'a>) -> Self {
        let work = placing.work;
        let at: Vec<Option<usize>> = (0..work.tasks.len())
            .map(|task| station_of(work, task, placing.places))
            .collect();
        let count = placing.places.len();
        let mut people: Vec<Vec<usize>> = vec![Vec::new(); count];
        let mut robots: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (number, node) in placing.frame.nodes.iter().enumerate() {
            let task = placing.frame.tasks(number, placing.doing).first().copied();
            let Some(station) = task.and_then(|task| at[task]) else {
                continue;
            };
            match node {
                Node::Task(_) => people[station].push(number),
                Node::Cell { cell, first: true } => robots[station].push(*cell),
                Node::Cell { first: false, .. } => {}
            }
        }
        let frame = placing.frame;
        let stations = people.iter();
        let stations = stations.map(|nodes| given_station(&frame.line, frame.cycle, nodes));
        Self {
            placing,
            at,
            stations: stations.collect(),
            robots,
        }
    }

    fn told(&self, need: &LineNeed) -> Today {
        let work = self.placing.work;
        let stations: Vec<AssemblyStation> = self.posts();
        let unplaced = self.unplaced();
        let faults = self.broken(&stations);
        let sum = tally(
            self.placing.book,
            &stations,
            work.cycle_s,
            self.placing.prices,
        );
        Today {
            shop: need.shop.clone(),
            line: need.line.clone(),
            holds: faults.is_empty(),
            takt_s: work.takt_s,
            cycle_s: work.cycle_s,
            two_sided: self.placing.frame.two_sided,
            work_s: mean(work, self.placing.doing),
            cycles: self.cycles(),
            stations,
            people: sum.people,
            efficiency: sum.efficiency,
            cost_per_year: sum.cost_per_year,
            faults,
            unplaced,
            order: self.order(),
        }
    }

    fn posts(&self) -> Vec<AssemblyStation> {
        let of = |(at, station): (usize, &Station)| {
            let robots = self.robots[at].iter().map(|cell| self.placing.robot(*cell));
            let people = station
                .posts
                .iter()
                .filter_map(|post| self.placing.post(post));
            let posts: Vec<AssemblyPost> = robots.chain(people).collect();
            AssemblyStation {
                number: at as u32 + 1,
                station: self.placing.places.get(at).cloned(),
                posts,
            }
        };
        self.stations.iter().enumerate().map(of).collect()
    }

    fn unplaced(&self) -> Vec<Unplaced> {
        let work = self.placing.work;
        let none = (0..work.tasks.len()).filter(|task| self.at[*task].is_none());
        none.map(|task| Unplaced {
            task: work.tasks[task].task.clone(),
            at: work.at(task),
            seconds: self.placing.doing[task]
                .way()
                .map_or(0.0, |way| way.seconds),
        })
        .collect()
    }

    fn order(&self) -> Vec<Waits> {
        let work = self.placing.work;
        let name = |task: usize| work.tasks[task].task.clone();
        let each = (0..work.tasks.len()).flat_map(|task| {
            work.after[task].iter().map(move |before| Waits {
                task: name(task),
                after: name(*before),
                at: work.at(task),
            })
        });
        each.collect()
    }

    fn cells(&self, station: usize) -> impl Iterator<Item = &'a RobotCell> {
        let cells = self.placing.cells;
        self.robots[station].iter().map(move |cell| &cells[*cell])
    }

    /// Tasks of a station by hand.
    fn by_hand(&self, station: usize) -> Vec<usize> {
        let here = (0..self.at.len()).filter(|task| self.at[*task] == Some(station));
        here.filter(|task| {
            let way = self.placing.doing[*task].way();
            way.is_some_and(|way| way.how != How::Robot)
        })
        .collect()
    }
}
