//! SVG path data: the `d` of a path, all commands.
//!
//! Source of the grammar: W3C, Scalable Vector Graphics (SVG) 2, chapter 9,
//! Paths; of elliptical arcs its appendix on implementation notes.

use std::f64::consts::PI;

use super::{Problem, assembled, curve};
use crate::outline::{Outline, Vertex};
use crate::point::Point;

/// The usual tolerance of curves that are no arcs, mm.
pub const TOLERANCE_MM: f64 = 0.005;
/// A path of more points is no outline of a blank.
const MOST_POINTS: usize = 20_000;

/// Reads the outline that path data draws: the largest closed part and holes in
/// it. `mm` is the length of one unit. The second axis, which points down in
/// SVG, is turned up, so that the blank is not turned over.
///
/// # Errors
///
/// What does not follow the grammar, with its character; open parts; what makes
/// an outline unsound.
///
/// ```
/// let outline = strip::read::svg::outline("M0,0 h400 v-100 h-300 v-300 h-100 z", 1.0, 0.005)
///     .map_err(|problems| problems[0].to_string())?;
/// assert!((outline.area_mm2() - 70_000.0).abs() < 1e-6);
/// # Ok::<(), String>(())
/// ```
pub fn outline(data: &str, mm: f64, tolerance_mm: f64) -> Result<Outline, Vec<Problem>> {
    let mut reader = Reader {
        text: data.as_bytes(),
        at: 0,
        mm,
        tolerance: tolerance_mm,
        paths: Vec::new(),
        path: Vec::new(),
        start: Point::default(),
        here: Point::default(),
        handle: None,
        begun: false,
    };
    reader.read().map_err(|problem| vec![problem])?;
    assembled(reader.paths)
}

/// The control point that a smooth curve mirrors.
#[derive(Clone, Copy)]
enum Handle {
    Cubic(Point),
    Quadratic(Point),
}

struct Reader<'a> {
    text: &'a [u8],
    at: usize,
    mm: f64,
    tolerance: f64,
    paths: Vec<Vec<Vertex>>,
    path: Vec<Vertex>,
    start: Point,
    here: Point,
    handle: Option<Handle>,
    begun: bool,
}

