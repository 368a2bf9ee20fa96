//! Stops that a station's joints make: caps, refills, spools and drums. How
//! often they come and how long they take follows from the figures of the way of
//! joining, one for the whole plant; so each station's stops are held against
//! what its joints say, and all stations' together give the figure.

use book::{At, Book, JoinMethod, JoinValue, Table};
use flow::model::Stop;
use whole::network::Built;

use super::{BookCell, FEW, Proposal, Reader, Verdict, What};
use crate::fit::{self, Family};
use crate::roster::OWN_STOP;

/// A cause, the figure that says how many joints lie between two such stops, all
/// others as they are, and the one that says how long a stop takes.
struct Figures {
    cause: &'static str,
    method: JoinMethod,
    every: JoinValue,
    seconds: JoinValue,
}

/// The causes that joints make.
const FIGURES: [Figures; 7] = [
    Figures {
        cause: "rivet refill",
        method: JoinMethod::Rivet,
        every: JoinValue::Refill,
        seconds: JoinValue::RefillTime,
    },
    Figures {
        cause: "die and punch change",
        method: JoinMethod::Rivet,
        every: JoinValue::DieLife,
        seconds: JoinValue::DieChange,
    },
    Figures {
        cause: "cap change",
        method: JoinMethod::Spot,
        every: JoinValue::DressesPerCap,
        seconds: JoinValue::CapChange,
    },
    Figures {
        cause: "tape spool change",
        method: JoinMethod::TapeSpot,
        every: JoinValue::TapeSpool,
        seconds: JoinValue::TapeChange,
    },
    Figures {
        cause: "wire spool change",
        method: JoinMethod::Arc,
        every: JoinValue::WireSpool,
        seconds: JoinValue::WireChange,
    },
    Figures {
        cause: "contact tip change",
        method: JoinMethod::Arc,
        every: JoinValue::TipEvery,
        seconds: JoinValue::TipChange,
    },
    Figures {
        cause: "adhesive drum change",
        method: JoinMethod::Adhesive,
        every: JoinValue::Drum,
        seconds: JoinValue::DrumChange,
    },
];

/// Whether a cause is one of those.
#[cfg(test)]
pub(super) fn known(cause: &str) -> bool {
    FIGURES.iter().any(|of| of.cause == cause)
}

/// Stops of the network that no row of the book has: station, position among
/// its stops, the stop.
fn made_by_joints<'b>(
    book: &'b Book,
    built: &'b Built,
) -> impl Iterator<Item = (usize, usize, &'b Stop)> {
    let places = built.stations.iter().zip(&built.network.stations);
    places.enumerate().flat_map(|(place, (origin, station))| {
        let own = |stop: &Stop| {
            let mut rows = book.stops.iter();
            stop.cause == OWN_STOP
                || rows.any(|row| row.station == origin.name && row.cause == stop.cause)
        };
        let joints = (0..)
            .zip(&station.stops)
            .filter(move |(_, stop)| !own(stop));
        joints.map(move |(slot, stop)| (place, slot, stop))
    })
}

/// Stops of each station that its joints make, in the order of the network.
/// They stand in no cell: their row is 0 of the table in which a measured stop
/// would have one.
pub(crate) fn joint_stops(book: &Book, built: &Built) -> Vec<BookCell> {
    let cells = made_by_joints(book, built).flat_map(|(place, slot, stop)| {
        let cell = |column, what, seconds: f64| BookCell {
            at: At {
                table: Table::Stops,
                row: 0,
            },
            column,
            station: built.stations[place].name.clone(),
            cause: Some(stop.cause.clone()),
            book: Some(seconds / 60.0),
            what,
            places: vec![place],
        };
        [
            cell("mtbf_min", What::Mtbf(slot), stop.between.mean()),
            cell("mttr_min", What::Mttr(slot), stop.repair.mean()),
        ]
    });
    cells.collect()
}

