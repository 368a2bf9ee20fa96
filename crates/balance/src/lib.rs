//! Work to stations within takt.
//!
//! Numbers in, an assignment with a proof out: every answer carries a bound
//! that no other answer can beat, and says whether it meets it. Times are whole
//! ticks of the caller's choosing.
//!
//! - [`fewest_stations`] and [`least_takt`]: one side, one person a station.
//! - [`mod@line`]: two sides, several people a station, mixed models, rules of place,
//!   and heavy cars in a row against the length of a station.
//! - [`cost`]: people or robots with tools, for the least yearly cost.
//! - [`cell`]: a robot that changes tools.
//! - [`again`]: the least work moved from today's stations.
//! - [`robots`]: like joints to robots around stations in a row, charted in time.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! *Never:* a plant, a file, a clock on the wall, a number that depends on how
//! many threads there are.

mod fault;
mod set;
#[macro_use]
mod simple;
pub mod again;
pub mod cell;
pub mod cost;
pub mod line;
pub mod question;
pub mod robots;
mod watch;
mod work;

pub use fault::{Fault, PlaceRule};
pub use simple::{Balance, fewest_stations, least_takt};
pub use watch::{Limits, Progress, Watch};
pub use work::{MOST_TASKS, Work};
