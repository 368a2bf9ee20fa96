//! Blanks laid as the boxes round them: what a search that is stopped at once
//! still has to show.

use super::members::{Member, Parts};
use super::{Job, finish, mixed};
use crate::layout::{Cut, Kind, Layout};
use crate::outline::{extent, placed};
use crate::point::Point;
use crate::search::Found;

/// A single row of boxes at the best angle of the grain's ends and quarters
/// between; none for other kinds, cut-off blanks, or where the limits are too
/// narrow for boxes.
pub(super) fn lay(job: &Job<'_>, parts: &Parts<'_>) -> Option<Layout> {
    if job.kind != Kind::Single || job.request.cut == Cut::CutOff {
        return None;
    }
    let member = Member::of(parts, 0, 0.0, false);
    let angles = member.angles.iter().flat_map(|(from, to)| {
        (0..=4).map(move |quarter| from + (to - from) * f64::from(quarter) / 4.0)
    });
    let found = angles
        .filter_map(|angle| boxed(job, parts, &member, angle))
        .min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    let rows = [(&member, Point::default())];
    let mut layout = finish::layout(job, parts, &rows, &found, f64::INFINITY);
    layout.bound = mixed::area_bound(job, parts, &layout);
    Some(layout)
}

fn boxed(job: &Job<'_>, parts: &Parts<'_>, member: &Member, angle: f64) -> Option<Found> {
    let outline = parts.parts[member.part].outline.outer();
    let turned = placed(outline, false, angle, Point::default());
    let sides = extent(&turned).size();
    let pitch = sides.x + job.request.cut.clearance_mm();
    let needed = sides.y + 2.0 * job.request.cut.margin_mm();
    let width = match job.limits.widths {
        None => needed,
        Some(widths) => *widths.iter().find(|width| **width >= needed)?,
    };
    (pitch <= job.limits.pitch).then(|| Found {
        angle,
        offset: 0.0,
        pitch,
        shift: 0.0,
        third: 0.0,
        needed,
        width,
        cost: pitch * width / member.area,
    })
}
