//! The plant as one strip from coil to car, drawn as SVG: for each shop what it
//! could make alone, what it makes in the flow, and the needed rate across.

use std::fmt::Write as _;

use super::escaped;
use super::number::number;

/// A shop of the strip.
pub struct Shop {
    /// Its name.
    pub name: String,
    /// Cars a week that it could make alone.
    pub alone: Option<f64>,
    /// Cars a week that it sent on in the flow; none draws the plant's.
    pub made: Option<f64>,
    /// Cars and pieces in it.
    pub content: f64,
}

/// What is drawn.
pub struct Strip {
    /// The plant's name.
    pub plant: String,
    /// The shops from coil to car.
    pub shops: Vec<Shop>,
    /// Cars a week needed.
    pub needed: f64,
    /// Cars a week made in the flow.
    pub made: f64,
    /// Half-width of its interval.
    pub half_width: f64,
    /// Whether the needed rate is made.
    pub met: bool,
}

const WIDTH: f64 = 960.0;
const HEIGHT: f64 = 380.0;
const LEFT: f64 = 56.0;
const RIGHT: f64 = 124.0;
/// Where the bars begin and end, from above.
const TOP: f64 = 76.0;
const FLOOR: f64 = 300.0;
/// Width of a bar as a part of its shop's.
const BAR: f64 = 0.34;

/// What it needs, what it can do, and what falls short; each also carries a
/// label or a pattern, so that nothing rests on hue alone.
pub(super) const NEEDED: &str = "#1f4e9c";
pub(super) const CAN_DO: &str = "#2f8f83";
const SHORT: &str = "#b3261e";

/// Draws the strip.
pub fn svg(strip: &Strip) -> String {
    let most = strip
        .shops
        .iter()
        .flat_map(|shop| [shop.alone, shop.made])
        .flatten()
        .chain([strip.needed, strip.made])
        .fold(1.0, f64::max);
    let step = round_step(most);
    let full = (most / step).ceil() * step;
    let up = |cars: f64| FLOOR - cars / full * (FLOOR - TOP);
    let mut drawing = head(strip);
    axis(&mut drawing, full, step, &up);
    let each = (WIDTH - LEFT - RIGHT) / strip.shops.len().max(1) as f64;
    let left = |n: usize| LEFT + each * n as f64;
    for (n, shop) in strip.shops.iter().enumerate() {
        column(&mut drawing, strip, shop, left(n), each, &up);
    }
    needed_line(&mut drawing, strip, &up);
    // Last, so that the needed line does not cross a number out.
    for (n, shop) in strip.shops.iter().enumerate() {
        if let Some(alone) = shop.alone {
            alone_label(&mut drawing, alone, left(n) + each * (0.5 - BAR / 2.0), &up);
        }
    }
    drawing.push_str("</svg>\n");
    drawing
}

/// A step of 1, 2 or 5 times a power of ten that gives four to ten marks.
pub(super) fn round_step(most: f64) -> f64 {
    let mut step = 1.0;
    for factor in [2.0, 2.5, 2.0].into_iter().cycle() {
        if most / step <= 8.0 {
            break;
        }
        step *= factor;
    }
    step
}

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

fn head(strip: &Strip) -> String {
    let mut drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
         font-family=\"system-ui, sans-serif\" font-size=\"13\" fill=\"#222\" role=\"img\">\n\
         <defs><pattern id=\"alone\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"#eef4f3\"/>\
         <line y2=\"6\" stroke=\"{CAN_DO}\" stroke-width=\"1.5\"/></pattern></defs>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#fff\"/>\n"
    );
    let title = format!(
        "{}: {} of {} cars a week",
        strip.plant,
        number(strip.made, 0),
        number(strip.needed, 0)
    );
    let _ = writeln!(drawing, "<title>{}</title>", escaped(&title));
    let _ = writeln!(
        drawing,
        "<text x=\"{LEFT}\" y=\"28\" font-size=\"16\" font-weight=\"600\">{}</text>",
        escaped(&title)
    );
    let _ = writeln!(
        drawing,
        "<rect x=\"{LEFT}\" y=\"40\" width=\"14\" height=\"14\" fill=\"url(#alone)\" \
         stroke=\"{CAN_DO}\"/><text x=\"{}\" y=\"52\">each shop alone</text>\n\
         <rect x=\"{}\" y=\"40\" width=\"14\" height=\"14\" fill=\"{CAN_DO}\"/>\
         <text x=\"{}\" y=\"52\">in the flow, ± {}</text>",
        LEFT + 20.0,
        LEFT + 150.0,
        LEFT + 170.0,
        number(strip.half_width, 0)
    );
    drawing
}

