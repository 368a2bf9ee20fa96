//! How high a blank stands across the strip at an angle.

use crate::piece::{Arc, Piece};
use crate::point::Point;

/// The points of a blank that can be its highest or lowest: corners of its
/// hull, and outward arcs.
#[derive(Clone, Debug)]
pub(crate) struct Skyline {
    corners: Vec<Point>,
    arcs: Vec<Arc>,
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

impl Skyline {
    pub(crate) fn of(path: &[Piece]) -> Self {
        Self {
            corners: hull(path.iter().map(|piece| piece.from).collect()),
            arcs: path
                .iter()
                .filter_map(|piece| piece.arc)
                .filter(|arc| arc.sweep > 0.0)
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
        // The strip's upward direction in the blank's axes.
        let up = Point::new(angle.y, angle.x);
        for arc in &self.arcs {
            let (u, v) = (arc.at(0.0) - arc.centre, arc.at(1.0) - arc.centre);
            for way in [up, -up] {
                // Half a circle at most, counter-clockwise from u to v.
                if u.cross(way) >= 0.0 && way.cross(v) >= 0.0 {
                    take(arc.centre + way * arc.radius);
                }
            }
        }
        Extremes {
            low: low.1,
            high: high.1,
        }
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
