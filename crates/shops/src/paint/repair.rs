//! Inspection and repairs: an absorbing chain of the inspection and each way of
//! repair, and what that asks of the steps and bays.

use book::{CoatKind, Repair, Severity};
use formulas::{Origin, Sourced, cascade};
use units::{Count, Share};

use super::{PaintStep, RepairLoad, RepairWayLoad, Work, said, told};
use crate::sheet::{Made, cell};

/// How often a body comes to the inspection and to each repair.
pub(super) struct Chain {
    pub(super) ok: Made<Share>,
    measured: bool,
    /// The step of the inspection; the last one where none is named.
    pub(super) inspection: usize,
    inspections: f64,
    pub(super) entering: f64,
    final_yield: f64,
    /// Visits for each good body, in the order of the book's repairs.
    visits: Vec<f64>,
    /// The step to which each repair leads back.
    back: Vec<Option<usize>>,
}

impl Chain {
    /// Passes of a step for each good body.
    pub(super) fn passes(&self, repairs: &[Repair], step: usize) -> f64 {
        if step > self.inspection {
            return 1.0;
        }
        let again = self.back.iter().zip(repairs).zip(&self.visits);
        let again = again
            .filter(|((back, _), _)| back.is_some_and(|back| back <= step))
            .map(|((_, row), visits)| visits * row.ok_share.0);
        self.entering + again.sum::<f64>()
    }
}

