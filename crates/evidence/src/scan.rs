//! Rows of a state log out of bytes or columns, chunk by chunk.
//!
//! A chunk is whole lines. Chunks are parsed side by side; nothing here looks
//! from one row to the next, that is [`crate::gather`]'s.

#[cfg(feature = "parquet")]
mod columns;
mod header;
mod parse;

#[cfg(feature = "parquet")]
pub use columns::Columns;
#[cfg(feature = "parquet")]
pub(crate) use columns::cells;
pub use header::{Header, Separator};
pub(crate) use header::{columns as columns_of, no_lines};
pub use parse::{Chunk, Row, parse};

/// A row without an end: its state lasts until the unit's next row.
pub const OPEN_END: i64 = i64::MIN;
/// No word stands in the cell.
pub const NO_WORD: u32 = u32::MAX;
