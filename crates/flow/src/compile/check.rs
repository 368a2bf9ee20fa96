//! Stations, links and releases: what is wrong with each by itself.

use std::collections::BTreeSet;
use std::fmt;

use super::Fault;
use super::build::own_rework;
use crate::distribution::Distribution;
use crate::model::{Gives, Link, Network, Quality, Release, Station, Takes, Work};

pub(super) struct Check<'a> {
    pub(super) network: &'a Network,
    pub(super) faults: Vec<Fault>,
}

impl Check<'_> {
    pub(super) fn fault(
        &mut self,
        place: &str,
        found: impl fmt::Display,
        expected: &str,
        mend: &str,
    ) {
        self.faults.push(Fault {
            place: place.to_owned(),
            found: found.to_string(),
            expected: expected.to_owned(),
            mend: mend.to_owned(),
        });
    }

    pub(super) fn time(&mut self, place: &str, distribution: &Distribution) {
        if let Some(expected) = distribution.fault() {
            self.fault(
                place,
                format_args!("{distribution:?}"),
                expected,
                "correct the time",
            );
        }
    }

    pub(super) fn share(&mut self, place: &str, value: f64) {
        if !(0.0..=1.0).contains(&value) {
            self.fault(place, value, "a share from 0 to 1", "correct the share");
        }
    }

    pub(super) fn all(&mut self) {
        let network = self.network;
        if network.stations.is_empty() {
            self.fault(
                "network",
                "no station",
                "at least one station",
                "add a station",
            );
            return;
        }
        if network.classes.len() > 4_096 {
            self.fault(
                "classes",
                network.classes.len(),
                "at most 4096 classes",
                "merge classes",
            );
        }
        let mut names = BTreeSet::new();
        for station in &network.stations {
            if !names.insert(station.name.as_str()) {
                self.fault(
                    &format!("station \"{}\"", station.name),
                    "the name twice",
                    "one station of that name",
                    "rename one of them",
                );
            }
        }
        self.links();
        if !self.faults.is_empty() {
            return;
        }
        for (at, station) in network.stations.iter().enumerate() {
            self.station(at, station);
        }
        self.around();
        if self.faults.is_empty() {
            self.reach();
        }
    }

    pub(super) fn links(&mut self) {
        let network = self.network;
        let stations = network.stations.len();
        for (i, link) in network.links.iter().enumerate() {
            let place = format!("link {i}");
            for end in [link.from, link.to] {
                if end.at() >= stations {
                    self.fault(
                        &place,
                        end.0,
                        "a station of the network",
                        "correct the link",
                    );
                }
            }
            if !link.share.is_finite() || link.share < 0.0 {
                self.fault(
                    &place,
                    link.share,
                    "a share of 0 or more",
                    "correct the share",
                );
            }
            if !(0.0..3.2e9).contains(&link.move_s) {
                self.fault(
                    &place,
                    link.move_s,
                    "a time from 0 to 3.2e9 s",
                    "correct the time",
                );
            }
            self.places(&place, link);
        }
    }

    /// Places and pieces of a link.
    fn places(&mut self, place: &str, link: &Link) {
        if link.holds.is_some_and(|h| h > 10_000_000) {
            self.fault(
                place,
                "over 10 million places",
                "at most 10 million",
                "leave the limit out",
            );
        }
        if link.needs == 0 {
            self.fault(
                place,
                0,
                "at least one piece",
                "drop the link or need one piece",
            );
        }
        if link
            .holds
            .is_some_and(|h| h < link.needs && !(h == 0 && link.needs == 1))
        {
            self.fault(
                place,
                format_args!(
                    "{} places, {} pieces needed at once",
                    link.holds.unwrap_or(0),
                    link.needs
                ),
                "as many places as pieces needed at once",
                "give the link more places",
            );
        }
    }

    pub(super) fn station(&mut self, at: usize, station: &Station) {
        let place = format!("station \"{}\"", station.name);
        if station.units == 0 || station.units > 10_000 {
            self.fault(
                &place,
                format_args!("{} units", station.units),
                "1 to 10000 units",
                "correct the units",
            );
        }
        if !(station.wear.is_finite() && station.wear > 0.0) {
            self.fault(&place, station.wear, "a wear factor above 0", "use 1");
        }
        self.work(at, &place, station);
        self.stops(&place, station);
        self.quality(at, &place, &station.quality);
        if station
            .calendar
            .is_some_and(|c| c.at() >= self.network.calendars.len())
        {
            self.fault(
                &place,
                "an unknown calendar",
                "a calendar of the network",
                "correct the calendar",
            );
        }
        self.intake(at, &place, station);
        self.outlets(at, &place, station);
    }

    /// The times of a station's work.
    fn work(&mut self, at: usize, place: &str, station: &Station) {
        match &station.work {
            Work::Cycle(cycles) => {
                if cycles.distributions.is_empty() {
                    self.fault(place, "no cycle", "a cycle time", "give a cycle time");
                }
                for distribution in &cycles.distributions {
                    self.time(&format!("{place}, cycle"), distribution);
                }
                for of in &cycles.of_class {
                    if usize::from(*of) >= cycles.distributions.len() {
                        self.fault(
                            place,
                            of,
                            "a cycle of the station",
                            "correct the class's cycle",
                        );
                    }
                }
            }
            Work::Lots(lots) => self.lots(at, place, lots, station),
        }
    }

    /// The stops of a station.
    fn stops(&mut self, place: &str, station: &Station) {
        for stop in &station.stops {
            let place = format!("{place}, stop \"{}\"", stop.cause);
            self.time(&format!("{place}, between"), &stop.between);
            self.time(&format!("{place}, repair"), &stop.repair);
            if stop.between.mean() <= 0.0 {
                self.fault(
                    &place,
                    "no time between stops",
                    "a mean time between stops above 0",
                    "give the time between stops or drop the stop",
                );
            }
            if stop
                .crew
                .is_some_and(|crew| crew.at() >= self.network.crews.len())
            {
                self.fault(
                    &place,
                    "an unknown crew",
                    "a crew of the network",
                    "correct the crew",
                );
            }
        }
    }

    pub(super) fn quality(&mut self, at: usize, place: &str, quality: &Quality) {
        self.share(&format!("{place}, first time ok"), quality.first_time_ok);
        self.share(&format!("{place}, scrap"), quality.scrap);
        if let Some(rework) = quality.rework
            && self
                .network
                .links
                .get(rework.at())
                .is_none_or(|link| link.from.at() != at)
        {
            self.fault(
                place,
                "a rework link of another station",
                "a link from this station",
                "correct the link",
            );
        }
        if quality.attempts == Some(0) {
            self.fault(
                place,
                "0 attempts",
                "at least one attempt",
                "allow one attempt or leave it out",
            );
        }
        if quality.attempts.is_some_and(|n| n > 200) {
            self.fault(
                place,
                "over 200 attempts",
                "at most 200 attempts",
                "leave the limit out",
            );
        }
    }

    pub(super) fn incoming(&self, at: usize) -> Vec<usize> {
        (0..self.network.links.len())
            .filter(|i| self.network.links[*i].to.at() == at)
            .collect()
    }

    pub(super) fn intake(&mut self, at: usize, place: &str, station: &Station) {
        let incoming = self.incoming(at);
        let arrivals = self
            .network
            .arrivals
            .iter()
            .filter(|a| a.station.at() == at)
            .count();
        if let Some(release) = &station.release {
            self.released(place, release);
            let own = own_rework(self.network, at);
            let fed = arrivals > 0 || incoming.iter().any(|link| own != Some(*link));
            if station.takes == Takes::Any && fed {
                self.fault(
                    place,
                    "jobs released here and jobs from a link",
                    "one or the other where the station takes any",
                    "release them at a station of its own before the merge",
                );
            }
        }
        if station.takes != Takes::Any {
            self.merge(place, station, incoming, arrivals);
        }
    }

    /// The classes of what is released.
    fn released(&mut self, place: &str, release: &Release) {
        let classes = self.network.classes.len().max(1);
        let bad = match release {
            Release::Mix(shares) => {
                shares.len() > classes
                    || shares.iter().any(|s| !s.is_finite() || *s < 0.0)
                    || (!shares.is_empty() && shares.iter().sum::<f64>() <= 0.0)
            }
            Release::Order(order) => order.is_empty() || order.iter().any(|c| c.at() >= classes),
        };
        if bad {
            self.fault(
                place,
                "a release of unknown or no classes",
                "shares or an order of known classes",
                "correct the release",
            );
        }
    }

    /// What comes into a station that joins.
    fn merge(&mut self, place: &str, station: &Station, incoming: Vec<usize>, arrivals: usize) {
        for i in incoming {
            let from = self.network.links[i].from.at();
            if self.network.stations[from]
                .quality
                .rework
                .is_some_and(|r| r.at() == i)
            {
                self.fault(
                    &format!(
                        "{place}, link from \"{}\"",
                        self.network.stations[from].name
                    ),
                    "a rework link into a merge",
                    "rework that comes back where one job at a time is taken",
                    "let it come back at a station behind the merge",
                );
            }
            let link = &self.network.links[i];
            if station.takes == Takes::OneOfEachAsTheyCome && link.needs != 1 {
                self.fault(
                    place,
                    format_args!("{} pieces of one kind", link.needs),
                    "one of each as they come",
                    "take them together",
                );
            }
        }
        if arrivals > 0 {
            self.fault(
                place,
                "arrivals at a merge",
                "arrivals at a station that takes any",
                "let them arrive at a station before the merge",
            );
        }
    }

    pub(super) fn outlets(&mut self, at: usize, place: &str, station: &Station) {
        let ways: Vec<_> = (0..self.network.links.len())
            .filter(|i| {
                self.network.links[*i].from.at() == at
                    && station.quality.rework.is_none_or(|r| r.at() != *i)
            })
            .map(|i| &self.network.links[i])
            .collect();
        if station.gives == Gives::OneToEach && ways.len() > 60 {
            self.fault(
                place,
                format_args!("{} pieces", ways.len()),
                "a split into at most 60 pieces",
                "split in two steps",
            );
        }
        if ways.is_empty()
            || station.gives == Gives::OneToEach
            || matches!(station.work, Work::Lots(_))
        {
            return;
        }
        for class in 0..self.network.classes.len().max(1) {
            let open: f64 = ways
                .iter()
                .filter(|w| w.classes.is_empty() || w.classes.iter().any(|c| c.at() == class))
                .map(|w| w.share)
                .sum();
            // A class that never comes here is no fault; one that could is
            // found when the plan's classes are walked.
            if open <= 0.0 && self.network.classes.len() <= 1 {
                self.fault(
                    place,
                    "outgoing links with share 0 together",
                    "shares that add to 1",
                    "give a link the share 1",
                );
            }
        }
    }
}
