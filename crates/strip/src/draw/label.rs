//! Where a blank's name stands: in its metal, where there is most room.

use crate::outline::extent;
use crate::piece::Piece;
use crate::point::Point;

/// Scan lines across a blank.
const LINES: u32 = 40;
/// Straight stretches that an arc is looked at as.
const STRETCHES: u32 = 16;
/// A name is so much wider than high.
const WIDER: f64 = 1.8;

/// A place in the metal with the room around it, all in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Room {
    pub(super) at: Point,
    /// Metal to the left and to the right.
    pub(super) half_width: f64,
    /// Metal above and below.
    pub(super) half_height: f64,
}

/// The middle of the widest stretch of metal on a scan line, its height counted
/// too; the box's centre where no line meets metal.
pub(super) fn room(paths: &[Vec<Piece>]) -> Room {
    let edges = edges(paths);
    let whole = paths
        .first()
        .map_or_else(|| extent(&[]), |path| extent(path));
    let mut best = Room {
        at: (whole.low + whole.high) * 0.5,
        half_width: 0.0,
        half_height: 0.0,
    };
    let worth = |room: &Room| (room.half_width / WIDER).min(room.half_height);
    for line in 0..LINES {
        // Off the middle of nothing: no line meets a corner of a plain drawing.
        let share = (f64::from(line) + 0.503) / f64::from(LINES);
        let y = whole.low.y + share * (whole.high.y - whole.low.y);
        for (left, right) in stretches(&edges, y, |point| (point.x, point.y)) {
            let x = 0.5 * (left + right);
            let tall = stretches(&edges, x, |point| (point.y, point.x));
            let Some((low, high)) = tall.into_iter().find(|(low, high)| *low <= y && y <= *high)
            else {
                continue;
            };
            let found = Room {
                at: Point::new(x, y),
                half_width: 0.5 * (right - left),
                half_height: (y - low).min(high - y),
            };
            if worth(&found) > worth(&best) * (1.0 + 1e-9) {
                best = found;
            }
        }
    }
    best
}

fn edges(paths: &[Vec<Piece>]) -> Vec<(Point, Point)> {
    let mut edges = Vec::new();
    for piece in paths.iter().flatten() {
        let parts = if piece.arc.is_some() { STRETCHES } else { 1 };
        let at = |n: u32| match n {
            0 => piece.from,
            n if n == parts => piece.to,
            n => piece.at(f64::from(n) / f64::from(parts)),
        };
        edges.extend((0..parts).map(|n| (at(n), at(n + 1))));
    }
    edges
}

/// The stretches of metal along a line; `seen` gives a point as its place along
/// the line and its place across it.
fn stretches(
    edges: &[(Point, Point)],
    line: f64,
    seen: impl Fn(Point) -> (f64, f64),
) -> Vec<(f64, f64)> {
    let mut meets: Vec<f64> = edges
        .iter()
        .filter_map(|(from, to)| {
            let ((a, from), (b, to)) = (seen(*from), seen(*to));
            ((from <= line) != (to <= line)).then(|| a + (line - from) / (to - from) * (b - a))
        })
        .collect();
    meets.sort_by(f64::total_cmp);
    meets
        .chunks_exact(2)
        .map(|pair| (pair[0], pair[1]))
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::outline::{Outline, Vertex, holds};

    fn rectangle(low: f64, wide: f64, tall: f64) -> Vec<Vertex> {
        [(low, low), (wide, low), (wide, tall), (low, tall)]
            .map(|(x, y)| Vertex::corner(x, y))
            .to_vec()
    }

    fn in_metal(outline: &Outline) -> Room {
        let paths: Vec<Vec<Piece>> = outline.paths().cloned().collect();
        let room = room(&paths);
        let inside = paths.iter().filter(|path| holds(path, room.at)).count();
        assert_eq!(inside, 1, "{room:?}");
        room
    }

    #[test]
    fn the_name_of_a_door_ring_stands_in_the_metal_and_not_in_the_opening() {
        let ring = Outline::new(
            &rectangle(0.0, 1000.0, 800.0),
            &[rectangle(100.0, 700.0, 700.0)],
        );
        let room = in_metal(&ring.unwrap());
        // The right post is the widest: 300 of 1000 mm.
        assert!((room.half_width - 150.0).abs() < 1e-6);
        assert!((room.at.x - 850.0).abs() < 1e-6);
    }

    #[test]
    fn the_name_of_an_angle_stands_in_a_leg() {
        let corners = [
            (0., 0.),
            (400., 0.),
            (400., 60.),
            (60., 60.),
            (60., 400.),
            (0., 400.),
        ];
        in_metal(&Outline::new(&corners.map(|(x, y)| Vertex::corner(x, y)), &[]).unwrap());
    }

    #[test]
    fn the_name_of_a_washer_stands_in_its_round() {
        let circle = |radius: f64| {
            [-radius, radius]
                .map(|x_mm| Vertex {
                    x_mm,
                    y_mm: 0.0,
                    bulge: 1.0,
                })
                .to_vec()
        };
        in_metal(&Outline::new(&circle(100.0), &[circle(80.0)]).unwrap());
    }
}
