//! Whether the first places of an order can be filled so that some
//! requirements hold together, counted out place by place.
//!
//! What matters of the places filled is how many cars of each kind they hold
//! and what each limit still sees of the last ones. Cars that look alike to the
//! limits at hand are of one kind: promises of alike classes are kept by
//! serving the earliest first, so that their sums up to each place say all.

use std::collections::BTreeMap;

use crate::clash::Requirement;
use crate::model::Problem;
use crate::watch::Watch;

/// No more than so many of some cars among any so many in a row; the longest
/// block of a colour is one of these.
#[derive(Clone, Debug)]
pub(crate) struct Limit {
    pub(crate) of: Requirement,
    /// By class whether its cars count.
    pub(crate) has: Vec<bool>,
    pub(crate) at_most: usize,
    pub(crate) in_every: usize,
}

/// What came of counting out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// The places can be filled.
    Fits,
    /// They cannot, so that no order keeps the requirements together.
    Fails,
    /// There were too many states.
    TooLarge,
}

/// What is asked of the first places.
#[derive(Clone, Debug)]
pub(crate) struct Prefix<'a> {
    pub(crate) problem: &'a Problem,
    pub(crate) limits: Vec<&'a Limit>,
    /// Promises, by their positions.
    pub(crate) promises: Vec<usize>,
    /// Holds, by their positions.
    pub(crate) holds: Vec<usize>,
    /// Whether limits reach back into the previous cars.
    pub(crate) previous: bool,
    /// Whether frozen cars stay where they are.
    pub(crate) frozen: bool,
    /// The first so many places; where that is all of them, all cars are built.
    pub(crate) places: usize,
}

/// States that may be kept: in one layer, and in all that share the budget.
pub(crate) struct Budget {
    pub(crate) states: usize,
    pub(crate) left: usize,
}

/// Cars alike to the limits.
struct Kind {
    /// Bit n: whether limit n counts them.
    mask: u64,
    /// Cars behind the frozen ones.
    supply: usize,
    /// By end, how many must stand before it, frozen ones not counted.
    needs: Vec<usize>,
    /// By holds on its class up to which place no more than so many may stand,
    /// frozen ones not counted.
    ready: Vec<(usize, usize)>,
    /// Whether there may be too few of them.
    scarce: bool,
    shift: u32,
    bits: u32,
}

/// What a limit remembers of the last cars.
struct Memory {
    at_most: usize,
    in_every: usize,
    shift: u32,
    bits: u32,
    /// By what it remembers and places left, most cars that it lets through;
    /// empty where that would be a large table.
    rooms: Vec<Vec<u16>>,
}

/// A limit with so many in one more is a longest run: its length is all that
/// matters.
const fn is_run(limit: &Limit) -> bool {
    limit.at_most + 1 == limit.in_every
}

/// The longest window that a table of rooms is made for.
const LONGEST_TABLE: usize = 11;

const fn bits_for(most: usize) -> u32 {
    usize::BITS - most.leading_zeros()
}

struct Walk<'a> {
    asked: &'a Prefix<'a>,
    limits: Vec<&'a Limit>,
    /// Previous cars.
    first: usize,
    /// Frozen cars.
    frozen: usize,
    ends: Vec<usize>,
    kinds: Vec<Kind>,
    memories: Vec<Memory>,
}

/// The limits that count a class, as bits.
fn mask(limits: &[&Limit], class: usize) -> u64 {
    let limits = limits.iter().enumerate();
    limits
        .map(|(bit, limit)| u64::from(limit.has[class]) << bit)
        .sum()
}

