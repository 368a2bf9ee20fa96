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
//! ```
//! use desk::Store;
//! use desk::store::{Author, Edit, Edited, Incoming, Patch};
//!
//! let folder = tempfile::tempdir()?;
//! let store = Store::open(&folder.path().join("plant.lw"))?;
//! let ada = Author::new("Ada", "");
//! let variant = store.new_variant("plan", None, &ada)?;
//! let book = book::small::workbook("
//!     [stations]
//!     station,cycle_s
//!     frame,60
//! ");
//! let seen = store.import(variant.variant, Incoming::Book { workbook: &book, name: "Quay" }, &ada)?;
//! let (_, content, _) = store.revision(seen.id)?;
//! let row = content.table("stations").ok_or("no stations")?.rows[0].id.clone();
//!
//! // Two engineers edit what they both saw. Whoever comes second is told, and nothing
//! // is overwritten.
//! let edit = |value: &str, author: &str| Edit {
//!     base: seen.id,
//!     by: Author::new(author, ""),
//!     patches: vec![Patch::Set {
//!         table: "stations".into(),
//!         row: row.clone(),
//!         column: "cycle_s".into(),
//!         value: value.into(),
//!     }],
//! };
//! assert!(matches!(store.edit(variant.variant, &edit("58", "Ada"))?, Edited::Saved { .. }));
//! assert!(matches!(store.edit(variant.variant, &edit("57", "Ben"))?, Edited::Conflicts { .. }));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
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
