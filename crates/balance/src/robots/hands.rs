//! One station in time: its robots take work, earliest robot first.

use super::frame::Frame;
use super::{Robot, Step};

/// How a trial chooses among work that could be taken.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rule {
    /// Stirs the order of groups that are otherwise alike; 0 leaves it.
    luck: u64,
    /// Which groups the robots of a station share among them.
    share: Share,
    /// Whether zones with the most work left come first.
    zones: bool,
    /// Whether the longest way behind a group brings it forward.
    ways: bool,
    /// Whether robots leave some groups to others, by luck, so that one may wait
    /// for what is not ready yet.
    skips: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Share {
    None,
    /// Those in no zone.
    Free,
    All,
}

impl Rule {
    pub(super) const PLAIN: Self = Self {
        luck: 0,
        share: Share::Free,
        zones: true,
        ways: true,
        skips: false,
    };

    /// One of many.
    pub(super) fn by(luck: u64) -> Self {
        Self {
            luck: luck | 1,
            share: match luck >> 8 & 3 {
                0 => Share::None,
                1 => Share::All,
                _ => Share::Free,
            },
            zones: luck >> 10 & 1 == 0,
            ways: luck >> 11 & 3 != 0,
            skips: luck >> 13 & 3 == 0,
        }
    }
}

/// Another luck for what is skipped than for ties.
const SKIPS: u64 = 0x2545_f491_4f6c_dd1d;

/// A robot as far as it is planned.
struct Hand {
    kind: usize,
    time: u32,
    first: Option<usize>,
    tool: Option<usize>,
    changes: u32,
    /// Has found nothing; asked again once another has taken something.
    waits: bool,
    steps: Vec<Step>,
}

/// What a hand could take.
#[derive(Clone, Copy)]
struct Offer {
    group: usize,
    start: u32,
    joints: u32,
    changed: bool,
}

/// A station being filled.
pub(super) struct Station<'a, 'f> {
    pub(super) frame: &'f Frame<'a>,
    /// Which.
    pub(super) at: usize,
    /// Ticks that its robots have.
    pub(super) limit: u32,
    pub(super) rule: Rule,
}

impl Station<'_, '_> {
    /// Robots of these kinds take from `left` what they can; `must` says what
    /// has to be done here.
    pub(super) fn fill(&self, kinds: &[usize], left: &mut [u32], must: &[bool]) -> Vec<Robot> {
        let mut hands: Vec<Hand> = kinds.iter().map(|kind| Hand::new(*kind)).collect();
        let mut run = Run {
            ready: vec![0; left.len()],
            zone_free: vec![0; self.frame.zones],
            left,
            must,
        };
        loop {
            let next = hands.iter().enumerate().filter(|(_, hand)| !hand.waits);
            let Some((at, _)) = next.min_by_key(|(at, hand)| (hand.time, *at)) else {
                break;
            };
            let Some(offer) = self.best(&hands, at, &run) else {
                hands[at].waits = true;
                continue;
            };
            self.take(&mut hands[at], offer, &mut run);
            for hand in &mut hands {
                hand.waits = false;
            }
        }
        let robots = hands.into_iter().map(|hand| self.told(hand));
        robots.collect()
    }

    fn take(&self, hand: &mut Hand, offer: Offer, run: &mut Run<'_>) {
        let group = self.frame.group(offer.group);
        let end = offer.start + group.start + offer.joints * group.ticks;
        hand.changes += u32::from(offer.changed);
        hand.first = hand.first.or(Some(group.tool));
        hand.tool = Some(group.tool);
        hand.time = end;
        hand.steps.push(Step {
            group: self.frame.groups[offer.group],
            joints: offer.joints,
            start: offer.start,
            end,
            changed: offer.changed,
        });
        run.left[offer.group] -= offer.joints;
        run.ready[offer.group] = run.ready[offer.group].max(end);
        if let Some(zone) = self.frame.zone[offer.group] {
            run.zone_free[zone] = end;
        }
    }

    fn told(&self, hand: Hand) -> Robot {
        let back = hand.tool != hand.first;
        let change = self.frame.shop.kinds[hand.kind].change;
        Robot {
            kind: hand.kind,
            steps: hand.steps,
            end: hand.time + if back { change } else { 0 },
            changes: hand.changes + u32::from(back),
        }
    }

