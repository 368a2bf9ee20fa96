//! From rows to what each unit did: order checked, time summed by shift, cycles
//! and stops measured. Memory grows with units, shifts and stops kept, never
//! with rows.

mod measures;
mod stops;
mod unit;

pub use measures::{Cell, Moments, Sample};
pub use stops::{CauseSum, StopLog};
pub(crate) use unit::{Context, Known};
pub use unit::{Rules, Spell, UnitLog};
