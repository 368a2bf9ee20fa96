//! The book held against a log: for every cell that a log can speak of, the
//! value found with its interval and evidence, and whether the book's own value
//! lies in it.
//!
//! The book's time between stops and time to repair are means. The mean's
//! interval is that of the family the book assumes (exponential between stops;
//! repairs by `repair_spread`), unless the times do not look like it and another
//! has an AIC lower by four or more, or another has one lower by more than ten:
//! then there is essentially no support for the book's (K. P. Burnham and D. R.
//! Anderson, Model Selection and Multimodel Inference, 2002, section 2.6).

mod accept;
mod believe;
mod cells;
mod course;
mod drift;
mod joints;
mod share;

use std::collections::BTreeMap;

use book::{Book, Table};
use flow::Distribution;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};
use whole::network::Built;

use crate::fit::{self, Family, Fit, Span, Step, Times, Trend};
use crate::gather::{Moments, Sample, StopLog, UnitLog};
use crate::read::{Log, Made};
use crate::roster::Roster;

pub use accept::{accept, rounded};
pub use believe::{Check, NotCompared, believe, not_compared};
pub use cells::{BookCell, What, cells};
pub use course::{Course, Movement, WeekFigure};
pub use drift::{Drift, Week, WeekSpans, drift};
pub(crate) use joints::joint_stops;
pub(crate) use share::share_span;

/// A second in minutes.
const MINUTE: f64 = 1.0 / 60.0;
/// Stops below which a fit is shown but not proposed.
pub const FEW: u64 = 5;
/// A trend this unlikely by chance, and the fit is not trusted.
const TREND: f64 = 0.01;
/// Cycles that vary by less are all the same.
const NO_SPREAD: f64 = 1e-3;
/// How much better another family must be before the book's own is left,
const BETTER_BY: f64 = 4.0;
/// and how unlikely by chance times must look if they are of the book's own:
/// of a handful of times one family or another always fits better.
const UNLIKE: f64 = 0.01;
/// How much better another family is where nothing speaks for the book's own.
const NO_SUPPORT: f64 = 10.0;

/// What the log says of a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "CellVerdict")
)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The book's value lies in the interval.
    Agrees,
    /// It does not.
    Differs,
    /// Too little evidence, or evidence that cannot be trusted.
    Open,
}

/// A cell with what the log says of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Proposal {
    /// Table of the book.
    pub table: String,
    /// Its row.
    pub row: u32,
    /// Its column, whose unit the values have.
    pub column: String,
    /// The station or line.
    pub station: String,
    /// The cause, where the cell is of one.
    pub cause: Option<String>,
    /// The value in the book.
    pub book: Option<f64>,
    /// The value found, with its 95 % interval.
    pub found: Span,
    /// Stops, repairs, jobs or changes seen to their end.
    pub evidence: u64,
    /// Of a fit, the family whose mean it is.
    pub family: Option<Family>,
    /// Of a fit, all of it.
    pub fit: Option<Fit>,
    /// Of a fit, the share of times (seconds) that last longer, straight from
    /// the log.
    pub survival: Vec<Step>,
    /// Of stops, whether they come more or less often.
    pub trend: Option<Trend>,
    /// Of stops, the standard's mean: divided by failures plus one.
    pub iso: Option<f64>,
    /// What it comes to.
    pub verdict: Verdict,
    /// Why it is open, if it is.
    pub why: Option<String>,
}

/// What the log says of every cell it can speak of, in the order of the book;
/// then of the stops that a station's joints make, which stand in no cell: their
/// row is 0.
pub fn learn(log: &Log, roster: &Roster, book: &Book, built: &Built) -> Vec<Proposal> {
    let output = log.output();
    let mut judged: BTreeMap<u32, Made> = BTreeMap::new();
    for ((place, _), made) in &output.made {
        if output.judged.contains(place) {
            judged.entry(*place).or_default().add(*made);
        }
    }
    let reader = Reader {
        log,
        roster,
        built,
        judged,
    };
    let cells = cells(book, built);
    let cells = cells.iter().filter_map(|cell| reader.proposal(cell));
    let joints = joint_stops(book, built);
    let joints = joints.iter().filter_map(|cell| reader.joint_stop(cell));
    cells.chain(joints).collect()
}

