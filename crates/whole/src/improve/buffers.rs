//! Places between stations: the best split of a number of places, the fewest
//! for a rate, and what every bank of a plant is worth both ways.
//!
//! [`best_split`] and [`least_places`] work on anything that makes a figure from
//! places; [`banks`] on the plant of a book.

mod banks;
mod split;

pub use banks::{Bank, BankSettings, BankSide, Banks, Trimmed, banks};
pub use split::{Places, SplitRule, best_split, least_places};
