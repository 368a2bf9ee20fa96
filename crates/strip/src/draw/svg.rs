//! SVG of a layout: the strip with its blanks as seen from above.

use std::fmt::Write as _;

use super::label::{self, Room};
use super::paths;
use crate::layout::{Layout, Placement};
use crate::outline::{Outline, extent};
use crate::piece::Piece;

/// Width of the picture in its own units; the height follows the strip.
const WIDTH: f64 = 960.0;
const MARGIN: f64 = 14.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = 58.0;

const STYLE: &str = "\
text{font:13px system-ui,sans-serif;fill:#222}\
.title{font-weight:600}\
.strip{stroke:#222;stroke-width:1.4}\
.blank{fill:#fff;fill-rule:evenodd;stroke:#222;stroke-width:1.1}\
.second{fill:#eef3f8}\
.ghost{stroke-opacity:.5}\
.line{stroke:#222;stroke-width:1;fill:none}\
.name{text-anchor:middle;dominant-baseline:middle;paint-order:stroke;stroke:#fff;stroke-width:2.5}";

/// Sizes of a blank's name: as large as its metal has room for.
const NAME: (f64, f64) = (7.0, 13.0);
/// A letter is so much narrower than it is high.
const LETTER: f64 = 0.6;

/// Draws a layout: the strip from above, hatched where it is scrap, two pitches of
/// blanks, the first pitch numbered; feed direction, pitch and width are
/// labelled. `outlines` are the parts in their order, `title` stands above.
///
/// Nothing in it rests on colour: scrap is hatched, blanks are plain, a second
/// part is named by its letter.
pub fn svg(layout: &Layout, outlines: &[&Outline], title: &str) -> String {
    let pitches = 2.0;
    let reach = reach(layout, outlines);
    let length = pitches * layout.pitch_mm + (reach - layout.pitch_mm).max(0.0);
    let scale = (WIDTH - 2.0 * MARGIN) / length;
    let drawing = Frame {
        scale,
        bottom: TOP + layout.width_mm * scale,
    };
    let height = drawing.bottom + BOTTOM;
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.1}\" role=\"img\">\n\
         <title>{}</title>\n<style>{STYLE}</style>\n\
         <defs><pattern id=\"scrap\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><path class=\"line\" d=\"M0 0V7\" stroke-opacity=\".55\"/></pattern></defs>\n",
        escaped(title)
    );
    let _ = writeln!(
        text,
        "<text class=\"title\" x=\"{MARGIN}\" y=\"18\">{}</text>\n<text x=\"{MARGIN}\" y=\"35\">{}</text>",
        escaped(title),
        summary(layout)
    );
    let (left, top) = (drawing.x(0.0), drawing.y(layout.width_mm));
    let (wide, tall) = (length * scale, layout.width_mm * scale);
    let _ = writeln!(
        text,
        "<rect x=\"{left:.2}\" y=\"{top:.2}\" width=\"{wide:.2}\" height=\"{tall:.2}\" fill=\"url(#scrap)\"/>\n\
         <path class=\"strip\" d=\"M{left:.2} {top:.2}h{wide:.2}M{left:.2} {:.2}h{wide:.2}\"/>",
        top + tall
    );
    blanks(&mut text, layout, outlines, &drawing);
    measures(&mut text, layout, &drawing, length);
    text.push_str("</svg>\n");
    text
}

fn summary(layout: &Layout) -> String {
    let percent = |share: f64| format!("{:.2} %", 100.0 * share);
    format!(
        "{} a pitch, {} used, {} scrap (hatched), no such layout above {}",
        layout.placements.len(),
        percent(layout.utilisation),
        percent(1.0 - layout.utilisation),
        percent(layout.bound)
    )
}

/// Where the blanks of the first pitch end.
fn reach(layout: &Layout, outlines: &[&Outline]) -> f64 {
    layout
        .placements
        .iter()
        .filter_map(|place| Some((place, outlines.get(place.part)?)))
        .map(|(place, outline)| extent(&paths(outline, place, layout, 0.0)[0]).high.x)
        .fold(layout.pitch_mm, f64::max)
}

fn blanks(text: &mut String, layout: &Layout, outlines: &[&Outline], drawing: &Frame) {
    for k in [1.0, 0.0] {
        for (n, place) in layout.placements.iter().enumerate() {
            let Some(outline) = outlines.get(place.part) else {
                continue;
            };
            let paths = paths(outline, place, layout, k);
            let mut d = String::new();
            for path in &paths {
                drawing.path(&mut d, path);
            }
            let second = if place.part == 0 { "" } else { " second" };
            let ghost = if k == 0.0 { "" } else { " ghost" };
            let _ = writeln!(text, "<path class=\"blank{second}{ghost}\" d=\"{d}\"/>");
            if k == 0.0 {
                name(text, place, n, &label::room(&paths), drawing);
            }
        }
    }
}

