//! The week's cars and rules as a problem of the solver.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use book::{Book, OrderGoals};
use sequence::model::{
    Class, Colours, Counted, Force, Goal, Goals, Hold, Level, Part, Problem, Promise, Rule,
};

use super::model::RuleFrom;
use super::rules::Spacing;
use super::week::Car;

/// What the rules see of a car, and from which place to which it must stand
/// where both ends are given: such cars cannot stand in for others, nor can a
/// frozen one that is promised sooner, which comes late whatever is built.
type Key = (usize, Vec<bool>, Option<usize>, Option<(u32, u32, bool)>);

/// All goals in one sum, and the first group where they are ordered, in words.
pub(super) const ALL: &str = "all";
pub(super) const GIVEN: &str = "spacing and promises given";
/// The second group where goals are ordered.
pub(super) const BY_STATIONS: &str = "colours and spacing by stations";

/// The problem, and which car is of which class.
#[derive(Clone)]
pub(super) struct Asked {
    pub(super) problem: Problem,
    /// By car.
    pub(super) class_of: Vec<usize>,
    /// For each rule of the problem its position among the spacing rules.
    pub(super) rule_of: Vec<usize>,
    /// For each promise the cars that stand behind it.
    pub(super) promised: Vec<Vec<usize>>,
    /// The groups of goals in words, first to last.
    pub(super) goals: Vec<&'static str>,
}

/// The names that are used evenly: options under a rule or with a cycle of
/// their own.
pub(super) fn level_options(book: &Book, rules: &[Spacing]) -> Vec<String> {
    let ruled = |option: &str| rules.iter().any(|rule| rule.option == option);
    let timed = |option: &str| {
        let mut rows = book.cycles.iter();
        rows.any(|row| row.option.as_deref() == Some(option))
    };
    let mut names: Vec<String> = Vec::new();
    for row in &book.options {
        if !names.contains(&row.option) && (ruled(&row.option) || timed(&row.option)) {
            names.push(row.option.clone());
        }
    }
    names
}

/// The problem of ordering these cars behind those built before.
pub(super) fn asked(book: &Book, cars: &[&Car], before: &[Car], rules: &[Spacing]) -> Asked {
    let names = level_options(book, rules);
    let weighed: Vec<usize> = (0..rules.len()).filter(|at| !rules[*at].implied).collect();
    let mut found = Classes {
        book,
        names: &names,
        weighed: weighed.iter().map(|rule| &rules[*rule]).collect(),
        known: BTreeMap::new(),
        classes: Vec::new(),
        keys: Vec::new(),
    };
    let class_of: Vec<usize> = cars.iter().map(|car| found.class_of(car)).collect();
    for class in &class_of {
        found.classes[*class].count += 1;
    }
    let previous = before.iter().map(|car| found.class_of(car)).collect();
    let Classes { classes, keys, .. } = found;
    let frozen = frozen(cars, &class_of);
    let (promises, promised) = promises(book, cars, &class_of);
    let plant = &book.plant;
    let problem = Problem {
        options: weighed.iter().map(|rule| rules[*rule].told()).collect(),
        rules: weighed
            .iter()
            .enumerate()
            .map(|(column, rule)| Rule {
                option: column,
                at_most: rules[*rule].at_most,
                in_every: rules[*rule].in_every,
                force: rules[*rule].force,
            })
            .collect(),
        counted: Counted::Windows,
        colours: Colours {
            names: book.colours.iter().map(|row| row.colour.clone()).collect(),
            max_block: plant.longest_colour_block.value,
            change_weight: plant.colour_change_weight.value,
        },
        level: Level {
            weight: plant.level_weight.value,
            parts: parts(book, &names, &keys),
        },
        promises,
        holds: holds(cars, &class_of),
        previous,
        frozen,
        classes,
        ..Problem::empty()
    };
    let mut asked = Asked {
        problem,
        class_of,
        rule_of: weighed,
        promised,
        goals: vec![ALL],
    };
    if plant.order_goals.value == OrderGoals::Strict {
        asked.put_in_order(rules);
    }
    asked
}

/// Classes as cars show them.
struct Classes<'a> {
    book: &'a Book,
    names: &'a [String],
    weighed: Vec<&'a Spacing>,
    known: BTreeMap<Key, usize>,
    classes: Vec<Class>,
    keys: Vec<Key>,
}

impl Classes<'_> {
    /// The class of a car, a new one with no cars where it is the first.
    fn class_of(&mut self, car: &Car) -> usize {
        let has = self.names.iter().map(|name| car.options.contains(name));
        let between = car.back.zip(car.due).or(car.lost());
        let between = between.map(|(back, due)| (back, due, car.must));
        let key = (car.product, has.collect(), car.colour, between);
        if let Some(class) = self.known.get(&key) {
            return *class;
        }
        let options = self.weighed.iter();
        self.classes.push(Class {
            name: class_name(self.book, &key, self.names),
            count: 0,
            options: options.map(|rule| concerns(self.book, rule, car)).collect(),
            colour: car.colour,
        });
        self.known.insert(key.clone(), self.keys.len());
        self.keys.push(key);
        self.keys.len() - 1
    }
}

impl Asked {
    /// What one unit of a goal's cost is in the solver, which keeps level use in
    /// parts of 1 / cars^2, or somewhat coarser ones where there are very many.
    pub(super) fn unit(&self, goal: &str, levelled: bool, cars: usize) -> f64 {
        let in_parts = levelled && (goal == "level use" || goal == ALL);
        if in_parts {
            let parts = sequence::level_parts(&self.problem).unwrap_or(cars as i64);
            (parts as f64).powi(2).max(1.0)
        } else {
            1.0
        }
    }

