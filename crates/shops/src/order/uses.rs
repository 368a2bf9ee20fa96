//! What an order uses: colours in blocks, options and products against their
//! level lines, runs that break a rule.

use book::Book;

use super::ask::concerns;
use super::model::{Block, LevelPoint, LevelUse};
use super::rules::Spacing;
use super::week::Car;

/// First places of the runs of cars that break a rule.
pub(super) fn broken_at(book: &Book, rule: &Spacing, row: &[&Car]) -> Vec<u32> {
    let has: Vec<bool> = row.iter().map(|car| concerns(book, rule, car)).collect();
    let runs = has.windows((rule.in_every as usize).max(1)).zip(1..);
    let over = |run: &[bool]| run.iter().filter(|has| **has).count() > rule.at_most as usize;
    runs.filter(|(run, _)| over(run))
        .map(|(_, place)| place)
        .collect()
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
pub(super) fn changes_cost(book: &Book, blocks: &[Block]) -> (f64, f64) {
    let mut cost = (0.0, 0.0);
    for before in blocks.iter().take(blocks.len().saturating_sub(1)) {
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
