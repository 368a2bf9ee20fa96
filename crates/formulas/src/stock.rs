//! Content, waiting, banks between shops, lead time.

use units::{Count, Days, Hours, Minutes, PerHour, Seconds};

use crate::declare::sheet;
use crate::quantity::PerDay;
use crate::range::{NOT_NEGATIVE, POSITIVE};
use crate::rounding::whole_up;

/// Above this the harmonic sum is not added up term by term.
const ADDED_UP: f64 = 10_000.0;
/// The Euler-Mascheroni constant (NIST Digital Library of Mathematical Functions,
/// 5.2.3).
const EULER_GAMMA: f64 = 0.577_215_664_901_532_9;

/// `1 + 1/2 + ... + 1/n`; above [`ADDED_UP`] by its expansion (NIST Digital Library
/// of Mathematical Functions, 5.11.2), whose next term is `1 / (12 n^2)`: below
/// 1e-9 there.
fn harmonic(n: f64) -> f64 {
    if n <= ADDED_UP {
        (1..=n as u32).map(|k| 1.0 / f64::from(k)).sum()
    } else {
        libm::log(n) + EULER_GAMMA + 0.5 / n
    }
}

sheet! {
    shop "Stock and lead time";

    /// The cars inside a stretch of the plant that a lead time implies.
    fn little_content "Content by Little's law" (
        rate: PerDay, NOT_NEGATIVE, "cars a day through the stretch, in the days of the lead time";
        lead_time: Days, NOT_NEGATIVE, "mean time in the stretch";
    ) -> { content: Count, "cars inside, mean"; }
    is "content = rate * lead_time";
    source "Little, Operations Research 9, 1961, pages 383-387";
    { Count(rate.0 * lead_time.0) }

    /// The lead time that a content implies.
    fn little_lead_time "Lead time by Little's law" (
        content: Count, NOT_NEGATIVE, "cars inside, mean";
        rate: PerDay, POSITIVE, "cars a day through the stretch";
    ) -> { lead_time: Days, "mean time in the stretch"; }
    is "lead_time = content / rate";
    source "Little, Operations Research 9, 1961, pages 383-387";
    { Days(content.0 / rate.0) }

    /// How long a part made in lots waits to be used. A car needs its oldest panel, so the
    /// longest wait and not the mean decides a promise on lead time.
    fn lot_wait "Wait in a lot" (
        lot_cover: Days, NOT_NEGATIVE, "time a lot lasts";
        safety_cover: Days, NOT_NEGATIVE, "time the safety stock lasts";
    ) -> struct LotWait {
        mean_wait: Days, "wait of a part, mean";
        max_wait: Days, "wait of the last part of the lot";
    }
    is "mean_wait = safety_cover + lot_cover / 2; max_wait = safety_cover + lot_cover";
    source "arithmetic; a lot used evenly, first in first out";
    {
        LotWait {
            mean_wait: safety_cover + lot_cover / 2.0,
            max_wait: safety_cover + lot_cover,
        }
    }

    /// The stock that swings between two shops with unlike hours that start together, one
    /// feeding the other. It is needed beside any stock for stops.
    fn shift_swing "Stock swing from unlike shifts" (
        day_demand: Count, NOT_NEGATIVE, "pieces a day";
        feeding_hours: Hours, POSITIVE, "working hours a day of the shop that feeds";
        drawing_hours: Hours, POSITIVE, "working hours a day of the shop that draws";
    ) -> struct ShiftSwing {
        feeding_rate: PerHour, "pieces an hour made";
        drawing_rate: PerHour, "pieces an hour drawn";
        swing: Count, "stock from the lowest to the highest point of the day";
    }
    is "feeding_rate = day_demand / feeding_hours; drawing_rate = day_demand / drawing_hours; \
        swing = abs(feeding_rate - drawing_rate) * min(feeding_hours, drawing_hours)";
    source "arithmetic";
    {
        let feeding = day_demand.0 / feeding_hours.0;
        let drawing = day_demand.0 / drawing_hours.0;
        ShiftSwing {
            feeding_rate: PerHour(feeding),
            drawing_rate: PerHour(drawing),
            swing: Count((feeding - drawing).abs() * feeding_hours.0.min(drawing_hours.0)),
        }
    }

    /// What a stop takes out of a bank and how long a little overspeed needs to refill it.
    fn catch_up "Refill after a stop" (
        stop: Minutes, NOT_NEGATIVE, "length of the stop";
        rate: PerHour, NOT_NEGATIVE, "rate the bank must keep up meanwhile";
        overspeed: units::Share, POSITIVE, "share by which the stage runs faster afterwards";
    ) -> struct CatchUp {
        bank: Count, "pieces the bank must hold, whole";
        refill_time: Minutes, "time until the bank is full again";
    }
    is "bank = ceil(rate * stop); refill_time = stop / overspeed";
    source "arithmetic";
    {
        CatchUp {
            bank: Count(whole_up(rate.0 * stop.0 / 60.0)),
            refill_time: stop / overspeed.0,
        }
    }

    /// The places from which a feeding line keeps a merge going: through the longest stop that
    /// a week of its own stops brings on average, or through its own breaks where these are
    /// longer, and over the way. Where the feeding line works on what was taken off the same
    /// car, that waits besides for the car, which is longer under way. A store helps only as
    /// full as it is when a stop begins, so a run of the plant has the last word.
    fn feeder_store "Store of a feeding line" (
        repair: Minutes, NOT_NEGATIVE, "mean length of a stop of the feeding line";
        stops: Count, NOT_NEGATIVE, "stops of it a week";
        closed: Minutes, NOT_NEGATIVE, "longest work of the merge while the feeding line has none";
        transport: Seconds, NOT_NEGATIVE, "way from its end to the merge";
        takt: Seconds, POSITIVE, "time from car to car at the merge";
        ahead: Count, NOT_NEGATIVE, "cars by which it runs ahead of the one it is for";
        pieces: Count, POSITIVE, "pieces of a car";
    ) -> struct FeederStore {
        places: Count, "places, whole, those of pieces on the way counted";
        longest: Minutes, "longest stop of a week, on average";
        cover: Minutes, "time that the places last";
    }
    is "n = ceil(stops); longest = repair * (1 + 1/2 + ... + 1/n), the sum above n = 10000 as \
        ln(n) + 0.5772156649015329 + 1 / (2 * n); \
        cover = max(longest, closed) + transport; \
        places = max(pieces, ceil((ahead + cover / takt) * pieces))";
    source "mean of the longest of n exponential times: Renyi, On the theory of order \
            statistics, Acta Mathematica Academiae Scientiarum Hungaricae 4, 1953; the rest by \
            Little, Operations Research 9, 1961";
    {
        let longest = repair * harmonic(whole_up(stops.0));
        let cover = Minutes(longest.0.max(closed.0) + transport.0 / 60.0);
        let cars = ahead.0 + cover.0 * 60.0 / takt.0;
        FeederStore {
            places: Count(whole_up(cars * pieces.0).max(pieces.0)),
            longest,
            cover,
        }
    }

    /// The lead time from coil to car as the sum of the worst ages of its stages: lots and
    /// banks at their longest wait, not their process times.
    fn lead_time_budget "Lead-time budget" (
        stages: Vec<Days>, NOT_NEGATIVE, "worst age each stage adds";
        promise: Days, POSITIVE, "lead time promised";
    ) -> struct LeadTimeBudget {
        total: Days, "lead time, worst";
        spare: Days, "what the promise leaves; below 0 it is broken";
    }
    is "total = sum(stages); spare = promise - total";
    source "arithmetic";
    {
        let total: Days = stages.iter().copied().sum();
        LeadTimeBudget {
            total,
            spare: promise - total,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_goes_on_where_it_is_no_longer_added_up() {
        let added: f64 = (1..=10_001).map(|k| 1.0 / f64::from(k)).sum();
        assert!((harmonic(10_001.0) - added).abs() < 1e-9);
        // H(1000000) = 14.392726722865 (OEIS A001008 / A002805).
        assert!((harmonic(1e6) - 14.392_726_722_865).abs() < 1e-11);
        assert!(harmonic(1e9) > harmonic(1e8));
        assert_eq!(harmonic(0.0), 0.0);
    }
}
