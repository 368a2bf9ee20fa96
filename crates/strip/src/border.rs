//! The border of a set given by a closed curve's winding number: its edges cut
//! where they meet, and only the parts kept that part forbidden from free.

use std::sync::atomic::AtomicBool;

use crate::across::{self, Part};
use crate::forbidden::{Edge, Round, Stopped};
use crate::piece::{Arc, Piece};
use crate::point::{Extent, Point};

/// The direction in which points are looked at; no outline has an edge along it
/// by design.
const LOOK: f64 = 0.739_085_133_2;

/// Parts of the edges that have metal on exactly one side, which is then their
/// left. A shift is forbidden where the winding number of one of the `layers`
/// is positive.
pub(crate) fn border(
    layers: &[Vec<Edge>],
    reach: f64,
    stop: &AtomicBool,
) -> Result<Vec<Edge>, Stopped> {
    let counts: Vec<Counter> = layers
        .iter()
        .map(|edges| Counter::of(edges, reach))
        .collect();
    let all: Vec<&Edge> = layers.iter().flatten().collect();
    let pieces: Vec<Piece> = all.iter().map(|edge| edge.piece()).collect();
    let cuts = cuts(&pieces, 1e-12 * reach, stop)?;
    let mut border = Vec::new();
    for ((edge, piece), cuts) in all.iter().zip(&pieces).zip(cuts) {
        Stopped::unless(stop)?;
        for part in cuts.windows(2) {
            if part[1] - part[0] <= 1e-12 {
                continue;
            }
            let middle = piece.at(0.5 * (part[0] + part[1]));
            let heading = edge.heading(middle);
            let long = piece.length() * (part[1] - part[0]);
            // Less than the half-width that the slack leaves a slit.
            let aside = (0.1 * long).clamp(1e-11 * reach, 3e-11 * reach);
            let left = Point::new(-heading.y, heading.x) * aside;
            let forbidden = |point: Point| counts.iter().any(|count| count.at(point) > 0);
            match (forbidden(middle + left), forbidden(middle - left)) {
                (true, false) => border.push(edge.part(piece, part[0], part[1])),
                (false, true) => border.push(edge.part(piece, part[0], part[1]).reversed()),
                _ => {}
            }
        }
    }
    Ok(joined(border, 1e-11 * reach))
}

/// Gives ends that are one point the same digits, so that no line slips through
/// between two edges.
fn joined(mut edges: Vec<Edge>, same: f64) -> Vec<Edge> {
    let mut ends: Vec<(usize, bool)> = (0..edges.len())
        .flat_map(|n| [(n, false), (n, true)])
        .collect();
    let at =
        |edges: &[Edge], (n, last): (usize, bool)| if last { edges[n].to } else { edges[n].from };
    ends.sort_by(|a, b| at(&edges, *a).x.total_cmp(&at(&edges, *b).x));
    for (k, end) in ends.iter().enumerate() {
        let point = at(&edges, *end);
        for other in &ends[k + 1..] {
            let second = at(&edges, *other);
            if second.x > point.x + same {
                break;
            }
            if second.distance(point) <= same {
                let edge = &mut edges[other.0];
                if other.1 {
                    edge.to = point;
                } else {
                    edge.from = point;
                }
            }
        }
    }
    meet_again(&mut edges, 1e6 * same);
    edges.retain(|edge| edge.from != edge.to);
    edges
}

