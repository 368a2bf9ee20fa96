//! The JSON question of `linewright solve lots`, read strictly, and its answer.
//!
//! A question names items, lines and the policies to answer with. Nothing in it
//! is guessed at or passed over: an unknown key, a misspelt line, a rate of 0
//! is refused with its path, the value found, what was expected and the smallest
//! change that mends it, all misfits at once.
//!
//! What may be left out has one usual value: `available` 1, `max_cover_days`
//! and `max_stock` null for no limit, an item's `lines` all lines, `policy`
//! both, `seed` 1, `hours_per_day` 24 and `days_per_week` 7 (for hours missing
//! only), `halved` false. An entry of an item's `lines` is a line's name, or
//! `{"line": NAME, "make_per_day": ..., "changeover_days": ...,
//! "changeover_cost": ...}` where the item takes something else there.
//!
//! ```
//! let question = lots::question::parse(
//!     r#"{"items": [{"name": "door", "rate_per_day": 200, "make_per_day": 2400,
//!                    "changeover_days": 0.02, "changeover_cost": 400,
//!                    "hold_cost_per_day": 0.02, "max_cover_days": 3}],
//!         "lines": [{"name": "P1"}]}"#,
//! )
//! .map_err(|problems| problems[0].to_string())?;
//! let answer = question.answer(&question.settings(), &lots::Watch::none());
//! assert!((answer.policies[0].items[0].every_days - 3.0).abs() < 1e-9);
//!
//! let refused = lots::question::parse(
//!     r#"{"items": [{"name": "door", "rate": 200}], "lines": [{"name": "P1"}]}"#,
//! );
//! assert!(refused.is_err_and(|problems| problems[0].path == "items[0].rate"));
//! # Ok::<(), String>(())
//! ```

mod answer;
mod overloaded;
mod read;

use crate::model::Checked;
use crate::solve::Settings;
pub use answer::{Alone, Answer, ByLine, Entry, HalvedAnswer, ItemAnswer, PolicyAnswer, Status};
pub use asked::Problem;
pub use overloaded::{LineOverloadAnswer, OverloadAnswer};

/// Which kind of timetable to answer with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Policy {
    /// Every item once a cycle on its line.
    CommonCycle,
    /// The best repeating timetable found.
    Best,
}

impl Policy {
    /// The word in a question.
    pub const fn word(self) -> &'static str {
        match self {
            Self::CommonCycle => "common_cycle",
            Self::Best => "best",
        }
    }
}

/// A question that may be asked of the solver.
#[derive(Clone, Debug)]
pub struct Question {
    /// Items and lines, their numbers checked.
    pub checked: Checked,
    /// What to answer with, in this order.
    pub policies: Vec<Policy>,
    /// Seed of the search.
    pub seed: u64,
    /// Hours in one of the question's days.
    pub hours_per_day: f64,
    /// Such days in a week.
    pub days_per_week: f64,
    /// Whether to say what halving changeovers gives.
    pub halved: bool,
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
/// Every misfit of the text, lines before items; never an empty list.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, read::read)
}
