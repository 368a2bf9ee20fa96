//! The balance of a line, and the least work moved from today's.

use std::cell::Cell;

use balance::line::{Post, Station, balance_line, with_fewest_posts};
use balance::{Fault, Limits, PlaceRule, Watch};
use book::{At, Book, Side, Task};

use super::drift::Kept;
use super::frame::{Frame, Node};
use super::mix;
use super::model::{Again, AssemblyPost, AssemblyStation, Move, RobotCell, Stuck, TimedTask};
use super::price::Prices;
use super::work::{Doing, Work, seconds};

/// A line's parts, as all functions here need them.
pub(super) struct Placing<'a> {
    pub(super) book: &'a Book,
    pub(super) work: &'a Work<'a>,
    pub(super) doing: &'a [Doing],
    pub(super) cells: &'a [RobotCell],
    pub(super) prices: &'a Prices,
    pub(super) frame: &'a Frame,
    /// The stations of today, in the book's order.
    pub(super) places: &'a [String],
    pub(super) steps: u64,
}

/// A balance.
pub(super) struct Found {
    pub(super) stations: Vec<AssemblyStation>,
    /// No balance has fewer stations.
    pub(super) bound: u64,
    pub(super) proven: bool,
}

impl Placing<'_> {
    /// Fewest stations within the cycle, heavy cars in a row within the drift
    /// where that was found.
    pub(super) fn balance(&self, watch: &Watch<'_>) -> Result<Kept<Found>, Vec<Stuck>> {
        let first = Cell::new(None);
        let kept = self.within_drift(
            |placing| {
                let found = placing.fewest(watch);
                if let (Ok(found), None) = (&found, first.get()) {
                    first.set(Some(found.bound));
                }
                Some(found)
            },
            |found| &found.stations,
        );
        let mut kept = kept.unwrap_or_else(|| Err(Vec::new()))?;
        // Lighter stations are asked for more than the rule does, so only the
        // bound of the line as it is holds.
        let found = &mut kept.found;
        found.bound = first.get().unwrap_or(found.bound);
        found.proven = found.bound == found.stations.len() as u64;
        Ok(kept)
    }

    fn fewest(&self, watch: &Watch<'_>) -> Result<Found, Vec<Stuck>> {
        let found = balance_line(&self.frame.line, self.frame.cycle, &self.limits(), watch);
        match found {
            Ok(found) => {
                let few = |station: &Station| {
                    with_fewest_posts(&self.frame.line, self.frame.cycle, station)
                };
                let stations: Vec<Station> = found.stations.iter().map(few).collect();
                Ok(Found {
                    stations: self.told(&stations),
                    bound: found.bound,
                    proven: found.proven,
                })
            }
            Err(faults) => Err(faults.iter().map(|fault| self.stuck(fault)).collect()),
        }
    }

    pub(super) fn limits(&self) -> Limits {
        Limits {
            memory_mb: 200,
            steps: Some(self.steps),
        }
    }

    /// The least work moved from today's stations, heavy cars in a row within the
    /// drift where that was found, or why it does not fit on these; none where a
    /// task stands nowhere today.
    pub(super) fn again(&self, watch: &Watch<'_>) -> Option<Result<Again, Vec<Stuck>>> {
        let first = Cell::new(None);
        let kept = self.within_drift(
            |placing| {
                let found = placing.near(watch)?;
                if let (Ok(found), None) = (&found, first.get()) {
                    first.set(Some(found.bound_s));
                }
                Some(found)
            },
            |again| &again.stations,
        )?;
        Some(kept.map(|kept| {
            let again = kept.found;
            let bound_s = first.get().unwrap_or(again.bound_s);
            Again {
                proven: again.proven && bound_s >= again.bound_s - 1e-9,
                bound_s,
                too_far: kept.over,
                ..again
            }
        }))
    }

    fn near(&self, watch: &Watch<'_>) -> Option<Result<Again, Vec<Stuck>>> {
        let moved = match self.moved(watch)? {
            Ok(moved) => moved,
            Err(faults) => {
                return Some(Err(faults.iter().map(|fault| self.stuck(fault)).collect()));
            }
        };
        let mut moves = Vec::new();
        for (node, from, to) in &moved.moves {
            if matches!(self.frame.nodes[*node], Node::Cell { first: false, .. }) {
                continue;
            }
            for task in self.frame.tasks(*node, self.doing) {
                moves.push(Move {
                    task: self.work.tasks[task].task.clone(),
                    at: self.work.at(task),
                    from: self.from(*node, *from),
                    to: self.places[*to].clone(),
                    by: None,
                });
            }
        }
        let mean = |scaled: u64| scaled as f64 / self.scale();
        Some(Ok(Again {
            moves,
            moved_s: mean(moved.moved),
            bound_s: mean(moved.bound),
            proven: moved.proven,
            robots: Vec::new(),
            counts: Vec::new(),
            too_far: Vec::new(),
            people: 0,
            stations: self.told(&moved.stations),
        }))
    }

    pub(super) fn today(&self, node: usize) -> Option<usize> {
        let task = *self.frame.tasks(node, self.doing).first()?;
        let station = self.work.station[task]?;
        self.places.iter().position(|place| place == station)
    }

    /// The solver's mean is kept times this, in ticks.
    fn scale(&self) -> f64 {
        self.frame.shares.max(1) as f64 * super::work::PER_SECOND
    }

    fn told(&self, stations: &[Station]) -> Vec<AssemblyStation> {
        let numbered = stations.iter().enumerate();
        numbered
            .map(|(at, station)| AssemblyStation {
                number: at as u32 + 1,
                station: self.places.get(at).cloned(),
                posts: station
                    .posts
                    .iter()
                    .filter_map(|post| self.post(post))
                    .collect(),
            })
            .collect()
    }

    pub(super) fn post(&self, post: &Post) -> Option<AssemblyPost> {
        let robots = post
            .work
            .iter()
            .find_map(|placed| match self.frame.nodes[placed.task] {
                Node::Cell { cell, first } => Some((cell, first)),
                Node::Task(_) => None,
            });
        match robots {
            Some((cell, true)) => Some(self.robot(cell)),
            Some((_, false)) => None,
            None if post.work.is_empty() => None,
            None => Some(self.person(post)),
        }
    }

    pub(super) fn robot(&self, cell: usize) -> AssemblyPost {
        let cell = &self.cells[cell];
        let mut tools: Vec<String> = cell.steps.iter().filter_map(|s| s.tool.clone()).collect();
        tools.sort();
        tools.dedup();
        let work = cell.steps.iter().filter_map(|step| {
            let task = self.work.tasks.iter().find(|task| task.task == step.task)?;
            Some(TimedTask {
                task: step.task.clone(),
                at: task.at,
                start_s: step.start_s,
                end_s: step.end_s,
                seconds: step.end_s - step.start_s,
                by_product_s: self.by_product(task, step.end_s - step.start_s),
            })
        });
        AssemblyPost {
            side: Side::Either,
            by: cell.robot.clone(),
            tools,
            work: work.collect(),
            load_s: cell.seconds,
            by_product_s: vec![cell.seconds; self.book.products.len()],
            heavy: None,
        }
    }

    fn person(&self, post: &Post) -> AssemblyPost {
        let tasks: Vec<usize> = post
            .work
            .iter()
            .flat_map(|placed| self.frame.tasks(placed.task, self.doing))
            .collect();
        let time = |task: usize| self.doing[task].way().map_or(0.0, |way| way.seconds);
        let mut tools: Vec<String> = tasks
            .iter()
            .filter_map(|task| self.doing[*task].way()?.tool.clone())
            .collect();
        tools.sort();
        tools.dedup();
        let work = post
            .work
            .iter()
            .zip(&tasks)
            .map(|(placed, task)| TimedTask {
                task: self.work.tasks[*task].task.clone(),
                at: self.work.at(*task),
                start_s: placed.start as f64 / self.scale(),
                end_s: placed.end as f64 / self.scale(),
                seconds: time(*task),
                by_product_s: self.by_product(self.work.tasks[*task], time(*task)),
            });
        let on = |task: &usize| self.by_product(self.work.tasks[*task], time(*task));
        let each: Vec<Vec<f64>> = tasks.iter().map(on).collect();
        let products = (0..self.book.products.len())
            .map(|product| each.iter().map(|seconds| seconds[product]).sum());
        AssemblyPost {
            side: match post.side {
                balance::line::Side::Left => Side::Left,
                balance::line::Side::Right => Side::Right,
                balance::line::Side::Either => Side::Either,
            },
            by: self.prices.person.name.clone(),
            tools,
            work: work.collect(),
            load_s: tasks
                .iter()
                .map(|task| self.work.share[*task] * time(*task))
                .sum(),
            by_product_s: products.collect(),
            heavy: self.heavy(&tasks),
        }
    }

    /// Seconds of a task on a mean car of each product.
    fn by_product(&self, task: &Task, seconds: f64) -> Vec<f64> {
        let products = self.book.products.iter();
        products
            .map(|row| mix::on_product(self.book, task, &row.product) * seconds)
            .collect()
    }

    /// A fault in the book's words.
    pub(super) fn stuck(&self, fault: &Fault) -> Stuck {
        let name = |node: usize| match self.frame.nodes.get(node) {
            Some(Node::Task(task)) => format!("`{}`", self.work.tasks[*task].task),
            Some(Node::Cell { cell, .. }) => {
                format!("the work of {}", self.cells[*cell].robot)
            }
            None => format!("task {}", node + 1),
        };
        let rows = |nodes: &[usize]| -> Vec<At> {
            let tasks = nodes.iter().filter(|node| **node < self.frame.nodes.len());
            let tasks = tasks.flat_map(|node| self.frame.tasks(*node, self.doing));
            tasks.map(|task| self.work.at(task)).collect()
        };
        match fault {
            Fault::LongerThanTakt { task, ticks, takt } => {
                let (time, most) = (seconds(*ticks), seconds(*takt));
                Stuck {
                    why: format!(
                        "{} takes {time} s, {:.1} s more than a station may take ({most} s); \
                         divide it, let two stations in parallel do every other car, or give a \
                         takt of {:.1} s",
                        name(*task),
                        time - most,
                        time / most * self.work.takt_s
                    ),
                    rows: rows(&[*task]),
                }
            }
            Fault::TogetherTooLong { tasks, ticks, takt } => Stuck {
                why: self.beside_robot(tasks, &name).unwrap_or_else(|| {
                    let names: Vec<String> = tasks.iter().map(|task| name(*task)).collect();
                    format!(
                        "{} must share a station and take {:.1} s together, where its people \
                         have {:.1} s; let one of them go elsewhere",
                        names.join(", "),
                        seconds(*ticks),
                        seconds(*takt)
                    )
                }),
                rows: distinct(rows(tasks)),
            },
            other => Stuck {
                why: other.told(&name),
                rows: rows(&concerned(other)),
            },
        }
    }
}

