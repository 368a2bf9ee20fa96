//! People or robots: who does what at which station for the least yearly cost.

mod bound;
mod frontier;
mod load;
mod model;
mod order;
mod search;
mod solve;
mod staff;

pub use frontier::{Point, frontier, least_takt_within};
pub use model::{Crewed, Equipped, Kind, Mode, Shop};
pub use solve::least_cost;
pub use staff::{
    Staffed, StaffedLine, StaffedPost, frontier_of_line, least_cost_of_line,
    least_takt_of_line_within,
};
