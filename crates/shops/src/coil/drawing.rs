//! Layouts of the plan as drawings.

use strip::{Kind, Layout, Outline, Placement, Vertex, draw};

use super::model::{Coil, StripLayout, StripPart};

/// The outline of a part as the plan has it; none only if it was altered.
fn outline(part: &StripPart) -> Option<Outline> {
    let vertices = |path: &Vec<[f64; 3]>| -> Vec<Vertex> {
        path.iter()
            .map(|[x_mm, y_mm, bulge]| Vertex {
                x_mm: *x_mm,
                y_mm: *y_mm,
                bulge: *bulge,
            })
            .collect()
    };
    let paths: Vec<Vec<Vertex>> = part.paths.iter().map(vertices).collect();
    let (outer, holes) = paths.split_first()?;
    Outline::new(outer, holes).ok()
}

/// The part on the same strip: in the layout used, or in one that was tried.
fn beside(part: &StripPart) -> Option<&String> {
    let tried = part.beside.as_ref().map(|beside| &beside.part);
    part.with.as_ref().or(tried)
}

fn layout(of: &StripLayout) -> Option<Layout> {
    Some(Layout {
        kind: Kind::ALL.into_iter().find(|kind| kind.word() == of.kind)?,
        angle_deg: of.angle_deg,
        pitch_mm: of.pitch_mm,
        width_mm: of.width_mm,
        needed_width_mm: of.needed_width_mm,
        placements: of
            .placements
            .iter()
            .map(|place| Placement {
                part: place.part as usize,
                x_mm: place.x_mm,
                y_mm: place.y_mm,
                rot_deg: place.rot_deg,
                mirrored: place.mirrored,
            })
            .collect(),
        utilisation: of.utilisation,
        clearance_mm: of.clearance_mm,
        edge_clearance_mm: of.edge_clearance_mm,
        bound: of.bound,
    })
}

impl Coil {
    /// The part of this name.
    pub fn part(&self, name: &str) -> Option<&StripPart> {
        self.parts.iter().find(|part| part.part == name)
    }

    /// What a drawing of a part's layout is made from.
    fn drawn(&self, part: &StripPart, number: usize) -> Option<(Layout, Vec<Outline>)> {
        let layout = layout(part.layouts.get(number)?)?;
        let beside = beside(part).and_then(|name| self.part(name));
        let outlines: Option<Vec<Outline>> =
            std::iter::once(part).chain(beside).map(outline).collect();
        Some((layout, outlines?))
    }

    /// The layout of this number of a part ([`StripPart::layouts`]) as SVG.
    pub fn svg(&self, part: &StripPart, number: usize) -> Option<String> {
        let (layout, outlines) = self.drawn(part, number)?;
        let outlines: Vec<&Outline> = outlines.iter().collect();
        let title = match (beside(part), layout.kind) {
            (Some(with), Kind::MixedPair) => format!("{} with {with}", part.part),
            _ => part.part.clone(),
        };
        Some(draw::svg(&layout, &outlines, &title))
    }

    /// The same as DXF, one pitch of the strip.
    pub fn dxf(&self, part: &StripPart, number: usize) -> Option<String> {
        let (layout, outlines) = self.drawn(part, number)?;
        let outlines: Vec<&Outline> = outlines.iter().collect();
        Some(draw::dxf(&layout, &outlines))
    }
}
