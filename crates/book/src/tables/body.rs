//! How a body is joined.

use units::Millimetres;

use super::table;
use crate::{
    Table,
    words::{Access, JoinMethod, JoinRule, JoinValue, Side},
};

table! {
    /// A group of like joints on one body assembly.
    Join in Joins, key [join] {
        /// The group's name.
        join: String;
        /// The assembly it belongs to: the line of stations that builds it.
        assembly: String;
        /// The station that makes it, where that is settled; empty for any station
        /// of the assembly's line that takes joints.
        station: Option<String>, refers(Table::Stations);
        /// How it is made.
        method: JoinMethod;
        /// Joints in the group.
        count: Option<u32>, from(1.0), to(100000.0);
        /// Length of the seam or bead.
        length_mm: Option<Millimetres>, above(0.0), to(1e6);
        /// The parts in the stack, outer side first; the last one lies on the die.
        stack: Vec<String>, refers(Table::Parts);
        /// The zone of the body; two robots do not share one.
        zone: Option<String>;
        /// The groups that must be done before.
        after: Vec<String>, refers(Table::Joins);
        /// The side of the body.
        side: Option<Side>;
        /// The methods that the product allows; empty for that of `method` alone.
        methods: Vec<JoinMethod>;
        /// Whether it holds the shape: made in a fixed frame, at its own station and
        /// before the others there.
        geometry: bool, usual("no");
        /// Whether tools reach the stack from both sides.
        access: Access, usual("both");
        /// Whether the joint is seen on the finished car.
        visible: bool, usual("no");
        /// From joint to joint.
        pitch_mm: Option<Millimetres>, above(0.0), to(10000.0);
        /// Width of the flange.
        flange_mm: Option<Millimetres>, above(0.0), to(10000.0);
        /// From the joint's middle to the edge of the sheet.
        edge_mm: Option<Millimetres>, to(10000.0);
        /// Gap between the sheets as they are clamped.
        gap_mm: Option<Millimetres>, to(100.0);
        /// From the joint to adhesive that has not cured; 0 through it, empty
        /// for none near.
        adhesive_mm: Option<Millimetres>, to(100000.0);
        /// Diameter of the bead of adhesive; empty for that of the method.
        bead_mm: Option<Millimetres>, above(0.0), to(100.0);
        /// How far from its base a robot has to reach.
        reach_mm: Option<Millimetres>, above(0.0), to(100000.0);
        /// How often the tool has to be turned within the group.
        turns: Option<u32>, to(100000.0);
    }
}

table! {
    /// A limit of a joining method, in place of the usual one.
    JoinLimit in JoinLimits, key [method, rule] {
        /// The method.
        method: JoinMethod;
        /// What is limited; the word ends in its unit.
        rule: JoinRule;
        /// The limit; for a rule that is `yes` or `no`, 1 or 0.
        limit: f64, to(100000.0);
        /// Where it comes from.
        source: Option<String>;
    }
}

table! {
    /// Seconds, use or price of a joining method, in place of the usual one.
    JoinFigure in JoinFigures, key [method, figure] {
        /// The method.
        method: JoinMethod;
        /// What the value is of; the word ends in its unit.
        figure: JoinValue;
        /// The value.
        value: f64, to(1e9);
        /// Where it comes from.
        source: Option<String>;
    }
}
