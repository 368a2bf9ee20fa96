//! A robot's work on a car against time, drawn as SVG: a row for each tool, its
//! changes, and how long adhesive stays open.

use std::fmt::Write as _;

use whole::assembly::{Bead, CellStep, RobotCell};

use super::escaped;
use super::number::number;
use super::strip::{NEEDED, round_step};

const WIDTH: f64 = 960.0;
const LEFT: f64 = 240.0;
const RIGHT: f64 = 40.0;
const TOP: f64 = 84.0;
const ROW: f64 = 34.0;
const BAR: f64 = 20.0;
/// A line of the list below.
const LINE: f64 = 19.0;
const INK: &str = "#1c2226";
const QUIET: &str = "#56616b";
const MISSED: &str = "#b3261e";

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// Draws the cell.
pub fn cell_svg(cell: &RobotCell) -> String {
    let tools = tools(cell);
    let beads: Vec<&Bead> = cell.beads.iter().collect();
    let rows = tools.len() + beads.len();
    let floor = TOP + ROW * rows as f64 + 54.0;
    let lines = cell.steps.len() + usize::from(back_from(cell).is_some());
    let height = floor + LINE * lines as f64 + 10.0;
    let bead_end = |bead: &&Bead| start(cell, bead) + bead.open_s;
    let longest = beads.iter().map(bead_end).fold(0.0, f64::max);
    // Adhesive that stays open for many cars does not squeeze the work.
    let full = cell.seconds.max(cell.cycle_s);
    let full = full.max(longest.min(2.0 * full)).max(1.0);
    let x = move |seconds: f64| LEFT + seconds.min(full) / full * (WIDTH - LEFT - RIGHT);
    let mut drawing = head(cell, height);
    axis(&mut drawing, full, floor, &x);
    for (row, tool) in tools.iter().enumerate() {
        let y = TOP + ROW * row as f64;
        label(&mut drawing, y, tool.as_deref().unwrap_or("no tool"));
        for (n, step) in (1..).zip(&cell.steps) {
            if step.tool == *tool {
                bar(&mut drawing, (n, step), y, &x);
            }
        }
    }
    if let Some(done) = back_from(cell) {
        change(&mut drawing, (done, cell.seconds), TOP, &x);
    }
    for (n, bead) in beads.iter().enumerate() {
        let y = TOP + ROW * (tools.len() + n) as f64;
        open(&mut drawing, cell, bead, y, &x);
    }
    cycle(&mut drawing, cell, floor, &x);
    list(&mut drawing, cell, floor);
    drawing.push_str("</svg>\n");
    drawing
}

/// The tools in the order of their first use.
fn tools(cell: &RobotCell) -> Vec<Option<String>> {
    let mut tools = Vec::new();
    for step in &cell.steps {
        if !tools.contains(&step.tool) {
            tools.push(step.tool.clone());
        }
    }
    tools
}

/// When the change back to the first tool starts, which ends the car's time.
fn back_from(cell: &RobotCell) -> Option<f64> {
    let done = cell.steps.iter().map(|step| step.end_s).fold(0.0, f64::max);
    (cell.seconds - done > 0.05).then_some(done)
}

/// When a bead is begun.
fn start(cell: &RobotCell, bead: &Bead) -> f64 {
    let step = cell.steps.iter().find(|step| step.task == bead.task);
    step.map_or(0.0, |step| step.start_s)
}

fn head(cell: &RobotCell, height: f64) -> String {
    let place = cell.line.as_deref().unwrap_or(&cell.shop);
    let title = format!("{} on {place}", cell.robot);
    let told = match &cell.stuck {
        Some(stuck) => stuck.clone(),
        None if cell.spare_s < 0.0 => format!(
            "{} s on a car, {} s more than the {} s it may take",
            number(cell.seconds, 1),
            number(-cell.spare_s, 1),
            number(cell.cycle_s, 1)
        ),
        None => format!(
            "{} s on a car of the {} s it may take, {} s left; {} tool changes",
            number(cell.seconds, 1),
            number(cell.cycle_s, 1),
            number(cell.spare_s, 1),
            cell.changes
        ),
    };
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" \
         viewBox=\"0 0 {WIDTH} {height}\" font-family=\"system-ui, sans-serif\" font-size=\"13\" \
         role=\"img\" aria-label=\"{0}: {1}\">\n<title>{0}</title>\n<defs>\
         <pattern id=\"change\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\">\
         <rect width=\"4\" height=\"4\" fill=\"#fff\"/>\
         <line x1=\"1\" x2=\"1\" y2=\"4\" stroke=\"{QUIET}\" stroke-width=\"1.2\"/></pattern>\
         </defs>\n<rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#fff\"/>\n\
         <text x=\"14\" y=\"26\" font-size=\"16\" font-weight=\"600\" fill=\"{INK}\">{0}</text>\n\
         <text x=\"14\" y=\"46\" fill=\"{INK}\">{1}</text>\n",
        escaped(&title),
        escaped(&told)
    )
}

