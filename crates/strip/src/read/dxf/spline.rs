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

impl Spline {
    pub(super) fn of(pairs: &[Pair<'_>]) -> Result<Self, Told> {
        let save = "save it with its control points and knots";
        let mut degree = 3_usize;
        let (mut knots, mut weights, mut xs, mut ys) = (vec![], vec![], vec![], vec![]);
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
                71 => degree = pair.value.parse().unwrap_or(0),
                40 => knots.push(number()?),
                41 => weights.push(number()?),
                10 => xs.push(number()?),
                20 => ys.push(number()?),
                _ => {}
            }
        }
        let count = xs.len();
        if count == 0 {
            return Err(("it has fit points only".to_owned(), save));
        }
        if !(1..=15).contains(&degree) || count <= degree || count > MOST {
            let told = format!("it is of degree {degree} with {count} control points");
            return Err((told, save));
        }
        if ys.len() != count || knots.len() != count + degree + 1 {
            let told = format!(
                "it has {} knots for {count} control points of degree {degree}, not {}",
                knots.len(),
                count + degree + 1
            );
            return Err((told, save));
        }
        if knots.windows(2).any(|pair| pair[0] > pair[1]) {
            return Err(("its knots are not in order".to_owned(), save));
        }
        if weights.is_empty() {
            weights = vec![1.0; count];
        }
        if weights.len() != count || weights.iter().any(|weight| *weight <= 0.0) {
            return Err(("its weights are not all above 0".to_owned(), save));
        }
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
            return Err(("its knots leave no curve".to_owned(), save));
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
