//! The trade's formulas, as a sheet that computes and shows its working.
//!
//! Each formula is declared once: name, symbols with unit, meaning and legal
//! range, the formula as text, its published source, a caution where people
//! can get hurt, and the Rust expression that computes it. Three doors lead to
//! the same declaration, and all three yield a [`Working`]:
//!
//! * the typed function, for code: `calendar::takt(Minutes(880.0), Count(200.0))`,
//!   whose inputs may carry where they came from ([`Sourced`]);
//! * [`compute`], for people: a name and pairs of text with units;
//! * [`formula_sheet_markdown`], the handbook.
//!
//! ```
//! use formulas::{Sourced, calendar};
//! use units::{Count, Minutes, Seconds};
//!
//! let demand = Sourced::cell(Count(200.0), "products", 2, "cars_per_day");
//! let takt = calendar::takt(Minutes(880.0), demand)?;
//! assert_eq!(takt.value, Seconds(264.0));
//! let cycle = calendar::design_cycle(&takt, units::Share(0.9))?;
//! assert!((cycle.value.0 - 237.6).abs() < 1e-9);
//! println!("{}", cycle.working);
//!
//! let by_text = formulas::compute("takt", &[("net_time", "880 min"), ("demand", "200")])?;
//! assert_eq!(by_text.result("takt"), Some(264.0));
//! # Ok::<(), formulas::Refusal>(())
//! ```
//!
//! *Never:* a plant, a table, a file, a random number. Money is a plain number
//! in the plant's currency.

mod catalogue;
mod chain;
mod declare;
mod formula;
mod handbook;
mod measure;
mod origin;
mod quantity;
mod range;
mod refusal;
mod roots;
mod rounding;
mod value;
mod working;

pub mod calendar;
pub mod cascade;
pub mod coil;
pub mod cost;
pub mod fleet;
pub mod guarding;
pub mod joining;
pub mod kpi;
pub mod lifting;
pub mod load;
pub mod money;
pub mod paint;
pub mod press;
pub mod rate_plan;
pub mod reliability;
pub mod stock;
pub mod work_time;

pub use catalogue::{all, compute, find};
pub use formula::{Formula, Symbol};
pub use handbook::formula_sheet_markdown;
pub use origin::{Origin, Sourced};
pub use quantity::*;
pub use range::Range;
pub use refusal::{Fault, Refusal};
pub use rounding::{over, whole_up};
pub use value::{Amount, Outcome, Value};
pub use working::{Figure, Term, Working};
