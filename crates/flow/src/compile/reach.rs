//! Whether every station is reached, and every job can leave.

use super::check::Check;
use crate::model::Gives;

impl Check<'_> {
    /// Every station must be reached, and must have a way out.
    pub(super) fn reach(&mut self) {
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
                if !(is_rework && link.from == link.to) {
                    into[link.to.at()].push(link.from.at());
                }
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
