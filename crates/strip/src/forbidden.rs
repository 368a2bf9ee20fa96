//! Where a second blank may not stand, seen from a first: the no-fit polygon
//! of the two, grown by the web, with its round edges kept round.
//!
//! The set of shifts at which two blanks come nearer than the web is the
//! Minkowski sum of the first, the second turned half round, and a disc of the
//! web's radius. The convolution of the two outlines, a closed curve of straight
//! and round edges, has a winding number at each shift that counts the pieces of
//! metal the two blanks would share: positive where they would overlap or come
//! too near. The set's border is what the curve has of edges between positive
//! and not.
//!
//! The count is right for blanks without holes that touch or overlap. With a web it
//! would count pairs of near points, and where a bay of one blank lies across a
//! bay of the other, the pairs may close a ring that the count takes for none. So
//! of two blanks with bays, the first is grown by the web on its own, where nothing
//! of the kind can happen, before the second comes in.
//!
//! Sources: Guibas, Ramshaw & Stolfi, "A kinetic framework for computational
//! geometry", FOCS 1983, for the convolution and its winding number; Nye,
//! J. Manufacturing Systems 19(4) 2000, 239-248, for the Minkowski sum in strip
//! layout.

mod overlaid;

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::atomic::{AtomicBool, Ordering};

use crate::border::border;
use crate::piece::{Arc, Piece};
use crate::point::Point;

/// Blanks that come nearer than the web by so much of their size still count
/// as apart, so that blanks may touch where the web is 0. It is far below what
/// any tool can cut and far above rounding.
pub(crate) const TOUCH: f64 = 1e-10;

/// An edge of the convolution; where it is border, the forbidden side is on the
/// left.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    pub(crate) from: Point,
    pub(crate) to: Point,
    pub(crate) round: Option<Round>,
    /// The largest distance of its points from the origin.
    pub(crate) reach: f64,
}

/// A quarter of a circle at most.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Round {
    pub(crate) centre: Point,
    pub(crate) radius: f64,
    pub(crate) left_turn: bool,
}

/// The shifts that a blank may not take from another.
#[derive(Clone, Debug)]
pub(crate) struct Forbidden {
    /// Its border.
    pub(crate) edges: Vec<Edge>,
    /// No forbidden shift is longer.
    pub(crate) reach: f64,
    /// How far lines are moved off the corners of the set, which are where
    /// symmetric blanks put them.
    pub(crate) aside: f64,
}

impl Forbidden {
    /// How much nearer than the clearance a shift may come on each side.
    pub(crate) fn slack(&self) -> f64 {
        self.aside / 0.37
    }

    /// Shifts of `second` from `first` at which the two come nearer than
    /// `clearance`. Both are closed counter-clockwise paths. Outlines of many
    /// bays take a good part of a second, so that `stop` is looked at all along.
    pub(crate) fn between(
        first: &[Piece],
        second: &[Piece],
        clearance: f64,
        stop: &AtomicBool,
    ) -> Result<Self, Stopped> {
        let size = |path: &[Piece]| {
            let sides = crate::outline::extent(path).size();
            sides.x.max(sides.y)
        };
        let slack = TOUCH * size(first).max(size(second));
        let layers = layers(first, second, clearance, slack, stop)?;
        let reach = longest(layers.iter().flatten());
        let edges = border(&layers, reach, stop)?;
        Ok(Self {
            reach: longest(edges.iter()),
            edges,
            aside: 0.37 * slack,
        })
    }
}

/// The search was told to stop before the set was whole.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stopped;

impl Stopped {
    /// An error once the flag is set.
    pub(crate) fn unless(stop: &AtomicBool) -> Result<(), Self> {
        if stop.load(Ordering::Relaxed) {
            Err(Self)
        } else {
            Ok(())
        }
    }
}

/// Closed curves whose winding numbers say what is forbidden, each soundly and
/// together completely.
fn layers(
    first: &[Piece],
    second: &[Piece],
    clearance: f64,
    slack: f64,
    stop: &AtomicBool,
) -> Result<Vec<Vec<Edge>>, Stopped> {
    let apart = |one: &[Piece], two: &[Piece], grow: f64| {
        convolution(
            &Boundary::of(one),
            &Boundary::of(two).turned_half_round(),
            grow,
            stop,
        )
    };
    let touching = || apart(&shrunk(first, slack), &shrunk(second, slack), 0.0);
    if clearance == 0.0 {
        return Ok(vec![touching()?]);
    }
    // Rounder corners than this the arithmetic does not tell apart.
    let grow = (clearance - 2.0 * slack).max(1e4 * slack);
    if !(Boundary::of(first).has_bays() && Boundary::of(second).has_bays()) {
        return Ok(vec![apart(first, second, grow)?]);
    }
    Ok(match grown(first, grow, stop)? {
        Some(first) => vec![apart(&first, second, 0.0)?],
        None => vec![apart(first, second, grow)?, touching()?],
    })
}

