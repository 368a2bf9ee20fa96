//! What an outline must be before it is laid on a strip.

use std::fmt;

use super::{Outline, Vertex, area, extent, holds, reversed};
use crate::piece::Piece;
use crate::point::Point;

/// Longer than any blank: a drawing in the wrong unit, or a slip of the pen.
const LARGEST_MM: f64 = 100_000.0;
/// Smaller than any blank.
const SMALLEST_MM: f64 = 1e-3;
/// Points nearer than this share of the outline's size are the same point.
const SAME: f64 = 1e-9;

/// Something wrong with an outline, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The path: 0 is the outer edge, others are holes.
    pub path: usize,
    /// The point or edge of the path where it shows, from 1; none for the path
    /// as a whole.
    pub edge: Option<usize>,
    /// What is wrong.
    pub wrong: Wrong,
}

/// What can be wrong with an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Wrong {
    /// Fewer points than enclose an area.
    TooFewPoints {
        /// Different points found.
        found: usize,
    },
    /// A coordinate or bulge that is no number.
    NotANumber,
    /// The path encloses nothing.
    NoArea,
    /// Two edges cross or touch away from their common point.
    Crosses {
        /// The other edge, from 1.
        other: usize,
        /// Where.
        at: Point,
    },
    /// A hole's edge crosses or touches another path.
    MeetsPath {
        /// The other path.
        other: usize,
        /// Where.
        at: Point,
    },
    /// A hole lies outside the outer path.
    OutsideBlank {
        /// A point of the hole.
        at: Point,
    },
    /// A hole lies within another hole.
    InsideHole {
        /// The other hole's path.
        other: usize,
    },
    /// The blank is longer than any coil is wide, or a speck.
    Size {
        /// Its longer side, mm.
        mm: f64,
    },
}

impl Fault {
    /// What is wrong, with its place on the path.
    pub fn what(&self) -> String {
        let edge = self.edge.unwrap_or(0);
        match self.wrong {
            Wrong::TooFewPoints { found } => format!("{found} different points enclose nothing"),
            Wrong::NotANumber => {
                format!("point {edge} has a coordinate or bulge that is no number")
            }
            Wrong::NoArea => "the path runs back over itself and encloses no area".to_owned(),
            Wrong::Crosses { other, at } => {
                format!("edges {edge} and {other} cross at {}", place(at))
            }
            Wrong::MeetsPath { other, at } => {
                format!("edge {edge} meets {} at {}", path_name(other), place(at))
            }
            Wrong::OutsideBlank { at } => {
                format!("the hole lies outside the blank, at {}", place(at))
            }
            Wrong::InsideHole { other } => {
                format!(
                    "the hole lies within {}, where no metal is",
                    path_name(other)
                )
            }
            Wrong::Size { mm } => format!("the blank is {mm} mm long"),
        }
    }

    /// The way out.
    pub fn mend(&self) -> String {
        match self.wrong {
            Wrong::TooFewPoints { .. } => "give three, or two joined by an arc".to_owned(),
            Wrong::NotANumber => "give plain numbers".to_owned(),
            Wrong::NoArea => "give the points in their order round the blank".to_owned(),
            Wrong::Crosses { .. } => {
                "take the crossing out, or give the points in their order round the blank"
                    .to_owned()
            }
            Wrong::MeetsPath { .. } => "move the hole into the metal".to_owned(),
            Wrong::OutsideBlank { .. } => "move it inside or leave it out".to_owned(),
            Wrong::InsideHole { .. } => "leave it out".to_owned(),
            Wrong::Size { .. } => format!(
                "a blank is from {SMALLEST_MM} to {LARGEST_MM} mm long: is the drawing in another unit?"
            ),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {}; {}",
            path_name_short(self.path),
            self.what(),
            self.mend()
        )
    }
}

fn path_name_short(path: usize) -> String {
    match path {
        0 => "outer path".to_owned(),
        hole => format!("hole {hole}"),
    }
}

fn path_name(path: usize) -> String {
    match path {
        0 => "the outer path".to_owned(),
        hole => format!("hole {hole}"),
    }
}

/// A place as a person reads it: to a thousandth of a millimetre.
fn place(at: Point) -> String {
    let round = |x: f64| (x * 1e3).round() / 1e3 + 0.0;
    format!("({}, {})", round(at.x), round(at.y))
}