impl Placing<'_> {
    /// Tasks that must share the station of a robot, which has it to itself, in
    /// words; none where no robot is among them.
    fn beside_robot(&self, nodes: &[usize], name: &dyn Fn(usize) -> String) -> Option<String> {
        let robot = nodes
            .iter()
            .find_map(|node| match self.frame.nodes[*node] {
                Node::Cell { cell, .. } => Some(&self.cells[cell].robot),
                Node::Task(_) => None,
            })?;
        let is_task = |node: &&usize| matches!(self.frame.nodes[**node], Node::Task(_));
        let tasks = nodes.iter().filter(is_task).map(|node| name(*node));
        Some(format!(
            "{} must share the station of {robot}, which has its station to itself; let the \
             robot do it too, or take it out of `same_station`",
            tasks.collect::<Vec<_>>().join(", ")
        ))
    }
}

/// Each row once, in their order.
fn distinct(mut rows: Vec<At>) -> Vec<At> {
    rows.sort_by_key(|at| at.row);
    rows.dedup();
    rows
}

/// The tasks that a fault speaks of.
fn concerned(fault: &Fault) -> Vec<usize> {
    match fault {
        Fault::Circle { tasks } => tasks.clone(),
        Fault::TogetherAndApart { one, other } | Fault::FixedApart { one, other } => {
            vec![*one, *other]
        }
        Fault::FixedTwice { task, .. }
        | Fault::NoRoom { task, .. }
        | Fault::NoSide { task }
        | Fault::NoMode { task }
        | Fault::TooLong { task } => vec![*task],
        Fault::Clash { rules, .. } => {
            let mut tasks: Vec<usize> = rules.iter().flat_map(PlaceRule::tasks).collect();
            tasks.sort_unstable();
            tasks.dedup();
            tasks
        }
        _ => Vec::new(),
    }
}
