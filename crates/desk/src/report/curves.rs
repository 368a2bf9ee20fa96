//! Two drawings for paper: the content day by day and the spread of the times.

use std::fmt::Write as _;

use whole::findings::{CoilToCar, Day};

use super::course::weekday;
use super::number::{number, percent};
use super::strip::{CAN_DO, NEEDED, round_step};

const WIDTH: f64 = 960.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 30.0;

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

fn begin(height: f64, title: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" \
         font-family=\"system-ui, sans-serif\" font-size=\"12\" fill=\"#222\" role=\"img\">\n\
         <title>{title}</title>\n"
    )
}

/// Round marks across a panel from `floor` up to `top`.
fn marks(drawing: &mut String, most: f64, floor: f64, top: f64, label: impl Fn(f64) -> String) {
    let mut at = 0.0;
    while at <= most {
        let y = floor - at / most * (floor - top);
        let _ = writeln!(
            drawing,
            "<line x1=\"{LEFT}\" x2=\"{}\" y1=\"{y:.1}\" y2=\"{y:.1}\" stroke=\"#ddd\"/>\
             <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            WIDTH - RIGHT,
            LEFT - 6.0,
            y + 4.0,
            label(at)
        );
        at += most / 4.0;
    }
}

/// A round figure that four even steps reach from 0.
fn full(most: f64) -> f64 {
    let step = round_step(most.max(1.0) / 2.0).max(1.0);
    (most / (4.0 * step)).ceil().max(1.0) * 4.0 * step
}

/// Cars finished a day as bars, the content as a line below them.
pub(super) fn course(days: &[Day]) -> String {
    const HEIGHT: f64 = 330.0;
    const UPPER: (f64, f64) = (140.0, 24.0);
    const LOWER: (f64, f64) = (290.0, 184.0);
    let step = (WIDTH - LEFT - RIGHT) / days.len().max(1) as f64;
    let most = |of: fn(&Day) -> f64| full(days.iter().map(of).fold(0.0, f64::max));
    let (cars, jobs) = (most(|day| day.cars.mean), most(|day| day.jobs.mean));
    let mut drawing = begin(HEIGHT, "Cars finished and content, day by day");
    let whole = |value| number(value, 0);
    for (title, y) in [("cars finished", 14.0), ("in the plant", 174.0)] {
        let _ = writeln!(
            drawing,
            "<text x=\"4\" y=\"{y}\" font-weight=\"600\">{title}</text>"
        );
    }
    marks(&mut drawing, cars, UPPER.0, UPPER.1, whole);
    marks(&mut drawing, jobs, LOWER.0, LOWER.1, whole);
    let mut line = String::new();
    for (n, day) in days.iter().enumerate() {
        let x = LEFT + step * n as f64;
        let tall = day.cars.mean / cars * (UPPER.0 - UPPER.1);
        let _ = writeln!(
            drawing,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{tall:.1}\" fill=\"{CAN_DO}\"/>\
             <text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
            x + step * 0.15,
            UPPER.0 - tall,
            step * 0.7,
            x + step * 0.5,
            LOWER.0 + 18.0,
            if days.len() > 28 {
                &weekday(day)[..1]
            } else {
                weekday(day)
            }
        );
        let y = LOWER.0 - day.jobs.mean / jobs * (LOWER.0 - LOWER.1);
        let begin = if n == 0 { "M" } else { "L" };
        let _ = write!(line, "{begin}{x:.1} {y:.1}H{:.1}", x + step);
    }
    let _ = writeln!(
        drawing,
        "<path d=\"{line}\" fill=\"none\" stroke=\"#222\" stroke-width=\"2\"/>\n</svg>"
    );
    drawing
}

/// The share of the cars that take at most so many days.
pub(super) fn spread(time: &CoilToCar) -> String {
    const HEIGHT: f64 = 280.0;
    const FLOOR: f64 = 230.0;
    const TOP: f64 = 34.0;
    let days = &time.spread.days;
    let last = full(days.last().copied().unwrap_or(1.0).max(time.target_days));
    let x = |days: f64| LEFT + days / last * (WIDTH - LEFT - RIGHT);
    let y = |share: f64| FLOOR - share * (FLOOR - TOP);
    let mut drawing = begin(HEIGHT, "Share of the cars by days from coil to car");
    marks(&mut drawing, 1.0, FLOOR, TOP, |share| percent(share, 0));
    let steps = days.len().saturating_sub(1).max(1) as f64;
    let even = days.iter().enumerate();
    let mut points: Vec<(f64, f64)> = even.map(|(n, days)| (*days, n as f64 / steps)).collect();
    // Near the end the points lie far apart; the target's share is known.
    let within = time.spread.within_target.unwrap_or(0.0);
    if within > 0.0 && within < 1.0 {
        points.push((time.target_days, within));
        points.sort_by(|a, b| a.1.total_cmp(&b.1));
    }
    let mut line = String::new();
    for (n, (days, share)) in points.iter().enumerate() {
        let begin = if n == 0 { "M" } else { "L" };
        let _ = write!(line, "{begin}{:.1} {:.1}", x(*days), y(*share));
    }
    let _ = writeln!(
        drawing,
        "<path d=\"{line}\" fill=\"none\" stroke=\"#222\" stroke-width=\"2\"/>"
    );
    for mark in 0..=4 {
        let at = last * f64::from(mark) / 4.0;
        let _ = writeln!(
            drawing,
            "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
            x(at),
            FLOOR + 18.0,
            number(at, usize::from(at.fract() != 0.0))
        );
    }
    let target = x(time.target_days);
    let _ = writeln!(
        drawing,
        "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">days from coil to car</text>\n\
         <line x1=\"{target:.1}\" x2=\"{target:.1}\" y1=\"{}\" y2=\"{FLOOR}\" stroke=\"{NEEDED}\" \
         stroke-width=\"2\" stroke-dasharray=\"8 4\"/>\
         <text x=\"{:.1}\" y=\"{}\" text-anchor=\"end\" fill=\"{NEEDED}\" \
         font-weight=\"600\">target {}: {} within</text>\n</svg>",
        WIDTH - RIGHT,
        FLOOR + 38.0,
        TOP - 12.0,
        target - 6.0,
        TOP - 14.0,
        number(time.target_days, 1),
        percent(within, 1)
    );
    drawing
}

#[cfg(test)]
mod tests {
    use super::full;

    #[test]
    fn four_even_steps_reach_what_is_drawn() {
        for most in [0.0, 3.0, 5.6, 270.0, 19_500.0] {
            let full = full(most);
            assert!(full >= most && full > 0.0, "{most}: {full}");
            assert_eq!((full / 4.0).fract(), 0.0, "{most}: {full}");
        }
    }
}
