//! The plant book: one description of a plant in plain tables.
//!
//! A book lies in a folder of CSV files or in one .xlsx workbook; both hold the
//! same. [`raw`] is the book as text and loses nothing; [`check()`] gives the
//! text its meaning, [`Book`], and lists every [`Problem`] at once.
//!
//! ```
//! // A letter where a figure belongs, and a station that is misspelt.
//! let workbook = book::small::workbook("
//!     [products]
//!     product,cars_per_week
//!     van,700
//!     [stations]
//!     station,shop,cycle_s
//!     frame,body,6O
//!     trim,assembly,58
//!     [links]
//!     from,to,holds
//!     frame,trimm,4
//! ");
//! let checked = book::check(&workbook);
//! assert!(!checked.holds());
//! let [cycle, link] = &checked.problems[..] else { panic!("{:?}", checked.problems) };
//! assert_eq!((cycle.table.as_str(), cycle.row, &*cycle.found), ("stations", Some(2), "`6O`"));
//! assert_eq!(link.nearest.as_deref(), Some("trim"));
//! ```
//!
//! *Never:* a calculation, a default that the schema does not name.

mod cell;
mod check;
mod docs;
mod problem;
pub mod raw;
mod read;
mod schema;
pub mod small;
mod tables;
mod words;
mod write;

pub use cell::{Break, ClockTime, Holds, Weekdays};
pub use check::{Checked, ROUNDED_SHARES, check};
pub use docs::schema_markdown;
pub use problem::{Problem, Severity};
pub use read::{ReadError, caps, read_csv_bytes, read_path, read_xlsx_bytes};
pub use schema::{At, Column, Kind, Legal, TableSchema, Usual};
pub use tables::{
    Book, Build, Carrier, Coat, Coil, Colour, Crew, Cycle, Delivery, Forecast, HeatLimit, Idea,
    Join, JoinFigure, JoinLimit, Link, Material, Offer, OptionRow, OrderRow, OutlinePoint, Part,
    Plant, PressLine, Product, Repair, Robot, Row, Setting, SettingRow, Shift, Station, Stop,
    Supply, Table, Task, Tool, schema,
};
pub use units::nearest;
pub use words::{
    Access, AtClose, Basis, Charging, CoatKind, Gives, JoinMethod, JoinRule, JoinValue,
    LearningModel, OrderGoals, PartSource, PressKind, RobotKind, Side, Takes,
};
pub use write::{WriteError, csv_text, write_folder, write_xlsx, xlsx_bytes};
