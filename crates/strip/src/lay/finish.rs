//! A layout found, put on the strip and measured anew.

use super::Job;
use super::members::{Member, Parts, Variant};
use crate::layout::{Layout, Placement};
use crate::outline::{extent, placed};
use crate::piece::Piece;
use crate::point::{Extent, Point};
use crate::search::{Found, Rows};
use crate::verify;

/// A member and its shift from the first, in the strip's axes.
pub(crate) type Row<'a> = (&'a Member, Point);

/// The rows of a found layout.
pub(crate) fn rows<'a>(variant: &'a Variant, found: &Found) -> Vec<Row<'a>> {
    let first = &variant.members[0];
    let mut rows = vec![(first, Point::default())];
    if let Some(second) = variant.members.get(1) {
        rows.push((second, Point::new(found.shift, found.offset)));
    }
    if variant.rows == Rows::Three {
        rows.push((first, Point::new(found.third, 2.0 * found.offset)));
    }
    rows
}

/// The layout with its places, its clearances and its bound. `bound_cost` is
/// strip for each unit of metal.
pub(crate) fn layout(
    job: &Job<'_>,
    parts: &Parts<'_>,
    rows: &[Row<'_>],
    found: &Found,
    bound_cost: f64,
) -> Layout {
    let turned: Vec<(Placement, Extent)> = rows
        .iter()
        .map(|(member, shift)| {
            let outline = &parts.parts[member.part].outline;
            let turn = found.angle + member.base;
            let blank = placed(outline.outer(), member.mirrored, turn, *shift);
            let placement = Placement {
                part: member.part,
                x_mm: shift.x,
                y_mm: shift.y,
                rot_deg: degrees(turn),
                mirrored: member.mirrored,
            };
            (placement, extent(&blank))
        })
        .collect();
    let all = turned
        .iter()
        .fold(Extent::NONE, |all, (_, extent)| all.with(extent));
    // Strip bought beyond need is left on both sides alike.
    let spare = 0.5 * (found.width - found.needed).max(0.0);
    let rise = job.request.cut.margin_mm() + spare - all.low.y;
    let start = -turned[0].1.low.x;
    let placements: Vec<Placement> = turned
        .into_iter()
        .map(|(mut placement, extent)| {
            // Each row's blank that begins within the first pitch.
            let begins = extent.low.x + start;
            let back = (begins / found.pitch + 1e-9).floor() * found.pitch;
            placement.x_mm = tidy(placement.x_mm + start - back);
            placement.y_mm = tidy(placement.y_mm + rise);
            placement
        })
        .collect();
    let blanks = blanks(parts, &placements);
    let area: f64 = rows.iter().map(|(member, _)| member.area).sum();
    // Blanks that touch may do so by the slack of rounding.
    let utilisation = (area / (found.pitch * found.width)).min(1.0);
    Layout {
        kind: job.kind,
        angle_deg: placements[0].rot_deg,
        pitch_mm: found.pitch,
        width_mm: found.width,
        needed_width_mm: found.needed,
        utilisation,
        clearance_mm: verify::clearance(&blanks, found.pitch),
        edge_clearance_mm: verify::edge_clearance(&blanks, found.width),
        bound: (1.0 / bound_cost).max(utilisation),
        placements,
    }
}

/// The outer paths of placed blanks.
fn blanks(parts: &Parts<'_>, placements: &[Placement]) -> Vec<Vec<Piece>> {
    placements
        .iter()
        .map(|place| {
            placed(
                parts.parts[place.part].outline.outer(),
                place.mirrored,
                place.rot_deg.to_radians(),
                Point::new(place.x_mm, place.y_mm),
            )
        })
        .collect()
}

/// An angle in degrees from 0 to below 360.
fn degrees(angle: f64) -> f64 {
    let turned = angle.to_degrees() % 360.0;
    let turned = if turned < 0.0 { turned + 360.0 } else { turned };
    let whole = turned.round();
    if (turned - whole).abs() < 1e-11 {
        whole % 360.0
    } else {
        turned
    }
}

/// Rounding's leavings made zero.
fn tidy(x: f64) -> f64 {
    if x.abs() < 1e-9 { 0.0 } else { x }
}
