//! What a line must cost at least, whoever does what.

use super::Staffed;
use crate::cost::bound::at_most;
use crate::cost::model::{Mode, Shop};

/// No way to do the work within takt on at most so many stations costs less:
/// every post as a station of its own that pays its part of the station, its work
/// the mean over the mix. [`u64::MAX`] where so many stations cannot do it.
pub(super) fn least(of: &Staffed, takt: u32, stations: u64) -> u64 {
    let posts = of.line.posts().len().max(1) as u64;
    let part = of.station_per_year / posts;
    let mut kinds = of.kinds.clone();
    for (at, kind) in kinds.iter_mut().enumerate() {
        if Some(at) != of.people {
            kind.cost_per_year += of.station_per_year - part;
        }
    }
    let shop = Shop {
        after: of.line.work.after.clone(),
        modes: of.modes.clone(),
        kinds,
        station_per_year: part,
    };
    let useful: Vec<Vec<(usize, Mode)>> = shop
        .useful(most_takt(of, takt))
        .into_iter()
        .enumerate()
        .map(|(task, modes)| {
            let mean = |(at, mode): (usize, Mode)| {
                let ticks = mean_ticks(of, task, mode.ticks);
                (at, Mode { ticks, ..mode })
            };
            modes.into_iter().map(mean).collect()
        })
        .collect();
    at_most(&shop, &useful, takt, stations.saturating_mul(posts))
}

/// What a model may take at a post.
fn most_takt(of: &Staffed, takt: u32) -> u32 {
    if of.line.models.is_empty() {
        return takt;
    }
    let most = u64::from(takt) * u64::from(1_000 + of.line.overload_per_mille) / 1_000;
    u32::try_from(most).unwrap_or(u32::MAX)
}

/// A mode's ticks on a mean car, rounded down.
pub(super) fn mean_ticks(of: &Staffed, task: usize, ticks: u32) -> u32 {
    let models = &of.line.models;
    if models.is_empty() {
        return ticks;
    }
    let all: u64 = models.iter().map(|model| u64::from(model.share)).sum();
    let has = models.iter().filter(|model| model.ticks[task] > 0);
    let share: u64 = has.map(|model| u64::from(model.share)).sum();
    (u64::from(ticks) * share / all.max(1)) as u32
}
