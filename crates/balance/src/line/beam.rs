//! A first good answer: station by station, the few fillings that leave least
//! idle go on together (a beam over stations, as in the bounded dynamic
//! programme of Bautista & Pereira 2009).

use super::fill::{Filler, Load, Luck, Place};
use super::search::Search;
use crate::set::Set;
use crate::watch::Watch;

/// How broad a beam is, and how many loads are tried from each filling.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Beam {
    pub(crate) width: usize,
    pub(crate) samples: u32,
    /// Tells one beam's luck from another's.
    pub(crate) seed: u64,
}

/// Stations filled so far.
struct Filling<const W: usize> {
    done: Set<W>,
    worth: i64,
    /// Where it came from in the level before.
    parent: usize,
    load: Load<W>,
}

impl<const W: usize> Search<'_, W> {
    /// Looks for an answer of at most the search's stations; shows nothing
    /// where it finds none.
    pub(crate) fn beam(&mut self, beam: Beam, watch: &Watch<'_>) -> Option<Vec<Load<W>>> {
        let mut luck = Luck(beam.seed);
        let mut levels = vec![vec![Filling {
            done: Set::EMPTY,
            worth: 0,
            parent: 0,
            load: Load {
                tasks: Set::EMPTY,
                order: Box::default(),
            },
        }]];
        for station in 0..self.stations {
            let mut next: Vec<Filling<W>> = Vec::new();
            let last = levels.len() - 1;
            for at in 0..levels[last].len() {
                if watch.cancelled() {
                    return None;
                }
                let stands = self.stood(&levels, at);
                let done = levels[last][at].done;
                let place = self.place(&done, station, &stands);
                for (load, worth) in self.loads_at(place, beam.samples, &mut luck, watch) {
                    next.push(Filling {
                        done: done.or(&load.tasks),
                        worth,
                        parent: at,
                        load,
                    });
                }
            }
            next.sort_by(|a, b| a.worth.cmp(&b.worth).then(a.done.cmp(&b.done)));
            next.dedup_by(|a, b| a.done == b.done);
            next.truncate(beam.width);
            if let Some(whole) = next
                .iter()
                .position(|filling| filling.done == self.frame.all)
            {
                levels.push(next);
                return Some(way_back(&levels, whole));
            }
            if next.is_empty() {
                return None;
            }
            levels.push(next);
        }
        None
    }

    /// Loads by chance that leave hope, each with the worth of what is done
    /// then.
    fn loads_at(
        &mut self,
        place: Place<W>,
        samples: u32,
        luck: &mut Luck,
        watch: &Watch<'_>,
    ) -> Vec<(Load<W>, i64)> {
        let (done, station) = (place.done, place.station);
        let due = self.due[station as usize + 1];
        let mut filler = Filler::new(self.frame, watch, place, 0);
        let mut loads: Vec<(Load<W>, i64)> = Vec::new();
        for _ in 0..samples {
            let Some(load) = filler.sampled(luck) else {
                continue;
            };
            let next = done.or(&load.tasks);
            let known = loads.iter().any(|(other, _)| other.tasks == load.tasks);
            if !known && due.within(&next) && self.hopeful(&next, station + 1) {
                let worth = self.worth(&next, station as u16 + 1);
                loads.push((load, worth));
            }
        }
        self.steps += filler.steps + 1;
        loads
    }

    /// Where the first tasks of distance rules stand in a filling.
    fn stood(&self, levels: &[Vec<Filling<W>>], at: usize) -> Vec<(usize, u32)> {
        let mut stands = Vec::new();
        if self.frame.distance.is_empty() {
            return stands;
        }
        let mut at = at;
        for (station, level) in levels.iter().enumerate().skip(1).rev() {
            let filling = &level[at];
            for (one, ..) in &self.frame.distance {
                if filling.load.tasks.has(*one) && !stands.contains(&(*one, station as u32 - 1)) {
                    stands.push((*one, station as u32 - 1));
                }
            }
            at = filling.parent;
        }
        stands
    }
}

fn way_back<const W: usize>(levels: &[Vec<Filling<W>>], at: usize) -> Vec<Load<W>> {
    let mut loads = Vec::new();
    let mut at = at;
    for level in levels.iter().skip(1).rev() {
        loads.push(level[at].load.clone());
        at = level[at].parent;
    }
    loads.reverse();
    loads
}
