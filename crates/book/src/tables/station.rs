//! Stations, what stops them, the ways between them and what carries the cars.

use units::{Metres, Minutes, Seconds, Share};

use super::table;
use crate::{
    Table,
    cell::Holds,
    words::{Basis, Gives, Takes},
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
        /// Mean time for one car at one place.
        cycle_s: Seconds, to(1e7);
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
        /// The part of the cars that need no rework.
        first_time_ok: Share, usual("1");
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
        /// People a shift.
        heads: f64, usual("0"), to(10000.0);
        /// Robots.
        robots: u32, usual("0"), to(10000.0);
        /// Whether cars are released here by the product mix, never short.
        source: bool, usual("no");
        /// The name under which the answer groups it; empty for its shop.
        stage: Option<String>;
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
        /// Places on the way; 0 from hand to hand, or `unlimited`.
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
        /// The part of the time in which a carrier is fit for use.
        availability: Share, usual("1"), above(0.0);
    }
}