fn axis(drawing: &mut String, full: f64, step: f64, up: &impl Fn(f64) -> f64) {
    let mut cars = 0.0;
    while cars <= full {
        let y = up(cars);
        let _ = writeln!(
            drawing,
            "<line x1=\"{LEFT}\" x2=\"{}\" y1=\"{y:.1}\" y2=\"{y:.1}\" stroke=\"#ddd\"/>\
             <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            WIDTH - RIGHT,
            LEFT - 6.0,
            y + 4.0,
            number(cars, 0)
        );
        cars += step;
    }
}

fn column(
    drawing: &mut String,
    strip: &Strip,
    shop: &Shop,
    x: f64,
    width: f64,
    up: &impl Fn(f64) -> f64,
) {
    let (bar, middle) = (width * BAR, x + width / 2.0);
    if let Some(alone) = shop.alone {
        let short = alone < strip.needed;
        let colour = if short { SHORT } else { CAN_DO };
        let y = up(alone);
        let _ = writeln!(
            drawing,
            "<rect x=\"{:.1}\" y=\"{y:.1}\" width=\"{bar:.1}\" height=\"{:.1}\" \
             fill=\"url(#alone)\" stroke=\"{colour}\"/>",
            middle - bar,
            FLOOR - y
        );
        if short {
            let _ = writeln!(
                drawing,
                "<text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"{SHORT}\" \
                 font-weight=\"600\">not met</text>",
                FLOOR + 54.0
            );
        }
    }
    let y = up(shop.made.unwrap_or(strip.made));
    let _ = writeln!(
        drawing,
        "<rect x=\"{middle:.1}\" y=\"{y:.1}\" width=\"{bar:.1}\" height=\"{:.1}\" \
         fill=\"{CAN_DO}\"/>\n\
         <text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-weight=\"600\">{}</text>\n\
         <text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"#555\">{} inside</text>",
        FLOOR - y,
        FLOOR + 20.0,
        escaped(&shop.name),
        FLOOR + 37.0,
        number(shop.content, 0)
    );
}

fn alone_label(drawing: &mut String, alone: f64, middle: f64, up: &impl Fn(f64) -> f64) {
    let y = up(alone) - 4.0;
    let text = number(alone, 0);
    // White behind the number keeps the lines off it.
    for halo in ["stroke=\"#fff\" stroke-width=\"4\" ", ""] {
        let _ = writeln!(
            drawing,
            "<text {halo}x=\"{middle:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" \
             font-size=\"12\">{text}</text>"
        );
    }
}

fn needed_line(drawing: &mut String, strip: &Strip, up: &impl Fn(f64) -> f64) {
    let y = up(strip.needed);
    let end = WIDTH - RIGHT;
    let _ = writeln!(
        drawing,
        "<line x1=\"{LEFT}\" x2=\"{end}\" y1=\"{y:.1}\" y2=\"{y:.1}\" stroke=\"{NEEDED}\" \
         stroke-width=\"2\" stroke-dasharray=\"8 4\"/>\
         <text x=\"{}\" y=\"{:.1}\" fill=\"{NEEDED}\" font-weight=\"600\">{} needed</text>",
        end + 6.0,
        y - 2.0,
        number(strip.needed, 0)
    );
    let (word, colour) = if strip.met {
        ("made", CAN_DO)
    } else {
        ("made, not met", SHORT)
    };
    let _ = writeln!(
        drawing,
        "<text x=\"{}\" y=\"{:.1}\" fill=\"{colour}\" font-weight=\"600\">{}</text>\
         <text x=\"{}\" y=\"{:.1}\" fill=\"{colour}\">{word}</text>",
        end + 6.0,
        y + 18.0,
        number(strip.made, 0),
        end + 6.0,
        y + 33.0
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip(name: &str) -> Strip {
        Strip {
            plant: name.to_owned(),
            shops: vec![
                Shop {
                    name: "body".to_owned(),
                    alone: Some(1_405.0),
                    made: Some(1_288.0),
                    content: 180.4,
                },
                Shop {
                    name: "paint".to_owned(),
                    alone: Some(1_300.0),
                    made: None,
                    content: 99.0,
                },
            ],
            needed: 1_400.0,
            made: 1_290.0,
            half_width: 6.0,
            met: false,
        }
    }

    #[test]
    fn a_shop_below_the_needed_rate_is_marked_in_words() {
        let drawing = svg(&strip("Merrow Quay"));
        assert_eq!(drawing.matches(">not met<").count(), 1);
        assert!(drawing.contains(">1,400 needed<"));
        assert!(drawing.contains("Merrow Quay: 1,290 of 1,400 cars a week"));
    }

    #[test]
    fn names_cannot_break_the_drawing() {
        let drawing = svg(&strip("R&D <north>"));
        assert!(drawing.contains("R&amp;D &lt;north&gt;"));
    }

    #[test]
    fn an_axis_has_few_round_marks() {
        for (most, step) in [(7.0, 1.0), (9.0, 2.0), (1_904.0, 500.0), (4_100.0, 1_000.0)] {
            assert_eq!(round_step(most), step, "up to {most}");
        }
    }
}
