//! Layouts as drawings.
//!
//! - [`svg()`]: a picture of the strip with its blanks, webs, scrap and feed.
//! - [`dxf()`]: the strip and the blanks of one pitch, for a die's or a laser's
//!   drawing.

mod dxf;
mod label;
mod svg;

pub use dxf::dxf;
pub use svg::svg;

use crate::layout::{Layout, Placement};
use crate::outline::{Outline, placed};
use crate::piece::Piece;
use crate::point::Point;

/// The paths of a placed blank, the outer one first, each pitch `k` further.
fn paths(outline: &Outline, place: &Placement, layout: &Layout, k: f64) -> Vec<Vec<Piece>> {
    let shift = Point::new(place.x_mm + k * layout.pitch_mm, place.y_mm);
    outline
        .paths()
        .map(|path| placed(path, place.mirrored, place.rot_deg.to_radians(), shift))
        .collect()
}
