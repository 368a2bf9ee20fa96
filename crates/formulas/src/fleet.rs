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

sheet! {
    shop "Carts";

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
