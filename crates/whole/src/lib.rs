//! The whole plant: what the plan asks of every station, the flow network built
//! from the book, and what both say about where the plant falls short.
//!
//! Reading order:
//!
//! * [`calendar`]: the book's shifts as weekly spells of work;
//! * [`requirement`](mod@requirement): good cars backwards through scrap and
//!   rework to jobs a week at every station, link and part.
//! * [`plan`](mod@plan): takt, load, people, lines, fleets, and what falls short;
//! * [`check`](mod@check): all that is wrong with a book, as tables and as a plant;
//! * [`coil`](mod@coil): coils, their strips and orders, for the build plan;
//! * [`assembly`](mod@assembly): work to stations on the lines that have tasks;
//! * [`body`](mod@body): joints to robots on the lines that have joins;
//! * [`carts`](mod@carts): carts on loops and for supply, confirmed by runs;
//! * [`paint`](mod@paint): the paint shop's plan, which gives stations their cycles;
//! * [`press`](mod@press): the press shop's plan, whose lots may drive the flow;
//! * [`order`]: the build order of a week, which may drive the flow;
//! * [`network`]: the flow network of the book, and where each piece of it
//!   came from.
//! * [`findings`]: that network run, and what it says of the plan;
//! * [`improve`](mod@improve): ideas ranked, the cheapest way to a rate, buffers;
//! * [`money`](mod@money): what a car costs, make or buy, investment cases;
//! * [`growth`](mod@growth): the forecast against each shop, the ideas that follow it, the ramp.
//!
//! ```
//! // 40 hours for 1,000 vans are a takt of 144 s, and 120 s of it a load of five sixths.
//! let book = book::small::book("
//!     [shifts]
//!     shop,shift,days,start,end
//!     body,early,mon-fri,06:00,14:00
//!     [products]
//!     product,cars_per_week
//!     van,1000
//!     [stations]
//!     station,shop,cycle_s
//!     frame,body,120
//! ");
//! let plan = whole::plan::plan(&book).map_err(|problems| problems[0].to_string())?;
//! assert!(plan.holds);
//! assert!((plan.stations[0].load.value - 120.0 / 144.0).abs() < 1e-9);
//! # Ok::<(), String>(())
//! ```
//!
//! *Never:* a file, a clock, random luck of its own.

pub mod assembly;
pub mod body;
pub mod calendar;
pub mod carts;
mod change;
pub mod check;
pub mod coil;
pub mod findings;
pub mod growth;
pub mod improve;
mod lots;
pub mod money;
pub mod network;
pub mod order;
pub mod paint;
pub mod plan;
pub mod press;
pub mod requirement;
mod work;

#[cfg(test)]
mod sample;
