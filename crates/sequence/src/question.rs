//! The JSON question of `linewright solve sequence`, read strictly, and its
//! answer.
//!
//! `classes` have a `name`, a `count` and their `options`: true or false for
//! each option in turn, or the names of those they have; at least one class has
//! cars. `options` carry their rule: `at_most` in any `in_every` cars in a row,
//! with a `weight` (1), or `hard`; further rules stand in `rules`, which name
//! their `option`. Breaks are `counted` as `"windows"`, one for each run of cars
//! past the rule, or as `"excess"`, the cars above it; with `past_end` runs that
//! reach past the last car count too.
//!
//! `colours` have the longest block, what a change costs and who has which:
//! `{"max_block": 4, "change_weight": 1, "of_class": {NAME: COLOUR}}`. `level`
//! is what the squares of the distances from even use weigh, and of what:
//! `{"weight": 1, "parts": [{"name": PART, "per_car": {NAME: 2}}]}`; without
//! `parts` of the options.
//!
//! What may be left out has one usual value: no rule, `counted` `"windows"`,
//! `past_end` false, no longest block and weight 0 of changes and of `level`, no
//! `previous` and no `frozen` cars (names of classes, the first one first),
//! `slots` and `cars` as many as there are, `goals` one weighted sum, `seed` 1,
//! `costs` false.
//!
//! `before` holds promises: `{"class": NAME, "position": 20, "count": 2}` wants
//! two of these cars (one without `count`) among the first 20, which are no more
//! than there are; with a `weight` a late car costs so much, without it the
//! promise must be kept. `held` is its mirror, cars that are not there from the
//! start: `{"class": NAME, "until": 20, "ready": 2}` lets no more than two of
//! these cars stand among the first 20 (none without `ready`).
//!
//! `goals` in strict order are groups of names of options, `"colours"`,
//! `"level"` and `"promises"`: `[["sunroof", "towbar"], ["colours"]]`. Colours
//! and level use that are named there weigh 1 unless told otherwise; a goal that
//! weighs nothing is refused. What has a weight and is not named, the answer
//! lists as `not_minded`: the order is made, and called `optimal`, without it.
//!
//! With `costs` true the answer says what each rule costs: of a limit on time
//! the order then takes the first 60 %, and what is not priced in the rest is
//! listed as such.
//!
//! Where level use is weighed the answer holds it against `goal_chasing`, whose
//! `order` minds `level` use and frozen cars alone, and against `least_level`,
//! the least `level` that is known for such an order: `proven`, where the counts
//! of cars alike in what they use are few enough.
//!
//! An answer tells of each promise its `class`, `count`, `within` and how many
//! come `late`, of each entry of `held` its `class`, `ready`, `until` and how
//! many stand too `early`. With violations it says `why`: `because` lists the
//! rules, longest blocks, promises, held, previous and frozen cars that no order
//! keeps together, as few as could be shown, with their figures, and `clash`
//! their names; or `clean_order` is one without violation that the goals or
//! weights rank lower; or `why` says that this is not proved, or was not looked
//! for, and what came first.
//!
//! ```
//! let question = sequence::question::parse(
//!     r#"{"classes": [{"name": "plain", "count": 2, "options": [false]},
//!                     {"name": "towbar", "count": 2, "options": [true]}],
//!         "options": [{"name": "towbar", "at_most": 1, "in_every": 2}]}"#,
//! )
//! .map_err(|problems| problems[0].to_string())?;
//! let answer = question.answer(&question.settings(), &sequence::Watch::none());
//! assert_eq!(answer.total_weighted, 0.0);
//!
//! let refused = sequence::question::parse(
//!     r#"{"classes": [{"name": "plain", "count": 2, "options": [false]}],
//!         "options": [{"name": "towbar", "at_most": 3, "in_every": 2}]}"#,
//! );
//! assert!(refused.is_err_and(|problems| problems[0].path == "options[0].at_most"));
//! # Ok::<(), String>(())
//! ```

mod answer;
mod because;
mod dated;
mod goals;
mod levelled;
mod read;

use crate::model::Checked;
use crate::watch::Settings;
pub use answer::{
    Answer, ByName, CostAnswer, EarlyAnswer, GoalAnswer, LateAnswer, NotPriced, RuleAnswer, Status,
};
pub use asked::Problem;
pub use because::{Because, Part};
pub use levelled::{ChasedAnswer, LeastLevel};

/// A question that may be asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Cars and rules, checked.
    pub checked: Checked,
    /// Weights are kept as whole numbers of this part of one.
    pub per_unit: u32,
    /// Seed of the search.
    pub seed: u64,
    /// Whether to say what each rule costs.
    pub costs: bool,
}

impl Question {
    /// The settings of a thorough search with the question's seed.
    pub const fn settings(&self) -> Settings {
        Settings::thorough(self.seed)
    }

    /// Takes another seed than the question's own.
    pub const fn reseed(&mut self, seed: u64) {
        self.seed = seed;
    }
}

/// Reads a question.
///
/// # Errors
///
/// Every misfit of the text; never an empty list.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, read::read)
}
