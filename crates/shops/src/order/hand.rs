//! A planned order that somebody changes by hand, and what comes of it.

use std::collections::{BTreeMap, BTreeSet};

use book::{At, Book, Problem, Table};
use sequence::model::Checked;
use sequence::{Arranged, Cost, Fault, Step};
use serde::Serialize;

use super::ask::{self, Asked};
use super::late;
use super::model::{
    BuildOrder, ColourUse, Held, LevelUse, Levelling, OrderRule, OrderSums, PlacedCar, Promised,
    Proof,
};
use super::rules::{self, Spacing};
use super::told::{Kept, Told};
use super::week::{Car, Week};
use super::{LineStation, Question, StationDrift, uses};
use crate::sheet::{Sheet, problem};

/// Cars taken out of the order and put in elsewhere. Places count from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandMove {
    /// The place of the first of them.
    pub from: u32,
    /// How many in a row.
    pub cars: u32,
    /// The place of the first of them afterwards.
    pub to: u32,
}

/// A goal before and after.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandGoal {
    /// What it weighs; the first is what must hold.
    pub goal: String,
    /// The weighted sum of the order as planned.
    pub planned: f64,
    /// That of the order as it is now.
    pub value: f64,
}

/// A move and what it did.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandStep {
    /// The move.
    pub moved: HandMove,
    /// What it added to each goal.
    pub changes: Vec<f64>,
}

/// The order after all moves: what differs from the plan. Places count from 1.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandOrder {
    /// The week.
    pub week: u32,
    /// Whether all that must hold does.
    pub holds: bool,
    /// What must hold and does not, in words.
    pub broken: Vec<String>,
    /// What its headline tells.
    pub sums: OrderSums,
    /// What is proven of it: bounds hold for every order of these cars.
    pub proof: Proof,
    /// For each place the planned place of the car that stands there now.
    pub planned_places: Vec<u32>,
    /// The moves, first to last.
    pub steps: Vec<HandStep>,
    /// The goals, the first counting most.
    pub goals: Vec<HandGoal>,
    /// The spacing rules and where the order breaks them.
    pub rules: Vec<OrderRule>,
    /// Colours and their blocks.
    pub colours: ColourUse,
    /// Options and products against their level lines.
    pub level: Vec<LevelUse>,
    /// Level use beside that of an order made for it alone.
    pub levelling: Option<Levelling>,
    /// The promises.
    pub promises: Vec<Promised>,
    /// Stations whose takt some car exceeds.
    pub stations: Vec<StationDrift>,
    /// Cars on hold.
    pub on_hold: Vec<Held>,
}

/// What putting some cars at each place would do. Places count from 1.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandPlaces {
    /// The place of the first of them.
    pub from: u32,
    /// How many in a row.
    pub cars: u32,
    /// The goals by name, the first counting most.
    pub goals: Vec<String>,
    /// By place, what each goal gains in cost; none where they cannot stand.
    pub changes: Vec<Option<Vec<f64>>>,
    /// Places that better the order, best first.
    pub better: Vec<u32>,
    /// Places that cost nothing.
    pub even: Vec<u32>,
}

/// Places that better the order, of which so many are named.
const NAMED: usize = 400;

/// A planned order made ready to be changed. Its painted-body store stays that
/// of the plan: luck in paint falls on places, so that the same places fall back
/// whichever cars stand there.
#[derive(Clone)]
pub struct ByHand {
    book: Book,
    stations: Vec<LineStation>,
    week: Week,
    rules: Vec<Spacing>,
    planned: BuildOrder,
    /// The week's cars in the planned order.
    order: Vec<usize>,
    /// Their classes, in that order.
    asked: Asked,
    checked: Checked,
}

impl ByHand {
    /// Makes a planned order ready.
    ///
    /// # Errors
    ///
    /// The book's problems, or that the order is not of this book's week.
    pub fn new(question: &Question<'_>, planned: BuildOrder) -> Result<Self, Vec<Problem>> {
        let book = question.book;
        let week = Week::of(book, planned.week, question.days)?;
        let mut sheet = Sheet::default();
        let rules = rules::rules(&mut sheet, question, &mut Vec::new());
        let order = seats(book, &week, &planned).ok_or_else(|| vec![other_week(book)])?;
        let row: Vec<&Car> = order.iter().map(|car| &week.cars[*car]).collect();
        let mut asked = ask::asked(book, &row, &week.before, &rules);
        let minded = |goal: &super::GoalProof| goal.goal == late::GOAL;
        if planned.proof.goals.iter().any(minded) {
            (asked, _) = late::minded(&asked);
        }
        let checked = asked.problem.check().map_err(|faults| {
            let here: Vec<&Car> = row.clone();
            super::wrong::told(book, &here, &asked, faults)
        })?;
        Ok(Self {
            book: book.clone(),
            stations: question.stations.to_vec(),
            week,
            rules,
            planned,
            order,
            asked,
            checked,
        })
    }

