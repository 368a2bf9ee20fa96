//! What an order of cars is, told place by place: rules, colours, promises,
//! stations. It knows nothing of how the order came about.

use std::collections::{BTreeMap, BTreeSet};

use book::{Book, Cycle};
use sequence::model::Force;

use super::ask;
use super::cycles::cycle_of;
use super::drift::{DriftOnLine, StationDrift, Walked};
use super::model::{Block, ColourUse, Held, LevelUse, OrderRule, PlacedCar, Promised};
use super::painted::PaintedStore;
use super::rules::Spacing;
use super::week::{Car, OnHold};
use super::wrong::listed;
use super::{LineStation, uses};

/// An order, car by car.
pub(super) struct Told<'a> {
    pub(super) book: &'a Book,
    pub(super) rules: &'a [Spacing],
    /// Cars built before the first of them.
    pub(super) before: &'a [Car],
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
        let cars = self.row.iter().zip(1..);
        cars.map(|(car, place)| self.placed(car, place)).collect()
    }

    /// The cars before, the last of them first.
    pub(super) fn before(&self) -> Vec<PlacedCar> {
        let cars = self.before.iter().rev().zip(1..);
        cars.map(|(car, place)| self.placed(car, place)).collect()
    }

    fn placed(&self, car: &Car, place: u32) -> PlacedCar {
        let book = self.book;
        PlacedCar {
            place,
            order: car.order.map(|order| book.orders[order].order.clone()),
            product: book.products[car.product].product.clone(),
            options: car.options.clone(),
            colour: car.colour.map(|colour| book.colours[colour].colour.clone()),
            frozen: car.frozen.is_some(),
        }
    }

    /// The rules; `at_least` has for each that is weighed what any order must
    /// break of it.
    pub(super) fn rules(&self, at_least: &[Option<u64>]) -> Vec<OrderRule> {
        let book = self.book;
        let line = self.on_line();
        let told = |(rule, at_least): (&Spacing, &Option<u64>)| {
            let cars = self.row.iter().filter(|car| ask::concerns(book, rule, car));
            let (broken_at, broken_before) = uses::broken_at(book, rule, self.before, self.row);
            let on_line = uses::broken_at(book, rule, self.before, &line);
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
                broken_at,
                broken_before,
                at_least: at_least.unwrap_or(0),
                broken_on_line: on_line.0.len() as u64 + u64::from(on_line.1),
            }
        };
        self.rules.iter().zip(at_least).map(told).collect()
    }

    pub(super) fn colours(&self, changes_at_least: u64) -> ColourUse {
        let book = self.book;
        let blocks = uses::blocks(book, self.row);
        let (seconds, litres) = uses::changes_cost(book, self.before.last(), &blocks);
        let changes = |row: &[&Car]| {
            let opens = !self.before.is_empty() && uses::same_before(self.before, row) == 0;
            let inner = uses::blocks(book, row).len().saturating_sub(1);
            inner as u64 + u64::from(opens && !row.is_empty())
        };
        let longest = book.plant.longest_colour_block.value;
        let over = |cars: u32| longest.map_or(0, |most| cars.saturating_sub(most));
        // The first block goes on from the cars before, whose own excess is theirs.
        let open = uses::same_before(self.before, self.row);
        let of_block = |(block, at): (&Block, usize)| {
            let open = if at == 0 { open } else { 0 };
            u64::from(over(open + block.cars) - over(open))
        };
        let painted = !book.colours.is_empty();
        ColourUse {
            changes: changes(self.row),
            changes_at_least,
            changes_on_line: changes(&self.on_line()),
            longest_allowed: longest,
            over_block: if painted {
                blocks.iter().zip(0..).map(of_block).sum()
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

    /// The promises, those of cars that stay on hold too; `clash` has the orders
    /// whose promise is among what no order keeps together.
    pub(super) fn promises(&self, held: &[OnHold], clash: &BTreeSet<String>) -> Vec<Promised> {
        let book = self.book;
        let on_line: BTreeMap<u32, u32> = self.store.on_line.iter().copied().zip(1..).collect();
        let told = |(car, place): (&&Car, u32)| {
            let (order, within) = (&book.orders[car.order?], car.due?);
            Some(Promised {
                order: order.order.clone(),
                at: order.at,
                within,
                must: car.must,
                place: Some(place),
                kept: place <= within,
                place_on_line: Some(on_line.get(&place).copied().unwrap_or(place)),
                in_clash: clash.contains(&order.order),
            })
        };
        let built = self.row.iter().zip(1..).filter_map(told);
        let never = held.iter().filter_map(|held| {
            let order = &book.orders[held.order];
            Some(Promised {
                order: order.order.clone(),
                at: order.at,
                within: held.due?,
                must: order.must,
                place: None,
                kept: false,
                place_on_line: None,
                in_clash: false,
            })
        });
        built.chain(never).collect()
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
        let time = |car: &Car| {
            let product = &book.products[car.product].product;
            cycle_of(own.cycle(), &rows, product, &car.options).0 / units
        };
        let before: Vec<f64> = self.before.iter().map(time).collect();
        let times: Vec<f64> = self.row.iter().map(|car| time(car)).collect();
        let takt = station.takt.value.0;
        let heavy = times.iter().filter(|seconds| **seconds > takt).count();
        if heavy == 0 {
            return None;
        }
        let walked = |times: &[f64]| {
            let walked = Walked {
                before: &before,
                times,
                takt,
                most: station.drift_s,
            };
            walked.walk()
        };
        let walk = walked(&times);
        let of = |place: &u32| times[*place as usize - 1];
        let line: Vec<f64> = self.store.on_line.iter().map(of).collect();
        let on_line = walked(&line);
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
            on_line: DriftOnLine {
                past: on_line.past,
                worst_s: on_line.worst.0,
                worst_place: on_line.worst.1,
                longest_behind: on_line.longest_behind,
            },
        })
    }

    /// Cars that stay on hold, and those that come back.
    pub(super) fn held(&self, stay: &[OnHold]) -> Vec<Held> {
        let book = self.book;
        let stay = stay.iter().map(|held| Held {
            order: book.orders[held.order].order.clone(),
            at: book.orders[held.order].at,
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
    /// What must hold and does not, in words: hard rules, the longest block,
    /// promises that must be kept, cars on hold until they may come back.
    pub(super) fn broken(&self) -> Vec<String> {
        let rules = self.rules.iter().filter_map(hard_broken);
        let mut broken: Vec<String> = rules.collect();
        if let Some(most) = self.colours.longest_allowed
            && self.colours.over_block > 0
        {
            let over = cars(self.colours.over_block as usize);
            broken.push(format!(
                "blocks of one colour longer than the {most} allowed, by {over} in all"
            ));
        }
        let late = self.promises.iter();
        let late: Vec<String> = late
            .filter(|promise| promise.must && !promise.kept)
            .map(|late| match late.place {
                Some(place) => format!("{} at {place} instead of {}", late.order, late.within),
                None => format!("{} on hold instead of by {}", late.order, late.within),
            })
            .collect();
        if !late.is_empty() {
            let (those, named) = (cars(late.len()), listed(&late));
            broken.push(format!(
                "{those} behind a promise that must be kept: {named}"
            ));
        }
        let early = self.on_hold.iter().filter_map(|held| {
            let (place, from) = (held.place?, held.back_from?);
            (place < from).then(|| format!("{} at {place} instead of {from}", held.order))
        });
        let early: Vec<String> = early.collect();
        if !early.is_empty() {
            let (those, named) = (cars(early.len()), listed(&early));
            broken.push(format!(
                "{those} built before coming back from hold: {named}"
            ));
        }
        broken
    }
}

fn hard_broken(rule: &OrderRule) -> Option<String> {
    let runs = rule.runs_broken();
    if rule.weight.is_some() || runs == 0 {
        return None;
    }
    let runs = match runs {
        1 => "1 run of cars".to_owned(),
        _ => format!("{runs} runs of cars"),
    };
    Some(format!(
        "{}: {} in every {}, which must hold, broken by {runs}",
        rule.option, rule.at_most, rule.in_every
    ))
}

/// So many cars in words, as in `1,400 cars`.
pub(super) fn cars(count: usize) -> String {
    let noun = if count == 1 { "car" } else { "cars" };
    format!("{} {noun}", units::grouped(count))
}

#[cfg(test)]
mod tests {
    use super::cars;

    #[test]
    fn a_week_of_cars_is_written_with_its_thousands_apart() {
        assert_eq!(cars(1), "1 car");
        assert_eq!(cars(1_400), "1,400 cars");
    }
}
