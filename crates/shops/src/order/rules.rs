//! Spacing rules: those of the options table, and those of stations that an
//! option or a product overruns.

use book::{Book, Cycle, Problem, Severity, Station};
use formulas::{Sourced, load};
use sequence::model::Force;
use units::{Count, Seconds};

use super::cycles::cycle_of;
use super::model::RuleFrom;
use super::week::{counts, options_of};
use super::{LineStation, Question};
use crate::sheet::{Sheet, cell, problem};

/// Heavy cars in a row beyond which a rule is of no use.
const MOST_IN_A_ROW: f64 = 10.0;

/// A spacing rule.
#[derive(Clone)]
pub(super) struct Spacing {
    /// The option; of a product that overruns a station, the product.
    pub(super) option: String,
    pub(super) product: Option<String>,
    pub(super) at_most: u32,
    pub(super) in_every: u32,
    pub(super) force: Force,
    pub(super) from: RuleFrom,
    /// Whether another rule implies it.
    pub(super) implied: bool,
}

impl Spacing {
    /// The rule in words.
    pub(super) fn told(&self) -> String {
        let of = self.product.as_ref();
        let of = of.map_or_else(String::new, |product| format!(" of {product}"));
        let from = match &self.from {
            RuleFrom::Given { .. } => String::new(),
            RuleFrom::Station { station, .. } => format!(", by {station}"),
        };
        format!(
            "{}{of}: {} in every {}{from}",
            self.option, self.at_most, self.in_every
        )
    }

    /// Whether keeping this rule keeps the other.
    fn implies(&self, other: &Self) -> bool {
        let same = self.option == other.option;
        let wide = self.product.is_none() || self.product == other.product;
        let whole = other.in_every / self.in_every * self.at_most;
        let rest = (other.in_every % self.in_every).min(self.at_most);
        same && wide && whole + rest <= other.at_most
    }
}

/// All rules, those given first; noted are those that spacing alone cannot
/// keep.
pub(super) fn rules(
    sheet: &mut Sheet,
    question: &Question<'_>,
    notes: &mut Vec<Problem>,
) -> Vec<Spacing> {
    let book = question.book;
    let given = book.options.iter().filter_map(|row| {
        Some(Spacing {
            option: row.option.clone(),
            product: row.product.clone(),
            at_most: row.at_most?,
            in_every: row.in_every?,
            force: if row.must {
                Force::Hard
            } else {
                Force::Soft(row.weight)
            },
            from: RuleFrom::Given { at: row.at },
            implied: false,
        })
    });
    let mut rules: Vec<Spacing> = given.collect();
    if book.plant.derived_rules.value {
        let counts = counts(book, question.week);
        for station in question.stations {
            let own = derived(sheet, book, &counts, station);
            notes.extend(own.iter().filter_map(|rule| no_spacing_helps(book, rule)));
            rules.extend(own);
        }
    }
    for at in 0..rules.len() {
        let implied = (0..rules.len()).any(|other| {
            // of two that imply each other the first stays
            let both = rules[at].implies(&rules[other]);
            other != at && rules[other].implies(&rules[at]) && (!both || other < at)
        });
        let is_derived = matches!(rules[at].from, RuleFrom::Station { .. });
        rules[at].implied = implied && is_derived;
    }
    rules
}

/// The rules of a station: so many cars with the option, or of the product, as
/// drift allows in a row, then so many others as make good what they left behind.
fn derived(sheet: &mut Sheet, book: &Book, counts: &[u32], station: &LineStation) -> Vec<Spacing> {
    let mut rules = Vec::new();
    let row = &book.stations[station.station];
    let own = |cycle: &&Cycle| cycle.station == row.station;
    let worked = Worked {
        book,
        counts,
        station,
        row,
        rows: book.cycles.iter().filter(own).collect(),
    };
    let mut options: Vec<&String> = worked
        .rows
        .iter()
        .filter_map(|cycle| cycle.option.as_ref())
        .collect();
    options.sort();
    options.dedup();
    let light_s = worked.light_s();
    let takt_s = station.takt.value.0;
    for option in options {
        let heavy_s = worked.heavy_s(option);
        if heavy_s > takt_s && light_s < takt_s {
            rules.extend(worked.rule(sheet, option, heavy_s, light_s));
        }
    }
    let built = book.products.iter().zip(counts);
    for (row, _) in built.filter(|(_, count)| **count > 0) {
        let heavy_s = worked.time(&row.product, &[]);
        let light_s = worked.others_s(&row.product);
        if heavy_s > takt_s && light_s.is_some_and(|light_s| light_s < takt_s) {
            let light_s = light_s.unwrap_or_default();
            rules.extend(worked.rule(sheet, &row.product, heavy_s, light_s));
        }
    }
    rules
}

