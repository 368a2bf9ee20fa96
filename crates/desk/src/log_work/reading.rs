//! What a log's reading says, as the page and its files take it.

use book::{Book, Problem};
use evidence::day::{Day, DayLine, HourRow, days};
use evidence::defects::{Kind, Place};
use evidence::figures::{CauseRow, CycleRow, Figures, Of};
use evidence::fit::{self, Fit, Fitted, Plot, Step};
use evidence::learn::{Check, Proposal, Verdict, rounded};
use evidence::read::Log;
use evidence::roster::Roster;
use evidence::state::State;
use serde::{Deserialize, Serialize};
use whole::network::Built;

/// Unknown words that are listed, those with the most rows first.
const WORDS: usize = 200;
/// Stations without rows that are named.
const NAMED: usize = 60;
/// The level of all intervals.
const LEVEL: f64 = 0.95;

/// A kind of defect with its rows.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct DefectLine {
    /// Which.
    pub kind: Kind,
    /// Rows.
    pub count: u64,
    /// Seconds they concern, where they concern time.
    pub seconds: f64,
    /// Whether such rows were left out.
    pub left_out: bool,
    /// What was expected.
    pub expected: String,
    /// What became of them, and the way out.
    pub mend: String,
    /// The first few.
    pub first: Vec<Place>,
}

/// A word that the book does not know.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct UnknownWord {
    /// A station, state, product or result.
    pub kind: Kind,
    /// The word.
    pub word: String,
    /// Rows with it.
    pub rows: u64,
    /// The nearest word that is known.
    pub nearest: Option<String>,
}

/// A log as it was read against a book.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Reading {
    /// Rows of states, bad ones included.
    pub rows: u64,
    /// Begin of the first row and end of the last, on the plant's clock.
    pub span: Option<[String; 2]>,
    /// Stations of which the log has rows.
    pub stations_seen: usize,
    /// Stations of the book.
    pub stations: usize,
    /// Stations of the book without a row, the first sixty.
    pub unseen: Vec<String>,
    /// Why nothing can be learned from it; empty where something can.
    pub refused: Vec<Problem>,
    /// What is wrong with rows.
    pub defects: Vec<DefectLine>,
    /// Words that the book does not know, those with the most rows first.
    pub unknown: Vec<UnknownWord>,
    /// Names of the book's stations, to map to.
    pub names: Vec<String>,
    /// The book's products.
    pub products: Vec<String>,
    /// Its days.
    pub days: Vec<DayLine>,
    /// The last whole one, of those for which cars were planned if there is any.
    pub last: Option<String>,
    /// Cells whose value lies in its interval.
    pub agree: usize,
    /// Cells whose value does not.
    pub differ: usize,
    /// Cells with too little evidence.
    pub open: usize,
}

impl Reading {
    /// Of files whose columns are not understood.
    pub(super) fn refused(problems: Vec<Problem>) -> Self {
        Self {
            refused: problems,
            ..Self::default()
        }
    }

    /// Of a log that was gathered.
    pub(super) fn of(
        book: &Book,
        built: &Built,
        roster: &Roster,
        log: &Log,
        refused: Option<Problem>,
    ) -> Self {
        let zone = roster.map.zone;
        let names: Vec<String> = roster.names().iter().map(ToString::to_string).collect();
        let products: Vec<String> = book
            .products
            .iter()
            .map(|row| row.product.clone())
            .collect();
        let seen: Vec<bool> = (0..roster.places.len())
            .map(|n| {
                let mut units = log.units.iter();
                units.any(|unit| unit.place as usize == n && unit.rows > 0)
            })
            .collect();
        let unseen = names.iter().zip(&seen).filter(|(_, seen)| !**seen);
        let (lines, endless) = match days(book, built, roster, log) {
            Ok(lines) => (lines, None),
            Err(problem) => (Vec::new(), Some(*problem)),
        };
        Self {
            rows: log.rows,
            span: log.span.map(|(from, to)| [zone.show(from), zone.show(to)]),
            stations_seen: seen.iter().filter(|seen| **seen).count(),
            stations: names.len(),
            unseen: unseen.map(|(name, _)| name.clone()).take(NAMED).collect(),
            refused: refused.into_iter().chain(endless).collect(),
            defects: defects(log),
            unknown: unknown(log, &names, &products),
            last: lines
                .iter()
                .rfind(|day| day.whole && day.plan > 0.0)
                .or_else(|| lines.iter().rfind(|day| day.whole))
                .or(lines.last())
                .map(|day| day.date.clone()),
            days: lines,
            names,
            products,
            ..Self::default()
        }
    }