/// A path with the number of the point at which each piece starts.
struct Numbered {
    pieces: Vec<Piece>,
    numbers: Vec<usize>,
}

pub(super) fn outline(outer: &[Vertex], holes: &[Vec<Vertex>]) -> Result<Outline, Vec<Fault>> {
    let mut faults = Vec::new();
    let size = size_of(outer);
    let mut paths = Vec::new();
    for (n, vertices) in std::iter::once(outer)
        .chain(holes.iter().map(Vec::as_slice))
        .enumerate()
    {
        match path(n, vertices, size) {
            Ok(read) => paths.push(read),
            Err(found) => faults.extend(found),
        }
    }
    if faults.is_empty() {
        faults.extend(between_paths(&paths, size * SAME));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut paths = paths.into_iter().enumerate().map(|(n, path)| {
        let clockwise = area(&path.pieces) < 0.0;
        if clockwise == (n == 0) {
            reversed(&path.pieces)
        } else {
            path.pieces
        }
    });
    let outer = paths.next().unwrap_or_default();
    let holes = paths.collect();
    Ok(Outline { outer, holes })
}

/// The longer side of the points' rectangle: what lengths are measured against.
fn size_of(vertices: &[Vertex]) -> f64 {
    let span = |of: fn(&Vertex) -> f64| {
        let (low, high) = vertices
            .iter()
            .map(of)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
                (low.min(x), high.max(x))
            });
        high - low
    };
    span(|v| v.x_mm).max(span(|v| v.y_mm)).max(0.0)
}

fn path(n: usize, vertices: &[Vertex], size: f64) -> Result<Numbered, Vec<Fault>> {
    let fault = |edge, wrong| Fault {
        path: n,
        edge,
        wrong,
    };
    let broken: Vec<Fault> = vertices
        .iter()
        .enumerate()
        .filter(|(_, v)| !(v.x_mm.is_finite() && v.y_mm.is_finite() && v.bulge.is_finite()))
        .map(|(at, _)| fault(Some(at + 1), Wrong::NotANumber))
        .collect();
    if !broken.is_empty() {
        return Err(broken);
    }
    let path = joined(vertices, size * SAME);
    let round = path.pieces.iter().filter(|p| p.arc.is_some()).count();
    if path.pieces.len() < 2 || (path.pieces.len() == 2 && round == 0) {
        let found = path.pieces.len().max(usize::from(!vertices.is_empty()));
        return Err(vec![fault(None, Wrong::TooFewPoints { found })]);
    }
    let sides = extent(&path.pieces).size();
    let mm = sides.x.max(sides.y);
    if n == 0 && !(SMALLEST_MM..=LARGEST_MM).contains(&mm) {
        return Err(vec![fault(None, Wrong::Size { mm })]);
    }
    let crossings = crossings(&path, n, size * SAME);
    if !crossings.is_empty() {
        return Err(crossings);
    }
    if area(&path.pieces).abs() <= size * size * SAME {
        return Err(vec![fault(None, Wrong::NoArea)]);
    }
    Ok(path)
}

/// The pieces from point to point, without repeated points and points in the
/// middle of a straight edge.
fn joined(vertices: &[Vertex], same: f64) -> Numbered {
    let at = |v: &Vertex| Point::new(v.x_mm, v.y_mm);
    let mut kept: Vec<(usize, &Vertex)> = Vec::new();
    for (n, vertex) in vertices.iter().enumerate() {
        match kept.last_mut() {
            // The later of two equal points says how the path goes on.
            Some(last) if at(last.1).distance(at(vertex)) <= same => *last = (last.0, vertex),
            _ => kept.push((n, vertex)),
        }
    }
    if kept.len() > 1
        && let (Some(first), Some(last)) = (kept.first(), kept.last())
        && at(first.1).distance(at(last.1)) <= same
    {
        kept.pop();
    }
    let straight = |i: usize| {
        let n = kept.len();
        let (before, here, after) = (kept[(i + n - 1) % n].1, kept[i].1, kept[(i + 1) % n].1);
        let (a, b) = (at(here) - at(before), at(after) - at(here));
        before.bulge == 0.0
            && here.bulge == 0.0
            && a.dot(b) > 0.0
            && a.cross(b).abs() <= 1e-12 * a.length() * b.length()
    };
    let corners: Vec<(usize, &Vertex)> = (0..kept.len())
        .filter(|i| kept.len() < 3 || !straight(*i))
        .map(|i| kept[i])
        .collect();
    let mut path = Numbered {
        pieces: Vec::new(),
        numbers: Vec::new(),
    };
    for (i, (n, vertex)) in corners.iter().enumerate() {
        let next = corners[(i + 1) % corners.len()].1;
        if corners.len() < 2 {
            break;
        }
        for piece in halves(Piece::bulged(at(vertex), at(next), vertex.bulge)) {
            path.pieces.push(piece);
            path.numbers.push(n + 1);
        }
    }
    path
}

