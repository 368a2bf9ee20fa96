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
