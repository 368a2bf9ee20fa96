//! Force and energy of a stroke against the lines' ratings: a screen that says
//! which lines can make a part, not a die design.

use std::collections::BTreeMap;

use book::{At, Book, Material, Part, PartSource, PressKind, PressLine, Problem, Severity};
use formulas::{Kilojoules, Sourced, press as trade};
use strip::{Outline, Vertex};
use units::{Kilonewtons, Millimetres, Share};

use super::model::{PressPart, Screen, TooStrong};
use crate::sheet::{Made, Sheet, cell, problem};

/// Part of the thickness that a punch goes in before soft aluminium tears
/// (common practice: 0.3 to 0.6).
const PENETRATION: Share = Share(0.5);
/// Mean over highest force of a draw (common practice: 0.6 to 0.8).
const FULLNESS: Share = Share(0.7);
/// Part more force to strip the sheet (common practice: 0.05 to 0.20).
const STRIPPING: Share = Share(0.15);

/// What is known of a part's blank and metal.
struct Sheared<'a> {
    part: &'a Part,
    material: &'a Material,
    gauge: Millimetres,
    /// Outer path and holes.
    cut_mm: f64,
    /// The outer path alone.
    around_mm: f64,
    sides_mm: (f64, f64),
}

/// The screens of all made parts, and the parts that are too strong.
pub(super) fn screens(sheet: &mut Sheet, book: &Book) -> (Vec<PressPart>, Vec<TooStrong>) {
    let mut outlines: BTreeMap<&str, Result<Blank, String>> = BTreeMap::new();
    let mut parts = Vec::new();
    let mut too_strong = Vec::new();
    let made = book
        .parts
        .iter()
        .filter(|part| part.source == PartSource::Made);
    for part in made.filter(|part| part.press_line.is_some() || part.blank_line.is_some()) {
        let sheared = sheared(book, part, &mut outlines);
        let (screened, strong) = match sheared {
            Ok(sheared) => screened(sheet, book, &sheared),
            Err(unknown) => {
                let unknown = PressPart {
                    part: part.part.clone(),
                    at: part.at,
                    blanking: None,
                    forming: None,
                    lines: Vec::new(),
                    unknown: Some(unknown),
                };
                (unknown, Vec::new())
            }
        };
        parts.push(screened);
        too_strong.extend(strong);
    }
    (parts, too_strong)
}

/// Lengths of a blank.
#[derive(Clone, Copy)]
struct Blank {
    cut_mm: f64,
    around_mm: f64,
    sides_mm: (f64, f64),
}

fn blank(book: &Book, name: &str) -> Result<Blank, String> {
    let mut paths: BTreeMap<u32, Vec<(u32, Vertex)>> = BTreeMap::new();
    for row in book.outlines.iter().filter(|row| row.outline == name) {
        let vertex = Vertex {
            x_mm: row.x_mm.0,
            y_mm: row.y_mm.0,
            bulge: row.bulge,
        };
        paths.entry(row.path).or_default().push((row.point, vertex));
    }
    let mut paths: Vec<Vec<Vertex>> = paths
        .into_values()
        .map(|mut path| {
            path.sort_by_key(|(point, _)| *point);
            path.into_iter().map(|(_, vertex)| vertex).collect()
        })
        .collect();
    if paths.is_empty() {
        return Err(format!("outline {name} has no points"));
    }
    let outer = paths.remove(0);
    let unsound = |faults: Vec<strip::Fault>| {
        let first = faults.first().map(ToString::to_string);
        format!("outline {name}: {}", first.unwrap_or_default())
    };
    let around = Outline::new(&outer, &[]).map_err(unsound)?;
    let whole = Outline::new(&outer, &paths).map_err(unsound)?;
    let extent = around.extent();
    Ok(Blank {
        cut_mm: whole.cut_length_mm(),
        around_mm: around.cut_length_mm(),
        sides_mm: (extent.high.x - extent.low.x, extent.high.y - extent.low.y),
    })
}

/// What is known of a part, or what is missing.
fn sheared<'a>(
    book: &'a Book,
    part: &'a Part,
    outlines: &mut BTreeMap<&'a str, Result<Blank, String>>,
) -> Result<Sheared<'a>, String> {
    let name = part.outline.as_deref().ok_or("no outline")?;
    let gauge = part.gauge_mm.ok_or("no gauge_mm")?;
    let material = part.material.as_deref().ok_or("no material")?;
    let material = book
        .materials
        .iter()
        .find(|row| row.material == material)
        .ok_or("its material is not in the book")?;
    let blank = outlines
        .entry(name)
        .or_insert_with(|| blank(book, name))
        .clone()?;
    Ok(Sheared {
        part,
        material,
        gauge,
        cut_mm: blank.cut_mm,
        around_mm: blank.around_mm,
        sides_mm: blank.sides_mm,
    })
}

