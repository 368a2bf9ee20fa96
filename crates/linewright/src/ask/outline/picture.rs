//! The paths of an SVG file, laid bare for the reader of path data.
//!
//! Only what decides the blank is looked at: the size that gives the unit, the
//! `d` of each path that is drawn, and whatever would move or hide an edge.

use strip::read::{Problem, Unit};

/// Path data in which every character stands where it stands in the file, and
/// what a unit of it is.
#[derive(Debug)]
pub(super) struct Picture {
    /// The path data, blanks where the file has anything else.
    pub(super) data: String,
    /// One unit in millimetres, where the file says it.
    pub(super) mm: Option<f64>,
    /// Elements passed over because they draw no edge, with how many.
    pub(super) passed_over: Vec<(String, usize)>,
}

/// Elements whose content is kept for use elsewhere and not drawn itself.
const KEPT: [&str; 6] = ["defs", "clipPath", "mask", "pattern", "marker", "symbol"];
/// Elements that draw an edge and are no path.
const SHAPES: [&str; 7] = [
    "rect", "circle", "ellipse", "line", "polyline", "polygon", "use",
];
/// Elements that hold others or draw nothing.
const FRAMES: [&str; 5] = ["svg", "g", "a", "switch", "path"];
/// What is put before each path, whose first point is absolute however written.
const START: &str = "M0 0 ";

/// Lays the paths bare; a file that is no markup is bare path data.
pub(super) fn picture(text: &str) -> Result<Picture, Vec<Problem>> {
    if !text
        .trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('<')
    {
        return Ok(Picture {
            data: bare(text),
            mm: None,
            passed_over: Vec::new(),
        });
    }
    let mut scan = Scan {
        text,
        data: vec![b' '; text.len()],
        mm: None,
        passed_over: Vec::new(),
        problems: Vec::new(),
        open: Vec::new(),
    };
    scan.file();
    if !scan.problems.is_empty() {
        return Err(scan.problems);
    }
    Ok(Picture {
        data: String::from_utf8(scan.data).unwrap_or_default(),
        mm: scan.mm,
        passed_over: scan.passed_over,
    })
}

/// Bare path data with each character at its place.
fn bare(text: &str) -> String {
    let plain = |byte: u8| if byte.is_ascii() { byte } else { b'?' };
    // A mark of the byte order at the start is no command.
    let skip = if text.starts_with('\u{feff}') { 3 } else { 0 };
    let kept = text.bytes().enumerate();
    kept.map(|(n, byte)| {
        if n < skip {
            ' '
        } else {
            char::from(plain(byte))
        }
    })
    .collect()
}

/// The line and the character in it, both from 1, of a byte of a text.
pub(super) fn place(text: &str, at: usize) -> String {
    let before = &text.as_bytes()[..at.min(text.len())];
    let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
    let start = before.iter().rposition(|byte| *byte == b'\n');
    let column = before.len() - start.map_or(0, |start| start + 1) + 1;
    format!("line {line}, character {column}")
}

/// An attribute with the place of its value.
struct Attribute<'a> {
    name: &'a str,
    value: &'a str,
    at: usize,
}

struct Scan<'a> {
    text: &'a str,
    data: Vec<u8>,
    mm: Option<f64>,
    passed_over: Vec<(String, usize)>,
    problems: Vec<Problem>,
    /// The elements that are open.
    open: Vec<&'a str>,
}

impl<'a> Scan<'a> {
    fn file(&mut self) {
        let mut at = 0;
        while let Some(found) = self.text[at..].find('<') {
            let start = at + found;
            let rest = &self.text[start..];
            let apart = [
                ("<!--", "-->"),
                ("<![CDATA[", "]]>"),
                ("<?", "?>"),
                ("<!", ">"),
            ];
            let aside = apart.iter().find(|(begin, _)| rest.starts_with(begin));
            let end = match aside {
                Some((_, end)) => rest.find(end).map(|n| start + n + end.len()),
                None => tag_end(rest).map(|n| start + n),
            };
            let Some(end) = end else {
                self.problem(
                    start,
                    "a tag that does not end",
                    "save the drawing anew as SVG",
                );
                return;
            };
            if aside.is_none() {
                self.tag(start + 1, end - 1);
            }
            at = end;
        }
        if !self.open.is_empty() {
            let name = self.open.join(" in ");
            let what = format!("the file ends within {name}");
            self.problem(self.text.len(), &what, "save the drawing anew as SVG");
        }
    }

