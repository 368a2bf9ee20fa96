//! Links, rework ways, merges and carriers.

use book::{Holds, Problem};
use flow::model::{Fleet, Gives, Link, LinkIdx, StationIdx, Takes};
use units::Quantity;

use super::{Draft, LinkOrigin, Way, idx, problem};
use crate::carts;
use crate::requirement::brings_new;

/// Shares that differ by less than this are the same.
const SAME_SHARE: f64 = 1e-9;

impl Draft<'_> {
    pub(super) fn add_links(&mut self) {
        let book = self.book;
        for row in &book.links {
            let ends = (
                self.station_of.get(row.from.as_str()),
                self.station_of.get(row.to.as_str()),
            );
            let (Some(&from), Some(&to)) = ends else {
                continue;
            };
            let rework = book.stations[from.at()].rework_to.as_ref() == Some(&row.to);
            let link = LinkIdx(idx(self.network.links.len()));
            self.network.links.push(Link {
                from,
                to,
                holds: match row.holds {
                    Holds::Places(places) => Some(places),
                    Holds::Unlimited => None,
                },
                move_s: row.move_s.get(),
                share: row.share.map_or(1.0, Quantity::get),
                classes: self.classes.of_products(&row.products),
                needs: row.needs,
                // set where the station below turns out to merge
                needed_for: Vec::new(),
            });
            self.link_products.push(&row.products);
            self.links.push(LinkOrigin {
                at: row.at,
                way: if rework { Way::Rework } else { Way::Onward },
            });
            if rework {
                self.network.stations[from.at()].quality.rework = Some(link);
            }
        }
        self.add_ways_to_itself();
        self.settle_shares();
        self.check_rework();
    }

    /// A station that does its own rework needs no link for it in the book. In
    /// the flow the car comes back over one without limit: a full one would
    /// never empty, as the station would wait for itself.
    fn add_ways_to_itself(&mut self) {
        let book = self.book;
        for (position, row) in book.stations.iter().enumerate() {
            let station = &self.network.stations[position];
            if row.rework_to.as_ref() != Some(&row.station) || station.quality.rework.is_some() {
                continue;
            }
            let link = LinkIdx(idx(self.network.links.len()));
            self.network.stations[position].quality.rework = Some(link);
            let at = StationIdx(idx(position));
            self.network.links.push(Link {
                from: at,
                to: at,
                holds: None,
                move_s: 0.0,
                share: 1.0,
                classes: Vec::new(),
                needs: 1,
                needed_for: Vec::new(),
            });
            self.link_products.push(&[]);
            self.links.push(LinkOrigin {
                at: row.at,
                way: Way::Rework,
            });
        }
    }

    /// Gives the links without a share the rest of their station's.
    fn settle_shares(&mut self) {
        let book = self.book;
        for station in 0..self.network.stations.len() {
            if self.network.stations[station].gives != Gives::Share {
                continue;
            }
            let (given, open): (Vec<usize>, Vec<usize>) = (0..self.network.links.len())
                .filter(|&l| self.network.links[l].from.at() == station)
                .filter(|&l| self.links[l].way == Way::Onward)
                .partition(|&l| book.links[l].share.is_some());
            if given.is_empty() {
                continue;
            }
            for &link in &open {
                let rests: Vec<f64> = self
                    .classes
                    .products
                    .iter()
                    .filter(|p| self.serves(link, p))
                    .map(|p| {
                        let taken = given.iter().filter(|&&l| self.serves(l, p));
                        let taken: f64 = taken.map(|&l| self.network.links[l].share).sum();
                        let among = open.iter().filter(|&&l| self.serves(l, p)).count();
                        (1.0 - taken).max(0.0) / among as f64
                    })
                    .collect();
                let Some(&rest) = rests.first() else {
                    continue;
                };
                if rests.iter().any(|r| (r - rest).abs() > SAME_SHARE) {
                    let at = self.links[link].at;
                    self.problems.push(Problem {
                        found: "a rest that differs from product to product".into(),
                        expected: "one share for all products of the link".into(),
                        mend: "give the share, or one link for each product".into(),
                        ..problem("links", "ambiguous-rest", Some(at), "share")
                    });
                }
                self.network.links[link].share = rest;
            }
        }
    }

    /// Whether a link is open to a product.
    pub(super) fn serves(&self, link: usize, product: &str) -> bool {
        let products = self.link_products[link];
        products.is_empty() || products.iter().any(|p| p == product)
    }

    fn check_rework(&mut self) {
        let book = self.book;
        for (row, station) in book.stations.iter().zip(&self.network.stations) {
            let Some(to) = &row.rework_to else {
                continue;
            };
            if station.quality.rework.is_none() {
                let mend = format!("add a row to links from {} to {to}", row.station);
                self.problems.push(Problem {
                    found: to.clone(),
                    expected: format!("a link from {} to {to}", row.station),
                    mend,
                    ..problem("stations", "rework-without-link", Some(row.at), "rework_to")
                });
            }
        }
    }

    /// Settles which link brings the car where several are joined, and for
    /// which cars the others are needed.
    pub(super) fn settle_merges(&mut self) {
        self.joined = vec![false; self.links.len()];
        for station in 0..self.book.stations.len() {
            let into: Vec<usize> = (0..self.network.links.len())
                .filter(|&l| self.network.links[l].to.at() == station)
                .collect();
            let joins_parts = into
                .iter()
                .any(|&l| matches!(self.links[l].way, Way::Panels(_) | Way::Blanks(_)));
            let merges = self.network.stations[station].takes != Takes::Any;
            if !joins_parts && !merges {
                self.check_source(station, &into);
                continue;
            }
            self.check_merge(station, &into, merges);
            if !merges {
                self.network.stations[station].takes = Takes::OneOfEach;
            }
            // the first link brings the car unless it is released here
            let joined = usize::from(!self.releases(station));
            for &link in into.iter().skip(joined) {
                let products = self.link_products[link];
                self.joined[link] = true;
                self.network.links[link].needed_for = self.classes.of_products(products);
            }
        }
    }

    /// A station that releases cars and joins nothing must not be fed.
    fn check_source(&mut self, station: usize, into: &[usize]) {
        let row = &self.book.stations[station];
        if row.source && into.iter().any(|&link| self.feeds(link)) {
            self.problems.push(Problem {
                found: format!("{} releases cars and is fed by a link", row.station),
                expected: "one or the other where nothing is joined".into(),
                mend: "set source to no, or takes to one_of_each if the link brings parts".into(),
                ..problem("stations", "source-and-fed", Some(row.at), "source")
            });
        }
    }

    /// Whether a link brings its station cars that it has not had.
    fn feeds(&self, link: usize) -> bool {
        let link = &self.network.links[link];
        brings_new(link.from, link.to)
    }

    /// A station that joins must know which of its links brings the car.
    fn check_merge(&mut self, station: usize, into: &[usize], merges: bool) {
        let row = &self.book.stations[station];
        let reworked = into.iter().find(|&&l| self.links[l].way == Way::Rework);
        if let Some(&link) = reworked {
            let at = self.links[link].at;
            let (table, column) = if self.feeds(link) {
                ("links", "to")
            } else {
                ("stations", "rework_to")
            };
            self.problems.push(Problem {
                found: format!("a rework link into {}, which joins", row.station),
                expected: "rework that goes to a station of its own".into(),
                mend: "send rework to a repair station that goes on behind the joining one".into(),
                ..problem(table, "rework-into-merge", Some(at), column)
            });
        }
        let cars = into
            .iter()
            .filter(|&&l| self.links[l].way == Way::Onward)
            .count();
        let most = usize::from(!self.releases(station));
        if !merges && cars > most {
            self.problems.push(Problem {
                found: format!(
                    "{} joins parts and takes cars from {cars} links",
                    row.station
                ),
                expected: format!("at most {most} link that brings the car"),
                mend: "set takes to one_of_each, or bring the ways together at a station in front"
                    .into(),
                ..problem("stations", "unclear-merge", Some(row.at), "takes")
            });
        }
    }

    /// Whether cars or sub-assemblies are released at a station of the book:
    /// it says so, or no other station feeds it.
    pub(super) fn releases(&self, station: usize) -> bool {
        let fed = |l: usize| {
            self.network.links[l].to.at() == station
                && self.feeds(l)
                && matches!(self.links[l].way, Way::Onward | Way::Rework)
        };
        self.book.stations[station].source || !(0..self.links.len()).any(fed)
    }

    pub(super) fn add_fleets(&mut self) {
        let book = self.book;
        let loops = carts::loops(book);
        for row in &book.carriers {
            let station = |name: &str| self.station_of.get(name).copied();
            let ends: (Option<StationIdx>, Option<StationIdx>) =
                (station(&row.taken_at), station(&row.returned_at));
            let (Some(taken_at), Some(returned_at)) = ends else {
                continue;
            };
            let own = loops.iter().find(|known| known.at == row.at);
            let serving = carts::in_service(row, own, row.count);
            self.fleets.push(row.at);
            self.network.fleets.push(Fleet {
                name: row.carrier.clone(),
                count: serving.carriers,
                taken_at,
                returned_at,
                return_s: serving.return_s,
            });
        }
    }
}
