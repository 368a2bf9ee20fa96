//! Cars that are not there from the start: of a class no more than so many may
//! stand among the first so many of the order, the mirror of a promise.

use std::collections::BTreeMap;

use crate::Fault;
use crate::model::{Force, Problem};
use crate::plan::{Due, Plan};
use crate::told::{are, some};

/// Cars of a class that come later: no more than so many of it may stand among
/// the first so many of the order. Must hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hold {
    /// The class.
    pub class: usize,
    /// Cars of it that are there before the others come.
    pub ready: u32,
    /// Among the first so many cars of the order.
    pub until: u32,
}

/// The holds that any order might break, as they are counted.
pub(crate) fn dues(problem: &Problem, first: usize) -> impl Iterator<Item = Due> {
    let binds = |hold: &&Hold| hold.ready < hold.until.min(problem.classes[hold.class].count);
    let due = move |hold: &Hold| Due {
        class: hold.class as u16,
        count: i64::from(hold.ready),
        end: first + hold.until as usize,
        tier: 0,
        price: 1,
        held: true,
    };
    problem.holds.iter().filter(binds).map(due)
}

/// Cars that any order must build before they are there: at a place where the
/// cars held back leave too few for the places before it.
pub(crate) fn least_early(plan: &Plan) -> i64 {
    let mut most = vec![0_i64; plan.masks.len()];
    for (class, cars) in plan.counts.iter().enumerate() {
        most[class] = i64::from(*cars);
    }
    for car in &plan.fixed[plan.first..] {
        most[usize::from(*car)] += 1;
    }
    let mut ready: BTreeMap<usize, Vec<i64>> = BTreeMap::new();
    for due in plan.dues.iter().filter(|due| due.held) {
        let most = ready.entry(due.end).or_insert_with(|| most.clone());
        let of = &mut most[usize::from(due.class)];
        *of = due.count.min(*of);
    }
    let early = |(end, most): (usize, Vec<i64>)| {
        let places = end.min(plan.len) - plan.first;
        (places as i64 - most.iter().sum::<i64>()).max(0)
    };
    ready.into_iter().map(early).sum()
}

/// Holds of classes that are not there, and hard promises that they forbid.
pub(crate) fn faults(problem: &Problem, faults: &mut Vec<Fault>) {
    for (at, hold) in problem.holds.iter().enumerate() {
        if hold.class >= problem.classes.len() {
            faults.push(Fault::new(
                format!("held[{at}].class"),
                format!("class {}", hold.class),
                format!("one of {}", some(problem.classes.len(), "class")),
                "add the class",
            ));
        }
    }
    if !faults.is_empty() {
        return;
    }
    for (at, promise) in problem.promises.iter().enumerate() {
        if promise.force != Force::Hard {
            continue;
        }
        let of_class = problem.holds.iter();
        let over = of_class
            .filter(|hold| hold.class == promise.class && hold.until >= promise.within)
            .min_by_key(|hold| hold.ready)
            .filter(|hold| hold.ready < promise.count);
        if let Some(hold) = over {
            faults.push(Fault::new(
                format!("before[{at}]"),
                format!(
                    "{} of \"{}\" promised within {}, of which {} {} there before place {}",
                    promise.count,
                    problem.classes[promise.class].name,
                    some(promise.within as usize, "place"),
                    hold.ready,
                    are(hold.ready),
                    hold.until + 1
                ),
                format!(
                    "no more than the {} that {} there",
                    hold.ready,
                    are(hold.ready)
                ),
                format!(
                    "promise them from place {} on, or have them back sooner",
                    hold.until + 1
                ),
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Class, Promise};
    use crate::{Clean, Settings, Watch, best, evaluate};

    fn class(name: &str, count: u32, option: bool) -> Class {
        Class {
            name: name.into(),
            count,
            options: vec![option],
            colour: None,
        }
    }

    fn problem(ready: u32, until: u32) -> Problem {
        Problem {
            classes: vec![class("here", 3, false), class("held", 3, true)],
            options: vec!["tow bar".into()],
            holds: vec![Hold {
                class: 1,
                ready,
                until,
            }],
            ..Problem::empty()
        }
    }

    #[test]
    fn a_car_that_comes_later_stands_later() {
        let checked = problem(0, 3).check().unwrap();
        let found = best(&checked, &Settings::quick(1), &Watch::none());
        assert_eq!(found.order, [0, 0, 0, 1, 1, 1]);
        assert_eq!(found.clean, Clean::Found);
        assert!(found.is_optimal());
        let early = evaluate(&checked, &[0, 1, 0, 0, 1, 1]).unwrap();
        assert_eq!((early.early, early.cost.0[0]), (vec![1], 1));
    }

    #[test]
    fn where_too_few_cars_are_there_it_is_proven_that_some_stand_too_early() {
        let checked = problem(1, 5).check().unwrap();
        let found = best(&checked, &Settings::quick(1), &Watch::none());
        // three here and one back for five places
        assert_eq!((found.tally.early[0], found.bound.cost.0[0]), (1, 1));
        assert_eq!(found.clean, Clean::Impossible(Vec::new()));
        assert!(found.is_optimal());
    }

    #[test]
    fn a_hold_that_never_binds_is_none() {
        for (ready, until) in [(3, 5), (0, 0), (2, 2)] {
            assert_eq!(problem(ready, until).check().unwrap().plan.dues.len(), 0);
        }
    }

    #[test]
    fn a_promise_before_the_cars_are_there_cannot_be_kept() {
        let mut problem = problem(1, 4);
        problem.promises.push(Promise {
            class: 1,
            count: 2,
            within: 4,
            force: Force::Hard,
        });
        let faults = problem.check().unwrap_err();
        assert_eq!(faults[0].place, "before[0]");
        assert!(faults[0].mend.contains("place 5"), "{}", faults[0]);
        problem.promises[0].within = 5;
        assert!(problem.check().is_ok());
    }
}
