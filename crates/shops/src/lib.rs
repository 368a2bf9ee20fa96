//! The shops of the plant.

pub mod assembly;
pub mod body;
pub mod carts;
pub mod coil;
mod known;
pub mod order;
pub mod paint;
pub mod press;
mod sheet;
