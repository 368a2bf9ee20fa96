//! The tables of the book: one declaration each gives the row type, the
//! columns' description and the reading of its cells.

mod assembly;
mod body;
mod calendar;
mod metal;
mod money;
mod paint;
mod plant;
mod product;
mod station;

use serde::{Deserialize, Serialize};

use crate::{
    cell::Line,
    schema::{At, TableSchema},
};

pub use assembly::{Robot, Task, Tool};
pub use body::{Join, JoinFigure, JoinLimit};
pub use calendar::Shift;
pub use metal::{Coil, Delivery, Material, OutlinePoint, Part, PressLine};
pub use money::{Build, Forecast, Idea, Offer};
pub use paint::{Coat, HeatLimit, Repair};
pub(crate) use plant::ReadSettings;
pub use plant::{Plant, Setting, SettingRow};
pub use product::{Colour, OptionRow, OrderRow, Product};
pub use station::{Carrier, Crew, Cycle, Link, Station, Stop, Supply};

/// A row of the typed book.
pub trait Row {
    /// Its table.
    const TABLE: Table;
    /// Where it stands.
    fn at(&self) -> At;
}

/// What a `table!` declaration gives besides the row's fields.
pub(crate) trait ReadRow: Row + Sized {
    const SCHEMA: TableSchema;
    fn read(line: &mut Line<'_>) -> Self;
}

/// Declares a table: the row's type and, per column, header, Rust type, usual
/// value and legal range. The cell's kind and unit follow from the type.
macro_rules! table {
    (
        $(#[doc = $doc:literal])+
        $row:ident in $table:ident, key [$($key:ident),+] {
            $(
                $(#[doc = $about:literal])+
                $column:ident: $type:ty
                    $(, $property:ident $(($argument:expr))?)*;
            )+
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
        pub struct $row {
            /// Where the row stands.
            pub at: crate::schema::At,
            $($(#[doc = $about])+ pub $column: $type,)+
        }

        impl crate::tables::Row for $row {
            const TABLE: crate::Table = crate::Table::$table;

            fn at(&self) -> crate::schema::At {
                self.at
            }
        }

        impl crate::tables::ReadRow for $row {
            const SCHEMA: crate::schema::TableSchema = crate::schema::TableSchema {
                table: crate::Table::$table,
                name: crate::Table::$table.name(),
                key: &[$(stringify!($key)),+],
                columns: &[$(
                    crate::schema::Column::of::<$type>(
                        stringify!($column),
                        concat!($($about),+),
                    )$(.$property($($argument)?))*
                ),+],
                doc: concat!($($doc),+).trim_ascii(),
            };

            fn read(line: &mut crate::cell::Line<'_>) -> Self {
                // The fields are read in the order of the columns.
                Self { at: line.at, $($column: line.cell()),+ }
            }
        }
    };
}
pub(crate) use table;

/// Lists the tables once: the enum, their names, the book's fields.
macro_rules! tables {
    ($($(#[$doc:meta])* $table:ident $field:ident: $row:ty;)+) => {
        /// A table of the book.
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize,
            Deserialize,
        )]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "snake_case")]
        pub enum Table {
            /// The plant as a whole: one setting a row.
            #[default]
            Plant,
            $($(#[$doc])* $table,)+
        }

        impl Table {
            /// All tables, roughly in the order in which metal flows.
            pub const ALL: &'static [Self] = &[Self::Plant, $(Self::$table),+];

            /// The table's name: its CSV file without ending, or its sheet.
            pub const fn name(self) -> &'static str {
                match self {
                    Self::Plant => "plant",
                    $(Self::$table => stringify!($field),)+
                }
            }

            /// What the table says about itself.
            pub fn schema(self) -> &'static TableSchema {
                match self {
                    Self::Plant => const { &<SettingRow as ReadRow>::SCHEMA },
                    $(Self::$table => const { &<$row as ReadRow>::SCHEMA },)+
                }
            }
        }

        /// The book, typed: one vector of rows for each table.
        #[derive(Clone, Debug, Default, PartialEq, Serialize)]
        pub struct Book {
            /// The plant's settings, the usual ones filled in.
            pub plant: Plant,
            $($(#[$doc])* pub $field: Vec<$row>,)+
        }

        impl Book {
            /// Reads every table; `rows` hands out the rows of one.
            pub(crate) fn read(mut rows: impl ReadTables) -> Self {
                Self {
                    plant: Plant::default(),
                    $($field: rows.read::<$row>(),)+
                }
            }
        }
    };
}

/// Hands out the typed rows of a table.
pub(crate) trait ReadTables {
    fn read<R: ReadRow>(&mut self) -> Vec<R>;
}

tables! {
    /// Shifts of the shops.
    Shifts shifts: Shift;
    /// Models and body styles.
    Products products: Product;
    /// Options of the products.
    Options options: OptionRow;
    /// Colours.
    Colours colours: Colour;
    /// Alloys and tempers.
    Materials materials: Material;
    /// Coil specifications.
    Coils coils: Coil;
    /// Coils ordered and not yet delivered.
    Deliveries deliveries: Delivery;
    /// Points of blank outlines.
    Outlines outlines: OutlinePoint;
    /// Parts, pressed or bought.
    Parts parts: Part;
    /// Blanking, laser and press lines.
    PressLines press_lines: PressLine;
    /// Joint groups of body assemblies.
    Joins joins: Join;
    /// Limits of the joining methods.
    JoinLimits join_limits: JoinLimit;
    /// Seconds, use and prices of the joining methods.
    JoinFigures join_figures: JoinFigure;
    /// Stations of all shops.
    Stations stations: Station;
    /// Further causes that stop a station.
    Stops stops: Stop;
    /// Repair crews.
    Crews crews: Crew;
    /// Cycles that differ by product or option.
    Cycles cycles: Cycle;
    /// Ways between stations.
    Links links: Link;
    /// Fleets of carts, skids and hangers.
    Carriers carriers: Carrier;
    /// What supply carts deliver.
    Supplies supplies: Supply;
    /// Pieces of assembly work.
    Tasks tasks: Task;
    /// Kinds of robots and people.
    Robots robots: Robot;
    /// Tools and lifting aids.
    Tools tools: Tool;
    /// Steps of a paint process.
    Coats coats: Coat;
    /// Ways of repair in the paint shop.
    Repairs repairs: Repair;
    /// What all bakes together may and must do.
    HeatLimits heat_limits: HeatLimit;
    /// Candidate improvements.
    Ideas ideas: Idea;
    /// Sub-assemblies that others offer.
    Offers offers: Offer;
    /// Future periods.
    Forecast forecast: Forecast;
    /// Weeks of the build plan.
    Builds builds: Build;
    /// Cars ordered for the week.
    Orders orders: OrderRow;
}

impl Table {
    /// The table of this name; upper case, outer blanks, blanks and hyphens for
    /// `_` make no difference.
    pub fn find(name: &str) -> Option<Self> {
        let plain = plain_name(name);
        Self::ALL
            .iter()
            .copied()
            .find(|table| table.name() == plain)
    }
}

/// A header or table name with the differences taken out that people and
/// spreadsheets put in without meaning anything.
pub(crate) fn plain_name(name: &str) -> String {
    name.trim().to_lowercase().replace([' ', '-'], "_")
}

/// What the book says about itself: every table in order.
pub fn schema() -> impl Iterator<Item = &'static TableSchema> {
    Table::ALL.iter().map(|table| table.schema())
}
