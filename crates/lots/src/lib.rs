//! Lots on lines with changeovers: how much of what to make when, over and
//! over, so that nothing runs out.
//!
//! Items are used up steadily and made in lots on lines that make one item at a
//! time and need a changeover before each lot: the economic lot scheduling
//! problem. Numbers in, timetables with their proof out; nothing here knows what
//! a press, a file or a page is.
//!
//! - [`model`]: items, lines, limits. [`model::Problem::check`] finds what makes
//!   no sense.
//! - [`economic_lot`]: one item alone, in closed form.
//! - [`common_cycle`]: every item once a cycle, the simple answer.
//! - [`best`]: a repeating timetable with lots of varying length, and a bound
//!   that no timetable beats.
//! - [`replay()`]: the proof that a timetable never overlaps and never runs out,
//!   in whole ticks; it knows nothing of how the timetable was found.
//! - [`overload()`]: what lines lack, and the smallest change that frees them.
//! - [`gain()`]: what quicker changeovers give in days, pieces and money.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! ```
//! use lots::model::{Item, Line, LineIdx, Problem, Way};
//! use lots::{Settings, Watch, best, common_cycle};
//!
//! // Two panels from one press: 100 a day of each, 1,000 a day while it runs one.
//! let panel = |name: &str| Item {
//!     name: name.into(),
//!     rate_per_day: 100.0,
//!     hold_cost_per_day: 0.02,
//!     max_cover_days: None,
//!     max_stock: None,
//!     ways: vec![Way {
//!         line: LineIdx(0),
//!         make_per_day: 1_000.0,
//!         changeover_days: 0.1,
//!         changeover_cost: 50.0,
//!     }],
//! };
//! let press = Line { name: "press".into(), available: 1.0 };
//! let problem = Problem { items: vec![panel("roof"), panel("hood")], lines: vec![press] };
//! let checked = problem.check().map_err(|faults| faults[0].to_string())?;
//!
//! // One lot of each in a cycle of sqrt(2 * 100 / (2 * 0.02 * 100 * 0.9)) days.
//! let rotation = common_cycle(&checked, 1).map_err(|refusal| refusal.to_string())?;
//! let cost = 2.0 * 100.0 / (200.0_f64 / 3.6).sqrt();
//! assert!((rotation.replay.cost_per_day - cost).abs() < 1e-3);
//!
//! // Like items gain nothing from lots of varying length.
//! let found = best(&checked, &Settings { seed: 1, work: 1_000_000 }, &Watch::none())
//!     .map_err(|refusal| refusal.to_string())?;
//! assert!(found.lower_bound_per_day <= found.schedule.replay.cost_per_day);
//! assert!((found.schedule.replay.cost_per_day - cost).abs() < 1e-3);
//! # Ok::<(), String>(())
//! ```
//!
//! Every lot starts as the last one of its item runs out. Within that class lots
//! may differ at will; the bound holds for all timetables.
//!
//! *Never:* a plant, a file, a clock on the wall, another source of luck than
//! the seed.

mod assign;
mod bound;
mod exact;
mod fit;
mod gain;
pub mod model;
mod overload;
mod programme;
pub mod question;
mod refusal;
mod replay;
mod rotation;
mod search;
mod solve;
mod stream;
mod timetable;

pub use asked::Fault;
pub use gain::{Change, Figures, Gain, figures, gain};
pub use overload::{LineOverload, Overload, overload};
pub use refusal::Refusal;
pub use replay::{Flaw, ItemReplay, LineReplay, Replay, replay};
pub use rotation::{EconomicLot, economic_lot};
pub use solve::{
    Progress, Schedule, Settings, Solution, Watch, best, common_cycle, improve, lower_bound,
};
pub use timetable::{Lot, TICKS_PER_DAY, Timetable, days};
