//! Lines through a forbidden set: which shifts along the feed are forbidden at
//! one angle and one offset across the strip, and which surely are in a whole
//! neighbourhood of both.

use crate::forbidden::{Edge, Forbidden, Round};
use crate::point::Point;

/// Forbidden shifts along the feed: open intervals, apart and in order.
pub(crate) type Intervals = Vec<(f64, f64)>;

/// Angles within `angle +- slack` and offsets from `low` to `high`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Neighbourhood {
    pub(crate) angle: f64,
    pub(crate) slack: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Neighbourhood {
    pub(crate) fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }
}

/// An edge turned into the strip's axes, feed along the first.
struct Turned {
    from: Point,
    to: Point,
    round: Option<Round>,
}

impl Turned {
    fn of(edge: &Edge, by: Point) -> Self {
        Self {
            from: edge.from.turned(by),
            to: edge.to.turned(by),
            round: edge.round.map(|round| Round {
                centre: round.centre.turned(by),
                ..round
            }),
        }
    }

    /// Parts of the edge that rise or fall throughout.
    fn parts(&self) -> ([Part; 2], usize) {
        let whole = Part {
            from: self.from,
            to: self.to,
            bow: None,
        };
        let Some(round) = &self.round else {
            return ([whole, whole], 1);
        };
        let (u, v) = (self.from - round.centre, self.to - round.centre);
        let (u, v) = if round.left_turn { (u, v) } else { (v, u) };
        // Counter-clockwise from u to v, a quarter at most: over the top?
        let summit = if u.x > 0.0 && v.x < 0.0 && u.y + v.y > 0.0 {
            Some(round.radius)
        } else if u.x < 0.0 && v.x > 0.0 && u.y + v.y < 0.0 {
            Some(-round.radius)
        } else {
            None
        };
        let bow = |right| {
            Some(Bow {
                centre: round.centre,
                radius: round.radius,
                right,
            })
        };
        match summit {
            None => {
                let part = Part {
                    bow: bow(u.x + v.x > 0.0),
                    ..whole
                };
                ([part, part], 1)
            }
            Some(height) => {
                let summit = Point::new(round.centre.x, round.centre.y + height);
                let first = Part {
                    to: summit,
                    bow: bow(self.from.x > round.centre.x),
                    ..whole
                };
                let second = Part {
                    from: summit,
                    bow: bow(self.to.x > round.centre.x),
                    ..whole
                };
                ([first, second], 2)
            }
        }
    }
}

/// A stretch of an edge that rises or falls throughout.
#[derive(Clone, Copy)]
pub(crate) struct Part {
    from: Point,
    to: Point,
    bow: Option<Bow>,
}

/// The left or right half of a circle.
#[derive(Clone, Copy)]
struct Bow {
    centre: Point,
    radius: f64,
    right: bool,
}

impl Part {
    /// The heights that it runs between.
    pub(crate) fn heights(&self) -> (f64, f64) {
        (self.from.y.min(self.to.y), self.from.y.max(self.to.y))
    }

    /// How the count changes on the way to a point from its left.
    pub(crate) fn change_before(&self, point: Point) -> i32 {
        match self.crosses(point.y) {
            Some(change) if self.x_at(point.y) < point.x => change,
            _ => 0,
        }
    }

    fn x_at(&self, y: f64) -> f64 {
        match &self.bow {
            None => {
                let rise = self.to.y - self.from.y;
                self.from.x + (self.to.x - self.from.x) * ((y - self.from.y) / rise)
            }
            Some(bow) => {
                let height = y - bow.centre.y;
                let half = (bow.radius * bow.radius - height * height).max(0.0).sqrt();
                bow.centre.x + if bow.right { half } else { -half }
            }
        }
    }

    /// How the count of shared metal changes from left to right where the line
    /// at `y` crosses: the forbidden side is on the left of the edge.
    fn crosses(&self, y: f64) -> Option<i32> {
        match (self.from.y <= y, self.to.y <= y) {
            (true, false) => Some(-1),
            (false, true) => Some(1),
            _ => None,
        }
    }

    /// The least and largest `x` between two heights, if it comes there.
    fn span(&self, low: f64, high: f64) -> Option<(f64, f64)> {
        let (bottom, top) = if self.from.y <= self.to.y {
            (self.from, self.to)
        } else {
            (self.to, self.from)
        };
        if top.y < low || bottom.y > high {
            return None;
        }
        let a = if bottom.y >= low {
            bottom.x
        } else {
            self.x_at(low)
        };
        let b = if top.y <= high {
            top.x
        } else {
            self.x_at(high)
        };
        let (mut least, mut most) = (a.min(b), a.max(b));
        if let Some(bow) = &self.bow
            && bow.centre.y >= low.max(bottom.y)
            && bow.centre.y <= high.min(top.y)
        {
            if bow.right {
                most = most.max(bow.centre.x + bow.radius);
            } else {
                least = least.min(bow.centre.x - bow.radius);
            }
        }
        Some((least, most))
    }
}

/// What is met along a line.
#[derive(Clone, Copy, PartialEq)]
enum Met {
    /// Forbidden from here on.
    In,
    /// Free from here on.
    Out,
    /// From here on an edge may come between.
    Doubt,
    /// Up to here.
    NoDoubt,
}

/// Room for the working of one line, kept from line to line.
#[derive(Default)]
pub(crate) struct Scratch {
    events: Vec<(f64, Met)>,
}

impl Scratch {
    fn cross(&mut self, part: &Part, y: f64) {
        if let Some(change) = part.crosses(y) {
            let met = if change > 0 { Met::In } else { Met::Out };
            self.events.push((part.x_at(y), met));
        }
    }

    fn doubt(&mut self, from: f64, to: f64) {
        if from < to {
            self.events.push((from, Met::Doubt));
            self.events.push((to, Met::NoDoubt));
        }
    }

