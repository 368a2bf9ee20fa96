//! The JSON question of `linewright solve strip`, read strictly, and its answer.
//!
//! A question names the blank's outline, how it is cut, and what the strip
//! may be. Nothing in it is guessed at or passed over: what does not fit is refused
//! with its path, the value found, what was expected and what mends it, all misfits
//! at once.
//!
//! What may be left out has one usual value: `holes` none, `layouts` the four of
//! one part, `grain` any angle, `widths_mm` any width, `max_pitch_mm` any pitch,
//! `mirror_allowed` false, `cut` `"die"`, `kerf_mm` 0, `effort`
//! [`Request::EFFORT`]. `web_mm` and `edge_mm` have no usual value but for cut-off
//! blanks, which have none of either. An outline is a list of points
//! `[x, y]` or `[x, y, bulge]`, or a text of SVG path data in millimetres.
//!
//! ```
//! let question = strip::question::parse(
//!     r#"{"outline": [[0, 0], [400, 0], [0, 300]], "web_mm": 6, "edge_mm": 6,
//!         "layouts": ["single", "opposed_pair"]}"#,
//! )
//! .map_err(|problems| problems[0].to_string())?;
//! let outcome = question.lay(&strip::Watch::none()).map_err(|problems| problems[0].to_string())?;
//! let answer = strip::question::Answer::of(&question, &outcome);
//! assert!((answer.best.ok_or("no layout")?.utilisation - 0.9292817).abs() < 1e-6);
//!
//! let refused = strip::question::parse(r#"{"outline": [[0, 0], [9, 9], [9, 0], [0, 9]],
//!     "web_mm": 6, "edge_mm": 6}"#);
//! assert!(refused.is_err_and(|problems| problems[0].path == "outline[0]"));
//! # Ok::<(), String>(())
//! ```

mod answer;

use asked::{Cursor, Fields, Json, Range, Spot};

use crate::layout::{Cut, Kind, Outcome, Partner, Refusal, Request, Watch, Window};
use crate::outline::{Fault, Outline, Vertex};
use crate::read::svg;
pub use answer::{Answer, LayoutAnswer, PlacementAnswer, Status, WithoutAnswer};
pub use asked::Problem;

/// A question that may be asked of the strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What is to be laid.
    pub request: Request,
}

impl Question {
    /// Lays the blank.
    ///
    /// # Errors
    ///
    /// What makes the question senseless, by its paths.
    pub fn lay(&self, watch: &Watch<'_>) -> Result<Outcome, Vec<Problem>> {
        crate::lay(&self.request, watch)
            .map_err(|refusals| refusals.into_iter().map(problem).collect())
    }
}

fn problem(refusal: Refusal) -> Problem {
    Problem {
        path: match refusal.place {
            "ratio" => "partner.per_pitch".to_owned(),
            place => place.to_owned(),
        },
        found: refusal.found,
        expected: refusal.expected,
        mend: refusal.mend,
    }
}

/// Reads a question.
///
/// # Errors
///
/// Every misfit of the text, in the order of its keys; never an empty list.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, read)
}

const KEYS: [&str; 13] = [
    "outline",
    "holes",
    "web_mm",
    "edge_mm",
    "kerf_mm",
    "cut",
    "layouts",
    "grain",
    "widths_mm",
    "max_pitch_mm",
    "mirror_allowed",
    "partner",
    "effort",
];

const LENGTH: Range = Range {
    what: "millimetres",
    least: 0.0,
    most: 100_000.0,
};

const COORDINATE: Range = Range {
    what: "millimetres",
    least: -1e6,
    most: 1e6,
};

const BULGE: Range = Range {
    what: "a bulge",
    least: -1e3,
    most: 1e3,
};

const DEGREES: Range = Range {
    what: "degrees",
    least: -360.0,
    most: 360.0,
};

fn read(cursor: &mut Cursor, whole: &Spot<'_>) -> Option<Question> {
    let fields = cursor.object(whole, &KEYS)?;
    let blank = outline(cursor, &fields);
    let cut = cut(cursor, &fields);
    let partner = match fields.get("partner") {
        Some(spot) if *spot.value != Json::Null => Some(partner(cursor, &spot)),
        _ => None,
    };
    let kinds = kinds(cursor, &fields, partner.is_some());
    let grain = grain(cursor, &fields);
    let widths_mm = widths(cursor, &fields);
    let max_pitch_mm = fields
        .get("max_pitch_mm")
        .filter(|spot| *spot.value != Json::Null)
        .map(|spot| cursor.number(&spot, &LENGTH));
    let mirror_allowed = cursor.flag_or_no(&fields, "mirror_allowed");
    let usual = u32::try_from(Request::EFFORT).unwrap_or(u32::MAX);
    let effort = cursor.count_or(&fields, "effort", usual, 1..=10_000_000);
    Some(Question {
        request: Request {
            blank: blank?,
            partner: match partner {
                Some(read) => Some(read?),
                None => None,
            },
            kinds: kinds?,
            cut: cut?,
            grain: grain?,
            widths_mm: widths_mm?,
            max_pitch_mm: match max_pitch_mm {
                Some(read) => Some(read?),
                None => None,
            },
            mirror_allowed: mirror_allowed?,
            effort: effort? as usize,
        },
    })
}

