//! An order that somebody changes by hand, and what each change does to it.

use crate::Fault;
use crate::cost::{Cost, TIERS};
use crate::evaluate::{Tally, evaluate, tally};
use crate::model::Checked;
use crate::pieces::{Cut, Piece};
use crate::row::Row;
use crate::told::some;

/// Cars taken out of an order and put in elsewhere. Places count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// The first of them.
    pub from: usize,
    /// How many in a row.
    pub cars: usize,
    /// Where the first of them stands afterwards.
    pub to: usize,
}

/// An order under somebody's hand. A step is judged by what it touches, as in
/// the search, so that all places for a car are judged in some milliseconds.
pub struct Arranged<'a> {
    checked: &'a Checked,
    row: Row<'a>,
}

/// More than any change costs.
const ANY: Cost = Cost([i64::MAX / 8; TIERS]);

impl<'a> Arranged<'a> {
    /// An order of the problem's cars, frozen ones first.
    ///
    /// # Errors
    ///
    /// What makes it no order of these cars.
    ///
    /// ```
    /// use sequence::model::{Class, Force, Problem, Rule};
    /// use sequence::{Arranged, Step};
    ///
    /// let class = |name: &str, count, sunroof| Class {
    ///     name: name.into(), count, options: vec![sunroof], colour: None,
    /// };
    /// let problem = Problem {
    ///     classes: vec![class("plain", 2, false), class("sunroof", 2, true)],
    ///     options: vec!["sunroof".into()],
    ///     rules: vec![Rule { option: 0, at_most: 1, in_every: 2, force: Force::Soft(1) }],
    ///     ..Problem::empty()
    /// };
    /// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
    /// let mut order = Arranged::new(&checked, &[1, 1, 0, 0])?;
    /// assert_eq!(order.cost().0[1], 1, "two sunroofs in a row");
    /// let change = order.take(Step { from: 0, cars: 1, to: 2 })?;
    /// assert_eq!(change.0[1], -1);
    /// assert_eq!(order.order(), [1, 0, 1, 0]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(checked: &'a Checked, order: &[usize]) -> Result<Self, Fault> {
        evaluate(checked, order)?;
        let previous = checked.problem.previous.iter();
        let cars = previous.chain(order).map(|class| *class as u16).collect();
        Ok(Self {
            checked,
            row: Row::new(&checked.plan, cars),
        })
    }

    /// Classes, place by place.
    pub fn order(&self) -> Vec<usize> {
        let cars = self.row.cars[self.checked.plan.first..].iter();
        cars.map(|class| usize::from(*class)).collect()
    }

    /// What the order costs.
    pub const fn cost(&self) -> Cost {
        self.row.cost
    }

    /// What the order breaks and costs, counted anew.
    pub fn tally(&self) -> Tally {
        tally(self.checked, &self.checked.plan, &self.row.cars)
    }

    /// Moves cars; gives what that adds to the cost.
    ///
    /// # Errors
    ///
    /// Cars or places that are not there, or a frozen car in the way.
    pub fn take(&mut self, step: Step) -> Result<Cost, Fault> {
        let Some(cut) = self.cut(step)? else {
            return Ok(Cost::ZERO);
        };
        let change = self.row.cut_change(&cut, &ANY).unwrap_or(Cost::ZERO);
        self.row.cut(&cut, &change);
        Ok(change)
    }

    /// What moving so many cars to each place would add to the cost; none for
    /// places that they cannot have. The order stays as it is.
    ///
    /// # Errors
    ///
    /// Cars that are not there, or frozen ones.
    pub fn everywhere(&mut self, from: usize, cars: usize) -> Result<Vec<Option<Cost>>, Fault> {
        self.cut(Step {
            from,
            cars,
            to: from,
        })?;
        let mut costs = Vec::with_capacity(self.len());
        for to in 0..self.len() {
            let cost = match self.cut(Step { from, cars, to }) {
                Ok(Some(cut)) => self.row.cut_change(&cut, &ANY),
                Ok(None) => Some(Cost::ZERO),
                Err(_) => None,
            };
            costs.push(cost);
        }
        Ok(costs)
    }

    const fn len(&self) -> usize {
        self.checked.plan.len - self.checked.plan.first
    }

    /// The step as a cut of the row; none where everything stays.
    fn cut(&self, step: Step) -> Result<Option<Cut>, Fault> {
        let len = self.len();
        let frozen = self.checked.plan.free - self.checked.plan.first;
        let Step { from, cars, to } = step;
        if cars == 0 || from >= len || cars > len - from {
            return Err(Fault::new(
                "move",
                format!(
                    "{} from place {}",
                    some(cars, "car"),
                    from.saturating_add(1)
                ),
                format!("at least one car, within {}", some(len, "place")),
                "choose cars of the order",
            ));
        }
        if to > len - cars {
            return Err(Fault::new(
                "move",
                format!("place {} for {}", to.saturating_add(1), some(cars, "car")),
                format!("a place up to {}", len - cars + 1),
                "put them farther ahead",
            ));
        }
        if from < frozen || to < frozen {
            return Err(Fault::new(
                "move",
                format!("place {}, which is frozen", from.min(to) + 1),
                format!("places behind {}", some(frozen, "frozen car")),
                "leave the frozen cars where they are, or take their places out of the book",
            ));
        }
        if from == to {
            return Ok(None);
        }
        let first = self.checked.plan.first;
        let moved = Piece::plain(first + from, first + from + cars);
        Ok(Some(if to > from {
            Cut::new(&[Piece::plain(moved.end, first + to + cars), moved])
        } else {
            Cut::new(&[moved, Piece::plain(first + to, moved.from)])
        }))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::tests::changes::problems;

    /// Steps by fractions of what there is.
    fn steps() -> impl Strategy<Value = Vec<(f64, f64, f64)>> {
        prop::collection::vec((0.0..1.0, 0.0..1.0, 0.0..1.0), 1..12)
    }

    fn some_order(checked: &Checked) -> Vec<usize> {
        let problem = checked.problem();
        let mut left: Vec<u32> = problem.classes.iter().map(|class| class.count).collect();
        problem.frozen.iter().for_each(|class| left[*class] -= 1);
        let rest = left.iter().enumerate();
        let rest = rest.flat_map(|(class, cars)| std::iter::repeat_n(class, *cars as usize));
        problem.frozen.iter().copied().chain(rest).collect()
    }

    proptest! {
        #[test]
        fn what_a_hand_changes_costs_what_counting_anew_says(
            problem in problems(), steps in steps()
        ) {
            let Ok(checked) = problem.check() else { return Ok(()) };
            let order = some_order(&checked);
            let frozen = problem.frozen.len();
            if order.len() < frozen + 2 {
                return Ok(());
            }
            let mut hand = Arranged::new(&checked, &order).unwrap();
            let mut plain = order.clone();
            for (from, cars, to) in steps {
                let free = (order.len() - frozen) as f64;
                let from = frozen + (from * free) as usize;
                let cars = 1 + (cars * (order.len() - from) as f64) as usize;
                let cars = cars.min(order.len() - from);
                let to = frozen + (to * (order.len() - cars - frozen + 1) as f64) as usize;
                let before = hand.cost();
                let everywhere = hand.everywhere(from, cars).unwrap();
                prop_assert_eq!(hand.cost(), before, "looking changes nothing");
                let change = hand.take(Step { from, cars, to }).unwrap();
                prop_assert_eq!(everywhere[to], Some(change));
                let moved: Vec<usize> = plain.drain(from..from + cars).collect();
                plain.splice(to..to, moved);
                prop_assert_eq!(hand.order(), plain.clone());
                let counted = evaluate(&checked, &plain).unwrap();
                prop_assert_eq!(hand.cost(), counted.cost);
                prop_assert_eq!(before + change, counted.cost);
                prop_assert_eq!(hand.tally(), counted);
            }
        }
    }

    #[test]
    fn a_frozen_car_stays_and_places_end_where_the_order_does() {
        use crate::model::{Class, Problem};
        let class = |count| Class {
            name: "c".into(),
            count,
            options: Vec::new(),
            colour: None,
        };
        let problem = Problem {
            classes: vec![class(3), class(2)],
            frozen: vec![0],
            ..Problem::empty()
        };
        let checked = problem.check().unwrap();
        let mut hand = Arranged::new(&checked, &[0, 0, 0, 1, 1]).unwrap();
        let mut refused = |from, cars, to| {
            let fault = hand.take(Step { from, cars, to }).unwrap_err();
            fault.found
        };
        assert!(refused(0, 1, 3).contains("frozen"));
        assert!(refused(3, 1, 0).contains("frozen"));
        assert!(refused(3, 3, 1).contains("3 cars from place 4"));
        assert!(refused(1, 2, 4).contains("place 5"));
        assert!(refused(1, 0, 2).contains("0 cars"));
        assert_eq!(hand.order(), [0, 0, 0, 1, 1]);
    }
}
