//! Carts on a line and carts that supply it.

use units::{Count, Metres, Minutes, PerHour, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::MetresPerMinute;
use crate::range::{NOT_NEGATIVE, PART, POSITIVE, SOME_SHARE};
use crate::rounding::whole_up;

/// Carts that, each slowing all others by the same share, do the work of
/// `needed` free ones: the lower root of `n (1 - loss (n - 1)) = needed`. None
/// when crowding grows faster than the fleet, or when the next whole number
/// is already past the upper root.
fn crowded(needed: f64, loss: f64) -> Option<f64> {
    let slope = 1.0 + loss;
    let under_root = slope * slope - 4.0 * loss * needed;
    if under_root < 0.0 {
        return None;
    }
    let carts = whole_up(2.0 * needed / (slope + libm::sqrt(under_root))).max(1.0);
    let done = carts * (1.0 - loss * (carts - 1.0));
    (done >= needed * (1.0 - 1e-9)).then_some(carts)
}

/// Carts on a way that each needs `busy` of takt to pass alone, with crowding:
/// whole ones need not be, since those on the line make up the number.
fn on_the_way(busy: f64, loss: f64) -> Option<f64> {
    if busy <= 1.0 {
        return Some(busy);
    }
    let slope = 1.0 + loss;
    let under_root = slope * slope - 4.0 * loss * busy;
    (under_root >= 0.0).then(|| 2.0 * busy / (slope + libm::sqrt(under_root)))
}

/// Carts of a loop before rounding up, and whole. None when crowding on the way
/// back grows faster than the fleet, or rounding up goes past its best.
fn in_the_loop(held: f64, busy: f64, fit: f64, loss: f64) -> Option<(f64, f64)> {
    let exact = (held + on_the_way(busy, loss)?) / fit;
    let carts = whole_up(exact);
    let behind = carts * fit - held;
    let done = behind * (1.0 - loss * (behind - 1.0).max(0.0));
    (done >= busy * (1.0 - 1e-9) - 1e-9).then_some((exact, carts))
}

sheet! {
    shop "Carts";

    /// Speed of a line that moves evenly: one pitch in each cycle.
    fn line_speed "Speed of a moving line" (
        pitch: Metres, POSITIVE, "distance from car to car";
        cycle: Seconds, POSITIVE, "cycle of the line";
    ) -> { speed: MetresPerMinute, "speed of the line"; }
    is "speed = pitch / cycle";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, on \
            moving lines; the trade's own definition";
    caution "people who work on a moving line need a stop within reach and a pace that \
             local rules allow";
    { MetresPerMinute(pitch.0 / cycle.minutes().0) }

    /// Time of the empty way back: the strip at cart speed, and what each curve costs.
    fn way_back "Way back" (
        length: Metres, NOT_NEGATIVE, "length of the empty way back";
        speed: MetresPerMinute, POSITIVE, "speed on the straight";
        curves: Count, NOT_NEGATIVE, "curves on it";
        per_curve: Seconds, NOT_NEGATIVE, "time that a curve costs beyond the straight";
    ) -> { way_back: Seconds, "time of the way back"; }
    is "way_back = length / speed + curves * per_curve";
    source "arithmetic; curves are taken slowly, common practice";
    caution "driverless carts among people need ISO 3691-4: personnel detection, side \
             clearance and a risk assessment on site";
    { Seconds(length.0 / speed.0 * 60.0 + curves.0 * per_curve.0) }

    /// What charging takes from a cart: in each round it must gain what the round used, at
    /// places where it stands anyway or at a charger besides. A swap is a short charge.
    fn charging "Charging" (
        round: Minutes, POSITIVE, "time of a round, charging besides not counted";
        standing: Minutes, NOT_NEGATIVE, "part of it at chargers without moving";
        battery: Minutes, POSITIVE, "work that a full battery lasts";
        charge: Minutes, NOT_NEGATIVE, "time that fills an empty one, or swaps it";
    ) -> struct Charging {
        fit: Share, "share of time left for work";
        besides: Minutes, "charging besides in each round";
    }
    is "besides = max(0, (round - standing) * charge / battery - standing); \
        fit = round / (round + besides)";
    source "balance of charge over a round";
    caution "charging places need ventilation, fire protection and protection against contact \
             as local codes and the battery's maker ask";
    needs "standing is part of the round", standing.0 <= round.0;
    {
        let used = (round - standing).0 * charge.0 / battery.0;
        let besides = (used - standing.0).max(0.0);
        Charging {
            fit: Share(round.0 / (round.0 + besides)),
            besides: Minutes(besides),
        }
    }

    /// Carts of a closed loop, by Little's law: one at each station of the line, those on the
    /// move along it, and those on the way back, where each further one may slow all others.
    fn loop_carts "Carts of a loop" (
        stations: Count, NOT_NEGATIVE, "places at stations on the way, a cart each";
        travel: Seconds, NOT_NEGATIVE, "moves between them, loading and unloading";
        way_back: Seconds, NOT_NEGATIVE, "empty way back, alone on it";
        takt: Seconds, POSITIVE, "time from one cart taken to the next";
        availability: Share, SOME_SHARE, "share of time a cart is fit and not charging";
        loss: Share, PART, "share of its time that each further cart on the way back costs all";
    ) -> struct LoopCarts {
        carts: Option<Count>, "carts, whole; none when crowding lets no number suffice";
        exact: Option<Count>, "carts before rounding up";
        traffic: Option<Share>, "share of speed that crowding leaves on the way back";
    }
    is "behind = way_back / takt / traffic; traffic = min(1, 1 - loss * (behind - 1)); \
        exact = (stations + travel / takt + behind) / availability; carts = ceil(exact)";
    source "Little, Operations Research 9, 1961, 383-387, on the carts' loop; traffic factor \
            after Groover, Automation, Production Systems, and Computer-Integrated Manufacturing";
    caution "driverless carts among people need ISO 3691-4: personnel detection, side \
             clearance and a risk assessment on site";
    {
        let held = stations.0 + travel / takt;
        let busy = way_back / takt;
        let found = in_the_loop(held, busy, availability.0, loss.0);
        let behind = on_the_way(busy, loss.0).unwrap_or(0.0);
        LoopCarts {
            carts: found.map(|(_, carts)| Count(carts)),
            exact: found.map(|(exact, _)| Count(exact)),
            traffic: found.map(|_| Share(1.0 - loss.0 * (behind - 1.0).max(0.0))),
        }
    }

    /// Carts that carry cars along a moving line and return: one a station and those on
    /// their way back.
    fn line_carts "Carts on a line" (
        stations: Count, POSITIVE, "stations, one cart each";
        pitch: Metres, POSITIVE, "distance from car to car";
        cycle: Seconds, POSITIVE, "cycle of the line";
        return_length: Metres, NOT_NEGATIVE, "way back";
        return_speed: MetresPerMinute, POSITIVE, "speed on the way back";
        transfer: Minutes, NOT_NEGATIVE, "time to take the car off and put one on";
        availability: Share, SOME_SHARE, "share of time a cart is fit, charging counted as not";
    ) -> struct LineCarts {
        speed: MetresPerMinute, "speed of the line";
        return_time: Minutes, "time off the line, transfer included";
        exact: Count, "carts before rounding up";
        carts: Count, "carts, whole";
    }
    is "speed = pitch / cycle; return_time = return_length / return_speed + transfer; \
        exact = (stations + return_time / cycle) / availability; carts = ceil(exact)";
    source "Little, Operations Research 9, 1961, on the carts' loop";
    caution "driverless carts among people need ISO 3691-4: personnel detection, side \
             clearance and a risk assessment on site";
    {
        let return_time = Minutes(return_length.0 / return_speed.0) + transfer;
        let exact = (stations.0 + return_time.seconds() / cycle) / availability.0;
        LineCarts {
            speed: MetresPerMinute(pitch.0 / cycle.minutes().0),
            return_time,
            exact: Count(exact),
            carts: Count(whole_up(exact)),
        }
    }

    /// Carts that bring material: the work of all deliveries over what one cart can do. A
    /// mean; peaks, charging and blocking need more.
    fn supply_carts "Supply carts" (
        loaded: Metres, NOT_NEGATIVE, "way with the load";
        empty: Metres, NOT_NEGATIVE, "way without";
        speed: MetresPerMinute, POSITIVE, "speed of a cart";
        load: Minutes, NOT_NEGATIVE, "time to load";
        unload: Minutes, NOT_NEGATIVE, "time to unload";
        deliveries: PerHour, NOT_NEGATIVE, "deliveries an hour";
        availability: Share, SOME_SHARE, "share of time a cart is fit";
        traffic: Share, SOME_SHARE, "share of time left by waiting in traffic";
    ) -> struct SupplyCarts {
        cycle: Minutes, "time of a delivery, there and back";
        workload: Minutes, "cart work in each hour";
        per_cart: Minutes, "work one cart does in each hour";
        exact: Count, "carts before rounding up";
        carts: Count, "carts, whole";
    }
    is "cycle = load + loaded / speed + unload + empty / speed; workload = deliveries * cycle; \
        per_cart = 60 * availability * traffic; exact = workload / per_cart; \
        carts = ceil(exact)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            analysis of vehicle-based systems";
    caution "driverless carts among people need ISO 3691-4: personnel detection, side \
             clearance and a risk assessment on site";
    {
        let cycle = load + unload + Minutes((loaded + empty).0 / speed.0);
        let workload = cycle * deliveries.0;
        let per_cart = Minutes(60.0 * availability.0 * traffic.0);
        let exact = workload / per_cart;
        SupplyCarts {
            cycle,
            workload,
            per_cart,
            exact: Count(exact),
            carts: Count(whole_up(exact)),
        }
    }

    /// The same when every further cart slows all others down. Beyond a certain fleet more
    /// carts do less; then there is no answer but a shorter or a second way.
    fn crowded_carts "Supply carts that slow each other" (
        workload: Minutes, NOT_NEGATIVE, "cart work in each hour";
        availability: Share, SOME_SHARE, "share of time a cart is fit";
        loss: Share, PART, "share of time each further cart costs every cart";
    ) -> { carts: Option<Count>, "fewest carts that do the work, whole"; }
    is "carts = min n with 60 * availability * n * (1 - loss * (n - 1)) >= workload";
    source "arithmetic; traffic factor after Groover, Automation, Production Systems, and \
            Computer-Integrated Manufacturing";
    caution "driverless carts among people need ISO 3691-4: personnel detection, side \
             clearance and a risk assessment on site";
    { crowded(workload.0 / (60.0 * availability.0), loss.0).map(Count) }
}