/// The outer border of a blank grown all round; none if it does not close.
fn grown(path: &[Piece], by: f64, stop: &AtomicBool) -> Result<Option<Vec<Piece>>, Stopped> {
    let origin = Boundary {
        lines: Vec::new(),
        corners: vec![0.0, 1.0, 2.0, 3.0]
            .into_iter()
            .map(|quarter| Corner {
                centre: Point::default(),
                radius: by,
                span: Span {
                    low: quarter * FRAC_PI_2,
                    high: round_the_circle((quarter + 1.0) * FRAC_PI_2),
                },
                turns: 1.0,
            })
            .collect(),
    };
    let edges = convolution(&Boundary::of(path), &origin, 0.0, stop)?;
    let reach = longest(edges.iter());
    Ok(outermost(border(&[edges], reach, stop)?))
}

/// The largest of the closed paths that edges make; none if one does not close.
fn outermost(mut rest: Vec<Edge>) -> Option<Vec<Piece>> {
    let mut outer: Option<(f64, Vec<Piece>)> = None;
    while let Some(first) = rest.pop() {
        let mut pieces = vec![first.piece()];
        let mut end = first.to;
        while end != first.from {
            let next = rest.iter().position(|edge| edge.from == end)?;
            let next = rest.swap_remove(next);
            end = next.to;
            pieces.push(next.piece());
        }
        // What a bay encloses when its mouth is narrower than the web is filled:
        // no blank gets there.
        let area = crate::outline::area(&pieces);
        if outer.as_ref().is_none_or(|(largest, _)| area > *largest) {
            outer = Some((area, pieces));
        }
    }
    outer.map(|(_, pieces)| pieces)
}

fn longest<'a>(edges: impl Iterator<Item = &'a Edge>) -> f64 {
    edges.map(|edge| edge.reach).fold(0.0, f64::max)
}

/// The path with every edge moved inwards by less than any of its features.
fn shrunk(path: &[Piece], by: f64) -> Vec<Piece> {
    let n = path.len();
    let inward = |along: Point| Point::new(-along.y, along.x) * (1.0 / along.length());
    let corners: Vec<Point> = (0..n)
        .map(|i| {
            let (before, after) = (&path[(i + n - 1) % n], &path[i]);
            let (one, two) = (inward(before.arrives_along()), inward(after.leaves_along()));
            // The shift that is `by` along both normals.
            let area = one.cross(two);
            let shift = if area.abs() > 1e-3 {
                Point::new(two.y - one.y, one.x - two.x) * (by / area)
            } else {
                (one + two) * (0.5 * by)
            };
            after.from + shift
        })
        .collect();
    (0..n)
        .map(|i| {
            let (from, to) = (corners[i], corners[(i + 1) % n]);
            let arc = path[i].arc.map(|arc| {
                let start = (from - arc.centre).angle();
                let turned = (to - arc.centre).angle() - start - arc.sweep;
                Arc {
                    radius: arc.radius - by * arc.sweep.signum(),
                    start,
                    sweep: arc.sweep + turned - TAU * (turned / TAU).round(),
                    ..arc
                }
            });
            Piece { from, to, arc }
        })
        .collect()
}

/// The edges of the convolution of two boundaries, grown.
fn convolution(
    one: &Boundary,
    two: &Boundary,
    grow: f64,
    stop: &AtomicBool,
) -> Result<Vec<Edge>, Stopped> {
    let mut edges = Vec::new();
    for line in &one.lines {
        Stopped::unless(stop)?;
        // Where two edges of the blanks are parallel, those of the first come
        // first.
        for corner in two.corners.iter().filter(|c| c.span.after(line.normal)) {
            push_line(&mut edges, line, corner, grow);
        }
    }
    for line in &two.lines {
        for corner in one.corners.iter().filter(|c| c.span.at(line.normal)) {
            push_line(&mut edges, line, corner, grow);
        }
    }
    for one in &one.corners {
        for two in &two.corners {
            push_round(&mut edges, one, two, grow);
        }
    }
    let reach = longest(edges.iter());
    Ok(overlaid::cancelled(edges, reach))
}

/// A closed path as straight edges and turning corners; an arc is a corner
/// with a radius, a corner an arc without.
struct Boundary {
    lines: Vec<Straight>,
    corners: Vec<Corner>,
}

struct Straight {
    from: Point,
    to: Point,
    /// Angle of the outward normal.
    normal: f64,
}

struct Corner {
    centre: Point,
    /// Negative for an inward arc.
    radius: f64,
    span: Span,
    /// +1 where the path turns left, -1 where it turns right.
    turns: f64,
}

