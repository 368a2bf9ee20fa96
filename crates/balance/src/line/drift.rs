//! Heavy cars in a row against the length of a station.
//!
//! On a line that moves with its cars a person who is not done when the next
//! car enters starts it late, further down the station. The weighted mean
//! within takt says only that this does not grow for ever.

/// Where a run of cars takes the person at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drift {
    /// Furthest past takt that the work on a car ends, in ticks: what the
    /// station must be longer than a takt's travel, or what is left undone.
    pub furthest: u64,
    /// The car of the run, from 0, at which that is.
    pub at: usize,
    /// How late the car after the run is started.
    pub left: u64,
}

/// Follows cars through a station, each with its ticks, from a start on time.
///
/// ```
/// use balance::line::drift;
///
/// // Two cars of 300 s at a takt of 237.6 s, in tenths of a second.
/// assert_eq!(drift(&[3_000, 3_000], 2_376).furthest, 1_248);
/// ```
pub fn drift(cars: &[u32], takt: u32) -> Drift {
    let mut drift = Drift {
        furthest: 0,
        at: 0,
        left: 0,
    };
    for (at, ticks) in cars.iter().enumerate() {
        drift.left = (drift.left + u64::from(*ticks)).saturating_sub(u64::from(takt));
        if drift.left > drift.furthest {
            drift.furthest = drift.left;
            drift.at = at;
        }
    }
    drift
}

/// A model's ticks at a station and how densely it may come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dense {
    /// Ticks of its work at the station.
    pub ticks: u32,
    /// At most so many cars ...
    pub at_most: u32,
    /// ... in every so many in a row.
    pub in_every: u32,
}

/// The worst run of cars that the spacing rules allow at a station: heavy ones
/// as early as their rules let them, `between` ticks in all other places. Starting on time,
/// no sequence that keeps the rules ends further past takt within `length`
/// cars where one model is heavier than takt; with several, the runs of each
/// are laid over each other, which can only be worse.
///
/// `between` is the most that a car takes there whose work is within takt.
pub fn worst_run(models: &[Dense], between: u32, takt: u32, length: usize) -> Drift {
    let mut heavy: Vec<Dense> = models.iter().copied().filter(|m| m.ticks > takt).collect();
    heavy.sort_by_key(|model| std::cmp::Reverse(model.ticks));
    let mut cars = vec![None; length];
    for model in &heavy {
        let every = model.in_every.max(1) as usize;
        for window in cars.chunks_mut(every) {
            let mut left = model.at_most;
            for car in window.iter_mut().filter(|car| car.is_none()) {
                if left == 0 {
                    break;
                }
                *car = Some(model.ticks);
                left -= 1;
            }
        }
    }
    let cars: Vec<u32> = cars.into_iter().map(|car| car.unwrap_or(between)).collect();
    drift(&cars, takt)
}

/// The longest run of a share of the cars that is to be expected once in `cars`
/// where the order is left to chance: the least length whose chance of starting
/// at a given car times `cars` is below one. The share is in parts of a
/// thousand.
pub fn run_by_chance(share_per_mille: u32, cars: u64) -> u32 {
    if share_per_mille >= 1_000 {
        return u32::MAX;
    }
    // Cars left times 1000 per car of the run, in whole numbers: what is lost
    // by rounding down shortens no run by more than a car in a million.
    let mut expected = u128::from(cars) * 1_000_000;
    let mut run = 0;
    while expected >= 1_000_000 {
        expected = expected * u128::from(share_per_mille) / 1_000;
        run += 1;
    }
    run
}
