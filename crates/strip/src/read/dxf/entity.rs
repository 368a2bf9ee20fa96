//! The entities that draw edges.

use std::f64::consts::PI;

use super::{Pair, Problem, Stretch, spline, stretch};
use crate::outline::Vertex;
use crate::point::Point;
use crate::read::curve;

/// More points than the outline of a blank has.
const MOST_POINTS: usize = 50_000;

/// What has been read of the entities.
pub(super) struct Reading<'m> {
    pub(super) mm: f64,
    pub(super) tolerance: f64,
    pub(super) layer: Option<&'m str>,
    pub(super) closed: Vec<Vec<Vertex>>,
    pub(super) open: Vec<Stretch>,
    pub(super) passed_over: Vec<(String, usize)>,
    pub(super) problems: Vec<Problem>,
    /// The polyline whose vertices are being met.
    pub(super) gathering: Option<Gathering>,
}

struct Entity<'e, 'a> {
    kind: &'a str,
    line: usize,
    pairs: &'e [Pair<'a>],
}

impl<'a> Entity<'_, 'a> {
    fn text(&self, code: i32) -> Option<&'a str> {
        self.pairs
            .iter()
            .find(|pair| pair.code == code)
            .map(|pair| pair.value)
    }

    fn number_or(&self, code: i32, usual: f64) -> Result<f64, Problem> {
        match self.pairs.iter().find(|pair| pair.code == code) {
            None => Ok(usual),
            Some(pair) => number(pair),
        }
    }

    fn number(&self, code: i32) -> Result<f64, Problem> {
        match self.pairs.iter().find(|pair| pair.code == code) {
            Some(pair) => number(pair),
            None => Err(self.problem(
                format!("it lacks group {code}"),
                "save the drawing anew as DXF",
            )),
        }
    }

    fn flag(&self, code: i32) -> i64 {
        self.text(code)
            .and_then(|value| value.parse().ok())
            .unwrap_or(0)
    }

    fn point(&self, x: i32, y: i32) -> Result<Point, Problem> {
        Ok(Point::new(self.number(x)?, self.number(y)?))
    }

    fn place(&self) -> String {
        format!("{} at line {}", self.kind, self.line)
    }

    fn problem(&self, what: impl Into<String>, mend: &str) -> Problem {
        Problem::new(self.place(), what, mend)
    }

    /// Whether the entity is drawn on the back of the plane, its first axis
    /// turned round.
    fn is_turned_over(&self) -> Result<bool, Problem> {
        let normal = [
            self.number_or(210, 0.0)?,
            self.number_or(220, 0.0)?,
            self.number_or(230, 1.0)?,
        ];
        if normal[0].abs() > 1e-6 || normal[1].abs() > 1e-6 {
            return Err(self.problem(
                "it lies out of the drawing's plane",
                "lay the blank flat in the first two axes",
            ));
        }
        Ok(normal[2] < 0.0)
    }
}

fn number(pair: &Pair<'_>) -> Result<f64, Problem> {
    pair.value
        .parse::<f64>()
        .ok()
        .filter(|number| number.is_finite() && number.abs() < 1e12)
        .ok_or_else(|| {
            let shown: String = pair.value.chars().take(40).collect();
            Problem::new(
                format!("line {}", pair.line),
                format!("found {shown:?} where a number belongs"),
                "save the drawing anew as DXF",
            )
        })
}

