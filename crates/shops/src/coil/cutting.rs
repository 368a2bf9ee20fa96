//! The parts that are cut from coil, read out of the book for the strip.

use std::collections::BTreeMap;

use book::{
    Book, Coil as CoilRow, Material, OutlinePoint, Part, PartSource, PressKind, PressLine, Problem,
};
use strip::{Cut, Outline, Vertex, Window};

use super::PartNeed;
use super::wrong;

/// Web and margin of a die where the line names none, mm.
const DIE_WEB_MM: f64 = 8.0;
/// The same of a laser.
const LASER_WEB_MM: f64 = 4.0;

/// A part that is cut from coil.
#[derive(Clone, Debug)]
pub(super) struct Cutting<'a> {
    pub(super) part: &'a Part,
    pub(super) material: &'a Material,
    pub(super) price: f64,
    pub(super) scrap_price: f64,
    pub(super) gauge_mm: f64,
    pub(super) outline_name: &'a str,
    /// The outline as drawn.
    pub(super) drawn: Outline,
    /// The outline as the part is.
    pub(super) own: Outline,
    pub(super) line: &'a PressLine,
    pub(super) cut: Cut,
    pub(super) grain: Vec<Window>,
    /// Blanks in each week.
    pub(super) weeks: &'a [f64],
}

impl Cutting<'_> {
    /// Blanks of a mean week.
    pub(super) fn mean(&self) -> f64 {
        self.weeks.iter().sum::<f64>() / self.weeks.len().max(1) as f64
    }

    /// Alloy and gauge: what its coil must be.
    pub(super) fn sort(&self) -> Sort {
        sort(&self.material.material, self.gauge_mm)
    }

    /// Metal in a blank of the gauge delivered.
    pub(super) fn net_kg(&self, delivered_mm: f64) -> f64 {
        self.own.area_mm2() * delivered_mm * 1e-9 * self.material.density_kg_m3
    }

    /// Whether a strip of that width goes through its line.
    pub(super) fn takes(&self, width_mm: f64) -> bool {
        self.line.bed_y_mm.is_none_or(|bed| width_mm <= bed.0)
    }
}

/// An alloy and a gauge, the gauge in micrometres so that it can be a key.
pub(super) type Sort = (String, i64);

/// The sort of an alloy and gauge.
pub(super) fn sort(material: &str, gauge_mm: f64) -> Sort {
    (material.to_owned(), (gauge_mm * 1e3).round() as i64)
}

/// The sort of a coil.
pub(super) fn sort_of(coil: &CoilRow) -> Sort {
    sort(&coil.material, coil.gauge_mm.0)
}

/// The parts that are cut, in the book's order, or what is wrong with any.
pub(super) fn read<'a>(
    book: &'a Book,
    needs: &'a [PartNeed],
) -> Result<Vec<Cutting<'a>>, Vec<Problem>> {
    let (cut, mut problems) = gathered(book, needs);
    if cut.is_empty() && problems.is_empty() {
        problems.push(wrong::nothing_cut());
    }
    if problems.is_empty() {
        Ok(cut)
    } else {
        Err(problems)
    }
}

/// The parts that can be read, and what is wrong with the others.
pub(super) fn gathered<'a>(
    book: &'a Book,
    needs: &'a [PartNeed],
) -> (Vec<Cutting<'a>>, Vec<Problem>) {
    let mut problems = Vec::new();
    let outlines = outlines(book, &mut problems);
    let mut cut = Vec::new();
    for part in &book.parts {
        if part.source != PartSource::Made || part.blank_line.is_none() {
            continue;
        }
        let need = needs.iter().find(|need| need.part == part.part);
        let weeks = need.map_or(&[][..], |need| &need.blanks);
        if let Some(week) = weeks
            .iter()
            .position(|blanks| !blanks.is_finite() || *blanks < 0.0)
        {
            problems.push(wrong::need(part, week + 1, weeks[week]));
            continue;
        }
        match one(book, part, weeks, &outlines) {
            Ok(Some(cutting)) => cut.push(cutting),
            Ok(None) => {}
            Err(found) => problems.extend(found),
        }
    }
    problems.extend(prices(&cut));
    problems.extend(beside(book, &cut));
    (cut, problems)
}

