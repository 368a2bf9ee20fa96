//! From the solver's order to the plan.

use std::collections::BTreeMap;

use book::{Book, Cycle, Problem};
use sequence::model::{Checked, Force};
use sequence::{Clean, Solution, best, evaluate};

use super::ask::{self, Asked};
use super::cycles::cycle_of;
use super::drift::{StationDrift, Walked};
use super::model::{BuildOrder, ColourUse, GoalProof, Held, OrderRule, PlacedCar, Promised, Proof};
use super::painted::{self, PaintedStore};
use super::rules::Spacing;
use super::week::{Car, Week};
use super::{Question, Settings, Watch, prices, seat, uses, wrong};
use crate::sheet::Sheet;

const CAUTION: &str = "The order is a plan: who may release, re-order or hold a car is the \
                       plant's own rule. A rule that comes from a station protects the people who \
                       work there; before it is loosened, look at their work on the floor. Times \
                       are means, and drift is counted with the same work on every car of a kind.";

/// Everything that the answer is made of.
pub(super) struct Planned<'a> {
    pub(super) question: &'a Question<'a>,
    pub(super) week: &'a Week,
    pub(super) rules: &'a [Spacing],
    /// The cars without those that come back from hold.
    pub(super) here: &'a [&'a Car],
    pub(super) asked: &'a Asked,
    pub(super) checked: &'a Checked,
}

/// An order with its tally by the problem of all its cars.
struct Whole<'a> {
    /// Car by car.
    row: Vec<&'a Car>,
    asked: Asked,
    tally: Option<sequence::Tally>,
}

