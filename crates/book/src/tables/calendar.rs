//! When shops work.

use units::Minutes;

use super::table;
use crate::{Break, ClockTime, Weekdays, words::AtClose};

table! {
    /// A shift of a shop. The order in which shops appear here is their order
    /// from coil to car. A station whose shop has no shift works always.
    Shift in Shifts, key [shop, shift] {
        /// The shop.
        shop: String;
        /// The shift's name.
        shift: String;
        /// The days on which it starts.
        days: Weekdays;
        /// When it starts.
        start: ClockTime;
        /// When it ends; before the start means on the next day.
        end: ClockTime;
        /// Planned stops in the shift; without `breaks` one stop in its middle.
        planned_stops_min: Minutes, usual("0"), to(1440.0);
        /// The planned stops by the clock: start and minutes of each.
        breaks: Vec<Break>;
        /// What happens to work in hand when the shift or a stop comes.
        at_close: AtClose, usual("pause");
    }
}
