//! Departure times of a line with known times: the recursion every engine
//! must reproduce.

use super::line::Blocking;
use super::{Refused, fits};

/// Departure times `[station][job]` of a line that starts empty at time 0,
/// with `places` between neighbours and the given times `[station][job]`.
///
/// The first station is never short of work, the last never blocked; jobs do
/// not overtake. Blocking after service:
/// D\[i\]\[k\] = max(D\[i-1\]\[k\], D\[i\]\[k-1\], ...) + time, then at least
/// D\[i+1\]\[k-places-1\]; before service that last term moves inside the
/// maximum. Here the places of [`Blocking::BeforeService`] do not count the
/// job in work below. Source: Chan & Schruben, Operations Research 56 (2008)
/// 1218.
///
/// # Errors
/// [`Refused::Mismatch`] when the rows of times differ in length.
///
/// ```
/// use flow::theory::{line::Blocking, tandem::departures};
/// let times = [vec![2.0, 3.0], vec![4.0, 1.0]];
/// let out = departures(&times, 0, Blocking::AfterService)?;
/// assert_eq!(out, vec![vec![2.0, 6.0], vec![6.0, 7.0]]);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn departures(
    times: &[Vec<f64>],
    places: usize,
    blocking: Blocking,
) -> Result<Vec<Vec<f64>>, Refused> {
    let jobs = times.first().map_or(0, Vec::len);
    for row in times {
        fits("times of a station", row.len(), jobs)?;
    }
    let mut out = vec![vec![0.0_f64; jobs]; times.len()];
    for k in 0..jobs {
        for i in 0..times.len() {
            let arrived = if i > 0 { out[i - 1][k] } else { 0.0 };
            let free = if k > 0 { out[i][k - 1] } else { 0.0 };
            let place = match (out.get(i + 1), k.checked_sub(places + 1)) {
                (Some(below), Some(earlier)) => below[earlier],
                _ => 0.0,
            };
            let ready = arrived.max(free);
            out[i][k] = match blocking {
                Blocking::AfterService => (ready + times[i][k]).max(place),
                Blocking::BeforeService => ready.max(place) + times[i][k],
            };
        }
    }
    Ok(out)
}