/// Normals from `low` to `high`, counter-clockwise.
#[derive(Clone, Copy)]
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    /// Whether `low <= angle < high` round the circle.
    fn at(&self, angle: f64) -> bool {
        if self.low <= self.high {
            self.low <= angle && angle < self.high
        } else {
            self.low <= angle || angle < self.high
        }
    }

    /// Whether `low < angle <= high` round the circle.
    fn after(&self, angle: f64) -> bool {
        if self.low <= self.high {
            self.low < angle && angle <= self.high
        } else {
            self.low < angle || angle <= self.high
        }
    }

    /// The part of `other` in this span. No span is longer than half a turn, so
    /// there is one part at most.
    fn shared(&self, other: &Self) -> Option<Self> {
        if self.low == self.high || other.low == other.high {
            return None;
        }
        let low = if self.at(other.low) {
            other.low
        } else if other.at(self.low) {
            self.low
        } else {
            return None;
        };
        let high = if self.after(other.high) {
            other.high
        } else {
            self.high
        };
        Some(Self { low, high })
    }
}

/// An angle in [0, 2 pi).
fn round_the_circle(angle: f64) -> f64 {
    let turned = angle - TAU * (angle / TAU).floor();
    if turned >= TAU { 0.0 } else { turned }
}

/// The corners of an arc; gives the normals where it begins and ends.
fn round(corners: &mut Vec<Corner>, arc: &Arc) -> (f64, f64) {
    let inward = arc.sweep < 0.0;
    let first = arc.start + if inward { PI } else { 0.0 };
    // A quarter at most, so that spans stay below half a turn.
    let quarters = (arc.sweep.abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0);
    let angle = |k: f64| round_the_circle(first + arc.sweep * (k / quarters));
    let mut k = 0.0;
    while k < quarters {
        let (from, to) = (angle(k), angle(k + 1.0));
        let (low, high) = if inward { (to, from) } else { (from, to) };
        corners.push(Corner {
            centre: arc.centre,
            radius: if inward { -arc.radius } else { arc.radius },
            span: Span { low, high },
            turns: if inward { -1.0 } else { 1.0 },
        });
        k += 1.0;
    }
    (angle(0.0), angle(quarters))
}

impl Boundary {
    fn of(path: &[Piece]) -> Self {
        let mut lines = Vec::new();
        let mut corners = Vec::new();
        let mut normals = Vec::new();
        for piece in path {
            match &piece.arc {
                None => {
                    let along = piece.to - piece.from;
                    let normal = round_the_circle(Point::new(along.y, -along.x).angle());
                    lines.push(Straight {
                        from: piece.from,
                        to: piece.to,
                        normal,
                    });
                    normals.push((normal, normal));
                }
                Some(arc) => {
                    normals.push(round(&mut corners, arc));
                }
            }
        }
        for (i, piece) in path.iter().enumerate() {
            let from = normals[i].1;
            let to = normals[(i + 1) % path.len()].0;
            let left = round_the_circle(to - from) < PI;
            corners.push(Corner {
                centre: piece.to,
                radius: 0.0,
                span: if left {
                    Span {
                        low: from,
                        high: to,
                    }
                } else {
                    Span {
                        low: to,
                        high: from,
                    }
                },
                turns: if left { 1.0 } else { -1.0 },
            });
        }
        Self { lines, corners }
    }

    fn has_bays(&self) -> bool {
        self.corners
            .iter()
            .any(|corner| corner.turns < 0.0 && corner.span.low != corner.span.high)
    }

    /// The boundary of all points times -1.
    fn turned_half_round(mut self) -> Self {
        for line in &mut self.lines {
            line.from = -line.from;
            line.to = -line.to;
            line.normal = round_the_circle(line.normal + PI);
        }
        for corner in &mut self.corners {
            corner.centre = -corner.centre;
            corner.span = Span {
                low: round_the_circle(corner.span.low + PI),
                high: round_the_circle(corner.span.high + PI),
            };
        }
        self
    }
}

fn push_line(edges: &mut Vec<Edge>, line: &Straight, corner: &Corner, grow: f64) {
    let shift = corner.centre + Point::at_angle(line.normal) * (corner.radius + grow);
    let (from, to) = (line.from + shift, line.to + shift);
    let (from, to) = if corner.turns > 0.0 {
        (from, to)
    } else {
        (to, from)
    };
    edges.push(Edge {
        from,
        to,
        round: None,
        reach: from.length().max(to.length()),
    });
}

/// How far a quarter of a circle or less rises over its chord.
fn rise(from: Point, to: Point, radius: f64) -> f64 {
    let square = 0.25 * (to - from).dot(to - from);
    square / (radius + (radius * radius - square).max(0.0).sqrt())
}

