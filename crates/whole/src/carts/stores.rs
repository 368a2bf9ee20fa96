//! Stores from which sub-plants feed the main line: the fewest places with
//! which the plant loses nothing, by paired runs.

use book::{Book, Station};
use flow::Watch;
use flow::model::Network;

use super::model::{Store, StorePoint};
use super::trial::{Terms, Trials};
use crate::findings::measure::Stopped;
use crate::network::{Built, Way};

/// The links that bring what a sub-plant makes to a merge: its line has tasks
/// of its own, or stands in another shop than the merge.
pub(super) fn of(book: &Book, built: &Built) -> Vec<usize> {
    let station = |name: &str| book.stations.iter().find(|row| row.station == name);
    let fed = |link: &usize| {
        let (row, built_link) = (&built.links[*link], &built.network.links[*link]);
        if row.way != Way::Onward || !built.joined[*link] || built_link.holds.is_none() {
            return false;
        }
        let ends = (built_link.from.at(), built_link.to.at());
        let rows = (
            station(&built.stations[ends.0].name),
            station(&built.stations[ends.1].name),
        );
        let (Some(from), Some(to)) = rows else {
            return false;
        };
        is_fed_by_sub_plant(book, from, to)
    };
    (0..built.links.len()).filter(fed).collect()
}

/// Whether the one stands at the end of a sub-plant that feeds the other.
pub(super) fn is_fed_by_sub_plant(book: &Book, from: &Station, to: &Station) -> bool {
    from.shop != to.shop || (from.line != to.line && has_tasks(book, from))
}

fn has_tasks(book: &Book, station: &Station) -> bool {
    let mut tasks = book.tasks.iter();
    tasks.any(|task| task.shop == station.shop && task.line == station.line)
}

/// Places of a store that are plenty.
fn plenty(places: u32) -> u32 {
    (2 * places).max(places + 2)
}

/// Whether larger stores, all of them together, make more cars. If not, none of
/// them has to be tried larger by itself.
pub(super) fn larger_ones_help(
    built: &Built,
    links: &[usize],
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<bool, Stopped> {
    let variant = |_| {
        let mut network = built.network.clone();
        for &link in links {
            let holds = &mut network.links[link].holds;
            *holds = holds.map(plenty);
        }
        network
    };
    Trials::of(terms, 0, &variant, watch).better(1, 0)
}

/// Sizes one store; `larger` says whether to look beyond the places there are.
pub(super) fn store(
    book: &Book,
    built: &Built,
    (link, larger, planned): (usize, bool, Option<u32>),
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<Store, Stopped> {
    let row = &built.network.links[link];
    let places = row.holds.unwrap_or(0);
    let variant = |places: u32| -> Network {
        let mut network = built.network.clone();
        network.links[link].holds = Some(places);
        network
    };
    let mut trials = Trials::of(terms, places, &variant, watch);
    // pieces of one car need a place each
    let lowest = row.needs.max(1).min(places.max(1));
    let most = if larger { plenty(places) } else { places };
    // The plan's size is run too, so that the runs confirm it.
    let most = planned.map_or(most, |planned| most.max(planned));
    let least = if !trials.better(most, lowest)? {
        lowest
    } else if places > lowest && !trials.better(most, places)? {
        trials.knee(lowest, places, most)?
    } else {
        trials.knee(places.max(lowest), most, most)?
    };
    let fewer = least.checked_sub(1).filter(|fewer| *fewer >= lowest);
    let one_fewer = match fewer {
        Some(fewer) => Some(trials.gain(fewer, most)?),
        None => None,
    };
    let from = &built.stations[row.from.at()];
    let line = book.stations.iter().find(|s| s.station == from.name);
    Ok(Store {
        at: built.links[link].at,
        line: line
            .and_then(|row| row.line.clone())
            .unwrap_or_else(|| from.shop.clone()),
        from: from.name.clone(),
        to: built.stations[row.to.at()].name.clone(),
        places,
        planned,
        at_planned: match planned {
            Some(planned) => Some(trials.gain(planned.max(lowest), most)?),
            None => None,
        },
        least,
        at_least: trials.gain(least, most)?,
        one_fewer,
        at_places: trials.gain(places, most)?,
        loses: trials.better(most, places)?,
        points: points(&mut trials, most)?,
    })
}

fn points(trials: &mut Trials<'_>, most: u32) -> Result<Vec<StorePoint>, Stopped> {
    let numbers: Vec<u32> = trials.seen.keys().copied().collect();
    let point = |places: u32| {
        let below_most = trials.gain(most, places)?;
        Ok(StorePoint {
            places,
            below_most,
            shown: trials.terms.shows(below_most),
        })
    };
    numbers.into_iter().map(point).collect()
}