impl Prefix<'_> {
    /// Whether the places can be filled.
    pub(crate) fn verdict(&self, budget: &mut Budget, watch: &Watch<'_>) -> Verdict {
        if self.limits.len() > u64::BITS as usize {
            return Verdict::TooLarge;
        }
        let Some(mut walk) = Walk::new(self) else {
            return Verdict::Fails;
        };
        if walk.counted_out() {
            return Verdict::Fails;
        }
        if !walk.laid_out() {
            return Verdict::TooLarge;
        }
        walk.run(budget, watch)
    }

    /// The limits that some run of cars may exceed. A run that begins at the
    /// first car and is not yet full is part of one that will be.
    fn binding(&self) -> Vec<&Limit> {
        let problem = self.problem;
        let before = if self.previous {
            problem.previous.len()
        } else {
            0
        };
        let row = before + problem.cars();
        let limits = self.limits.iter().copied();
        limits
            .filter(|limit| limit.in_every <= row || problem.past_end)
            .collect()
    }

    /// Previous cars and frozen ones, as far as they are minded.
    fn fixed(&self) -> Vec<usize> {
        let problem = self.problem;
        let previous = problem.previous.iter().filter(|_| self.previous);
        let frozen = problem.frozen.iter().take(self.places);
        let frozen = frozen.filter(|_| self.frozen);
        previous.chain(frozen).copied().collect()
    }
}

impl<'a> Walk<'a> {
    /// None where the frozen cars do not keep a promise, or stand too early.
    fn new(asked: &'a Prefix<'a>) -> Option<Self> {
        let problem = asked.problem;
        let first = if asked.previous {
            problem.previous.len()
        } else {
            0
        };
        let fixed = asked.fixed();
        let frozen = &fixed[first..];
        let whole = asked.places == problem.cars();
        let needs = needs(asked, frozen)?;
        let mut ends: Vec<usize> = needs.iter().map(|(end, ..)| *end).collect();
        if whole {
            ends.push(asked.places);
        }
        ends.sort_unstable();
        ends.dedup();
        let limits = asked.binding();
        let kinds = kinds(asked, &limits, frozen, &needs, &ends)?;
        Some(Self {
            asked,
            limits,
            first,
            frozen: frozen.len(),
            ends,
            kinds,
            memories: Vec::new(),
        })
    }

    /// Whether one limit alone lets too few cars through by some end: cars as
    /// early as it allows are as many up to every place as there can be.
    fn counted_out(&self) -> bool {
        let fixed = self.asked.fixed();
        let over = |(bit, limit): (usize, &&Limit)| {
            let mut row: Vec<bool> = fixed.iter().map(|class| limit.has[*class]).collect();
            let mut placed = 0;
            let mut ends = self.ends.iter().enumerate().peekable();
            for place in self.frozen..self.asked.places {
                let reach = row.len().min(limit.in_every - 1);
                let recent = row[row.len() - reach..].iter();
                let has = recent.filter(|has| **has).count() < limit.at_most;
                placed += usize::from(has);
                row.push(has);
                while let Some((end, _)) = ends.next_if(|(_, end)| **end == place + 1) {
                    let having = self.kinds.iter().filter(|kind| kind.mask >> bit & 1 == 1);
                    if having.map(|kind| kind.needs[end]).sum::<usize>() > placed {
                        return true;
                    }
                }
            }
            false
        };
        self.limits.iter().enumerate().any(over)
    }

    /// Gives kinds and limits their bits; false where there are too few.
    fn laid_out(&mut self) -> bool {
        let places = self.asked.places - self.frozen;
        let mut shift = 0;
        for kind in &mut self.kinds {
            kind.scarce = kind.supply < places;
            kind.shift = shift;
            kind.bits = bits_for(kind.counted());
            shift += kind.bits;
        }
        for limit in &self.limits {
            let bits = if is_run(limit) {
                bits_for(limit.at_most)
            } else {
                limit.in_every as u32 - 1
            };
            if bits >= u64::BITS {
                return false;
            }
            let table = !is_run(limit) && limit.in_every <= LONGEST_TABLE;
            self.memories.push(Memory {
                at_most: limit.at_most,
                in_every: limit.in_every,
                shift,
                bits,
                rooms: if table {
                    rooms(limit, places)
                } else {
                    Vec::new()
                },
            });
            shift += bits;
        }
        shift <= u128::BITS
    }

    fn part(key: u128, shift: u32, bits: u32) -> u64 {
        if bits == 0 {
            return 0;
        }
        (key >> shift) as u64 & (u64::MAX >> (u64::BITS - bits))
    }

