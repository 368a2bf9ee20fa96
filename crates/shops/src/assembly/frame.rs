//! A line as the solver wants it: hand tasks, robots' stations, cars of the mix.

use balance::line::{Line, Model, Rules, Side as Stand};
use book::{Book, Side};

use super::mix;
use super::work::{Doing, Work, ticks};

/// What one of the solver's tasks stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Node {
    /// A task by hand.
    Task(usize),
    /// A post of a robot's station; the robot has the whole station.
    Cell {
        cell: usize,
        /// Whether it is the post that shows the robot's work.
        first: bool,
    },
}

/// The line and what its parts stand for.
#[derive(Clone)]
pub(super) struct Frame {
    pub(super) line: Line,
    pub(super) nodes: Vec<Node>,
    pub(super) two_sided: bool,
    pub(super) cycle: u32,
    /// Sum of the models' shares: the mean is kept times it.
    pub(super) shares: u64,
}

/// Parts of all cars in which shares are counted.
const PARTS: f64 = 100_000.0;

impl Frame {
    /// `places` are the stations of today, for tasks that must stay.
    pub(super) fn of(book: &Book, work: &Work<'_>, doing: &[Doing], places: &[String]) -> Self {
        let two_sided = work.tasks.iter().any(|task| task.side != Side::Either);
        let per_side = book.plant.people_per_side.value.max(1);
        let nodes = nodes(doing, if two_sided { 2 * per_side } else { per_side });
        let cycle = ticks(work.cycle_s);
        let of_task = |task: usize| {
            let same = |node: &Node| match node {
                Node::Task(own) => *own == task,
                Node::Cell { cell, first } => *first && doing[task].cell() == Some(*cell),
            };
            nodes.iter().position(same)
        };
        let (models, shares) = models(book, work, doing, &nodes, cycle);
        let after = nodes.iter().map(|node| {
            let tasks: Vec<usize> = match node {
                Node::Task(task) => vec![*task],
                Node::Cell { cell, .. } => members(doing, *cell).collect(),
            };
            let befores = tasks.iter().flat_map(|task| &work.after[*task]);
            let own = |before: &&usize| match node {
                Node::Cell { cell, .. } => doing[**before].cell() != Some(*cell),
                Node::Task(_) => true,
            };
            let mut befores: Vec<usize> = befores
                .filter(own)
                .filter_map(|before| of_task(*before))
                .collect();
            befores.sort_unstable();
            befores.dedup();
            befores
        });
        let line = Line {
            work: balance::Work {
                ticks: nodes
                    .iter()
                    .map(|node| longest(node, doing, cycle))
                    .collect(),
                after: after.collect(),
            },
            sides: if two_sided {
                sides(work, &nodes)
            } else {
                Vec::new()
            },
            people: per_side,
            models,
            overload_per_mille: (book.plant.overload_share.value.0 * 1_000.0).round() as u32,
            rules: rules(work, &nodes, places, &of_task),
        };
        Self {
            line,
            nodes,
            two_sided,
            cycle,
            shares,
        }
    }

    /// The tasks of the book that a node stands for.
    pub(super) fn tasks(&self, node: usize, doing: &[Doing]) -> Vec<usize> {
        match self.nodes[node] {
            Node::Task(task) => vec![task],
            Node::Cell { cell, .. } => members(doing, cell).collect(),
        }
    }
}

fn members(doing: &[Doing], cell: usize) -> impl Iterator<Item = usize> + '_ {
    (0..doing.len()).filter(move |task| doing[*task].cell() == Some(cell))
}

/// A robot stands in the way of everybody else at its station, so it fills all
/// posts of it.
fn nodes(doing: &[Doing], posts: u32) -> Vec<Node> {
    let mut nodes = Vec::new();
    let mut seen = Vec::new();
    for (task, who) in doing.iter().enumerate() {
        match who {
            Doing::Person(_) => nodes.push(Node::Task(task)),
            Doing::Robot(_, cell) if !seen.contains(cell) => {
                seen.push(*cell);
                let cell = *cell;
                nodes.extend((0..posts).map(|post| Node::Cell {
                    cell,
                    first: post == 0,
                }));
            }
            Doing::Robot(..) | Doing::Nobody => {}
        }
    }
    nodes
}

fn longest(node: &Node, doing: &[Doing], cycle: u32) -> u32 {
    match node {
        Node::Task(task) => doing[*task].way().map_or(0, |way| ticks(way.seconds)),
        Node::Cell { .. } => cycle,
    }
}

/// The cars of the mix, alike ones joined, and the sum of their shares.
fn models(
    book: &Book,
    work: &Work<'_>,
    doing: &[Doing],
    nodes: &[Node],
    cycle: u32,
) -> (Vec<Model>, u64) {
    let mut models: Vec<Model> = Vec::new();
    for car in mix::cars(book, &work.tasks) {
        let of = |node: &Node| match node {
            Node::Task(task) if !mix::has(book, &car, work.tasks[*task]) => 0,
            _ => longest(node, doing, cycle),
        };
        let times: Vec<u32> = nodes.iter().map(of).collect();
        let share = (car.share * PARTS).round().max(1.0) as u32;
        match models.iter_mut().find(|model| model.ticks == times) {
            Some(model) => model.share += share,
            None => models.push(Model {
                share,
                ticks: times,
            }),
        }
    }
    if models.len() == 1 {
        // All cars are alike.
        let same = models[0].ticks
            == nodes
                .iter()
                .map(|n| longest(n, doing, cycle))
                .collect::<Vec<_>>();
        if same {
            return (Vec::new(), 1);
        }
    }
    let shares = models.iter().map(|model| u64::from(model.share)).sum();
    (models, shares)
}

fn sides(work: &Work<'_>, nodes: &[Node]) -> Vec<Stand> {
    let mut turn = false;
    let stands = nodes.iter().map(|node| match node {
        Node::Task(task) => match work.tasks[*task].side {
            Side::Left => Stand::Left,
            Side::Right => Stand::Right,
            Side::Either => Stand::Either,
        },
        Node::Cell { .. } => {
            // The posts of a robot's station are left and right by turns.
            turn = !turn;
            if turn { Stand::Left } else { Stand::Right }
        }
    });
    stands.collect()
}

fn rules(
    work: &Work<'_>,
    nodes: &[Node],
    places: &[String],
    of_task: &dyn Fn(usize) -> Option<usize>,
) -> Rules {
    let mut rules = Rules::default();
    let mut pair = |one: usize, names: &[String], together: bool| {
        for other in Work::named(&work.tasks, names) {
            let Some((one, other)) = of_task(one).zip(of_task(other)).filter(|(a, b)| a != b)
            else {
                continue;
            };
            if together {
                rules.together.push((one, other));
            } else {
                rules.apart.push((one, other));
            }
        }
    };
    for (at, task) in work.tasks.iter().enumerate() {
        pair(at, &task.same_station, true);
        pair(at, &task.other_station, false);
    }
    for (at, task) in work.tasks.iter().enumerate() {
        let place = task.station.as_ref().filter(|_| task.fixed);
        let place = place.and_then(|name| places.iter().position(|place| place == name));
        rules.fixed.extend(of_task(at).zip(place));
    }
    let mut last: Option<(usize, usize)> = None;
    for (at, node) in nodes.iter().enumerate() {
        if let Node::Cell { cell, .. } = node {
            if let Some((_, before)) = last.filter(|(same, _)| same == cell) {
                rules.together.push((before, at));
            }
            last = Some((*cell, at));
        }
    }
    rules
}