    /// The order after some moves.
    ///
    /// # Errors
    ///
    /// The first move that cannot be made.
    pub fn moved(&self, moves: &[HandMove]) -> Result<HandOrder, Fault> {
        let mut hand = self.arranged()?;
        let before = hand.cost();
        let (places, changes) = self.take(&mut hand, moves)?;
        let row = self.row(&places);
        let told = self.told(&row);
        let after = hand.cost();
        let steps = moves.iter().zip(changes).map(|(moved, change)| HandStep {
            moved: *moved,
            changes: self.by_goal(change),
        });
        let goals = self.goals().into_iter();
        let goals = goals.zip(self.by_goal(before)).zip(self.by_goal(after));
        let goals: Vec<HandGoal> = goals
            .map(|((goal, planned), value)| HandGoal {
                goal,
                planned,
                value,
            })
            .collect();
        let rules = told.rules(&self.at_least());
        let colours = told.colours(self.planned.colours.changes_at_least);
        let promises = told.promises(&self.week.held, &self.in_clash());
        let on_hold = told.held(&self.week.held);
        let broken = Kept {
            rules: &rules,
            colours: &colours,
            promises: &promises,
            on_hold: &on_hold,
        }
        .broken();
        Ok(HandOrder {
            week: self.planned.week,
            holds: broken.is_empty(),
            broken,
            planned_places: places.iter().map(|place| *place as u32 + 1).collect(),
            steps: steps.collect(),
            sums: OrderSums::of(&rules, &promises),
            proof: self.proof(&goals),
            goals,
            level: told.level(),
            levelling: self
                .planned
                .levelling
                .map(|was| uses::levelled_anew(was, &self.asked, &hand.order())),
            stations: told.stations(&self.stations),
            rules,
            colours,
            promises,
            on_hold,
        })
    }

    /// What putting cars at each place would do, after some moves.
    ///
    /// # Errors
    ///
    /// A move that cannot be made, cars that are not there, frozen cars.
    pub fn places_for(
        &self,
        moves: &[HandMove],
        from: u32,
        cars: u32,
    ) -> Result<HandPlaces, Fault> {
        let mut hand = self.arranged()?;
        self.take(&mut hand, moves)?;
        let costs = hand.everywhere(self.zero_based(from)?, cars as usize)?;
        let of = |(cost, place): (&Option<Cost>, u32)| cost.map(|cost| (cost, place));
        let mut by_cost: Vec<(Cost, u32)> = costs.iter().zip(1..).filter_map(of).collect();
        // Of places as good the one nearest to where the cars stand.
        by_cost.sort_by_key(|(cost, place)| (*cost, place.abs_diff(from)));
        let better = by_cost.iter().filter(|(cost, _)| *cost < Cost::ZERO);
        let even = by_cost.iter().filter(|(cost, _)| *cost == Cost::ZERO);
        let place = |(_, place): &(Cost, u32)| *place;
        Ok(HandPlaces {
            from,
            cars,
            goals: self.goals(),
            better: better.take(NAMED).map(place).collect(),
            even: even.map(place).filter(|place| *place != from).collect(),
            changes: costs
                .into_iter()
                .map(|cost| cost.map(|cost| self.by_goal(cost)))
                .collect(),
        })
    }

    /// The whole plan with the order as moved, for files and paper.
    ///
    /// # Errors
    ///
    /// As [`ByHand::moved`].
    pub fn build_order(&self, moves: &[HandMove]) -> Result<BuildOrder, Fault> {
        let hand = self.moved(moves)?;
        let places = hand.planned_places.iter().zip(1..);
        let placed = |(planned, place): (&u32, u32)| PlacedCar {
            place,
            ..self.planned.places[*planned as usize - 1].clone()
        };
        let mut order = self.planned.clone();
        order.places = places.map(placed).collect();
        order.by_hand = moves.len() as u32;
        (order.holds, order.broken) = (hand.holds, hand.broken);
        order.levelling = hand.levelling;
        (order.sums, order.proof) = (hand.sums, hand.proof);
        // They are prices of the planned order.
        order.costs.clear();
        (order.rules, order.colours, order.level) = (hand.rules, hand.colours, hand.level);
        (order.promises, order.on_hold) = (hand.promises, hand.on_hold);
        order.stations = hand.stations;
        Ok(order)
    }

    /// What was proven when the order was planned, with what its goals cost now,
    /// the first of which is what must hold.
    fn proof(&self, goals: &[HandGoal]) -> Proof {
        let mut proof = self.planned.proof.clone();
        for (goal, now) in proof.goals.iter_mut().zip(goals.iter().skip(1)) {
            goal.value = now.value;
        }
        let met = |goal: &super::GoalProof| goal.value <= goal.at_least;
        proof.optimal = proof.goals.iter().all(met);
        proof
    }

