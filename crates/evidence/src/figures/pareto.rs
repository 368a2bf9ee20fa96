//! Stops by cause, and cycles by product.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::gather::{CauseSum, Moments};
use crate::read::Log;
use crate::roster::Roster;
use crate::scan::NO_WORD;
use crate::time::seconds;

/// What a cause cost a station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CauseRow {
    /// The station.
    pub station: String,
    /// The cause; `-` where the log names none.
    pub cause: String,
    /// Stops.
    pub stops: u64,
    /// Time down, waiting for help included.
    pub down_s: f64,
    /// Of that, waiting for help.
    pub waiting_s: f64,
    /// Share of all time down in the log.
    pub share: f64,
    /// Share of this and all rows above.
    pub running_share: f64,
}

/// Stops by station and cause, the most time down first.
pub fn causes(log: &Log, roster: &Roster) -> Vec<CauseRow> {
    let mut sums: BTreeMap<(u32, u32), CauseSum> = BTreeMap::new();
    for unit in &log.units {
        for (word, sum) in &unit.causes {
            let all = sums.entry((unit.place, *word)).or_default();
            all.stops += sum.stops;
            all.down += sum.down;
            all.waiting += sum.waiting;
        }
    }
    let total: f64 = sums.values().map(|sum| seconds(sum.down)).sum();
    let rows = sums.into_iter().map(|((place, word), sum)| CauseRow {
        station: roster.places[place as usize].name.clone(),
        cause: word_of(log, word).to_owned(),
        stops: sum.stops,
        down_s: seconds(sum.down),
        waiting_s: seconds(sum.waiting),
        share: seconds(sum.down) / total.max(1e-9),
        running_share: 0.0,
    });
    ranked(rows.collect())
}

/// The most time down first, with what it and all before it come to.
pub(crate) fn ranked(mut rows: Vec<CauseRow>) -> Vec<CauseRow> {
    rows.sort_by(|a, b| {
        b.down_s
            .total_cmp(&a.down_s)
            .then_with(|| a.station.cmp(&b.station))
    });
    let mut running = 0.0;
    for row in &mut rows {
        running += row.share;
        row.running_share = running;
    }
    rows
}

/// A word of the log; `-` for none.
pub(crate) fn word_of(log: &Log, word: u32) -> &str {
    if word == NO_WORD {
        return "-";
    }
    log.words.get(word as usize).map_or("-", String::as_str)
}

/// The cycle of a product at a station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CycleRow {
    /// The station.
    pub station: String,
    /// The product as the log names it; `-` for none.
    pub product: String,
    /// Jobs whose begin and end are in the log.
    pub jobs: u64,
    /// Mean seconds worked.
    pub mean_s: f64,
    /// Standard deviation.
    pub deviation_s: Option<f64>,
    /// Planned by the book.
    pub planned_s: Option<f64>,
}

/// Cycles by station and product, in the order of the plant.
pub fn cycles(log: &Log, roster: &Roster) -> Vec<CycleRow> {
    let mut all: BTreeMap<(u32, u32), Moments> = BTreeMap::new();
    for unit in &log.units {
        for (word, moments) in &unit.cycles {
            all.entry((unit.place, *word)).or_default().join(moments);
        }
    }
    all.into_iter()
        .map(|((place, word), moments)| {
            let class = log.classes.get(word as usize).copied().flatten();
            CycleRow {
                station: roster.places[place as usize].name.clone(),
                product: word_of(log, word).to_owned(),
                jobs: moments.n,
                mean_s: moments.mean,
                deviation_s: moments.deviation(),
                planned_s: roster.planned(place, class),
            }
        })
        .collect()
}
