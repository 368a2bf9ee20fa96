//! From the solver's order to the plan.

use book::{Book, Problem};
use sequence::model::{Checked, Force};
use sequence::{Clean, Requirement, Solution, best};

use super::ask::Asked;
use super::follow::{Follow, moves};
use super::late::{self, Sooner};
use super::model::{BuildOrder, GoalProof, OrderSums, Proof, RulePrice};
use super::painted;
use super::rules::Spacing;
use super::told::{Kept, Told};
use super::week::{Car, Week};
use super::{Question, Watch, clash, noted, prices, seat, uses, wrong};
use crate::sheet::Sheet;

const CAUTION: &str = "The order is a plan: who may release, re-order or hold a car is the \
                       plant's own rule. A rule that comes from a station protects the people who \
                       work there; before it is loosened, look at their work on the floor. Times \
                       are means, and drift is counted with the same work on every car of a kind.";

const BOUNDS: &str = "Each bound is what a goal must cost if no other were minded: a rule by its own \
                      cars, with a few rules together where counting out shows that they clash; \
                      colours by the fewest blocks of the length allowed, and of those that the rules \
                      in goals before them leave room for where these are kept; level use by the nearest \
                      whole car to every level line at every place, of products by whole cars \
                      that add up to the place. An order that keeps rules and \
                      blocks cannot use parts as evenly as that, so that the bound of level use \
                      lies far below what can be had.";

/// Everything that the answer is made of.
pub(super) struct Planned<'a> {
    pub(super) question: &'a Question<'a>,
    pub(super) week: &'a Week,
    pub(super) rules: &'a [Spacing],
    pub(super) cars: &'a [&'a Car],
    pub(super) asked: &'a Asked,
    pub(super) checked: &'a Checked,
}