impl<'a> Planned<'a> {
    fn book(&self) -> &'a Book {
        self.question.book
    }

    pub(super) fn answer(&self, sheet: Sheet, watch: &Watch<'_>) -> BuildOrder {
        let (question, book) = (self.question, self.book());
        let solution = best(self.checked, &question.search, watch);
        let costs = question.costs.filter(|_| solution.complete);
        let costs =
            costs.map(|settings| prices::prices(self.checked, &solution.tally, &settings, watch));
        let order = self.order(&solution);
        let row: Vec<&Car> = order.iter().map(|car| &self.week.cars[*car]).collect();
        let whole = self.whole(row.clone());
        let store = painted::painted(question, row.len(), question.takt_s);
        let line = self.on_line(&row, &store);
        let rules = self.told_rules(&whole, &line, &solution);
        let colours = self.colours(&whole, &line, &solution);
        let promises = self.promises(&row, &store);
        let kept = promises.iter().all(|promise| promise.kept || !promise.must);
        let hard = |rule: &OrderRule| rule.weight.is_none() && !rule.broken_at.is_empty();
        let unused = self.rules.iter().zip(&rules);
        let unused = unused.filter(|(_, told)| told.cars == 0);
        let notes: Vec<Problem> = unused
            .filter_map(|(rule, _)| wrong::option_of_no_class(rule))
            .collect();
        BuildOrder {
            plant: book.plant.name.value.clone(),
            week: question.week,
            holds: kept && colours.over_block == 0 && !rules.iter().any(hard),
            slots: question.slots.map(|slots| slots.places()),
            days: question.days,
            places: self.places(&row),
            frozen: row.iter().filter(|car| car.frozen.is_some()).count() as u32,
            rules,
            colours,
            level: uses::level(book, &ask::level_options(book, self.rules), &row),
            promises,
            proof: self.proof(&whole, &solution),
            costs: costs.unwrap_or_default(),
            stations: self.stations(&row),
            store,
            on_hold: self.held(&row),
            notes,
            caution: CAUTION.into(),
            figures: sheet.figures,
        }
    }

    /// Positions of the week's cars, place by place.
    fn order(&self, solution: &Solution) -> Vec<usize> {
        let cars = &self.week.cars;
        let seated = seat::seated(self.here, self.asked, &solution.order);
        let here: Vec<usize> = (0..cars.len())
            .filter(|car| cars[*car].back.is_none())
            .collect();
        let order = seated.into_iter().map(|at| here[at]).collect();
        seat::put_back(self.book(), cars, self.rules, order)
    }

    fn whole<'c>(&self, row: Vec<&'c Car>) -> Whole<'c> {
        let asked = ask::asked(self.book(), &row, self.rules);
        let tally = asked.problem.check().ok();
        let tally = tally.and_then(|checked| evaluate(&checked, &asked.class_of).ok());
        Whole { row, asked, tally }
    }

    fn on_line(&self, row: &[&'a Car], store: &PaintedStore) -> Vec<&'a Car> {
        let body = |place: &u32| row[*place as usize - 1];
        store.on_line.iter().map(body).collect()
    }

    fn places(&self, row: &[&Car]) -> Vec<PlacedCar> {
        let book = self.book();
        let told = |(car, place): (&&Car, u32)| PlacedCar {
            place,
            order: car.order.map(|order| book.orders[order].order.clone()),
            product: book.products[car.product].product.clone(),
            options: car.options.clone(),
            colour: car.colour.map(|colour| book.colours[colour].colour.clone()),
            frozen: car.frozen.is_some(),
        };
        row.iter().zip(1..).map(told).collect()
    }

    fn told_rules(&self, whole: &Whole<'_>, line: &[&Car], solution: &Solution) -> Vec<OrderRule> {
        let book = self.book();
        let told = |(at, rule): (usize, &Spacing)| {
            let weighed = self.asked.rule_of.iter().position(|own| *own == at);
            let cars = whole
                .row
                .iter()
                .filter(|car| ask::concerns(book, rule, car));
            OrderRule {
                option: rule.option.clone(),
                product: rule.product.clone(),
                at_most: rule.at_most,
                in_every: rule.in_every,
                weight: match rule.force {
                    Force::Hard => None,
                    Force::Soft(weight) => Some(weight),
                },
                from: rule.from.clone(),
                weighed: weighed.is_some(),
                cars: cars.count() as u32,
                broken_at: uses::broken_at(book, rule, &whole.row),
                at_least: weighed.map_or(0, |own| solution.bound.rules[own]),
                broken_on_line: uses::broken_at(book, rule, line).len() as u64,
            }
        };
        self.rules.iter().enumerate().map(told).collect()
    }

    fn colours(&self, whole: &Whole<'_>, line: &[&Car], solution: &Solution) -> ColourUse {
        let book = self.book();
        let blocks = uses::blocks(book, &whole.row);
        let (seconds, litres) = uses::changes_cost(book, &blocks);
        let changes = |blocks: usize| blocks.saturating_sub(1) as u64;
        let longest = book.plant.longest_colour_block.value;
        let over = |cars: u32| longest.map_or(0, |most| cars.saturating_sub(most));
        let painted = !book.colours.is_empty();
        ColourUse {
            changes: changes(blocks.len()),
            changes_at_least: solution.bound.colour_changes,
            changes_on_line: changes(uses::blocks(book, line).len()),
            longest_allowed: longest,
            over_block: if painted {
                blocks.iter().map(|block| u64::from(over(block.cars))).sum()
            } else {
                0
            },
            change_min: seconds / 60.0,
            purge_l: litres,
            blocks: if painted { blocks } else { Vec::new() },
        }
    }

    fn promises(&self, row: &[&Car], store: &PaintedStore) -> Vec<Promised> {
        let book = self.book();
        let on_line: BTreeMap<u32, u32> = store.on_line.iter().copied().zip(1..).collect();
        let told = |(car, place): (&&Car, u32)| {
            let (order, within) = (&book.orders[car.order?], car.due?);
            Some(Promised {
                order: order.order.clone(),
                at: order.at,
                within,
                must: car.must,
                place,
                kept: place <= within,
                place_on_line: on_line.get(&place).copied().unwrap_or(place),
            })
        };
        row.iter().zip(1..).filter_map(told).collect()
    }

    fn proof(&self, whole: &Whole<'_>, solution: &Solution) -> Proof {
        let back = whole.row.len() > self.here.len();
        let bound = if back {
            self.bound_with(whole)
        } else {
            Some(solution.bound.cost)
        };
        let cost = whole.tally.as_ref().map(|tally| tally.cost);
        let (without_break, clash) = match &solution.clean {
            Clean::Found => ("found", Vec::new()),
            Clean::Impossible(rules) => ("impossible", rules.clone()),
            Clean::Unknown => ("unknown", Vec::new()),
        };
        // Level use is kept in parts of 1 / cars^2.
        let parts = (whole.row.len() as f64).powi(2).max(1.0);
        let levelled = self.book().plant.level_weight.value > 0;
        let goals = self.asked.goals.iter().zip(1..).filter_map(|(goal, tier)| {
            let in_parts = levelled && (*goal == "level use" || *goal == "all");
            let unit = if in_parts { parts } else { 1.0 };
            Some(GoalProof {
                goal: (*goal).to_owned(),
                value: cost?.0[tier] as f64 / unit,
                at_least: bound?.0[tier] as f64 / unit,
            })
        });
        Proof {
            without_break: without_break.to_owned(),
            clash: clash
                .iter()
                .map(|rule| self.rules[self.asked.rule_of[*rule]].told())
                .collect(),
            optimal: cost.zip(bound).is_some_and(|(cost, bound)| cost <= bound),
            goals: goals.collect(),
            moves: solution.steps,
            complete: solution.complete,
            seed: self.question.search.seed,
        }
    }

    /// The bound for all cars, those back from hold among them.
    fn bound_with(&self, whole: &Whole<'_>) -> Option<sequence::Cost> {
        let checked = whole.asked.problem.check().ok()?;
        let settings = Settings {
            steps: 1,
            walkers: 1,
            proof_states: 0,
            ..self.question.search
        };
        Some(best(&checked, &settings, &Watch::none()).bound.cost)
    }

    fn stations(&self, row: &[&Car]) -> Vec<StationDrift> {
        let book = self.book();
        let mut told = Vec::new();
        for station in self.question.stations {
            let own = &book.stations[station.station];
            let rows: Vec<&Cycle> = book
                .cycles
                .iter()
                .filter(|cycle| cycle.station == own.station)
                .collect();
            let units = f64::from(own.units.max(1));
            let time = |car: &&Car| {
                let product = &book.products[car.product].product;
                cycle_of(own.cycle(), &rows, product, &car.options).0 / units
            };
            let times: Vec<f64> = row.iter().map(time).collect();
            let takt = station.takt.value.0;
            let heavy = times.iter().filter(|seconds| **seconds > takt).count();
            if heavy == 0 {
                continue;
            }
            let walked = Walked {
                times: &times,
                takt,
                most: station.drift_s,
            };
            let walk = walked.walk();
            told.push(StationDrift {
                station: own.station.clone(),
                at: own.at,
                shop: own.shop.clone(),
                takt_s: takt,
                drift_s: station.drift_s,
                heavy_cars: heavy as u32,
                past: walk.past,
                worst_s: walk.worst.0,
                worst_m: walk.worst.0 / takt * book.plant.pitch_m.value.0,
                worst_place: walk.worst.1,
                longest_behind: walk.longest_behind,
                restart_place: walk.restart.0,
                restart_past: walk.restart.1,
                restart_cars: walk.restart.2,
            });
        }
        told
    }

    fn held(&self, row: &[&Car]) -> Vec<Held> {
        let book = self.book();
        let stay = self.week.held.iter().map(|at| Held {
            order: book.orders[*at].order.clone(),
            at: book.orders[*at].at,
            back_from: None,
            place: None,
        });
        let back = row.iter().zip(1..).filter_map(|(car, place)| {
            let (order, from) = (&book.orders[car.order?], car.back?);
            Some(Held {
                order: order.order.clone(),
                at: order.at,
                back_from: Some(from),
                place: Some(place),
            })
        });
        let mut all: Vec<Held> = stay.chain(back).collect();
        all.sort_by_key(|held| held.at.row);
        all
    }
}
