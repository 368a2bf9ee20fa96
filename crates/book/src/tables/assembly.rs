//! Work on the car, and who does it.

use units::{Kilograms, Kilowatts, Millimetres, Money, Seconds};

use super::table;
use crate::{
    Table,
    words::{JoinMethod, RobotKind, Side},
};

table! {
    /// A piece of assembly work that is not divided.
    Task in Tasks, key [task] {
        /// The task's name.
        task: String;
        /// Its shop.
        shop: String;
        /// The line that does it.
        line: Option<String>;
        /// The product that has it; empty for all.
        product: Option<String>, refers(Table::Products);
        /// The option that has it; empty for all.
        option: Option<String>, refers(Table::Options);
        /// Time by hand.
        hand_s: Option<Seconds>, to(1e6);
        /// Time by robot.
        robot_s: Option<Seconds>, to(1e6);
        /// The kind of robot that can do it.
        robot: Option<String>, refers(Table::Robots);
        /// The tool it needs; what it costs stands in the `tools` table, and a
        /// tool that is not there costs nothing.
        tool: Option<String>;
        /// Time by hand with a lifting aid.
        aid_s: Option<Seconds>, to(1e6);
        /// The lifting aid, a row of the `tools` table.
        aid: Option<String>, refers(Table::Tools);
        /// The tasks that must be done before.
        after: Vec<String>, refers(Table::Tasks);
        /// The side of the car.
        side: Side, usual("either");
        /// The zone of the car.
        zone: Option<String>;
        /// The mass that is lifted.
        lift_kg: Option<Kilograms>, to(100000.0);
        /// How far the hands are before the ankles as it is lifted.
        hands_cm: f64, unit("cm"), usual("35"), from(0.0), to(300.0);
        /// How high the hands are where the lift begins.
        lift_from_cm: f64, unit("cm"), usual("75"), from(0.0), to(300.0);
        /// How high they are where it ends.
        lift_to_cm: f64, unit("cm"), usual("100"), from(0.0), to(300.0);
        /// How far the trunk is turned meanwhile.
        turn_deg: f64, unit("deg"), usual("0"), from(0.0), to(180.0);
        /// How far from its base a robot has to reach.
        reach_mm: Option<Millimetres>, above(0.0), to(100000.0);
        /// How exactly it must be placed, to either side.
        tolerance_mm: Option<Millimetres>, above(0.0), to(1000.0);
        /// Whether it is done where a robot's arm has no access.
        inside: bool, usual("no");
        /// Whether it takes a person's eye or feel.
        judgement: bool, usual("no");
        /// The length of the bead that it lays, as part of its time by robot.
        bead_mm: Option<Millimetres>, above(0.0), to(1e6);
        /// How fast the bead is laid.
        bead_mm_s: Option<f64>, unit("mm/s"), above(0.0), to(10000.0);
        /// How long its adhesive stays open; the tasks right after it set into it.
        open_s: Option<Seconds>, above(0.0), to(1e6);
        /// The station at which it is done today.
        station: Option<String>, refers(Table::Stations);
        /// Whether it must stay at that station.
        fixed: bool, usual("no");
        /// Tasks that are done at the same station.
        same_station: Vec<String>, refers(Table::Tasks);
        /// Tasks that are done at other stations.
        other_station: Vec<String>, refers(Table::Tasks);
    }
}

table! {
    /// A kind of robot, or a kind of person.
    Robot in Robots, key [robot] {
        /// The kind's name.
        robot: String;
        /// Robot or person.
        kind: RobotKind;
        /// What one costs, ready to work.
        investment: Money, usual("0");
        /// Years it is used.
        life_years: f64, usual("8"), above(0.0), to(100.0);
        /// Mean power at work.
        energy_kw: Kilowatts, usual("0"), to(10000.0);
        /// Upkeep a year.
        upkeep_per_year: Money, usual("0");
        /// The mass it can carry.
        payload_kg: Option<Kilograms>, above(0.0), to(100000.0);
        /// How far it reaches.
        reach_mm: Option<Millimetres>, above(0.0), to(100000.0);
        /// What an hour of it costs, people above all.
        cost_per_hour: Option<Money>;
        /// How exactly it comes back to a point, to either side; 1 mm by hand is
        /// common practice.
        repeat_mm: Option<Millimetres>, above(0.0), to(1000.0);
        /// From one tool to another.
        tool_change_s: Seconds, usual("12"), to(3600.0);
        /// Its speed near people.
        speed_mm_s: Option<f64>, unit("mm/s"), above(0.0), to(20000.0);
        /// The joining methods whose tool it can carry.
        methods: Vec<JoinMethod>;
        /// From the signal of a guard to standstill, as measured.
        stop_s: Option<Seconds>, above(0.0), to(60.0);
    }
}

table! {
    /// A tool or lifting aid that is bought for a station.
    Tool in Tools, key [tool] {
        /// The tool's name.
        tool: String;
        /// How exactly an aid that locates places what it carries, to either side;
        /// empty for one that leaves it to the hand.
        repeat_mm: Option<Millimetres>, above(0.0), to(1000.0);
        /// What one costs, ready to work.
        investment: Money, usual("0");
        /// Years it is used.
        life_years: f64, usual("8"), above(0.0), to(100.0);
        /// Upkeep a year.
        upkeep_per_year: Money, usual("0");
    }
}
