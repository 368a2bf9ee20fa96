//! Robots that stay where they stand: who does each task today, and who would
//! where the least is to change.

use std::collections::BTreeMap;

use balance::Watch;
use book::Book;

use super::cells;
use super::choose::{allowed, cheapest, priced};
use super::model::{How, Way};
use super::price::Prices;
use super::work::{Doing, Work};

/// Ways to relieve a robot that are tried, the least work first.
const TRIED: usize = 3;

/// Pieces of a robot's work of which every choice is looked at.
const PIECES: usize = 10;

/// A line's parts that a robot's time depends on.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) book: &'a Book,
    pub(super) place: (&'a str, Option<&'a str>),
    pub(super) work: &'a Work<'a>,
    pub(super) prices: &'a Prices,
}

impl Line<'_> {
    /// Who does each task today: at a station to which the book gives robots a
    /// robot does what it can, elsewhere people do what they can. `chosen` counts
    /// for all else, and for all where the line's stations have no robots.
    pub(super) fn today(&self, chosen: &[Doing]) -> Vec<Doing> {
        if !self.knows_robots() {
            return chosen.to_vec();
        }
        let work = self.work;
        let has_robots = |task: usize| self.has_robots(task);
        let mut known: Vec<String> = Vec::new();
        let mut cell = |key: String| {
            let number = known.iter().position(|other| *other == key);
            number.unwrap_or_else(|| {
                known.push(key);
                known.len() - 1
            })
        };
        let ways = priced(work, self.prices);
        let of_task = |(task, own): (usize, &Doing)| {
            let robot = ways[task].iter().find(|way| is_robot(way));
            let who = match (robot, work.station[task]) {
                (Some(way), Some(station)) if has_robots(task) => {
                    let number = cell(format!("{} at {station}", way.by));
                    return Doing::Robot(way.clone(), number);
                }
                (Some(_), Some(_)) => by_hand(&ways[task]),
                _ => None,
            };
            match who.unwrap_or_else(|| own.clone()) {
                Doing::Robot(way, chosen) => Doing::Robot(way, cell(format!("chosen {chosen}"))),
                other => other,
            }
        };
        chosen.iter().enumerate().map(of_task).collect()
    }

    /// Whether the book gives robots to the station of a task.
    pub(super) fn has_robots(&self, task: usize) -> bool {
        let mut rows = self.book.stations.iter();
        let row = rows.find(|row| Some(row.station.as_str()) == self.work.station[task]);
        row.is_some_and(|row| row.robots > 0)
    }

    /// Whether the book says where robots of this shop stand.
    pub(super) fn knows_robots(&self) -> bool {
        let mut rows = self.book.stations.iter();
        rows.any(|row| row.shop == self.place.0 && row.robots > 0)
    }

    /// Today's people and robots where every robot fits the cycle; else the same
    /// with the least of a robot's work done by people, some ways of it, the least
    /// first. None where that does not help.
    pub(super) fn kept(&self, today: &[Doing], watch: &Watch<'_>) -> Vec<Vec<Doing>> {
        let mut kept = vec![today.to_vec()];
        let count = today.iter().filter_map(Doing::cell).max();
        for cell in 0..count.map_or(0, |last| last + 1) {
            if self.fits(&kept[0], cell, watch) {
                continue;
            }
            let relieved = kept
                .iter()
                .flat_map(|doing| self.relieved(doing, cell, watch));
            kept = relieved.take(TRIED).collect();
            if kept.is_empty() {
                break;
            }
        }
        kept
    }

    fn fits(&self, doing: &[Doing], cell: usize, watch: &Watch<'_>) -> bool {
        let tasks = members(doing, cell);
        if tasks.is_empty() {
            return true;
        }
        let of = (self.book, self.place, self.work);
        let cell = cells::timed_cell(of, doing, &tasks, self.prices, watch);
        cell.stuck.is_none() && cell.spare_s >= -1e-9
    }

    /// The robot without some of its work, so that the rest fits.
    fn relieved(&self, doing: &[Doing], cell: usize, watch: &Watch<'_>) -> Vec<Vec<Doing>> {
        let pieces = self.pieces(doing, cell);
        if pieces.len() > PIECES {
            return Vec::new();
        }
        let mut choices: Vec<(u64, usize)> = (1..1_usize << pieces.len())
            .map(|choice| {
                let gone = chosen(&pieces, choice);
                let work: f64 = gone.map(|piece| piece.hand_s).sum();
                ((work * 1_000.0) as u64, choice)
            })
            .collect();
        choices.sort_unstable();
        let mut found = Vec::new();
        for (_, choice) in choices {
            let mut less = doing.to_vec();
            for piece in chosen(&pieces, choice) {
                for (task, hand) in &piece.tasks {
                    less[*task] = hand.clone();
                }
            }
            if self.is_around(doing, cell, &less) || !self.fits(&less, cell, watch) {
                continue;
            }
            found.push(less);
            if found.len() == TRIED {
                break;
            }
        }
        found
    }

    /// What of a robot's work people may do: tasks that must share a station
    /// together.
    fn pieces(&self, doing: &[Doing], cell: usize) -> Vec<Piece> {
        let work = self.work;
        let tasks = members(doing, cell);
        let mut group: BTreeMap<usize, usize> = tasks.iter().map(|task| (*task, *task)).collect();
        for task in &tasks {
            for other in Work::named(&work.tasks, &work.tasks[*task].same_station) {
                let (Some(one), Some(two)) = (group.get(task), group.get(&other)) else {
                    continue;
                };
                let (from, to) = (*one.max(two), *one.min(two));
                group
                    .values_mut()
                    .filter(|own| **own == from)
                    .for_each(|own| *own = to);
            }
        }
        let ways = priced(work, self.prices);
        let firsts: Vec<usize> = tasks.iter().copied().filter(|t| group[t] == *t).collect();
        let piece = |first: &usize| {
            let own = tasks.iter().filter(|task| group[task] == *first);
            let by_hand = own.map(|task| Some((*task, by_hand(&ways[*task])?)));
            let tasks: Vec<(usize, Doing)> = by_hand.collect::<Option<_>>()?;
            let seconds = |(task, who): &(usize, Doing)| {
                who.way().map_or(0.0, |way| way.seconds) * work.share[*task]
            };
            Some(Piece {
                hand_s: tasks.iter().map(seconds).sum(),
                tasks,
            })
        };
        firsts.iter().filter_map(piece).collect()
    }

    /// Whether some of the work that leaves a robot comes between two tasks that
    /// stay: nobody could do it at another station.
    fn is_around(&self, before: &[Doing], cell: usize, after: &[Doing]) -> bool {
        let stays = members(after, cell);
        let gone = members(before, cell);
        let gone = gone.iter().filter(|task| !stays.contains(task));
        let reaches = |from: usize, to: usize| self.follows(to, from);
        gone.into_iter().any(|task| {
            stays.iter().any(|one| reaches(*one, *task))
                && stays.iter().any(|one| reaches(*task, *one))
        })
    }

    /// Whether a task comes after another, others between them or not.
    fn follows(&self, task: usize, other: usize) -> bool {
        let mut open = vec![task];
        let mut seen = vec![false; self.work.tasks.len()];
        while let Some(next) = open.pop() {
            for before in &self.work.after[next] {
                if *before == other {
                    return true;
                }
                if !std::mem::replace(&mut seen[*before], true) {
                    open.push(*before);
                }
            }
        }
        false
    }
}

/// Work that goes from a robot to people as one.
struct Piece {
    tasks: Vec<(usize, Doing)>,
    hand_s: f64,
}

fn chosen(pieces: &[Piece], choice: usize) -> impl Iterator<Item = &Piece> {
    let own = pieces.iter().enumerate();
    own.filter(move |(at, _)| choice >> at & 1 == 1)
        .map(|(_, piece)| piece)
}

fn is_robot(way: &Way) -> bool {
    way.how == How::Robot && allowed(way)
}

/// The cheapest way of people that the screens leave.
fn by_hand(ways: &[Way]) -> Option<Doing> {
    let way = &ways[cheapest(ways)?];
    (way.how != How::Robot).then(|| Doing::Person(way.clone()))
}

/// The tasks of a robot.
pub(super) fn members(doing: &[Doing], cell: usize) -> Vec<usize> {
    let all = 0..doing.len();
    all.filter(|task| doing[*task].cell() == Some(cell))
        .collect()
}
