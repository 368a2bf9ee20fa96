//! Loops with a fixed number of carts: closed queueing networks.

use super::{Refused, positive, within};

/// A station of a closed loop, exponential services, first come first served.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopStation {
    /// Mean service time a loop (visits times mean of a visit).
    pub demand: f64,
    /// Like units side by side.
    pub units: u32,
}

/// Long-run figures of a loop.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopFigures {
    /// Loops finished per unit of time.
    pub throughput: f64,
    /// Mean time of a loop.
    pub time: f64,
    /// Mean carts at each station, waiting or in work.
    pub at_station: Vec<f64>,
    /// Mean carts on the way.
    pub on_the_way: f64,
}

/// Mean-value analysis of a loop of single-unit stations and a travel time of
/// mean `travel` (any distribution) with `carts` carts.
///
/// Exact. Source: Reiser & Lavenberg, Journal of the ACM 27 (1980) 313 (from
/// memory).
///
/// # Errors
/// [`Refused`] when there is no cart or a time is below 0 or all are 0.
///
/// ```
/// let carts = flow::theory::closed::mean_values(&[1.0, 0.8, 0.5], 4.0, 2)?;
/// assert!((carts.throughput - 2.0 / 6.6).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn mean_values(demands: &[f64], travel: f64, carts: u32) -> Result<LoopFigures, Refused> {
    check(demands.iter().copied(), travel, carts)?;
    let mut at_station = vec![0.0; demands.len()];
    let mut throughput = 0.0;
    for cart in 1..=carts {
        // An arriving cart sees the loop with one cart less.
        let times: Vec<f64> = demands
            .iter()
            .zip(&at_station)
            .map(|(d, seen)| d * (1.0 + seen))
            .collect();
        throughput = f64::from(cart) / (travel + times.iter().sum::<f64>());
        at_station = times.iter().map(|t| throughput * t).collect();
    }
    Ok(LoopFigures {
        throughput,
        time: f64::from(carts) / throughput,
        at_station,
        on_the_way: throughput * travel,
    })
}

/// The same loop with several units at a station, by convolution.
///
/// Exact. Source: Buzen, Communications of the ACM 16 (1973) 527 (from
/// memory).
///
/// # Errors
/// As [`mean_values`]; also when a station has no unit.
///
/// ```
/// use flow::theory::closed::{LoopStation, convolution};
/// let fab = [(2.0, 1), (5.0, 2), (10.0, 6), (3.0, 2)]
///     .map(|(demand, units)| LoopStation { demand, units });
/// let figures = convolution(&fab, 0.0, 4)?;
/// assert!((figures.throughput - 0.188_183_214).abs() < 1e-9);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn convolution(
    stations: &[LoopStation],
    travel: f64,
    carts: u32,
) -> Result<LoopFigures, Refused> {
    check(stations.iter().map(|s| s.demand), travel, carts)?;
    for station in stations {
        positive("units", f64::from(station.units))?;
    }
    // Times are measured in the longest, so that weights stay near 1.
    let scale = stations.iter().map(|s| s.demand).fold(travel, f64::max);
    let own: Vec<Vec<f64>> = stations
        .iter()
        .map(|s| weights(s.demand / scale, s.units, carts))
        .collect();
    let way = weights(travel / scale, u32::MAX, carts);
    let rest_of = |left_out: Option<usize>| {
        own.iter()
            .enumerate()
            .filter(|(i, _)| Some(*i) != left_out)
            .fold(way.clone(), |sum, (_, w)| convolve(&sum, w))
    };
    let all = rest_of(None);
    let (Some(total), Some(one_less)) = (all.last(), all.iter().rev().nth(1)) else {
        return Err(Refused::NotErgodic);
    };
    let throughput = one_less / total / scale;
    let at_station = (0..stations.len())
        .map(|i| {
            let others = rest_of(Some(i));
            let weighted = own[i].iter().zip(others.iter().rev()).enumerate();
            weighted.map(|(k, (a, b))| k as f64 * a * b).sum::<f64>() / total
        })
        .collect();
    Ok(LoopFigures {
        throughput,
        time: f64::from(carts) / throughput,
        at_station,
        on_the_way: throughput * travel,
    })
}

