//! How large a book may be.
//!
//! The first limits are wide of any plant: a book of a whole plant has some
//! 10,000 cells. They keep a file from anywhere from taking the machine: a book
//! as large as they allow is read in less than 500 MB of memory.

use crate::Problem;

/// Rows below a table's header.
pub const ROWS: u32 = 200_000;
/// Columns of a table.
pub const COLUMNS: usize = 256;
/// Characters of a cell; the same as a spreadsheet's own limit.
pub const CELL_CHARS: usize = 32_767;
/// Tables of a book.
pub const TABLES: usize = 256;
/// Bytes of a workbook's file, or of all files of a folder.
pub const FILE_BYTES: u64 = 64 << 20;
/// Bytes that a workbook may unpack to.
pub const UNPACKED_BYTES: u64 = 256 << 20;
/// Cells of a book, empty ones between others counted.
pub const CELLS: usize = 4_000_000;
/// Bytes of text in a book.
pub const TEXT_BYTES: usize = 64 << 20;

/// Bytes that one sheet of a workbook may unpack to.
pub(super) const PART_BYTES: u64 = 128 << 20;
/// Bytes that the shared texts or styles of a workbook may unpack to; the
/// spreadsheet reader keeps them in memory.
pub(super) const SHARED_BYTES: u64 = 48 << 20;
/// Different texts of a workbook.
pub(super) const SHARED_TEXTS: usize = 1_000_000;
/// Files in a workbook's package.
pub(super) const ENTRIES: usize = 10_000;
/// A part that packs better than this holds nothing an engineer wrote:
/// deflate ends at about 1,030 to 1 and sheets of like rows reach about 60.
pub(super) const PACKED_RATIO: u64 = 250;
/// Below this size the ratio does not matter.
pub(super) const RATIO_FROM: u64 = 4 << 20;

pub(super) fn too_many_tables(found: usize) -> Box<Problem> {
    Problem::error("book", "too-many-tables")
        .found(format!("{found} tables"))
        .expected(format!("at most {TABLES}"))
        .mend("keep the book's tables in a place of their own")
        .boxed()
}
