//! `linewright outline`: a blank drawn elsewhere as rows of the book.

mod picture;

use std::path::Path;

use book::raw::{RawRow, RawTable};
use serde_json::json;
use strip::read::dxf::Manner;
use strip::read::{Problem, Unit, dxf, svg};
use strip::{Outline, Vertex};

use crate::arguments::{DrawnIn, OutlineArguments};
use crate::figure::{number, things};
use crate::folder;
use crate::outcome::{Answer, Failure, Form};

/// What a drawing holds.
struct Read {
    outline: Outline,
    /// The unit in words.
    unit: String,
    passed_over: Vec<(String, usize)>,
}

/// Reads a drawing and writes its blank as rows of the outlines table.
pub(crate) fn outline(asked: &OutlineArguments, form: Form) -> Result<Answer, Failure> {
    if asked.name.trim().is_empty() {
        return Err(Failure::usage(
            "the outline has no name; name it as parts are to name it",
        ));
    }
    folder::must_be_new_and_end(&asked.out, "csv")?;
    let read = match folder::ending(&asked.file).as_str() {
        "dxf" => from_dxf(asked, &text(&asked.file)?),
        "svg" if asked.layer.is_some() => {
            return Err(Failure::usage(
                "--layer is of DXF drawings; leave the other paths out of the SVG",
            ));
        }
        "svg" => from_svg(asked, &text(&asked.file)?),
        _ => {
            return Err(Failure::usage(format!(
                "{} is neither .dxf nor .svg; save the drawing as one of them",
                asked.file.display()
            )));
        }
    };
    match read.and_then(rounded) {
        Ok(read) => found(asked, &read, form),
        Err(problems) => Err(refused(asked, &problems, form)),
    }
}

/// The file's text; letters that are no UTF-8 stand in names only.
#[allow(clippy::disallowed_methods, reason = "the face reads the files")]
fn text(file: &Path) -> Result<String, Failure> {
    let bytes = std::fs::read(file).map_err(|error| Failure::file("read", file, error))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn from_dxf(asked: &OutlineArguments, text: &str) -> Result<Read, Vec<Problem>> {
    let manner = Manner {
        unit: asked.unit.map(unit),
        layer: asked.layer.as_deref(),
        tolerance_mm: asked.tolerance,
        join_mm: asked.join,
    };
    let drawing = dxf::outline(text, &manner).map_err(|mut problems| {
        for problem in &mut problems {
            if problem.place == "$INSUNITS" {
                problem.mend = SAY_UNIT.to_owned();
            }
        }
        problems
    })?;
    Ok(Read {
        outline: drawing.outline,
        unit: word(drawing.unit).to_owned(),
        passed_over: drawing.passed_over,
    })
}

const SAY_UNIT: &str = "say it with --unit, or save the drawing with its unit";

fn from_svg(asked: &OutlineArguments, text: &str) -> Result<Read, Vec<Problem>> {
    let picture = picture::picture(text)?;
    let (mm, words) = match (picture.mm, asked.unit.map(unit)) {
        (Some(mm), _) => (mm, format!("units of {} mm", number(mm, 4))),
        (None, Some(unit)) => (unit.mm(), word(unit).to_owned()),
        (None, None) => {
            return Err(vec![Problem {
                place: picture::place(text, 0),
                what: "the drawing does not say its unit".to_owned(),
                mend: SAY_UNIT.to_owned(),
            }]);
        }
    };
    let outline = svg::outline(&picture.data, mm, asked.tolerance).map_err(|mut problems| {
        for problem in &mut problems {
            let at = problem.place.strip_prefix("character ");
            if let Some(at) = at.and_then(|at| at.parse::<usize>().ok()) {
                problem.place = picture::place(text, at.saturating_sub(1));
            }
        }
        problems
    })?;
    Ok(Read {
        outline,
        unit: words,
        passed_over: picture.passed_over,
    })
}

const fn unit(asked: DrawnIn) -> Unit {
    match asked {
        DrawnIn::Mm => Unit::Millimetre,
        DrawnIn::Cm => Unit::Centimetre,
        DrawnIn::M => Unit::Metre,
        DrawnIn::In => Unit::Inch,
        DrawnIn::Ft => Unit::Foot,
    }
}

const fn word(unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetre => "millimetres",
        Unit::Centimetre => "centimetres",
        Unit::Metre => "metres",
        Unit::Inch => "inches",
        Unit::Foot => "feet",
    }
}

