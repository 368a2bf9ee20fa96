//! What an order uses: colours in blocks, options and products against their
//! level lines, runs that break a rule.

use book::Book;

use sequence::level::{CheckedDemand, Demand, goal_chasing};

use super::ask::{Asked, concerns};
use super::model::{Block, LevelPoint, LevelUse, Levelling};
use super::rules::Spacing;
use super::week::Car;

/// First places of the runs of cars that break a rule, and how many more begin
/// among the cars before.
pub(super) fn broken_at(
    book: &Book,
    rule: &Spacing,
    before: &[Car],
    row: &[&Car],
) -> (Vec<u32>, u32) {
    let reach = (rule.in_every as usize).max(1);
    // Runs that lie wholly among the cars before are not this week's.
    let before = &before[before.len().saturating_sub(reach - 1)..];
    let all = before.iter().chain(row.iter().copied());
    let has: Vec<bool> = all.map(|car| concerns(book, rule, car)).collect();
    let over = |run: &[bool]| run.iter().filter(|has| **has).count() > rule.at_most as usize;
    let runs = has.windows(reach).zip(0_usize..);
    let broken: Vec<usize> = runs
        .filter(|(run, _)| over(run))
        .map(|(_, start)| start)
        .collect();
    let early = broken.partition_point(|start| *start < before.len());
    let place = |start: &usize| (start - before.len()) as u32 + 1;
    (broken[early..].iter().map(place).collect(), early as u32)
}

/// Cars at the end of those before that have the colour of the first car.
pub(super) fn same_before(before: &[Car], row: &[&Car]) -> u32 {
    let Some(first) = row.first() else { return 0 };
    let same = before.iter().rev();
    same.take_while(|car| car.colour == first.colour).count() as u32
}

/// Cars of one colour in a row.
pub(super) fn blocks(book: &Book, row: &[&Car]) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    for (car, place) in row.iter().zip(1..) {
        let colour = car
            .colour
            .map_or("none", |at| book.colours[at].colour.as_str());
        match blocks.last_mut() {
            Some(last) if last.colour == colour => last.cars += 1,
            _ => blocks.push(Block {
                colour: colour.to_owned(),
                place,
                cars: 1,
            }),
        }
    }
    blocks
}

/// Seconds and litres that the changes between blocks cost.
pub(super) fn changes_cost(book: &Book, last: Option<&Car>, blocks: &[Block]) -> (f64, f64) {
    let mut cost = (0.0, 0.0);
    let name = |car: &Car| Some(book.colours[car.colour?].colour.clone());
    let last = last.and_then(name).map(|colour| Block {
        colour,
        place: 0,
        cars: 0,
    });
    let opens = |last: &&Block| blocks.first().is_some_and(|one| one.colour != last.colour);
    let last = last.as_ref().filter(opens);
    let inner = blocks.iter().take(blocks.len().saturating_sub(1));
    for before in last.into_iter().chain(inner) {
        // The row of a colour says what is lost when the next car has another.
        if let Some(row) = book.colours.iter().find(|row| row.colour == before.colour) {
            cost.0 += row.change_s.0;
            cost.1 += row.purge_l;
        }
    }
    cost
}

/// Points of a line of use that are told.
const POINTS: usize = 100;

/// Products and options against their level lines.
pub(super) fn level(book: &Book, names: &[String], row: &[&Car]) -> Vec<LevelUse> {
    let products = (0..book.products.len()).map(|at| {
        let has: Vec<bool> = row.iter().map(|car| car.product == at).collect();
        one(&book.products[at].product, &has)
    });
    let options = names.iter().map(|name| {
        let has: Vec<bool> = row.iter().map(|car| car.options.contains(name)).collect();
        one(name, &has)
    });
    products.chain(options).collect()
}

/// Level use of an order of classes beside that of goal chasing, which minds
/// nothing else; none where nothing is used evenly.
pub(super) fn levelling(asked: &Asked, order: &[usize]) -> Option<Levelling> {
    let (demand, kind_of) = demand(asked)?;
    Some(Levelling {
        order: sum_of(&demand, &kind_of, order)?,
        goal_chasing: goal_chasing(&demand).sum,
    })
}

/// The same of another order of the same cars.
pub(super) fn levelled_anew(was: Levelling, asked: &Asked, order: &[usize]) -> Levelling {
    let sum = demand(asked).and_then(|(demand, kind_of)| sum_of(&demand, &kind_of, order));
    Levelling {
        order: sum.unwrap_or(was.order),
        ..was
    }
}

fn sum_of(demand: &CheckedDemand, kind_of: &[usize], order: &[usize]) -> Option<f64> {
    let order: Vec<usize> = order.iter().map(|class| kind_of[*class]).collect();
    demand.sum_of(&order).ok()
}

/// Cars by what they use of products and options, and the kind of each class.
fn demand(asked: &Asked) -> Option<(CheckedDemand, Vec<usize>)> {
    let parts = &asked.problem.level.parts;
    let mut kinds: Vec<Vec<u32>> = Vec::new();
    let mut kind_of = Vec::with_capacity(asked.problem.classes.len());
    for class in 0..asked.problem.classes.len() {
        let uses: Vec<u32> = parts.iter().map(|part| part.per_car[class]).collect();
        let known = kinds.iter().position(|kind| *kind == uses);
        kind_of.push(known.unwrap_or(kinds.len()));
        if known.is_none() {
            kinds.push(uses);
        }
    }
    let mut cars = vec![0; kinds.len()];
    for (class, kind) in asked.problem.classes.iter().zip(&kind_of) {
        cars[*kind] += class.count;
    }
    let demand = Demand {
        cars,
        uses: kinds,
        first: Vec::new(),
    };
    let demand = demand.check().ok().filter(|_| !parts.is_empty())?;
    Some((demand, kind_of))
}

fn one(name: &str, has: &[bool]) -> LevelUse {
    let cars = has.iter().filter(|has| **has).count() as u32;
    let per_place = f64::from(cars) / (has.len().max(1)) as f64;
    let step = has.len().div_ceil(POINTS).max(1);
    let mut told = LevelUse {
        name: name.to_owned(),
        cars,
        worst: 0.0,
        worst_place: 0,
        spread: 0.0,
        points: Vec::new(),
    };
    let (mut used, mut squares, mut farthest) = (0_u32, 0.0, None);
    for (has, place) in has.iter().zip(1_u32..) {
        used += u32::from(*has);
        let line = per_place * f64::from(place);
        let off = f64::from(used) - line;
        squares += off * off;
        if off.abs() > told.worst.abs() {
            (told.worst, told.worst_place) = (off, place);
        }
        let point = LevelPoint { place, used, line };
        if (place as usize).is_multiple_of(step) {
            told.points.push(point.clone());
        }
        if told.worst_place == place {
            farthest = Some(point);
        }
    }
    // The farthest is told wherever it lies between two others.
    if let Some(point) = farthest.filter(|at| !(at.place as usize).is_multiple_of(step)) {
        told.points.push(point);
        told.points.sort_by_key(|at| at.place);
    }
    told.spread = (squares / (has.len().max(1)) as f64).sqrt();
    told
}
