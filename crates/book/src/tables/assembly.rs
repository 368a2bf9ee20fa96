//! Work on the car, who does it, and the coats it gets.

use units::{Kilograms, Kilowatts, Millimetres, Money, Seconds, Share};

use super::table;
use crate::{
    Table,
    words::{RobotKind, Side},
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
        /// The tool it needs.
        tool: Option<String>;
        /// The tasks that must be done before.
        after: Vec<String>, refers(Table::Tasks);
        /// The side of the car.
        side: Side, usual("either");
        /// The zone of the car.
        zone: Option<String>;
        /// The mass that is lifted.
        lift_kg: Option<Kilograms>, to(100000.0);
        /// The station it must be done at.
        station: Option<String>, refers(Table::Stations);
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
    }
}

table! {
    /// A step of a paint process.
    Coat in Coats, key [coat, step] {
        /// The coat.
        coat: String;
        /// The step's place in the coat.
        step: u32;
        /// The shop.
        shop: Option<String>;
        /// Time in the step.
        process_s: Seconds, to(1e6);
        /// Temperature of the step, degrees Celsius.
        temperature_c: Option<f64>, from(-100.0), to(1500.0);
        /// Film it leaves, dry.
        film_um: Option<f64>, unit("um"), to(10000.0);
        /// The part of the sprayed solids that stays on the car.
        transfer_efficiency: Option<Share>, above(0.0);
        /// The part of the paint's volume that stays as film.
        solids_share: Option<Share>, above(0.0);
        /// The surface coated.
        area_m2: Option<f64>, unit("m2"), above(0.0), to(100000.0);
    }
}
