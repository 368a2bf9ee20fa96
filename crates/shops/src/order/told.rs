//! What an order of cars is, told place by place: rules, colours, promises,
//! stations. It knows nothing of how the order came about.

use std::collections::BTreeMap;

use book::{Book, Cycle};
use sequence::model::Force;

use super::ask;
use super::cycles::cycle_of;
use super::drift::{StationDrift, Walked};
use super::model::{ColourUse, Held, LevelUse, OrderRule, PlacedCar, Promised};
use super::painted::PaintedStore;
use super::rules::Spacing;
use super::week::Car;
use super::{LineStation, uses};

/// An order, car by car.
pub(super) struct Told<'a> {
    pub(super) book: &'a Book,
    pub(super) rules: &'a [Spacing],
    pub(super) row: &'a [&'a Car],
    pub(super) store: &'a PaintedStore,
}

impl<'a> Told<'a> {
    /// The cars as they reach the line.
    fn on_line(&self) -> Vec<&'a Car> {
        let body = |place: &u32| self.row[*place as usize - 1];
        self.store.on_line.iter().map(body).collect()
    }

    pub(super) fn places(&self) -> Vec<PlacedCar> {
        let book = self.book;
        let told = |(car, place): (&&Car, u32)| PlacedCar {
            place,
            order: car.order.map(|order| book.orders[order].order.clone()),
            product: book.products[car.product].product.clone(),
            options: car.options.clone(),
            colour: car.colour.map(|colour| book.colours[colour].colour.clone()),
            frozen: car.frozen.is_some(),
        };
        self.row.iter().zip(1..).map(told).collect()
    }

    /// The rules; `at_least` has for each that is weighed what any order must
    /// break of it.
    pub(super) fn rules(&self, at_least: &[Option<u64>]) -> Vec<OrderRule> {
        let book = self.book;
        let line = self.on_line();
        let told = |(rule, at_least): (&Spacing, &Option<u64>)| {
            let cars = self.row.iter().filter(|car| ask::concerns(book, rule, car));
            OrderRule {
                option: rule.option.clone(),
                product: rule.product.clone(),
                at_most: rule.at_most,
                in_every: rule.in_every,
                weight: match rule.force {
                    Force::Hard => None,
                    Force::Soft(weight) => Some(weight),
                },
                from: rule.from.clone(),
                weighed: at_least.is_some(),
                cars: cars.count() as u32,
                broken_at: uses::broken_at(book, rule, self.row),
                at_least: at_least.unwrap_or(0),
                broken_on_line: uses::broken_at(book, rule, &line).len() as u64,
            }
        };
        self.rules.iter().zip(at_least).map(told).collect()
    }

    pub(super) fn colours(&self, changes_at_least: u64) -> ColourUse {
        let book = self.book;
        let blocks = uses::blocks(book, self.row);
        let (seconds, litres) = uses::changes_cost(book, &blocks);
        let changes = |blocks: usize| blocks.saturating_sub(1) as u64;
        let longest = book.plant.longest_colour_block.value;
        let over = |cars: u32| longest.map_or(0, |most| cars.saturating_sub(most));
        let painted = !book.colours.is_empty();
        ColourUse {
            changes: changes(blocks.len()),
            changes_at_least,
            changes_on_line: changes(uses::blocks(book, &self.on_line()).len()),
            longest_allowed: longest,
            over_block: if painted {
                blocks.iter().map(|block| u64::from(over(block.cars))).sum()
            } else {
                0
            },
            change_min: seconds / 60.0,
            purge_l: litres,
            blocks: if painted { blocks } else { Vec::new() },
        }
    }

    pub(super) fn level(&self) -> Vec<LevelUse> {
        let names = ask::level_options(self.book, self.rules);
        uses::level(self.book, &names, self.row)
    }

    pub(super) fn promises(&self) -> Vec<Promised> {
        let book = self.book;
        let on_line: BTreeMap<u32, u32> = self.store.on_line.iter().copied().zip(1..).collect();
        let told = |(car, place): (&&Car, u32)| {
            let (order, within) = (&book.orders[car.order?], car.due?);
            Some(Promised {
                order: order.order.clone(),
                at: order.at,
                within,
                must: car.must,
                place,
                kept: place <= within,
                place_on_line: on_line.get(&place).copied().unwrap_or(place),
            })
        };
        self.row.iter().zip(1..).filter_map(told).collect()
    }

    /// The stations whose takt some car exceeds, walked through car by car.
    pub(super) fn stations(&self, stations: &[LineStation]) -> Vec<StationDrift> {
        let walked = stations.iter().filter_map(|station| self.station(station));
        walked.collect()
    }

    fn station(&self, station: &LineStation) -> Option<StationDrift> {
        let book = self.book;
        let own = &book.stations[station.station];
        let cycles = book.cycles.iter();
        let rows: Vec<&Cycle> = cycles
            .filter(|cycle| cycle.station == own.station)
            .collect();
        let units = f64::from(own.units.max(1));
        let time = |car: &&Car| {
            let product = &book.products[car.product].product;
            cycle_of(own.cycle(), &rows, product, &car.options).0 / units
        };
        let times: Vec<f64> = self.row.iter().map(time).collect();
        let takt = station.takt.value.0;
        let heavy = times.iter().filter(|seconds| **seconds > takt).count();
        if heavy == 0 {
            return None;
        }
        let walked = Walked {
            times: &times,
            takt,
            most: station.drift_s,
        };
        let walk = walked.walk();
        Some(StationDrift {
            station: own.station.clone(),
            at: own.at,
            shop: own.shop.clone(),
            takt_s: takt,
            drift_s: station.drift_s,
            heavy_cars: heavy as u32,
            past: walk.past,
            worst_s: walk.worst.0,
            worst_m: walk.worst.0 / takt * book.plant.pitch_m.value.0,
            worst_place: walk.worst.1,
            longest_behind: walk.longest_behind,
            restart_place: walk.restart.0,
            restart_past: walk.restart.1,
            restart_cars: walk.restart.2,
        })
    }

    /// Cars that stay on hold, and those that come back.
    pub(super) fn held(&self, stay: &[usize]) -> Vec<Held> {
        let book = self.book;
        let stay = stay.iter().map(|at| Held {
            order: book.orders[*at].order.clone(),
            at: book.orders[*at].at,
            back_from: None,
            place: None,
        });
        let back = self.row.iter().zip(1..).filter_map(|(car, place)| {
            let (order, from) = (&book.orders[car.order?], car.back?);
            Some(Held {
                order: order.order.clone(),
                at: order.at,
                back_from: Some(from),
                place: Some(place),
            })
        });
        let mut all: Vec<Held> = stay.chain(back).collect();
        all.sort_by_key(|held| held.at.row);
        all
    }
}

/// What an order must hold and does.
pub(super) struct Kept<'a> {
    pub(super) rules: &'a [OrderRule],
    pub(super) colours: &'a ColourUse,
    pub(super) promises: &'a [Promised],
    pub(super) on_hold: &'a [Held],
}

impl Kept<'_> {
    /// Hard rules, the longest block, promises that must be kept, cars on hold
    /// that stay until they may come back.
    pub(super) fn all(&self) -> bool {
        let hard = |rule: &OrderRule| rule.weight.is_none() && !rule.broken_at.is_empty();
        let early = |held: &Held| {
            held.place
                .zip(held.back_from)
                .is_some_and(|(at, from)| at < from)
        };
        self.promises
            .iter()
            .all(|promise| promise.kept || !promise.must)
            && self.colours.over_block == 0
            && !self.rules.iter().any(hard)
            && !self.on_hold.iter().any(early)
    }
}
