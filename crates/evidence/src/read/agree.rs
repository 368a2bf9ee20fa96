//! Counts and quality events of one station and time, held against each other.

use std::collections::{BTreeMap, BTreeSet};

use book::{Problem, Severity};

use super::{Made, Tables};
use crate::defects::refusal;
use crate::roster::Roster;
use crate::time::Micros;

/// Rows of a table that are held against the other; no more, so that a log of
/// years stays small in memory.
const MOST: usize = 2_000_000;
/// Disagreements that are listed; the others are counted.
const LISTED: usize = 5;

/// What rows say, by station and instant.
#[derive(Clone, Debug, Default)]
pub(crate) struct Told(BTreeMap<(u32, Micros), Made>);

impl Told {
    pub(super) fn add(&mut self, place: u32, at: Micros, made: Made) {
        if self.0.len() < MOST {
            self.0.entry((place, at)).or_default().add(made);
        }
    }

    fn stations(&self, that: impl Fn(&Made) -> bool) -> BTreeSet<u32> {
        let those = self.0.iter().filter(|(_, made)| that(made));
        those.map(|((place, _), _)| *place).collect()
    }

    fn of(&self, place: u32) -> impl Iterator<Item = (Micros, Made)> {
        let those = self.0.range((place, Micros::MIN)..=(place, Micros::MAX));
        those.map(|((_, at), made)| (*at, *made))
    }

    fn between(&self, place: u32, from: Micros, to: Micros) -> Made {
        let mut sum = Made::default();
        if from < to {
            let those = self.0.range((place, from)..(place, to));
            those.for_each(|(_, made)| sum.add(*made));
        }
        sum
    }
}

/// One count, and what quality events say of the same time.
struct Differ {
    place: u32,
    from: Micros,
    to: Micros,
    counts: Made,
    events: Made,
    /// Whether the events tell of good jobs too.
    good: bool,
}

impl Tables {
    /// Counts that quality events of the same station and time contradict. What
    /// is told on one side only contradicts nothing: rework and scrap of a
    /// station whose counts never tell any, jobs made where the events are of
    /// those alone that were not right. A count reaches back to the one before
    /// it, the first as far as the second does.
    fn differ(&self) -> Vec<Differ> {
        let (counts, events) = (&self.told_counts, &self.told_events);
        let rejects = counts.stations(|made| made.rework + made.scrap > 0);
        let good = events.stations(|made| made.good() > 0);
        let mut differ = Vec::new();
        for place in events.stations(|_| true) {
            let rows: Vec<(Micros, Made)> = counts.of(place).collect();
            let [(first, _), (second, _), ..] = rows.as_slice() else {
                continue;
            };
            let mut from = first.saturating_sub(second - first);
            for (to, made) in rows {
                let found = events.between(place, from, to);
                let wrong = (made.rework, made.scrap) != (found.rework, found.scrap);
                let jobs = made.made != found.made;
                let good = good.contains(&place);
                if (wrong && rejects.contains(&place)) || (jobs && good) {
                    differ.push(Differ {
                        place,
                        from,
                        to,
                        counts: made,
                        events: found,
                        good,
                    });
                }
                from = to;
            }
        }
        differ
    }

    /// The same as notes: the first few, and how many there are.
    pub(super) fn disagreements(&self, roster: &Roster) -> Vec<Problem> {
        let differ = self.differ();
        let zone = roster.map.zone;
        let note = |(n, one): (usize, &Differ)| {
            let place = &roster.places[one.place as usize].name;
            let told = |made: Made, good: bool| {
                let jobs = if good {
                    format!("{} made, ", made.made)
                } else {
                    String::new()
                };
                format!("{jobs}{} rework, {} scrap", made.rework, made.scrap)
            };
            let more = match differ.len() {
                all if n == 0 && all > 1 => format!(" (the first of {all} such counts)"),
                _ => String::new(),
            };
            let mut note = refusal(
                "counts",
                "counts-differ",
                &format!(
                    "{place} from {} to {}: {} by the counts, {} by the quality events{more}",
                    zone.show(one.from),
                    zone.show(one.to),
                    told(one.counts, one.good),
                    told(one.events, one.good),
                ),
                "the same figures of a station and time in counts and quality events",
                "the counts were taken; correct the table that is wrong, or leave out rework and \
                 scrap of the counts to go by the events",
            );
            note.severity = Severity::Note;
            note
        };
        differ.iter().take(LISTED).enumerate().map(note).collect()
    }
}
