//! Rows of cars under spacing rules with short windows and nothing else, judged
//! by looking numbers up.
//!
//! What a change breaks depends on the few cars on either side of each of its
//! joints, and of these only on which have which option: so few bits that what
//! comes of every case is counted beforehand. A change is then judged by some
//! three look-ups a joint, however long the part that it moves, and most changes
//! are let be after the first joint.

#[cfg(test)]
mod laws;
mod pick;
mod row;
mod sweep;
mod tables;

pub(crate) use pick::step;
pub(crate) use row::ShortRow;
pub(crate) use tables::Tables;