    /// With the verdicts of its cells counted.
    pub(super) fn counted(mut self, proposals: &[Proposal]) -> Self {
        let count = |verdict| proposals.iter().filter(|p| p.verdict == verdict).count();
        self.agree = count(Verdict::Agrees);
        self.differ = count(Verdict::Differs);
        self.open = count(Verdict::Open);
        self
    }
}

fn defects(log: &Log) -> Vec<DefectLine> {
    let kinds = log.defects.kinds.iter();
    kinds
        .map(|(kind, rows)| {
            let (expected, mend) = kind.words();
            DefectLine {
                kind: *kind,
                count: rows.count,
                seconds: rows.seconds,
                left_out: kind.leaves_out(),
                expected: expected.to_owned(),
                mend: mend.to_owned(),
                first: rows.first.clone(),
            }
        })
        .collect()
}

fn unknown(log: &Log, names: &[String], products: &[String]) -> Vec<UnknownWord> {
    let mut all: Vec<UnknownWord> = Vec::new();
    for (kind, words) in &log.defects.words {
        for (word, rows) in words {
            let nearest = match kind {
                Kind::UnknownStation => units::nearest(word, names.iter().map(String::as_str)),
                Kind::UnknownProduct => units::nearest(word, products.iter().map(String::as_str)),
                Kind::UnknownState => {
                    units::nearest(&word.to_lowercase(), State::ALL.map(State::word))
                }
                _ => None,
            };
            all.push(UnknownWord {
                kind: *kind,
                word: word.clone(),
                rows: *rows,
                nearest: nearest.map(str::to_owned),
            });
        }
    }
    all.sort_by(|a, b| b.rows.cmp(&a.rows).then_with(|| a.word.cmp(&b.word)));
    all.truncate(WORDS);
    all
}

/// A group with its figures.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct FigureRow {
    /// What they are of.
    #[serde(flatten)]
    pub of: Of,
    /// The figures.
    #[serde(flatten)]
    pub figures: Figures,
}

/// The figures of all groups at one fineness.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct FigureRows {
    /// The groups.
    pub rows: Vec<FigureRow>,
    /// Groups that are too many to be kept; 0 where all are there.
    pub left_out: usize,
}

/// Stops and cycles.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct StopsAndCycles {
    /// Stops by station and cause, the most time down first.
    pub causes: Vec<CauseRow>,
    /// Cycles by station and product.
    pub cycles: Vec<CycleRow>,
}

impl StopsAndCycles {
    /// Jobs below which a mean cycle is no news.
    const FEW: u64 = 20;

    /// Leaves the cycles that are furthest from planned, the furthest first.
    pub(crate) fn furthest_cycles(&mut self, most: usize) {
        let off = |row: &CycleRow| {
            let planned = row.planned_s.filter(|planned| *planned > 0.0);
            planned.map_or(0.0, |planned| (row.mean_s / planned - 1.0).abs())
        };
        self.cycles.retain(|row| row.jobs >= Self::FEW);
        self.cycles.sort_by(|a, b| off(b).total_cmp(&off(a)));
        self.cycles.truncate(most);
    }
}

/// A cell of the book with what the log says of it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct LearnedCell {
    /// Its number; its fit is asked for by it.
    pub n: usize,
    /// The value as it would go into the cell; none where there is only a limit, or
    /// no cell.
    pub text: Option<String>,
    /// Whether there is a fit to look at.
    pub fitted: bool,
    /// What the log says; without its fit.
    #[serde(flatten)]
    pub proposal: Proposal,
}

