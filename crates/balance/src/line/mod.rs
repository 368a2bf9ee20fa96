//! Lines with two sides, several people a station, models and rules of place.

mod beam;
mod check;
mod clash;
mod drift;
mod fill;
mod frame;
mod given;
mod model;
mod posts;
mod search;
mod shortest;
mod solve;
mod takt;

pub(crate) use fill::{Luck, Mix};
pub(crate) use given::given;
pub(crate) use solve::balance_as_a_trial;

pub use check::broken_rules;
pub use drift::{Dense, Drift, drift, run_by_chance, worst_run};
pub use given::{given_station, post_ends};
pub use model::{Line, LineBalance, Measure, Model, Placed, Post, Rules, Side, Station};
pub use posts::with_fewest_posts;
pub use solve::balance_line;
pub use takt::least_takt_of_line;
