//! What a day cost: made against plan by hour and shop, and every loss turned
//! into cars not made at the end of the line.
//!
//! A minute lost away from the constraint may cost nothing, so a loss is not
//! counted in minutes. The day is replayed on the plant's flow model with the
//! stops, slow cycles and rejects that really happened, at the time at which
//! they happened, and again without some of them; the luck of everything else
//! is shared. A loss counts for the mean of what its taking away gives when it
//! goes before all smaller ones and after all of them (the two ends of the
//! orders over which L. S. Shapley, 1953, averages), so that the losses add up to
//! the whole difference.
//!
//! A loss far up the plant may cost nothing today and yet be felt: it empties the
//! stock that protects the shops below, and the day counts only cars that it did not
//! make itself.
//!
//! Starving and blocking are consequences: the replay makes them of the stops
//! that caused them. Only where the log names a cause of its own for them, or at
//! an end of the plant, where nothing of it feeds the station or takes from it,
//! does the model not know why, and then they are replayed like stops.

mod days;
mod happened;
mod hours;
mod replay;

use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use crate::figures::CauseRow;
use crate::time::{DAY, Micros};

pub use days::{DayLine, days};
pub use happened::LossKind;
pub use hours::{HourRow, Waits};
pub(crate) use hours::{ends, last_shop, untold};
pub use replay::{NoDay, Settings, day};

/// Days before the day whose log is replayed, so that the plant is as full in
/// the morning as it was.
pub const DAYS_BEFORE: i64 = 5;

/// The time whose spells a replay of a day needs.
pub fn wanted(day: i64, zone: crate::time::Zone) -> (Micros, Micros) {
    (
        zone.instant((day - DAYS_BEFORE) * DAY),
        zone.instant((day + 1) * DAY),
    )
}

/// A loss of the day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "DayLoss")
)]
pub struct Loss {
    /// The station; empty for all others together.
    pub station: String,
    /// Its shop.
    pub shop: String,
    /// What kind of loss.
    pub kind: LossKind,
    /// The cause that the log names; empty for none.
    pub cause: String,
    /// How often.
    pub events: u64,
    /// Minutes lost at the station.
    pub minutes: f64,
    /// Cars not made for it, with its 95 % interval over the replications.
    pub cars: Interval,
}

/// A day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "LoggedDay")
)]
pub struct Day {
    /// Its date.
    pub date: String,
    /// Cars planned: the week's, by the open hours of the day.
    pub plan: f64,
    /// Cars made, by the log.
    pub made: f64,
    /// Planned less made.
    pub shortfall: f64,
    /// The losses, the dearest first; the last may be all others together.
    pub losses: Vec<Loss>,
    /// Cars that all losses together cost.
    pub lost: Interval,
    /// Planned less what the plant makes on this day without any loss.
    pub beyond: Interval,
    /// What the replay makes with all losses less what was really made: what
    /// the model does not explain.
    pub unexplained: Interval,
    /// Cars of the replay with all losses.
    pub replayed: Interval,
    /// Replications.
    pub replications: u32,
    /// Made against plan, by shop and hour.
    pub hours: Vec<HourRow>,
    /// The day's stops by cause, the most time down first.
    pub stops: Vec<CauseRow>,
    /// Who starved and who was blocked longest.
    pub waits: Vec<Waits>,
}

#[cfg(test)]
mod tests;