fn axis(drawing: &mut String, full: f64, height: f64, x: &impl Fn(f64) -> f64) {
    let step = round_step(full);
    let mut at = 0.0;
    while at <= full + 1e-9 {
        let _ = writeln!(
            drawing,
            "<line x1=\"{0:.1}\" x2=\"{0:.1}\" y1=\"{1}\" y2=\"{2}\" stroke=\"#e3e7ea\"/>\
             <text x=\"{0:.1}\" y=\"{3}\" text-anchor=\"middle\" fill=\"{QUIET}\" \
             font-size=\"12\">{4}</text>",
            x(at),
            TOP - 8.0,
            height - 46.0,
            TOP - 14.0,
            number(at, 0)
        );
        at += step;
    }
    let _ = writeln!(
        drawing,
        "<rect x=\"{LEFT}\" y=\"{0}\" width=\"22\" height=\"12\" fill=\"url(#change)\" \
         stroke=\"{QUIET}\" stroke-width=\".6\"/><text x=\"{1}\" y=\"{2}\" fill=\"{INK}\">tool \
         change</text><text x=\"{3}\" y=\"{2}\" fill=\"{QUIET}\">seconds after the car \
         arrives</text>",
        height - 26.0,
        LEFT + 28.0,
        height - 16.0,
        LEFT + 130.0,
    );
}

fn label(drawing: &mut String, y: f64, word: &str) {
    let _ = writeln!(
        drawing,
        "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"{INK}\">{}</text>",
        LEFT - 10.0,
        y + BAR / 2.0 + 5.0,
        escaped(word)
    );
}

/// A tool change from one time to another.
fn change(drawing: &mut String, (from, to): (f64, f64), y: f64, x: &impl Fn(f64) -> f64) {
    let _ = writeln!(
        drawing,
        "<rect x=\"{:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{BAR}\" \
         fill=\"url(#change)\" stroke=\"{QUIET}\" stroke-width=\".6\"/>",
        x(from),
        (x(to) - x(from)).max(1.0)
    );
}

fn bar(drawing: &mut String, (n, step): (u32, &CellStep), y: f64, x: &impl Fn(f64) -> f64) {
    let (from, to) = (x(step.start_s), x(step.end_s));
    if step.change_s > 0.0 {
        change(drawing, (step.start_s - step.change_s, step.start_s), y, x);
    }
    let _ = writeln!(
        drawing,
        "<rect x=\"{from:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"#dfece9\" \
         stroke=\"#1d6b61\"><title>{1}: {2} to {3} s</title></rect>\
         <text x=\"{4:.1}\" y=\"{5:.1}\" fill=\"{INK}\" font-size=\"12\">{n}</text>",
        (to - from).max(1.0),
        escaped(&step.task),
        number(step.start_s, 1),
        number(step.end_s, 1),
        from + 4.0,
        y + BAR / 2.0 + 4.0,
    );
}

/// The steps by their numbers: a short bar has no room for its name.
fn list(drawing: &mut String, cell: &RobotCell, floor: f64) {
    for (n, step) in (1..).zip(&cell.steps) {
        let change = if step.change_s > 0.0 {
            format!(", after a tool change of {} s", number(step.change_s, 1))
        } else {
            String::new()
        };
        let _ = writeln!(
            drawing,
            "<text x=\"{LEFT}\" y=\"{:.1}\" fill=\"{INK}\">{n}. {}: {} to {} s{change}</text>",
            floor + LINE * f64::from(n) - 4.0,
            escaped(&step.task),
            number(step.start_s, 1),
            number(step.end_s, 1),
        );
    }
    if let Some(done) = back_from(cell) {
        let _ = writeln!(
            drawing,
            "<text x=\"{LEFT}\" y=\"{:.1}\" fill=\"{INK}\">Back to the first tool: {} to {} \
             s</text>",
            floor + LINE * (cell.steps.len() + 1) as f64 - 4.0,
            number(done, 1),
            number(cell.seconds, 1),
        );
    }
}

/// From the start of laying to the part set, and on until the adhesive dries.
fn open(drawing: &mut String, cell: &RobotCell, bead: &Bead, y: f64, x: &impl Fn(f64) -> f64) {
    label(drawing, y, &format!("{} stays open", bead.task));
    let from = start(cell, bead);
    let (set, dry) = (from + bead.path_s, from + bead.open_s);
    let middle = y + BAR / 2.0;
    let told = format!(
        "set after {} s of {}; bears a stop of {} s{}",
        number(bead.path_s, 0),
        number(bead.open_s, 0),
        number(bead.margin_s, 0),
        if bead.holds {
            ""
        } else {
            ", less than the plant asks"
        }
    );
    let colour = if bead.holds { INK } else { MISSED };
    let _ = writeln!(
        drawing,
        "<line x1=\"{0:.1}\" x2=\"{1:.1}\" y1=\"{middle:.1}\" y2=\"{middle:.1}\" \
         stroke=\"{QUIET}\" stroke-dasharray=\"3 3\"/>\
         <line x1=\"{0:.1}\" x2=\"{2:.1}\" y1=\"{middle:.1}\" y2=\"{middle:.1}\" \
         stroke=\"{INK}\" stroke-width=\"4\"/>\
         <text x=\"{3:.1}\" y=\"{4:.1}\" fill=\"{colour}\" font-size=\"12\">{5}</text>",
        x(from),
        x(dry),
        x(set),
        x(from) + 4.0,
        middle - 5.0,
        escaped(&told)
    );
}

fn cycle(drawing: &mut String, cell: &RobotCell, height: f64, x: &impl Fn(f64) -> f64) {
    let at = x(cell.cycle_s);
    let _ = writeln!(
        drawing,
        "<line x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{0}\" y2=\"{1}\" stroke=\"{NEEDED}\" \
         stroke-width=\"2.5\" stroke-dasharray=\"8 4\"/><text x=\"{2:.1}\" y=\"{3}\" \
         text-anchor=\"end\" fill=\"{NEEDED}\" font-weight=\"600\">{4} s allowed</text>",
        TOP - 8.0,
        height - 46.0,
        at - 5.0,
        height - 48.0,
        number(cell.cycle_s, 1)
    );
}
