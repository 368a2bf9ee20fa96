//! What the stores of sub-plants must last: stops and breaks of the feeding line,
//! and the way to the merge.

use book::{Book, Holds, Link, Station, Takes};
use formulas::{Origin, Sourced};
use shops::carts::StoreNeed;
use units::{Count, Minutes, Seconds};

use super::stores::is_fed_by_sub_plant;
use super::way;
use crate::calendar::weekly_spells;
use crate::plan::{Planned, RatePlan, StationPlan};
use crate::requirement::Requirement;

/// The ways by which sub-plants feed a merge, in the order of the book's links.
pub(super) fn needs(book: &Book, need: &Requirement, rate: &RatePlan) -> Vec<StoreNeed> {
    let joined = joined(book);
    let one = |(l, link): (usize, &Link)| {
        let (from, to) = ends(book, link)?;
        let jobs = need.over_link(l);
        if !joined.contains(&l) || !is_fed_by_sub_plant(book, from, to) || jobs <= 0.0 {
            return None;
        }
        let at = rate
            .stations
            .iter()
            .position(|row| row.station == to.station)?;
        let takt = rate.shops.iter().find(|row| row.shop == to.shop)?;
        let takt = takt.takt_s.as_ref()?;
        let (stops, repair) = stops(book, from, rate);
        let pieces = (jobs / need.visits(at)).round().max(1.0);
        Some(StoreNeed {
            at: link.at,
            line: from.line.clone().unwrap_or_else(|| from.shop.clone()),
            from: from.station.clone(),
            to: to.station.clone(),
            places: match link.holds {
                Holds::Places(places) => Some(places),
                Holds::Unlimited => None,
            },
            repair,
            stops,
            closed: closed(book, &from.shop, &to.shop),
            transport: Sourced::cell(
                link.move_s,
                link.at.table.name(),
                link.at.row as usize,
                "move_s",
            ),
            takt: Sourced::new(Seconds(takt.value), takt.from.clone()),
            ahead: way::ahead(book, &from.station, &to.station),
            pieces: Sourced::from(Count(pieces)),
        })
    };
    book.links.iter().enumerate().filter_map(one).collect()
}

fn ends<'b>(book: &'b Book, link: &Link) -> Option<(&'b Station, &'b Station)> {
    let station = |name: &str| book.stations.iter().find(|row| row.station == name);
    station(&link.from).zip(station(&link.to))
}

/// Links that bring what is joined to the car: at a merge all but the first,
/// which brings the car unless it is released there.
fn joined(book: &Book) -> Vec<usize> {
    let mut joined = Vec::new();
    for row in book.stations.iter().filter(|row| row.takes != Takes::Any) {
        let links = book.links.iter().enumerate();
        let into = links.filter(|(_, link)| link.to == row.station);
        joined.extend(into.map(|(l, _)| l).skip(usize::from(!row.source)));
    }
    joined
}

/// Stops a week of the line that a station ends, and their mean length. A unit
/// of several stops no line.
fn stops(book: &Book, last: &Station, rate: &RatePlan) -> (Sourced<Count>, Sourced<Minutes>) {
    let of_line = |row: &&Station| row.shop == last.shop && row.line == last.line && row.units == 1;
    let each = book.stations.iter().filter(of_line).filter_map(|row| {
        let planned = rate
            .stations
            .iter()
            .find(|own| own.station == row.station)?;
        let count = busy_min(planned) / row.mtbf_min?.0;
        let cell =
            |column| Sourced::cell((), row.at.table.name(), row.at.row as usize, column).from;
        let jobs = planned.jobs.from.clone();
        Some((
            count,
            row.mttr_min?.0,
            [jobs, cell("mtbf_min")],
            cell("mttr_min"),
        ))
    });
    let (mut count, mut down) = (0.0, 0.0);
    let (mut counted, mut measured) = (Vec::new(), Vec::new());
    for (stops, mean, by, from) in each {
        count += stops;
        down += stops * mean;
        counted.extend(by);
        measured.push(from);
    }
    let mean = if count > 0.0 { down / count } else { 0.0 };
    (
        Sourced::new(Count(count), Origin::Several(counted)),
        Sourced::new(Minutes(mean), Origin::Several(measured)),
    )
}

/// Minutes of work a week.
fn busy_min(row: &StationPlan) -> f64 {
    let value = |planned: &Planned| planned.value;
    value(&row.jobs) * value(&row.cycle_s) / 60.0
}

/// The longest work of one shop between two spells of another.
fn closed(book: &Book, feeding: &str, fed: &str) -> Sourced<Minutes> {
    let rows = book
        .shifts
        .iter()
        .filter(|row| row.shop == feeding || row.shop == fed);
    let cells =
        rows.map(|row| Sourced::cell((), row.at.table.name(), row.at.row as usize, "start").from);
    let from = Origin::Several(cells.collect());
    let minutes = |shop: &str| weekly_spells(book, shop).map(|week| week.open);
    // A shop without shifts always works.
    let Some(feeding) = minutes(feeding).filter(|open| !open.is_empty()) else {
        return Sourced::new(Minutes(0.0), from);
    };
    let whole = || vec![(Seconds(0.0), crate::calendar::WEEK)];
    let fed = minutes(fed).unwrap_or_else(whole);
    Sourced::new(longest_alone(&feeding, &fed).minutes(), from)
}

/// The most time that spells of `fed` have between two of `feeding`, in a week
/// that begins again at its end.
fn longest_alone(feeding: &[(Seconds, Seconds)], fed: &[(Seconds, Seconds)]) -> Seconds {
    let week = crate::calendar::WEEK;
    let within = |from: f64, to: f64| -> f64 {
        let both = [0.0, week.0].into_iter().flat_map(|later| {
            fed.iter()
                .map(move |(start, end)| (start.0 + later, end.0 + later))
        });
        both.map(|(start, end)| (end.min(to) - start.max(from)).max(0.0))
            .sum()
    };
    let ends = feeding.iter().map(|spell| spell.1.0);
    let starts = feeding.iter().skip(1).map(|spell| spell.0.0);
    let first = feeding.first().map(|spell| spell.0.0 + week.0);
    let gaps = ends.zip(starts.chain(first));
    Seconds(
        gaps.map(|(end, start)| within(end, start))
            .fold(0.0, f64::max),
    )
}

#[cfg(test)]
mod tests {
    use units::Seconds;

    use super::longest_alone;

    fn spells(hours: &[(f64, f64)]) -> Vec<(Seconds, Seconds)> {
        let each = hours.iter();
        each.map(|(from, to)| (Seconds(from * 3_600.0), Seconds(to * 3_600.0)))
            .collect()
    }

    #[test]
    fn a_merge_that_works_on_after_the_feeding_line_lives_off_the_store() {
        let feeding = spells(&[(6.0, 14.0), (30.0, 38.0)]);
        let fed = spells(&[(6.0, 10.0), (10.5, 15.0), (30.0, 40.0)]);
        // Two hours on the second day, one on the first.
        assert_eq!(longest_alone(&feeding, &fed), Seconds(7_200.0));
    }

    #[test]
    fn work_over_the_end_of_the_week_counts_as_one() {
        let feeding = spells(&[(10.0, 160.0)]);
        let fed = spells(&[(0.0, 11.0), (159.0, 168.0)]);
        // From hour 160 to 168, and ten more of the next week.
        assert_eq!(longest_alone(&feeding, &fed), Seconds(18.0 * 3_600.0));
    }
}