/// An arc of more than half a circle in two, so that no piece is longer.
fn halves(piece: Piece) -> Vec<Piece> {
    match &piece.arc {
        Some(arc) if arc.sweep.abs() > std::f64::consts::PI + 1e-9 => {
            let middle = arc.at(0.5);
            let bulge = libm::tan(arc.sweep / 8.0);
            vec![
                Piece::bulged(piece.from, middle, bulge),
                Piece::bulged(middle, piece.to, bulge),
            ]
        }
        _ => vec![piece],
    }
}

/// Edges of a path that meet elsewhere than at the point they share.
fn crossings(path: &Numbered, n: usize, same: f64) -> Vec<Fault> {
    let pieces = &path.pieces;
    let extents: Vec<_> = pieces.iter().map(Piece::extent).collect();
    let mut faults = Vec::new();
    for i in 0..pieces.len() {
        for j in i + 1..pieces.len() {
            if !extents[i].near(&extents[j], same) {
                continue;
            }
            let mut shared = Vec::new();
            if j == i + 1 {
                shared.push(pieces[i].to);
            }
            if i == 0 && j + 1 == pieces.len() {
                shared.push(pieces[i].from);
            }
            let apart = |point: &Point| {
                shared
                    .iter()
                    .all(|common| common.distance(*point) > 1e3 * same)
            };
            let met = pieces[i].meets(&pieces[j], same).into_iter().find(apart);
            if let Some(at) = met {
                faults.push(Fault {
                    path: n,
                    edge: Some(path.numbers[i]),
                    wrong: Wrong::Crosses {
                        other: path.numbers[j],
                        at,
                    },
                });
                // A drawing in the wrong order crosses itself everywhere.
                if faults.len() == 10 {
                    return faults;
                }
            }
        }
    }
    faults
}

/// Holes must lie in the metal and apart.
fn between_paths(paths: &[Numbered], same: f64) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (n, hole) in paths.iter().enumerate().skip(1) {
        let met = (0..n).find_map(|other| {
            let (edge, at) = first_meeting(hole, &paths[other], same)?;
            Some(Fault {
                path: n,
                edge: Some(edge),
                wrong: Wrong::MeetsPath { other, at },
            })
        });
        if let Some(fault) = met {
            faults.push(fault);
            continue;
        }
        let at = hole.pieces[0].from;
        let wrong = if holds(&paths[0].pieces, at) {
            let within = (1..paths.len()).find(|other| {
                *other != n
                    && holds(&paths[*other].pieces, at)
                    && !crosses_any(hole, &paths[*other], same)
            });
            within.map(|other| Wrong::InsideHole { other })
        } else {
            Some(Wrong::OutsideBlank { at })
        };
        faults.extend(wrong.map(|wrong| Fault {
            path: n,
            edge: None,
            wrong,
        }));
    }
    faults
}

fn crosses_any(one: &Numbered, other: &Numbered, same: f64) -> bool {
    first_meeting(one, other, same).is_some()
}

fn first_meeting(one: &Numbered, other: &Numbered, same: f64) -> Option<(usize, Point)> {
    one.pieces.iter().zip(&one.numbers).find_map(|(piece, n)| {
        let extent = piece.extent();
        other
            .pieces
            .iter()
            .filter(|second| extent.near(&second.extent(), same))
            .find_map(|second| piece.meets(second, same).first().copied())
            .map(|at| (*n, at))
    })
}
