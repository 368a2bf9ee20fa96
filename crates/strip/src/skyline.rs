//! How high a blank stands across the strip at an angle.

use crate::piece::{Arc, Piece};
use crate::point::Point;

/// The points of a blank that can be its highest or lowest: corners of its
/// hull, and outward arcs.
#[derive(Clone, Debug)]
pub(crate) struct Skyline {
    corners: Vec<Point>,
    arcs: Vec<Cap>,
}

/// An outward arc with the ways from its centre to its two ends, which every
/// angle asks for.
#[derive(Clone, Copy, Debug)]
struct Cap {
    centre: Point,
    radius: f64,
    from: Point,
    to: Point,
}

impl Cap {
    fn of(arc: &Arc) -> Self {
        Self {
            centre: arc.centre,
            radius: arc.radius,
            from: arc.at(0.0) - arc.centre,
            to: arc.at(1.0) - arc.centre,
        }
    }

    /// Its point farthest in the direction `way`, where that is not an end. Half a
    /// circle at most, counter-clockwise.
    fn summit(&self, way: Point) -> Option<Point> {
        (self.from.cross(way) >= 0.0 && way.cross(self.to) >= 0.0)
            .then(|| self.centre + way * self.radius)
    }
}

/// The lowest and the highest point at one angle, in the blank's own axes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extremes {
    pub(crate) low: Point,
    pub(crate) high: Point,
}

/// The height of a point across the strip.
pub(crate) fn height(point: Point, angle: Point) -> f64 {
    point.x * angle.y + point.y * angle.x
}

/// The strip's upward direction in the blank's axes.
fn upward(angle: Point) -> Point {
    Point::new(angle.y, angle.x)
}

impl Skyline {
    pub(crate) fn of(path: &[Piece]) -> Self {
        Self {
            corners: hull(path.iter().map(|piece| piece.from).collect()),
            arcs: path
                .iter()
                .filter_map(|piece| piece.arc)
                .filter(|arc| arc.sweep > 0.0)
                .map(|arc| Cap::of(&arc))
                .collect(),
        }
    }

    pub(crate) fn extremes(&self, angle: Point) -> Extremes {
        let mut low = (f64::INFINITY, Point::default());
        let mut high = (f64::NEG_INFINITY, Point::default());
        let mut take = |point: Point| {
            let y = height(point, angle);
            if y < low.0 {
                low = (y, point);
            }
            if y > high.0 {
                high = (y, point);
            }
        };
        for corner in &self.corners {
            take(*corner);
        }
        let up = upward(angle);
        for arc in &self.arcs {
            for way in [up, -up] {
                if let Some(point) = arc.summit(way) {
                    take(point);
                }
            }
        }
        Extremes {
            low: low.1,
            high: high.1,
        }
    }

    /// The heights of the lowest and the highest point: what `extremes` comes to,
    /// for those who do not ask which points they are.
    pub(crate) fn span(&self, angle: Point) -> (f64, f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for corner in &self.corners {
            let y = height(*corner, angle);
            low = if y < low { y } else { low };
            high = if y > high { y } else { high };
        }
        let up = upward(angle);
        for arc in &self.arcs {
            for way in [up, -up] {
                if let Some(point) = arc.summit(way) {
                    let y = height(point, angle);
                    low = low.min(y);
                    high = high.max(y);
                }
            }
        }
        (low, high)
    }

    /// Directions of the hull's sides: where the highest or lowest point
    /// changes.
    pub(crate) fn side_angles(&self) -> impl Iterator<Item = f64> + '_ {
        let n = self.corners.len();
        (0..n).map(move |i| (self.corners[(i + 1) % n] - self.corners[i]).angle())
    }
}

/// Convex hull, counter-clockwise (monotone chain, Andrew 1979).
pub(crate) fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let mut chain: Vec<Point> = Vec::new();
    let half = |chain: &mut Vec<Point>, point: Point, floor: usize| {
        while chain.len() >= floor + 2 {
            let (a, b) = (chain[chain.len() - 2], chain[chain.len() - 1]);
            if (b - a).cross(point - b) > 0.0 {
                break;
            }
            chain.pop();
        }
        chain.push(point);
    };
    for point in &points {
        half(&mut chain, *point, 0);
    }
    let floor = chain.len() - 1;
    for point in points.iter().rev().skip(1) {
        half(&mut chain, *point, floor);
    }
    chain.pop();
    chain
}
