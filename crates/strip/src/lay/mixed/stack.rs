//! Three or four blanks a pitch: each is set as low across the strip as those
//! before it let it.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::{Turn, bound_of};
use crate::Layout;
use crate::across::{self, Intervals, Scratch};
use crate::angles;
use crate::forbidden::{Forbidden, Stopped};
use crate::lay::members::{Member, Parts};
use crate::lay::{Job, Unlaid, finish};
use crate::pitch;
use crate::point::Point;
use crate::search::Found;

/// Angles looked at within half a turn.
const ANGLES: u32 = 45;
/// Pitches looked at, from the least to twice that.
const PITCHES: u32 = 9;
/// Steps up within which a place is looked for, before it is closed in on.
const STEPS: u32 = 40;
/// Turns of the partner against the blank looked at.
const TURNS: usize = 4;

/// Blanks stacked at one angle and pitch: the shifts from the first.
#[derive(Clone, Debug)]
struct Stack {
    order: usize,
    angle: f64,
    pitch: f64,
    shifts: Vec<Point>,
    needed: f64,
    width: f64,
    cost: f64,
}

/// Everything that stays the same while angles and pitches are tried.
struct Yard<'a> {
    job: &'a Job<'a>,
    kinds: Vec<Member>,
    /// By the kind that stands and the kind that comes.
    forbidden: BTreeMap<(usize, usize), Forbidden>,
    /// Kinds from the lowest blank to the highest.
    orders: Vec<Vec<usize>>,
}

pub(super) fn lay(
    job: &Job<'_>,
    parts: &Parts<'_>,
    (first, second): (u32, u32),
    turns: &[Turn],
) -> Result<(Layout, bool), Unlaid> {
    let mut best: Option<(Stack, Yard<'_>)> = None;
    let mut cancelled = false;
    let turns = &turns[..turns.len().min(TURNS)];
    for (n, turn) in turns.iter().enumerate() {
        let Ok(yard) = Yard::of(job, parts, (first, second), *turn) else {
            cancelled = true;
            break;
        };
        let least = best.as_ref().map_or(f64::INFINITY, |(best, _)| best.cost);
        let told = |share: f64| (job.told)((n as f64 + share) / turns.len() as f64, least);
        let (stack, stopped) = yard.search(&told);
        cancelled |= stopped;
        if let Some(stack) = stack
            && best.as_ref().is_none_or(|(best, _)| stack.cost < best.cost)
        {
            best = Some((stack, yard));
        }
        if cancelled {
            break;
        }
    }
    let Some((stack, yard)) = best else {
        return Err(if cancelled {
            Unlaid::Cancelled
        } else {
            Unlaid::Because(
                "no strip width and pitch within the limits hold these blanks in this ratio: \
                 hold a wider strip, feed a longer pitch, or lay the parts apart"
                    .to_owned(),
            )
        });
    };
    let members: Vec<&Member> = yard.orders[stack.order]
        .iter()
        .map(|kind| &yard.kinds[*kind])
        .collect();
    let rows: Vec<finish::Row<'_>> = members
        .iter()
        .copied()
        .zip(stack.shifts.iter().copied())
        .collect();
    let found = Found {
        angle: stack.angle,
        offset: 0.0,
        pitch: stack.pitch,
        shift: 0.0,
        third: 0.0,
        needed: stack.needed,
        width: stack.width,
        cost: stack.cost,
    };
    let bound = bound_of(job, &members);
    Ok((finish::layout(job, parts, &rows, &found, bound), cancelled))
}

impl<'a> Yard<'a> {
    fn of(
        job: &'a Job<'a>,
        parts: &Parts<'_>,
        (first, second): (u32, u32),
        turn: Turn,
    ) -> Result<Self, Stopped> {
        let (turn, mirrored) = turn;
        // Each part as it stands and turned half round.
        let kinds = vec![
            Member::of(parts, 0, 0.0, false),
            Member::of(parts, 0, PI, false),
            Member::of(parts, 1, turn, mirrored),
            Member::of(parts, 1, turn + PI, mirrored),
        ];
        let clearance = parts.clearance;
        let mut forbidden = BTreeMap::new();
        for (i, stands) in kinds.iter().enumerate() {
            for (j, comes) in kinds.iter().enumerate() {
                let set = Forbidden::between(&stands.path, &comes.path, clearance, parts.stop)?;
                forbidden.insert((i, j), set);
            }
        }
        Ok(Self {
            job,
            kinds,
            forbidden,
            orders: orders(first, second),
        })
    }

    fn search(&self, told: &dyn Fn(f64)) -> (Option<Stack>, bool) {
        let ranges = angles::shared(&self.kinds[0].angles, &self.kinds[2].angles);
        let sides = self
            .kinds
            .iter()
            .flat_map(|kind| kind.skyline.side_angles().map(|angle| -angle));
        let mut angles = angles::within(sides, &ranges);
        angles.truncate(2 * ANGLES as usize);
        for (from, to) in &ranges {
            angles
                .extend((0..ANGLES).map(|k| from + (to - from) * f64::from(k) / f64::from(ANGLES)));
        }
        let mut best: Option<Stack> = None;
        for (n, angle) in angles.iter().enumerate() {
            if self
                .job
                .watch
                .cancel
                .load(std::sync::atomic::Ordering::Relaxed)
            {
                return (best, true);
            }
            told(n as f64 / angles.len() as f64);
            let slice = Slice::of(self, *angle);
            for k in 0..PITCHES {
                let pitch = slice.least * (1.0 + f64::from(k) / f64::from(PITCHES - 1));
                for order in 0..self.orders.len() {
                    best = lower(best, slice.stack(order, pitch));
                }
            }
        }
        (best.map(|best| self.polished(best, &ranges)), false)
    }

    /// Steps in angle and pitch that shrink while none gains.
    fn polished(&self, mut best: Stack, ranges: &angles::Ranges) -> Stack {
        let mut steps = (0.5 * PI / f64::from(ANGLES), 0.06 * best.pitch);
        for _ in 0..40 {
            let before = best.cost;
            for (turn, feed) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                let angle = best.angle + turn * steps.0;
                if !ranges
                    .iter()
                    .any(|(from, to)| *from <= angle && angle <= *to)
                {
                    continue;
                }
                let slice = Slice::of(self, angle);
                let order = best.order;
                let pitch = (best.pitch + feed * steps.1).max(slice.least);
                let next = slice.stack(order, pitch);
                // At another angle the least pitch is another.
                let tight = slice.stack(order, slice.least);
                if let Some(lowest) = lower(Some(best.clone()), lower(next, tight)) {
                    best = lowest;
                }
            }
            if best.cost >= before * (1.0 - 1e-9) {
                steps = (0.5 * steps.0, 0.5 * steps.1);
            }
        }
        best
    }
}