/// Loop of fixed times: as many carts as there are follow each other, or the
/// slowest station sets the pace.
///
/// # Errors
/// As [`mean_values`].
///
/// ```
/// let rate = flow::theory::closed::fixed_times(&[1.0, 0.8, 0.5], 4.0, 2)?;
/// assert!((rate - 2.0 / 6.3).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn fixed_times(times: &[f64], travel: f64, carts: u32) -> Result<f64, Refused> {
    check(times.iter().copied(), travel, carts)?;
    let round: f64 = travel + times.iter().sum::<f64>();
    let slowest = times.iter().copied().fold(0.0, f64::max);
    Ok((f64::from(carts) / round).min(1.0 / slowest))
}

fn check(demands: impl Iterator<Item = f64>, travel: f64, carts: u32) -> Result<(), Refused> {
    positive("carts", f64::from(carts))?;
    within("travel time", travel, travel >= 0.0, "0 or more")?;
    let mut sum = travel;
    for demand in demands {
        sum += within("service time", demand, demand >= 0.0, "0 or more")?;
    }
    positive("time of a loop", sum)?;
    Ok(())
}

/// Product-form weights of 0 to `carts` carts at a station.
fn weights(demand: f64, units: u32, carts: u32) -> Vec<f64> {
    let mut out = vec![1.0];
    let mut last = 1.0;
    for k in 1..=carts {
        last *= demand / f64::from(k.min(units));
        out.push(last);
    }
    out
}

fn convolve(a: &[f64], b: &[f64]) -> Vec<f64> {
    (0..a.len())
        .map(|n| (0..=n).map(|k| a[k] * b[n - k]).sum())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn both_methods_agree_and_carts_add_up(demands in prop::collection::vec(0.1..3.0_f64, 1..6), travel in 0.0..8.0_f64, carts in 1..40_u32) {
            let stations: Vec<LoopStation> = demands.iter().map(|&demand| LoopStation { demand, units: 1 }).collect();
            let mva = mean_values(&demands, travel, carts).unwrap();
            let conv = convolution(&stations, travel, carts).unwrap();
            prop_assert!((mva.throughput / conv.throughput - 1.0).abs() < 1e-11);
            for (a, b) in mva.at_station.iter().zip(&conv.at_station) {
                prop_assert!((a - b).abs() < 1e-9);
            }
            let sum = mva.at_station.iter().sum::<f64>() + mva.on_the_way;
            prop_assert!((sum - f64::from(carts)).abs() < 1e-9);
        }

        #[test]
        fn one_more_cart_never_lowers_the_rate_nor_shortens_the_loop(demands in prop::collection::vec(0.1..3.0_f64, 1..6), travel in 0.0..8.0_f64, carts in 1..40_u32) {
            let less = mean_values(&demands, travel, carts).unwrap();
            let more = mean_values(&demands, travel, carts + 1).unwrap();
            prop_assert!(more.throughput >= less.throughput * (1.0 - 1e-12));
            prop_assert!(more.time >= less.time * (1.0 - 1e-12));
            let bound = fixed_times(&demands, travel, carts).unwrap();
            prop_assert!(less.throughput <= bound * (1.0 + 1e-12));
        }

        #[test]
        fn one_more_unit_never_lowers_the_rate(demand in 0.1..3.0_f64, units in 1..5_u32, carts in 1..20_u32) {
            let with = |units| {
                let stations = [LoopStation { demand, units }, LoopStation { demand: 1.0, units: 1 }];
                convolution(&stations, 2.0, carts).unwrap().throughput
            };
            prop_assert!(with(units + 1) >= with(units) * (1.0 - 1e-12));
        }
    }

    #[test]
    fn a_loop_without_carts_is_refused() {
        assert!(mean_values(&[1.0], 1.0, 0).is_err());
        assert!(mean_values(&[0.0], 0.0, 1).is_err());
    }
}
