//! The paint line drawn to scale along its length as SVG: a row a step, ovens with
//! the way to metal temperature and the least time at it.

use std::fmt::Write as _;

use whole::paint::{BakeWindow, Paint, PaintStep};

use super::escaped;
use super::number::number;
use super::strip::{CAN_DO, NEEDED, round_step};

const WIDTH: f64 = 1120.0;
const LEFT: f64 = 170.0;
const RIGHT: f64 = 300.0;
const TOP: f64 = 92.0;
const ROW: f64 = 22.0;
const BAR: f64 = 13.0;
const INK: &str = "#1c2226";
const QUIET: &str = "#56616b";
const BROKEN: &str = "#b3261e";
const PALE: &str = "#c9d3e2";

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// Draws the line.
pub fn paint_svg(plan: &Paint) -> String {
    let floor = TOP + ROW * plan.steps.len() as f64 + 6.0;
    let height = floor + 40.0;
    let full = plan.length_m.max(1.0);
    let x = move |metres: f64| LEFT + metres / full * (WIDTH - LEFT - RIGHT);
    let mut drawing = head(plan, height);
    axis(&mut drawing, full, floor, &x);
    for (row, step) in plan.steps.iter().enumerate() {
        let y = TOP + ROW * row as f64;
        let broken = plan
            .broken
            .iter()
            .any(|p| p.row == Some(step.at.row) && p.table == "coats");
        one(&mut drawing, step, broken, y, &x);
    }
    drawing.push_str("</svg>\n");
    drawing
}

fn head(plan: &Paint, height: f64) -> String {
    let title = format!(
        "{}: {} m from the first door to the last, {} h, a good body each {} s",
        escaped(&plan.shop),
        number(plan.length_m, 0),
        number(plan.hours, 1),
        number(plan.takt_s.value, 0)
    );
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" \
         font-family=\"system-ui, sans-serif\" font-size=\"12\" fill=\"{INK}\" role=\"img\">\n\
         <title>{title}</title>\n\
         <defs><pattern id=\"warm\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"#fff\"/>\
         <line x1=\"0\" x2=\"0\" y1=\"0\" y2=\"6\" stroke=\"{NEEDED}\" stroke-width=\"4\"/>\
         </pattern></defs>\n\
         <text x=\"16\" y=\"24\" font-size=\"15\" font-weight=\"600\">{title}</text>\n\
         <text x=\"16\" y=\"46\" fill=\"{QUIET}\">solid green: laid on; pale: on the way; hatched: \
         the metal heats up; solid blue: at metal temperature; mark: the least of it; red: does \
         not hold</text>\n"
    )
}

fn axis(drawing: &mut String, full: f64, floor: f64, x: &impl Fn(f64) -> f64) {
    let step = round_step(full / 6.0).max(1.0);
    let mut at = 0.0;
    while at <= full {
        let _ = writeln!(
            drawing,
            "<line x1=\"{0:.1}\" x2=\"{0:.1}\" y1=\"{1}\" y2=\"{floor}\" stroke=\"#ddd\"/>\
             <text x=\"{0:.1}\" y=\"{2}\" text-anchor=\"middle\" fill=\"{QUIET}\">{3}</text>",
            x(at),
            TOP - 8.0,
            floor + 16.0,
            number(at, 0)
        );
        at += step;
    }
    let _ = writeln!(
        drawing,
        "<text x=\"{:.1}\" y=\"{}\" fill=\"{QUIET}\">m along the line</text>",
        x(0.0),
        floor + 34.0
    );
}

fn one(drawing: &mut String, step: &PaintStep, broken: bool, y: f64, x: &impl Fn(f64) -> f64) {
    let ink = if broken { BROKEN } else { INK };
    let _ = writeln!(
        drawing,
        "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"{ink}\">{}</text>",
        LEFT - 10.0,
        y + BAR - 2.0,
        escaped(&step.coat)
    );
    let to = step.from_m + step.length_m;
    match &step.window {
        Some(window) => oven(drawing, step, window, y, x),
        None => {
            let fill = if step.film.is_some() { CAN_DO } else { PALE };
            bar(drawing, x(step.from_m), x(to), y, fill);
        }
    }
    let _ = writeln!(
        drawing,
        "<text x=\"{:.1}\" y=\"{:.1}\" fill=\"{ink}\">{}</text>",
        WIDTH - RIGHT + 12.0,
        y + BAR - 2.0,
        escaped(&told(step))
    );
}

fn bar(drawing: &mut String, from: f64, to: f64, y: f64, fill: &str) {
    let _ = writeln!(
        drawing,
        "<rect x=\"{from:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"{fill}\" \
         stroke=\"{QUIET}\" stroke-width=\"0.5\"/>",
        (to - from).max(1.0)
    );
}

fn oven(
    drawing: &mut String,
    step: &PaintStep,
    window: &BakeWindow,
    y: f64,
    x: &impl Fn(f64) -> f64,
) {
    let to = step.from_m + step.length_m;
    let hot = (step.from_m + window.heat_up_min * step.speed_m_min).min(to);
    bar(drawing, x(step.from_m), x(hot), y, "url(#warm)");
    bar(drawing, x(hot), x(to), y, NEEDED);
    if let Some(least) = window.least_min {
        let at = x(hot + least * step.speed_m_min);
        let _ = writeln!(
            drawing,
            "<line x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{:.1}\" y2=\"{:.1}\" stroke=\"{INK}\" \
             stroke-width=\"2\"/>",
            y - 3.0,
            y + BAR + 3.0
        );
    }
}

/// A step's times in words.
fn told(step: &PaintStep) -> String {
    let plain = format!(
        "{} m, {} min",
        number(step.length_m, 1),
        number(step.dwell_min, 1)
    );
    let Some(window) = &step.window else {
        return plain;
    };
    let metal = number(window.at_metal_min.value, 1);
    let bounds = match (window.least_min, window.most_min) {
        (Some(least), Some(most)) => format!(" of {} to {}", number(least, 0), number(most, 0)),
        (Some(least), None) => format!(" of at least {}", number(least, 0)),
        (None, Some(most)) => format!(" of at most {}", number(most, 0)),
        (None, None) => String::new(),
    };
    format!("{plain}; metal {metal}{bounds} min")
}
