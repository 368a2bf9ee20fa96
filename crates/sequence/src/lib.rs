//! The order in which cars are built.
//!
//! Cars of a day or a week, with their options and colours, are put in an order
//! that keeps spacing rules (no more than so many of an option in any so many
//! cars), paints in blocks, uses parts evenly and keeps promises. Numbers in, an
//! order with its proof out; nothing here knows what a plant, a file or a page
//! is.
//!
//! - [`model`]: classes, rules, goals. [`model::Problem::check`] finds what makes
//!   no sense, promises that clash among it.
//! - [`best`]: the best order found, with a bound that none beats, and whether
//!   an order without violation exists.
//! - [`better`]: the same, going on from an order that is there.
//! - [`Requirement`]: what of rules, blocks, promises, previous and frozen cars no
//!   order keeps together, as few of them as can be shown.
//! - [`evaluate()`]: what an order breaks and costs, counted plainly; it knows
//!   nothing of how the order was found.
//! - [`Arranged`]: an order changed by hand, each step judged at once.
//! - [`rule_costs`], [`prices`]: what is gained by dropping or loosening each
//!   rule.
//! - [`mod@level`]: level use of parts by itself: goal chasing, and better.
//! - [`store`]: the painted-body store that undoes what paint has done.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! ```
//! use sequence::model::{Class, Force, Problem, Rule};
//! use sequence::{Clean, Settings, Watch, best};
//!
//! // A morning's vans: no two with a tow bar in a row, nor three of four.
//! let class = |name: &str, count, towbar| Class {
//!     name: name.into(), count, options: vec![towbar], colour: None,
//! };
//! let rule = |at_most, in_every, force| Rule { option: 0, at_most, in_every, force };
//! let mut problem = Problem {
//!     classes: vec![class("plain", 4, false), class("towed", 3, true)],
//!     options: vec!["towbar".into()],
//!     rules: vec![rule(1, 2, Force::Hard), rule(2, 5, Force::Soft(1))],
//!     ..Problem::empty()
//! };
//! let checked = problem.check().map_err(|faults| faults[0].to_string())?;
//! let solution = best(&checked, &Settings::quick(1), &Watch::none());
//! assert_eq!(solution.clean, Clean::Found);
//! assert!(solution.is_optimal());
//!
//! // Two plain vans fewer, and the rules cannot be kept together.
//! problem.classes[0].count = 2;
//! let checked = problem.check().map_err(|faults| faults[0].to_string())?;
//! let solution = best(&checked, &Settings::quick(1), &Watch::none());
//! assert!(matches!(solution.clean, Clean::Impossible(_)));
//! # Ok::<(), String>(())
//! ```
//!
//! The search follows Estellon, Gardi & Nouioua (EJOR 191 (2008) 928-944): very
//! many very small changes, each judged by what it touches. Where spacing rules
//! with short windows are all there is, what a change breaks is looked up, and
//! rows at different warmth change places. Goals are strictly ordered or
//! weighted; the proofs are bounds of single rules, of colours, and of rules and
//! colours together, and counting out a few rules at a time.
//!
//! `examples/orders` orders the published instances of a data folder, each for
//! so many seconds, and prints what is known beside what was found:
//! `cargo run --release -p linewright-sequence --example orders -- FOLDER all 60`.
//!
//! *Never:* a plant, a file, a clock on the wall, another source of luck than
//! the seed.

mod arrange;
mod blocks;
mod bound;
mod check;
mod clash;
mod cooling;
mod cost;
mod evaluate;
mod exact;
mod holds;
mod lateness;
pub mod level;
mod loosen;
pub mod model;
mod moves;
mod pieces;
mod plan;
mod prefix;
pub mod question;
mod relaxed;
mod row;
mod runs;
mod search;
mod short;
mod so_far;
mod solve;
mod start;
pub mod store;
mod stream;
mod tempering;
#[cfg(test)]
mod tests;
mod told;
mod unit;
mod walker;
mod watch;

pub use arrange::{Arranged, Step};
pub use asked::Fault;
pub use bound::Bound;
pub use clash::Requirement;
pub use cost::Cost;
pub use evaluate::{Tally, evaluate};
pub use loosen::{Prices, RuleCost, What, prices, rule_costs};
pub use solve::{Clean, Solution, best, better};
pub use unit::level_unit as level_parts;
pub use watch::{Progress, Settings, Watch};