impl Work<'_> {
    /// The first step of a coat.
    pub(super) fn step_of(&self, coat: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.row.coat == coat)
    }

    /// The chain of inspection and repairs.
    pub(super) fn chain(&mut self) -> Option<Chain> {
        let book = self.question.book;
        let named = |step: &super::Step<'_>| step.kind == CoatKind::Inspect;
        let inspection = self.steps.iter().position(named);
        let inspection = inspection.unwrap_or(self.steps.len() - 1);
        let (ok, measured) = self.first_time_ok(inspection)?;
        let back: Vec<Option<usize>> = book
            .repairs
            .iter()
            .map(|row| {
                let back = self.step_of(row.back_to.as_deref()?);
                back.filter(|step| *step <= inspection)
            })
            .collect();
        let mut chain = Chain {
            inspections: 1.0,
            entering: 1.0,
            final_yield: 1.0,
            visits: vec![0.0; back.len()],
            ok,
            measured,
            inspection,
            back,
        };
        if book.repairs.is_empty() {
            self.no_repairs(&chain);
            return Some(chain);
        }
        self.solve(&mut chain)?;
        Some(chain)
    }

    /// The part that is OK: as its station measured it, or as the coats make it.
    fn first_time_ok(&mut self, inspection: usize) -> Option<(Made<Share>, bool)> {
        let row = self.steps[inspection].row;
        let stations = &self.question.book.stations;
        let of = |name: &String| stations.iter().find(|station| station.station == *name);
        let own = row.stations.iter().filter_map(of).find_map(|station| {
            let ok = station.first_time_ok?;
            Some(cell(ok, station.at, "first_time_ok"))
        });
        let measured = own.is_some();
        let shares = match own {
            Some(own) => vec![own],
            None => self.steps[..=inspection]
                .iter()
                .map(|step| cell(step.row.ok_share, step.row.at, "ok_share"))
                .collect(),
        };
        let made = self.sheet.add(
            "paint.first_time_ok",
            "part of the bodies that is OK at inspection",
            row.at,
            cascade::rolled_yield(shares),
        )?;
        Some((made, measured))
    }

    fn no_repairs(&mut self, chain: &Chain) {
        if chain.ok.value.0 >= 1.0 {
            return;
        }
        let row = self.steps[chain.inspection].row;
        self.notes.push(said(
            Severity::Note,
            (row.at, "no-repairs", "ok_share"),
            format!(
                "{} OK at inspection, and no table of repairs",
                told(chain.ok.value.0)
            ),
            "ways of repair",
            "give the book a table repairs; until then each body passes the line once",
        ));
    }

    /// Solves `N = (I - Q)^-1` with the inspection as the first state.
    fn solve(&mut self, chain: &mut Chain) -> Option<()> {
        let rows = &self.question.book.repairs;
        let (size, at) = (rows.len() + 1, rows[0].at);
        let zero = || Sourced::new(Share(0.0), Origin::Given);
        let mut routes: Vec<Sourced<Share>> = (0..size * size).map(|_| zero()).collect();
        let bad = 1.0 - chain.ok.value.0;
        for (to, row) in rows.iter().enumerate() {
            let share = Share(bad * row.share.0);
            routes[to + 1] = cell(share, row.at, "share");
            let own = (to + 1) * size;
            if chain.back[to].is_some() {
                routes[own] = cell(row.ok_share, row.at, "ok_share");
            }
            let fails = row.fails_to.as_deref();
            let fails = fails.and_then(|name| rows.iter().position(|row| row.repair == name));
            let failed = Share(1.0 - row.ok_share.0);
            routes[own + fails.unwrap_or(to) + 1] = cell(failed, row.at, "ok_share");
        }
        let mut entries = vec![Count(0.0); size];
        entries[0] = Count(1.0);
        let made = self.sheet.add(
            "paint.visits",
            "visits of inspection and repairs for a body that enters",
            at,
            cascade::absorbing_chain(entries, routes),
        )?;
        let visits = &made.value.visits;
        let done = rows.iter().zip(&chain.back).zip(&visits[1..]);
        let repaired = done
            .filter(|((_, back), _)| back.is_none())
            .map(|((row, _), visits)| visits.0 * row.ok_share.0);
        let good = visits[0].0 * chain.ok.value.0 + repaired.sum::<f64>();
        let good = Sourced::figure(Share(good.min(1.0)), "paint.visits");
        chain.final_yield = good.value.0;
        let entering = self.sheet.add(
            "paint.entering",
            "bodies that enter a week",
            at,
            cascade::input_from_yield(&self.question.bodies, good),
        )?;
        chain.entering = entering.value.0 / self.question.bodies.value.0;
        chain.inspections = visits[0].0 * chain.entering;
        chain.visits = visits[1..].iter().map(|v| v.0 * chain.entering).collect();
        Some(())
    }

    /// Loads of the bays.
    pub(super) fn repairs(&mut self, chain: &Chain, steps: &[PaintStep]) -> RepairLoad {
        let rows = &self.question.book.repairs;
        let ways: Vec<RepairWayLoad> = (0..rows.len())
            .map(|way| self.way(chain, steps, way))
            .collect();
        for way in ways.iter().filter(|way| way.over) {
            self.broken.push(said(
                Severity::Error,
                (way.at, "too-few-bays", "bays"),
                format!(
                    "{} of `{}`, loaded to {} %",
                    way.bays,
                    way.repair,
                    told(way.load * 100.0)
                ),
                "bays for all that come",
                format!(
                    "have {} bays, or make it shorter than {} min",
                    way.bays_needed,
                    told(way.minutes / way.load)
                ),
            ));
        }
        RepairLoad {
            first_time_ok: chain.ok.value(|ok| ok.0),
            measured: chain.measured,
            entering: chain.entering,
            inspections: chain.inspections,
            final_yield: chain.final_yield,
            ways,
        }
    }

    fn way(&self, chain: &Chain, steps: &[PaintStep], way: usize) -> RepairWayLoad {
        let question = self.question;
        let row = &question.book.repairs[way];
        let stations = &question.book.stations;
        let station = stations
            .iter()
            .find(|station| row.station.as_ref() == Some(&station.station));
        let bays = station.map_or(row.bays, |station| station.units);
        let minutes = station
            .and_then(|station| station.cycle_s)
            .map_or(row.time_min.0, |cycle| cycle.0 / 60.0);
        let week = chain.visits[way] * question.bodies.value.0;
        let busy = week * minutes / question.net.value.0;
        let again: f64 = chain.back[way].map_or(0.0, |back| {
            let again = &steps[back..=chain.inspection];
            again.iter().map(|step| step.dwell_min).sum()
        });
        let load = busy / f64::from(bays);
        RepairWayLoad {
            repair: row.repair.clone(),
            at: row.at,
            back_to: row.back_to.clone(),
            visits: chain.visits[way],
            week,
            minutes,
            bays,
            load,
            over: formulas::over(load),
            bays_needed: formulas::whole_up(busy).max(1.0) as u32,
            delay_h: (minutes + row.bake_min.0 + again) / 60.0,
        }
    }
}
