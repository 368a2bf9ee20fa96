//! How fine distances from the level line are counted, so that their squares
//! add up within 64 bits.
//!
//! With `cars` cars the line passes whole multiples of 1 / cars of a part, so
//! that counting in these is exact. Where that many squares may not fit, the
//! line is rounded to a coarser part of one: at the coarsest 1 / 64.

use crate::model::{Force, Level, Problem};

/// Parts of one that the line is rounded to at the coarsest.
const COARSEST: i64 = 64;

/// What all costs together may reach.
const MOST: i128 = i64::MAX as i128 / 4;

/// Parts of one part in which distances from the level line are counted, so that
/// a cost counts their squares in the square of these: as many as there are
/// cars, or the largest power of two that fits. None where none does.
pub fn level_unit(problem: &Problem) -> Option<i64> {
    let exact = (problem.cars() as i64).max(1);
    if most_cost(problem, exact) <= MOST {
        return Some(exact);
    }
    let mut unit = COARSEST;
    if problem.level.weight == 0 || unit >= exact || most_cost(problem, unit) > MOST {
        return None;
    }
    while 2 * unit < exact && most_cost(problem, 2 * unit) <= MOST {
        unit *= 2;
    }
    Some(unit)
}

/// The largest weight of level use that fits; none where it is not that weight
/// that stands against it.
pub(crate) fn largest_weight(problem: &Problem) -> Option<u32> {
    let mut lighter = problem.clone();
    let fits = |lighter: &mut Problem, weight: u32| {
        lighter.level.weight = weight;
        level_unit(lighter).is_some()
    };
    let (mut least, mut over) = (0, problem.level.weight);
    while over - least > 1 {
        let middle = least + (over - least) / 2;
        if fits(&mut lighter, middle) {
            least = middle;
        } else {
            over = middle;
        }
    }
    (least > 0).then_some(least)
}

/// More than any order costs, all goals in one sum.
fn most_cost(problem: &Problem, unit: i64) -> i128 {
    let cars = problem.cars() as i128;
    let unit = i128::from(unit);
    let level = &problem.level;
    let mut all = most_level(problem, level, unit).saturating_mul(level.weight.into());
    let square = if level.weight > 0 { unit * unit } else { 1 };
    let weight = |force: Force| match force {
        Force::Hard => 1,
        Force::Soft(weight) => i128::from(weight),
    };
    for rule in &problem.rules {
        let reach = i128::from(rule.in_every);
        all += weight(rule.force) * square * (cars + reach) * reach;
    }
    for promise in &problem.promises {
        // How late cars come counts less than twice the places of the order.
        let late = weight(promise.force) + 2 * cars;
        all += late * square * i128::from(promise.count);
    }
    all + i128::from(problem.colours.change_weight) * square * cars
}

/// More than the squares of all distances add up to.
fn most_level(problem: &Problem, level: &Level, unit: i128) -> i128 {
    let cars = problem.cars() as i128;
    let mut sum: i128 = 0;
    for part in &level.parts {
        let uses = part.per_car.iter().zip(&problem.classes);
        let total: i128 = uses
            .map(|(each, class)| i128::from(*each) * i128::from(class.count))
            .sum();
        let most = i128::from(part.per_car.iter().copied().max().unwrap_or(0)).max(1);
        // The farthest from the line: all of the use first, or half of it.
        let far = (cars * total - total * total / most).max(cars * total / 4) + cars;
        let far = far / cars.max(1) * unit + unit;
        sum += far.saturating_mul(far).saturating_mul(cars) / 2;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluate::{self, evaluate};
    use crate::model::{Class, Part};
    use crate::moves::{Move, Picker};
    use crate::row::Row;
    use crate::start;
    use crate::stream::Stream;

    /// Cars of eight classes with twelve options that are used evenly.
    fn levelled(cars: u32, weight: u32) -> Problem {
        let class = |at: u32| Class {
            name: at.to_string(),
            count: cars / 8,
            options: (0..12)
                .map(|option| (at * 5 + option * 3) % 7 < 3)
                .collect(),
            colour: None,
        };
        let classes: Vec<Class> = (0..8).map(class).collect();
        let part = |option: usize| Part {
            name: option.to_string(),
            per_car: classes
                .iter()
                .map(|class| u32::from(class.options[option]))
                .collect(),
        };
        Problem {
            options: (0..12).map(|option| option.to_string()).collect(),
            level: Level {
                weight,
                parts: (0..12).map(part).collect(),
            },
            classes,
            ..Problem::empty()
        }
    }

    #[test]
    fn weeks_that_fit_are_counted_exactly_and_larger_ones_nearly_so() {
        assert_eq!(level_unit(&levelled(800, 1)), Some(800));
        for cars in [8_000, 20_000] {
            let problem = levelled(cars, 1);
            let unit = level_unit(&problem).unwrap();
            assert!((256..i64::from(cars)).contains(&unit), "{unit}");
            let checked = problem.check().unwrap();
            let order: Vec<usize> = (0..cars as usize).map(|at| at % 8).collect();
            let tally = evaluate(&checked, &order).unwrap();
            let counted = tally.cost.0[1] as f64 / (unit * unit) as f64;
            // Rounded by half a part of one at every place and part.
            let off = f64::from(cars) * 12.0 / unit as f64;
            assert!(
                (counted - tally.level).abs() < off,
                "{counted} {}",
                tally.level
            );
        }
    }

    #[test]
    fn a_weight_that_no_unit_fits_is_answered_with_one_that_does() {
        let problem = levelled(20_000, 1_000_000);
        assert_eq!(level_unit(&problem), None);
        let weight = largest_weight(&problem).unwrap();
        assert!(problem.check().is_err());
        assert!(levelled(20_000, weight).check().is_ok());
        assert!(levelled(20_000, weight + 1).check().is_err());
    }

    #[test]
    fn changes_cost_the_same_counted_anew_where_the_line_is_rounded() {
        let checked = levelled(304, 50_000_000).check().unwrap();
        let plan = &checked.plan;
        assert_eq!(plan.level_unit, 64);
        let mut stream = Stream::keyed(1, 0);
        let mut row = Row::new(plan, start::greedy(plan, &mut stream));
        let mut picker = Picker::new(plan);
        let any = crate::cost::Cost([i64::MAX / 8; 5]);
        for _ in 0..400 {
            match picker.pick(&row, &mut stream) {
                Move::None => {}
                Move::Swap(i, j) => {
                    let change = row.swap_change(i, j, &any).unwrap();
                    row.swap(i, j, &change);
                }
                Move::Cut(cut) => {
                    let change = row.cut_change(&cut, &any).unwrap();
                    row.cut(&cut, &change);
                }
            }
            assert_eq!(evaluate::cost(plan, &row.cars), row.cost);
        }
        let bound = crate::bound::bound(&checked).cost;
        assert!(bound <= row.cost);
    }
}
