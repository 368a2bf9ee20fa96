//! Machines that share repair crews.

use super::{Refused, positive};

/// Long-run figures of machines and crews.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repair {
    /// Share of the time a machine is up.
    pub availability: f64,
    /// Mean machines down, waiting or under repair.
    pub down: f64,
    /// Mean machines that wait for a crew.
    pub waiting: f64,
    /// Mean wait of a machine from its stop to the arrival of a crew.
    pub wait: f64,
    /// Share of the time a crew is at work.
    pub crew_busy: f64,
}

/// `machines` like machines that run for an exponential time of mean `mtbf`
/// and are repaired in an exponential time of mean `mttr` by one of `crews`
/// crews.
///
/// Source: Palm 1947; the machine interference problem, M/M/c//N (from
/// memory).
///
/// # Errors
/// [`Refused`] when a number is not above 0.
///
/// ```
/// let figures = flow::theory::crews::share_crews(10, 240.0, 20.0, 1)?;
/// assert!((figures.availability - 0.837_689_951_656_344_7).abs() < 1e-12);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn share_crews(machines: u32, mtbf: f64, mttr: f64, crews: u32) -> Result<Repair, Refused> {
    positive("machines", f64::from(machines))?;
    positive("crews", f64::from(crews))?;
    positive("time between stops", mtbf)?;
    positive("time to repair", mttr)?;
    let (mut weight, mut total, mut down, mut at_work) = (1.0, 1.0, 0.0, 0.0);
    for k in 1..=machines {
        let repairing = f64::from(k.min(crews));
        weight *= f64::from(machines - k + 1) * mttr / (mtbf * repairing);
        total += weight;
        down += f64::from(k) * weight;
        at_work += repairing * weight;
        // Only ratios matter: keep the sums away from overflow.
        if total > 1e200 {
            for sum in [&mut weight, &mut total, &mut down, &mut at_work] {
                *sum *= 1e-200;
            }
        }
    }
    down /= total;
    at_work /= total;
    let machines = f64::from(machines);
    let stops = (machines - down) / mtbf;
    Ok(Repair {
        availability: 1.0 - down / machines,
        down,
        waiting: down - at_work,
        wait: (down - at_work) / stops,
        crew_busy: at_work / f64::from(crews),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_crew_more_never_lengthens_the_wait(machines in 1..400_u32, crews in 1..30_u32, mttr in 1.0..200.0_f64) {
            let less = share_crews(machines, 240.0, mttr, crews).unwrap();
            let more = share_crews(machines, 240.0, mttr, crews + 1).unwrap();
            prop_assert!(more.wait <= less.wait + 1e-9);
            prop_assert!(more.availability >= less.availability - 1e-12);
        }

        #[test]
        fn with_a_crew_each_nobody_waits(machines in 1..200_u32, mttr in 1.0..200.0_f64) {
            let figures = share_crews(machines, 240.0, mttr, machines).unwrap();
            prop_assert!(figures.waiting.abs() < 1e-9);
            prop_assert!((figures.availability - 240.0 / (240.0 + mttr)).abs() < 1e-12);
        }
    }
}
