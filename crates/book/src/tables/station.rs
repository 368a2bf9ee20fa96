//! Stations, what stops them, the ways between them and what carries the cars.

use units::{Kilograms, Kilowatts, Metres, Minutes, Money, Seconds, Share};

use super::table;
use crate::{
    Table,
    cell::Holds,
    words::{Basis, Charging, Gives, Takes},
};

table! {
    /// A station of any shop.
    Station in Stations, key [station] {
        /// The station's name.
        station: String;
        /// Its shop.
        shop: String;
        /// The line it stands in.
        line: Option<String>;
        /// The kind of work, in one word.
        work: String, usual("manual");
        /// Places that work side by side.
        units: u32, usual("1"), from(1.0), to(10000.0);
        /// Mean time for one car at one place, as measured; empty for what the
        /// tasks of the station or its line make it, or its step of the `coats`
        /// table.
        cycle_s: Option<Seconds>, to(1e7);
        /// How much the cycle varies: standard deviation over mean; lognormal.
        spread: f64, usual("0"), to(10.0);
        /// Mean time between stops; needs `mttr_min`.
        mtbf_min: Option<Minutes>, above(0.0);
        /// Mean time to repair.
        mttr_min: Option<Minutes>, above(0.0);
        /// How much repair varies: standard deviation over mean; 1 means
        /// exponential.
        repair_spread: f64, usual("1"), to(10.0);
        /// Whether stops come with running time or with the clock.
        stop_basis: Basis, usual("running");
        /// The crew that repairs it; empty if help is always at hand.
        crew: Option<String>, refers(Table::Crews);
        /// The part of the cars that need no rework; empty for all, or at an
        /// inspection of the `coats` table for what the coats leave OK.
        first_time_ok: Option<Share>;
        /// Where a car that is not OK goes.
        rework_to: Option<String>, refers(Table::Stations);
        /// A car is scrap when it is not OK here so many times in a row; empty
        /// for no limit.
        attempts: Option<u32>, from(1.0), to(1000.0);
        /// The part of the cars that is scrapped here.
        scrap: Share, usual("0"), to(0.99);
        /// How it takes from the links that lead to it.
        takes: Takes, usual("any");
        /// How it gives to the links that leave it.
        gives: Gives, usual("share");
        /// People a shift; empty for those of its tasks, or for none without
        /// tasks.
        heads: Option<f64>, to(10000.0);
        /// Robots; at stations that join, where one of them leaves its cycle to its
        /// joints, they are those of the body shop's plan and `robots_beside`.
        robots: u32, usual("0"), to(10000.0);
        /// Robots beside those that join.
        robots_beside: u32, usual("0"), to(10000.0);
        /// The most robots that join around a car here; empty where it takes no
        /// joints but those that name it.
        robots_most: Option<u32>, from(1.0), to(100.0);
        /// Seconds of each cycle for load, index and clamp, in which no robot joins.
        index_s: Option<Seconds>, to(3600.0);
        /// The part of the cycle that its robots keep free; empty for the plant's.
        spare_share: Option<Share>, to(0.9);
        /// The kind of its robots.
        robot: Option<String>, refers(Table::Robots);
        /// What one of its units costs, ready to work, without robots.
        investment: Option<Money>;
        /// Years it is used.
        life_years: f64, usual("12"), above(0.0), to(100.0);
        /// Mean power of a unit at work, without robots.
        energy_kw: Option<Kilowatts>, to(100000.0);
        /// Upkeep of a unit a year, without robots.
        upkeep_per_year: Option<Money>;
        /// Whether cars are released here by the product mix, never short.
        source: bool, usual("no");
        /// The name under which the answer groups it; empty for its shop.
        stage: Option<String>;
    }
}

impl Station {
    /// Its cycle; 0 where the book leaves it to the tasks.
    pub fn cycle(&self) -> Seconds {
        self.cycle_s.unwrap_or_default()
    }

    /// The part of its cars that need no rework; all where the book leaves it to
    /// the coats.
    pub fn ok(&self) -> Share {
        self.first_time_ok.unwrap_or(Share(1.0))
    }

    /// Its people a shift; 0 where the book leaves them to the tasks.
    pub fn people(&self) -> f64 {
        self.heads.unwrap_or_default()
    }
}

table! {
    /// A further cause that stops a station, beside that of its own row.
    Stop in Stops, key [station, cause] {
        /// The station.
        station: String, refers(Table::Stations);
        /// What stops it.
        cause: String;
        /// Mean time between such stops.
        mtbf_min: Minutes, above(0.0);
        /// Mean time to repair.
        mttr_min: Minutes, above(0.0);
        /// How much repair varies: standard deviation over mean; 1 means
        /// exponential.
        repair_spread: f64, usual("1"), to(10.0);
        /// Whether stops come with running time or with the clock.
        basis: Basis, usual("running");
        /// The crew that repairs it.
        crew: Option<String>, refers(Table::Crews);
    }
}

table! {
    /// A crew that repairs stations, one stop at a time and person.
    Crew in Crews, key [crew] {
        /// The crew's name.
        crew: String;
        /// People in it a shift.
        count: u32, from(1.0), to(10000.0);
        /// The shop whose shifts it works; empty for always.
        shop: Option<String>;
    }
}

table! {
    /// A cycle that differs from the station's own, for a product or an option.
    Cycle in Cycles, key [station, product, option] {
        /// The station.
        station: String, refers(Table::Stations);
        /// The product it holds for; empty for all.
        product: Option<String>, refers(Table::Products);
        /// The option it holds for; empty for all.
        option: Option<String>, refers(Table::Options);
        /// Mean time for one such car at one place.
        cycle_s: Seconds, to(1e7);
    }
}