/// One part; none where its outline is among the faulty ones already named.
fn one<'a>(
    book: &'a Book,
    part: &'a Part,
    weeks: &'a [f64],
    outlines: &BTreeMap<&'a str, Option<Outline>>,
) -> Result<Option<Cutting<'a>>, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut missing = |column: &str, what: &str| problems.push(wrong::missing(part, column, what));
    let material = part
        .material
        .as_ref()
        .and_then(|name| book.materials.iter().find(|row| row.material == *name));
    if material.is_none() {
        missing("material", "the alloy that its blanks are cut from");
    }
    if part.gauge_mm.is_none() {
        missing("gauge_mm", "the gauge of its blanks");
    }
    if part.outline.is_none() {
        missing("outline", "the outline of its blank");
    }
    let line = part
        .blank_line
        .as_ref()
        .and_then(|name| book.press_lines.iter().find(|row| row.press_line == *name));
    if line.is_none() {
        missing("blank_line", "the line that cuts its blanks");
    }
    let named = part.outline.as_deref();
    let found = named.and_then(|name| outlines.get(name));
    if let (Some(name), None) = (named, found) {
        problems.push(wrong::no_points(part, name, outlines.keys().copied()));
    }
    let (Some(material), Some(gauge), Some(line), Some(name), Some(drawn)) =
        (material, part.gauge_mm, line, named, found)
    else {
        return Err(problems);
    };
    let Some(drawn) = drawn else {
        return Ok(None);
    };
    Ok(Some(Cutting {
        part,
        material,
        price: material.price_per_kg.map_or(f64::NAN, |price| price.0),
        scrap_price: material.scrap_price_per_kg.map_or(0.0, |price| price.0),
        gauge_mm: gauge.0,
        outline_name: name,
        own: if part.mirrored {
            drawn.mirrored()
        } else {
            drawn.clone()
        },
        drawn: drawn.clone(),
        line,
        cut: cut_of(part, line),
        grain: grain(part),
        weeks,
    }))
}

/// How the part is parted from its strip.
fn cut_of(part: &Part, line: &PressLine) -> Cut {
    if part.cut_off {
        return Cut::CutOff;
    }
    let laser = line.kind == PressKind::Laser;
    let usual = if laser { LASER_WEB_MM } else { DIE_WEB_MM };
    let web_mm = line.web_mm.map_or(usual, |web| web.0);
    let edge_mm = line.edge_mm.map_or(web_mm, |edge| edge.0);
    if laser {
        Cut::Laser {
            web_mm,
            edge_mm,
            kerf_mm: line.kerf_mm.0,
        }
    } else {
        Cut::Die { web_mm, edge_mm }
    }
}

/// The angles that the grain allows, for the outline as drawn: turning a blank
/// over turns its angles round.
fn grain(part: &Part) -> Vec<Window> {
    let (from, to) = match (part.grain_from_deg, part.grain_to_deg) {
        (None, None) => return Vec::new(),
        (Some(from), Some(to)) => (from, to),
        // One end given: the other is that of a half turn, which the grain
        // does not tell from none.
        (Some(from), None) => (from, from + 180.0),
        (None, Some(to)) => (to - 180.0, to),
    };
    let (from_deg, to_deg) = if part.mirrored {
        (-to, -from)
    } else {
        (from, to)
    };
    vec![Window { from_deg, to_deg }]
}