    /// Spacing and promises as given, then colours and what stations ask for by
    /// their weights, then level use.
    fn put_in_order(&mut self, rules: &[Spacing]) {
        let problem = &self.problem;
        let (mut first, mut second) = (Vec::new(), Vec::new());
        for (at, rule) in problem.rules.iter().enumerate() {
            let given = matches!(rules[self.rule_of[at]].from, RuleFrom::Given { .. });
            match (rule.force, given) {
                (Force::Hard, _) => {}
                (Force::Soft(_), true) => first.push(Goal::Rule(at)),
                (Force::Soft(_), false) => second.push(Goal::Rule(at)),
            }
        }
        let soft = |promise: &Promise| promise.force != Force::Hard;
        if problem.promises.iter().any(soft) {
            first.push(Goal::Promises);
        }
        if !problem.colours.names.is_empty() && problem.colours.change_weight > 0 {
            second.push(Goal::Colours);
        }
        let mut last = Vec::new();
        if problem.level.weight > 0 {
            last.push(Goal::Level);
        }
        let groups = [(GIVEN, first), (BY_STATIONS, second), ("level use", last)];
        let named = groups.into_iter().filter(|(_, goals)| !goals.is_empty());
        let (names, groups) = named.unzip();
        self.goals = names;
        self.problem.goals = Goals::Ordered(groups);
    }
}

/// Whether a rule sees a car.
pub(super) fn concerns(book: &Book, rule: &Spacing, car: &Car) -> bool {
    let product = &book.products[car.product].product;
    // A product that overruns a station stands where else an option does.
    let has = car.options.contains(&rule.option) || rule.option == *product;
    has && rule.product.as_ref().is_none_or(|own| own == product)
}

fn class_name(book: &Book, (product, has, colour, between): &Key, names: &[String]) -> String {
    let mut name = book.products[*product].product.clone();
    for (option, _) in names.iter().zip(has).filter(|(_, has)| **has) {
        name.push_str(" + ");
        name.push_str(option);
    }
    if let Some(colour) = colour {
        name.push_str(", ");
        name.push_str(&book.colours[*colour].colour);
    }
    if let Some((back, due, _)) = between {
        let _ = write!(name, ", from place {back} to {due}");
    }
    name
}

fn parts(book: &Book, names: &[String], keys: &[Key]) -> Vec<Part> {
    let products = book.products.iter().enumerate().map(|(at, row)| Part {
        name: row.product.clone(),
        per_car: keys.iter().map(|key| u32::from(key.0 == at)).collect(),
    });
    let options = names.iter().enumerate().map(|(at, name)| Part {
        name: name.clone(),
        per_car: keys.iter().map(|key| u32::from(key.1[at])).collect(),
    });
    products.chain(options).collect()
}

fn frozen(cars: &[&Car], class_of: &[usize]) -> Vec<usize> {
    let mut frozen: Vec<(u32, usize)> = cars
        .iter()
        .zip(class_of)
        .filter_map(|(car, class)| Some((car.frozen?, *class)))
        .collect();
    frozen.sort_unstable();
    frozen.into_iter().map(|(_, class)| class).collect()
}

/// Cars back from hold by class: of cars that are alike no more than are there
/// may stand before the place from which others come back.
fn holds(cars: &[&Car], class_of: &[usize]) -> Vec<Hold> {
    let back = |car: &Car| car.back.filter(|back| *back > 1);
    let mut from: Vec<(usize, u32)> = cars
        .iter()
        .zip(class_of)
        .filter_map(|(car, class)| Some((*class, back(car)?)))
        .collect();
    from.sort_unstable();
    from.dedup();
    let hold = |(class, place): (usize, u32)| {
        let ready = cars
            .iter()
            .zip(class_of)
            .filter(|(car, of)| **of == class && back(car).is_none_or(|back| back < place));
        Hold {
            class,
            ready: ready.count() as u32,
            until: place - 1,
        }
    };
    from.into_iter().map(hold).collect()
}

/// Promises by class: of cars that are alike any may keep a promise, so each
/// says how many must be there by its place, frozen ones of that class too. A
/// frozen car that is promised sooner is alone in its class and counts as late.
fn promises(book: &Book, cars: &[&Car], class_of: &[usize]) -> (Vec<Promise>, Vec<Vec<usize>>) {
    let mut ends: Vec<(usize, u32, bool)> = cars
        .iter()
        .zip(class_of)
        .filter_map(|(car, class)| {
            let open = car.frozen.is_none() || car.lost().is_some();
            Some((*class, car.due.filter(|_| open)?, car.must))
        })
        .collect();
    ends.sort_unstable();
    ends.dedup();
    let mut promises = Vec::new();
    let mut behind = Vec::new();
    for (class, within, must) in ends {
        let there = |at: &usize| {
            let car = cars[*at];
            let due = car.due.is_some_and(|due| due <= within) && (car.must || !must);
            let frozen = car.frozen.filter(|_| car.lost().is_none());
            let seated = frozen.map_or(due, |place| place <= within);
            class_of[*at] == class && seated
        };
        let those: Vec<usize> = (0..cars.len()).filter(there).collect();
        promises.push(Promise {
            class,
            count: those.len() as u32,
            within,
            force: if must {
                Force::Hard
            } else {
                Force::Soft(book.plant.promise_weight.value)
            },
        });
        behind.push(those);
    }
    (promises, behind)
}