table! {
    /// A way from one station to another. The way to a station's `rework_to`
    /// is its rework way.
    Link in Links, key [from, to, products] {
        /// The station it leaves.
        from: String, refers(Table::Stations);
        /// The station it leads to.
        to: String, refers(Table::Stations);
        /// Places on the way as it stands; 0 from hand to hand, or `unlimited`. Empty
        /// is one place at a sub-plant's store too: what such a store needs is told
        /// beside it by the plan of carts, and is never taken for built.
        holds: Holds, usual("1"), to(1e6);
        /// Time from end to end.
        move_s: Seconds, usual("0"), to(1e7);
        /// The fleet that carries the car.
        carrier: Option<String>, refers(Table::Carriers);
        /// The part of the station's cars that go this way; empty for the rest.
        share: Option<Share>;
        /// The products that go this way; empty for all.
        products: Vec<String>, refers(Table::Products);
        /// How many of what comes this way one car needs at a station that takes
        /// one of each.
        needs: u32, usual("1"), from(1.0), to(1000.0);
    }
}

table! {
    /// A fleet of carts, skids or hangers.
    Carrier in Carriers, key [carrier] {
        /// The fleet's name.
        carrier: String;
        /// How many there are.
        count: u32, from(1.0), to(100000.0);
        /// The station where a car takes one.
        taken_at: String, refers(Table::Stations);
        /// The station where the car leaves it.
        returned_at: String, refers(Table::Stations);
        /// Time of the empty way back; empty for `loop_m` over `speed_m_min`.
        return_s: Option<Seconds>, to(1e7);
        /// Speed of the empty way back.
        speed_m_min: Option<f64>, unit("m/min"), above(0.0), to(10000.0);
        /// Length of the empty way back.
        loop_m: Option<Metres>, above(0.0), to(100000.0);
        /// Time to load.
        load_s: Seconds, usual("0"), to(1e6);
        /// Time to unload.
        unload_s: Seconds, usual("0"), to(1e6);
        /// The part of the time in which a carrier is fit for use, charging not
        /// counted.
        availability: Share, usual("1"), above(0.0);
        /// Distance from carrier to carrier under the cars; empty for the plant's
        /// `pitch_m`.
        pitch_m: Option<Metres>, above(0.0), to(100.0);
        /// Length of the way under the cars, from load to unload; empty for its
        /// stations at their pitch.
        line_m: Option<Metres>, above(0.0), to(100000.0);
        /// Curves on the empty way back; not used where `return_s` is given.
        curves: u32, usual("0"), to(1000.0);
        /// What a curve costs beyond the straight (common practice: strips are
        /// followed at half speed for 2 to 3 m).
        curve_s: Seconds, usual("3"), to(600.0);
        /// How it charges; `none` for what is driven from outside, such as skids
        /// and hangers.
        charging: Charging, usual("none");
        /// Work that a full battery lasts (common practice: a shift).
        battery_min: Minutes, usual("480"), above(0.0), to(100000.0);
        /// Time that fills an empty battery, or in which it is swapped (common
        /// practice: 60 to 120 min for lithium, 5 to 10 for a swap).
        charge_min: Minutes, usual("80"), to(100000.0);
        /// What each further carrier on the way back costs all others there, as a
        /// part of their speed; 0 where they follow each other on a way of their
        /// own. 0.05 is a usual first guess for shared ways (from memory).
        traffic_loss: Share, usual("0"), to(0.99);
        /// The most that one may carry.
        payload_kg: Option<Kilograms>, above(0.0), to(100000.0);
        /// The heaviest that it is to carry.
        load_kg: Option<Kilograms>, above(0.0), to(100000.0);
    }
}

table! {
    /// What a fleet of supply carts delivers over and over, such as door panels
    /// to a station. Rows that name one fleet share its carts.
    Supply in Supplies, key [supply] {
        /// What is delivered.
        supply: String;
        /// The fleet that delivers it.
        fleet: String, usual("supply carts");
        /// Where it goes.
        station: Option<String>, refers(Table::Stations);
        /// Loads an hour; empty for those that `cars_per_load` makes.
        loads_per_hour: Option<f64>, unit("1/h"), above(0.0), to(10000.0);
        /// Cars that a load lasts at its station.
        cars_per_load: Option<f64>, above(0.0), to(1e6);
        /// Way with the load.
        loaded_m: Metres, to(100000.0);
        /// Way without; empty for the same.
        empty_m: Option<Metres>, to(100000.0);
        /// Speed of a cart (common practice: 10 to 60 m/min among people).
        speed_m_min: f64, unit("m/min"), usual("50"), above(0.0), to(10000.0);
        /// Time to load.
        load_min: Minutes, usual("0.75"), to(1000.0);
        /// Time to unload.
        unload_min: Minutes, usual("0.5"), to(1000.0);
        /// The part of the time in which a cart is fit for use, charging not
        /// counted.
        availability: Share, usual("0.95"), above(0.0);
        /// The part of the time that charging takes (common practice: 0.10 to
        /// 0.20, and 0 where carts charge as they stand or swap batteries).
        charging_share: Share, usual("0.1"), to(0.99);
        /// The part of the time that waiting in traffic leaves; empty where it
        /// falls by `traffic_loss` with every further cart of the fleet.
        traffic: Option<Share>, above(0.0);
        /// What each further cart of the fleet costs all others, where `traffic`
        /// is empty (from memory; with 0.05 ten carts do most).
        traffic_loss: Share, usual("0.05"), to(0.99);
        /// Carts there are in the fleet; the largest of its rows counts.
        carts: Option<u32>, from(1.0), to(10000.0);
        /// The most that a cart may carry.
        payload_kg: Option<Kilograms>, above(0.0), to(100000.0);
        /// Mass of a load.
        load_kg: Option<Kilograms>, above(0.0), to(100000.0);
    }
}
