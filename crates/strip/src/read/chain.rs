//! Open lines and arcs joined to closed paths by their ends.

use super::Problem;
use crate::outline::Vertex;
use crate::point::Point;

/// A stretch of a drawing: vertices up to its end point, and which entity it is.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    pub(super) vertices: Vec<Vertex>,
    pub(super) end: Point,
    pub(super) place: String,
}

impl Stretch {
    fn start(&self) -> Point {
        self.vertices
            .first()
            .map_or(self.end, |first| Point::new(first.x_mm, first.y_mm))
    }

    fn reversed(self) -> Self {
        let start = self.start();
        let mut to = self.end;
        let mut vertices = Vec::new();
        for vertex in self.vertices.iter().rev() {
            vertices.push(Vertex {
                x_mm: to.x,
                y_mm: to.y,
                bulge: -vertex.bulge,
            });
            to = Point::new(vertex.x_mm, vertex.y_mm);
        }
        Self {
            vertices,
            end: start,
            place: self.place,
        }
    }
}

/// Joins stretches whose ends come within `join` of each other.
pub(super) fn closed(mut open: Vec<Stretch>, join: f64) -> Result<Vec<Vec<Vertex>>, Vec<Problem>> {
    let mut paths = Vec::new();
    let mut problems = Vec::new();
    open.reverse();
    while let Some(mut path) = open.pop() {
        loop {
            if path.start().distance(path.end) <= join {
                paths.push(path.vertices);
                break;
            }
            let near = |stretch: &Stretch| {
                let (start, end) = (stretch.start(), stretch.end);
                start.distance(path.end).min(end.distance(path.end))
            };
            let Some((n, gap)) = (0..open.len())
                .map(|n| (n, near(&open[n])))
                .min_by(|a, b| a.1.total_cmp(&b.1))
            else {
                problems.push(left_open(&path, None));
                break;
            };
            if gap > join {
                problems.push(left_open(&path, Some(gap)));
                break;
            }
            let next = open.remove(n);
            let next = if next.start().distance(path.end) <= next.end.distance(path.end) {
                next
            } else {
                next.reversed()
            };
            path.vertices.extend(next.vertices);
            path.end = next.end;
        }
    }
    if problems.is_empty() {
        Ok(paths)
    } else {
        Err(problems)
    }
}

fn left_open(path: &Stretch, gap: Option<f64>) -> Problem {
    let round = |x: f64| (x * 1e3).round() / 1e3 + 0.0;
    let (start, end) = (path.start(), path.end);
    let next = match gap {
        Some(gap) => format!("; the nearest other end is {} mm away", round(gap)),
        None => String::new(),
    };
    Problem::new(
        path.place.clone(),
        format!(
            "an open outline: it begins at ({}, {}) and ends at ({}, {}){next}",
            round(start.x),
            round(start.y),
            round(end.x),
            round(end.y)
        ),
        "draw the missing edge, or join the ends",
    )
}