/// Force and energy of one step.
struct Stroke {
    force: Sourced<Kilonewtons>,
    force_kn: crate::sheet::ShopValue,
    energy: Option<Made<Kilojoules>>,
}

impl Stroke {
    /// The larger force and the larger work of two strokes.
    fn with(self, other: Self) -> Self {
        let work = |stroke: &Self| stroke.energy.as_ref().map_or(0.0, |made| made.value.0);
        let (more, less) = if work(&self) >= work(&other) {
            (self, other)
        } else {
            (other, self)
        };
        if less.force.value > more.force.value {
            Self {
                energy: more.energy,
                ..less
            }
        } else {
            more
        }
    }
}

fn screened(sheet: &mut Sheet, book: &Book, sheared: &Sheared<'_>) -> (PressPart, Vec<TooStrong>) {
    let part = sheared.part;
    let row = |name: &Option<String>| {
        let name = name.as_ref()?;
        book.press_lines.iter().find(|row| row.press_line == *name)
    };
    let blank_line = row(&part.blank_line).filter(|line| line.kind == PressKind::Blanking);
    let press_line = row(&part.press_line);
    let mut too_strong = Vec::new();
    let mut unknown = None;
    let cut = cut(sheet, sheared, "cut of the blank");
    if cut.is_none() {
        unknown = Some(format!("{} has no shear_mpa", sheared.material.material));
    }
    let blanking = blank_line.and_then(|line| {
        let stroke = cut.as_ref()?;
        let (screen, needed) = against(sheet, sheared, stroke, line, "blanking")?;
        too_strong.extend(weak(book, part, line, needed, &screen));
        Some(screen)
    });
    let drawn = part.draw_depth_mm.is_some();
    let draw = drawn.then(|| draw(sheet, sheared)).flatten();
    if drawn && draw.is_none() && unknown.is_none() {
        unknown = Some(format!("{} has no tensile_mpa", sheared.material.material));
    }
    // Trimming the panel takes its blank's cut again, at most. The line must bear
    // the larger force and the larger work, whichever step each is of.
    let stroke = match (draw, cut) {
        (Some(draw), Some(cut)) => Some(draw.with(cut)),
        (draw, cut) => draw.or(cut),
    };
    let mut lines = Vec::new();
    let forming = press_line.and_then(|line| {
        let stroke = stroke.as_ref()?;
        let (screen, needed) = against(sheet, sheared, stroke, line, "forming")?;
        too_strong.extend(weak(book, part, line, needed, &screen));
        let energy = screen.energy_kj.as_ref().map_or(0.0, |energy| energy.value);
        lines = able(book, sheared, needed, energy);
        Some(screen)
    });
    let screened = PressPart {
        part: part.part.clone(),
        at: part.at,
        blanking,
        forming,
        lines,
        unknown,
    };
    (screened, too_strong)
}

fn cut(sheet: &mut Sheet, sheared: &Sheared<'_>, title: &str) -> Option<Stroke> {
    let part = sheared.part;
    let strength = sheared.material.shear_mpa?;
    let id = format!("part.{}.cut", part.part);
    let gauge = || cell(sheared.gauge, part.at, "gauge_mm");
    let made = trade::cutting_force(
        cell(Millimetres(sheared.cut_mm), part.at, "outline"),
        gauge(),
        cell(strength, sheared.material.at, "shear_mpa"),
    );
    let title = format!("{title} of {}", part.part);
    let force = sheet.add(format!("{id}.force"), title, part.at, made)?;
    let energy = trade::cutting_energy(force.part(|force| *force), gauge(), PENETRATION);
    let title = format!("work of cutting {}", part.part);
    let energy = sheet.add(format!("{id}.energy"), title, part.at, energy);
    Some(Stroke {
        force: force.part(|force| *force),
        force_kn: force.value(|force| force.0),
        energy,
    })
}

fn draw(sheet: &mut Sheet, sheared: &Sheared<'_>) -> Option<Stroke> {
    let part = sheared.part;
    let (depth, tensile) = (part.draw_depth_mm?, sheared.material.tensile_mpa?);
    let id = format!("part.{}.draw", part.part);
    // The punch is smaller than the blank by the draw ratio.
    let around = Millimetres(sheared.around_mm / part.draw_ratio);
    let made = trade::panel_drawing(
        cell(around, part.at, "outline"),
        cell(sheared.gauge, part.at, "gauge_mm"),
        cell(tensile, sheared.material.at, "tensile_mpa"),
        cell(Share(part.draw_ratio), part.at, "draw_ratio"),
    );
    let title = format!("drawing {}", part.part);
    let force = sheet.add(format!("{id}.force"), title, part.at, made)?;
    let energy = trade::drawing_energy(
        force.part(|draw| draw.total),
        cell(depth, part.at, "draw_depth_mm"),
        FULLNESS,
    );
    let title = format!("work of drawing {}", part.part);
    let energy = sheet.add(format!("{id}.energy"), title, part.at, energy);
    Some(Stroke {
        force: force.part(|draw| draw.total),
        force_kn: force.value(|draw| draw.total.0),
        energy,
    })
}