impl Reader<'_> {
    fn read(&mut self) -> Result<(), Problem> {
        let mut command = None;
        loop {
            self.blanks(true);
            let Some(byte) = self.text.get(self.at).copied() else {
                break;
            };
            if byte.is_ascii_alphabetic() {
                self.at += 1;
                command = Some(byte);
                if byte.eq_ignore_ascii_case(&b'z') {
                    self.close(true)?;
                    command = None;
                    continue;
                }
            }
            let Some(byte) = command else {
                return Err(self.problem("a number without a command", "begin with M"));
            };
            if !self.begun && !byte.eq_ignore_ascii_case(&b'm') {
                return Err(self.problem(
                    "a path that begins elsewhere than with M",
                    "begin with M x y",
                ));
            }
            self.command(byte)?;
            // Further pairs after a move are lines.
            command = Some(match byte {
                b'm' => b'l',
                b'M' => b'L',
                other => other,
            });
            if self.path.len() > MOST_POINTS {
                return Err(self.problem("more points than a blank has", "simplify the path"));
            }
        }
        self.close(false)
    }

    fn problem(&self, what: &str, mend: &str) -> Problem {
        Problem::new(format!("character {}", self.at + 1), what, mend)
    }

    fn command(&mut self, byte: u8) -> Result<(), Problem> {
        let from = if byte.is_ascii_lowercase() {
            self.here
        } else {
            Point::default()
        };
        let smooth = self.handle.take();
        match byte.to_ascii_lowercase() {
            b'm' => {
                let to = from + self.pair()?;
                self.close(false)?;
                self.begun = true;
                self.start = to;
                self.here = to;
            }
            b'l' => {
                let to = from + self.pair()?;
                self.line(to);
            }
            b'h' => {
                let x = from.x + self.number()?;
                self.line(Point::new(x, self.here.y));
            }
            b'v' => {
                let y = from.y + self.number()?;
                self.line(Point::new(self.here.x, y));
            }
            b'c' => {
                let (one, two, to) = (self.pair()?, self.pair()?, self.pair()?);
                self.cubic(from + one, from + two, from + to);
            }
            b's' => {
                let (two, to) = (self.pair()?, self.pair()?);
                let one = match smooth {
                    Some(Handle::Cubic(handle)) => self.mirrored(handle),
                    _ => self.here,
                };
                self.cubic(one, from + two, from + to);
            }
            b'q' => {
                let (one, to) = (self.pair()?, self.pair()?);
                self.quadratic(from + one, from + to);
            }
            b't' => {
                let to = self.pair()?;
                let one = match smooth {
                    Some(Handle::Quadratic(handle)) => self.mirrored(handle),
                    _ => self.here,
                };
                self.quadratic(one, from + to);
            }
            b'a' => {
                let (rx, ry) = (self.number()?, self.number()?);
                let turn = self.number()?.to_radians();
                let (large, sweep) = (self.flag()?, self.flag()?);
                let to = from + self.pair()?;
                self.ellipse(rx.abs(), ry.abs(), turn, large, sweep, to);
            }
            _ => return Err(self.unknown(byte)),
        }
        Ok(())
    }

    fn unknown(&mut self, byte: u8) -> Problem {
        self.at -= 1;
        let what = format!("an unknown command {}", char::from(byte));
        self.problem(&what, "use M, L, H, V, C, S, Q, T, A and Z")
    }

    /// Where a smooth curve's handle lies, opposite the last one's.
    fn mirrored(&self, handle: Point) -> Point {
        self.here * 2.0 - handle
    }

    /// The drawing's axes and unit into ours.
    fn ours(&self, point: Point) -> Point {
        Point::new(point.x * self.mm, -point.y * self.mm)
    }

    fn push(&mut self, from: Point, bulge: f64) {
        let from = self.ours(from);
        self.path.push(Vertex {
            x_mm: from.x,
            y_mm: from.y,
            // Turned over with the second axis.
            bulge: -bulge,
        });
    }

    fn line(&mut self, to: Point) {
        self.push(self.here, 0.0);
        self.here = to;
    }

    fn curve(&mut self, at: &dyn Fn(f64) -> Point, range: (f64, f64), to: Point) {
        let ours = |t: f64| {
            let point = at(t);
            Point::new(point.x * self.mm, -point.y * self.mm)
        };
        let mut vertices = Vec::new();
        curve::arcs(&ours, range, self.tolerance, &mut vertices);
        self.path.append(&mut vertices);
        self.here = to;
    }

    fn cubic(&mut self, one: Point, two: Point, to: Point) {
        let from = self.here;
        let at = |t: f64| {
            let s = 1.0 - t;
            from * (s * s * s)
                + one * (3.0 * s * s * t)
                + two * (3.0 * s * t * t)
                + to * (t * t * t)
        };
        self.curve(&at, (0.0, 1.0), to);
        self.handle = Some(Handle::Cubic(two));
    }

    fn quadratic(&mut self, one: Point, to: Point) {
        let from = self.here;
        let at = |t: f64| {
            let s = 1.0 - t;
            from * (s * s) + one * (2.0 * s * t) + to * (t * t)
        };
        self.curve(&at, (0.0, 1.0), to);
        self.handle = Some(Handle::Quadratic(one));
    }

    /// An elliptical arc by its ends; round ones stay arcs.
    fn ellipse(&mut self, rx: f64, ry: f64, turn: f64, large: bool, sweep: bool, to: Point) {
        let from = self.here;
        if from == to {
            return;
        }
        if rx == 0.0 || ry == 0.0 {
            self.line(to);
            return;
        }
        let back = Point::at_angle(-turn);
        let half = ((from - to) * 0.5).turned(back);
        // Radii too short are grown until they reach.
        let grow = (half.x / rx) * (half.x / rx) + (half.y / ry) * (half.y / ry);
        let grow = if grow > 1.0 { grow.sqrt() } else { 1.0 };
        let (rx, ry) = (rx * grow, ry * grow);
        let over = (rx * half.y) * (rx * half.y) + (ry * half.x) * (ry * half.x);
        let share = ((rx * ry) * (rx * ry) / over - 1.0).max(0.0).sqrt();
        let sign = if large == sweep { -1.0 } else { 1.0 };
        let centre = Point::new(rx * half.y / ry, -ry * half.x / rx) * (share * sign);
        let angle = |p: Point| libm::atan2((p.y - centre.y) / ry, (p.x - centre.x) / rx);
        let (first, last) = (angle(half), angle(-half));
        let mut span = last - first;
        if sweep && span < 0.0 {
            span += 2.0 * PI;
        } else if !sweep && span > 0.0 {
            span -= 2.0 * PI;
        }
        if (rx - ry).abs() <= 1e-9 * rx {
            self.push(from, libm::tan(span / 4.0));
            self.here = to;
            return;
        }
        let ahead = Point::at_angle(turn);
        let middle = (from + to) * 0.5;
        let at = |t: f64| {
            let on = Point::new(rx * libm::cos(t), ry * libm::sin(t)) + centre;
            on.turned(ahead) + middle
        };
        self.curve(&at, (first, first + span), to);
    }

    /// Ends a part. Without Z it must come back to its start.
    fn close(&mut self, asked: bool) -> Result<(), Problem> {
        if self.path.is_empty() {
            self.here = self.start;
            return Ok(());
        }
        let gap = self.here.distance(self.start) * self.mm;
        if !asked && gap > self.tolerance {
            let what = format!("an open part: its ends are {gap:.3} mm apart");
            return Err(self.problem(&what, "close it with Z"));
        }
        // The last point says where the closing edge starts; a repeated start
        // adds nothing.
        self.push(self.here, 0.0);
        self.here = self.start;
        self.paths.push(std::mem::take(&mut self.path));
        Ok(())
    }

    fn blanks(&mut self, comma: bool) {
        while let Some(byte) = self.text.get(self.at) {
            if !(byte.is_ascii_whitespace() || (comma && *byte == b',')) {
                break;
            }
            self.at += 1;
        }
    }

    fn pair(&mut self) -> Result<Point, Problem> {
        Ok(Point::new(self.number()?, self.number()?))
    }

    fn flag(&mut self) -> Result<bool, Problem> {
        self.blanks(true);
        let flag = match self.text.get(self.at) {
            Some(b'0') => false,
            Some(b'1') => true,
            _ => {
                return Err(self.problem("no flag of 0 or 1", "write A rx ry turn large sweep x y"));
            }
        };
        self.at += 1;
        Ok(flag)
    }

    fn number(&mut self) -> Result<f64, Problem> {
        self.blanks(true);
        let start = self.at;
        let mut end = start;
        let digit = |end: usize| self.text.get(end).is_some_and(u8::is_ascii_digit);
        if matches!(self.text.get(end), Some(b'+' | b'-')) {
            end += 1;
        }
        while digit(end) {
            end += 1;
        }
        if self.text.get(end) == Some(&b'.') {
            end += 1;
            while digit(end) {
                end += 1;
            }
        }
        if matches!(self.text.get(end), Some(b'e' | b'E')) {
            let mut past = end + 1;
            if matches!(self.text.get(past), Some(b'+' | b'-')) {
                past += 1;
            }
            if digit(past) {
                end = past;
                while digit(end) {
                    end += 1;
                }
            }
        }
        let read = std::str::from_utf8(&self.text[start..end])
            .ok()
            .and_then(|text| text.parse::<f64>().ok())
            .filter(|number| number.is_finite());
        match read {
            Some(number) => {
                self.at = end;
                Ok(number)
            }
            None => Err(self.problem(
                "no number where one belongs",
                "give every command its numbers",
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(data: &str) -> f64 {
        outline(data, 1.0, TOLERANCE_MM).unwrap().area_mm2()
    }

    #[test]
    fn a_round_arc_stays_an_arc() {
        let disc = area("M-100 0 A100 100 0 1 0 100 0 A100 100 0 1 0 -100 0 Z");
        assert!((disc - PI * 1e4).abs() < 1e-6, "{disc}");
    }

    #[test]
    fn an_ellipse_and_a_curve_come_within_the_tolerance() {
        let ellipse = area("M-300,0a300,120 0 1 1 600,0a300,120 0 1 1 -600,0z");
        assert!((ellipse - PI * 300.0 * 120.0).abs() < 5.0, "{ellipse}");
        // A parabola over a base of 200 and 100 high: two thirds of the rectangle.
        let parabola = area("M0 0Q100 200 200 0Z");
        assert!(
            (parabola - 200.0 * 100.0 * 2.0 / 3.0).abs() < 1.0,
            "{parabola}"
        );
        let same = area("M0 0C66.66666667 133.33333333 133.33333333 133.33333333 200 0Z");
        assert!((parabola - same).abs() < 1.0);
    }

    #[test]
    fn the_largest_part_is_the_blank_and_the_others_are_holes() {
        let frame = area("M10 10h20v20h-20z M0 0 100 0 100 100 0 100z");
        assert!((frame - 9600.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_is_told_with_its_place() {
        let told = |data: &str| outline(data, 1.0, 0.01).unwrap_err()[0].to_string();
        assert_eq!(
            told("M0 0 L10 0 L10 10"),
            "character 18: an open part: its ends are 14.142 mm apart; close it with Z"
        );
        assert_eq!(
            told("L0 0"),
            "character 2: a path that begins elsewhere than with M; begin with M x y"
        );
        assert_eq!(
            told("M0 0 X5"),
            "character 6: an unknown command X; use M, L, H, V, C, S, Q, T, A and Z"
        );
        assert_eq!(
            told(""),
            "the drawing holds no closed path; draw the blank as one closed outline"
        );
    }
}