fn push_round(edges: &mut Vec<Edge>, one: &Corner, two: &Corner, grow: f64) {
    let Some(span) = one.span.shared(&two.span) else {
        return;
    };
    let centre = one.centre + two.centre;
    let radius = one.radius + two.radius + grow;
    let on = |angle: f64| centre + Point::at_angle(angle) * radius;
    let left_turn = one.turns * two.turns > 0.0;
    if radius == 0.0 {
        return;
    }
    let width = round_the_circle(span.high - span.low);
    let parts = if width <= FRAC_PI_2 { 1 } else { 2 };
    for part in 0..parts {
        let angle = |k: i32| match k {
            0 => span.low,
            k if k == parts => span.high,
            _ => span.low + 0.5 * width,
        };
        let (low, high) = (on(angle(part)), on(angle(part + 1)));
        let (from, to) = if left_turn { (low, high) } else { (high, low) };
        edges.push(Edge {
            from,
            to,
            round: Some(Round {
                centre,
                radius: radius.abs(),
                left_turn,
            }),
            reach: from.length().max(to.length()) + rise(from, to, radius.abs()),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(first: &[Piece], second: &[Piece], clearance: f64) -> Forbidden {
        let never = AtomicBool::new(false);
        Forbidden::between(first, second, clearance, &never).expect("nobody stops it")
    }

    use crate::across::{self, Scratch};
    use crate::outline::placed;
    use crate::verify::apart;
    use crate::{Outline, Vertex};

    fn path(corners: &[(f64, f64)]) -> Vec<Piece> {
        let corners: Vec<Vertex> = corners
            .iter()
            .map(|(x, y)| Vertex::corner(*x, *y))
            .collect();
        Outline::new(&corners, &[]).unwrap().outer().to_vec()
    }

    /// Holds the forbidden shifts against distances measured one by one.
    fn agrees(first: &[Piece], second: &[Piece], clearance: f64) {
        let set = between(first, second, clearance);
        let listed: Vec<u32> = (0..set.edges.len() as u32).collect();
        let mut intervals = Vec::new();
        for row in -9..=9 {
            let y = f64::from(row) / 9.0 * set.reach + 0.123;
            let mut scratch = Scratch::default();
            across::at(
                &set,
                &listed,
                Point::new(1.0, 0.0),
                y,
                &mut scratch,
                &mut intervals,
            );
            for column in -20..=20 {
                let x = f64::from(column) / 20.0 * set.reach + 0.0456;
                let moved = placed(second, false, 0.0, Point::new(x, y));
                let measured = apart(first, &moved);
                let forbidden = intervals.iter().any(|(from, to)| *from < x && x < *to);
                assert!(
                    forbidden == (measured < clearance) || (measured - clearance).abs() < 1e-6,
                    "at ({x}, {y}): forbidden {forbidden}, measured {measured}, {intervals:?}"
                );
            }
        }
    }

    #[test]
    fn two_ls_may_stand_in_each_other_but_not_on_each_other() {
        let l = path(&[
            (0., 0.),
            (400., 0.),
            (400., 100.),
            (100., 100.),
            (100., 400.),
            (0., 400.),
        ]);
        agrees(&l, &l, 0.0);
        agrees(&l, &l, 6.0);
        agrees(&l, &placed(&l, false, PI, Point::default()), 6.0);
        agrees(&l, &placed(&l, false, 0.7, Point::default()), 6.0);
    }

    /// A blank with bays all round, of no symmetry.
    fn star(points: i32) -> Vec<Piece> {
        let corners: Vec<(f64, f64)> = (0..points)
            .map(|i| {
                let angle = f64::from(i) * TAU / f64::from(points);
                let radius = 300.0
                    + 60.0 * libm::sin(3.0 * angle)
                    + 40.0 * libm::sin(5.0 * angle + 1.0)
                    + 25.0 * libm::cos(11.0 * angle);
                (1.6 * radius * libm::cos(angle), radius * libm::sin(angle))
            })
            .collect();
        path(&corners)
    }

    #[test]
    fn bays_across_bays_leave_no_hole_in_the_metal() {
        let star = star(60);
        agrees(&star, &star, 0.0);
        agrees(&star, &star, 6.0);
        agrees(&star, &placed(&star, false, PI, Point::default()), 20.0);
        // Found once: a shift deep in the metal where the grown count is 0.
        let set = between(&star, &star, 6.0);
        let listed: Vec<u32> = (0..set.edges.len() as u32).collect();
        let mut intervals = Vec::new();
        let angle = Point::at_angle(56.25_f64.to_radians());
        let mut scratch = Scratch::default();
        across::at(&set, &listed, angle, 0.0, &mut scratch, &mut intervals);
        assert_eq!(intervals.len(), 1, "{intervals:?}");
    }
}
