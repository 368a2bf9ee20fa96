//! A choice of who does what, as a line that can be balanced.

use std::collections::BTreeMap;

use super::Staffed;
use crate::cost::Shop;
use crate::cost::load::equipped;
use crate::cost::model::Equipped;
use crate::line::{Line, Model, Rules, Side};

/// Who does each task: a mode, and for a kind of its own which of them.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Choice {
    pub(super) modes: Vec<usize>,
    pub(super) alone: Vec<Option<usize>>,
}

impl Choice {
    /// The tasks of each kind of its own, those without work left out.
    pub(super) fn cells(&self) -> BTreeMap<usize, Vec<usize>> {
        let mut cells: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (task, cell) in self.alone.iter().enumerate() {
            if let Some(cell) = cell {
                cells.entry(*cell).or_default().push(task);
            }
        }
        cells
    }

    /// The same with its kinds of their own numbered by their first tasks.
    pub(super) fn numbered(mut self) -> Self {
        let mut firsts: Vec<usize> = Vec::new();
        for cell in self.alone.iter_mut().flatten() {
            let known = firsts.iter().position(|other| other == cell);
            *cell = known.unwrap_or_else(|| {
                firsts.push(*cell);
                firsts.len() - 1
            });
        }
        self
    }
}

/// What one of the balanced line's tasks stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Node {
    Task(usize),
    /// A post of a station that a kind has to itself.
    Alone {
        cell: usize,
        first: bool,
    },
}

/// A line with what its tasks stand for, and the work of kinds of their own.
pub(super) struct Frame {
    pub(super) line: Line,
    pub(super) nodes: Vec<Node>,
    pub(super) cells: Vec<(Vec<usize>, Equipped)>,
}

impl Frame {
    /// None where a kind of its own has too much for takt, or a rule of place
    /// parts or joins what it does.
    pub(super) fn of(staffed: &Staffed, shop: &Shop, takt: u32, choice: &Choice) -> Option<Self> {
        let cells = equipped_cells(staffed, shop, takt, choice)?;
        let cell_of = |task: usize| cells.iter().position(|(tasks, _)| tasks.contains(&task));
        let (nodes, sides) = laid_out(staffed, &cells, &cell_of);
        let node_of = |task: usize| {
            let cell = cell_of(task);
            nodes.iter().position(|node| match node {
                Node::Task(own) => *own == task,
                Node::Alone { cell: own, first } => *first && Some(*own) == cell,
            })
        };
        let places: Vec<usize> = (0..staffed.modes.len())
            .map(node_of)
            .collect::<Option<_>>()?;
        let rules = rules(&staffed.line.rules, &nodes, &places, &cell_of)?;
        let ticks = |node: &Node, has: &dyn Fn(usize) -> bool| match node {
            Node::Task(task) if has(*task) => staffed.modes[*task][choice.modes[*task]].ticks,
            Node::Task(_) => 0,
            Node::Alone { .. } => takt,
        };
        let models = staffed.line.models.iter().map(|model| Model {
            share: model.share,
            ticks: nodes
                .iter()
                .map(|node| ticks(node, &|task| model.ticks[task] > 0))
                .collect(),
        });
        let line = Line {
            work: crate::work::Work {
                ticks: nodes.iter().map(|node| ticks(node, &|_| true)).collect(),
                after: befores(staffed, &cells, &nodes, &places),
            },
            sides: if staffed.line.sides.is_empty() {
                Vec::new()
            } else {
                sides
            },
            people: staffed.line.people,
            models: models.collect(),
            overload_per_mille: staffed.line.overload_per_mille,
            rules,
        };
        Some(Self { line, nodes, cells })
    }
}

/// The work of each kind of its own; none where one has too much for takt.
fn equipped_cells(
    staffed: &Staffed,
    shop: &Shop,
    takt: u32,
    choice: &Choice,
) -> Option<Vec<(Vec<usize>, Equipped)>> {
    let mut cells = Vec::new();
    for tasks in choice.cells().into_values() {
        let work: Vec<(usize, usize)> = tasks
            .iter()
            .map(|task| (*task, choice.modes[*task]))
            .collect();
        let kind = staffed.modes[work[0].0][work[0].1].kind;
        let made = equipped(shop, kind, &work);
        if made.ticks > u64::from(takt) || made.work.len() != tasks.len() {
            return None;
        }
        cells.push((tasks, made));
    }
    Some(cells)
}

/// The line's tasks, a kind of its own as one for each post of its station, and
/// their sides.
fn laid_out(
    staffed: &Staffed,
    cells: &[(Vec<usize>, Equipped)],
    cell_of: &dyn Fn(usize) -> Option<usize>,
) -> (Vec<Node>, Vec<Side>) {
    let posts = staffed.line.posts();
    let (mut nodes, mut sides) = (Vec::new(), Vec::new());
    for task in 0..staffed.modes.len() {
        match cell_of(task) {
            None => {
                nodes.push(Node::Task(task));
                sides.push(staffed.line.side(task));
            }
            Some(cell) if cells[cell].0[0] == task => {
                for (at, side) in posts.iter().enumerate() {
                    nodes.push(Node::Alone {
                        cell,
                        first: at == 0,
                    });
                    sides.push(*side);
                }
            }
            Some(_) => {}
        }
    }
    (nodes, sides)
}

/// What comes before each node.
fn befores(
    staffed: &Staffed,
    cells: &[(Vec<usize>, Equipped)],
    nodes: &[Node],
    places: &[usize],
) -> Vec<Vec<usize>> {
    let of_node = |node: &Node| {
        let tasks: &[usize] = match node {
            Node::Task(task) => &[*task],
            Node::Alone { cell, first: true } => &cells[*cell].0,
            Node::Alone { first: false, .. } => &[],
        };
        let mut befores: Vec<usize> = tasks
            .iter()
            .flat_map(|task| &staffed.line.work.after[*task])
            .map(|before| places[*before])
            .filter(|before| nodes[*before] != *node)
            .collect();
        befores.sort_unstable();
        befores.dedup();
        befores
    };
    nodes.iter().map(of_node).collect()
}

/// The rules by node; none where a kind's own work breaks one.
fn rules(
    given: &Rules,
    nodes: &[Node],
    places: &[usize],
    cell_of: &dyn Fn(usize) -> Option<usize>,
) -> Option<Rules> {
    let same_cell =
        |one: usize, other: usize| cell_of(one).is_some() && cell_of(one) == cell_of(other);
    let mut rules = Rules::default();
    for (one, other) in &given.together {
        let alone = |task: usize| cell_of(task).is_some();
        if !same_cell(*one, *other) && (alone(*one) || alone(*other)) {
            return None;
        }
        if !same_cell(*one, *other) {
            rules.together.push((places[*one], places[*other]));
        }
    }
    for (one, other) in &given.apart {
        if same_cell(*one, *other) {
            return None;
        }
        rules.apart.push((places[*one], places[*other]));
    }
    for (one, other, far) in &given.distance {
        if same_cell(*one, *other) && *far > 0 {
            return None;
        }
        if places[*one] != places[*other] {
            rules.distance.push((places[*one], places[*other], *far));
        }
    }
    rules.fixed = given
        .fixed
        .iter()
        .map(|(task, at)| (places[*task], *at))
        .collect();
    rules.fixed.sort_unstable();
    rules.fixed.dedup();
    let mut first = 0;
    for (at, node) in nodes.iter().enumerate() {
        match node {
            Node::Alone { first: true, .. } => first = at,
            Node::Alone { first: false, .. } => rules.together.push((first, at)),
            Node::Task(_) => {}
        }
    }
    Some(rules)
}