    /// Moves the limits on by one car; false where one is exceeded.
    fn step(&self, key: &mut u128, mask: u64) -> bool {
        let mut holds = true;
        for (bit, memory) in self.memories.iter().enumerate() {
            let has = mask >> bit & 1;
            let seen = Self::part(*key, memory.shift, memory.bits);
            let most = memory.at_most as u64;
            let next = if memory.at_most + 1 == memory.in_every {
                holds &= has == 0 || seen < most;
                if has == 1 { most.min(seen + 1) } else { 0 }
            } else {
                holds &= u64::from(seen.count_ones()) + has <= most;
                (seen << 1 | has) & (u64::MAX >> (u64::BITS - memory.bits))
            };
            *key ^= u128::from(seen ^ next) << memory.shift;
        }
        holds
    }

    /// The state before the first free car; none where the frozen cars exceed a
    /// limit themselves.
    fn start(&self) -> Option<u128> {
        let mut key = 0;
        for (at, class) in self.asked.fixed().iter().enumerate() {
            let holds = self.step(&mut key, mask(&self.limits, *class));
            if at >= self.first && !holds {
                return None;
            }
        }
        Some(key)
    }

    fn placed(&self, key: u128, kind: usize) -> usize {
        let kind = &self.kinds[kind];
        Self::part(key, kind.shift, kind.bits) as usize
    }

    /// Whether some end can no longer be met, so many places being filled.
    fn hopeless(&self, key: u128, filled: usize) -> bool {
        let mut ends = self.ends.iter().enumerate();
        ends.any(|(end, place)| {
            let Some(places) = place.checked_sub(filled) else {
                return false;
            };
            let missing = |kind: usize| {
                let needed = self.kinds[kind].needs[end];
                needed.saturating_sub(self.placed(key, kind))
            };
            let missing: Vec<usize> = (0..self.kinds.len()).map(missing).collect();
            if missing.iter().sum::<usize>() > places {
                return true;
            }
            let mut memories = self.memories.iter().enumerate();
            memories.any(|(bit, memory)| {
                let having = self.kinds.iter().zip(&missing);
                let having = having.filter(|(kind, _)| kind.mask >> bit & 1 == 1);
                let cars: usize = having.map(|(_, missing)| missing).sum();
                let seen = Self::part(key, memory.shift, memory.bits);
                cars > 0 && cars > memory.room(seen as usize, places)
            })
        })
    }

    fn run(&self, budget: &mut Budget, watch: &Watch<'_>) -> Verdict {
        let Some(start) = self.start() else {
            return Verdict::Fails;
        };
        let mut layer = vec![start];
        for place in self.frozen..self.asked.places {
            let mut next = Vec::new();
            for key in &layer {
                self.extend(*key, place, &mut next);
                if next.len() > 8 * budget.states {
                    next.sort_unstable();
                    next.dedup();
                }
                if next.len() > 4 * budget.states {
                    return Verdict::TooLarge;
                }
            }
            next.sort_unstable();
            next.dedup();
            budget.left = budget.left.saturating_sub(next.len());
            if next.is_empty() {
                return Verdict::Fails;
            }
            if next.len() > budget.states || budget.left == 0 || watch.cancelled() {
                return Verdict::TooLarge;
            }
            layer = next;
        }
        Verdict::Fits
    }

    fn extend(&self, key: u128, place: usize, next: &mut Vec<u128>) {
        for (n, kind) in self.kinds.iter().enumerate() {
            let placed = self.placed(key, n);
            if !kind.is_there(placed, place) {
                continue;
            }
            let mut key = key;
            if placed < kind.counted() {
                key += 1_u128 << kind.shift;
            }
            if self.step(&mut key, kind.mask) && !self.hopeless(key, place + 1) {
                next.push(key);
            }
        }
    }
}

impl Kind {
    /// Cars of it that are counted: of plentiful ones those beyond all that is
    /// asked of them are not.
    fn counted(&self) -> usize {
        let ready = self.ready.iter().map(|(_, ready)| *ready);
        let asked = self.needs.iter().copied().chain(ready).max();
        if self.scarce {
            self.supply
        } else {
            asked.unwrap_or(0)
        }
    }

    /// Whether one more may stand in a place, counted from 0.
    fn is_there(&self, placed: usize, place: usize) -> bool {
        let held = |(until, ready): &(usize, usize)| place < *until && placed >= *ready;
        let is_used_up = self.scarce && placed >= self.supply;
        !(is_used_up || self.ready.iter().any(held))
    }
}

