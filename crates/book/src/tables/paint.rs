//! The paint shop: the steps along its line, repairs, what heat may do.

use units::{Hours, Metres, Minutes, Money, Seconds, Share};

use super::table;
use crate::{Table, words::CoatKind};

table! {
    /// A step of a paint process, in the order in which bodies come to it.
    Coat in Coats, key [coat, step] {
        /// The coat, or what else is done in the step.
        coat: String;
        /// The step's place along the line.
        step: u32;
        /// The shop.
        shop: Option<String>;
        /// What kind of step it is; empty for `spray` where it leaves a film, `oven`
        /// from 100 degrees on, else `work`.
        kind: Option<CoatKind>;
        /// The stations on it. Those without a cycle of their own have that of the
        /// step, and the robots that it needs.
        stations: Vec<String>, refers(Table::Stations);
        /// Time in the step, from door to door.
        process_s: Seconds, to(1e6);
        /// Temperature of the step, in an oven that of the metal, degrees Celsius.
        temperature_c: Option<f64>, from(-100.0), to(600.0);
        /// The distance from body to body; empty for the plant's `paint_pitch_m`.
        pitch_m: Option<Metres>, above(0.0), to(100.0);
        /// The speed that the conveyor has; empty for the one that the rate needs.
        speed_m_min: Option<f64>, unit("m/min"), above(0.0), to(100.0);
        /// The length that there is, from door to door; empty for the one needed.
        length_m: Option<Metres>, above(0.0), to(10000.0);
        /// From the door until the metal has its temperature.
        heat_up_min: Minutes, usual("0"), to(1000.0);
        /// The least time that the metal must have its temperature.
        least_min: Option<Minutes>, above(0.0), to(10000.0);
        /// The longest that it may.
        most_min: Option<Minutes>, above(0.0), to(10000.0);
        /// Places behind an oven that are kept empty for its bodies.
        empty_places: u32, usual("0"), to(10000.0);
        /// The longest that a body may wait for the step after the one before.
        age_most_h: Option<Hours>, above(0.0), to(100000.0);
        /// Film it leaves, dry.
        film_um: Option<f64>, unit("um"), to(10000.0);
        /// The part of the sprayed solids that stays on the car.
        transfer_efficiency: Option<Share>, above(0.0);
        /// The part of the paint's volume that stays as film.
        solids_share: Option<Share>, above(0.0);
        /// The surface coated.
        area_m2: Option<f64>, unit("m2"), above(0.0), to(100000.0);
        /// Material a body takes where no film says: sealer, wax.
        wet_l: Option<f64>, unit("l"), above(0.0), to(1000.0);
        /// What an applicator lays on a minute; empty for a step without robots.
        flow_ml_min: Option<f64>, unit("ml/min"), above(0.0), to(100000.0);
        /// The part of its path in which an applicator lays on.
        trigger: Share, usual("0.65"), above(0.0);
        /// The part of the cycle in which the body can be reached.
        access: Share, usual("0.75"), above(0.0);
        /// The most applicators that have room at a station.
        robots_most: Option<u32>, from(1.0), to(100.0);
        /// Whether the coat has the colour, so that applicators change.
        coloured: bool, usual("no");
        /// Kilograms a litre of the paint as it is used.
        density_kg_l: f64, unit("kg/l"), usual("1.1"), above(0.0), to(10.0);
        /// The part of the paint's mass that is solvent.
        solvent_share: Share, usual("0");
        /// The part of that solvent that no treatment of the air takes.
        escapes: Share, usual("1");
        /// What a litre costs; empty where nobody has said.
        price_per_l: Option<Money>;
        /// The part of the bodies that get no fault here that must be repaired.
        ok_share: Share, usual("1"), above(0.0);
    }
}

table! {
    /// A way of repair after the step of kind `inspect`.
    Repair in Repairs, key [repair] {
        /// The repair.
        repair: String;
        /// The part of the bodies not OK that it gets; what the shares leave over is
        /// scrapped.
        share: Share;
        /// The part of those repaired that is OK.
        ok_share: Share, usual("1");
        /// The repair for those that are not; empty for the same one again.
        fails_to: Option<String>, refers(Table::Repairs);
        /// The coat with which a repaired body goes through the line again; empty if
        /// it is done.
        back_to: Option<String>, refers(Table::Coats);
        /// Time of one repair in one bay.
        time_min: Minutes, to(100000.0);
        /// Bays; where `station` is named those of its row.
        bays: u32, usual("1"), from(1.0), to(1000.0);
        /// Its station, which has its time where it has no cycle of its own.
        station: Option<String>, refers(Table::Stations);
        /// Metal temperature of a bake on the spot, degrees Celsius.
        bake_c: Option<f64>, from(-50.0), to(600.0);
        /// Time at that temperature.
        bake_min: Minutes, usual("0"), to(1000.0);
    }
}

table! {
    /// What all bakes together may and must do to a material of the body.
    HeatLimit in HeatLimits, key [limit] {
        /// The material: an adhesive, the temper of an alloy.
        limit: String;
        /// The temperature that its times are for, degrees Celsius.
        at_c: f64, from(-50.0), to(600.0);
        /// Minutes at that temperature that it needs.
        least_min: Option<Minutes>, above(0.0), to(100000.0);
        /// Minutes that it bears.
        most_min: Option<Minutes>, above(0.0), to(100000.0);
        /// The activation energy by which other temperatures count; empty if
        /// minutes at or above `at_c` count in full and those below do not.
        energy_kj_mol: Option<f64>, unit("kJ/mol"), to(1000.0);
    }
}