impl Reading<'_> {
    /// Takes one entity, its kind in the first pair.
    pub(super) fn take(&mut self, pairs: &[Pair<'_>]) {
        let Some(first) = pairs.first() else { return };
        let entity = Entity {
            kind: first.value,
            line: first.line,
            pairs: &pairs[1..],
        };
        // Vertices lie on the layer of their polyline.
        let inherits = matches!(entity.kind, "VERTEX" | "SEQEND");
        if let Some(layer) = self.layer
            && !inherits
            && entity.text(8).unwrap_or("0") != layer
        {
            self.gathering_ends();
            return;
        }
        let taken = match entity.kind {
            "LWPOLYLINE" => self.polyline(&entity),
            "POLYLINE" => self.gather(&entity),
            "VERTEX" => self.vertex(&entity),
            "SEQEND" => {
                self.gathering_ends();
                Ok(())
            }
            "LINE" => self.line(&entity),
            "ARC" => self.arc(&entity),
            "CIRCLE" => self.circle(&entity),
            "ELLIPSE" => self.ellipse(&entity),
            "SPLINE" => self.spline(&entity),
            other => {
                self.pass_over(other);
                Ok(())
            }
        };
        if let Err(problem) = taken {
            // A file of another kind would give one for each line.
            if self.problems.len() < 20 {
                self.problems.push(problem);
            }
        }
    }

    fn pass_over(&mut self, kind: &str) {
        match self.passed_over.iter_mut().find(|(known, _)| known == kind) {
            Some((_, count)) => *count += 1,
            None => self.passed_over.push((kind.to_owned(), 1)),
        }
    }

    fn vertex_at(&self, point: Point, bulge: f64, over: bool) -> Vertex {
        let sign = if over { -1.0 } else { 1.0 };
        Vertex {
            x_mm: sign * point.x * self.mm,
            y_mm: point.y * self.mm,
            bulge: sign * bulge,
        }
    }

    fn finish(&mut self, mut vertices: Vec<Vertex>, closed: bool, place: String) {
        if closed {
            self.closed.push(vertices);
        } else if let Some(last) = vertices.pop() {
            let end = Point::new(last.x_mm, last.y_mm);
            if !vertices.is_empty() {
                self.open.push(stretch(vertices, end, place));
            }
        }
    }

    fn polyline(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let over = entity.is_turned_over()?;
        let mut vertices: Vec<Vertex> = Vec::new();
        let mut x = None;
        for pair in entity.pairs {
            match pair.code {
                10 => x = Some(number(pair)?),
                20 => {
                    let Some(x) = x.take() else { continue };
                    vertices.push(self.vertex_at(Point::new(x, number(pair)?), 0.0, over));
                }
                42 => {
                    let bulge = number(pair)?;
                    if let Some(last) = vertices.last_mut() {
                        last.bulge = if over { -bulge } else { bulge };
                    }
                }
                _ => {}
            }
        }
        if vertices.len() > MOST_POINTS {
            return Err(entity.problem("it has more points than a blank", "simplify it"));
        }
        self.finish(vertices, entity.flag(70) & 1 == 1, entity.place());
        Ok(())
    }

    fn gather(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        self.gathering_ends();
        let flags = entity.flag(70);
        if flags & (8 | 16 | 64) != 0 {
            return Err(entity.problem(
                "it is a line or mesh in space",
                "draw the blank flat, as a plain polyline",
            ));
        }
        self.gathering = Some(Gathering {
            vertices: Vec::new(),
            closed: flags & 1 == 1,
            over: entity.is_turned_over()?,
            place: entity.place(),
        });
        Ok(())
    }

    fn vertex(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let Some(gathering) = &self.gathering else {
            // Its polyline was on another layer or refused.
            return Ok(());
        };
        // The frame of a fitted curve draws nothing.
        if entity.flag(70) & 16 != 0 {
            return Ok(());
        }
        let vertex = self.vertex_at(
            entity.point(10, 20)?,
            entity.number_or(42, 0.0)?,
            gathering.over,
        );
        if let Some(gathering) = &mut self.gathering {
            if gathering.vertices.len() > MOST_POINTS {
                return Err(entity.problem("it has more points than a blank", "simplify it"));
            }
            gathering.vertices.push(vertex);
        }
        Ok(())
    }

    /// Ends the polyline whose vertices were gathered, if one was.
    pub(super) fn gathering_ends(&mut self) {
        if let Some(gathering) = self.gathering.take() {
            self.finish(gathering.vertices, gathering.closed, gathering.place);
        }
    }

    fn line(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let from = self.vertex_at(entity.point(10, 20)?, 0.0, false);
        let to = self.vertex_at(entity.point(11, 21)?, 0.0, false);
        self.finish(vec![from, to], false, entity.place());
        Ok(())
    }

    fn arc(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let over = entity.is_turned_over()?;
        let centre = entity.point(10, 20)?;
        let radius = self.radius(entity)?;
        let from = entity.number(50)?.to_radians();
        let to = entity.number(51)?.to_radians();
        // Always counter-clockwise.
        let mut sweep = (to - from).rem_euclid(2.0 * PI);
        if sweep == 0.0 {
            sweep = 2.0 * PI;
        }
        // In halves, since the bulge of a whole circle is infinite.
        let at = |share: f64| centre + Point::at_angle(from + share * sweep) * radius;
        let bulge = libm::tan(sweep / 8.0);
        let vertices = vec![
            self.vertex_at(at(0.0), bulge, over),
            self.vertex_at(at(0.5), bulge, over),
            self.vertex_at(at(1.0), 0.0, over),
        ];
        self.finish(vertices, false, entity.place());
        Ok(())
    }

    fn radius(&self, entity: &Entity<'_, '_>) -> Result<f64, Problem> {
        let radius = entity.number(40)?;
        if radius > 0.0 {
            Ok(radius)
        } else {
            Err(entity.problem(
                format!("its radius is {radius}"),
                "give it a radius above 0",
            ))
        }
    }

    fn circle(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let over = entity.is_turned_over()?;
        let centre = entity.point(10, 20)?;
        let radius = self.radius(entity)?;
        let vertices = [-radius, radius]
            .map(|x| self.vertex_at(centre + Point::new(x, 0.0), 1.0, over))
            .to_vec();
        self.finish(vertices, true, entity.place());
        Ok(())
    }

    fn ellipse(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let over = entity.is_turned_over()?;
        let centre = entity.point(10, 20)?;
        let major = entity.point(11, 21)?;
        let ratio = entity.number(40)?;
        let from = entity.number_or(41, 0.0)?;
        let mut sweep = entity.number_or(42, 2.0 * PI)? - from;
        if sweep <= 0.0 {
            sweep += 2.0 * PI;
        }
        let minor = Point::new(-major.y, major.x) * if over { -ratio } else { ratio };
        let scale = self.mm;
        let at = |t: f64| (centre + major * libm::cos(t) + minor * libm::sin(t)) * scale;
        let whole = (sweep - 2.0 * PI).abs() < 1e-9;
        self.curve(&at, (from, from + sweep), whole, entity);
        Ok(())
    }

    fn spline(&mut self, entity: &Entity<'_, '_>) -> Result<(), Problem> {
        let spline =
            spline::Spline::of(entity.pairs).map_err(|(what, mend)| entity.problem(what, mend))?;
        let scale = self.mm;
        let at = |t: f64| spline.at(t) * scale;
        let mut vertices = Vec::new();
        // From knot to knot it is one smooth curve.
        for span in spline.spans() {
            curve::arcs(&at, span, self.tolerance, &mut vertices);
            if vertices.len() > MOST_POINTS {
                return Err(entity.problem("it has more turns than a blank", "simplify it"));
            }
        }
        let end = spline.end() * scale;
        vertices.push(Vertex::corner(end.x, end.y));
        self.finish(vertices, false, entity.place());
        Ok(())
    }

    fn curve(
        &mut self,
        at: &dyn Fn(f64) -> Point,
        (from, to): (f64, f64),
        closed: bool,
        entity: &Entity<'_, '_>,
    ) {
        let mut vertices = Vec::new();
        let middle = 0.5 * (from + to);
        for span in [(from, middle), (middle, to)] {
            curve::arcs(at, span, self.tolerance, &mut vertices);
        }
        if !closed {
            let end = at(to);
            vertices.push(Vertex::corner(end.x, end.y));
        }
        self.finish(vertices, closed, entity.place());
    }
}

/// A polyline whose vertices follow as entities of their own.
pub(super) struct Gathering {
    vertices: Vec<Vertex>,
    closed: bool,
    over: bool,
    place: String,
}
