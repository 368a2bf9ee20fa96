//! DXF drawings: polylines, lines, arcs, circles, ellipses and splines of the
//! entities section, flat in the drawing's plane.
//!
//! Source of the format: the published DXF reference (group codes, header
//! variable `$INSUNITS`, entities).

mod entity;
mod spline;

use super::chain::{self, Stretch};
use super::{Problem, Unit, assembled};
use crate::outline::{Outline, Vertex};

/// How a drawing is to be read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Manner<'a> {
    /// The unit of a drawing that names none; without it such a drawing is
    /// refused.
    pub unit: Option<Unit>,
    /// The layer that holds the blank; none for all layers.
    pub layer: Option<&'a str>,
    /// Curves that are no arcs are followed within this, mm.
    pub tolerance_mm: f64,
    /// Ends that come so near are joined, mm.
    pub join_mm: f64,
}

impl Manner<'_> {
    /// All layers, units as the drawing says, curves within 0.005 mm, ends joined
    /// within 0.01 mm.
    pub const USUAL: Self = Self {
        unit: None,
        layer: None,
        tolerance_mm: 0.005,
        join_mm: 0.01,
    };
}

/// What was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The outline, in millimetres.
    pub outline: Outline,
    /// The drawing's unit.
    pub unit: Unit,
    /// Kinds of entities passed over because they draw no edge, with how many.
    pub passed_over: Vec<(String, usize)>,
}

/// One pair of a DXF file.
#[derive(Clone, Copy, Debug)]
struct Pair<'a> {
    line: usize,
    code: i32,
    value: &'a str,
}

/// Reads the outline that a drawing holds: the largest closed path and holes in
/// it.
///
/// # Errors
///
/// What is no DXF, with its line; a drawing without a unit; open outlines with
/// their ends; what makes an outline unsound.
pub fn outline(text: &str, manner: &Manner<'_>) -> Result<Drawing, Vec<Problem>> {
    let pairs = pairs(text).map_err(|problem| vec![problem])?;
    let unit = unit(&pairs, manner).map_err(|problem| vec![problem])?;
    let mut reading = entity::Reading {
        mm: unit.mm(),
        tolerance: manner.tolerance_mm,
        layer: manner.layer,
        closed: Vec::new(),
        open: Vec::new(),
        passed_over: Vec::new(),
        problems: Vec::new(),
        gathering: None,
    };
    for entity in entities(&pairs)? {
        reading.take(entity);
    }
    reading.gathering_ends();
    if !reading.problems.is_empty() {
        return Err(reading.problems);
    }
    let mut paths = reading.closed;
    paths.extend(chain::closed(reading.open, manner.join_mm)?);
    if paths.is_empty()
        && let Some(layer) = manner.layer
    {
        return Err(vec![Problem::new(
            format!("layer {layer}"),
            "it holds no closed path",
            "name the layer that holds the blank",
        )]);
    }
    Ok(Drawing {
        outline: assembled(paths)?,
        unit,
        passed_over: reading.passed_over,
    })
}

fn pairs(text: &str) -> Result<Vec<Pair<'_>>, Problem> {
    if text.contains('\0') {
        return Err(Problem::new(
            "",
            "a binary file",
            "save the drawing as text DXF",
        ));
    }
    let mut pairs = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((n, code)) = lines.next() {
        let place = format!("line {}", n + 1);
        let Some((_, value)) = lines.next() else {
            // A blank line at the end is no pair.
            if code.trim().is_empty() {
                break;
            }
            return Err(Problem::new(
                place,
                "a group code without a value",
                "save the drawing anew as DXF",
            ));
        };
        let Ok(code) = code.trim().parse::<i32>() else {
            let shown: String = code.trim().chars().take(40).collect();
            let what = format!("found {shown:?} where a group code belongs");
            return Err(Problem::new(place, what, "save the drawing anew as DXF"));
        };
        pairs.push(Pair {
            line: n + 2,
            code,
            value: value.trim(),
        });
    }
    Ok(pairs)
}

fn unit(pairs: &[Pair<'_>], manner: &Manner<'_>) -> Result<Unit, Problem> {
    let named = pairs
        .iter()
        .position(|pair| pair.code == 9 && pair.value == "$INSUNITS")
        .and_then(|at| pairs.get(at + 1));
    let found = match named.map(|pair| pair.value) {
        Some("1") => Some(Unit::Inch),
        Some("2") => Some(Unit::Foot),
        Some("4") => Some(Unit::Millimetre),
        Some("5") => Some(Unit::Centimetre),
        Some("6") => Some(Unit::Metre),
        None | Some("0") => None,
        Some(other) => {
            let line = named.map_or(0, |pair| pair.line);
            return Err(Problem::new(
                format!("line {line}"),
                format!("the drawing's unit is number {other} of $INSUNITS"),
                "save it in millimetres, centimetres, metres, inches or feet",
            ));
        }
    };
    found.or(manner.unit).ok_or_else(|| {
        Problem::new(
            "$INSUNITS",
            "the drawing does not say its unit",
            "say it, or save the drawing with its unit",
        )
    })
}

/// The pairs of each entity, its kind first. A drawing without sections is read
/// as entities throughout.
fn entities<'a, 'p>(pairs: &'p [Pair<'a>]) -> Result<Vec<&'p [Pair<'a>]>, Vec<Problem>> {
    let begins = pairs
        .iter()
        .position(|pair| pair.code == 2 && pair.value == "ENTITIES");
    let body = match begins {
        Some(at) => {
            let body = &pairs[at + 1..];
            let ends = body
                .iter()
                .position(|pair| pair.code == 0 && pair.value == "ENDSEC");
            &body[..ends.unwrap_or(body.len())]
        }
        None if pairs
            .iter()
            .any(|pair| pair.code == 2 && pair.value == "HEADER")
            || pairs.is_empty() =>
        {
            return Err(vec![Problem::new(
                "",
                "no entities section",
                "save the drawing anew as DXF, entities included",
            )]);
        }
        None => pairs,
    };
    let mut starts: Vec<usize> = (0..body.len()).filter(|n| body[*n].code == 0).collect();
    starts.push(body.len());
    Ok(starts
        .windows(2)
        .map(|ends| &body[ends[0]..ends[1]])
        .collect())
}

/// Closed paths and open stretches come from here.
fn stretch(vertices: Vec<Vertex>, end: crate::Point, place: String) -> Stretch {
    Stretch {
        vertices,
        end,
        place,
    }
}
