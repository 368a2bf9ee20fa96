//! The days of a log: which of them can be replayed whole.

use book::Book;
use serde::{Deserialize, Serialize};
use whole::network::Built;

use super::hours;
use crate::read::Log;
use crate::roster::Roster;
use crate::time::{DAY, show_day};

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

/// The days of a log on which any shop worked, in their order.
///
/// A log that ends with the last shift of a day has that day, though midnight has
/// not come: six hours are let pass.
pub fn days(book: &Book, built: &Built, roster: &Roster, log: &Log) -> Vec<DayLine> {
    let Some((from, to)) = log.span else {
        return Vec::new();
    };
    let zone = roster.map.zone;
    let first = zone.local(from).div_euclid(DAY);
    let last = zone.local(to - 1).div_euclid(DAY);
    let shop = hours::last_shop(built);
    let lines = (first..=last).filter_map(|day| {
        let span = (zone.instant(day * DAY), zone.instant((day + 1) * DAY));
        let shops = roster.hours.iter();
        let open: i64 = shops.map(|shop| shop.open_between(span.0, span.1)).sum();
        if open == 0 {
            return None;
        }
        let items = &log.tables.items;
        let out = |items: &[(i64, f64)]| {
            let within = items
                .iter()
                .filter(|item| span.0 <= item.0 && item.0 < span.1);
            within.count() as u64
        };
        Some(DayLine {
            date: show_day(day),
            plan: shop.map_or(0.0, |shop| {
                hours::planned(book, roster, shop, span.0, span.1)
            }),
            made: (!items.is_empty()).then(|| out(items)),
            whole: from <= span.0 + DAY / 4 && to + DAY / 4 >= span.1,
        })
    });
    lines.collect()
}
