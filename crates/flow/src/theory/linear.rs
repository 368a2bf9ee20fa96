//! Small dense systems of linear equations.

use super::Refused;

/// Solves A x = b by Gaussian elimination with partial pivoting. Rows of `a`
/// hold the coefficients and, last, the right-hand side.
pub(crate) fn solve(mut a: Vec<Vec<f64>>) -> Result<Vec<f64>, Refused> {
    let n = a.len();
    for k in 0..n {
        let pivot = (k..n)
            .max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))
            .unwrap_or(k);
        if a[pivot][k] == 0.0 || !a[pivot][k].is_finite() {
            return Err(Refused::NotErgodic);
        }
        a.swap(k, pivot);
        let (done, rest) = a.split_at_mut(k + 1);
        let top = &done[k];
        for row in rest {
            let factor = row[k] / top[k];
            if factor != 0.0 {
                for (x, t) in row.iter_mut().zip(top).skip(k) {
                    *x -= factor * t;
                }
            }
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| a[k][j] * x[j]).sum();
        x[k] = (a[k][n] - known) / a[k][k];
    }
    Ok(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_system_that_needs_a_row_swap() {
        let x = solve(vec![vec![0.0, 2.0, 4.0], vec![3.0, 1.0, 5.0]]).unwrap();
        assert_eq!(x, vec![1.0, 2.0]);
    }

    #[test]
    fn a_singular_system_is_refused() {
        let twice = vec![vec![1.0, 2.0, 3.0], vec![2.0, 4.0, 6.0]];
        assert_eq!(solve(twice), Err(Refused::NotErgodic));
    }
}
