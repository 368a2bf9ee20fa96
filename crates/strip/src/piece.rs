//! A straight or round piece of an outline: where two meet, how far apart
//! they are.

use std::f64::consts::{PI, TAU};

use crate::point::{Extent, Point};

/// One piece of an outline, from a point to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) from: Point,
    pub(crate) to: Point,
    pub(crate) arc: Option<Arc>,
}

/// The circle that a round piece lies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Arc {
    pub(crate) centre: Point,
    pub(crate) radius: f64,
    /// Angle at which the piece starts, seen from the centre.
    pub(crate) start: f64,
    /// Angle that it runs through, counter-clockwise positive.
    pub(crate) sweep: f64,
}

impl Arc {
    pub(crate) fn at(&self, share: f64) -> Point {
        self.centre + Point::at_angle(self.start + share * self.sweep) * self.radius
    }

    /// Whether the arc passes the direction `angle` from its centre, within
    /// `slack` radians.
    fn passes(&self, angle: f64, slack: f64) -> bool {
        let turned = if self.sweep >= 0.0 {
            angle - self.start
        } else {
            self.start - angle
        };
        let turned = turned - TAU * (turned / TAU).floor();
        turned <= self.sweep.abs() + slack || turned >= TAU - slack
    }
}

impl Piece {
    pub(crate) fn line(from: Point, to: Point) -> Self {
        Self {
            from,
            to,
            arc: None,
        }
    }

    /// The piece with a bulge: the tangent of a quarter of its angle.
    pub(crate) fn bulged(from: Point, to: Point, bulge: f64) -> Self {
        let chord = to - from;
        // Flatter than this the arc leaves its chord by less than rounding does.
        if bulge.abs() < 1e-12 {
            return Self::line(from, to);
        }
        let middle = (from + to) * 0.5;
        let left = Point::new(-chord.y, chord.x);
        let centre = middle + left * ((1.0 - bulge * bulge) / (4.0 * bulge));
        Self {
            from,
            to,
            arc: Some(Arc {
                centre,
                radius: centre.distance(from),
                start: (from - centre).angle(),
                sweep: 4.0 * libm::atan(bulge),
            }),
        }
    }

    pub(crate) fn at(&self, share: f64) -> Point {
        match &self.arc {
            None => self.from + (self.to - self.from) * share,
            Some(arc) => arc.at(share),
        }
    }

    /// Where along the piece a point of it stands, from 0 to 1.
    pub(crate) fn share_of(&self, point: Point) -> f64 {
        let share = match &self.arc {
            None => {
                let along = self.to - self.from;
                (point - self.from).dot(along) / along.dot(along)
            }
            Some(arc) => {
                let turned = (point - arc.centre).angle() - arc.start;
                let turned = if arc.sweep > 0.0 { turned } else { -turned };
                let turned = turned - TAU * (turned / TAU).floor();
                // Just before the start is the start.
                if turned > 0.5 * (TAU + arc.sweep.abs()) {
                    0.0
                } else {
                    turned / arc.sweep.abs()
                }
            }
        };
        share.clamp(0.0, 1.0)
    }

    pub(crate) fn length(&self) -> f64 {
        match &self.arc {
            None => self.from.distance(self.to),
            Some(arc) => arc.radius * arc.sweep.abs(),
        }
    }

    /// What the piece adds to the area to the left of a closed path.
    pub(crate) fn area(&self) -> f64 {
        let chord = 0.5 * self.from.cross(self.to);
        match &self.arc {
            None => chord,
            Some(arc) => chord + 0.5 * arc.radius * arc.radius * (arc.sweep - libm::sin(arc.sweep)),
        }
    }

    pub(crate) fn reversed(&self) -> Self {
        Self {
            from: self.to,
            to: self.from,
            arc: self.arc.map(|arc| Arc {
                start: arc.start + arc.sweep,
                sweep: -arc.sweep,
                ..arc
            }),
        }
    }

