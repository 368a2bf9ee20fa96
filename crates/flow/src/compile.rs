//! Network to plan: every check first, all faults at once.

use std::collections::BTreeSet;
use std::fmt;

use crate::distribution::{Distribution, Sampler};
use crate::model::{Gives, Lots, Network, Quality, Release, Station, Takes, Work};
use crate::plan::{
    Carriers, Each, Intake, ItemPlan, LotsPlan, NONE, Outlets, PartPlan, Plan, Pool, QualityPlan,
    ReleasePlan, StopPlan, Way,
};

/// What makes a network impossible to run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where: a path such as `station "framing 10", stop "gun", between`.
    pub place: String,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// The smallest change that frees it.
    pub mend: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: found {}, expected {}; {}",
            self.place, self.found, self.expected, self.mend
        )
    }
}

impl Plan {
    /// Checks the network and makes it ready to run.
    ///
    /// ```
    /// use flow::{Plan, model::Network};
    /// let faults = Plan::compile(&Network::default()).expect_err("nothing to run");
    /// assert!(faults[0].to_string().contains("at least one station"));
    /// ```
    ///
    /// # Errors
    /// All faults of the network, each with its place, what was found, what was
    /// expected and the smallest change that frees it.
    pub fn compile(network: &Network) -> Result<Self, Vec<Fault>> {
        let mut check = Check {
            network,
            faults: Vec::new(),
        };
        check.all();
        if check.faults.is_empty() {
            Ok(build(network))
        } else {
            Err(check.faults)
        }
    }
}

struct Check<'a> {
    network: &'a Network,
    faults: Vec<Fault>,
}