    /// What the hand takes next: what must be done here before what may, what can
    /// begin soonest, what most hangs on; while it would wait, what fits between.
    fn best(&self, hands: &[Hand], at: usize, run: &Run<'_>) -> Option<Offer> {
        let hand = &hands[at];
        let mut best: Option<((bool, u32, u64, u64), Offer)> = None;
        let mut soon: Option<((u32, u64), Offer)> = None;
        for group in &self.frame.at[self.at] {
            let lot = *group + at * self.frame.groups.len();
            if self.rule.skips && stirred(self.rule.luck ^ SKIPS, lot) & 3 == 0 {
                continue;
            }
            let Some(offer) = self.offer(hands, hand, *group, run) else {
                continue;
            };
            let tail = self.weight(*group, run);
            let luck = match self.rule.luck {
                0 => *group as u64,
                luck => {
                    let turn = at + hands.len() * hand.steps.len();
                    stirred(luck, *group + turn * self.frame.groups.len())
                }
            };
            let start = offer.start;
            let key = (!run.must[*group], start, u64::MAX - tail, luck);
            if best.as_ref().is_none_or(|(other, _)| key < *other) {
                best = Some((key, offer));
            }
            if soon
                .as_ref()
                .is_none_or(|(other, _)| (start, luck) < *other)
            {
                soon = Some(((start, luck), offer));
            }
        }
        let (_, best) = best?;
        let (_, soon) = soon?;
        if soon.group == best.group || soon.start >= best.start {
            return Some(best);
        }
        Some(self.between(hand, soon, best).unwrap_or(best))
    }

    /// What hangs on a group: the way behind it, and its zone's work.
    fn weight(&self, group: usize, run: &Run<'_>) -> u64 {
        let tail = if self.rule.ways {
            self.frame.tail[group]
        } else {
            0
        };
        let Some(zone) = self.frame.zone[group].filter(|_| self.rule.zones) else {
            return tail;
        };
        let same = self.frame.at[self.at]
            .iter()
            .filter(|other| self.frame.zone[**other] == Some(zone) && run.must[**other]);
        let busy = same
            .map(|other| u64::from(run.left[*other]) * u64::from(self.frame.group(*other).ticks));
        tail.max(busy.sum())
    }

    /// As many joints of `soon` as end before `best` would begin.
    fn between(&self, hand: &Hand, soon: Offer, best: Offer) -> Option<Offer> {
        let group = self.frame.group(soon.group);
        let then = self.frame.group(best.group).tool;
        let change = self.frame.shop.kinds[hand.kind].change;
        let back = if then == group.tool { 0 } else { change };
        let room = best.start.saturating_sub(back);
        let room = room.checked_sub(soon.start + group.start)?;
        let joints = (room / group.ticks.max(1)).min(soon.joints);
        (joints > 0).then_some(Offer { joints, ..soon })
    }

    fn offer(&self, hands: &[Hand], hand: &Hand, at: usize, run: &Run<'_>) -> Option<Offer> {
        let group = self.frame.group(at);
        let left = run.left[at];
        if left == 0 || !group.kinds.contains(&hand.kind) {
            return None;
        }
        let mut ready = 0;
        for before in &self.frame.before[at] {
            if run.left[*before] > 0 {
                return None;
            }
            ready = ready.max(run.ready[*before]);
        }
        if let Some((geometry, free)) = &self.frame.geometry[self.at]
            && !free[at]
        {
            for before in geometry {
                if run.left[*before] > 0 {
                    return None;
                }
                ready = ready.max(run.ready[*before]);
            }
        }
        if let Some(zone) = self.frame.zone[at] {
            ready = ready.max(run.zone_free[zone]);
        }
        let change = self.frame.shop.kinds[hand.kind].change;
        let changed = hand.tool.is_some_and(|tool| tool != group.tool);
        let start = ready.max(hand.time + if changed { change } else { 0 });
        let back = hand.first.is_some_and(|first| first != group.tool);
        let room = self.limit.checked_sub(if back { change } else { 0 })?;
        let room = room.checked_sub(start.checked_add(group.start)?)?;
        let most = (room / group.ticks.max(1)).min(left);
        let shared = match self.rule.share {
            Share::None => false,
            Share::Free => self.frame.zone[at].is_none(),
            Share::All => true,
        };
        let able = |hand: &&Hand| group.kinds.contains(&hand.kind);
        let part = if shared {
            left.div_ceil(hands.iter().filter(able).count().max(1) as u32)
        } else {
            left
        };
        let joints = most.min(part);
        (joints > 0).then_some(Offer {
            group: at,
            start,
            joints,
            changed,
        })
    }
}

/// What has been done at a station so far.
struct Run<'a> {
    /// For each group when the last of its joints here is made.
    ready: Vec<u32>,
    zone_free: Vec<u32>,
    left: &'a mut [u32],
    must: &'a [bool],
}

impl Hand {
    fn new(kind: usize) -> Self {
        Self {
            kind,
            time: 0,
            first: None,
            tool: None,
            changes: 0,
            waits: false,
            steps: Vec::new(),
        }
    }
}

/// A number that depends on luck and place alone.
pub(super) fn stirred(luck: u64, place: usize) -> u64 {
    if luck == 0 {
        return place as u64;
    }
    let mut x = luck ^ (place as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}
