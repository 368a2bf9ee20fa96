//! Stations, their cycles by class, their stops and their crews.

use std::collections::BTreeMap;

use flow::distribution::Distribution;
use flow::model::{
    Basis, Crew, CrewIdx, Cycles, Gives, Quality, Station, StationIdx, Stop, Takes, Work,
};
use units::{Minutes, Quantity, Seconds};

use super::{Draft, StationOrigin, classes, idx};

/// The cause under which the stops of a station's or press line's own row run.
pub(super) const OWN_STOP: &str = "stop";

impl<'a> Draft<'a> {
    pub(super) fn add_crews(&mut self) {
        for (position, row) in self.book.crews.iter().enumerate() {
            self.crew_of.insert(&row.crew, CrewIdx(idx(position)));
            self.network.crews.push(Crew {
                name: row.crew.clone(),
                count: row.count,
            });
        }
    }

    pub(super) fn add_stations(&mut self) {
        let book = self.book;
        let mut exceptions: BTreeMap<&str, Vec<&book::Cycle>> = BTreeMap::new();
        for row in &book.cycles {
            exceptions.entry(&row.station).or_default().push(row);
        }
        let mut causes: BTreeMap<&str, Vec<&book::Stop>> = BTreeMap::new();
        for row in &book.stops {
            causes.entry(&row.station).or_default().push(row);
        }
        for row in &book.stations {
            let name = row.station.as_str();
            let cycles = self.cycles(row, exceptions.get(name).map_or(&[], Vec::as_slice));
            let stops = self.stops(row, causes.get(name).map_or(&[], Vec::as_slice));
            let position = StationIdx(idx(self.network.stations.len()));
            self.station_of.insert(name, position);
            self.stations.push(StationOrigin {
                name: row.station.clone(),
                at: row.at,
                shop: row.shop.clone(),
                stage: self.stage(&row.shop, row.stage.as_deref()),
            });
            self.network.stations.push(Station {
                name: row.station.clone(),
                work: Work::Cycle(cycles),
                units: row.units,
                stops,
                wear: 1.0,
                quality: Quality {
                    first_time_ok: row.ok().get(),
                    // set with the links
                    rework: None,
                    scrap: row.scrap.get(),
                    attempts: row.attempts,
                },
                takes: takes(row.takes),
                gives: gives(row.gives),
                calendar: self.hours.calendar(&row.shop),
                // set once it is known which cars the station serves
                release: None,
            });
        }
    }

    /// The stops of a station's own row and its further causes.
    fn stops(&self, row: &book::Station, causes: &[&book::Stop]) -> Vec<Stop> {
        let own = Cause {
            name: OWN_STOP,
            between: row.mtbf_min,
            repair: row.mttr_min,
            spread: row.repair_spread,
            basis: row.stop_basis,
            crew: row.crew.as_deref(),
        };
        let further = causes.iter().map(|cause| Cause {
            name: &cause.cause,
            between: Some(cause.mtbf_min),
            repair: Some(cause.mttr_min),
            spread: cause.repair_spread,
            basis: cause.basis,
            crew: cause.crew.as_deref(),
        });
        std::iter::once(own)
            .chain(further)
            .filter_map(|cause| self.stop(&cause))
            .collect()
    }

    /// The distinct cycles of a station and the one of each class.
    fn cycles(&self, row: &book::Station, exceptions: &[&book::Cycle]) -> Cycles {
        if exceptions.is_empty() {
            return Cycles::same(spread(row.cycle(), row.spread));
        }
        let mut distributions: Vec<Distribution> = Vec::new();
        let mut of_class = Vec::with_capacity(self.classes.list.len());
        for class in &self.classes.list {
            let cycle = spread(classes::cycle(row.cycle(), exceptions, class), row.spread);
            let known = distributions.iter().position(|known| *known == cycle);
            let position = known.unwrap_or(distributions.len());
            if known.is_none() {
                distributions.push(cycle);
            }
            // classes are capped below what a u16 counts
            of_class.push(u16::try_from(position).unwrap_or(u16::MAX));
        }
        if distributions.len() == 1 {
            of_class.clear();
        }
        Cycles {
            distributions,
            of_class,
        }
    }

    /// A cause of stops; none when the row gives no time between stops or
    /// none to repair.
    pub(super) fn stop(&self, cause: &Cause) -> Option<Stop> {
        let between = cause.between?.seconds().get();
        let repair = cause.repair?.seconds().get();
        if repair <= 0.0 {
            return None;
        }
        Some(Stop {
            cause: cause.name.to_owned(),
            basis: match cause.basis {
                book::Basis::Running => Basis::Running,
                book::Basis::Clock => Basis::Clock,
            },
            between: Distribution::Exponential(between),
            repair: if cause.spread == 1.0 {
                Distribution::Exponential(repair)
            } else {
                spread(Seconds(repair), cause.spread)
            },
            crew: cause.crew.and_then(|crew| self.crew_of.get(crew).copied()),
            in_breaks: self.book.plant.repair_in_breaks.value,
        })
    }

    /// A name that no station of the network has yet.
    pub(super) fn free_name(&self, wanted: &str) -> String {
        let mut name = wanted.to_owned();
        while self.network.stations.iter().any(|s| s.name == name) {
            name.push_str(" (line)");
        }
        name
    }
}

/// A cause of stops as a row gives it.
pub(super) struct Cause<'c> {
    pub(super) name: &'c str,
    pub(super) between: Option<Minutes>,
    pub(super) repair: Option<Minutes>,
    pub(super) spread: f64,
    pub(super) basis: book::Basis,
    pub(super) crew: Option<&'c str>,
}

/// A time with a coefficient of variation: lognormal, fixed when it is zero.
fn spread(mean: Seconds, variation: f64) -> Distribution {
    if variation == 0.0 {
        Distribution::Fixed(mean.get())
    } else {
        Distribution::Lognormal(mean.get(), variation)
    }
}

fn takes(word: book::Takes) -> Takes {
    match word {
        book::Takes::Any => Takes::Any,
        book::Takes::OneOfEach => Takes::OneOfEach,
        book::Takes::AsTheyCome => Takes::OneOfEachAsTheyCome,
    }
}

fn gives(word: book::Gives) -> Gives {
    match word {
        book::Gives::Share => Gives::Share,
        book::Gives::OneToEach => Gives::OneToEach,
    }
}
