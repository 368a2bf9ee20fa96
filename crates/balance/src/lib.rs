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
//! ```
//! use balance::{Limits, Watch, Work, fewest_stations, least_takt};
//!
//! // A door in seconds: the seal first, then the window rail or the harness on its
//! // own, both before the panel, the handle last.
//! let work = Work {
//!     ticks: vec![40, 30, 50, 20, 60],
//!     after: vec![vec![], vec![0], vec![0], vec![1, 2], vec![3]],
//! };
//! let limits = Limits { memory_mb: 100, steps: None };
//! let watch = Watch::none();
//!
//! // 200 s of work would fill two stations at a takt of 100 s to the second, but no
//! // two sums of whole tasks in this order do: it takes three, and that is proven.
//! let found = fewest_stations(&work, 100, &limits, &watch).map_err(|f| f[0].to_string())?;
//! assert_eq!((found.stations.len(), found.bound, found.proven), (3, 3, true));
//!
//! // What two stations would need instead: seal and harness 90 s, the rest 110 s.
//! let found = least_takt(&work, 2, &limits, &watch).map_err(|f| f[0].to_string())?;
//! assert_eq!(found.loads(&work), [90, 110]);
//! assert_eq!((found.longest(&work), found.bound), (110, 110));
//! # Ok::<(), String>(())
//! ```
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
pub use watch::{Least, Limits, Progress, Watch};
pub use work::{MOST_TASKS, Work};
