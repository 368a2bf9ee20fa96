//! The genealogy of a log: which items were finished, and how old they were.

use std::collections::{BTreeMap, BTreeSet};

use book::Problem;

use super::tables::{Sheet, Source, Tables};
use crate::defects::{Defects, Kind};
use crate::gather::Rules;
use crate::roster::{Roster, hash};
use crate::time::{Micros, seconds};

/// Items whose history is followed; more are counted and left out.
const MOST_ITEMS: usize = 5_000_000;

/// An item.
struct Item {
    began: Micros,
    ended: Option<Micros>,
    /// Its first row, to know it again.
    row: u64,
    /// It is of a product of the book.
    product: bool,
}

/// A part of an item, and the row that says so.
struct Part {
    of: Vec<u8>,
    part: Vec<u8>,
    row: u64,
}

/// All items and parts.
#[derive(Default)]
struct Family {
    items: BTreeMap<Vec<u8>, Item>,
    parts: Vec<Part>,
}

impl Tables {
    /// `genealogy.csv`: items, when they began and ended, what they are made of.
    pub(super) fn read_genealogy(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        _: &Rules,
        defects: &mut Defects,
    ) -> Result<(), Vec<Problem>> {
        self.read_items(file, source, roster, defects)
    }

    /// A genealogy from anywhere. Cars are the finished items that are part of
    /// no other, and where any of these is of a product of the book only those
    /// that are: a lot in stock is no car.
    pub(super) fn read_items(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        defects: &mut Defects,
    ) -> Result<(), Vec<Problem>> {
        let mut family = Family::default();
        let names = &["item", "began", "time", "made_of", "product"];
        Sheet::walk(
            file,
            source,
            roster,
            names,
            2,
            defects,
            |sheet, record, defects| family.row(sheet, record, defects),
        )?;
        family.parts(file, defects);
        family.pass_ages_on();
        self.items = family.cars();
        Ok(())
    }
}

impl Family {
    fn row(&mut self, sheet: &mut Sheet<'_>, record: &csv::ByteRecord, defects: &mut Defects) {
        let name = sheet.cell(record, 0).to_vec();
        let Some(began) = sheet.stamp(record, 1, defects) else {
            return;
        };
        let ended = match sheet.cell(record, 2) {
            b"" => None,
            _ => match sheet.stamp(record, 2, defects) {
                Some(ended) => Some(ended),
                None => return,
            },
        };
        if ended.is_some_and(|ended| ended < began) {
            return sheet.wrong(Kind::ClockBack, 2, sheet.cell(record, 2), defects);
        }
        let cells: Vec<&[u8]> = record.iter().collect();
        let row = hash(&cells.join(&0));
        let again = self.items.get(&name).is_some_and(|item| {
            let other_end = ended.is_some() && item.ended.is_some() && ended != item.ended;
            item.row == row || other_end
        });
        if again {
            return sheet.wrong(Kind::Duplicate, 0, &name, defects);
        }
        if self.items.len() >= MOST_ITEMS && !self.items.contains_key(&name) {
            return sheet.wrong(Kind::BadRow, 0, &name, defects);
        }
        let word = sheet.cell(record, 4);
        let known = std::str::from_utf8(word).ok();
        let product = known.is_some_and(|word| sheet.roster.is_product(word));
        if !product && !word.is_empty() && ended.is_some() {
            sheet.wrong(Kind::UnknownProduct, 4, word, defects);
        }
        for part in sheet.cell(record, 3).split(|byte| *byte == b';') {
            let part = part.trim_ascii();
            if !part.is_empty() {
                self.parts.push(Part {
                    of: name.clone(),
                    part: part.to_vec(),
                    row: sheet.row,
                });
            }
        }
        let item = self.items.entry(name).or_insert(Item {
            began,
            ended: None,
            row,
            product: false,
        });
        item.began = item.began.min(began);
        item.ended = item.ended.or(ended);
        item.product |= product;
    }

    /// Lists parts without a row of their own, and items made of themselves.
    fn parts(&mut self, file: &str, defects: &mut Defects) {
        self.parts.retain(|part| {
            let known = part.part != part.of && self.items.contains_key(&part.part);
            if !known {
                defects.add(Kind::UnknownItem, || crate::defects::Place {
                    file: file.to_owned(),
                    row: part.row,
                    column: "made_of".to_owned(),
                    found: crate::defects::shown(&String::from_utf8_lossy(&part.part)),
                });
            }
            known
        });
    }

    /// Parts pass their age on; as many rounds as things are built of things.
    fn pass_ages_on(&mut self) {
        for _ in 0..8 {
            let mut changed = false;
            for Part { of, part, .. } in &self.parts {
                let Some(oldest) = self.items.get(part).map(|part| part.began) else {
                    continue;
                };
                if let Some(item) = self.items.get_mut(of).filter(|item| item.began > oldest) {
                    item.began = oldest;
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
    }

    /// When each car was finished, and its age in seconds, in the order of time.
    fn cars(self) -> Vec<(Micros, f64)> {
        let parts: BTreeSet<&[u8]> = self.parts.iter().map(|part| part.part.as_slice()).collect();
        let whole = self
            .items
            .iter()
            .filter(|(name, item)| item.ended.is_some() && !parts.contains(name.as_slice()));
        let whole: Vec<&Item> = whole.map(|(_, item)| item).collect();
        let products = whole.iter().any(|item| item.product);
        let cars = whole.iter().filter(|item| item.product || !products);
        let mut cars: Vec<(Micros, f64)> = cars
            .filter_map(|item| Some((item.ended?, seconds((item.ended? - item.began).max(0)))))
            .collect();
        cars.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        cars
    }
}