/// Where edges touch at a grazing angle, their cuts stand apart by the root of
/// rounding: an end at which edges only arrive is put where others only leave.
fn meet_again(edges: &mut [Edge], near: f64) {
    let lonely = |ends: &dyn Fn(&Edge) -> Point, others: &dyn Fn(&Edge) -> Point| -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        for edge in edges.iter() {
            let point = ends(edge);
            if !edges.iter().any(|other| others(other) == point) && !points.contains(&point) {
                points.push(point);
            }
        }
        points
    };
    let arriving = lonely(&|edge| edge.to, &|edge| edge.from);
    let mut leaving = lonely(&|edge| edge.from, &|edge| edge.to);
    for end in arriving {
        let nearest = (0..leaving.len())
            .map(|n| (n, leaving[n].distance(end)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((n, _)) = nearest.filter(|(_, apart)| *apart <= near) else {
            continue;
        };
        let start = leaving.swap_remove(n);
        for edge in edges.iter_mut().filter(|edge| edge.from == start) {
            edge.from = end;
        }
    }
}

/// For each piece where it is cut, from 0 to 1.
fn cuts(pieces: &[Piece], same: f64, stop: &AtomicBool) -> Result<Vec<Vec<f64>>, Stopped> {
    let mut cuts = vec![vec![0.0, 1.0]; pieces.len()];
    let extents: Vec<Extent> = pieces.iter().map(Piece::extent).collect();
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_unstable_by(|a, b| extents[*a].low.x.total_cmp(&extents[*b].low.x));
    for (n, i) in order.iter().enumerate() {
        Stopped::unless(stop)?;
        for j in &order[n + 1..] {
            if extents[*j].low.x > extents[*i].high.x + same {
                break;
            }
            if !extents[*i].near(&extents[*j], same) {
                continue;
            }
            for point in pieces[*i].meets(&pieces[*j], same) {
                cuts[*i].push(pieces[*i].share_of(point));
                cuts[*j].push(pieces[*j].share_of(point));
            }
        }
    }
    for list in &mut cuts {
        list.sort_unstable_by(f64::total_cmp);
        list.dedup();
    }
    Ok(cuts)
}

impl Edge {
    pub(crate) fn piece(&self) -> Piece {
        let arc = self.round.map(|round| {
            let (u, v) = (self.from - round.centre, self.to - round.centre);
            Arc {
                centre: round.centre,
                radius: round.radius,
                start: u.angle(),
                // A quarter at most, in the sense of the turn.
                sweep: libm::atan2(u.cross(v), u.dot(v)),
            }
        });
        Piece {
            from: self.from,
            to: self.to,
            arc,
        }
    }

    /// The unit vector of travel at a point of the edge.
    fn heading(&self, point: Point) -> Point {
        let along = match &self.round {
            None => self.to - self.from,
            Some(round) => {
                let out = point - round.centre;
                let left = Point::new(-out.y, out.x);
                if round.left_turn { left } else { -left }
            }
        };
        along * (1.0 / along.length())
    }

    fn part(&self, piece: &Piece, from: f64, to: f64) -> Self {
        let end = |share: f64| {
            if share == 0.0 {
                self.from
            } else if share == 1.0 {
                self.to
            } else {
                piece.at(share)
            }
        };
        Self {
            from: end(from),
            to: end(to),
            ..self.clone()
        }
    }

    fn reversed(self) -> Self {
        Self {
            from: self.to,
            to: self.from,
            round: self.round.map(|round| Round {
                left_turn: !round.left_turn,
                ..round
            }),
            ..self
        }
    }
}

/// Finds winding numbers: the parts of the edges by where they stand across the
/// direction of looking.
struct Counter {
    by: Point,
    low: f64,
    step: f64,
    shelves: Vec<Vec<Part>>,
}

impl Counter {
    fn of(edges: &[Edge], reach: f64) -> Self {
        let by = Point::at_angle(LOOK);
        let low = -reach;
        // Some parts to a shelf, and most parts on one shelf.
        let count = (edges.len() / 2).clamp(16, 4096);
        let step = 2.0 * reach / count as f64;
        let mut shelves = vec![Vec::new(); count];
        let shelf = |y: f64| (((y - low) / step).max(0.0) as usize).min(count - 1);
        for part in edges.iter().flat_map(|edge| across::parts(edge, by)) {
            let (least, most) = part.heights();
            for list in &mut shelves[shelf(least)..=shelf(most)] {
                list.push(part);
            }
        }
        Self {
            by,
            low,
            step,
            shelves,
        }
    }

    /// The winding number at a point: crossings to its left.
    fn at(&self, point: Point) -> i32 {
        let point = point.turned(self.by);
        let shelf = ((point.y - self.low) / self.step).max(0.0) as usize;
        let Some(list) = self.shelves.get(shelf) else {
            return 0;
        };
        list.iter().map(|part| part.change_before(point)).sum()
    }
}