    fn arranged(&self) -> Result<Arranged<'_>, Fault> {
        let made = Arranged::new(&self.checked, &self.asked.class_of);
        made.map_err(|fault| Fault {
            mend: "plan the order again".to_owned(),
            ..fault
        })
    }

    /// Makes the moves; gives the planned places in their new order, and what
    /// each move added to the cost.
    fn take(
        &self,
        hand: &mut Arranged<'_>,
        moves: &[HandMove],
    ) -> Result<(Vec<usize>, Vec<Cost>), Fault> {
        let mut places: Vec<usize> = (0..self.order.len()).collect();
        let mut changes = Vec::with_capacity(moves.len());
        for (at, moved) in moves.iter().enumerate() {
            let numbered = |fault| Fault {
                place: format!("move {}", at + 1),
                ..fault
            };
            let step = Step {
                from: self.zero_based(moved.from).map_err(numbered)?,
                cars: moved.cars as usize,
                to: self.zero_based(moved.to).map_err(numbered)?,
            };
            let change = hand.take(step).map_err(numbered)?;
            changes.push(change);
            if step.to > step.from {
                places[step.from..step.to + step.cars].rotate_left(step.cars);
            } else {
                places[step.to..step.from + step.cars].rotate_right(step.cars);
            }
        }
        Ok((places, changes))
    }

    fn zero_based(&self, place: u32) -> Result<usize, Fault> {
        let places = self.order.len();
        if (1..=places).contains(&(place as usize)) {
            return Ok(place as usize - 1);
        }
        Err(Fault::new(
            "move",
            format!("place {place}"),
            format!("a place from 1 to {places}"),
            "choose cars of the order, and a place of the week",
        ))
    }

    fn row(&self, places: &[usize]) -> Vec<&Car> {
        let car = |place: &usize| &self.week.cars[self.order[*place]];
        places.iter().map(car).collect()
    }

    fn told<'a>(&'a self, row: &'a [&'a Car]) -> Told<'a> {
        Told {
            book: &self.book,
            rules: &self.rules,
            before: &self.week.before,
            row,
            store: &self.planned.store,
        }
    }

    /// What clashes clashes in every order.
    fn in_clash(&self) -> BTreeSet<String> {
        let promises = self.planned.promises.iter();
        let clash = promises.filter(|promise| promise.in_clash);
        clash.map(|promise| promise.order.clone()).collect()
    }

    fn at_least(&self) -> Vec<Option<u64>> {
        let rules = self.planned.rules.iter();
        let bound = |rule: &OrderRule| rule.weighed.then_some(rule.at_least);
        rules.map(bound).collect()
    }

    fn goals(&self) -> Vec<String> {
        let own = self.asked.goals.iter().map(|goal| (*goal).to_owned());
        std::iter::once("what must hold".to_owned())
            .chain(own)
            .collect()
    }

    fn by_goal(&self, cost: Cost) -> Vec<f64> {
        let levelled = self.book.plant.level_weight.value > 0;
        let unit = |goal: &&str| self.asked.unit(goal, levelled, self.order.len());
        let units = std::iter::once(1.0).chain(self.asked.goals.iter().map(unit));
        let costs = units.zip(cost.0);
        costs.map(|(unit, cost)| cost as f64 / unit).collect()
    }
}

/// What makes a car the one that a plan means: of cars alike any will do.
type Looks<'a> = (Option<&'a str>, &'a str, &'a [String], Option<&'a str>);

/// The week's cars in a planned order; none where they are not its cars.
fn seats(book: &Book, week: &Week, planned: &BuildOrder) -> Option<Vec<usize>> {
    let mut waiting: BTreeMap<Looks<'_>, Vec<usize>> = BTreeMap::new();
    for (at, car) in week.cars.iter().enumerate().rev() {
        let looks = (
            car.order.map(|order| book.orders[order].order.as_str()),
            book.products[car.product].product.as_str(),
            car.options.as_slice(),
            car.colour
                .map(|colour| book.colours[colour].colour.as_str()),
        );
        waiting.entry(looks).or_default().push(at);
    }
    let mut seats = Vec::with_capacity(planned.places.len());
    for car in &planned.places {
        let looks = (
            car.order.as_deref(),
            car.product.as_str(),
            car.options.as_slice(),
            car.colour.as_deref(),
        );
        seats.push(waiting.get_mut(&looks)?.pop()?);
    }
    (seats.len() == week.cars.len()).then_some(seats)
}

fn other_week(book: &Book) -> Problem {
    let first = book.products.first().map(|row| row.at);
    let at = first.unwrap_or(At {
        table: Table::Products,
        row: 1,
    });
    Problem {
        found: "an order of other cars than the week's".into(),
        expected: "the order planned for this book".into(),
        mend: "plan the order again".into(),
        ..problem("order-of-another-week", at, None)
    }
}
