//! The JSON question of `linewright solve balance`, read strictly, and its
//! answer.
//!
//! `tasks` have a `name`, `s`, `after`, on a two-sided line a `side`, and for
//! a question of cost their `modes`. Questions of cost are `"cost"`, the least for
//! a takt; `"frontier"`, the same for every number of stations; and `"takt"` with a
//! `budget_per_year`. What may be left out has one usual
//! value: `after` none, `side` `"either"`, `objective` `"stations"`, `sides` 1,
//! `people` (at a station, a side) 1, every rule none, `overload_share` 0. A
//! `station_after` of `["a", "b", 2]` has b at least two stations behind a;
//! `fixed` is `{"a": 3}` or `[["a", 3]]`, the first station being 1. In `models` a task
//! that is left out of `s` is not done on that model; where there are models
//! the tasks' own `s` may be left out.
//!
//! Questions of cost take sides, people, models and rules too. One kind in `by`
//! then shares stations; the others have a station to themselves (`"alone"`,
//! usually `"yes"` for a kind that changes tools), and a model names the tasks that
//! it is `without`, as the seconds are those of the modes.
//!
//! ```
//! use balance::{Limits, Watch, question};
//!
//! let question = question::parse(
//!     r#"{"tasks": [{"name": "wire", "s": 6}, {"name": "seal", "s": 4.5, "after": ["wire"]}],
//!         "takt_s": 10}"#,
//! )
//! .map_err(|problems| problems[0].to_string())?;
//! let answer = question.solve(&Limits { memory_mb: 100, steps: None }, &Watch::none());
//! assert_eq!(answer.count, 2);
//!
//! let refused = question::parse(r#"{"tasks": [{"name": "wire", "s": 6}], "takt": 10}"#);
//! assert!(refused.is_err_and(|problems| problems[0].mend == "did you mean `takt_s`?"));
//! # Ok::<(), String>(())
//! ```

mod answer;
mod read;
mod rules;
mod solve;
mod staffed;
mod ticks;

use crate::cost::Shop;
use crate::line::Line;
pub use answer::{Answer, PointAnswer, StationAnswer, Status, WorkAnswer};
pub use asked::Problem;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Objective {
    /// Fewest stations for the takt.
    Stations {
        /// In ticks.
        takt: u32,
    },
    /// Least takt for so many stations.
    Takt {
        /// How many.
        stations: u32,
    },
    /// Least takt that a yearly budget buys.
    Budget {
        /// Whole money a year.
        per_year: u64,
    },
    /// Least yearly cost for the takt.
    Cost {
        /// In ticks.
        takt: u32,
    },
    /// Least yearly cost for the takt, for every number of stations.
    Frontier {
        /// In ticks.
        takt: u32,
    },
}

/// A question that may be asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// The tasks' names.
    pub tasks: Vec<String>,
    /// The names of those who do the work, for the objective cost.
    pub kinds: Vec<String>,
    /// By kind, the names of its tools.
    pub tools: Vec<Vec<String>>,
    /// Ticks in a second.
    pub per_second: u32,
    /// What is asked for.
    pub objective: Objective,
    /// The line.
    pub line: Line,
    /// The same as work for kinds, for the objective cost.
    pub shop: Shop,
    /// The kind that shares a station with others of it; the rest have one to
    /// themselves.
    pub people: Option<usize>,
}

/// Reads a question.
///
/// # Errors
///
/// Every misfit of the text; never an empty list.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, read::read)
}