/// A note where one car alone ends past the drift, so that no spacing helps.
fn no_spacing_helps(book: &Book, rule: &Spacing) -> Option<Problem> {
    let RuleFrom::Station {
        station,
        at,
        heavy_s,
        takt_s,
        drift_s,
        past_alone_s,
        ..
    } = &rule.from
    else {
        return None;
    };
    if *past_alone_s <= 0.0 {
        return None;
    }
    let over_s = heavy_s - takt_s;
    let metres = over_s / takt_s * book.plant.pitch_m.value.0;
    Some(Problem {
        severity: Severity::Note,
        found: format!(
            "`{station}`, where one car with {} takes {over_s:.0} s more than takt and ends {:.0} s \
             past the drift of {drift_s:.0} s, however far apart such cars stand",
            rule.option, past_alone_s
        ),
        expected: "work of one car that ends within the drift, so that spacing can keep it there"
            .into(),
        mend: format!(
            "take {past_alone_s:.0} s of work off {station} for these cars or send a helper, or \
             allow a drift of {over_s:.0} s (drift_m of {metres:.1}); spacing only keeps it from \
             growing"
        ),
        ..problem("no-spacing-helps", *at, Some("cycle_s"))
    })
}

/// A station with its own cycles.
struct Worked<'a> {
    book: &'a Book,
    /// Cars of each product in the week.
    counts: &'a [u32],
    station: &'a LineStation,
    row: &'a Station,
    rows: Vec<&'a Cycle>,
}

impl Worked<'_> {
    fn time(&self, product: &str, options: &[String]) -> f64 {
        let units = f64::from(self.row.units.max(1));
        cycle_of(self.row.cycle(), &self.rows, product, options).0 / units
    }

    /// Seconds of a mean car without any option.
    fn light_s(&self) -> f64 {
        self.mean_s(|_| true).unwrap_or_default()
    }

    /// The same of the other products; none where no other is built.
    fn others_s(&self, product: &str) -> Option<f64> {
        self.mean_s(|other| other != product)
    }

    fn mean_s(&self, which: impl Fn(&str) -> bool) -> Option<f64> {
        let rows = self.book.products.iter().zip(self.counts);
        let rows = rows.filter(|(row, _)| which(&row.product));
        let (mut all, mut sum) = (0.0, 0.0);
        for (row, count) in rows {
            all += f64::from(*count);
            sum += f64::from(*count) * self.time(&row.product, &[]);
        }
        (all > 0.0).then(|| sum / all)
    }

    /// Seconds of a car with the option, of the product that takes longest.
    fn heavy_s(&self, option: &String) -> f64 {
        let with = std::slice::from_ref(option);
        let heavy = |(row, count): (&book::Product, &u32)| {
            let share = options_of(self.book, &row.product)
                .into_iter()
                .find(|own| own.option == *option)?
                .share
                .0;
            let built = share > 0.0 && *count > 0;
            built.then(|| self.time(&row.product, with))
        };
        let products = self.book.products.iter().zip(self.counts);
        products.filter_map(heavy).fold(0.0, f64::max)
    }

    fn rule(
        &self,
        sheet: &mut Sheet,
        option: &String,
        heavy_s: f64,
        light_s: f64,
    ) -> Option<Spacing> {
        let (station, row) = (self.station, self.row);
        let takt_s = station.takt.value.0;
        let run = (station.drift_s / (heavy_s - takt_s)).floor();
        let run = run.clamp(1.0, MOST_IN_A_ROW);
        let mut cycles = self.rows.iter();
        let cycle = cycles.find(|cycle| match &cycle.option {
            Some(own) => own == option,
            None => cycle.product.as_ref() == Some(option),
        });
        let heavy = cycle.map_or_else(
            || Sourced::from(Seconds(heavy_s)),
            |cycle| cell(Seconds(heavy_s), cycle.at, "cycle_s"),
        );
        let of_product = self.book.products.iter().any(|row| row.product == *option);
        let id = format!("rule.{}.{option}", row.station);
        let title = format!(
            "work behind at {} after {run} {} {} {option}",
            row.station,
            if run > 1.0 { "cars" } else { "car" },
            if of_product { "of" } else { "with" }
        );
        let made = load::worst_run(heavy, station.takt.clone(), Count(run));
        let overrun = sheet.add(format!("{id}.overrun"), title, row.at, made)?;
        let others = if of_product { "not of" } else { "without" };
        let title = format!(
            "cars {others} {option} that make it good at {}",
            row.station
        );
        let behind = overrun.part(|seconds| *seconds);
        let made = load::recovery_run(behind, Seconds(light_s), station.takt.clone());
        let recovery = sheet.add(format!("{id}.recovery"), title, row.at, made)?;
        Some(Spacing {
            option: option.clone(),
            product: None,
            at_most: run as u32,
            in_every: (run + recovery.value.0).min(f64::from(MOST_WINDOW)) as u32,
            force: Force::Soft(self.book.plant.derived_rule_weight.value),
            from: RuleFrom::Station {
                station: row.station.clone(),
                at: row.at,
                heavy_s,
                light_s,
                takt_s,
                drift_s: station.drift_s,
                overrun_s: overrun.value(|seconds| seconds.0),
                recovery: recovery.value(|cars| cars.0),
                past_alone_s: (heavy_s - takt_s - station.drift_s).max(0.0),
            },
            implied: false,
        })
    }
}

/// The longest run of cars that a rule looks at.
const MOST_WINDOW: u32 = 60;