fn lower(one: Option<Stack>, two: Option<Stack>) -> Option<Stack> {
    match (one, two) {
        (Some(one), Some(two)) if two.cost < one.cost => Some(two),
        (one, two) => one.or(two),
    }
}

/// All orders of so many blanks of both parts, each as it stands or turned half
/// round. Turned half round as a whole, an order is the same strip: the first
/// blank stays as it stands.
fn orders(first: u32, second: u32) -> Vec<Vec<usize>> {
    let mut orders: Vec<(Vec<usize>, u32, u32)> = vec![(Vec::new(), first, second)];
    for _ in 0..first + second {
        let mut longer = Vec::new();
        for (order, ones, twos) in orders {
            for (kind, ones, twos) in [
                (0, ones.checked_sub(1), Some(twos)),
                (1, ones.checked_sub(1), Some(twos)),
                (2, Some(ones), twos.checked_sub(1)),
                (3, Some(ones), twos.checked_sub(1)),
            ] {
                if let (Some(ones), Some(twos)) = (ones, twos)
                    && !(order.is_empty() && kind % 2 == 1)
                {
                    let mut order = order.clone();
                    order.push(kind);
                    longer.push((order, ones, twos));
                }
            }
        }
        orders = longer;
    }
    orders.into_iter().map(|(order, _, _)| order).collect()
}

/// The yard at one angle.
struct Slice<'a> {
    yard: &'a Yard<'a>,
    angle: f64,
    by: Point,
    /// Lowest and highest point of each kind.
    spans: Vec<(f64, f64)>,
    own: Vec<Intervals>,
    /// The least pitch that each part needs alone.
    least: f64,
    lists: BTreeMap<(usize, usize), Vec<u32>>,
}