impl Check<'_> {
    fn fault(&mut self, place: &str, found: impl fmt::Display, expected: &str, mend: &str) {
        self.faults.push(Fault {
            place: place.to_owned(),
            found: found.to_string(),
            expected: expected.to_owned(),
            mend: mend.to_owned(),
        });
    }

    fn time(&mut self, place: &str, distribution: &Distribution) {
        if let Some(expected) = distribution.fault() {
            self.fault(
                place,
                format_args!("{distribution:?}"),
                expected,
                "correct the time",
            );
        }
    }

    fn share(&mut self, place: &str, value: f64) {
        if !(0.0..=1.0).contains(&value) {
            self.fault(place, value, "a share from 0 to 1", "correct the share");
        }
    }

    fn all(&mut self) {
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

    fn links(&mut self) {
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
            if link.holds.is_some_and(|h| h > 10_000_000) {
                self.fault(
                    &place,
                    "over 10 million places",
                    "at most 10 million",
                    "leave the limit out",
                );
            }
            if link.needs == 0 {
                self.fault(
                    &place,
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
                    &place,
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
    }

    fn station(&mut self, at: usize, station: &Station) {
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
        match &station.work {
            Work::Cycle(cycles) => {
                if cycles.distributions.is_empty() {
                    self.fault(&place, "no cycle", "a cycle time", "give a cycle time");
                }
                for distribution in &cycles.distributions {
                    self.time(&format!("{place}, cycle"), distribution);
                }
                for of in &cycles.of_class {
                    if usize::from(*of) >= cycles.distributions.len() {
                        self.fault(
                            &place,
                            of,
                            "a cycle of the station",
                            "correct the class's cycle",
                        );
                    }
                }
            }
            Work::Lots(lots) => self.lots(at, &place, lots, station),
        }
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

    fn quality(&mut self, at: usize, place: &str, quality: &Quality) {
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

    fn incoming(&self, at: usize) -> Vec<usize> {
        (0..self.network.links.len())
            .filter(|i| self.network.links[*i].to.at() == at)
            .collect()
    }

    fn intake(&mut self, at: usize, place: &str, station: &Station) {
        let incoming = self.incoming(at);
        let arrivals = self
            .network
            .arrivals
            .iter()
            .filter(|a| a.station.at() == at)
            .count();
        if let Some(release) = &station.release {
            let bad = match release {
                Release::Mix(shares) => {
                    shares.len() > self.network.classes.len().max(1)
                        || shares.iter().any(|s| !s.is_finite() || *s < 0.0)
                        || (!shares.is_empty() && shares.iter().sum::<f64>() <= 0.0)
                }
                Release::Order(order) => {
                    order.is_empty()
                        || order
                            .iter()
                            .any(|c| c.at() >= self.network.classes.len().max(1))
                }
            };
            if bad {
                self.fault(
                    place,
                    "a release of unknown or no classes",
                    "shares or an order of known classes",
                    "correct the release",
                );
            }
            if station.takes == Takes::Any && (!incoming.is_empty() || arrivals > 0) {
                self.fault(
                    place,
                    "jobs released here and jobs from a link",
                    "one or the other where the station takes any",
                    "release them at a station of its own before the merge",
                );
            }
        }
        if station.takes == Takes::Any {
            return;
        }
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

    fn outlets(&mut self, at: usize, place: &str, station: &Station) {
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

    fn lots(&mut self, at: usize, place: &str, lots: &Lots, station: &Station) {
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
        for item in &lots.items {
            let place = format!("{place}, item \"{}\"", item.name);
            self.time(&format!("{place}, cycle"), &item.cycle);
            self.share(&format!("{place}, scrap"), item.scrap);
            if item.lot == 0 {
                self.fault(
                    &place,
                    "a lot of 0",
                    "a lot of at least one piece",
                    "give the lot",
                );
            }
            let stock = self
                .network
                .links
                .get(item.to.at())
                .filter(|l| l.from.at() == at)
                .cloned();
            match stock {
                None => self.fault(
                    &place,
                    "no stock",
                    "a link from this station",
                    "correct the stock",
                ),
                Some(link) => {
                    if link.holds.is_none() {
                        self.fault(
                            &place,
                            "a stock without limit",
                            "a stock with a number of places",
                            "give it places",
                        );
                    }
                    if link.holds == Some(0) {
                        self.fault(
                            &place,
                            "a stock of 0 places",
                            "a stock with places",
                            "give it places",
                        );
                    }
                    if link.holds.is_some_and(|h| item.at_start > h) {
                        self.fault(
                            &place,
                            format_args!("{} pieces at the start", item.at_start),
                            "no more than the stock holds",
                            "start with fewer",
                        );
                    }
                }
            }
            if let Some(from) = item.from
                && self
                    .network
                    .links
                    .get(from.at())
                    .is_none_or(|l| l.to.at() != at || l.holds == Some(0))
            {
                self.fault(
                    &place,
                    "no material",
                    "a link with places to this station",
                    "correct the link",
                );
            }
            if item.class.at() >= self.network.classes.len().max(1) {
                self.fault(
                    &place,
                    "an unknown class",
                    "a class of the network",
                    "correct the class",
                );
            }
        }
    }

    fn around(&mut self) {
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
        for crew in &network.crews {
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
        for calendar in &network.calendars {
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

    /// Every station must be reached, and must have a way out.
    fn reach(&mut self) {
        let network = self.network;
        let n = network.stations.len();
        let mut out: Vec<Vec<usize>> = vec![Vec::new(); n];
        let mut into: Vec<Vec<usize>> = vec![Vec::new(); n];
        for (i, link) in network.links.iter().enumerate() {
            let station = &network.stations[link.from.at()];
            let is_rework = station.quality.rework.is_some_and(|r| r.at() == i);
            // A rework link that nothing takes, or a good way that nothing
            // takes, leads nowhere.
            let used = if is_rework {
                station.quality.first_time_ok < 1.0
            } else {
                station.quality.first_time_ok > 0.0
                    && station.quality.scrap < 1.0
                    && (link.share > 0.0 || station.gives == Gives::OneToEach)
            };
            if used {
                out[link.from.at()].push(link.to.at());
                into[link.to.at()].push(link.from.at());
            }
        }
        let fed = |at: usize| {
            into[at].is_empty()
                || network.stations[at].release.is_some()
                || network.arrivals.iter().any(|a| a.station.at() == at)
        };
        let reached = walk(n, (0..n).filter(|i| fed(*i)), &out);
        let exits = (0..n).filter(|i| {
            network.links.iter().all(|l| l.from.at() != *i)
                || network.stations[*i].quality.scrap > 0.0
                || network.stations[*i].quality.attempts.is_some()
                || (network.stations[*i].quality.rework.is_none()
                    && network.stations[*i].quality.first_time_ok < 1.0)
                || (!network.links.iter().enumerate().any(|(k, l)| {
                    l.from.at() == *i
                        && network.stations[*i]
                            .quality
                            .rework
                            .is_none_or(|r| r.at() != k)
                }) && network.stations[*i].quality.first_time_ok > 0.0)
        });
        let freed = walk(n, exits, &into);
        for (at, station) in network.stations.iter().enumerate() {
            let place = format!("station \"{}\"", station.name);
            if !reached[at] {
                self.fault(
                    &place,
                    "no job that could reach it",
                    "a way from a source to every station",
                    "link it from a station that jobs reach, or drop it",
                );
            } else if !freed[at] {
                self.fault(
                    &place,
                    "a loop with no way out",
                    "a way to an end of the line",
                    "give a station of the loop a first-time-OK share above 0, an attempt limit, or a link that leaves the loop",
                );
            }
        }
    }
}

fn walk(n: usize, from: impl Iterator<Item = usize>, ways: &[Vec<usize>]) -> Vec<bool> {
    let mut seen = vec![false; n];
    let mut stack: Vec<usize> = from.collect();
    while let Some(at) = stack.pop() {
        if !std::mem::replace(&mut seen[at], true) {
            stack.extend(ways[at].iter().copied().filter(|to| !seen[*to]));
        }
    }
    seen
}

#[allow(clippy::cast_possible_truncation)]
fn build(network: &Network) -> Plan {
    let classes = network.classes.len().max(1);
    let stations = network.stations.len();
    let mut links: Vec<Way> = network
        .links
        .iter()
        .map(|link| Way::new(link.from.0, link.to.0, link.holds, link.move_s))
        .collect();
    for (i, arrival) in network.arrivals.iter().enumerate() {
        links.push(Way::new(
            (stations + i) as u32,
            arrival.station.0,
            None,
            0.0,
        ));
    }
    for station in &network.stations {
        if let Work::Lots(lots) = &station.work {
            for item in &lots.items {
                links[item.to.at()].watched = true;
            }
        }
    }
    let mut pools = Vec::with_capacity(stations + network.arrivals.len());
    let mut first_unit = 0;
    let mut capped = 0;
    for (at, station) in network.stations.iter().enumerate() {
        pools.push(pool(network, at, station, first_unit, &mut capped, classes));
        first_unit += station.units;
    }
    for (i, arrival) in network.arrivals.iter().enumerate() {
        pools.push(arrival_pool(network, i, arrival, first_unit));
        first_unit += 1;
    }
    Plan {
        station_count: stations,
        unit_count: first_unit as usize,
        link_count: network.links.len(),
        fleets: network
            .fleets
            .iter()
            .map(|f| Carriers {
                count: f.count,
                return_time: crate::clock::ticks(f.return_s),
            })
            .collect(),
        crews: network.crews.iter().map(|c| c.count).collect(),
        calendars: network.calendars.clone(),
        class_names: if network.classes.is_empty() {
            vec!["job".to_owned()]
        } else {
            network.classes.clone()
        },
        capped,
        pools,
        links,
    }
}

#[allow(clippy::cast_possible_truncation)]
fn arrival_pool(
    network: &Network,
    i: usize,
    arrival: &crate::model::Arrival,
    first_unit: u32,
) -> Pool {
    Pool {
        name: format!(
            "arrival {i} at {}",
            network.stations[arrival.station.at()].name
        ),
        first_unit,
        units: 1,
        intake: Intake::Released(release_plan(&Release::Mix(arrival.mix.clone()))),
        samplers: vec![Sampler::new(&arrival.between)],
        of_class: Vec::new(),
        stops: Vec::new(),
        wear: 1.0,
        calendar: NONE,
        outlets: Outlets::One((network.links.len() + i) as u32),
        quality: QualityPlan::perfect(),
        takes_carrier: Vec::new(),
        returns_carrier: Vec::new(),
        lots: None,
        batch: arrival.batch,
        arrival: true,
    }
}

impl QualityPlan {
    fn perfect() -> Self {
        Self {
            perfect: true,
            first_time_ok: 1.0,
            scrap: 0.0,
            rework: NONE,
            attempts: u32::MAX,
            counter: 0,
        }
    }
}

fn class_mask(classes: usize, open: &[crate::model::ClassIdx]) -> Vec<bool> {
    if open.is_empty() {
        return Vec::new();
    }
    (0..classes)
        .map(|c| open.iter().any(|o| o.at() == c))
        .collect()
}

#[allow(clippy::cast_possible_truncation)]
fn release_plan(release: &Release) -> ReleasePlan {
    match release {
        Release::Mix(shares) => {
            let total: f64 = shares.iter().sum();
            let mut sum = 0.0;
            ReleasePlan::Mix(
                shares
                    .iter()
                    .map(|s| {
                        sum += s / total;
                        sum
                    })
                    .collect(),
            )
        }
        Release::Order(order) => ReleasePlan::Order(order.iter().map(|c| c.0 as u16).collect()),
    }
}

fn pool(
    network: &Network,
    at: usize,
    station: &Station,
    first_unit: u32,
    capped: &mut u32,
    classes: usize,
) -> Pool {
    let quality = {
        let q = &station.quality;
        let counter = *capped;
        if q.attempts.is_some() {
            *capped += 1;
        }
        QualityPlan {
            perfect: q.first_time_ok >= 1.0 && q.scrap <= 0.0,
            first_time_ok: q.first_time_ok,
            scrap: q.scrap,
            rework: q.rework.map_or(NONE, |l| l.0),
            attempts: q.attempts.unwrap_or(u32::MAX),
            counter,
        }
    };
    let (samplers, of_class, lots) = match &station.work {
        Work::Cycle(cycles) => (
            cycles.distributions.iter().map(Sampler::new).collect(),
            cycles.of_class.clone(),
            None,
        ),
        Work::Lots(lots) => (Vec::new(), Vec::new(), Some(lots_plan(network, lots))),
    };
    let intake = if lots.is_some() {
        Intake::Lots
    } else {
        intake(network, at, station, classes)
    };
    let outlets = outlets(network, at, station, classes);
    let fleet_at = |taken: bool| -> Vec<u32> {
        (0_u32..)
            .zip(&network.fleets)
            .filter(|(_, f)| {
                if taken {
                    f.taken_at.at() == at
                } else {
                    f.returned_at.at() == at
                }
            })
            .map(|(i, _)| i)
            .collect()
    };
    let stops: Vec<StopPlan> = station
        .stops
        .iter()
        .map(|stop| StopPlan {
            cause: stop.cause.clone(),
            basis: stop.basis,
            between: Sampler::new(&stop.between),
            repair: Sampler::new(&stop.repair),
            crew: stop.crew.map_or(NONE, |c| c.0),
            in_breaks: stop.in_breaks,
            shared: None,
        })
        .collect();
    let takes_carrier = fleet_at(true);
    Pool {
        name: station.name.clone(),
        first_unit,
        units: station.units,
        intake,
        samplers,
        of_class,
        stops,
        wear: station.wear,
        calendar: station.calendar.map_or(NONE, |c| c.0),
        outlets,
        quality,
        takes_carrier,
        returns_carrier: fleet_at(false),
        lots,
        batch: 1,
        arrival: false,
    }
}

fn lots_plan(network: &Network, lots: &Lots) -> LotsPlan {
    let reachable = |link: crate::model::LinkIdx| -> u32 {
        // The most material that can ever lie before the station: what the
        // link holds, or what the station above refills up to.
        let way = &network.links[link.at()];
        let holds = way.holds.unwrap_or(u32::MAX);
        match &network.stations[way.from.at()].work {
            Work::Lots(above) => above
                .items
                .iter()
                .filter(|item| item.to == link)
                .map(|item| item.lot.saturating_add(item.start_below))
                .min()
                .map_or(holds, |most| most.min(holds)),
            Work::Cycle(_) => holds,
        }
    };
    LotsPlan {
        items: lots
            .items
            .iter()
            .map(|item| ItemPlan {
                class: u16::try_from(item.class.0).unwrap_or(0),
                from: item.from.map_or(NONE, |l| l.0),
                to: item.to.0,
                cycle: Sampler::new(&item.cycle),
                scrap: item.scrap,
                lot: item.lot,
                start_below: item.start_below,
                drawn_per_hour: item.drawn_per_hour.max(1e-9),
                at_start: item.at_start,
                born_here: item.born_here,
                needed_at_once: network.links[item.to.at()].needs,
                material: item.from.map_or(0, |l| item.lot.min(reachable(l))),
            })
            .collect(),
        changeover: Sampler::new(&lots.changeover),
        rule: lots.rule,
    }
}

#[allow(clippy::cast_possible_truncation)]
fn intake(network: &Network, at: usize, station: &Station, classes: usize) -> Intake {
    let mut incoming: Vec<u32> = (0_u32..)
        .zip(&network.links)
        .filter(|(_, l)| l.to.at() == at)
        .map(|(i, _)| i)
        .collect();
    if station.takes == Takes::Any {
        for (i, arrival) in network.arrivals.iter().enumerate() {
            if arrival.station.at() == at {
                incoming.push((network.links.len() + i) as u32);
            }
        }
        return match (incoming.as_slice(), &station.release) {
            ([], Some(release)) => Intake::Released(release_plan(release)),
            ([], None) => Intake::Released(ReleasePlan::Mix(Vec::new())),
            ([one], _) => Intake::Link(*one),
            _ => Intake::Any(incoming),
        };
    }
    let release = station.release.as_ref().map(release_plan);
    if incoming.is_empty() {
        return Intake::Released(release.unwrap_or(ReleasePlan::Mix(Vec::new())));
    }
    let main = if release.is_some() {
        NONE
    } else {
        incoming.remove(0)
    };
    let parts: Vec<PartPlan> = incoming
        .into_iter()
        .map(|link| {
            let model = &network.links[link as usize];
            PartPlan {
                link,
                needs: model.needs,
                classes: class_mask(classes, &model.needed_for),
            }
        })
        .collect();
    if parts.is_empty() {
        return if main == NONE {
            Intake::Released(release.unwrap_or(ReleasePlan::Mix(Vec::new())))
        } else {
            Intake::Link(main)
        };
    }
    Intake::Each(Each {
        main,
        release,
        parts,
        as_they_come: station.takes == Takes::OneOfEachAsTheyCome,
    })
}

fn outlets(network: &Network, at: usize, station: &Station, classes: usize) -> Outlets {
    let ways: Vec<(u32, f64, Vec<bool>)> = (0_u32..)
        .zip(&network.links)
        .filter(|(i, l)| l.from.at() == at && station.quality.rework.is_none_or(|r| r.0 != *i))
        .map(|(i, l)| (i, l.share, class_mask(classes, &l.classes)))
        .collect();
    match ways.as_slice() {
        [] => Outlets::Leave,
        [(one, _, mask)] if mask.is_empty() => Outlets::One(*one),
        _ if station.gives == Gives::OneToEach => Outlets::Each(ways.iter().map(|w| w.0).collect()),
        _ => Outlets::Share(ways),
    }
}
