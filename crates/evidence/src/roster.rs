//! Who may be named in a log: the stations and lines of the book with their
//! units, the causes that have a row of their own, and the classes of car.

use std::collections::{BTreeMap, BTreeSet};

use book::Book;
use flow::Distribution;
use flow::model::Work;
use whole::network::Built;

use crate::hours::{Hours, ShopHours};
use crate::map::LogMap;

/// The cause under which the stops of a station's own row run.
pub const OWN_STOP: &str = "stop";

/// A station of the plant, as a log sees it.
#[derive(Clone, Debug)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// Its shop.
    pub shop: String,
    /// Its line; empty where the book names none.
    pub line: String,
    /// Like units side by side.
    pub units: u32,
    /// Position of its first unit among all units.
    pub first_unit: u32,
    /// Causes of stops that the network knows, the station's own first where
    /// it has one.
    pub causes: Vec<String>,
    /// For each class of car the planned seconds of its cycle; one value for
    /// all where classes do not differ; none for a line that runs lots.
    pub cycles: Vec<f64>,
    /// For each class the position in the network's cycle distributions.
    pub cycle_kind: Vec<u16>,
    /// Position of its shop's hours.
    pub hours: usize,
    /// No link of the book leads on from it: cars leave the plant here.
    pub last: bool,
}

/// All that a log may name.
#[derive(Clone, Debug)]
pub struct Roster {
    /// Stations in the order of the network.
    pub places: Vec<Place>,
    /// For each unit its station.
    pub place_of_unit: Vec<u32>,
    /// Hours of the shops.
    pub hours: Vec<ShopHours>,
    /// Classes of car by name.
    classes: BTreeMap<String, usize>,
    /// For each class its product and the options that make it.
    class_parts: Vec<(String, Vec<String>)>,
    names: Lookup,
    /// How the log's own words are read.
    pub map: LogMap,
}

impl Roster {
    /// Of a book and its network.
    pub fn of(book: &Book, built: &Built, map: LogMap) -> Self {
        let lines: BTreeMap<&str, &str> = book
            .stations
            .iter()
            .map(|row| (row.station.as_str(), row.line.as_deref().unwrap_or("")))
            .collect();
        let mut hours = Hours::new(book, map.zone);
        let mut places = Vec::new();
        let mut place_of_unit = Vec::new();
        let links = &built.network.links;
        let sends: BTreeSet<usize> = links.iter().map(|link| link.from.at()).collect();
        for (origin, station) in built.stations.iter().zip(&built.network.stations) {
            let (cycles, cycle_kind) = cycles(&station.work, built.classes.len());
            places.push(Place {
                name: origin.name.clone(),
                shop: origin.shop.clone(),
                line: lines
                    .get(origin.name.as_str())
                    .map_or_else(String::new, |l| (*l).to_owned()),
                units: station.units,
                first_unit: as_u32(place_of_unit.len()),
                causes: station
                    .stops
                    .iter()
                    .map(|stop| stop.cause.clone())
                    .collect(),
                cycles,
                cycle_kind,
                hours: hours.of(&origin.shop),
                last: !sends.contains(&places.len()),
            });
            let place = as_u32(places.len() - 1);
            place_of_unit.extend(std::iter::repeat_n(place, station.units as usize));
        }
        let mut names = Lookup::new(places.len() + map.stations.len());
        for (n, place) in places.iter().enumerate() {
            names.insert(place.name.as_bytes(), as_u32(n));
        }
        for (theirs, ours) in &map.stations {
            if let Some(n) = names.get(ours.as_bytes()) {
                names.insert(theirs.as_bytes(), n);
            }
        }
        let classes = built.classes.iter().enumerate();
        Self {
            places,
            place_of_unit,
            hours: hours.shops,
            classes: classes.map(|(n, class)| (class.name.clone(), n)).collect(),
            class_parts: built
                .classes
                .iter()
                .map(|class| (class.product.clone(), class.options.clone()))
                .collect(),
            names,
            map,
        }
    }

    /// The position of a station, by the log's name for it.
    #[inline]
    pub fn station(&self, name: &[u8]) -> Option<u32> {
        self.names.get(name)
    }

    /// Names of all stations.
    pub fn names(&self) -> Vec<&str> {
        self.places
            .iter()
            .map(|place| place.name.as_str())
            .collect()
    }

    /// Names of the classes of car, by number.
    pub fn class_names(&self) -> Vec<&str> {
        let mut names: Vec<(usize, &str)> = (self.classes.iter())
            .map(|(name, class)| (*class, name.as_str()))
            .collect();
        names.sort_unstable();
        names.into_iter().map(|(_, name)| name).collect()
    }

    /// The class of car that a word means: a class by name, or a product and
    /// options behind `+`, of which those that change no cycle do not count.
    pub fn class(&self, word: &str) -> Option<usize> {
        let word = self.map.products.get(word).map_or(word, String::as_str);
        if let Some(class) = self.classes.get(word) {
            return Some(*class);
        }
        let mut parts = word.split('+').map(str::trim);
        let product = parts.next()?;
        let options: Vec<&str> = parts.collect();
        let known = |option: &str| {
            let mut same = self.class_parts.iter().filter(|(p, _)| p == product);
            same.any(|(_, list)| list.iter().any(|o| o == option))
        };
        let wanted: Vec<&str> = options.into_iter().filter(|o| known(o)).collect();
        self.class_parts.iter().position(|(p, list)| {
            p == product
                && list.len() == wanted.len()
                && list.iter().all(|o| wanted.contains(&o.as_str()))
        })
    }

