//! The days of a log: which of them can be replayed whole.

use book::{Book, Problem};
use serde::{Deserialize, Serialize};
use whole::network::Built;

use super::hours;
use crate::read::Log;
use crate::roster::Roster;
use crate::time::{DAY, Micros, show_day};

/// A day of a log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DayLine {
    /// Its date.
    pub date: String,
    /// Cars planned: the week's, by the open hours of the day.
    pub plan: f64,
    /// Cars that left the plant; none where the log has no genealogy.
    pub made: Option<u64>,
    /// Whether the log has all of it.
    pub whole: bool,
}

/// Of a day that is whole at most one in so many open minutes may be missing: a log
/// ends with its last row, not with the shift.
const ONE_IN: i64 = 50;

/// The days of a log on which any shop worked, in their order.
///
/// # Errors
/// The plant has no station from which cars leave: no day has a plan then.
pub fn days(
    book: &Book,
    built: &Built,
    roster: &Roster,
    log: &Log,
) -> Result<Vec<DayLine>, Box<Problem>> {
    let Some((from, to)) = log.span else {
        return Ok(Vec::new());
    };
    let zone = roster.map.zone;
    let first = zone.local(from).div_euclid(DAY);
    let last = zone.local(to - 1).div_euclid(DAY);
    let shop = hours::last_shop(built)?;
    let lines = (first..=last).filter_map(|day| {
        let span = (zone.instant(day * DAY), zone.instant((day + 1) * DAY));
        let open_in = |from: Micros, to: Micros| -> i64 {
            let shops = roster.hours.iter();
            shops.map(|shop| shop.open_between(from, to)).sum()
        };
        let open = open_in(span.0, span.1);
        if open == 0 {
            return None;
        }
        let missing = open_in(span.0, from.min(span.1)) + open_in(to.max(span.0), span.1);
        let items = &log.tables.items;
        let out = |items: &[(i64, f64)]| {
            let within = items
                .iter()
                .filter(|item| span.0 <= item.0 && item.0 < span.1);
            within.count() as u64
        };
        Some(DayLine {
            date: show_day(day),
            plan: hours::planned(book, roster, shop, span.0, span.1),
            made: (!items.is_empty()).then(|| out(items)),
            whole: missing * ONE_IN <= open,
        })
    });
    Ok(lines.collect())
}
