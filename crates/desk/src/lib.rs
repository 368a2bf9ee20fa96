//! The desk: the store that loses nothing, the HTTP interface, the embedded
//! page, and the report.
//!
//! Reading order:
//!
//! * [`store`]: revisions of the book in one SQLite file;
//! * [`keep`]: backup and restore, the logs beside the store included;
//! * `office`: what is asked of a revision is looked up, or computed once;
//! * `jobs`: long work, its queue, progress and end;
//! * `http`: the interface;
//! * `log_files`, `log_work`: logs of the plant, and what is read out of them;
//! * `doors`: how many connections at once, and how long a slow one is kept;
//! * [`serve()`]: all of it together.
//!
//! *Never:* engineering. Every figure that passes here was computed below.

mod clock;
#[cfg(feature = "schema")]
pub mod contract;
mod doors;
mod http;
mod jobs;
pub mod keep;
mod log_files;
mod log_work;
mod next;
mod office;
pub mod report;
mod serve;
pub mod store;

pub use office::ENGINE;
pub use serve::{Options, ServeError, Stop, serve};
pub use store::{Store, StoreError};
