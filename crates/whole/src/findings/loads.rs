//! Seconds that a car asks of each station, clean and with repeats.

use book::{Book, Problem};
use flow::distribution::Distribution;
use flow::model::{Cycles, LotItem, Work};
use units::{Quantity, Share};

use crate::network::Built;
use crate::requirement::{Requirement, requirement};

/// Seconds a car, over all units of a station.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct SecondsPerCar {
    /// When everything is right at the first try.
    pub(super) clean: f64,
    /// With rework and scrap.
    pub(super) gross: f64,
}

/// What a car asks of each station of the network.
///
/// # Errors
/// The reasons why the requirement cascade cannot be solved.
pub(super) fn per_car(book: &Book, built: &Built) -> Result<Vec<SecondsPerCar>, Vec<Problem>> {
    let (gross, clean) = (requirement(book)?, requirement(&perfect(book))?);
    let load = |requirement| Load {
        book,
        built,
        requirement,
    };
    let (gross, clean) = (load(&gross), load(&clean));
    let both = |station| SecondsPerCar {
        clean: clean.per_car(station),
        gross: gross.per_car(station),
    };
    Ok((0..built.network.stations.len()).map(both).collect())
}

/// The same book without scrap and rework.
fn perfect(book: &Book) -> Book {
    let mut book = book.clone();
    for station in &mut book.stations {
        station.first_time_ok = Some(Share(1.0));
        station.scrap = Share(0.0);
    }
    for part in &mut book.parts {
        part.scrap = Share(0.0);
    }
    book
}

struct Load<'a> {
    book: &'a Book,
    built: &'a Built,
    requirement: &'a Requirement,
}

impl Load<'_> {
    fn per_car(&self, station: usize) -> f64 {
        let week = match &self.built.network.stations[station].work {
            Work::Cycle(cycles) => self.cycles(station, cycles),
            Work::Lots(lots) => lots.items.iter().map(|item| self.lots(item)).sum(),
        };
        let cars = self.requirement.cars();
        if cars > 0.0 { week / cars } else { 0.0 }
    }

    /// Seconds a week in cycles.
    fn cycles(&self, station: usize, cycles: &Cycles) -> f64 {
        let cycle = |class: usize| {
            let of = cycles.of_class.get(class).copied().unwrap_or(0);
            cycles
                .distributions
                .get(usize::from(of))
                .map_or(0.0, Distribution::mean)
        };
        let product = |need: &crate::requirement::Need| {
            let classes = self.built.classes.iter().enumerate();
            let own = classes.filter(|(_, class)| class.product == need.product);
            let (mut time, mut share) = (0.0, 0.0);
            for (position, class) in own {
                time += class.share.get() * cycle(position);
                share += class.share.get();
            }
            let mean = if share > 0.0 { time / share } else { 0.0 };
            need.cars * need.per_car.visits[station] * mean
        };
        self.requirement.products.iter().map(product).sum()
    }

    /// Seconds a week for one item of a line: as many blanks as panels begun.
    fn lots(&self, item: &LotItem) -> f64 {
        let part = self
            .book
            .parts
            .iter()
            .position(|part| part.part == item.name);
        part.map_or(0.0, |part| {
            item.cycle.mean() * self.requirement.parts[part].begun
        })
    }
}
