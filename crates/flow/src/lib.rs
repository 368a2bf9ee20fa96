//! Flow of jobs through stations and buffers: simulation, exact references and
//! the statistics of both.
//!
//! Numbers in, numbers with intervals out; nothing here knows what a vehicle,
//! a file or a page is.
//!
//! - [`model`]: what is simulated. [`Plan::compile`] checks it, [`run()`] runs it.
//! - [`Outcome`]: rate, times, content, state shares, critical path, each with
//!   its replications.
//! - [`observe()`]: one replication, told job by job as a log of the plant would.
//! - [`gains`]: what a change gives, by paired runs with the same luck.
//! - [`theory`]: exact and analytic results for small systems, a second opinion.
//! - [`statistics`]: intervals, warm-up, batch means, quantiles.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! [`run()`] has a line in an example, [`observe()`] a single station.
//!
//! *Never:* a plant, a file, a clock on the wall, a thread-local stream.

mod clock;
mod compare;
mod compile;
pub mod distribution;
mod engine;
pub mod model;
mod observe;
mod outcome;
mod plan;
pub mod question;
pub mod reference;
mod run;
pub mod statistics;
pub mod stream;
pub mod theory;

pub use compare::{Change, Gain, NoComparison, gains};
pub use compile::Fault;
pub use distribution::Distribution;
pub use observe::{Down, JobOut, Observed, Pass, Verdict, observe};
pub use outcome::{Estimate, LinkOutcome, Outcome, PathShare, Spell, StationOutcome, Stuck, Times};
pub use plan::Plan;
pub use run::{Halt, Precise, Progress, Settings, WarmUp, Watch, run};
