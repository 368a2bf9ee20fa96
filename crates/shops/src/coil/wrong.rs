//! What keeps coils from being planned, each with its row and the way out.

use book::{At, Material, OutlinePoint, Part, Problem, Severity, Table, nearest};
use strip::{Fault, Wrong};

use super::cutting::Cutting;

/// A problem of a row.
pub(super) fn at(
    at: At,
    what: &str,
    column: &str,
    found: String,
    expected: &str,
    mend: String,
) -> Problem {
    let table = at.table.name();
    Problem {
        code: format!("{table}/{what}"),
        severity: Severity::Error,
        table: table.to_owned(),
        row: Some(at.row),
        column: Some(column.to_owned()),
        found,
        expected: expected.to_owned(),
        mend,
        nearest: None,
    }
}

/// The same as something worth knowing.
pub(super) fn note(problem: Problem) -> Problem {
    Problem {
        severity: Severity::Note,
        ..problem
    }
}

pub(super) fn missing(part: &Part, column: &str, what: &str) -> Problem {
    let found = match &part.blank_line {
        Some(line) => format!("an empty cell in a part that `{line}` cuts"),
        None => "an empty cell".to_owned(),
    };
    let mend = format!("fill {column}, or empty blank_line if its blanks are bought");
    at(part.at, "no-blank", column, found, what, mend)
}

pub(super) fn no_points<'a>(
    part: &Part,
    name: &str,
    known: impl Iterator<Item = &'a str>,
) -> Problem {
    let found = format!("`{name}`, of which there are no points");
    let mend = "add its points to outlines".to_owned();
    let mut problem = at(
        part.at,
        "unknown-outline",
        "outline",
        found,
        "an outline",
        mend,
    );
    problem.nearest = nearest(name, known).map(str::to_owned);
    problem
}

pub(super) fn nothing_cut() -> Problem {
    Problem {
        code: "parts/nothing-cut".to_owned(),
        severity: Severity::Error,
        table: Table::Parts.name().to_owned(),
        row: None,
        column: Some("blank_line".to_owned()),
        found: "no part that is made and has a line that cuts its blanks".to_owned(),
        expected: "a part with blank_line, material, gauge_mm and outline".to_owned(),
        mend: "name the lines that cut the blanks".to_owned(),
        nearest: None,
    }
}

pub(super) fn need(part: &Part, week: usize, blanks: f64) -> Problem {
    let found = format!("{blanks} blanks to cut in week {week}");
    let mend = "write 0 or more cars a week".to_owned();
    at(part.at, "need", "per_car", found, "0 blanks or more", mend)
}

pub(super) fn no_price(material: &Material, price: f64) -> Problem {
    let found = if price.is_nan() {
        "an empty cell in an alloy that is cut".to_owned()
    } else {
        price.to_string()
    };
    let mend = "write what a kilogram costs".to_owned();
    at(
        material.at,
        "no-price",
        "price_per_kg",
        found,
        "a price above 0",
        mend,
    )
}

pub(super) fn dear_scrap(material: &Material) -> Problem {
    let scrap = material.scrap_price_per_kg.unwrap_or_default().0;
    let price = material.price_per_kg.unwrap_or_default().0;
    at(
        material.at,
        "dear-scrap",
        "scrap_price_per_kg",
        format!("{scrap} beside a price of {price}"),
        "scrap that brings no more than the metal costs",
        "swap the two, or correct one".to_owned(),
    )
}

pub(super) fn beside(part: &Part, name: &str, why: &str) -> Problem {
    at(
        part.at,
        "strip-with",
        "strip_with",
        format!("`{name}`, which {why}"),
        "a part of the same alloy and gauge, cut on the same line",
        "name such a part, or empty the cell".to_owned(),
    )
}