/// The paths `outline` and `holes` of an object.
fn outline(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Outline> {
    let spot = cursor.required(fields, "outline")?;
    let holes = cursor.optional_list(fields, "holes");
    if let Json::Text(text) = spot.value {
        let expected = "SVG path data of one closed outline and its holes";
        if let Some(first) = holes.first() {
            cursor.misfit(
                first,
                "no holes beside an outline of path data",
                "draw the holes as closed parts of the path",
            );
            return None;
        }
        return match svg::outline(text, 1.0, svg::TOLERANCE_MM) {
            Ok(outline) => Some(outline),
            Err(problems) => {
                for problem in problems {
                    cursor.refuse(&spot.path, problem.what, expected, problem.mend);
                }
                None
            }
        };
    }
    let outer = points(cursor, &spot);
    let inner: Vec<Option<Vec<Vertex>>> = holes.iter().map(|hole| points(cursor, hole)).collect();
    let inner: Option<Vec<Vec<Vertex>>> = inner.into_iter().collect();
    match Outline::new(&outer?, &inner?) {
        Ok(outline) => Some(outline),
        Err(faults) => {
            for fault in &faults {
                cursor.refuse(
                    fault_path(fault, &spot.path, &fields.path_of("holes")),
                    fault.what(),
                    "a closed path that neither crosses itself nor another",
                    fault.mend(),
                );
            }
            None
        }
    }
}

fn fault_path(fault: &Fault, outline: &str, holes: &str) -> String {
    let path = match fault.path {
        0 => outline.to_owned(),
        hole => format!("{holes}[{}]", hole - 1),
    };
    match fault.edge {
        Some(edge) => format!("{path}[{}]", edge - 1),
        None => path,
    }
}

fn points(cursor: &mut Cursor, spot: &Spot<'_>) -> Option<Vec<Vertex>> {
    if !matches!(spot.value, Json::List(_)) {
        let expected = "a list of points [x, y] or [x, y, bulge], or SVG path data in quotes";
        cursor.misfit(spot, expected, "write it as [[x, y], ...]");
        return None;
    }
    let points: Vec<Option<Vertex>> = cursor
        .list(spot)
        .iter()
        .map(|point| {
            let numbers = cursor.list(point);
            if !matches!(numbers.len(), 2 | 3) {
                if matches!(point.value, Json::List(_)) {
                    let expected = "a point of two numbers, or three with a bulge";
                    cursor.misfit(point, expected, "write it as [x, y] or [x, y, bulge]");
                }
                return None;
            }
            let x_mm = cursor.number(&numbers[0], &COORDINATE);
            let y_mm = cursor.number(&numbers[1], &COORDINATE);
            let bulge = match numbers.get(2) {
                Some(spot) => cursor.number(spot, &BULGE),
                None => Some(0.0),
            };
            Some(Vertex {
                x_mm: x_mm?,
                y_mm: y_mm?,
                bulge: bulge?,
            })
        })
        .collect();
    points.into_iter().collect()
}

#[derive(Clone, Copy, PartialEq)]
enum CutWord {
    Die,
    Laser,
    CutOff,
}

fn cut(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Cut> {
    let words = [
        ("die", CutWord::Die),
        ("laser", CutWord::Laser),
        ("cut_off", CutWord::CutOff),
    ];
    let word = match fields.get("cut") {
        Some(spot) => cursor.word(&spot, &words),
        None => Some(CutWord::Die),
    };
    let mut length = |key: &str, usual: Option<f64>| match (fields.get(key), usual) {
        (None, Some(usual)) => Some(usual),
        (Some(spot), _) => cursor.number(&spot, &LENGTH),
        (None, None) => cursor
            .required(fields, key)
            .and_then(|spot| cursor.number(&spot, &LENGTH)),
    };
    let usual = (word? == CutWord::CutOff).then_some(0.0);
    let (web_mm, edge_mm) = (length("web_mm", usual), length("edge_mm", usual));
    let kerf_mm = length("kerf_mm", Some(0.0));
    let (web_mm, edge_mm, kerf_mm) = (web_mm?, edge_mm?, kerf_mm?);
    match word? {
        CutWord::Die | CutWord::CutOff if kerf_mm > 0.0 => {
            let path = fields.path_of("kerf_mm");
            let mend = "leave it out, or write \"cut\": \"laser\"";
            cursor.refuse(path, kerf_mm.to_string(), "a kerf with a laser only", mend);
            None
        }
        CutWord::CutOff if web_mm > 0.0 || edge_mm > 0.0 => {
            let path = fields.path_of(if web_mm > 0.0 { "web_mm" } else { "edge_mm" });
            let found = web_mm.max(edge_mm).to_string();
            let expected = "0, since a cut-off blank has neither web nor margin";
            cursor.refuse(
                path,
                found,
                expected,
                "leave it out, or write \"cut\": \"die\"",
            );
            None
        }
        CutWord::Die => Some(Cut::Die { web_mm, edge_mm }),
        CutWord::Laser => Some(Cut::Laser {
            web_mm,
            edge_mm,
            kerf_mm,
        }),
        CutWord::CutOff => Some(Cut::CutOff),
    }
}

fn kinds(cursor: &mut Cursor, fields: &Fields<'_>, mixed: bool) -> Option<Vec<Kind>> {
    let Some(spot) = fields.get("layouts") else {
        let usual = if mixed { 5 } else { 4 };
        return Some(Kind::ALL[..usual].to_vec());
    };
    let words = Kind::ALL.map(|kind| (kind.word(), kind));
    let mut kinds = Vec::new();
    for item in cursor.list(&spot) {
        let kind = cursor.word(&item, &words)?;
        if kinds.contains(&kind) {
            cursor.misfit(&item, "each layout once", "leave it out");
        } else {
            kinds.push(kind);
        }
    }
    if kinds.is_empty() {
        cursor.misfit(
            &spot,
            "one layout or more",
            "write [\"single\"], or leave it out for all",
        );
    }
    Some(kinds)
}

/// One window or a list of windows; none for any angle.
fn grain(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Vec<Window>> {
    let Some(spot) = fields.get("grain").filter(|spot| *spot.value != Json::Null) else {
        return Some(Vec::new());
    };
    let spots = match spot.value {
        Json::List(_) => cursor.list(&spot),
        _ => vec![spot],
    };
    let windows: Vec<Option<Window>> = spots
        .iter()
        .map(|spot| {
            let fields = cursor.object(spot, &["from_deg", "to_deg"])?;
            let from = cursor.required(&fields, "from_deg");
            let from = from.and_then(|spot| cursor.number(&spot, &DEGREES));
            let to = cursor.required(&fields, "to_deg");
            let to = to.and_then(|spot| cursor.number(&spot, &DEGREES));
            let (from_deg, to_deg) = (from?, to?);
            if from_deg > to_deg {
                let mend = format!("write from {to_deg} to {from_deg}, or add 180 to `to_deg`");
                cursor.misfit(spot, "`from_deg` at or below `to_deg`", mend);
                return None;
            }
            Some(Window { from_deg, to_deg })
        })
        .collect();
    windows.into_iter().collect()
}

fn widths(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Option<Vec<f64>>> {
    let Some(spot) = fields
        .get("widths_mm")
        .filter(|spot| *spot.value != Json::Null)
    else {
        return Some(None);
    };
    let widths: Vec<Option<f64>> = cursor
        .list(&spot)
        .iter()
        .map(|spot| cursor.number(spot, &LENGTH))
        .collect();
    let widths: Option<Vec<f64>> = widths.into_iter().collect();
    widths.map(Some)
}

fn partner(cursor: &mut Cursor, spot: &Spot<'_>) -> Option<Partner> {
    let keys = ["outline", "holes", "grain", "per_pitch"];
    let fields = cursor.object(spot, &keys)?;
    let outline = outline(cursor, &fields);
    let grain = grain(cursor, &fields);
    let ratio = match fields.get("per_pitch") {
        None => Some((1, 1)),
        Some(spot) => {
            let range = Range {
                what: "a number of blanks",
                least: 1.0,
                most: 3.0,
            };
            let items = cursor.list(&spot);
            let counts: Vec<Option<u64>> = items
                .iter()
                .map(|spot| cursor.count(spot, &range))
                .collect();
            match counts.as_slice() {
                [Some(first), Some(second)] => Some((*first as u32, *second as u32)),
                [_, _] => None,
                _ => {
                    let expected = "two numbers: blanks of the first part and of the partner";
                    cursor.misfit(&spot, expected, "write [1, 1]");
                    None
                }
            }
        }
    };
    Some(Partner {
        outline: outline?,
        grain: grain?,
        ratio: ratio?,
    })
}
