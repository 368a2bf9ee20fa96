//! Lots, and what stands around the stations: arrivals, fleets, crews, calendars.

use super::check::Check;
use crate::model::{Link, LinkIdx, LotItem, LotRule, Lots, Station, Work};

impl Check<'_> {
    /// Every turn of a timetable makes an item, and every item has a turn.
    fn turns(&mut self, place: &str, lots: &Lots) {
        let LotRule::InOrder(turns) = &lots.rule else {
            return;
        };
        for (i, turn) in turns.iter().enumerate() {
            let place = format!("{place}, turn {}", i + 1);
            if turn.item as usize >= lots.items.len() {
                self.fault(
                    &place,
                    format_args!("item {} of {}", turn.item, lots.items.len()),
                    "the position of an item",
                    "correct the turn",
                );
            }
            if turn.lot == 0 {
                self.fault(
                    &place,
                    "a lot of 0",
                    "a lot of at least one piece",
                    "give the lot",
                );
            }
        }
        for (i, item) in (0_u32..).zip(&lots.items) {
            if turns.iter().all(|turn| turn.item != i) {
                self.fault(
                    &format!("{place}, item \"{}\"", item.name),
                    "no turn",
                    "a turn in the timetable for every item",
                    "give it a turn",
                );
            }
        }
    }

    pub(super) fn lots(&mut self, at: usize, place: &str, lots: &Lots, station: &Station) {
        if lots.items.is_empty() {
            self.fault(
                place,
                "no item",
                "at least one item",
                "give the station an item",
            );
        }
        self.time(&format!("{place}, changeover"), &lots.changeover);
        if station.units != 1 {
            self.fault(
                place,
                format_args!("{} units", station.units),
                "one unit where lots are made",
                "use a station per line",
            );
        }
        self.turns(place, lots);
        for item in &lots.items {
            self.item(at, &format!("{place}, item \"{}\"", item.name), item);
        }
    }

    fn item(&mut self, at: usize, place: &str, item: &LotItem) {
        self.time(&format!("{place}, cycle"), &item.cycle);
        self.share(&format!("{place}, scrap"), item.scrap);
        if item.lot == 0 {
            self.fault(
                place,
                "a lot of 0",
                "a lot of at least one piece",
                "give the lot",
            );
        }
        self.stock(at, place, item);
        let network = self.network;
        let brings = |link: &Link| link.to.at() == at && link.holds != Some(0);
        let unfed = |from: LinkIdx| !network.links.get(from.at()).is_some_and(brings);
        if item.from.is_some_and(unfed) {
            self.fault(
                place,
                "no material",
                "a link with places to this station",
                "correct the link",
            );
        }
        if item.class.at() >= self.network.classes.len().max(1) {
            self.fault(
                place,
                "an unknown class",
                "a class of the network",
                "correct the class",
            );
        }
    }

    /// Where an item's pieces lie once they are made.
    fn stock(&mut self, at: usize, place: &str, item: &LotItem) {
        let network = self.network;
        let link = network.links.get(item.to.at());
        let Some(link) = link.filter(|link| link.from.at() == at) else {
            return self.fault(
                place,
                "no stock",
                "a link from this station",
                "correct the stock",
            );
        };
        match link.holds {
            None => self.fault(
                place,
                "a stock without limit",
                "a stock with a number of places",
                "give it places",
            ),
            Some(0) => self.fault(
                place,
                "a stock of 0 places",
                "a stock with places",
                "give it places",
            ),
            Some(_) => {}
        }
        if link.holds.is_some_and(|places| item.at_start > places) {
            self.fault(
                place,
                format_args!("{} pieces at the start", item.at_start),
                "no more than the stock holds",
                "start with fewer",
            );
        }
    }

    pub(super) fn around(&mut self) {
        self.arrivals();
        self.fleets();
        self.crews();
        self.calendars();
    }

    fn arrivals(&mut self) {
        let network = self.network;
        for arrival in &network.arrivals {
            let place = format!("arrival at station {}", arrival.station.0);
            if arrival.station.at() >= network.stations.len() {
                self.fault(
                    &place,
                    "an unknown station",
                    "a station of the network",
                    "correct the arrival",
                );
            }
            self.time(&place, &arrival.between);
            if arrival.between.mean() <= 0.0 {
                self.fault(
                    &place,
                    "no time between arrivals",
                    "a mean above 0",
                    "give the time between arrivals",
                );
            }
            if arrival.batch == 0 || arrival.batch > 100_000 {
                self.fault(
                    &place,
                    arrival.batch,
                    "1 to 100000 jobs per arrival",
                    "correct the batch",
                );
            }
        }
    }

    fn fleets(&mut self) {
        let network = self.network;
        if network.fleets.len() > 32 {
            self.fault(
                "fleets",
                network.fleets.len(),
                "at most 32 fleets",
                "merge fleets",
            );
        }
        for fleet in &network.fleets {
            let place = format!("fleet \"{}\"", fleet.name);
            if fleet.count == 0 {
                self.fault(
                    &place,
                    "0 carriers",
                    "at least one carrier",
                    "give the fleet a carrier or drop it",
                );
            }
            if !(0.0..3.2e9).contains(&fleet.return_s) {
                self.fault(
                    &place,
                    fleet.return_s,
                    "a time from 0 to 3.2e9 s",
                    "correct the time",
                );
            }
            for end in [fleet.taken_at, fleet.returned_at] {
                match network.stations.get(end.at()) {
                    None => self.fault(
                        &place,
                        end.0,
                        "a station of the network",
                        "correct the fleet",
                    ),
                    Some(station) if matches!(station.work, Work::Lots(_)) => {
                        self.fault(
                            &place,
                            "a station that makes lots",
                            "a station with a cycle",
                            "take carriers elsewhere",
                        );
                    }
                    Some(_) => {}
                }
            }
        }
    }

    fn crews(&mut self) {
        for crew in &self.network.crews {
            if crew.count == 0 {
                let place = format!("crew \"{}\"", crew.name);
                self.fault(
                    &place,
                    "0 people",
                    "at least one",
                    "give the crew people or drop it",
                );
            }
        }
    }

    fn calendars(&mut self) {
        for calendar in &self.network.calendars {
            let place = format!("calendar \"{}\"", calendar.name);
            let sorted = calendar.open.windows(2).all(|w| w[0].1 <= w[1].0);
            let inside = calendar
                .open
                .iter()
                .all(|(a, b)| a.is_finite() && *a >= 0.0 && a < b && *b <= calendar.repeat_s);
            if calendar.open.is_empty()
                || !sorted
                || !inside
                || !(1.0..3.2e8).contains(&calendar.repeat_s)
            {
                self.fault(
                    &place,
                    format_args!("{} spells", calendar.open.len()),
                    "open spells of positive length, sorted, apart, within the repeat",
                    "correct the spells",
                );
            }
        }
    }
}
