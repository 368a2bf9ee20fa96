//! The outline of a blank: one closed outer path and holes, of straight and
//! round edges.

mod check;

use crate::piece::Piece;
use crate::point::{Extent, Point};

pub use check::{Fault, Wrong};

/// A point of a path. The edge to the next point is straight where the bulge
/// is 0, else an arc: the bulge is the tangent of a quarter of the arc's angle,
/// positive counter-clockwise, as in DXF polylines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// Along the drawing's first axis, mm.
    pub x_mm: f64,
    /// Along its second, mm.
    pub y_mm: f64,
    /// Bulge of the edge that starts here.
    pub bulge: f64,
}

impl Vertex {
    /// A corner from which a straight edge goes on.
    pub const fn corner(x_mm: f64, y_mm: f64) -> Self {
        Self {
            x_mm,
            y_mm,
            bulge: 0.0,
        }
    }
}

/// A blank's outline that has been found sound: closed, no edge crossing
/// another, every hole inside. Its paths run counter-clockwise outside and
/// clockwise around holes, whichever way they were given.
///
/// ```
/// use strip::{Outline, Vertex};
///
/// // A washer: a disc of 200 mm with a hole of 80 mm.
/// let circle = |radius: f64| {
///     [-radius, radius].map(|x_mm| Vertex { x_mm, y_mm: 0.0, bulge: 1.0 }).to_vec()
/// };
/// let washer = Outline::new(&circle(100.0), &[circle(40.0)]).map_err(|faults| faults[0].to_string())?;
/// let expected = std::f64::consts::PI * (100.0 * 100.0 - 40.0 * 40.0);
/// assert!((washer.area_mm2() - expected).abs() < 1e-6);
///
/// let open = [Vertex::corner(0.0, 0.0), Vertex::corner(9.0, 9.0), Vertex::corner(9.0, 0.0),
///             Vertex::corner(0.0, 9.0)];
/// assert_eq!(Outline::new(&open, &[]).unwrap_err()[0].to_string(),
///            "outer path: edges 1 and 3 cross at (4.5, 4.5); take the crossing out, or give the points in their order round the blank");
/// # Ok::<(), String>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    outer: Vec<Piece>,
    holes: Vec<Vec<Piece>>,
}

impl Outline {
    /// Checks the paths of an outline. The last point joins the first; a last
    /// point that repeats the first, and points in the middle of a straight
    /// edge, add nothing.
    ///
    /// # Errors
    ///
    /// Everything that is wrong with the paths; never an empty list.
    pub fn new(outer: &[Vertex], holes: &[Vec<Vertex>]) -> Result<Self, Vec<Fault>> {
        check::outline(outer, holes)
    }

    /// The area of metal: the holes are not counted.
    pub fn area_mm2(&self) -> f64 {
        self.outer_area_mm2() + self.holes.iter().map(|hole| area(hole)).sum::<f64>()
    }

    /// The area within the outer path.
    pub fn outer_area_mm2(&self) -> f64 {
        area(&self.outer)
    }

    /// The length of the outer path and of all holes: what is cut.
    pub fn cut_length_mm(&self) -> f64 {
        self.paths().flatten().map(Piece::length).sum()
    }

    /// How many closed paths are cut: the outer path and the holes.
    pub fn path_count(&self) -> usize {
        1 + self.holes.len()
    }

    /// The least rectangle along the drawing's axes.
    pub fn extent(&self) -> Extent {
        extent(&self.outer)
    }

    /// The same blank turned over (mirrored across the drawing's first axis).
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let over = |path: &Vec<Piece>| placed(path, true, 0.0, Point::default());
        Self {
            outer: over(&self.outer),
            holes: self.holes.iter().map(over).collect(),
        }
    }

    /// The same blank with all lengths times a factor above 0: for a change of
    /// units, or a shrinkage.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let scale = |path: &Vec<Piece>| {
            path.iter()
                .map(|piece| Piece {
                    from: piece.from * factor,
                    to: piece.to * factor,
                    arc: piece.arc.map(|arc| crate::piece::Arc {
                        centre: arc.centre * factor,
                        radius: arc.radius * factor,
                        ..arc
                    }),
                })
                .collect()
        };
        Self {
            outer: scale(&self.outer),
            holes: self.holes.iter().map(scale).collect(),
        }
    }

    /// The points of the outer path, then of each hole.
    pub fn vertices(&self) -> Vec<Vec<Vertex>> {
        self.paths()
            .map(|path| {
                path.iter()
                    .map(|piece| Vertex {
                        x_mm: piece.from.x,
                        y_mm: piece.from.y,
                        bulge: piece.arc.map_or(0.0, |arc| libm::tan(arc.sweep / 4.0)),
                    })
                    .collect()
            })
            .collect()
    }

    pub(crate) fn outer(&self) -> &[Piece] {
        &self.outer
    }

    pub(crate) fn paths(&self) -> impl Iterator<Item = &Vec<Piece>> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// Whether the outer path has no inward corner or arc.
    pub(crate) fn is_convex(&self) -> bool {
        let n = self.outer.len();
        (0..n).all(|i| {
            let (piece, next) = (&self.outer[i], &self.outer[(i + 1) % n]);
            let (a, b) = (piece.arrives_along(), next.leaves_along());
            piece.arc.is_none_or(|arc| arc.sweep > 0.0)
                && a.cross(b) >= -1e-12 * a.length() * b.length()
        })
    }
}

pub(crate) fn area(path: &[Piece]) -> f64 {
    // Seen from a point of the path itself, so that a blank drawn far from the
    // origin loses no digits.
    let Some(first) = path.first() else {
        return 0.0;
    };
    let shift = -first.from;
    path.iter()
        .map(|piece| piece.placed(false, 0.0, shift).area())
        .sum()
}

pub(crate) fn extent(path: &[Piece]) -> Extent {
    path.iter()
        .fold(Extent::NONE, |extent, piece| extent.with(&piece.extent()))
}

/// A path put in its place, its sense kept.
pub(crate) fn placed(path: &[Piece], mirrored: bool, turn: f64, shift: Point) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = path
        .iter()
        .map(|piece| piece.placed(mirrored, turn, shift))
        .collect();
    if mirrored {
        pieces = reversed(&pieces);
    }
    pieces
}

pub(crate) fn reversed(path: &[Piece]) -> Vec<Piece> {
    path.iter().rev().map(Piece::reversed).collect()
}

/// Whether a point lies inside a closed path, by counting the edges that a ray
/// to the right crosses. A point on the path may fall to either side.
pub(crate) fn holds(path: &[Piece], point: Point) -> bool {
    let mut inside = false;
    for piece in path {
        if (piece.from.y <= point.y) != (piece.to.y <= point.y) {
            let share = (point.y - piece.from.y) / (piece.to.y - piece.from.y);
            let x = piece.from.x + share * (piece.to.x - piece.from.x);
            inside ^= x > point.x;
        }
        // An arc of half a circle at most and its chord enclose a slice: the
        // chord was counted above, the slice turns the answer round.
        if let Some(arc) = &piece.arc {
            let chord = piece.to - piece.from;
            let side = chord.cross(point - piece.from);
            // On the chord it falls where the count above puts it: as if it stood
            // a hair higher, and a hair to the right.
            let side = match (side == 0.0, chord.x == 0.0) {
                (false, _) => side,
                (true, false) => chord.x,
                (true, true) => -chord.y,
            };
            inside ^= side * arc.sweep < 0.0 && point.distance(arc.centre) < arc.radius;
        }
    }
    inside
}
