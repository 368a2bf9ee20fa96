//! Outlines out of drawings: text in, outline or reasons out.
//!
//! - [`dxf::outline`]: DXF drawings of polylines, lines, arcs, circles, ellipses
//!   and splines.
//! - [`svg::outline`]: SVG path data.
//!
//! Curves that are no arcs become arcs that leave them by less than a tolerance.

mod chain;
mod curve;
pub mod dxf;
pub mod svg;

use std::fmt;

use crate::outline::{Fault, Outline, Vertex};

/// What stands against a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where: a line of the text, a character, an entity; empty for the whole.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What mends it.
    pub mend: String,
}

impl Problem {
    fn new(place: impl Into<String>, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            place: place.into(),
            what: what.into(),
            mend: mend.into(),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.place.is_empty() {
            write!(f, "{}: ", self.place)?;
        }
        write!(f, "{}; {}", self.what, self.mend)
    }
}

/// Units of drawings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// Inches of 25.4 mm.
    Inch,
    /// Feet of 12 inches.
    Foot,
}

impl Unit {
    /// One of it in millimetres.
    pub const fn mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
        }
    }
}

/// The path that encloses most is the outer one, the others are holes.
fn assembled(mut paths: Vec<Vec<Vertex>>) -> Result<Outline, Vec<Problem>> {
    // The order of equal paths is the drawing's, so that an outline is always
    // the same.
    let enclosed = |path: &Vec<Vertex>| {
        Outline::new(path, &[]).map_or(0.0, |outline| outline.outer_area_mm2())
    };
    let areas: Vec<f64> = paths.iter().map(enclosed).collect();
    let mut largest = 0;
    for (n, area) in areas.iter().enumerate() {
        if *area > areas[largest] {
            largest = n;
        }
    }
    if paths.is_empty() {
        return Err(vec![Problem::new(
            "",
            "the drawing holds no closed path",
            "draw the blank as one closed outline",
        )]);
    }
    let outer = paths.remove(largest);
    Outline::new(&outer, &paths).map_err(|faults| faults.iter().map(from_fault).collect())
}

fn from_fault(fault: &Fault) -> Problem {
    let place = match fault.path {
        0 => "outer path".to_owned(),
        hole => format!("hole {hole}"),
    };
    Problem::new(place, fault.what(), fault.mend())
}
