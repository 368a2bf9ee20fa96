//! The order in which cars are built.
//!
//! *Never:* a plant, a file, a clock on the wall, another source of luck than
//! the seed.

mod bound;
#[cfg(test)]
mod change_laws;
mod check;
mod cost;
mod evaluate;
mod exact;
mod fault;
pub mod level;
mod loosen;
pub mod model;
mod moves;
mod pieces;
mod plan;
pub mod question;
mod row;
mod runs;
mod search;
#[cfg(test)]
mod small_laws;
mod solve;
mod start;
pub mod store;
mod stream;
mod watch;

pub use bound::Bound;
pub use cost::Cost;
pub use evaluate::{Tally, evaluate};
pub use fault::Fault;
pub use loosen::{RuleCost, What, rule_costs};
pub use solve::{Clean, Solution, best};
pub use watch::{Progress, Settings, Watch};
