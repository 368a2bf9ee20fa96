//! Quantities of the shop floor.
//!
//! A number alone does not say whether it is a duration or a rate. Each type
//! here is one kind of quantity in one unit, the unit its column header or
//! symbol carries; arithmetic that makes no sense does not compile. What a
//! user types with another unit (`2.5 min`, `18 kN`) is converted in one
//! place, [`Unit::parse`] and [`Unit::to_base`].
//!
//! The smallest thing that all rooms share stands here too: [`nearest`], which
//! finds the right name for a misspelt one.
//!
//! *Never:* a plant, a file, a formula.

mod nearest;
mod quantity;
mod unit;

pub use nearest::{nearest, slips};
pub use quantity::{
    Count, Days, Hours, Kilograms, Kilonewtons, Kilowatts, Megapascals, Metres, Millimetres,
    Minutes, Money, PerHour, PerWeek, Quantity, Seconds, Share,
};
pub use unit::{Dimension, Unit, UnitError};