    /// Whether a word names a product of the book, with or without options.
    pub(crate) fn is_product(&self, word: &str) -> bool {
        let word = self.map.products.get(word).map_or(word, String::as_str);
        let product = word.split('+').next().unwrap_or("").trim();
        self.classes.contains_key(word) || self.class_parts.iter().any(|(p, _)| p == product)
    }

    /// Whether cars leave the plant at a station, by the log's name for it.
    pub fn leaves(&self, station: &str) -> bool {
        let place = self.station(station.as_bytes());
        place.is_some_and(|place| self.places[place as usize].last)
    }

    /// Which cause of the network a cause of the log counts to: the one of its
    /// name, else the station's own row; one behind the last where the station
    /// has no such row.
    pub fn cause(&self, place: u32, word: &str) -> usize {
        let causes = &self.places[place as usize].causes;
        let named = |name: &str| causes.iter().position(|cause| cause == name);
        let own = || named(OWN_STOP).unwrap_or(causes.len());
        named(word).unwrap_or_else(own)
    }

    /// Planned seconds of a job of this class at a station; none where the
    /// book gives none.
    pub fn planned(&self, place: u32, class: Option<usize>) -> Option<f64> {
        let cycles = &self.places[place as usize].cycles;
        match cycles.as_slice() {
            [] => None,
            [one] => Some(*one),
            many => many.get(class?).copied(),
        }
    }

    /// Which of the station's cycles a class has.
    pub fn kind(&self, place: u32, class: Option<usize>) -> Option<u16> {
        let place = &self.places[place as usize];
        match place.cycle_kind.as_slice() {
            [] => (!place.cycles.is_empty()).then_some(0),
            many => many.get(class?).copied(),
        }
    }
}

fn cycles(work: &Work, classes: usize) -> (Vec<f64>, Vec<u16>) {
    let Work::Cycle(cycles) = work else {
        return (Vec::new(), Vec::new());
    };
    let mean = |kind: u16| {
        cycles
            .distributions
            .get(usize::from(kind))
            .map_or(0.0, Distribution::mean)
    };
    if cycles.of_class.is_empty() {
        return (vec![mean(0)], Vec::new());
    }
    let of_class = cycles.of_class.iter().take(classes);
    (
        of_class.map(|kind| mean(*kind)).collect(),
        cycles.of_class.clone(),
    )
}

/// A position as a row holds it.
pub(crate) fn as_u32(position: usize) -> u32 {
    u32::try_from(position).unwrap_or(u32::MAX)
}

/// Names by their bytes: open addressing, as a log asks for one with every row.
#[derive(Clone, Debug)]
struct Lookup {
    slots: Vec<Option<(u64, u32)>>,
    names: Vec<(Vec<u8>, u32)>,
}

impl Lookup {
    fn new(names: usize) -> Self {
        Self {
            slots: vec![None; (names * 4).next_power_of_two().max(16)],
            names: Vec::new(),
        }
    }

    fn insert(&mut self, name: &[u8], value: u32) {
        let key = hash(name);
        let mask = self.slots.len() - 1;
        let mut at = fold(key) & mask;
        while let Some((other, slot)) = self.slots[at] {
            if other == key && self.names[slot as usize].0 == name {
                return;
            }
            at = (at + 1) & mask;
        }
        self.slots[at] = Some((key, as_u32(self.names.len())));
        self.names.push((name.to_vec(), value));
    }

    #[inline]
    fn get(&self, name: &[u8]) -> Option<u32> {
        let key = hash(name);
        let mask = self.slots.len() - 1;
        let mut at = fold(key) & mask;
        while let Some((other, slot)) = self.slots[at] {
            let (found, value) = &self.names[slot as usize];
            if other == key && found == name {
                return Some(*value);
            }
            at = (at + 1) & mask;
        }
        None
    }
}

#[inline]
fn fold(key: u64) -> usize {
    (key ^ (key >> 32)) as usize
}

/// Eight bytes at a time, multiplied and turned; never 0, which means none.
#[inline]
pub(crate) fn hash(bytes: &[u8]) -> u64 {
    let mut key = 0x9E37_79B9_7F4A_7C15_u64 ^ bytes.len() as u64;
    let mut chunks = bytes.chunks_exact(8);
    for chunk in &mut chunks {
        let mut word = [0; 8];
        word.copy_from_slice(chunk);
        key = (key ^ u64::from_le_bytes(word)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        key ^= key >> 29;
    }
    let mut last = 0;
    for byte in chunks.remainder() {
        last = (last << 8) | u64::from(*byte);
    }
    key = (key ^ last).wrapping_mul(0x94D0_49BB_1331_11EB);
    (key ^ (key >> 31)) | 1
}
