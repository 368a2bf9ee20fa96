//! The load of stations where several models run in one line.

use units::{Count, Seconds, Share};

use crate::declare::sheet;
use crate::range::{NOT_NEGATIVE, POSITIVE, SHARE, SOME_SHARE, WHOLE};

/// Whether shares typed as decimals make a whole.
fn make_a_whole(shares: &[Share]) -> bool {
    (shares.iter().copied().sum::<Share>().0 - 1.0).abs() <= 1e-9
}

sheet! {
    shop "Load and balance";

    /// The mean load of a station and how far its heaviest model overruns takt. A mean below
    /// takt is necessary and not enough: heavy cars in a row drift out of the station.
    fn mixed_load "Mixed-model load" (
        mix: Vec<Share>, SHARE, "share of each model";
        station_times: Vec<Seconds>, NOT_NEGATIVE, "time each model needs at the station";
        takt: Seconds, POSITIVE, "takt or design cycle of the line";
    ) -> struct MixedLoad {
        weighted: Seconds, "mean time a car";
        utilisation: Share, "mean time over takt";
        max_overrun: Seconds, "overrun of the heaviest model with a share, 0 if it fits";
    }
    is "weighted = sum(mix * station_times); utilisation = weighted / takt; \
        max_overrun = max(0, max(station_times) - takt)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            mixed-model lines";
    needs "`mix` and `station_times` are of one length", mix.len() == station_times.len();
    needs "the shares of `mix` add up to 1", make_a_whole(&mix);
    {
        let pairs = || mix.iter().zip(&station_times);
        let weighted: Seconds = pairs().map(|(share, time)| *time * share.0).sum();
        let heaviest = pairs()
            .filter(|(share, _)| share.0 > 0.0)
            .fold(0.0, |heaviest: f64, (_, time)| heaviest.max(time.0));
        MixedLoad {
            weighted,
            utilisation: Share(weighted / takt),
            max_overrun: Seconds((heaviest - takt.0).max(0.0)),
        }
    }

    /// How far a run of heavy cars carries the work out of its station, when the drift is
    /// not made good in between.
    fn worst_run "Run of heavy cars" (
        heavy_time: Seconds, NOT_NEGATIVE, "time a heavy car needs at the station";
        takt: Seconds, POSITIVE, "takt or design cycle of the line";
        run: Count, WHOLE, "heavy cars in a row";
    ) -> {
        overrun: Seconds, "work behind after the run, 0 if it fits";
    }
    is "overrun = run * max(0, heavy_time - takt)";
    source "arithmetic; drift of a paced line in Scholl, Balancing and Sequencing of Assembly \
            Lines, 1999";
    { Seconds(run.0 * (heavy_time.0 - takt.0).max(0.0)) }

    /// How many light cars make good a run of heavy ones, at least.
    fn recovery_run "Light cars to recover" (
        overrun: Seconds, NOT_NEGATIVE, "work behind after a heavy run";
        light_time: Seconds, NOT_NEGATIVE, "time a light car needs at the station";
        takt: Seconds, POSITIVE, "takt or design cycle of the line";
    ) -> {
        cars: Count, "light cars in a row, whole";
    }
    is "cars = ceil(overrun / (takt - light_time))";
    source "arithmetic; drift of a paced line in Scholl, Balancing and Sequencing of Assembly \
            Lines, 1999";
    needs "a light car takes less than takt", light_time.0 < takt.0;
    { Count(crate::rounding::whole_up(overrun / (takt - light_time))) }

    /// The load of a station against what it can do in the period.
    fn station_load "Load of a station" (
        cars: Count, NOT_NEGATIVE, "passes wanted in the period";
        cycle: Seconds, NOT_NEGATIVE, "mean cycle, stops not counted";
        net_time: Seconds, POSITIVE, "working time in the period";
        units: Count, POSITIVE, "like units side by side";
        availability: Share, SOME_SHARE, "share of time a unit can work";
    ) -> struct StationLoad {
        load: Share, "work over what the station can do; above 1 it cannot";
        units_needed: Count, "units for this work, whole";
        overtime: Seconds, "working time missing in the period, 0 if none";
    }
    is "load = cars * cycle / (net_time * units * availability); \
        units_needed = ceil(load * units); overtime = max(0, load - 1) * net_time";
    source "Hopp and Spearman, Factory Physics, 1996 (utilisation)";
    {
        let load = cycle * cars.0 / (net_time * (units.0 * availability.0));
        StationLoad {
            load: Share(load),
            units_needed: Count(crate::rounding::whole_up(load * units.0)),
            overtime: net_time * (load - 1.0).max(0.0),
        }
    }

    /// How much of the workers' time a balance fills.
    fn balance_efficiency "Balance efficiency" (
        work_content: Seconds, POSITIVE, "work in a car";
        workers: Count, POSITIVE, "workers or stations";
        longest: Seconds, POSITIVE, "time of the most loaded station";
    ) -> {
        balance_efficiency: Share, "share of the workers' time filled";
    }
    is "balance_efficiency = work_content / (workers * longest)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            line balancing";
    { Share(work_content / (longest * workers.0)) }
}