    /// The intervals that are forbidden without doubt. Gaps below `least` are
    /// rounding between edges that lie on each other.
    fn intervals(&mut self, least: f64, into: &mut Intervals) {
        into.clear();
        self.events.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let (mut inside, mut doubts) = (false, 0_u32);
        let mut start = None;
        for (x, met) in &self.events {
            match met {
                Met::In => inside = true,
                Met::Out => inside = false,
                Met::Doubt => doubts += 1,
                Met::NoDoubt => doubts = doubts.saturating_sub(1),
            }
            match (start, inside && doubts == 0) {
                (None, true) => {
                    start = match into.last() {
                        Some((_, to)) if *x - to < least => into.pop().map(|(from, _)| from),
                        _ => Some(*x),
                    };
                }
                (Some(from), false) => {
                    if from < *x {
                        into.push((from, *x));
                    }
                    start = None;
                }
                _ => {}
            }
        }
    }
}

/// The parts of an edge turned by an angle.
pub(crate) fn parts(edge: &Edge, angle: Point) -> impl Iterator<Item = Part> {
    let (parts, count) = Turned::of(edge, angle).parts();
    parts.into_iter().take(count)
}

/// The edges listed turned by an angle, for the lines at many offsets.
pub(crate) fn turn(set: &Forbidden, listed: &[u32], angle: Point, into: &mut Vec<Part>) {
    into.clear();
    for n in listed {
        let (parts, count) = Turned::of(&set.edges[*n as usize], angle).parts();
        into.extend_from_slice(&parts[..count]);
    }
}

/// The forbidden intervals of the line at offset `y`, from edges turned to its
/// angle. They must hold every edge that the line crosses.
pub(crate) fn along(
    set: &Forbidden,
    turned: &[Part],
    y: f64,
    scratch: &mut Scratch,
    into: &mut Intervals,
) {
    let y = y + set.aside;
    scratch.events.clear();
    for part in turned {
        scratch.cross(part, y);
    }
    scratch.intervals(set.aside, into);
}

/// The forbidden intervals of the line at offset `y`, from the edges listed.
/// The list must hold every edge that the line crosses.
pub(crate) fn at(
    set: &Forbidden,
    listed: &[u32],
    angle: Point,
    y: f64,
    scratch: &mut Scratch,
    into: &mut Intervals,
) {
    let y = y + set.aside;
    scratch.events.clear();
    for n in listed {
        let (parts, count) = Turned::of(&set.edges[*n as usize], angle).parts();
        for part in &parts[..count] {
            scratch.cross(part, y);
        }
    }
    scratch.intervals(set.aside, into);
}

/// Shifts that are forbidden at every angle and offset of a neighbourhood,
/// and the listed edges that come into it.
///
/// A point of the neighbourhood, turned back to the middle angle, lies within
/// a small rectangle around where it stands. It can only be free where the middle
/// is not if the straight way between leads out over an edge, from its left to its
/// right.
pub(crate) fn surely(
    set: &Forbidden,
    listed: &[u32],
    near: &Neighbourhood,
    scratch: &mut Scratch,
    into: &mut Intervals,
    kept: &mut Vec<u32>,
) {
    let by = Point::at_angle(near.angle);
    let middle = near.middle() + set.aside;
    let offset = near.low.abs().max(near.high.abs()) + set.aside;
    let second = 0.5 * near.slack * near.slack;
    let across = offset * near.slack + set.reach * second;
    scratch.events.clear();
    kept.clear();
    for n in listed {
        let edge = &set.edges[*n as usize];
        let turned = Turned::of(edge, by);
        let along = match &turned.round {
            None => turned.from.x.abs().max(turned.to.x.abs()),
            Some(_) => edge.reach,
        };
        let rise = (along + across) * near.slack + offset * second;
        let (low, high) = (near.low - rise, near.high + rise + set.aside);
        let (parts, count) = turned.parts();
        let mut met = false;
        for part in &parts[..count] {
            let Some((least, most)) = part.span(low, high) else {
                continue;
            };
            met = true;
            scratch.cross(part, middle);
            cast_doubt(part, middle, (least - across, most + across), scratch);
        }
        if met {
            kept.push(*n);
        }
    }
    scratch.intervals(0.0, into);
}

/// Casts doubt on the shifts from which crossing the part would lead out: those
/// on its left.
fn cast_doubt(part: &Part, middle: f64, (least, most): (f64, f64), scratch: &mut Scratch) {
    match &part.bow {
        None => {
            let (run, rise) = (part.to.x - part.from.x, part.to.y - part.from.y);
            // The left side of the line: run * (middle - y0) - rise * (x - x0) > 0.
            if rise == 0.0 {
                if run * (middle - part.from.y) >= 0.0 {
                    scratch.doubt(least, most);
                }
                return;
            }
            let x = part.from.x + run / rise * (middle - part.from.y);
            if rise > 0.0 {
                scratch.doubt(least, most.min(x));
            } else {
                scratch.doubt(least.max(x), most);
            }
        }
        Some(bow) => {
            let height = middle - bow.centre.y;
            let square = bow.radius * bow.radius - height * height;
            // Travelled upwards on the right, or downwards on the left, the
            // circle's inside is on the left.
            let inside = (part.to.y > part.from.y) == bow.right;
            let half = square.max(0.0).sqrt();
            let (left, right) = (bow.centre.x - half, bow.centre.x + half);
            if inside {
                if square > 0.0 {
                    scratch.doubt(least.max(left), most.min(right));
                }
            } else if square > 0.0 {
                scratch.doubt(least, most.min(left));
                scratch.doubt(least.max(right), most);
            } else {
                scratch.doubt(least, most);
            }
        }
    }
}
