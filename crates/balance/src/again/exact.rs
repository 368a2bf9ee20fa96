//! All assignments, those near today's first.

use super::place::{Effort, Loads, Places};
use crate::watch::Watch;

struct Search<'a> {
    places: &'a Places<'a>,
    order: &'a [usize],
    best: Option<Vec<usize>>,
    least: u64,
    enough: u64,
    effort: &'a mut Effort,
    step: u64,
    ended: bool,
    watch: &'a Watch<'a>,
}

/// The assignment that moves least, and whether nothing better can be: all was
/// seen, or the bound is met.
pub(crate) fn least(
    places: &Places<'_>,
    order: &[usize],
    best: Option<Vec<usize>>,
    bound: u64,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> (Option<Vec<usize>>, bool) {
    let least = best.as_ref().map_or(u64::MAX, |at| places.moved(at));
    let mut search = Search {
        places,
        order,
        best,
        least,
        enough: bound,
        effort,
        step: 0,
        ended: false,
        watch,
    };
    let mut at = vec![usize::MAX; order.len()];
    let mut loads = places.none();
    search.go_on(0, &mut at, &mut loads, 0);
    (search.best, !search.ended)
}

impl Search<'_> {
    fn go_on(&mut self, depth: usize, at: &mut Vec<usize>, loads: &mut Loads, moved: u64) {
        if moved >= self.least || self.least <= self.enough {
            return;
        }
        let Some(task) = self.order.get(depth).copied() else {
            if let Some(found) = self.places.feasible(at.clone()) {
                self.least = moved;
                self.best = Some(found);
            }
            return;
        };
        self.step += 1;
        self.ended |=
            !self.effort.spend() || self.step.is_multiple_of(1_024) && self.watch.cancelled();
        if self.ended {
            return;
        }
        let before = &self.places.line.work.after[task];
        let first = before.iter().map(|before| at[*before]).max().unwrap_or(0);
        let home = self.places.today[task];
        let mut stations: Vec<usize> = (first..self.places.count).collect();
        stations.sort_by_key(|station| station.abs_diff(home));
        for station in stations {
            let more = if station == home {
                0
            } else {
                self.places.measures[0].ticks[task]
            };
            self.places.add(loads, task, station);
            if self.places.over(loads, station) == 0 {
                at[task] = station;
                self.go_on(depth + 1, at, loads, moved + more);
                at[task] = usize::MAX;
            }
            self.places.take(loads, task, station);
        }
    }
}