    /// Mirrored over the first axis if asked, then turned, then moved. The sense
    /// of a mirrored path turns round; the caller reverses it.
    pub(crate) fn placed(&self, mirrored: bool, turn: f64, shift: Point) -> Self {
        let by = Point::at_angle(turn);
        let place = |p: Point| {
            let p = if mirrored { Point::new(p.x, -p.y) } else { p };
            p.turned(by) + shift
        };
        Self {
            from: place(self.from),
            to: place(self.to),
            arc: self.arc.map(|arc| Arc {
                centre: place(arc.centre),
                radius: arc.radius,
                start: if mirrored { -arc.start } else { arc.start } + turn,
                sweep: if mirrored { -arc.sweep } else { arc.sweep },
            }),
        }
    }

    pub(crate) fn extent(&self) -> Extent {
        let mut extent = Extent::NONE;
        extent.take(self.from);
        extent.take(self.to);
        if let Some(arc) = &self.arc {
            for (angle, unit) in [
                (0.0, Point::new(1.0, 0.0)),
                (0.5 * PI, Point::new(0.0, 1.0)),
                (PI, Point::new(-1.0, 0.0)),
                (1.5 * PI, Point::new(0.0, -1.0)),
            ] {
                if arc.passes(angle, 0.0) {
                    extent.take(arc.centre + unit * arc.radius);
                }
            }
        }
        extent
    }

    /// The nearest distance from a point to the piece.
    pub(crate) fn distance_to(&self, point: Point) -> f64 {
        let ends = self.from.distance(point).min(self.to.distance(point));
        match &self.arc {
            None => {
                let along = self.to - self.from;
                let square = along.dot(along);
                let share = (point - self.from).dot(along) / square;
                if square > 0.0 && (0.0..=1.0).contains(&share) {
                    (along.cross(point - self.from) / square.sqrt()).abs()
                } else {
                    ends
                }
            }
            Some(arc) => {
                let from_centre = point - arc.centre;
                if arc.passes(from_centre.angle(), 0.0) {
                    (from_centre.length() - arc.radius).abs()
                } else {
                    ends
                }
            }
        }
    }

    /// The nearest distance between two pieces; 0 where they cross.
    pub(crate) fn distance(&self, other: &Self) -> f64 {
        if !self.meets(other, 0.0).is_empty() {
            return 0.0;
        }
        let mut least = f64::INFINITY;
        for end in [self.from, self.to] {
            least = least.min(other.distance_to(end));
        }
        for end in [other.from, other.to] {
            least = least.min(self.distance_to(end));
        }
        // Off the ends the shortest way stands square on both pieces, so it
        // lies on a line through the centre of an arc.
        for (round, across) in [(self, other), (other, self)] {
            let Some(arc) = &round.arc else { continue };
            let direction = match &across.arc {
                None => {
                    let along = across.to - across.from;
                    Point::new(-along.y, along.x)
                }
                Some(second) => second.centre - arc.centre,
            };
            let angle = direction.angle();
            for angle in [angle, angle + PI] {
                if arc.passes(angle, 0.0) {
                    let foot = arc.centre + Point::at_angle(angle) * arc.radius;
                    least = least.min(across.distance_to(foot));
                }
            }
        }
        least
    }

    /// The points that both pieces hold, ends that come within `slack` of the
    /// other included. Pieces that share a stretch give its ends.
    pub(crate) fn meets(&self, other: &Self, slack: f64) -> Vec<Point> {
        let mut points = Vec::new();
        for (piece, end) in [
            (other, self.from),
            (other, self.to),
            (self, other.from),
            (self, other.to),
        ] {
            if piece.distance_to(end) <= slack {
                points.push(end);
            }
        }
        match (&self.arc, &other.arc) {
            (None, None) => points.extend(lines_cross(self, other)),
            (None, Some(arc)) => points.extend(line_and_arc(self, arc)),
            (Some(arc), None) => points.extend(line_and_arc(other, arc)),
            (Some(one), Some(two)) => points.extend(arcs_cross(one, two)),
        }
        points
    }

