//! What a week's plan asks of stations, lot lines and fleets, and what each
//! could make alone.

use units::{Count, Days, Hours, Minutes, PerWeek, Seconds, Share};

use crate::declare::sheet;
use crate::range::{NOT_NEGATIVE, POSITIVE, Range, SHARE, SOME_SHARE};
use crate::rounding::whole_up;

/// Greater than 0, less than 1.
const INNER_SHARE: Range = Range {
    low_open: true,
    high_open: true,
    ..Range::closed(0.0, 1.0)
};

sheet! {
    shop "Rate plan";

    /// The working time of a shop's week from its shifts, which may differ in length.
    fn weekly_net_time "Net time of a week" (
        days: Vec<Count>, NOT_NEGATIVE, "days a week of each shift";
        lengths: Vec<Minutes>, POSITIVE, "length of each shift, start to end";
        stops: Vec<Minutes>, NOT_NEGATIVE, "breaks and planned stops in each shift";
        overlap: Minutes, NOT_NEGATIVE, "time a week in which two shifts work at once";
    ) -> {
        net_time: Hours, "working time a week";
    }
    is "net_time = (sum(days * (lengths - stops)) - overlap) / 60";
    source "arithmetic of the shift calendar";
    needs "`days`, `lengths` and `stops` are of one length",
        days.len() == lengths.len() && days.len() == stops.len();
    needs "planned stops are shorter than their shift",
        lengths.iter().zip(&stops).all(|(length, stops)| stops.0 < length.0);
    {
        let shifts = days.iter().zip(lengths.iter().zip(&stops));
        let worked: f64 = shifts.map(|(days, (length, stops))| days.0 * (length.0 - stops.0)).sum();
        Hours((worked - overlap.0) / 60.0)
    }

    /// The positions a shop must fill on a shift.
    fn positions "Positions" (
        heads: Vec<Count>, NOT_NEGATIVE, "people at each station on a shift";
    ) -> {
        positions: Count, "people on a shift";
    }
    is "positions = sum(heads)";
    source "arithmetic";
    { heads.iter().copied().sum() }

    /// All pieces of a plant or a line in balance: what is released leaves finished, is lost,
    /// or goes into another piece.
    fn piece_balance "Balance of pieces" (
        finished: Count, NOT_NEGATIVE, "good cars that leave at the end";
        scrapped: Count, NOT_NEGATIVE, "pieces lost on the way";
        joined: Count, NOT_NEGATIVE, "pieces that went into another one at a merge";
        split: Count, NOT_NEGATIVE, "pieces that a split made in addition";
    ) -> {
        released: Count, "pieces that enter at the sources";
    }
    is "released = finished + scrapped + joined - split";
    source "conservation of pieces; visits by the absorbing chain, Kemeny and Snell, Finite \
            Markov Chains, 1960";
    { finished + scrapped + joined - split }

    /// Jobs a week at a station: repeats by rework and jobs that are scrapped later count.
    fn jobs_needed "Jobs a week" (
        cars: Vec<PerWeek>, NOT_NEGATIVE, "good cars a week, product by product";
        jobs_per_car: Vec<Count>, NOT_NEGATIVE, "jobs at the station for a good car, product by product";
    ) -> {
        jobs: Count, "jobs a week";
    }
    is "jobs = sum(cars * jobs_per_car), jobs_per_car from visits = entries * inverse(1 - routes)";
    source "Kemeny and Snell, Finite Markov Chains, 1960 (absorbing chain)";
    needs "`cars` and `jobs_per_car` are of one length", cars.len() == jobs_per_car.len();
    { Count(cars.iter().zip(&jobs_per_car).map(|(cars, jobs)| cars.0 * jobs.0).sum()) }

    /// Pieces a week that a car's parts ask for.
    fn pieces_needed "Pieces a week" (
        jobs: Count, NOT_NEGATIVE, "jobs a week that take the part";
        per_car: Count, NOT_NEGATIVE, "pieces in each";
        scrap: Share, SHARE, "share of the pieces made that is lost";
    ) -> {
        pieces: Count, "pieces to make a week";
    }
    is "pieces = jobs * per_car / (1 - scrap)";
    source "arithmetic; process yield in Hopp and Spearman, Factory Physics, 1996";
    needs "some pieces come out good, `scrap` is below 1", scrap.0 < 1.0;
    { jobs * (per_car.0 / (1.0 - scrap.0)) }

    /// The mean cycle of a station over the kinds of job that pass it.
    fn mean_cycle "Mean cycle" (
        jobs: Vec<Count>, NOT_NEGATIVE, "jobs of each kind in the period";
        cycles: Vec<Seconds>, NOT_NEGATIVE, "cycle of each kind";
    ) -> {
        mean_cycle: Seconds, "cycle of the mean job";
    }
    is "mean_cycle = sum(jobs * cycles) / sum(jobs)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            mixed-model lines";
    needs "`jobs` and `cycles` are of one length", jobs.len() == cycles.len();
    needs "there is a job", jobs.iter().any(|jobs| jobs.0 > 0.0);
    {
        let all: f64 = jobs.iter().map(|jobs| jobs.0).sum();
        let work: f64 = jobs.iter().zip(&cycles).map(|(jobs, cycle)| jobs.0 * cycle.0).sum();
        Seconds(work / all)
    }

    /// Availability of a station whose stops come with running time: while it is down for
    /// one cause it does not wear for the others, so the ratios add up.
    fn running_availability "Availability, stops by running time" (
        between: Vec<Minutes>, POSITIVE, "mean running time between stops, cause by cause";
        repair: Vec<Minutes>, NOT_NEGATIVE, "mean time to repair, cause by cause";
    ) -> {
        availability: Share, "share of the time wanted in which it can run";
    }
    is "availability = 1 / (1 + sum(repair / between))";
    source "MIL-HDBK-338B, Electronic Reliability Design Handbook, 1998, equation 10.30: a series \
            system that is down for any one unit; it is the balance of a Markov chain in which \
            causes do not overlap";
    needs "`between` and `repair` are of one length", between.len() == repair.len();
    {
        let lost: f64 = between.iter().zip(&repair).map(|(up, down)| *down / *up).sum();
        Share(1.0 / (1.0 + lost))
    }

    /// Availability where stops come by the clock, each cause for itself.
    fn clock_availability "Availability, stops by the clock" (
        between: Vec<Minutes>, POSITIVE, "mean time from a repair to the next stop, cause by cause";
        repair: Vec<Minutes>, NOT_NEGATIVE, "mean time to repair, cause by cause";
    ) -> {
        availability: Share, "share of the time in which it is up";
    }
    is "availability = product(between / (between + repair))";
    source "the balance of a Markov chain whose causes come and go each for itself: parts in \
            series, each up for its own share of the time";
    needs "`between` and `repair` are of one length", between.len() == repair.len();
    {
        let causes = between.iter().zip(&repair);
        Share(causes.map(|(up, down)| *up / (*up + *down)).product())
    }

    /// Availability where some stops come with running time and some by the clock.
    fn joint_availability "Availability, both kinds of stops" (
        running: Share, SHARE, "availability as to stops by running time";
        clock: Share, SHARE, "availability as to stops by the clock";
    ) -> {
        availability: Share, "share of the time in which it can run";
    }
    is "availability = running * clock";
    source "independence of the causes";
    { Share(running.0 * clock.0) }

    /// The rhythm of a station as its followers see it, stops and like units counted.
    fn effective_cycle_of_units "Effective cycle" (
        cycle: Seconds, NOT_NEGATIVE, "mean cycle, stops not counted";
        units: Count, POSITIVE, "like units side by side";
        availability: Share, SOME_SHARE, "share of time a unit can work";
    ) -> {
        effective_cycle: Seconds, "mean time from job to job when never starved or blocked";
    }
    is "effective_cycle = cycle / (units * availability)";
    source "Hopp and Spearman, Factory Physics, 1996, effective rate of machines in parallel";
    { cycle / (units.0 * availability.0) }

    /// The mean cycle at which a station just keeps up.
    fn cycle_to_reach "Cycle to reach" (
        jobs: Count, POSITIVE, "jobs wanted in the period";
        net_time: Seconds, POSITIVE, "working time in the period";
        units: Count, POSITIVE, "like units side by side";
        availability: Share, SOME_SHARE, "share of time a unit can work";
    ) -> {
        cycle: Seconds, "longest mean cycle that holds the plan";
    }
    is "cycle = net_time * units * availability / jobs";
    source "load of 1 solved for the cycle";
    { net_time * (units.0 * availability.0 / jobs.0) }

    /// The rate that a station, line or fleet allows if nothing else holds the plant back,
    /// at the same mix.
    fn rate_alone "Rate alone" (
        cars: PerWeek, NOT_NEGATIVE, "good cars a week in the plan";
        load: Share, POSITIVE, "work over what can be done, at the plan's cars";
    ) -> {
        rate: PerWeek, "good cars a week";
    }
    is "rate = cars / load";
    source "arithmetic: load grows with the cars";
    { cars / load.0 }

    /// The rate of stages that depend on each other, at best.
    fn weakest_rate "Rate of the weakest" (
        rates: Vec<PerWeek>, NOT_NEGATIVE, "rate of each stage alone";
    ) -> {
        rate: PerWeek, "good cars a week, an upper bound";
    }
    is "rate = min(rates)";
    source "Hopp and Spearman, Factory Physics, 1996, bottleneck rate";
    { PerWeek(rates.iter().fold(f64::INFINITY, |least, rate| least.min(rate.0))) }

    /// The longest run of heavy cars that a period brings, not exceeded in the stated share
    /// of periods, when cars come in random order.
    fn longest_run "Longest run by chance" (
        cars: Count, POSITIVE, "cars in the period";
        heavy_share: Share, INNER_SHARE, "share of heavy cars";
        quantile: Share, INNER_SHARE, "share of periods in which no longer run comes";
    ) -> {
        run: Count, "heavy cars in a row, whole";
    }
    is "run = ceil(ln(-ln(quantile) / (cars * (1 - heavy_share))) / ln(heavy_share)) - 1, \
        at least 1";
    source "Gordon, Schilling and Waterman, An extreme value theory for long head runs, \
            Probability Theory and Related Fields 72, 1986";
    {
        // Runs of at least n begin at a rate of cars * (1 - p) * p^n; none comes
        // with probability exp of minus that.
        let rare = -libm::log(quantile.0) / (cars.0 * (1.0 - heavy_share.0));
        let exact = libm::log(rare) / libm::log(heavy_share.0);
        Count((whole_up(exact) - 1.0).max(1.0))
    }

    /// Lots a week of one part.
    fn lots_per_week "Lots a week" (
        pieces: Count, NOT_NEGATIVE, "pieces to make a week";
        lot: Count, POSITIVE, "pieces in a lot";
    ) -> {
        lots: Count, "lots a week, mean";
    }
    is "lots = pieces / lot";
    source "arithmetic";
    { Count(pieces / lot) }

    /// The hours a week a blanking or press line runs for one part.
    fn run_hours "Run hours" (
        pieces: Count, NOT_NEGATIVE, "pieces to make a week";
        strokes_per_min: crate::PerMinute, POSITIVE, "strokes or blanks a minute";
        pieces_per_stroke: Count, POSITIVE, "pieces of one stroke";
    ) -> {
        run: Hours, "hours of running a week";
    }
    is "run = pieces / (strokes_per_min * pieces_per_stroke) / 60";
    source "arithmetic";
    { Hours(pieces.0 / (strokes_per_min.0 * pieces_per_stroke.0) / 60.0) }

    /// The load of a line that makes its parts in lots: it runs, it stops, and between two
    /// lots it is changed over.
    fn lot_line_load "Load of a lot line" (
        runs: Vec<Hours>, NOT_NEGATIVE, "hours of running a week, part by part";
        lots: Vec<Count>, NOT_NEGATIVE, "lots a week, part by part";
        change: Minutes, NOT_NEGATIVE, "changeover, from last piece to first stroke";
        first_off: Minutes, NOT_NEGATIVE, "from first stroke to first piece released";
        availability: Share, SOME_SHARE, "share of the running time wanted in which it runs";
        net_time: Hours, POSITIVE, "working hours a week";
        units: Count, POSITIVE, "like lines side by side";
    ) -> struct LotLineLoad {
        load: Share, "work over what the line can do; above 1 it cannot";
        running: Hours, "hours a week of running and stops";
        changing: Hours, "hours a week of changeovers";
        overtime: Hours, "hours a week missing on each line, 0 if none";
        units_needed: Count, "lines for this work, whole";
    }
    is "running = sum(runs) / availability; changing = sum(lots) * (change + first_off) / 60; \
        load = (running + changing) / (net_time * units); overtime = max(0, load - 1) * net_time; \
        units_needed = ceil(load * units)";
    source "Hopp and Spearman, Factory Physics, 1996 (utilisation with setups)";
    {
        let running = runs.iter().copied().sum::<Hours>() / availability.0;
        let count: f64 = lots.iter().map(|lots| lots.0).sum();
        let changing = Hours((change + first_off).0 * count / 60.0);
        let load = (running + changing) / (net_time * units.0);
        LotLineLoad {
            load: Share(load),
            running,
            changing,
            overtime: net_time * (load - 1.0).max(0.0),
            units_needed: Count(whole_up(load * units.0)),
        }
    }

    /// Carriers that a closed loop needs, by Little's law: those at stations and places on
    /// the way, and those that travel at the moment.
    fn carriers_needed "Carriers needed" (
        stations: Count, NOT_NEGATIVE, "stations on the way that hold a carrier each";
        travel: Seconds, NOT_NEGATIVE, "moves between them, loading, unloading and the way back";
        takt: Seconds, POSITIVE, "time from one carrier taken to the next";
        availability: Share, SOME_SHARE, "share of time a carrier is fit for use";
    ) -> struct CarriersNeeded {
        exact: Count, "carriers before rounding up";
        carriers: Count, "carriers, whole";
    }
    is "exact = (stations + travel / takt) / availability; carriers = ceil(exact)";
    source "Little, Operations Research 9, 1961, 383-387, on the carrier loop";
    {
        let exact = (stations.0 + travel / takt) / availability.0;
        CarriersNeeded {
            exact: Count(exact),
            carriers: Count(whole_up(exact)),
        }
    }

    /// The cycle of a station by its work: as long as its longest post, and what the last
    /// of them waits for the others meanwhile.
    fn cycle_of_work "Cycle by the work of posts" (
        posts: Vec<Seconds>, NOT_NEGATIVE, "work of each post on a mean car";
        waits: Seconds, NOT_NEGATIVE, "how much later than that the last post is done";
    ) -> { cycle: Seconds, "cycle of the station"; }
    is "cycle = max(posts) + waits";
    source "arithmetic";
    { Seconds(posts.iter().map(|post| post.0).fold(0.0, f64::max) + waits.0) }

    /// The age a piece reaches at most in a stock that is filled in lots: safety first, then
    /// the lot, used up evenly.
    fn lot_cover "Cover of a lot" (
        lot: Count, NOT_NEGATIVE, "pieces in a lot";
        safety: Count, NOT_NEGATIVE, "pieces left when the next lot comes";
        pieces: Count, POSITIVE, "pieces used a week";
    ) -> struct LotCover {
        mean: Days, "mean age, in days of the week's seven";
        worst: Days, "age of the last piece of a lot";
    }
    is "mean = 7 * (safety + lot / 2) / pieces; worst = 7 * (safety + lot) / pieces";
    source "arithmetic of a stock used evenly, first in, first out";
    {
        LotCover {
            mean: Days(7.0 * (safety.0 + lot.0 / 2.0) / pieces.0),
            worst: Days(7.0 * (safety.0 + lot.0) / pieces.0),
        }
    }

    /// The time cars spend in a stage with so many in it, by Little's law. With every place
    /// filled it is the worst mean.
    fn stage_age "Time in a stage" (
        content: Count, NOT_NEGATIVE, "cars in the stage";
        rate: PerWeek, POSITIVE, "cars that pass it a week";
    ) -> {
        age: Days, "time in the stage, in days of the week's seven";
    }
    is "age = 7 * content / rate";
    source "Little, Operations Research 9, 1961, 383-387";
    { Days(7.0 * content.0 / rate.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, wanted: f64) -> bool {
        (got - wanted).abs() <= 1e-4 * wanted.abs()
    }

    #[test]
    fn three_causes_of_stops_add_up_by_running_time() {
        // 1/(1 + ΣMTTR/MTBF) = 0.9091 against the product 0.9051 (computed):
        // stops of 1/30, 1/30 and 1/30 of running time.
        let between = || vec![Minutes(300.0); 3];
        let repair = || vec![Minutes(10.0); 3];
        let running = running_availability(between(), repair()).unwrap().value.0;
        let clock = clock_availability(between(), repair()).unwrap().value.0;
        assert!(near(running, 1.0 / 1.1), "{running}");
        assert!(clock < running);
    }

    #[test]
    fn the_longest_run_grows_with_the_share_of_heavy_cars() {
        let run = |share| {
            longest_run(Count(1_400.0), Share(share), Share(0.95))
                .unwrap()
                .value
                .0
        };
        assert!(run(0.001) >= 1.0 && run(0.1) < run(0.4) && run(0.4) < run(0.8));
        // 1,400 cars, 10 % heavy: P(no run of 5) = exp(-1400 * 0.9 * 0.1^5) = 0.987,
        // P(no run of 4) = exp(-0.126) = 0.882, so 4 stands at 95 % (computed).
        assert_eq!(run(0.1), 4.0);
    }

    #[test]
    fn carriers_of_a_moving_line() {
        // 24 stations, 237.6 s, 5 min of return and transfer, 95 %: 27 (computed,
        // Little's law on the loop).
        let carts = carriers_needed(Count(24.0), Seconds(300.0), Seconds(237.6), Share(0.95));
        assert_eq!(carts.unwrap().value.carriers, Count(27.0));
    }

    #[test]
    fn a_line_that_changes_dies_loses_the_changeovers() {
        let load = lot_line_load(
            vec![Hours(30.0), Hours(15.0)],
            vec![Count(10.0), Count(5.0)],
            Minutes(30.0),
            Minutes(10.0),
            Share(0.9),
            Hours(60.0),
            Count(1.0),
        )
        .unwrap()
        .value;
        assert!(near(load.running.0, 50.0) && near(load.changing.0, 10.0));
        assert!(near(load.load.0, 1.0));
    }

    #[test]
    fn a_lot_of_two_days_above_half_a_day_of_safety_is_two_and_a_half_days_old_at_most() {
        // lot cover 2.0 d, safety cover 0.5 d: mean 1.5 d, worst 2.5 d (computed).
        let cover = lot_cover(Count(200.0), Count(50.0), Count(700.0))
            .unwrap()
            .value;
        assert!(near(cover.mean.0, 1.5) && near(cover.worst.0, 2.5));
    }
}