/// Materials that have no price, or whose scrap brings more than they cost.
fn prices(cut: &[Cutting<'_>]) -> Vec<Problem> {
    let mut seen: Vec<&str> = Vec::new();
    let mut problems = Vec::new();
    for cutting in cut {
        let material = cutting.material;
        if seen.contains(&material.material.as_str()) {
            continue;
        }
        seen.push(&material.material);
        if cutting.price.is_nan() || cutting.price <= 0.0 {
            problems.push(wrong::no_price(material, cutting.price));
        } else if cutting.scrap_price > cutting.price {
            problems.push(wrong::dear_scrap(material));
        }
    }
    problems
}

/// Parts named to lie beside another that cannot.
fn beside(book: &Book, cut: &[Cutting<'_>]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for cutting in cut {
        let Some(name) = &cutting.part.strip_with else {
            continue;
        };
        let partner = cut.iter().find(|other| other.part.part == *name);
        let faulty = |part: &Part| part.part == *name && part.blank_line.is_some();
        let why = match partner {
            // Its own fault is told at its own row.
            None if book.parts.iter().any(faulty) => continue,
            None => "is not cut from coil",
            Some(other) if other.part.part == cutting.part.part => "is the part itself",
            Some(other) if other.sort() != cutting.sort() => "is of another alloy or gauge",
            Some(other) if other.line.press_line != cutting.line.press_line => {
                "is cut on another line"
            }
            Some(other)
                if other
                    .part
                    .strip_with
                    .as_ref()
                    .is_some_and(|back| *back != cutting.part.part) =>
            {
                "names a third part itself"
            }
            Some(_) => continue,
        };
        problems.push(wrong::beside(cutting.part, name, why));
    }
    problems
}

/// Every outline that a part names, by its name; none where it is faulty.
fn outlines<'a>(book: &'a Book, problems: &mut Vec<Problem>) -> BTreeMap<&'a str, Option<Outline>> {
    let mut points: BTreeMap<&str, Vec<&OutlinePoint>> = BTreeMap::new();
    for point in &book.outlines {
        points.entry(&point.outline).or_default().push(point);
    }
    points
        .into_iter()
        .map(|(name, mut points)| {
            points.sort_by_key(|point| (point.path, point.point));
            match outline(&points) {
                Ok(outline) => (name, Some(outline)),
                Err(found) => {
                    problems.extend(found);
                    (name, None)
                }
            }
        })
        .collect()
}

/// One outline from its points in order.
fn outline(points: &[&OutlinePoint]) -> Result<Outline, Vec<Problem>> {
    let mut paths: Vec<Vec<&OutlinePoint>> = Vec::new();
    for point in points {
        match paths.last_mut() {
            Some(path) if path.last().is_some_and(|last| last.path == point.path) => {
                path.push(point);
            }
            _ => paths.push(vec![point]),
        }
    }
    let vertices: Vec<Vec<Vertex>> = paths
        .iter()
        .map(|path| {
            path.iter()
                .map(|point| Vertex {
                    x_mm: point.x_mm.0,
                    y_mm: point.y_mm.0,
                    bulge: point.bulge,
                })
                .collect()
        })
        .collect();
    let (outer, holes) = match vertices.split_first() {
        Some((outer, holes)) => (outer.as_slice(), holes),
        None => (&[][..], &[][..]),
    };
    Outline::new(outer, holes).map_err(|faults| {
        faults
            .iter()
            .map(|fault| wrong::outline(fault, &paths))
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_a_blank_over_turns_its_grain_window_round() {
        let part = Part {
            grain_from_deg: Some(-5.0),
            grain_to_deg: Some(15.0),
            mirrored: true,
            ..Part::default()
        };
        let window = Window {
            from_deg: -15.0,
            to_deg: 5.0,
        };
        assert_eq!(grain(&part), [window]);
    }

    #[test]
    fn a_laser_leaves_a_narrower_web_than_a_die_where_the_line_names_none() {
        let die = PressLine {
            kind: PressKind::Blanking,
            ..PressLine::default()
        };
        let laser = PressLine {
            kind: PressKind::Laser,
            ..PressLine::default()
        };
        let part = Part::default();
        assert!(cut_of(&part, &laser).clearance_mm() < cut_of(&part, &die).clearance_mm());
    }
}
