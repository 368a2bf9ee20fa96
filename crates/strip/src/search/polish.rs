//! Brings a layout to the bottom of its neighbourhood.

use super::{Desk, Found, Listed, Offsets, Rows, Setting};
use crate::across::{self, Neighbourhood};

/// Steps of one golden section: a shrinkage of 1e-5.
const STEPS: usize = 24;
/// Neighbourhoods wider than this hold several bottoms; they are halved first.
const WIDEST: f64 = 0.05;
/// Polishings of one search: each costs as much as a hundred cells.
const MOST: usize = 40;
/// Near enough to an event angle to be meant for it, in radians.
const AT_EVENT: f64 = 2e-6;

/// Where layouts have been polished.
#[derive(Default)]
pub(super) struct Polished {
    places: Vec<Neighbourhood>,
}

impl Polished {
    /// Whether a layout promises to end below `cost`.
    pub(super) fn worth(&self, found: &Found, cost: f64, near: &Neighbourhood) -> bool {
        let wide = near.high - near.low;
        if near.slack > WIDEST || (near.slack == 0.0 && wide == 0.0) || self.places.len() >= MOST {
            return false;
        }
        let known = self.places.iter().any(|place| {
            (place.angle - found.angle).abs() <= 0.7 * place.slack
                && found.offset >= place.low
                && found.offset <= place.high
                && near.slack > 0.02 * place.slack
        });
        // What polishing gains is a part of what the cell leaves open.
        let promises = found.cost < cost * (1.0 + 0.25 * near.slack);
        found.cost < cost || (promises && !known)
    }

    pub(super) fn note(&mut self, near: &Neighbourhood) {
        self.places.push(*near);
    }
}

/// The best of a function between two places, and where it is. Golden section:
/// sure where the function falls and then rises, and never worse than both of
/// its first steps elsewhere.
fn golden<T>(
    (mut low, mut high): (f64, f64),
    steps: usize,
    cost: impl Fn(&T) -> f64,
    mut evaluate: impl FnMut(f64) -> T,
) -> T {
    const SHARE: f64 = 0.618_033_988_749_894_8;
    let mut one = high - SHARE * (high - low);
    let mut two = low + SHARE * (high - low);
    let (mut at_one, mut at_two) = (evaluate(one), evaluate(two));
    for _ in 0..steps {
        if cost(&at_one) <= cost(&at_two) {
            high = two;
            two = one;
            at_two = at_one;
            one = high - SHARE * (high - low);
            at_one = evaluate(one);
        } else {
            low = one;
            one = two;
            at_one = at_two;
            two = low + SHARE * (high - low);
            at_two = evaluate(two);
        }
    }
    if cost(&at_one) <= cost(&at_two) {
        at_one
    } else {
        at_two
    }
}

fn cost(found: &Option<Found>) -> f64 {
    found.map_or(f64::INFINITY, |found| found.cost)
}

fn better(one: Found, two: Option<Found>) -> Found {
    match two {
        Some(two) if two.cost < one.cost => two,
        _ => one,
    }
}

/// The edges that come near, out of those listed.
fn narrowed(
    setting: &Setting<'_>,
    listed: &Listed,
    near: &Neighbourhood,
    desk: &mut Desk,
) -> Listed {
    let mut narrow = listed.clone();
    let Desk { scratch, one, .. } = desk;
    let row = Neighbourhood {
        low: 0.0,
        high: 0.0,
        ..*near
    };
    let mut kept = Vec::new();
    for (set, list) in setting.own.iter().zip(&mut narrow.own) {
        across::surely(set, list, &row, scratch, one, &mut kept);
        list.clone_from(&kept);
    }
    if let Some(set) = setting.cross {
        across::surely(set, &narrow.cross, near, scratch, one, &mut kept);
        narrow.cross.clone_from(&kept);
        let double = Neighbourhood {
            low: 2.0 * near.low,
            high: 2.0 * near.high,
            ..*near
        };
        across::surely(set, &narrow.double, &double, scratch, one, &mut kept);
        narrow.double.clone_from(&kept);
    }
    narrow
}

/// The allowed part of a neighbourhood's angles.
fn within(setting: &Setting<'_>, angle: f64, slack: f64) -> (f64, f64) {
    let range = setting
        .angles
        .iter()
        .find(|(from, to)| angle >= from - 1e-12 && angle <= to + 1e-12)
        .copied()
        .unwrap_or((angle, angle));
    ((angle - slack).max(range.0), (angle + slack).min(range.1))
}

