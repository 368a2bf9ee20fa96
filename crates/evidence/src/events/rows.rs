//! An event log as a state log and a genealogy.

use std::collections::BTreeMap;

use super::{Event, EventLog};
use crate::defects::{Kind, shown};
use crate::roster::Roster;
use crate::time::{Meaning, Micros, Stamps};

/// A state log and a genealogy, as CSV, made of an event log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AsCsv {
    /// `states.csv`.
    pub states: String,
    /// For each row of it the event that ends it.
    pub state_events: Vec<u64>,
    /// `genealogy.csv`.
    pub genealogy: String,
    /// For each row of it the item's first event.
    pub item_events: Vec<u64>,
    /// Events that are not what they should be.
    pub odd: Vec<Odd>,
    /// Events by the word of their lifecycle; none under the empty word.
    pub lifecycles: BTreeMap<String, u64>,
}

/// An event that is not what it should be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Odd {
    /// Which event of the file.
    pub event: u64,
    /// What is wrong with it.
    pub kind: Kind,
    /// Of which attribute.
    pub column: &'static str,
    /// What was found.
    pub found: String,
}

/// A row of the state log.
struct Row<'e> {
    from: Micros,
    to: Micros,
    station: &'e str,
    unit: String,
    stamps: [&'e str; 2],
    state: &'static str,
    product: &'e str,
    item: &'e str,
    event: u64,
    /// A `complete` ends it.
    done: bool,
}

/// The time of one item.
struct Span<'e> {
    from: (Micros, &'e str),
    first: u64,
    product: &'e str,
    /// Its last event, if the car left the plant with it.
    left: Option<&'e str>,
}

/// What is begun and not ended.
struct Open<'e> {
    at: Micros,
    time: &'e str,
    state: &'static str,
    unit: &'e str,
    event: u64,
}

impl EventLog {
    /// Pairs starts with ends, in the order of time, whatever the offsets of
    /// the stamps. Stamps themselves stay as they are; they are read, checked
    /// and listed like those of any state log. An item is finished where its
    /// last event is a `complete` at a station from which cars leave the plant,
    /// or when the file says so of the item.
    ///
    /// A `complete` says that the job is done, so that a unit's last job counts
    /// although no other follows it: a row of no length behind it says so. A
    /// `complete` without its `start` does not tell how long the job was worked on;
    /// it is left out and listed.
    pub fn as_csv(&self, roster: &Roster) -> AsCsv {
        let mut csv = AsCsv::default();
        let mut pairs = Pairs::default();
        let mut spans: BTreeMap<&str, Span<'_>> = BTreeMap::new();
        for (at, event) in self.in_time(roster) {
            let word = event.lifecycle.to_ascii_lowercase();
            let (item, product) = self.item(event, roster, &mut csv.odd);
            let station = event.station(roster);
            self.follow(&mut spans, (at, event), (item, product), || {
                word == "complete" && roster.leaves(station)
            });
            pairs.event((at, event), &word, station, (item, product));
            *csv.lifecycles.entry(word).or_default() += 1;
        }
        let mut rows = pairs.close(&mut csv.odd);
        rows.sort_by(|a, b| (a.from, a.station).cmp(&(b.from, b.station)));
        share_out(&mut rows, roster);
        last_jobs(&mut rows, roster);
        csv.write(&rows, &spans, self);
        csv
    }

    /// Events in the order of time. One whose stamp cannot be read stays behind
    /// the event above it.
    fn in_time(&self, roster: &Roster) -> Vec<(Micros, &Event)> {
        let mut stamps = Stamps::new(roster.map.zone);
        let mut last = Micros::MIN;
        let mut events: Vec<(Micros, &Event)> = Vec::new();
        for event in &self.events {
            if let Some(Meaning::Clear(at) | Meaning::Doubled(at)) =
                stamps.read(event.time.trim().as_bytes())
            {
                last = at;
            }
            events.push((last, event));
        }
        events.sort_by_key(|(at, _)| *at);
        events
    }

