//! From rows to what each unit did: order checked, time summed by shift, cycles
//! and stops measured. Memory grows with units, shifts and stops kept, never
//! with rows.

mod known;
mod measures;
mod stops;
mod unit;

pub(crate) use known::{Context, Known};
pub use measures::{Cell, Moments, Sample};
pub use stops::{CauseSum, StopLog};
pub use unit::{Rules, Spell, UnitLog};
