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