    fn problem(&mut self, at: usize, what: &str, mend: &str) {
        self.problems.push(Problem {
            place: place(self.text, at),
            what: what.to_owned(),
            mend: mend.to_owned(),
        });
    }

    /// One tag, its brackets left out.
    fn tag(&mut self, from: usize, to: usize) {
        let text = self.text;
        let whole = &text[from..to];
        if let Some(name) = whole.strip_prefix('/') {
            let name = local(name.trim());
            match self.open.pop() {
                Some(open) if open == name => {}
                _ => {
                    let what = format!("</{name}> closes what is not open");
                    self.problem(from, &what, "save the drawing anew as SVG");
                }
            }
            return;
        }
        let closed = whole.ends_with('/');
        let inner = whole.strip_suffix('/').unwrap_or(whole);
        let ends = inner.find(|c: char| c.is_whitespace());
        let name = local(&inner[..ends.unwrap_or(inner.len())]);
        let attributes = attributes(inner, ends.unwrap_or(inner.len()), from);
        if !self.open.iter().any(|open| KEPT.contains(open)) {
            self.element(name, from, &attributes);
        }
        if !closed {
            self.open.push(name);
        }
    }

    fn element(&mut self, name: &'a str, from: usize, attributes: &[Attribute<'a>]) {
        let of = |name: &str| attributes.iter().find(|own| own.name == name);
        if let Some(transform) = of("transform")
            && (FRAMES.contains(&name) || SHAPES.contains(&name))
        {
            let what = format!("a transform on <{name}>, which moves its points");
            let mend = "ungroup the drawing, so that its points are where they are drawn";
            self.problem(transform.at, &what, mend);
        }
        match name {
            "svg" => match self.open.as_slice() {
                [] => self.mm = unit(of("width"), of("viewBox")),
                _ => self.problem(from, "an <svg> within another", "take the inner one out"),
            },
            "path" => match of("d") {
                Some(d) => self.path(d),
                None => self.problem(from, "a <path> without d", "draw it, or leave it out"),
            },
            shape if SHAPES.contains(&shape) => {
                let what = format!("a <{shape}>, which is no path");
                self.problem(from, &what, "turn it into a path, or leave it out");
            }
            frame if FRAMES.contains(&frame) || KEPT.contains(&frame) => {}
            other => match self.passed_over.iter_mut().find(|(kind, _)| kind == other) {
                Some((_, count)) => *count += 1,
                None => self.passed_over.push((other.to_owned(), 1)),
            },
        }
    }

    fn path(&mut self, d: &Attribute<'_>) {
        let skipped = d.value.len() - d.value.trim_start().len();
        if !d.value.trim_start().starts_with(['M', 'm']) {
            let at = d.at + skipped;
            self.problem(
                at,
                "a path that begins elsewhere than with M",
                "begin with M x y",
            );
            return;
        }
        if let Some(n) = d.value.find(|c: char| !c.is_ascii()) {
            self.problem(
                d.at + n,
                "a sign that path data does not know",
                "leave it out",
            );
            return;
        }
        // `<path d="` before it is longer than what is put there.
        let start = d.at - START.len();
        self.data[start..d.at].copy_from_slice(START.as_bytes());
        self.data[d.at..d.at + d.value.len()].copy_from_slice(d.value.as_bytes());
    }
}

/// A name without its namespace.
fn local(name: &str) -> &str {
    name.rsplit(':').next().unwrap_or(name)
}