/// Polishes within a neighbourhood: three rounds of nested golden sections,
/// each in a neighbourhood a thousand times smaller.
pub(super) fn polish(
    setting: &Setting<'_>,
    found: Found,
    near: &Neighbourhood,
    desk: &mut Desk,
) -> Found {
    let mut best = found;
    // Half as much again on each side, so that a bottom on the cell's border
    // is found from both of its sides.
    let mut slack = 1.5 * near.slack;
    let mut half = 0.75 * (near.high - near.low);
    let all = setting.listed_all();
    for _ in 0..3 {
        let near = around(setting, &best, slack, half);
        let narrow = narrowed(setting, &all, &near, desk);
        best = better(best, round(setting, &narrow, &near, desk));
        slack *= 1e-3;
        half *= 1e-3;
    }
    best
}

fn around(setting: &Setting<'_>, best: &Found, slack: f64, half: f64) -> Neighbourhood {
    let (from, to) = within(setting, best.angle, slack);
    let floor = match setting.offsets {
        Offsets::Above => 0.0,
        _ => f64::NEG_INFINITY,
    };
    Neighbourhood {
        angle: 0.5 * (from + to),
        slack: 0.5 * (to - from),
        low: (best.offset - half).max(floor),
        high: best.offset + half,
    }
}

fn round(
    setting: &Setting<'_>,
    listed: &Listed,
    near: &Neighbourhood,
    desk: &mut Desk,
) -> Option<Found> {
    let angles = (near.angle - near.slack, near.angle + near.slack);
    golden(angles, STEPS, cost, |angle| {
        best_offset(setting, listed, angle, near, desk)
    })
}

fn best_offset(
    setting: &Setting<'_>,
    listed: &Listed,
    angle: f64,
    near: &Neighbourhood,
    desk: &mut Desk,
) -> Option<Found> {
    if setting.rows == Rows::One || near.low == near.high {
        return setting.evaluate(listed, angle, near.middle(), desk);
    }
    let standing = setting.stand(listed, angle, desk);
    golden((near.low, near.high), STEPS, cost, |offset| {
        setting.evaluate_at(&standing, offset, desk)
    })
}

/// Polishes the best of all in ever smaller neighbourhoods until it gains no
/// more.
pub(super) fn to_the_bottom(setting: &Setting<'_>, found: Found, desk: &mut Desk) -> Found {
    let reach = setting.own.iter().map(|set| set.reach).fold(0.0, f64::max);
    let mut best = found;
    for slack in [1e-2, 1e-3, 1e-4] {
        let half = match setting.offsets {
            Offsets::Flush => 0.0,
            _ => slack * reach,
        };
        for _ in 0..4 {
            let near = around(setting, &best, slack, half);
            let next = polish(setting, best, &near, desk);
            let gained = next.cost < best.cost * (1.0 - 1e-9);
            best = next;
            if !gained {
                break;
            }
        }
    }
    best
}

/// Sets a layout on an event angle that it all but reached, and its offset on
/// the bottom there.
pub(super) fn set_on_events(setting: &Setting<'_>, found: Found, desk: &mut Desk) -> Found {
    let reach = setting.own.iter().map(|set| set.reach).fold(0.0, f64::max);
    let mut best = found;
    for event in setting.events {
        if (event - found.angle).abs() > AT_EVENT || *event == found.angle {
            continue;
        }
        let half = match setting.rows {
            Rows::One => 0.0,
            _ => 4.0 * AT_EVENT * reach,
        };
        let near = Neighbourhood {
            angle: *event,
            slack: 0.0,
            ..around(setting, &found, 0.0, half)
        };
        let listed = narrowed(setting, &setting.listed_all(), &near, desk);
        let mut set = best_offset(setting, &listed, *event, &near, desk);
        if let Some(first) = set
            && half > 0.0
        {
            let near = Neighbourhood {
                angle: *event,
                slack: 0.0,
                ..around(setting, &first, 0.0, 1e-4 * half)
            };
            set = Some(better(
                first,
                best_offset(setting, &listed, *event, &near, desk),
            ));
        }
        if let Some(set) = set
            && set.cost <= best.cost * (1.0 + 1e-9)
        {
            best = set;
        }
    }
    best
}