/// A fault of an outline at the row of its point.
pub(super) fn outline(fault: &Fault, paths: &[Vec<&OutlinePoint>]) -> Problem {
    let row = paths.get(fault.path).and_then(|path| {
        let point = fault.edge.map_or(0, |edge| edge.saturating_sub(1));
        path.get(point).or_else(|| path.last())
    });
    let first = paths.first().and_then(|path| path.first());
    let (what, column) = match fault.wrong {
        Wrong::TooFewPoints { .. } => ("open", "point"),
        Wrong::NotANumber => ("not-a-number", "x_mm"),
        Wrong::NoArea => ("no-area", "point"),
        Wrong::Crosses { .. } => ("crosses-itself", "x_mm"),
        Wrong::MeetsPath { .. } => ("paths-meet", "x_mm"),
        Wrong::OutsideBlank { .. } => ("hole-outside", "path"),
        Wrong::InsideHole { .. } => ("hole-in-hole", "path"),
        Wrong::Size { .. } => ("size", "x_mm"),
        _ => ("faulty", "point"),
    };
    let place = row.or(first).map(|point| point.at).unwrap_or_default();
    let name = first.map_or("", |point| point.outline.as_str());
    let other = other_row(fault, paths);
    at(
        At {
            table: Table::Outlines,
            ..place
        },
        what,
        column,
        format!("`{name}`: {}{other}", fault.what()),
        "a closed path that neither crosses itself nor another, its holes inside",
        fault.mend(),
    )
}

/// The row of the other edge or path that a fault speaks of.
fn other_row(fault: &Fault, paths: &[Vec<&OutlinePoint>]) -> String {
    let row = match fault.wrong {
        Wrong::Crosses { other, .. } => paths
            .get(fault.path)
            .and_then(|path| path.get(other.saturating_sub(1))),
        Wrong::MeetsPath { other, .. } | Wrong::InsideHole { other } => {
            paths.get(other).and_then(|path| path.first())
        }
        _ => None,
    };
    row.map_or(String::new(), |point| {
        format!(", the other in row {}", point.at.row)
    })
}

/// No coil of the part's alloy and gauge.
pub(super) fn no_coil(cutting: &Cutting<'_>) -> Problem {
    let (material, gauge) = (&cutting.material.material, cutting.gauge_mm);
    at(
        cutting.part.at,
        "no-coil",
        "gauge_mm",
        format!("{material} of {gauge} mm, of which there is no coil"),
        "an alloy and gauge that a coil has",
        format!("add a coil of {material} {gauge} mm, or correct material and gauge"),
    )
}

/// The way out where all coils are wider than a line's bed.
pub(super) const NARROWER: &str = "hold a narrower coil, or name a line with a deeper bed";

/// Coils of the alloy and gauge, and none that the blank fits.
pub(super) fn no_width(cutting: &Cutting<'_>, widest: Option<f64>, why: &str) -> Problem {
    let (material, gauge) = (&cutting.material.material, cutting.gauge_mm);
    let found = match widest {
        Some(widest) => format!("coils of {material} {gauge} mm of up to {widest} mm width"),
        None => format!(
            "coils of {material} {gauge} mm, all wider than the bed of `{}`",
            cutting.line.press_line
        ),
    };
    at(
        cutting.part.at,
        "no-width",
        "outline",
        found,
        "a strip on which the blank can lie",
        why.to_owned(),
    )
}

/// The strip refuses what the book says of web, margin or grain.
pub(super) fn refused(cutting: &Cutting<'_>, refusal: &strip::Refusal) -> Problem {
    let (place, column) = match refusal.place {
        "grain" => (cutting.part.at, "grain_from_deg"),
        "ratio" | "partner" => (cutting.part.at, "strip_with"),
        "max_pitch_mm" => (cutting.line.at, "bed_x_mm"),
        "edge_mm" => (cutting.line.at, "edge_mm"),
        "kerf_mm" => (cutting.line.at, "kerf_mm"),
        "widths_mm" => (cutting.part.at, "gauge_mm"),
        _ => (cutting.line.at, "web_mm"),
    };
    at(
        place,
        "strip",
        column,
        format!("{} for `{}`", refusal.found, cutting.part.part),
        &refusal.expected,
        refusal.mend.clone(),
    )
}

/// A formula refuses what the book says.
pub(super) fn figure(place: At, id: &str, refusal: &formulas::Refusal) -> Problem {
    at(
        place,
        "refused",
        "",
        format!("values for which {id} has no figure: {refusal}"),
        "values within the formula's ranges",
        "change the value named".to_owned(),
    )
}

/// A coil whose mass and diameters do not go together.
pub(super) fn mass_and_diameter(coil: &book::Coil, by_diameter: f64) -> Problem {
    note(at(
        coil.at,
        "mass-and-diameter",
        "mass_kg",
        format!(
            "{} kg, where its diameters hold {by_diameter:.0} kg",
            coil.mass_kg.0
        ),
        "0.95 to 1.01 of what the diameters hold (air between the wraps; common practice)",
        "weigh it, or correct outer_mm".to_owned(),
    ))
}