    /// The item of an event and what kind it is. Of several the one that is a
    /// product, else the only one that none of the others is made of; where
    /// neither says which, the first, and the event is told.
    fn item<'e>(
        &'e self,
        event: &'e Event,
        roster: &Roster,
        odd: &mut Vec<Odd>,
    ) -> (&'e str, &'e str) {
        let kind = |item: &str| self.kinds.get(item).map_or("", String::as_str);
        let cars = event
            .items
            .iter()
            .filter(|item| roster.is_product(kind(item)));
        let cars: Vec<&String> = cars.collect();
        let is_part = |item: &&String| {
            let mut parts = self.parts.iter();
            parts.any(|(of, part)| part == *item && event.items.contains(of))
        };
        let item = match (cars.as_slice(), event.items.as_slice()) {
            ([one], _) => one.as_str(),
            ([], [one]) => one.as_str(),
            (_, []) => "",
            (_, [first, ..]) => {
                let mut tops = event.items.iter().filter(|item| !is_part(item));
                match (tops.next(), tops.next()) {
                    (Some(top), None) if cars.is_empty() => top.as_str(),
                    _ => {
                        odd.push(Odd {
                            event: event.number,
                            kind: Kind::ManyItems,
                            column: "item",
                            found: format!("{} of {} objects", shown(first), event.items.len()),
                        });
                        cars.first().copied().unwrap_or(first).as_str()
                    }
                }
            }
        };
        let product = Some(event.product.as_str()).filter(|product| !product.is_empty());
        (item, product.unwrap_or_else(|| kind(item)))
    }

    /// Every item of an event was there, and the one it happened to may have
    /// left.
    fn follow<'e>(
        &'e self,
        spans: &mut BTreeMap<&'e str, Span<'e>>,
        (at, event): (Micros, &'e Event),
        (item, product): (&'e str, &'e str),
        left: impl Fn() -> bool,
    ) {
        for one in &event.items {
            let mine = one == item;
            let kind = self.kinds.get(one).map_or("", String::as_str);
            let span = spans.entry(one).or_insert(Span {
                from: (at, &event.time),
                first: event.number,
                product: if mine { product } else { kind },
                left: None,
            });
            if mine {
                span.left = left().then_some(event.time.as_str());
            }
        }
    }
}

/// Starts and ends as they find each other.
#[derive(Default)]
struct Pairs<'e> {
    open: BTreeMap<(&'e str, &'e str), Open<'e>>,
    rows: Vec<Row<'e>>,
    odd: Vec<Odd>,
}

impl<'e> Pairs<'e> {
    /// The next event, its lifecycle in small letters.
    fn event(
        &mut self,
        (at, event): (Micros, &'e Event),
        lifecycle: &str,
        station: &'e str,
        (item, product): (&'e str, &'e str),
    ) {
        let next = match lifecycle {
            "start" | "resume" => Some("working"),
            "suspend" => Some("stopped"),
            "complete" => None,
            _ => return,
        };
        match self.open.remove(&(station, item)) {
            Some(begun) => self.rows.push(Row {
                from: begun.at,
                to: at,
                station,
                unit: if begun.unit.is_empty() {
                    event.unit.clone()
                } else {
                    begun.unit.to_owned()
                },
                stamps: [begun.time, &event.time],
                state: begun.state,
                product,
                item,
                event: event.number,
                done: next.is_none(),
            }),
            None if next.is_none() => self.odd.push(unpaired(
                event.number,
                &format!(
                    "{} ends at {} and did not begin",
                    shown(item),
                    shown(station)
                ),
            )),
            None => {}
        }
        if let Some(state) = next {
            let begun = Open {
                at,
                time: &event.time,
                state,
                unit: &event.unit,
                event: event.number,
            };
            self.open.insert((station, item), begun);
        }
    }

    /// The rows, and what did not find its other end beside what was odd before.
    fn close(self, odd: &mut Vec<Odd>) -> Vec<Row<'e>> {
        odd.extend(self.odd);
        odd.extend(self.open.iter().map(|((station, item), begun)| {
            unpaired(
                begun.event,
                &format!(
                    "{} begins at {} and does not end",
                    shown(item),
                    shown(station)
                ),
            )
        }));
        odd.sort_by_key(|odd| odd.event);
        self.rows
    }
}

