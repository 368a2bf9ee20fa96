//! The JSON question of `linewright solve sequence`, read strictly, and its
//! answer.
//!
//! `classes` have a `name`, a `count` and their `options`: true or false for
//! each option in turn, or the names of those they have. `options` carry their
//! rule: `at_most` in any `in_every` cars in a row, with a `weight` (1), or
//! `hard`; further rules stand in `rules`, which name their `option`. What may
//! be left out has one usual value: no rule, `counted` `"windows"`, `past_end`
//! false, `colours` none, `level` weight 0 (its `parts` the options), no
//! `previous` and no `frozen` cars, `slots` and `cars` as many as there are,
//! `goals` one weighted sum, `seed` 1, `costs` false.
//!
//! `before` holds promises: `{"class": NAME, "position": 20, "count": 2}` wants
//! two of these cars among the first 20; with a `weight` a late car costs so
//! much, without it the promise must be kept. `held` is its mirror, cars that
//! are not there from the start: `{"class": NAME, "until": 20, "ready": 2}` lets
//! no more than two of these cars stand among the first 20 (none without
//! `ready`). `goals` in strict order are groups of names of options,
//! `"colours"`, `"level"` and `"promises"`: `[["sunroof", "towbar"],
//! ["colours"]]`. With `costs` true the answer says what each rule costs: of a
//! limit on time the order then takes the first 60 %, and what is not priced in
//! the rest is listed as such.
//!
//! An answer with violations says `why`: `because` lists the rules, longest
//! blocks, promises, held, previous and frozen cars that no order keeps together,
//! as few as could be shown, with their figures, and `clash` their names; or
//! `why` says that it is not proved.
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
mod read;

use crate::model::Checked;
use crate::watch::Settings;
pub use answer::{Answer, ByName, CostAnswer, GoalAnswer, NotPriced, RuleAnswer, Status};
pub use asked::Problem;
pub use because::{Because, Part};

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