impl Memory {
    /// Most cars that the next so many places can take.
    fn room(&self, seen: usize, places: usize) -> usize {
        let most = self.at_most;
        if let Some(rooms) = self.rooms.get(seen) {
            return usize::from(rooms[places]);
        }
        if most + 1 == self.in_every {
            let goes_on = most - seen.min(most);
            let Some(rest) = places.checked_sub(goes_on + 1) else {
                return places.min(goes_on);
            };
            return goes_on + rest / (most + 1) * most + (rest % (most + 1)).min(most);
        }
        places / self.in_every * most + (places % self.in_every).min(most)
    }
}

/// By the last cars and places left, most cars that fit.
fn rooms(limit: &Limit, places: usize) -> Vec<Vec<u16>> {
    let mask = (1_usize << (limit.in_every - 1)) - 1;
    let mut rooms = vec![vec![0_u16; places + 1]; mask + 1];
    for left in 1..=places {
        for recent in 0..=mask {
            let without = rooms[recent << 1 & mask][left - 1];
            let fits = (recent.count_ones() as usize) < limit.at_most;
            let with = if fits {
                rooms[(recent << 1 | 1) & mask][left - 1] + 1
            } else {
                0
            };
            rooms[recent][left] = without.max(with);
        }
    }
    rooms
}

/// By promise its end, its class and the cars it needs behind the frozen ones.
fn needs(asked: &Prefix<'_>, frozen: &[usize]) -> Option<Vec<(usize, usize, usize)>> {
    let mut needs = Vec::new();
    for at in &asked.promises {
        let promise = &asked.problem.promises[*at];
        let end = (promise.within as usize).min(asked.places);
        let there = frozen.iter().take(end);
        let there = there.filter(|class| **class == promise.class).count();
        let missing = (promise.count as usize).saturating_sub(there);
        if missing > 0 && end <= frozen.len() {
            return None;
        }
        if missing > 0 {
            needs.push((end, promise.class, missing));
        }
    }
    Some(needs)
}

fn kinds(
    asked: &Prefix<'_>,
    limits: &[&Limit],
    frozen: &[usize],
    needs: &[(usize, usize, usize)],
    ends: &[usize],
) -> Option<Vec<Kind>> {
    let whole = asked.places == asked.problem.cars();
    let mut kinds: BTreeMap<(u64, Option<usize>), Kind> = BTreeMap::new();
    for (class, given) in asked.problem.classes.iter().enumerate() {
        let there = frozen.iter().filter(|one| **one == class).count();
        let supply = (given.count as usize).saturating_sub(there);
        let ready = ready(asked, frozen, class)?;
        if supply == 0 {
            continue;
        }
        let mask = mask(limits, class);
        // Cars that are held back are counted by themselves.
        let held = (!ready.is_empty()).then_some(class);
        let kind = kinds.entry((mask, held)).or_insert_with(|| Kind {
            mask,
            supply: 0,
            needs: vec![0; ends.len()],
            ready,
            scarce: false,
            shift: 0,
            bits: 0,
        });
        kind.supply += supply;
        for (need, end) in kind.needs.iter_mut().zip(ends) {
            let by_then = needs
                .iter()
                .filter(|(by, of, _)| of == &class && by <= end)
                .map(|(.., cars)| *cars);
            *need += if whole && *end == asked.places {
                supply
            } else {
                by_then.max().unwrap_or(0)
            };
        }
    }
    Some(kinds.into_values().collect())
}

/// By the holds on a class up to which place how many may stand behind the
/// frozen cars; none where these are too many already.
fn ready(asked: &Prefix<'_>, frozen: &[usize], class: usize) -> Option<Vec<(usize, usize)>> {
    let holds = asked.holds.iter().map(|at| &asked.problem.holds[*at]);
    let of_class = holds.filter(|hold| hold.class == class);
    let left = of_class.map(|hold| {
        let until = hold.until as usize;
        let there = frozen.iter().take(until);
        let there = there.filter(|one| **one == class).count();
        Some((until, (hold.ready as usize).checked_sub(there)?))
    });
    left.collect()
}
