//! The rows of an answer.

/// A cell of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing: in a sum over all of a column, or a share of nothing.
    Empty,
    /// A word, a stamp, yes or no.
    Word(String),
    /// A count.
    Whole(i64),
    /// Any other number, in the unit that its column's name ends with.
    Number(f64),
}

/// What a question came to: columns and rows, in the question's own order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// The columns' names; none where there is no row.
    pub columns: Vec<String>,
    /// A cell for each column.
    pub rows: Vec<Vec<Cell>>,
}
