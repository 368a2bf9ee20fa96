//! What the plant really did: logs in, standard figures, fits and lost cars
//! out, and the book's assumptions held against them.
//!
//! Reading order:
//!
//! * [`time`], [`state`], [`hours`]: instants, states and shifts of a log;
//! * [`map`], [`roster`]: what another log's columns and names mean;
//! * [`scan`], [`gather`], [`read`]: rows out of files, and what each unit did;
//! * [`defects`]: what is wrong with a log, counted and listed;
//! * [`events`]: XES and OCEL event logs;
//! * [`figures`]: the figures of ISO 22400-2, by station, line, shop, shift, day;
//! * [`fit`]: times between stops and times to repair as distributions;
//! * [`planned`]: what the book plans, as tables beside a log;
//! * [`rehearse`]: a log of the plant's own run, whose truth is known;
//! * [`learn`]: proposed values against the book's, and whether the model is
//!   believable;
//! * [`day`]: what each loss of a day cost in cars.
//!
//! ```
//! use evidence::figures::{Grain, figures};
//! use evidence::gather::Rules;
//! use evidence::map::LogMap;
//! use evidence::read::Gatherer;
//! use evidence::roster::Roster;
//! use std::sync::atomic::AtomicBool;
//!
//! // A press of a minute a piece, round the clock.
//! let book = book::small::book("
//!     [products]
//!     product,cars_per_week
//!     van,7000
//!     [stations]
//!     station,shop,cycle_s
//!     press,press,60
//! ");
//! let built = whole::network::build(&book).map_err(|problems| problems[0].to_string())?;
//! let roster = Roster::of(&book, &built, LogMap::default());
//!
//! // Three minutes of an hour it stood still.
//! let log = "station,from,to,state,cause,item\n\
//!            press,2026-03-02T06:00:00Z,2026-03-02T06:57:00Z,working,,1\n\
//!            press,2026-03-02T06:57:00Z,2026-03-02T07:00:00Z,stopped,jam,1\n";
//! let rules = Rules { merge: 0, short: 0, keep: None };
//! let mut gatherer = Gatherer::new(&roster, rules);
//! let read = gatherer.read("states.csv", log.as_bytes(), &AtomicBool::new(false));
//! read.map_err(|stopped| format!("{stopped:?}"))?;
//! let found = figures(&gatherer.finish(), &roster, Grain::ALL);
//! for figures in found.values() {
//!     assert_eq!((figures.apt_s, figures.adet_s), (3_420.0, 180.0));
//!     assert_eq!(figures.ratios.availability, Some(0.95));
//! }
//! # Ok::<(), String>(())
//! ```
//!
//! *Never:* a clock on the wall, a figure of the plan, a sentence for the screen.

pub mod day;
pub mod defects;
pub mod events;
pub mod figures;
pub mod fit;
pub mod gather;
pub mod hours;
pub mod learn;
pub mod map;
pub mod planned;
pub mod read;
pub mod rehearse;
pub mod roster;
pub mod scan;
pub mod state;
pub mod time;