/// The rows of `join_figures` that such stops speak of.
pub(super) fn joint_figures(book: &Book, built: &Built) -> Vec<BookCell> {
    let of_row = |row: &book::JoinFigure| {
        let mut all = FIGURES.iter().filter(|of| of.method == row.method);
        let of = all.find(|of| row.figure == of.every || row.figure == of.seconds)?;
        let stops = made_by_joints(book, built).filter(|(_, _, stop)| stop.cause == of.cause);
        let places: Vec<usize> = stops.map(|(place, _, _)| place).collect();
        (!places.is_empty()).then(|| BookCell {
            at: row.at,
            column: "value",
            station: row.method.word().to_owned(),
            cause: Some(format!("{}: {}", of.cause, row.figure.word())),
            book: Some(row.value),
            what: if row.figure == of.every {
                What::JointsBetween(of.cause)
            } else {
                What::JointStop(of.cause)
            },
            places,
        })
    };
    book.join_figures.iter().filter_map(of_row).collect()
}

impl Reader<'_> {
    /// A station's stop that its joints make: the fit, and whether what the
    /// joints say lies in it.
    pub(super) fn joint_stop(&self, cell: &BookCell) -> Option<Proposal> {
        let mut proposal = match cell.what {
            What::Mtbf(slot) => self.between(cell, slot),
            What::Mttr(slot) => self.repair(cell, slot),
            _ => None,
        }?;
        if proposal.verdict == Verdict::Differs {
            proposal.verdict = Verdict::Open;
            proposal.why = Some(
                "its joints make the stop and no cell says it: mend join_figures, or give the \
                 station and cause a row in stops"
                    .to_owned(),
            );
        }
        Some(proposal)
    }

    /// Positions of a cause among the stops of the cell's stations.
    fn slots(&self, cell: &BookCell, cause: &str) -> Vec<(usize, usize)> {
        let slot = |place: &usize| {
            let mut stops = self.built.network.stations[*place].stops.iter();
            stops
                .position(|stop| stop.cause == cause)
                .map(|at| (*place, at))
        };
        cell.places.iter().filter_map(slot).collect()
    }

    /// The figure that says how many joints lie between two stops. Stations have
    /// different numbers of joints: each station's processing time counts in
    /// units of what its joints expect between two stops.
    pub(super) fn joints_between(&self, cell: &BookCell, cause: &str) -> Option<Proposal> {
        let (mut expected, mut stops) = (0.0, 0);
        for (place, slot) in self.slots(cell, cause) {
            let between = self.built.network.stations[place].stops[slot]
                .between
                .mean();
            for log in self.stops_of(&[place], slot) {
                expected += log.total / between;
                stops += log.running.n;
            }
        }
        if stops == 0 || expected <= 0.0 {
            return None;
        }
        // The log ends between two stops, hardly ever with one.
        let found = fit::mean_by_total(expected, stops, true, 0.95).scaled(cell.book?);
        Some(few(self.plain(cell, found, stops)))
    }

    /// The figure that says how long such a stop takes, seconds.
    pub(super) fn joint_seconds(&self, cell: &BookCell, cause: &str) -> Option<Proposal> {
        let mut logs = Vec::new();
        for (place, slot) in self.slots(cell, cause) {
            logs.extend(self.stops_of(&[place], slot));
        }
        let (times, repairs) = super::repairs(&logs);
        let mut proposal = self.fitted(cell, &times, Family::Lognormal, repairs, 1.0)?;
        // The fits are those of the stations.
        (proposal.fit, proposal.survival) = (None, Vec::new());
        Some(proposal)
    }
}

fn few(mut proposal: Proposal) -> Proposal {
    if proposal.evidence < FEW {
        proposal.verdict = Verdict::Open;
        proposal.why = Some(format!(
            "{} seen to their end, fewer than {FEW}",
            proposal.evidence
        ));
    }
    proposal
}