impl<'a> Planned<'a> {
    fn book(&self) -> &'a Book {
        self.question.book
    }

    pub(super) fn answer(
        &self,
        sheet: Sheet,
        notes: Vec<Problem>,
        watch: &Watch<'_>,
    ) -> BuildOrder {
        let promises = wrong::promised_orders(self.book(), self.cars, self.asked);
        let follow = Follow::new(watch, self.moves(&promises));
        let (solution, costs) = self.searched(&promises, watch, &follow);
        let found = self.found(solution, watch, &follow);
        let order = seat::seated(self.cars, &found.asked, &found.solution.order);
        let row: Vec<&Car> = order.iter().map(|car| &self.week.cars[*car]).collect();
        let store = painted::painted(self.question, row.len(), self.question.takt_s);
        let told = Told {
            book: self.book(),
            rules: self.rules,
            before: &self.week.before,
            row: &row,
            store: &store,
        };
        self.told(&found, &told, (sheet, notes, costs))
    }

    /// Moves of all searches, as far as they are known before.
    fn moves(&self, promises: &[Vec<String>]) -> u64 {
        let question = self.question;
        let costs = question.costs.map_or(0, |costs| {
            moves(&costs) * prices::searches(self.checked.problem(), promises)
        });
        let late = match promises {
            [] => 0,
            _ => moves(&late::settings(&question.search)),
        };
        moves(&question.search) + costs + late
    }

    /// The order found, and what each rule costs where that is asked for.
    fn searched(
        &self,
        promises: &[Vec<String>],
        watch: &Watch<'_>,
        follow: &Follow<'_>,
    ) -> (Solution, Vec<RulePrice>) {
        let question = self.question;
        let own = ("ordering the cars", moves(&question.search));
        let solution = follow.order(own, self.asked, |watch| {
            late::time_left(self.asked, watch, |watch| {
                best(self.checked, &question.search, watch)
            })
        });
        let costs = question.costs.filter(|_| solution.complete);
        let costs = costs.map(|settings| {
            let search = prices::Search {
                settings,
                cancel: watch.cancel,
                follow,
            };
            prices::prices(self.checked, &solution.order, promises, &search)
        });
        (solution, costs.unwrap_or_default())
    }

    /// The order as it is told, place by place.
    fn told(
        &self,
        found: &Sooner,
        told: &Told<'_>,
        (sheet, mut notes, costs): (Sheet, Vec<Problem>, Vec<RulePrice>),
    ) -> BuildOrder {
        let (question, book, solution) = (self.question, self.book(), &found.solution);
        let rules = told.rules(&self.at_least(solution));
        let colours = told.colours(solution.bound.colour_changes);
        let in_clash = clash::promised(book, (self.cars, &found.asked), &solution.clash);
        let promises = told.promises(&self.week.held, &in_clash);
        let on_hold = told.held(&self.week.held);
        let unused = self.rules.iter().zip(&rules);
        let unused = unused.filter(|(_, told)| told.cars == 0);
        notes.extend(unused.filter_map(|(rule, _)| noted::option_of_no_class(rule)));
        let broken = Kept {
            rules: &rules,
            colours: &colours,
            promises: &promises,
            on_hold: &on_hold,
        }
        .broken();
        BuildOrder {
            plant: book.plant.name.value.clone(),
            week: question.week,
            holds: broken.is_empty(),
            broken,
            sums: OrderSums::of(&rules, &promises),
            by_hand: 0,
            slots: question.slots.map(|slots| slots.places()),
            days: question.days,
            before: told.before(),
            places: told.places(),
            frozen: told.row.iter().filter(|car| car.frozen.is_some()).count() as u32,
            level: told.level(),
            levelling: uses::levelling(&found.asked, &solution.order),
            stations: told.stations(question.stations),
            proof: self.proof(found),
            costs,
            rules,
            colours,
            promises,
            on_hold,
            store: told.store.clone(),
            notes,
            caution: CAUTION.into(),
            figures: sheet.figures,
        }
    }

    /// The order found, its late cars brought forward.
    fn found(&self, solution: Solution, watch: &Watch<'_>, follow: &Follow<'_>) -> Sooner {
        let search = &self.question.search;
        let sooner = late::sooner(self.asked, &solution, search, (watch, follow));
        sooner.unwrap_or_else(|| Sooner {
            asked: self.asked.clone(),
            solution,
        })
    }

    /// For each rule that is weighed what any order must break of it.
    fn at_least(&self, solution: &Solution) -> Vec<Option<u64>> {
        let mut at_least = vec![None; self.rules.len()];
        for (own, rule) in self.asked.rule_of.iter().enumerate() {
            at_least[*rule] = Some(solution.bound.rules[own]);
        }
        at_least
    }

    /// What is known of what must hold, which a clash with wishes says nothing
    /// of.
    fn must_hold(&self, solution: &Solution) -> &'static str {
        let hard = |of: &Requirement| match *of {
            Requirement::Rule(rule) => self.checked.problem().rules[rule].force == Force::Hard,
            Requirement::Promise(promise) => {
                self.checked.problem().promises[promise].force == Force::Hard
            }
            Requirement::LongestBlock(_)
            | Requirement::Hold(_)
            | Requirement::Previous
            | Requirement::Frozen => true,
        };
        let clash = &solution.clash;
        let clashes = !clash.is_empty() && clash.iter().all(hard);
        if solution.tally.cost.0[0] == 0 {
            "kept"
        } else if clashes || solution.bound.cost.0[0] > 0 {
            "impossible"
        } else {
            "unknown"
        }
    }

    fn proof(&self, found: &Sooner) -> Proof {
        let (asked, solution) = (&found.asked, &found.solution);
        let (cost, bound) = (solution.tally.cost, solution.bound.cost);
        let without_break = match &solution.clean {
            Clean::Found => "found",
            Clean::Impossible(_) => "impossible",
            Clean::Unknown => "unknown",
        };
        let levelled = self.book().plant.level_weight.value > 0;
        let proven = |(goal, tier): (&&'static str, usize)| {
            let unit = asked.unit(goal, levelled, self.cars.len());
            GoalProof {
                goal: (*goal).to_owned(),
                value: cost.0[tier] as f64 / unit,
                at_least: bound.0[tier] as f64 / unit,
            }
        };
        Proof {
            without_break: without_break.to_owned(),
            must_hold: self.must_hold(solution).to_owned(),
            clash: clash::told(
                (self.book(), self.rules),
                (self.cars, asked),
                &solution.clash,
            ),
            optimal: cost <= bound,
            goals: asked.goals.iter().zip(1..).map(proven).collect(),
            bound_from: BOUNDS.into(),
            moves: solution.steps,
            complete: solution.complete,
            seed: self.question.search.seed,
        }
    }
}
