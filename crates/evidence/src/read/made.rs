//! What stations made, shift by shift, out of all tables that tell of it.

use std::collections::BTreeSet;

use super::{Log, Quality};

/// What stations made.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Output {
    /// By station and shift; of shifts in which no state was seen too.
    pub made: Quality,
    /// Stations of which the log tells what was not right.
    pub judged: BTreeSet<u32>,
}

impl Log {
    /// What every station made, shift by shift.
    ///
    /// Jobs are those of `counts.csv` where it counts the station at all, else
    /// those that its states end or, where they are more, those of
    /// `quality.csv`. What was not right is told by the counts, or by the
    /// quality events of a station whose counts tell nothing of it. Nothing that
    /// was counted is left out: the shifts' sum is the log's.
    pub fn output(&self) -> Output {
        let tables = &self.tables;
        let stations = |counts: &Quality| counts.keys().map(|key| key.0).collect();
        let counted: BTreeSet<u32> = stations(&tables.counts);
        let by_events: BTreeSet<u32> = stations(&tables.events);
        let wrong = tables.counts.iter();
        let told: BTreeSet<u32> = wrong
            .filter(|(_, made)| made.rework + made.scrap > 0)
            .map(|(key, _)| key.0)
            .collect();
        let mut made = tables.counts.clone();
        let seen = self.units.iter().filter(|unit| unit.rows > 0);
        for unit in seen.filter(|unit| !counted.contains(&unit.place)) {
            for cell in unit.cells.iter().filter(|cell| cell.jobs > 0) {
                let shift = made.entry((unit.place, cell.turn)).or_default();
                shift.made += u64::from(cell.jobs);
            }
        }
        let events = tables.events.iter();
        for (key, found) in events.filter(|(key, _)| !told.contains(&key.0)) {
            let shift = made.entry(*key).or_default();
            if !counted.contains(&key.0) {
                shift.made = shift.made.max(found.made);
            }
            shift.rework += found.rework;
            shift.scrap += found.scrap;
        }
        let judged = if tables.tells_rejects {
            counted.union(&by_events).copied().collect()
        } else {
            by_events
        };
        Output { made, judged }
    }
}
