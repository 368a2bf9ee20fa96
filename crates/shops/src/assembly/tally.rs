//! What stations with their posts come to.

use book::Book;

use super::model::{AssemblyLine, AssemblyPost, AssemblyStation};
use super::parallel::units;
use super::price::Prices;
use super::work::{Doing, Work};

/// Today's stations of a line's tasks, in the book's order.
pub(super) fn places(book: &Book, work: &Work<'_>) -> Vec<String> {
    let used = |name: &str| work.station.contains(&Some(name));
    let rows = book.stations.iter().filter(|row| used(&row.station));
    rows.map(|row| row.station.clone()).collect()
}

/// Seconds of work on a mean car.
pub(super) fn mean(work: &Work<'_>, doing: &[Doing]) -> f64 {
    let each = doing.iter().zip(&work.share);
    each.map(|(who, share)| who.way().map_or(0.0, |way| way.seconds) * share)
        .sum()
}

/// People, efficiency and cost of a balance.
pub(super) fn sum(book: &Book, line: &mut AssemblyLine, prices: &Prices) {
    let sum = tally(book, &line.stations, line.cycle_s.value, prices);
    line.people = sum.people;
    line.efficiency = sum.efficiency;
    line.cost_per_year = sum.cost_per_year;
}

/// What stations with their posts come to.
pub(super) struct Tally {
    pub(super) people: u32,
    pub(super) efficiency: f64,
    pub(super) cost_per_year: f64,
}

/// Stations without work count for nothing, those whose units take cars by turns
/// as many times as they have units.
pub(super) fn tally(
    book: &Book,
    stations: &[AssemblyStation],
    cycle_s: f64,
    prices: &Prices,
) -> Tally {
    let times = |station: &AssemblyStation| {
        let longer = station
            .posts
            .iter()
            .any(|post| post.load_s > cycle_s + 0.05);
        let units = units(book, station.station.as_deref());
        if longer { units as usize } else { 1 }
    };
    let posts: Vec<&AssemblyPost> = stations
        .iter()
        .flat_map(|station| std::iter::repeat_n(&station.posts, times(station)))
        .flatten()
        .collect();
    let people = posts.iter().filter(|post| post.by == prices.person.name);
    let room = cycle_s * posts.len() as f64;
    let load: f64 = stations
        .iter()
        .flat_map(|s| &s.posts)
        .map(|post| post.load_s)
        .sum();
    let of_post = |post: &&AssemblyPost| {
        let tools: f64 = post.tools.iter().map(|tool| prices.tool(Some(tool))).sum();
        prices.kind(&post.by) + tools
    };
    let used = stations.iter().filter(|station| !station.posts.is_empty());
    Tally {
        people: people.count() as u32,
        efficiency: if room > 0.0 { load / room } else { 0.0 },
        cost_per_year: posts.iter().map(of_post).sum::<f64>()
            + prices.station * used.count() as f64,
    }
}
