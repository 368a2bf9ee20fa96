//! Quantities of the shop floor.
//!
//! A number alone does not say whether it is a duration or a rate. Each type
//! here is one kind of quantity in one unit, the unit its column header or
//! symbol carries; arithmetic that makes no sense does not compile. What a
//! user types with another unit (`2.5 min`, `18 kN`) is converted in one
//! place, [`Unit::parse`] and [`Unit::to_base`].
//!
//! What all rooms share and none could own stands here too: [`nearest`], which
//! finds the right name for a misspelt one; [`grouped`], a count as it is read;
//! [`civil`], the calendar's days as numbers; [`splitmix`], the luck of the
//! solvers; [`SoFar`], what their searches tell while they run.
//!
//! ```
//! use units::{Minutes, Unit, nearest};
//!
//! // Eight minutes of stops off an early shift of eight hours.
//! assert_eq!((Minutes(480.0) - Minutes(8.0)).seconds().0, 28_320.0);
//!
//! let kilonewton = Unit::find("kN").ok_or("kN")?;
//! assert_eq!(kilonewton.parse("18000 N"), Ok(18.0));
//! assert_eq!(nearest("framign", ["framing", "trim"]), Some("framing"));
//! # Ok::<(), &str>(())
//! ```
//!
//! *Never:* a plant, a file, a formula.

pub mod civil;
mod grouped;
mod nearest;
mod quantity;
mod so_far;
pub mod splitmix;
mod unit;

pub use grouped::grouped;
pub use nearest::{nearest, slips};
pub use quantity::{
    Count, Days, Hours, Kilograms, Kilonewtons, Kilowatts, Megapascals, Metres, Millimetres,
    Minutes, Money, PerHour, PerWeek, Quantity, Seconds, Share,
};
pub use so_far::SoFar;
pub use unit::{Dimension, Unit, UnitError};