/// Where a tag ends, its bracket counted; brackets in quotes end nothing.
fn tag_end(rest: &str) -> Option<usize> {
    let mut quote = None;
    for (n, byte) in rest.bytes().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some(n + 1),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), byte) if open == byte => quote = None,
            _ => {}
        }
    }
    None
}

/// The attributes of a tag whose text begins at `from` in the file.
fn attributes(tag: &str, start: usize, from: usize) -> Vec<Attribute<'_>> {
    let mut found = Vec::new();
    let mut at = start;
    while let Some(equals) = tag[at..].find('=').map(|n| at + n) {
        let name = tag[at..equals].trim();
        let after = &tag[equals + 1..];
        let Some(open) = after.find(['"', '\'']) else {
            break;
        };
        let quote = &after[open..=open];
        let value_at = equals + 1 + open + 1;
        let Some(length) = tag[value_at..].find(quote) else {
            break;
        };
        found.push(Attribute {
            name,
            value: &tag[value_at..value_at + length],
            at: from + value_at,
        });
        at = value_at + length + 1;
    }
    found
}

/// One unit in millimetres: the width on paper over the width in units.
fn unit(width: Option<&Attribute<'_>>, view: Option<&Attribute<'_>>) -> Option<f64> {
    let width = width?.value.trim();
    let letters = width.find(|c: char| c.is_ascii_alphabetic())?;
    let (number, letters) = width.split_at(letters);
    // CSS: 1 in is 25.4 mm, 72 pt, 6 pc and 96 px; W3C, CSS Values and Units 3,
    // absolute lengths. A picture of so many px has no size on paper.
    let mm = match letters {
        "mm" => Unit::Millimetre.mm(),
        "cm" => Unit::Centimetre.mm(),
        "in" => Unit::Inch.mm(),
        "pt" => Unit::Inch.mm() / 72.0,
        "pc" => Unit::Inch.mm() / 6.0,
        _ => return None,
    };
    let wide = number.trim().parse::<f64>().ok()? * mm;
    let units = match view {
        Some(view) => {
            let words = view.value.split([' ', ',', '\t', '\n']);
            let wide = words.filter(|word| !word.is_empty()).nth(2)?;
            wide.parse::<f64>().ok()?
        }
        None => return Some(Unit::Inch.mm() / 96.0),
    };
    Some(wide / units).filter(|mm| mm.is_finite() && *mm > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_of_200_mm_and_100_units_is_two_millimetres_a_unit() {
        let file = "<svg width='200mm' viewBox='0 0 100 50'><path d='M0 0h10v10z'/></svg>";
        let read = picture(file).unwrap();
        assert_eq!(read.mm, Some(2.0));
        assert_eq!(read.data.find("M0 0h10v10z"), file.find("M0 0h10v10z"));
    }

    #[test]
    fn what_would_move_or_lose_an_edge_is_refused_at_its_place() {
        let file =
            "<svg>\n<g transform='scale(2)'><path d='M0 0h1v1z'/></g>\n<rect x='1'/>\n</svg>";
        let told: Vec<String> = picture(file)
            .unwrap_err()
            .iter()
            .map(ToString::to_string)
            .collect();
        assert!(
            told[0].starts_with("line 2, character 15: a transform on <g>"),
            "{told:?}"
        );
        assert!(
            told[1].starts_with("line 3, character 2: a <rect>"),
            "{told:?}"
        );
    }

    #[test]
    fn what_is_kept_for_use_elsewhere_is_not_drawn() {
        let file = "<svg><!-- <path d='x'/> --><defs><path d='M0 0h9v9z'/></defs>\
                    <title>lid</title><path d='m1 1h10v10z'/></svg>";
        let read = picture(file).unwrap();
        assert_eq!(read.data.trim(), "M0 0 m1 1h10v10z");
        assert_eq!(read.passed_over, [("title".to_owned(), 1)]);
    }

    #[test]
    fn a_file_cut_short_is_refused() {
        assert!(picture("<svg><path d='M0 0h1").is_err());
        assert!(picture("<svg><g>").is_err());
    }
}
