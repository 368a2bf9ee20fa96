//! What every bank of a plant is worth both ways: cars a week and days from
//! coil to car with fewer places and with more.

use book::raw::Workbook;
use book::{At, Idea};
use flow::Watch;
use flow::statistics::Interval;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::super::ideas::Cells;
use super::super::plant::{self, Runner, Terms, Variant};
use super::super::{AsItIs, Look, Memory, Seen, look, problems_of, shows};
use crate::findings::NoAnswer;
use crate::network::Way;

/// A link that holds more than this many places is a bank.
const BANK_FROM: u32 = 2;

/// How banks are run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BankSettings {
    /// The seed of all streams.
    pub seed: u64,
    /// Weeks measured in a run.
    pub weeks: u32,
    /// Pairs of runs behind every figure.
    pub runs: u32,
    /// Banks that are run: those that hold most, and those near the critical
    /// path.
    pub banks: usize,
    /// Level of the intervals.
    pub level: f64,
    /// A loss of no more than this part of the needed rate is none.
    pub indifferent: f64,
}

impl BankSettings {
    /// Sixteen banks, five pairs of runs of a week.
    pub const USUAL: Self = Self {
        seed: 1,
        weeks: 1,
        runs: 5,
        banks: 16,
        level: 0.95,
        indifferent: 0.002_5,
    };
}

/// A bank with another number of places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BankSide {
    /// The places.
    pub places: u32,
    /// Cars a week more; below zero they are lost.
    pub cars: Interval,
    /// Whether that interval leaves zero out.
    pub cars_shown: bool,
    /// Days from coil to car more that nine cars in ten keep; below zero is
    /// better.
    pub days: Interval,
    /// Whether that interval leaves zero out.
    pub days_shown: bool,
}

/// What a bank is worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Bank {
    /// Its row in `links`.
    pub at: At,
    /// The row's key.
    pub row: String,
    /// The station above.
    pub from: String,
    /// The station below.
    pub to: String,
    /// Places there are.
    pub places: u32,
    /// Jobs in it on average.
    pub content: f64,
    /// With half of the places.
    pub fewer: BankSide,
    /// With half as many more.
    pub more: BankSide,
}

/// Many banks changed at once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Trimmed {
    /// For each bank changed its row, and its places then.
    pub places: Vec<(String, u32)>,
    /// Places more in all; below zero they are freed.
    pub more: i64,
    /// Cars a week more.
    pub cars: Interval,
    /// Days from coil to car more that nine cars in ten keep.
    pub days: Interval,
}

/// The banks of a plant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Banks {
    /// The plant as it is.
    pub as_it_is: AsItIs,
    /// How it was run.
    pub settings: BankSettings,
    /// The banks that were run, those whose places cost most cars first.
    pub banks: Vec<Bank>,
    /// Banks there are in all.
    pub of: usize,
    /// The fewest places found that lose no cars: banks halved that lose none by
    /// themselves, as many together as lose none together.
    pub fewest: Option<Trimmed>,
    /// The same number of places at most, better split: those freed put where
    /// more of them gain.
    pub split: Option<Trimmed>,
}

/// A bank before it is run.
struct Place {
    at: At,
    row: String,
    link: usize,
    holds: u32,
}

/// Prices the banks of a book's plant. The same book, settings and seed give the
/// same prices on any number of cores.
///
/// # Errors
/// [`NoAnswer`]: problems of the book, or cancelled.
pub fn banks(
    workbook: &Workbook,
    settings: &BankSettings,
    memory: &Memory,
    watch: &Watch<'_>,
) -> Result<Banks, NoAnswer> {
    if settings.runs < 2 || settings.weeks == 0 {
        return Err(NoAnswer::Settings(format!(
            "{} runs of {} weeks, expected at least 2 and 1",
            settings.runs, settings.weeks
        )));
    }
    let look = look(workbook, settings.seed, settings.level, watch)?;
    let terms = look.terms(settings.seed, settings.weeks);
    let runner = Runner::new(terms, memory, watch);
    let (places, of) = places(workbook, &look, settings.banks);
    let shop = Shop {
        workbook,
        settings,
        terms,
        runner: &runner,
        base: Vec::new(),
    };
    runner.expect(settings.runs * (2 * places.len() as u32 + 3));
    let base = shop.run(&[])?;
    let shop = Shop { base, ..shop };
    let banks: Result<Vec<Bank>, NoAnswer> = places
        .par_iter()
        .map(|place| shop.bank(&look, place))
        .collect();
    let mut banks = banks?;
    banks.sort_by(|a, b| {
        a.fewer
            .cars
            .mean
            .total_cmp(&b.fewer.cars.mean)
            .then(a.at.cmp(&b.at))
    });
    let indifferent = settings.indifferent * look.as_it_is.needed;
    let fewest = shop.fewest(&banks, indifferent)?;
    let split = match &fewest {
        Some(fewest) => shop.split(&banks, fewest)?,
        None => None,
    };
    Ok(Banks {
        as_it_is: look.as_it_is,
        settings: *settings,
        banks,
        of,
        fewest,
        split,
    })
}