/// The outline as the table will hold it, checked anew: what is summed up is
/// what the book reads back.
fn rounded(read: Read) -> Result<Read, Vec<Problem>> {
    let to = |value: f64, step: f64| (value * step).round() / step + 0.0;
    let mut paths = read.outline.vertices();
    for vertex in paths.iter_mut().flatten() {
        *vertex = Vertex {
            x_mm: to(vertex.x_mm, 1e6),
            y_mm: to(vertex.y_mm, 1e6),
            bulge: to(vertex.bulge, 1e9),
        };
    }
    let (outer, holes) = paths.split_first().unwrap_or((const { &Vec::new() }, &[]));
    let outline = Outline::new(outer, holes).map_err(|faults| {
        let told = faults.iter().map(|fault| Problem {
            place: format!("path {}", fault.path),
            what: fault.what(),
            mend: fault.mend(),
        });
        told.collect::<Vec<_>>()
    })?;
    Ok(Read { outline, ..read })
}

fn table(name: &str, outline: &Outline) -> RawTable {
    let columns = ["outline", "path", "point", "x_mm", "y_mm", "bulge"];
    let mut rows = Vec::new();
    for (path, vertices) in outline.vertices().iter().enumerate() {
        for (point, vertex) in vertices.iter().enumerate() {
            let plain = |value: f64, step: f64| ((value * step).round() / step + 0.0).to_string();
            let bulge = plain(vertex.bulge, 1e9);
            rows.push(RawRow {
                line: rows.len() as u32 + 2,
                cells: vec![
                    name.to_owned(),
                    path.to_string(),
                    (point + 1).to_string(),
                    plain(vertex.x_mm, 1e6),
                    plain(vertex.y_mm, 1e6),
                    if bulge == "0" { String::new() } else { bulge },
                ],
            });
        }
    }
    RawTable {
        name: book::Table::Outlines.name().to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        rows,
        ..RawTable::default()
    }
}

fn found(asked: &OutlineArguments, read: &Read, form: Form) -> Result<Answer, Failure> {
    let outline = &read.outline;
    let table = table(asked.name.trim(), outline);
    let csv = book::csv_text(&table);
    if let Some(out) = &asked.out {
        folder::write(out, csv.as_bytes())?;
    }
    let size = outline.extent().size();
    let (points, holes) = (table.rows.len(), outline.path_count() - 1);
    let json = json!({
        "outline": asked.name.trim(),
        "holds": true,
        "length_mm": size.x,
        "width_mm": size.y,
        "area_mm2": outline.area_mm2(),
        "cut_mm": outline.cut_length_mm(),
        "points": points,
        "holes": holes,
        "unit": read.unit,
        "passed_over": read.passed_over.iter()
            .map(|(kind, count)| json!({ "kind": kind, "count": count }))
            .collect::<Vec<_>>(),
        "columns": table.columns,
        "rows": table.rows.iter().map(|row| &row.cells).collect::<Vec<_>>(),
    });
    Answer::of(form, true, &json, || {
        let mut text = format!(
            "{}: {} by {} mm, {} cm² of metal, {}, {}; drawn in {}.\n",
            asked.name.trim(),
            number(size.x, 2),
            number(size.y, 2),
            number(outline.area_mm2() / 100.0, 2),
            things(points, "point", "points"),
            things(holes, "hole", "holes"),
            read.unit,
        );
        if !read.passed_over.is_empty() {
            let kinds = read.passed_over.iter();
            let kinds: Vec<String> = kinds
                .map(|(kind, count)| format!("{count} {kind}"))
                .collect();
            text += &format!("Passed over, as it draws no edge: {}.\n", kinds.join(", "));
        }
        match &asked.out {
            Some(out) => {
                text += &format!(
                    "Its rows for the outlines table are in {}.\n",
                    out.display()
                );
            }
            None => text += &format!("Its rows for the outlines table:\n\n{csv}"),
        }
        text
    })
}

/// Everything wrong with a drawing; nothing is written then.
fn refused(asked: &OutlineArguments, problems: &[Problem], form: Form) -> Failure {
    let told = problems.iter().map(
        |problem| json!({ "place": problem.place, "found": problem.what, "mend": problem.mend }),
    );
    let json = json!({
        "outline": asked.name.trim(),
        "holds": false,
        "problems": told.collect::<Vec<_>>(),
    });
    Failure::reasons(form, &json, || {
        let told: Vec<String> = problems.iter().map(|p| format!("       {p}")).collect();
        format!(
            "{} holds no sound outline: {}\n{}",
            asked.file.display(),
            things(problems.len(), "fault", "faults"),
            told.join("\n")
        )
    })
}
