//! Rational B-splines as DXF gives them: degree, knots, control points, weights.

use super::Pair;
use crate::point::Point;

/// Control points of more than any drawn blank.
const MOST: usize = 10_000;

/// A B-spline.
pub(super) struct Spline {
    degree: usize,
    knots: Vec<f64>,
    /// Control points times their weights, with the weights.
    controls: Vec<(Point, f64)>,
}

type Told = (String, &'static str);

/// A spline as it is written.
struct Read {
    degree: usize,
    knots: Vec<f64>,
    /// None of them where all weigh the same.
    weights: Vec<f64>,
    xs: Vec<f64>,
    ys: Vec<f64>,
}

impl Read {
    fn of(pairs: &[Pair<'_>]) -> Result<Self, Told> {
        let mut read = Self {
            degree: 3,
            knots: Vec::new(),
            weights: Vec::new(),
            xs: Vec::new(),
            ys: Vec::new(),
        };
        for pair in pairs {
            let number = || {
                pair.value
                    .parse::<f64>()
                    .ok()
                    .filter(|number| number.is_finite() && number.abs() < 1e12)
                    .ok_or_else(|| {
                        let told = format!("line {} holds no number", pair.line);
                        (told, "save the drawing anew as DXF")
                    })
            };
            match pair.code {
                71 => read.degree = pair.value.parse().unwrap_or(0),
                40 => read.knots.push(number()?),
                41 => read.weights.push(number()?),
                10 => read.xs.push(number()?),
                20 => read.ys.push(number()?),
                _ => {}
            }
        }
        Ok(read)
    }

    /// Says what of it makes no curve.
    fn makes_sense(&self) -> Result<(), String> {
        let (count, degree, knots) = (self.xs.len(), self.degree, self.knots.len());
        if count == 0 {
            return Err("it has fit points only".to_owned());
        }
        if !(1..=15).contains(&degree) || count <= degree || count > MOST {
            return Err(format!(
                "it is of degree {degree} with {count} control points"
            ));
        }
        if self.ys.len() != count || knots != count + degree + 1 {
            return Err(format!(
                "it has {knots} knots for {count} control points of degree {degree}, not {}",
                count + degree + 1
            ));
        }
        if self.knots.windows(2).any(|pair| pair[0] > pair[1]) {
            return Err("its knots are not in order".to_owned());
        }
        let weighed =
            self.weights.len() == count && self.weights.iter().all(|weight| *weight > 0.0);
        if !(weighed || self.weights.is_empty()) {
            return Err("its weights are not all above 0".to_owned());
        }
        Ok(())
    }
}

impl Spline {
    pub(super) fn of(pairs: &[Pair<'_>]) -> Result<Self, Told> {
        let read = Read::of(pairs)?;
        read.makes_sense()
            .map_err(|told| (told, "save it with its control points and knots"))?;
        let weights = if read.weights.is_empty() {
            vec![1.0; read.xs.len()]
        } else {
            read.weights
        };
        let (degree, knots, xs, ys) = (read.degree, read.knots, read.xs, read.ys);
        let controls = xs
            .into_iter()
            .zip(ys)
            .zip(weights)
            .map(|((x, y), weight)| (Point::new(x, y) * weight, weight))
            .collect();
        let spline = Self {
            degree,
            knots,
            controls,
        };
        if spline.spans().is_empty() {
            let told = "its knots leave no curve".to_owned();
            return Err((told, "save it with its control points and knots"));
        }
        Ok(spline)
    }

    /// The stretches between knots.
    pub(super) fn spans(&self) -> Vec<(f64, f64)> {
        self.knots[self.degree..=self.controls.len()]
            .windows(2)
            .filter(|pair| pair[1] > pair[0])
            .map(|pair| (pair[0], pair[1]))
            .collect()
    }

    pub(super) fn end(&self) -> Point {
        self.at(self.knots[self.controls.len()])
    }

    /// The point at a parameter, by de Boor's recursion (1972).
    pub(super) fn at(&self, t: f64) -> Point {
        let degree = self.degree;
        let last = self.controls.len() - 1;
        let mut span = degree;
        while span < last && t >= self.knots[span + 1] {
            span += 1;
        }
        let mut d: Vec<(Point, f64)> = self.controls[span - degree..=span].to_vec();
        for level in 1..=degree {
            for j in (level..=degree).rev() {
                let low = self.knots[span - degree + j];
                let high = self.knots[span + 1 + j - level];
                let share = if high > low {
                    (t - low) / (high - low)
                } else {
                    0.0
                };
                let (before, here) = (d[j - 1], d[j]);
                d[j] = (
                    before.0 * (1.0 - share) + here.0 * share,
                    before.1 * (1.0 - share) + here.1 * share,
                );
            }
        }
        let (point, weight) = d[degree];
        point * (1.0 / weight)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rational_spline_draws_a_quarter_circle() {
        let root = 0.5_f64.sqrt().to_string();
        let pairs: Vec<(i32, &str)> = vec![
            (71, "2"),
            (40, "0"),
            (40, "0"),
            (40, "0"),
            (40, "1"),
            (40, "1"),
            (40, "1"),
            (10, "1"),
            (20, "0"),
            (10, "1"),
            (20, "1"),
            (10, "0"),
            (20, "1"),
            (41, "1"),
            (41, &root),
            (41, "1"),
        ];
        let pairs: Vec<Pair<'_>> = pairs
            .into_iter()
            .map(|(code, value)| Pair {
                line: 1,
                code,
                value,
            })
            .collect();
        let spline = Spline::of(&pairs).unwrap_or_else(|(told, _)| panic!("{told}"));
        for k in 0..=8 {
            let point = spline.at(f64::from(k) / 8.0);
            assert!((point.length() - 1.0).abs() < 1e-12);
        }
    }
}