fn unpaired(event: u64, found: &str) -> Odd {
    Odd {
        event,
        kind: Kind::UnpairedEvent,
        column: "lifecycle",
        found: found.to_owned(),
    }
}

/// Behind each unit's last row that a `complete` ends one of no length: nothing
/// else would tell that the job is done.
fn last_jobs(rows: &mut Vec<Row<'_>>, roster: &Roster) {
    let mut last: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        if roster.station(row.station.as_bytes()).is_some() {
            last.insert((row.station, row.unit.as_str()), at);
        }
    }
    let mut places: Vec<usize> = last.into_values().filter(|at| rows[*at].done).collect();
    places.sort_unstable_by(|a, b| b.cmp(a));
    for at in places {
        let row = &rows[at];
        let done = Row {
            from: row.to,
            stamps: [row.stamps[1]; 2],
            state: "starved",
            product: "",
            item: "",
            unit: row.unit.clone(),
            ..*row
        };
        rows.insert(at + 1, done);
    }
}

impl Event {
    /// What names its station: the first name that the book knows, else the
    /// first there is.
    fn station(&self, roster: &Roster) -> &str {
        let names = || self.stations.iter().map(|name| name.trim());
        let known = names().find(|name| roster.station(name.as_bytes()).is_some());
        known
            .or_else(|| names().find(|name| !name.is_empty()))
            .unwrap_or("")
    }
}

/// Rows of a station of several units that name none go to the unit that works
/// on the item, else to the one that has been free for longest.
fn share_out(rows: &mut [Row<'_>], roster: &Roster) {
    let mut units: BTreeMap<u32, Vec<(Micros, &str)>> = BTreeMap::new();
    for row in rows {
        let Some(place) = roster.station(row.station.as_bytes()) else {
            continue;
        };
        let all = roster.places[place as usize].units as usize;
        let units = units
            .entry(place)
            .or_insert_with(|| vec![(Micros::MIN, ""); all]);
        let named = row.unit.trim().parse::<usize>().ok();
        let at = match named {
            Some(unit) => unit.wrapping_sub(1),
            None if !row.unit.trim().is_empty() => continue,
            None => {
                let same = units.iter().position(|unit| *unit == (row.from, row.item));
                let free = (0..units.len()).min_by_key(|unit| units[*unit].0);
                same.or(free).unwrap_or(0)
            }
        };
        if let Some(unit) = units.get_mut(at) {
            *unit = (row.to, row.item);
            row.unit = (at + 1).to_string();
        }
    }
}

impl AsCsv {
    fn write(&mut self, rows: &[Row<'_>], spans: &BTreeMap<&str, Span<'_>>, log: &EventLog) {
        "station,unit,from,to,state,cause,product,item\n".clone_into(&mut self.states);
        for row in rows {
            let [from, to] = row.stamps;
            let unit = row.unit.as_str();
            let cells = [
                row.station,
                unit,
                from,
                to,
                row.state,
                "",
                row.product,
                row.item,
            ];
            self.states += &cells.map(cell).join(",");
            self.states.push('\n');
            self.state_events.push(row.event);
        }
        let mut made_of: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (item, part) in &log.parts {
            made_of.entry(item).or_default().push(part);
        }
        "item,product,began,time,made_of\n".clone_into(&mut self.genealogy);
        for (item, span) in spans {
            let parts = made_of
                .get(item)
                .map_or_else(String::new, |parts| parts.join(";"));
            let stated = log.finished.get(*item).map(String::as_str);
            let left = stated.or(span.left).unwrap_or("");
            let cells = [*item, span.product, span.from.1, left, parts.as_str()];
            self.genealogy += &cells.map(cell).join(",");
            self.genealogy.push('\n');
            self.item_events.push(span.first);
        }
    }
}

/// A cell on one line.
fn cell(text: &str) -> String {
    crate::rehearse::cell(&text.replace(['\n', '\r'], " "))
}
