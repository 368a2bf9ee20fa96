//! Laws that hold for any problem.

pub(crate) mod changes;
mod small;