/// The banks that are run, and how many there are.
fn places(workbook: &Workbook, look: &Look, most: usize) -> (Vec<Place>, usize) {
    let cells = Cells(workbook);
    let path = |station: usize| {
        let path = look.outcome.stations[station].path.as_ref();
        path.map_or(0.0, |p| p.cycle.mean + p.stopped.mean + p.changeover.mean)
    };
    let mut all: Vec<(f64, f64, Place)> = Vec::new();
    for (l, (link, origin)) in look
        .built
        .network
        .links
        .iter()
        .zip(&look.built.links)
        .enumerate()
    {
        let Some(holds) = link.holds.filter(|holds| *holds >= BANK_FROM) else {
            continue;
        };
        let change = cells.change(origin.at, "holds", String::new());
        let Some(change) = change.filter(|_| origin.way == Way::Onward) else {
            continue;
        };
        let seen = &look.outcome.links[l];
        let near = path(link.from.at()).max(path(link.to.at()));
        let place = Place {
            at: origin.at,
            row: change.row,
            link: l,
            holds,
        };
        all.push((near, seen.content.mean, place));
    }
    let of = all.len();
    all.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.2.at.cmp(&b.2.at)));
    let mut rest = all.split_off((most / 2).min(all.len()));
    rest.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.at.cmp(&b.2.at)));
    rest.truncate(most - most / 2);
    let chosen = all.into_iter().chain(rest).map(|(_, _, place)| place);
    (chosen.collect(), of)
}

struct Shop<'a> {
    workbook: &'a Workbook,
    settings: &'a BankSettings,
    terms: Terms,
    runner: &'a Runner<'a>,
    base: Vec<Seen>,
}

impl Shop<'_> {
    /// The plant with other places in some rows of `links`.
    fn run(&self, places: &[(String, u32)]) -> Result<Vec<Seen>, NoAnswer> {
        let rows: Vec<Idea> = places
            .iter()
            .map(|(row, places)| Idea {
                table: "links".into(),
                row: row.clone(),
                column: "holds".into(),
                to: places.to_string(),
                ..Idea::default()
            })
            .collect();
        let built = plant::with(self.workbook, &rows.iter().collect::<Vec<_>>())?;
        let variant = Variant::of(&built.network, &self.terms)
            .map_err(|stopped| NoAnswer::Problems(problems_of(&built, stopped)))?;
        let seen: Option<Vec<Seen>> = (0..self.settings.runs)
            .into_par_iter()
            .map(|run| self.runner.run(&variant, run))
            .collect();
        seen.ok_or(NoAnswer::Cancelled)
    }

    fn more(&self, seen: &[Seen], of: fn(&Seen) -> f64) -> Interval {
        let pairs = seen.iter().zip(&self.base);
        let pairs: Vec<f64> = pairs.map(|(new, old)| of(new) - of(old)).collect();
        Interval::of(&pairs, self.settings.level)
    }

    fn side(&self, place: &Place, places: u32) -> Result<BankSide, NoAnswer> {
        let seen = self.run(&[(place.row.clone(), places)])?;
        let cars = self.more(&seen, |seen| seen.cars);
        let days = self.more(&seen, |seen| seen.days);
        Ok(BankSide {
            places,
            cars,
            cars_shown: shows(cars),
            days,
            days_shown: shows(days),
        })
    }

    fn bank(&self, look: &Look, place: &Place) -> Result<Bank, NoAnswer> {
        let link = &look.built.network.links[place.link];
        Ok(Bank {
            at: place.at,
            row: place.row.clone(),
            from: look.built.stations[link.from.at()].name.clone(),
            to: look.built.stations[link.to.at()].name.clone(),
            places: place.holds,
            content: look.outcome.links[place.link].content.mean,
            fewer: self.side(place, place.holds / 2)?,
            more: self.side(place, place.holds + place.holds.div_ceil(2))?,
        })
    }

    fn trimmed(&self, banks: &[Bank], places: Vec<(String, u32)>) -> Result<Trimmed, NoAnswer> {
        let seen = self.run(&places)?;
        let before = |row: &str| {
            banks
                .iter()
                .find(|bank| bank.row == row)
                .map_or(0, |b| b.places)
        };
        let more = places
            .iter()
            .map(|(row, p)| i64::from(*p) - i64::from(before(row)));
        Ok(Trimmed {
            more: more.sum(),
            cars: self.more(&seen, |seen| seen.cars),
            days: self.more(&seen, |seen| seen.days),
            places,
        })
    }

    /// Banks halved that lose nothing alone, fewer of them until they lose
    /// nothing together.
    fn fewest(&self, banks: &[Bank], indifferent: f64) -> Result<Option<Trimmed>, NoAnswer> {
        let free = banks.iter().filter(|bank| {
            bank.fewer.cars.mean >= -indifferent
                && !(bank.fewer.cars_shown && bank.fewer.cars.mean < 0.0)
        });
        let mut free: Vec<&Bank> = free.collect();
        // those that free most places stay longest
        free.sort_by_key(|bank| std::cmp::Reverse(bank.places));
        while !free.is_empty() {
            let places = free
                .iter()
                .map(|bank| (bank.row.clone(), bank.fewer.places));
            let tried = self.trimmed(banks, places.collect())?;
            if tried.cars.mean >= -indifferent {
                return Ok(Some(tried));
            }
            free.truncate(free.len() / 2);
        }
        Ok(None)
    }

    /// The places freed put where more gain, as far as they go.
    fn split(&self, banks: &[Bank], fewest: &Trimmed) -> Result<Option<Trimmed>, NoAnswer> {
        let mut left = -fewest.more;
        let mut places = fewest.places.clone();
        let mut gaining: Vec<&Bank> = banks
            .iter()
            .filter(|bank| {
                bank.more.cars.mean > 0.0 && !places.iter().any(|(row, _)| *row == bank.row)
            })
            .collect();
        gaining.sort_by(|a, b| b.more.cars.mean.total_cmp(&a.more.cars.mean));
        for bank in gaining {
            let more = i64::from(bank.more.places - bank.places);
            if more <= left {
                left -= more;
                places.push((bank.row.clone(), bank.more.places));
            }
        }
        if places.len() == fewest.places.len() {
            return Ok(None);
        }
        self.trimmed(banks, places).map(Some)
    }
}