    /// The direction of travel at the start.
    pub(crate) fn leaves_along(&self) -> Point {
        match &self.arc {
            None => self.to - self.from,
            Some(arc) => heading(arc, arc.start),
        }
    }

    /// The direction of travel at the end.
    pub(crate) fn arrives_along(&self) -> Point {
        match &self.arc {
            None => self.to - self.from,
            Some(arc) => heading(arc, arc.start + arc.sweep),
        }
    }
}

fn heading(arc: &Arc, angle: f64) -> Point {
    let outward = Point::at_angle(angle);
    Point::new(-outward.y, outward.x) * (arc.radius * arc.sweep.signum())
}

fn lines_cross(one: &Piece, two: &Piece) -> Option<Point> {
    let (a, b) = (one.to - one.from, two.to - two.from);
    let area = a.cross(b);
    // Along one line the crossing would be made of rounding; touching ends are
    // found as ends.
    if area.abs() <= 1e-12 * a.length() * b.length() {
        return None;
    }
    let between = two.from - one.from;
    let (s, t) = (between.cross(b) / area, between.cross(a) / area);
    ((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t)).then(|| one.from + a * s)
}

fn line_and_arc(line: &Piece, arc: &Arc) -> Vec<Point> {
    let along = line.to - line.from;
    let length = along.length();
    if length == 0.0 {
        return Vec::new();
    }
    let unit = along * (1.0 / length);
    let to_centre = arc.centre - line.from;
    let foot = to_centre.dot(unit);
    let off = to_centre.cross(unit);
    let square = arc.radius * arc.radius - off * off;
    if square < 0.0 {
        return Vec::new();
    }
    let half = square.sqrt();
    [foot - half, foot + half]
        .into_iter()
        .filter(|s| (0.0..=length).contains(s))
        .map(|s| line.from + unit * s)
        .filter(|point| arc.passes((*point - arc.centre).angle(), 0.0))
        .collect()
}

fn arcs_cross(one: &Arc, two: &Arc) -> Vec<Point> {
    let between = two.centre - one.centre;
    let apart = between.length();
    if apart <= 1e-12 * one.radius || apart > one.radius + two.radius {
        return Vec::new();
    }
    let along = (apart * apart + one.radius * one.radius - two.radius * two.radius) / (2.0 * apart);
    let square = one.radius * one.radius - along * along;
    if square < 0.0 {
        return Vec::new();
    }
    let unit = between * (1.0 / apart);
    let across = Point::new(-unit.y, unit.x) * square.sqrt();
    let middle = one.centre + unit * along;
    [middle + across, middle - across]
        .into_iter()
        .filter(|point| {
            one.passes((*point - one.centre).angle(), 0.0)
                && two.passes((*point - two.centre).angle(), 0.0)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bulge_of_one_is_half_a_circle_to_the_right_of_its_chord() {
        let piece = Piece::bulged(Point::new(0.0, 0.0), Point::new(2.0, 0.0), 1.0);
        let low = piece.at(0.5);
        assert!(low.distance(Point::new(1.0, -1.0)) < 1e-12, "{low:?}");
        assert!((piece.length() - PI).abs() < 1e-12);
    }

    #[test]
    fn the_way_between_two_round_pieces_runs_through_both_centres() {
        let one = Piece::bulged(Point::new(0.0, -1.0), Point::new(0.0, 1.0), 1.0);
        let two = Piece::bulged(Point::new(5.0, 1.0), Point::new(5.0, -1.0), 1.0);
        assert!((one.distance(&two) - 3.0).abs() < 1e-12);
        let line = Piece::line(Point::new(1.5, -9.0), Point::new(1.5, 9.0));
        assert!((one.distance(&line) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn pieces_that_cross_are_no_distance_apart() {
        let one = Piece::line(Point::new(0.0, 0.0), Point::new(2.0, 2.0));
        let two = Piece::bulged(Point::new(0.0, 1.0), Point::new(2.0, 1.0), 0.3);
        assert_eq!(one.distance(&two), 0.0);
    }
}
