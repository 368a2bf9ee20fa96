//! Rows of a state log out of bytes, chunk by chunk.
//!
//! A chunk is whole lines. Chunks are parsed side by side; nothing here looks
//! from one row to the next, that is [`crate::gather`]'s.

mod header;
mod parse;

pub use header::{Header, Separator};
pub use parse::{Chunk, Row, parse};

/// A row without an end: its state lasts until the unit's next row.
pub const OPEN_END: i64 = i64::MIN;
/// No word stands in the cell.
pub const NO_WORD: u32 = u32::MAX;
