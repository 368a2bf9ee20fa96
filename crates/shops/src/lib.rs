//! The shops of the plant: rows of the book and what the week needs become a
//! solver's question, its solution becomes the shop's plan, with workings.
//!
//! Each module has one function of its own name, from a question of plain numbers
//! to a plan that serialises:
//!
//! - [`mod@coil`]: blanks and their outlines in; strips, coils to hold and orders out.
//! - [`mod@press`]: pieces a week and hours of the lines in; what each line can make,
//!   its lots and its timetable out.
//! - [`mod@body`]: joints and takt of a line in; methods, seconds and a robot for each
//!   joint out.
//! - [`mod@paint`]: bodies a week and working time in; speeds, lengths, films, colours,
//!   repairs and stores of the paint line out.
//! - [`mod@assembly`]: tasks and takt of a line in; who does what at which station, and
//!   the least work to move, out.
//! - [`mod@carts`]: what lies on each loop in; carts, supply carts and stores out.
//! - [`mod@order`]: the week's cars and the pace of the stations in; the order in which
//!   they are built out.
//!
//! ```
//! use book::Carrier;
//! use formulas::Sourced;
//! use shops::carts::{LoopNeed, Question, carts};
//! use units::{Count, Metres, Minutes, Seconds, Share};
//!
//! // 24 stations at a takt of 237.6 s, three minutes empty back, two of loading and
//! // unloading, 95 of 100 carts fit for use.
//! let cart = Carrier {
//!     carrier: "cart".into(),
//!     count: 30,
//!     loop_m: Some(Metres(120.0)),
//!     speed_m_min: Some(40.0),
//!     load_s: Seconds(60.0),
//!     unload_s: Seconds(60.0),
//!     availability: Share(0.95),
//!     battery_min: Minutes(480.0),
//!     charge_min: Minutes(80.0),
//!     ..Carrier::default()
//! };
//! let book = book::Book { carriers: vec![cart], ..book::Book::default() };
//! let need = LoopNeed {
//!     carrier: 0,
//!     jobs: Sourced::from(Count(1_000.0)),
//!     net: Sourced::from(Minutes(3_960.0)),
//!     stations: Sourced::from(Count(24.0)),
//!     moves: Sourced::from(Seconds(0.0)),
//! };
//! let plan = carts(&Question { book: &book, loops: &[need], cars: &[], stores: &[] })
//!     .map_err(|problems| problems[0].to_string())?;
//! assert!(plan.holds);
//! assert_eq!(plan.loops[0].needed.value, 27.0);
//! # Ok::<(), String>(())
//! ```
//!
//! What a book lacks for a plan comes back as problems, each with its row and the
//! way out.
//!
//! *Never:* another shop's plan, the requirement (it comes as an argument), the flow,
//! a file, a clock.

pub mod assembly;
pub mod body;
pub mod carts;
pub mod coil;
mod follow;
mod known;
pub mod order;
pub mod paint;
pub mod press;
mod sheet;

pub use follow::{Progress, Watch};
pub use units::SoFar;