struct Reader<'a> {
    log: &'a Log,
    roster: &'a Roster,
    built: &'a Built,
    /// What stations made of which the log tells what was not right.
    judged: BTreeMap<u32, Made>,
}

impl Reader<'_> {
    fn proposal(&self, cell: &BookCell) -> Option<Proposal> {
        match cell.what {
            What::Cycle(kind) => self.cycle(cell, kind),
            What::TaskCycle => self.task_cycle(cell),
            What::Spread => self.spread(cell),
            What::Mtbf(slot) => self.between(cell, slot),
            What::Mttr(slot) => self.repair(cell, slot),
            What::JointsBetween(cause) => self.joints_between(cell, cause),
            What::JointStop(cause) => self.joint_seconds(cell, cause),
            What::FirstTimeOk => self.first_time_ok(cell),
            What::Scrap => self.scrap(cell),
            What::Change { first_off_min } => self.change(cell, first_off_min),
        }
    }

    fn plain(&self, cell: &BookCell, found: Span, evidence: u64) -> Proposal {
        let verdict = match cell.book {
            Some(book) if found.holds(book) => Verdict::Agrees,
            _ => Verdict::Differs,
        };
        Proposal {
            table: cell.at.table.name().to_owned(),
            row: cell.at.row,
            column: cell.column.to_owned(),
            station: cell.station.clone(),
            cause: cell.cause.clone(),
            book: cell.book,
            found,
            evidence,
            family: None,
            fit: None,
            survival: Vec::new(),
            trend: None,
            iso: None,
            verdict,
            why: None,
        }
    }

    fn units(&self, cell: &BookCell) -> impl Iterator<Item = &UnitLog> {
        self.units_of(&cell.places)
    }

    fn units_of(&self, places: &[usize]) -> impl Iterator<Item = &UnitLog> {
        let places = places.to_vec();
        let seen = self.log.units.iter().filter(|unit| unit.rows > 0);
        seen.filter(move |unit| places.contains(&(unit.place as usize)))
    }

    fn stops_of(&self, places: &[usize], slot: usize) -> Vec<&StopLog> {
        let stops = self.units_of(places).map(|unit| unit.stops.get(slot));
        stops.flatten().collect()
    }

    fn cycle(&self, cell: &BookCell, kind: u16) -> Option<Proposal> {
        let mut all = Moments::default();
        for unit in self.units(cell) {
            for (word, moments) in &unit.cycles {
                let class = self.log.classes.get(*word as usize).copied().flatten();
                if self.roster.kind(unit.place, class) == Some(kind) {
                    all.join(moments);
                }
            }
        }
        (all.n >= 2).then(|| self.plain(cell, mean_span(&all), all.n))
    }

    /// A cycle that the station's tasks make: there is no cell to mend, only
    /// one that would go before them.
    fn task_cycle(&self, cell: &BookCell) -> Option<Proposal> {
        let mut proposal = self.cycle(cell, 0)?;
        if proposal.verdict == Verdict::Differs {
            proposal.verdict = Verdict::Open;
            proposal.why = Some("its tasks make the cycle: mend their times".to_owned());
        }
        Some(proposal)
    }

    /// The coefficient of variation of the cycles, of each product about its
    /// own mean: the book's cycles are lognormal, whose logarithms have a
    /// chi-square interval for their variance.
    fn spread(&self, cell: &BookCell) -> Option<Proposal> {
        let mut kinds: BTreeMap<u16, Moments> = BTreeMap::new();
        for unit in self.units(cell) {
            for ((word, _), logs) in unit.cycles.iter().zip(&unit.log_cycles) {
                let class = self.log.classes.get(*word as usize).copied().flatten();
                if let Some(kind) = self.roster.kind(unit.place, class) {
                    kinds.entry(kind).or_default().join(logs);
                }
            }
        }
        let jobs: u64 = kinds.values().map(|logs| logs.n).sum();
        let freedom = jobs.saturating_sub(kinds.len() as u64);
        if freedom < FEW {
            return None;
        }
        let squares: f64 = kinds.values().map(|logs| logs.squares).sum();
        let variation = |variance: f64| libm::expm1(variance).sqrt();
        let chi = ChiSquared::new(freedom as f64).ok()?;
        let span = Span {
            value: variation(squares / freedom as f64),
            low: variation(squares / chi.inverse_cdf(0.975)),
            high: variation(squares / chi.inverse_cdf(0.025)),
        };
        // What comes of stamps cut to the microsecond is no spread.
        let none = span.high < NO_SPREAD && cell.book == Some(0.0);
        (!none).then(|| self.plain(cell, span, jobs))
    }

    fn change(&self, cell: &BookCell, first_off_min: f64) -> Option<Proposal> {
        let mut all = Moments::default();
        self.units(cell).for_each(|unit| all.join(&unit.setups));
        let mut span = mean_span(&all).scaled(1.0 / 60.0);
        for end in [&mut span.value, &mut span.low, &mut span.high] {
            *end -= first_off_min;
        }
        (all.n >= 2).then(|| self.plain(cell, span, all.n))
    }

    fn between(&self, cell: &BookCell, slot: usize) -> Option<Proposal> {
        let logs = self.stops_of(&cell.places, slot);
        let stop = &self.built.network.stations[*cell.places.first()?].stops[slot];
        let running = stop.basis == flow::model::Basis::Running;
        let mut times = Times::default();
        for log in &logs {
            let (sample, cut) = if running {
                (&log.running, log.cut_running)
            } else {
                (&log.clock, log.cut_clock)
            };
            extend(
                &mut times,
                sample,
                Some(cut).filter(|_| log.cut_repair.is_none()),
            );
        }
        let stops: u64 = logs.iter().map(|log| log.running.n).sum();
        if stops == 0 {
            return self.never(cell, &times);
        }
        let mut proposal = self.fitted(cell, &times, Family::Exponential, stops, MINUTE)?;
        let courses = logs.iter().map(|log| {
            let (total, when_sum, when_log) = if running {
                (log.total, log.when_sum, log.when_log)
            } else {
                (log.total_clock, log.when_clock_sum, log.when_clock_log)
            };
            fit::Course {
                stops: log.running.n,
                total,
                when_sum,
                when_log,
                ends_with_stop: log.cut_repair.is_some(),
            }
        });
        proposal.trend = fit::trend(courses.collect::<Vec<_>>());
        proposal.iso = Some(times.total() / 60.0 / (stops + 1) as f64);
        if proposal.trend.is_some_and(|trend| !trend.even(TREND)) {
            proposal.verdict = Verdict::Open;
            proposal.why =
                Some("stops come more and more often, or less: no one value holds".to_owned());
        }
        Some(proposal)
    }

    /// No stop at all: only a lower limit.
    fn never(&self, cell: &BookCell, times: &Times) -> Option<Proposal> {
        (times.total() > 0.0).then(|| {
            let mut found = fit::exact_exponential(times.total(), 0, 0.95).scaled(1.0 / 60.0);
            found.value = f64::INFINITY;
            Proposal {
                verdict: Verdict::Open,
                why: Some("no stop in the log: only that it is not less".to_owned()),
                ..self.plain(cell, found, 0)
            }
        })
    }

    fn repair(&self, cell: &BookCell, slot: usize) -> Option<Proposal> {
        let logs = self.stops_of(&cell.places, slot);
        let stop = &self.built.network.stations[*cell.places.first()?].stops[slot];
        let own = match stop.repair {
            Distribution::Exponential(_) => Family::Exponential,
            _ => Family::Lognormal,
        };
        let (times, repairs) = repairs(&logs);
        let mut proposal = self.fitted(cell, &times, own, repairs, MINUTE)?;
        proposal.iso = Some(times.total() / 60.0 / (repairs + 1) as f64);
        Some(proposal)
    }

    /// A mean in the cell's unit, of which a second is so many, out of times in
    /// seconds.
    fn fitted(
        &self,
        cell: &BookCell,
        times: &Times,
        own: Family,
        evidence: u64,
        second: f64,
    ) -> Option<Proposal> {
        let fit = fit::fit(times, &Family::ALL, 0.95);
        let best = fit.best()?;
        let chosen = fit
            .family(own)
            .filter(|own| {
                let worse_by = own.aic - best.aic;
                worse_by < BETTER_BY || (worse_by <= NO_SUPPORT && !own.unlike(UNLIKE))
            })
            .unwrap_or(best)
            .clone();
        let mean = match chosen.family {
            Family::Exponential => fit::exponential_mean(times, 0.95),
            _ => chosen.mean,
        };
        let mut proposal = self.plain(cell, mean.scaled(second), evidence);
        proposal.family = Some(chosen.family);
        if evidence < FEW {
            proposal.verdict = Verdict::Open;
            proposal.why = Some(format!("{evidence} seen to their end, fewer than {FEW}"));
        }
        proposal.survival = fit::survival(times);
        proposal.fit = Some(fit);
        Some(proposal)
    }

    fn made(&self, cell: &BookCell) -> Made {
        let mut all = Made::default();
        for (place, made) in &self.judged {
            if cell.places.contains(&(*place as usize)) {
                all.add(*made);
            }
        }
        all
    }

    fn first_time_ok(&self, cell: &BookCell) -> Option<Proposal> {
        let made = self.made(cell);
        let station = &self.built.network.stations[*cell.places.first()?];
        // What is scrapped whatever is done has had no try.
        let tried = if station.quality.scrap > 0.0 {
            made.made - made.scrap
        } else {
            made.made
        };
        let wrong = tried - made.good().min(tried);
        if tried == 0 || (wrong == 0 && cell.book == Some(1.0)) {
            return None;
        }
        Some(self.plain(cell, share_span(made.good(), tried, 0.95), tried))
    }

    fn scrap(&self, cell: &BookCell) -> Option<Proposal> {
        let made = self.made(cell);
        (made.made > 0)
            .then(|| self.plain(cell, share_span(made.scrap, made.made, 0.95), made.made))
    }
}

