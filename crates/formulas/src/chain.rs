//! Absorbing chains in the small: dense, a few hundred stations at most.

use units::Quantity;

/// Largest chain that is solved; elimination grows with its cube.
const LARGEST: usize = 300;

/// Slack on sums of shares that were typed as decimals.
const SLACK: f64 = 1e-12;

pub(crate) fn plain<T: Quantity>(quantities: &[T]) -> Vec<f64> {
    quantities.iter().map(|quantity| quantity.get()).collect()
}

pub(crate) fn is_square(size: usize, cells: usize) -> bool {
    size <= LARGEST && cells == size * size
}

fn rows(size: usize, routes: &[f64]) -> impl Iterator<Item = &[f64]> {
    routes.chunks(size.max(1)).take(size)
}

/// Whether every row adds up to 1 at most.
pub(crate) fn sends_no_more(size: usize, routes: &[f64]) -> bool {
    rows(size, routes).all(|row| row.iter().sum::<f64>() <= 1.0 + SLACK)
}

/// The share that goes out at a station. Rounding of the row's sum is no exit.
pub(crate) fn left_over(size: usize, routes: &[f64], station: usize) -> f64 {
    let sum: f64 = rows(size, routes).nth(station).into_iter().flatten().sum();
    if sum > 1.0 - SLACK { 0.0 } else { 1.0 - sum }
}

/// Whether pieces at every station can get out, if by way of others.
pub(crate) fn has_way_out(size: usize, routes: &[f64]) -> bool {
    if !is_square(size, routes.len()) {
        // Told by the need before this one.
        return true;
    }
    let mut out: Vec<bool> = (0..size)
        .map(|station| left_over(size, routes, station) > 0.0)
        .collect();
    loop {
        let found: Vec<usize> = rows(size, routes)
            .enumerate()
            .filter(|(station, row)| {
                !out[*station]
                    && row
                        .iter()
                        .zip(&out)
                        .any(|(share, out)| *share > 0.0 && *out)
            })
            .map(|(station, _)| station)
            .collect();
        if found.is_empty() {
            return out.iter().all(|out| *out);
        }
        for station in found {
            out[station] = true;
        }
    }
}

/// Solves `visits = entries + visits * routes` by elimination with row
/// exchange. With a way out for all the matrix is regular.
pub(crate) fn visits(entries: &[f64], routes: &[f64]) -> Vec<f64> {
    let size = entries.len();
    let mut rows: Vec<Vec<f64>> = (0..size)
        .map(|to| {
            let mut row: Vec<f64> = (0..size)
                .map(|from| f64::from(u8::from(from == to)) - routes[from * size + to])
                .collect();
            row.push(entries[to]);
            row
        })
        .collect();
    for column in 0..size {
        let best = (column..size)
            .max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))
            .unwrap_or(column);
        rows.swap(column, best);
        let (above, below) = rows.split_at_mut(column + 1);
        let pivot = &above[column];
        for row in below {
            let factor = row[column] / pivot[column];
            if factor == 0.0 {
                continue;
            }
            for (cell, over) in row.iter_mut().zip(pivot).skip(column) {
                *cell -= factor * over;
            }
        }
    }
    let mut visits = vec![0.0; size];
    for station in (0..size).rev() {
        let row = &rows[station];
        let known: f64 = (station + 1..size).map(|k| row[k] * visits[k]).sum();
        visits[station] = (row[size] - known) / row[station];
    }
    visits
}