/// A stroke against a line's rating, and the force with stripping.
fn against(
    sheet: &mut Sheet,
    sheared: &Sheared<'_>,
    stroke: &Stroke,
    line: &PressLine,
    step: &str,
) -> Option<(Screen, f64)> {
    let part = sheared.part;
    let needed = stroke.force.value.0 * (1.0 + STRIPPING.0);
    let used = line.force_kn.and_then(|rated| {
        let made = trade::force_used(
            stroke.force.clone(),
            STRIPPING,
            cell(rated, line.at, "force_kn"),
        );
        let id = format!("part.{}.{step}.used", part.part);
        let title = format!(
            "rated force of {} that {} takes",
            line.press_line, part.part
        );
        sheet.add(id, title, part.at, made)
    });
    let energy_kj = stroke
        .energy
        .as_ref()
        .map(|energy| energy.value(|energy| energy.0));
    let energy_used = energy_kj
        .as_ref()
        .zip(line.energy_kj)
        .map(|(energy, rated)| energy.value / rated);
    let force_used = used.map(|used| used.value(|used| used.used.0));
    let over = energy_used.is_some_and(formulas::over)
        || force_used
            .as_ref()
            .is_some_and(|used| formulas::over(used.value));
    Some((
        Screen {
            line: line.press_line.clone(),
            force_kn: stroke.force_kn.clone(),
            energy_used,
            energy_kj,
            force_used,
            over,
        },
        needed,
    ))
}

/// Press lines that are strong and large enough.
fn able(book: &Book, sheared: &Sheared<'_>, needed_kn: f64, energy_kj: f64) -> Vec<String> {
    let fits = |line: &&PressLine| {
        let strong = line
            .force_kn
            .is_some_and(|rated| !formulas::over(needed_kn / rated.0));
        let lively = line
            .energy_kj
            .is_none_or(|rated| !formulas::over(energy_kj / rated));
        let (a, b) = sheared.sides_mm;
        let bed = line.bed_x_mm.zip(line.bed_y_mm);
        let large = bed.is_none_or(|(x, y)| (x.0 >= a && y.0 >= b) || (x.0 >= b && y.0 >= a));
        line.kind == PressKind::Press && strong && lively && large
    };
    let lines = book.press_lines.iter().filter(fits);
    lines.map(|line| line.press_line.clone()).collect()
}

/// A part that asks more of its line than that has.
fn weak(
    book: &Book,
    part: &Part,
    line: &PressLine,
    needed_kn: f64,
    screen: &Screen,
) -> Option<TooStrong> {
    let rated = line.force_kn?.0;
    if !screen.over {
        return None;
    }
    let alike = book.press_lines.iter().filter(|row| row.kind == line.kind);
    let strongest = alike
        .filter_map(|row| Some((row, row.force_kn?.0)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let (strongest, strongest_kn) = (strongest.0.press_line.clone(), strongest.1);
    let mend = if !formulas::over(needed_kn / rated) {
        format!(
            "make it in more strokes, or on a line of more than {:.0} kJ",
            { screen.energy_kj.as_ref().map_or(0.0, |energy| energy.value) }
        )
    } else if !formulas::over(needed_kn / strongest_kn) {
        format!("make it on {strongest}")
    } else {
        let short = needed_kn - strongest_kn;
        format!(
            "{strongest} is the strongest and lacks {short:.0} kN; cut in steps or with shear on \
             the die, take thinner or softer metal, or buy the part"
        )
    };
    Some(TooStrong {
        part: part.part.clone(),
        at: part.at,
        line: line.press_line.clone(),
        force_kn: needed_kn,
        rated_kn: rated,
        strongest,
        strongest_kn,
        mend,
    })
}

/// The same as notes on the rows of the book.
pub(super) fn notes(too_strong: &[TooStrong]) -> Vec<Problem> {
    let note = |strong: &TooStrong| {
        let at: At = strong.at;
        Problem {
            severity: Severity::Note,
            found: format!(
                "`{}` needs {:.0} kN, `{}` is rated {:.0} kN",
                strong.part, strong.force_kn, strong.line, strong.rated_kn
            ),
            expected: format!(
                "a line strong enough; the strongest is `{}` with {:.0} kN",
                strong.strongest, strong.strongest_kn
            ),
            mend: strong.mend.clone(),
            ..problem("too-strong", at, Some("press_line"))
        }
    };
    too_strong.iter().map(note).collect()
}