impl<'a> Slice<'a> {
    fn of(yard: &'a Yard<'a>, angle: f64) -> Self {
        let by = Point::at_angle(angle);
        let spans = yard
            .kinds
            .iter()
            .map(|kind| kind.skyline.span(by))
            .collect();
        let lists: BTreeMap<(usize, usize), Vec<u32>> = yard
            .forbidden
            .iter()
            .map(|(pair, set)| (*pair, (0..set.edges.len() as u32).collect()))
            .collect();
        let mut own = Vec::new();
        let mut scratch = Scratch::default();
        for kind in 0..yard.kinds.len() {
            let mut intervals = Intervals::new();
            let pair = (kind, kind);
            let set = &yard.forbidden[&pair];
            across::at(set, &lists[&pair], by, 0.0, &mut scratch, &mut intervals);
            own.push(intervals);
        }
        let least = own.iter().map(|own| pitch::alone(own)).fold(0.0, f64::max);
        Self {
            yard,
            angle,
            by,
            spans,
            own,
            least,
            lists,
        }
    }

    /// The blanks of an order, each as low as it goes at a pitch.
    fn stack(&self, order: usize, pitch: f64) -> Option<Stack> {
        let job = self.yard.job;
        let kinds = &self.yard.orders[order];
        let clear_alone = self.own.iter().all(|own| pitch::own_clear(own, pitch));
        if pitch <= 0.0 || pitch > job.limits.pitch || !clear_alone {
            return None;
        }
        let mut shifts: Vec<Point> = Vec::new();
        for kind in kinds {
            let next = self.lowest(kinds, &shifts, *kind, pitch)?;
            shifts.push(next);
        }
        let first = shifts[0];
        let mut low = f64::INFINITY;
        let mut high = f64::NEG_INFINITY;
        for (kind, shift) in kinds.iter().zip(&mut shifts) {
            *shift = *shift - first;
            let (bottom, top) = self.spans[*kind];
            low = low.min(bottom + shift.y);
            high = high.max(top + shift.y);
        }
        let needed = high - low + 2.0 * job.request.cut.margin_mm();
        let width = job.limits.bought(needed);
        let area: f64 = kinds.iter().map(|kind| self.yard.kinds[*kind].area).sum();
        let sound = pitch * (high - low) > 0.0 && width.is_finite();
        sound.then(|| Stack {
            order,
            angle: self.angle,
            pitch,
            shifts,
            needed,
            width,
            cost: pitch * width / area,
        })
    }

    /// The lowest place of a kind over those that stand, from the strip's lower
    /// edge up.
    fn lowest(&self, kinds: &[usize], stand: &[Point], kind: usize, pitch: f64) -> Option<Point> {
        let (bottom, _) = self.spans[kind];
        let floor = -bottom;
        let mut scratch = Scratch::default();
        let mut place = |y: f64| -> Option<f64> {
            let mut blocked = Intervals::new();
            for (stands, at) in kinds.iter().zip(stand) {
                let pair = (*stands, kind);
                let mut intervals = Intervals::new();
                let set = &self.yard.forbidden[&pair];
                let list = &self.lists[&pair];
                across::at(set, list, self.by, y - at.y, &mut scratch, &mut intervals);
                blocked.extend(intervals.iter().map(|(from, to)| (from + at.x, to + at.x)));
            }
            pitch::touching(&blocked, pitch).first().copied()
        };
        if let Some(x) = place(floor) {
            return Some(Point::new(x, floor));
        }
        let top = kinds
            .iter()
            .zip(stand)
            .map(|(kind, at)| at.y + self.spans[*kind].1)
            .fold(0.0, f64::max)
            + self.yard.job.request.cut.clearance_mm()
            + floor;
        let step = (top - floor) / f64::from(STEPS) * (1.0 + 1e-9);
        let mut low = floor;
        for k in 1..=STEPS {
            let y = floor + step * f64::from(k);
            if let Some(x) = place(y) {
                let (mut best, mut high) = (Point::new(x, y), y);
                for _ in 0..32 {
                    let middle = 0.5 * (low + high);
                    match place(middle) {
                        Some(x) => {
                            best = Point::new(x, middle);
                            high = middle;
                        }
                        None => low = middle,
                    }
                }
                return Some(best);
            }
            low = y;
        }
        None
    }
}