/// The name of a blank in its metal.
fn name(text: &mut String, place: &Placement, n: usize, room: &Room, drawing: &Frame) {
    let letter = ["A", "B"].get(place.part).unwrap_or(&"");
    let over = if place.mirrored { " over" } else { "" };
    let name = format!("{letter}{}{over}", n + 1);
    let across = 2.0 * room.half_width * drawing.scale / (LETTER * name.len() as f64);
    let size = across
        .min(2.0 * room.half_height * drawing.scale)
        .clamp(NAME.0, NAME.1);
    let _ = writeln!(
        text,
        "<text class=\"name\" x=\"{:.1}\" y=\"{:.1}\" style=\"font-size:{size:.1}px\">{name}</text>",
        drawing.x(room.at.x),
        drawing.y(room.at.y),
    );
}

/// Feed arrow, pitch and width below the strip.
fn measures(text: &mut String, layout: &Layout, drawing: &Frame, length: f64) {
    let y = drawing.bottom + 18.0;
    let (from, to) = (drawing.x(0.0), drawing.x(layout.pitch_mm));
    let _ = writeln!(
        text,
        "<path class=\"line\" d=\"M{from:.1} {a:.1}v12M{to:.1} {a:.1}v12M{from:.1} {y:.1}H{to:.1}\"/>\n\
         <text x=\"{from:.1}\" y=\"{:.1}\">pitch {:.2} mm, width {:.2} mm, least distance {:.2} mm, to the edges {:.2} mm</text>",
        y + 22.0,
        layout.pitch_mm,
        layout.width_mm,
        layout.clearance_mm,
        layout.edge_clearance_mm,
        a = y - 6.0,
    );
    let end = drawing.x(length);
    let _ = writeln!(
        text,
        "<path class=\"line\" d=\"M{:.1} {y:.1}H{end:.1}m-8 -4l8 4l-8 4\"/>\n\
         <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">feed</text>",
        end - 70.0,
        end - 76.0,
        y + 4.0
    );
}

/// From millimetres on the strip to the picture, the second axis down.
struct Frame {
    scale: f64,
    bottom: f64,
}

impl Frame {
    fn x(&self, mm: f64) -> f64 {
        MARGIN + mm * self.scale
    }

    fn y(&self, mm: f64) -> f64 {
        self.bottom - mm * self.scale
    }

    fn path(&self, d: &mut String, path: &[Piece]) {
        for (n, piece) in path.iter().enumerate() {
            if n == 0 {
                let (x, y) = (self.x(piece.from.x), self.y(piece.from.y));
                let _ = write!(d, "M{x:.2} {y:.2}");
            }
            let (x, y) = (self.x(piece.to.x), self.y(piece.to.y));
            match &piece.arc {
                None => {
                    let _ = write!(d, "L{x:.2} {y:.2}");
                }
                Some(arc) => {
                    let radius = arc.radius * self.scale;
                    let large = u8::from(arc.sweep.abs() > std::f64::consts::PI);
                    // Turned over with the axis.
                    let sweep = u8::from(arc.sweep < 0.0);
                    let _ = write!(
                        d,
                        "A{radius:.2} {radius:.2} 0 {large} {sweep} {x:.2} {y:.2}"
                    );
                }
            }
        }
        d.push('Z');
    }
}

fn escaped(text: &str) -> String {
    text.chars().fold(String::new(), |mut safe, c| {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c if c.is_control() => safe.push(' '),
            c => safe.push(c),
        }
        safe
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::layout::Kind;
    use crate::outline::Vertex;

    #[test]
    fn blanks_hide_the_scrap_and_a_name_is_no_larger_than_its_metal() {
        // A ring of 1000 mm whose posts are 10 mm wide.
        let square = |low: f64, high: f64| {
            [(low, low), (high, low), (high, high), (low, high)]
                .map(|(x, y)| Vertex::corner(x, y))
                .to_vec()
        };
        let ring = Outline::new(&square(0.0, 1000.0), &[square(10.0, 990.0)]).unwrap();
        let layout = Layout {
            kind: Kind::Single,
            angle_deg: 0.0,
            pitch_mm: 1010.0,
            width_mm: 1020.0,
            needed_width_mm: 1020.0,
            placements: vec![Placement {
                part: 0,
                x_mm: 0.0,
                y_mm: 10.0,
                rot_deg: 0.0,
                mirrored: false,
            }],
            utilisation: 0.04,
            clearance_mm: 10.0,
            edge_clearance_mm: 10.0,
            bound: 0.04,
        };
        let drawn = svg(&layout, &[&ring], "ring");
        assert!(drawn.contains("font-size:7.0px\">A1<"), "{drawn}");
        // The blanks of the next pitch are as dense as the others.
        assert!(drawn.contains("class=\"blank ghost\""), "{drawn}");
        assert!(!drawn.contains("{opacity"), "{drawn}");
    }
}
