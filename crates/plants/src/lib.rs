//! The figures of many plants, or of years of history, as SQL over the Parquet
//! files of their logs.
//!
//! The questions are the texts in `sql/`, written for any engine. Where the
//! feature `engine` is on, `Engine` puts them to one that runs on one machine.
//! What any engine has to provide is the four tables of `docs/plants.md`.
//!
//! *Never:* a plant book, a row of a log read by itself, a clock on the wall, a
//! sentence for the screen.

mod answer;
#[cfg(feature = "engine")]
mod engine;
mod fault;
mod folder;

pub use answer::{Answer, Cell};
#[cfg(feature = "engine")]
pub use engine::Engine;
pub use fault::Fault;
pub use folder::{Plant, find};

/// Figures of ISO 22400-2 by plant, shop, line and station.
pub const FIGURES: &str = include_str!("../sql/figures.sql");
/// Stops by cause.
pub const STOPS: &str = include_str!("../sql/stops.sql");
/// Cycles by station and product.
pub const CYCLES: &str = include_str!("../sql/cycles.sql");
