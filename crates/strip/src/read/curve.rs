//! Curves as chains of arcs.

use crate::outline::Vertex;
use crate::piece::Piece;
use crate::point::Point;

/// Parts a curve is cut into at most: 2 to this power. A curve that needs more is
/// no outline of a blank.
const DEEPEST: u32 = 12;

/// Appends the vertices of a curve from its start up to, not with, its end; each
/// part is an arc through its ends and its middle that leaves the curve by no
/// more than `tolerance`.
pub(super) fn arcs(
    at: &dyn Fn(f64) -> Point,
    (from, to): (f64, f64),
    tolerance: f64,
    into: &mut Vec<Vertex>,
) {
    halve(at, (from, at(from)), (to, at(to)), tolerance, DEEPEST, into);
}

fn halve(
    at: &dyn Fn(f64) -> Point,
    from: (f64, Point),
    to: (f64, Point),
    tolerance: f64,
    deeper: u32,
    into: &mut Vec<Vertex>,
) {
    let middle = 0.5 * (from.0 + to.0);
    let through = at(middle);
    let bulge = bulge_through(from.1, through, to.1);
    let piece = Piece::bulged(from.1, to.1, bulge);
    let off = [0.125, 0.25, 0.375, 0.625, 0.75, 0.875]
        .into_iter()
        .map(|share| piece.distance_to(at(from.0 + share * (to.0 - from.0))))
        .fold(piece.distance_to(through), f64::max);
    // An arc of more than a quarter hides a curve that turns back on itself.
    if deeper == 0 || (off <= tolerance && bulge.abs() < 0.42 && deeper < DEEPEST) {
        into.push(Vertex {
            x_mm: from.1.x,
            y_mm: from.1.y,
            bulge,
        });
        return;
    }
    halve(at, from, (middle, through), tolerance, deeper - 1, into);
    halve(at, (middle, through), to, tolerance, deeper - 1, into);
}

/// The bulge of the arc from a point through a second to a third. The turn of
/// the chord at the middle is half of the arc's angle.
pub(super) fn bulge_through(from: Point, through: Point, to: Point) -> f64 {
    let (a, b) = (through - from, to - through);
    let turn = libm::atan2(a.cross(b), a.dot(b));
    let bulge = libm::tan(0.5 * turn);
    if bulge.is_finite() && bulge.abs() > 1e-9 {
        bulge
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_ellipse_is_followed_within_the_tolerance() {
        let at = |t: f64| Point::new(300.0 * libm::cos(t), 120.0 * libm::sin(t));
        let quarter = std::f64::consts::FRAC_PI_2;
        let mut vertices = Vec::new();
        arcs(&at, (0.0, quarter), 0.01, &mut vertices);
        assert!(vertices.len() <= 32, "{}", vertices.len());
        vertices.push(Vertex::corner(0.0, 120.0));
        for pair in vertices.windows(2) {
            let point = |v: &Vertex| Point::new(v.x_mm, v.y_mm);
            let piece = Piece::bulged(point(&pair[0]), point(&pair[1]), pair[0].bulge);
            for k in 0..=10 {
                let p = piece.at(f64::from(k) / 10.0);
                let level = (p.x / 300.0) * (p.x / 300.0) + (p.y / 120.0) * (p.y / 120.0);
                assert!((level - 1.0).abs() < 2.0 * 0.011 / 120.0, "{level}");
            }
        }
    }
}