/// Times to repair of several logs together, and how many ended.
fn repairs(logs: &[&StopLog]) -> (Times, u64) {
    let mut times = Times::default();
    for log in logs {
        extend(&mut times, &log.repairs, log.cut_repair);
    }
    (times, logs.iter().map(|log| log.repairs.n).sum())
}

fn extend(times: &mut Times, sample: &Sample, cut: Option<f64>) {
    times.ended.extend(&sample.kept);
    times.cut.extend(cut);
    times.watched.push(sample.sum + cut.unwrap_or(0.0));
}

/// A mean with its 95 % interval (Student's t). Stamps are no finer than a
/// microsecond, and a fixed cycle written with them is not fixed to the last.
fn mean_span(all: &Moments) -> Span {
    const STAMP_S: f64 = 1e-6;
    let n = all.n as f64;
    let t = StudentsT::new(0.0, 1.0, (n - 1.0).max(1.0)).map_or(1.96, |t| t.inverse_cdf(0.975));
    let half = t * all.deviation().unwrap_or(0.0) / n.sqrt() + STAMP_S;
    Span {
        value: all.mean,
        low: all.mean - half,
        high: all.mean + half,
    }
}

/// Whether a table's rows are lines that run lots.
fn is_line(table: Table) -> bool {
    table == Table::PressLines
}

#[cfg(test)]
mod tests;
