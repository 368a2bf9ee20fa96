//! How a body is joined.

use units::Millimetres;

use super::table;
use crate::{
    Table,
    words::{JoinMethod, Side},
};

table! {
    /// A group of like joints on one body assembly.
    Join in Joins, key [join] {
        /// The group's name.
        join: String;
        /// The assembly it belongs to.
        assembly: String;
        /// The station that makes it, where that is settled.
        station: Option<String>, refers(Table::Stations);
        /// How it is made.
        method: JoinMethod;
        /// Joints in the group.
        count: Option<u32>, from(1.0), to(100000.0);
        /// Length of the seam or bead.
        length_mm: Option<Millimetres>, above(0.0), to(1e6);
        /// The parts in the stack, outer side first.
        stack: Vec<String>, refers(Table::Parts);
        /// The zone of the body; two robots do not share one.
        zone: Option<String>;
        /// The groups that must be done before.
        after: Vec<String>, refers(Table::Joins);
        /// The side of the body.
        side: Option<Side>;
    }
}