/// Cells and fits of proposals.
pub(super) fn cells(proposals: &[Proposal]) -> (Vec<LearnedCell>, Vec<Option<CellFit>>) {
    let cells = proposals.iter().enumerate().map(|(n, proposal)| {
        let value = proposal.found.value;
        LearnedCell {
            n,
            text: (value.is_finite() && proposal.row > 0).then(|| rounded(value)),
            fitted: proposal.fit.is_some(),
            proposal: Proposal {
                fit: None,
                survival: Vec::new(),
                ..proposal.clone()
            },
        }
    });
    (cells.collect(), proposals.iter().map(CellFit::of).collect())
}

/// A fit with what it is drawn of; all times in minutes.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct CellFit {
    /// The families.
    pub fit: Fit,
    /// The curve straight from the log.
    pub survival: Vec<Step>,
    /// The families' curves and papers.
    pub plot: Plot,
}

impl CellFit {
    fn of(proposal: &Proposal) -> Option<Self> {
        const MINUTE: f64 = 1.0 / 60.0;
        let mut fit = proposal.fit.clone()?;
        for fitted in &mut fit.families {
            *fitted = Fitted {
                scale: fitted.scale.scaled(MINUTE),
                mean: fitted.mean.scaled(MINUTE),
                median: fitted.median * MINUTE,
                ..fitted.clone()
            };
        }
        let survival: Vec<Step> = proposal
            .survival
            .iter()
            .map(|step| Step {
                time: step.time * MINUTE,
                ..*step
            })
            .collect();
        Some(Self {
            plot: fit::plot(&fit.families, &survival, fit.ended, LEVEL),
            survival,
            fit,
        })
    }
}

/// The model held against what really came out.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Believed {
    /// Run with the book as it stands.
    pub stands: Vec<Check>,
    /// Run with the values that differ mended; empty where none does.
    pub mended: Vec<Check>,
    /// Cells that were mended for it.
    pub cells: usize,
}

/// A shop's figures of a day.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct ShopFigures {
    /// The shop.
    pub shop: String,
    /// Its figures.
    pub figures: Figures,
}

/// A shop's day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct ShopMade {
    /// The shop.
    pub shop: String,
    /// Cars planned.
    pub plan: f64,
    /// Cars that left it.
    pub made: u64,
    /// The hour that was shortest of its plan.
    pub worst: Option<HourRow>,
}

/// The day's hours added up by shop, in the order of the hours.
pub(super) fn shops_made(hours: &[HourRow]) -> Vec<ShopMade> {
    let mut shops: Vec<ShopMade> = Vec::new();
    let short = |row: &HourRow| row.plan - row.made as f64;
    for row in hours {
        if shops.last().is_none_or(|shop| shop.shop != row.shop) {
            shops.push(ShopMade {
                shop: row.shop.clone(),
                plan: 0.0,
                made: 0,
                worst: None,
            });
        }
        if let Some(shop) = shops.last_mut() {
            shop.plan += row.plan;
            shop.made += row.made;
            let worst = shop.worst.as_ref();
            if short(row) > worst.map_or(0.0, short) {
                shop.worst = Some(row.clone());
            }
        }
    }
    shops
}

/// A day with what stands beside it.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct ToldDay {
    /// The day in a sentence.
    pub sentence: String,
    /// What it cost.
    pub day: Day,
    /// Made against plan by shop.
    pub made: Vec<ShopMade>,
    /// Its figures by shop, from coil to car.
    pub shops: Vec<ShopFigures>,
    /// Rows of the log with a defect.
    pub defects: u64,
    /// Rows in all.
    pub rows: u64,
}

/// A log of the plant's own run.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Rehearsed {
    /// The log's number.
    pub log: i64,
    /// Rows of states.
    pub rows: usize,
    /// Cars out.
    pub cars: usize,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour(shop: &str, hour: i64, plan: f64, made: u64) -> HourRow {
        HourRow {
            shop: shop.to_owned(),
            hour,
            plan,
            made,
        }
    }

    #[test]
    fn hours_add_up_by_shop_and_the_shortest_is_named() {
        let hours = [
            hour("body", 6, 10.0, 9),
            hour("body", 7, 10.0, 4),
            hour("trim", 6, 5.0, 6),
        ];
        let made = shops_made(&hours);
        assert_eq!((made[0].plan, made[0].made), (20.0, 13));
        assert_eq!(made[0].worst, Some(hours[1].clone()));
        assert_eq!((made.len(), &made[1].worst), (2, &None));
    }
}
