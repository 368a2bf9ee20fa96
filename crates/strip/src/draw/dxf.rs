//! DXF of a layout: R12 polylines with bulges, which every reader knows.

use std::fmt::Write as _;

use super::paths;
use crate::layout::Layout;
use crate::outline::Outline;
use crate::piece::Piece;

/// The strip's edges over one pitch and the blanks of one pitch, in millimetres.
/// Layers: `STRIP`, `BLANK` and `HOLE`, with the part's number from 1 behind
/// (`BLANK_1`). `outlines` are the parts in their order.
pub fn dxf(layout: &Layout, outlines: &[&Outline]) -> String {
    let mut text = String::new();
    // $INSUNITS 4: millimetres.
    text.push_str(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n",
    );
    text.push_str("0\nSECTION\n2\nENTITIES\n");
    for y in [0.0, layout.width_mm] {
        let pitch = layout.pitch_mm;
        let _ = write!(
            text,
            "0\nLINE\n8\nSTRIP\n10\n0.0\n20\n{y:?}\n11\n{pitch:?}\n21\n{y:?}\n"
        );
    }
    for place in &layout.placements {
        let Some(outline) = outlines.get(place.part) else {
            continue;
        };
        for (n, path) in paths(outline, place, layout, 0.0).iter().enumerate() {
            let kind = if n == 0 { "BLANK" } else { "HOLE" };
            polyline(&mut text, &format!("{kind}_{}", place.part + 1), path);
        }
    }
    text.push_str("0\nENDSEC\n0\nEOF\n");
    text
}

fn polyline(text: &mut String, layer: &str, path: &[Piece]) {
    let _ = write!(text, "0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n1\n");
    for piece in path {
        let bulge = piece.arc.map_or(0.0, |arc| libm::tan(arc.sweep / 4.0));
        let (x, y) = (piece.from.x, piece.from.y);
        let _ = write!(
            text,
            "0\nVERTEX\n8\n{layer}\n10\n{x:?}\n20\n{y:?}\n42\n{bulge:?}\n"
        );
    }
    let _ = write!(text, "0\nSEQEND\n8\n{layer}\n");
}
