//! The search for a good sequence of lots on one line.
//!
//! Sequences are drawn from the frequencies of the independent solution, laid
//! out so that the work spreads evenly over the cycle (Dobson 1987), and then
//! changed lot by lot: one more lot of an item, one less, a lot elsewhere, two
//! lots swapped. Each candidate gets its best lengths from the convex programme
//! and is kept by the rule of annealing (Kirkpatrick, Gelatt & Vecchi 1983).
//! Several walks start from different sequences; the better half goes on.

mod change;
mod draw;
mod walk;

pub(crate) use walk::{Found, Hunt, hunt};
