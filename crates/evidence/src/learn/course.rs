//! Whether a station's figures move over the weeks.

use flow::model::{Basis, Station};
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

use super::drift::{Scatter, Sums};

/// Stops, jobs or rejects below which nothing is said of weeks.
const FEW: f64 = 10.0;
/// Of these in a week, on average, below which weeks are compared by their
/// direction alone: chi-square does not hold for fewer (W. G. Cochran, 1954).
const FEW_A_WEEK: f64 = 5.0;
/// Weeks this unlike each other by chance are said to move.
const UNLIKE: f64 = 0.01;
/// What changes by a lesser part than this is no news, however sure it is.
const LEAST: f64 = 1e-3;

/// A figure that is followed over the weeks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum WeekFigure {
    /// Processing time between stops.
    MtbfMin,
    /// Time to repair.
    RepairMin,
    /// Time worked over planned.
    CycleRatio,
    /// Part right at the first try.
    FirstTimeOk,
}

/// What a figure does over the weeks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Movement {
    /// It goes up.
    Rises,
    /// It goes down.
    Falls,
    /// Weeks differ by more than chance gives, in no one direction.
    Jumps,
    /// Weeks differ by no more than chance gives.
    Steady,
    /// One week only, or too little in them.
    Open,
}

/// A station's figure over the weeks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Course {
    /// The station.
    pub station: String,
    /// Which figure.
    pub figure: WeekFigure,
    /// What the book expects; none where it counts stops by the calendar, or
    /// says nothing.
    pub book: Option<f64>,
    /// What the figure does.
    pub movement: Movement,
    /// How often chance alone makes weeks this unlike; none where it is open.
    pub p: Option<f64>,
}

/// A week of a figure that is a sum over an amount.
#[derive(Clone, Copy)]
struct Part {
    week: f64,
    sum: f64,
    amount: f64,
}

/// How a figure comes of the sum over the amount.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Comes {
    /// It is the ratio: minutes of repair over stops.
    Ratio,
    /// It is one over the ratio: stops over minutes of work.
    Inverse,
    /// It is what the ratio lacks of one: rejects over jobs.
    Rest,
}

/// All weeks of a figure.
struct Weeks {
    parts: Vec<Part>,
    /// Single events behind them.
    events: f64,
    comes: Comes,
    /// The variance of the sum over an amount of one.
    variance: f64,
}

/// The courses of a station; their names are left empty.
pub(super) fn of(weeks: &[Sums], station: &Station, scatter: Scatter) -> Vec<Course> {
    let count = |of: &dyn Fn(&Sums) -> u32| weeks.iter().map(|sums| f64::from(of(sums))).sum();
    let stops: f64 = count(&|sums| sums.cell.stops);
    let known: f64 = count(&|sums| sums.cell.known);
    let scraps = station.quality.scrap > 0.0;

    let between = Weeks::of(weeks, Comes::Inverse, stops, |sums| {
        (f64::from(sums.cell.stops), sums.processing_min())
    });
    let repair = Weeks::of(weeks, Comes::Ratio, stops, |sums| {
        (sums.repair_min(), f64::from(sums.cell.stops))
    });
    let cycle = Weeks::of(weeks, Comes::Ratio, known, |sums| {
        (sums.cell.worked as f64, sums.cell.planned as f64)
    });
    let mut first = Weeks::of(weeks, Comes::Rest, 0.0, |sums| {
        let (tried, good) = sums.tried(scraps);
        ((tried - good) as f64, tried as f64)
    });
    first.events = first.sum();

    let (rate, mean) = (between.ratio(), repair.ratio());
    let (slow, wrong) = (cycle.ratio(), first.ratio());
    let a_job = cycle.amount() / known;
    let (between_book, repair_book) = expected(station);
    let known_cycle = (known > 0.0).then_some(1.0);
    let told = [
        (WeekFigure::MtbfMin, between_book, between.vary(rate)),
        (
            WeekFigure::RepairMin,
            repair_book,
            repair.vary(scatter.repairs.0 * mean * mean),
        ),
        (
            WeekFigure::CycleRatio,
            known_cycle,
            cycle.vary(scatter.cycles.0 * slow * slow * a_job),
        ),
        (
            WeekFigure::FirstTimeOk,
            Some(station.quality.first_time_ok),
            first.vary(wrong * (1.0 - wrong)),
        ),
    ];
    let seen = told
        .into_iter()
        .filter(|(_, _, weeks)| !weeks.parts.is_empty());
    seen.map(|(figure, book, weeks)| {
        let (movement, p) = weeks.movement();
        Course {
            station: String::new(),
            figure,
            book,
            movement,
            p,
        }
    })
    .collect()
}

/// Minutes between stops of whatever cause, and to repair one, as the book has
/// them. Stops by the calendar have no time of work between them.
fn expected(station: &Station) -> (Option<f64>, Option<f64>) {
    let minutes = |seconds: f64| Some(seconds / 60.0).filter(|minutes| minutes.is_finite());
    let by_work = station
        .stops
        .iter()
        .all(|stop| stop.basis == Basis::Running);
    match station.stops.as_slice() {
        [only] if !by_work => (None, minutes(only.repair.mean())),
        _ if !by_work => (None, None),
        stops => {
            let rates = || stops.iter().map(|stop| 1.0 / stop.between.mean());
            let rate: f64 = rates().sum();
            let repairs = stops.iter().zip(rates());
            let down: f64 = repairs.map(|(stop, rate)| rate * stop.repair.mean()).sum();
            (minutes(1.0 / rate), minutes(down / rate))
        }
    }
}

impl Weeks {
    fn of(weeks: &[Sums], comes: Comes, events: f64, figure: impl Fn(&Sums) -> (f64, f64)) -> Self {
        let first = weeks.first().map_or(0, |sums| sums.monday);
        let parts = weeks.iter().map(|sums| {
            let (sum, amount) = figure(sums);
            Part {
                week: ((sums.monday - first) / 7) as f64,
                sum,
                amount,
            }
        });
        Self {
            parts: parts.filter(|part| part.amount > 0.0).collect(),
            events,
            comes,
            variance: 0.0,
        }
    }

    fn vary(self, variance: f64) -> Self {
        Self { variance, ..self }
    }

    fn sum(&self) -> f64 {
        self.parts.iter().map(|part| part.sum).sum()
    }

    fn amount(&self) -> f64 {
        self.parts.iter().map(|part| part.amount).sum()
    }

    fn ratio(&self) -> f64 {
        self.sum() / self.amount()
    }

    /// The test for a trend in sums over amounts, then that for any difference
    /// (W. G. Cochran, Biometrics 10, 1954, 417; P. Armitage, Biometrics 11,
    /// 1955, 375).
    fn movement(&self) -> (Movement, Option<f64>) {
        if self.parts.len() < 2 || self.events < FEW {
            return (Movement::Open, None);
        }
        let Some((likely, change)) = self.trend() else {
            return (Movement::Open, None);
        };
        let size = match self.comes {
            Comes::Ratio | Comes::Inverse => self.ratio(),
            Comes::Rest => 1.0 - self.ratio(),
        };
        if likely < UNLIKE && change.abs() > LEAST * size {
            let up = (change > 0.0) == (self.comes == Comes::Ratio);
            let word = if up { Movement::Rises } else { Movement::Falls };
            return (word, Some(likely));
        }
        if let Some((unlike, apart)) = self.apart()
            && unlike < UNLIKE
            && apart > LEAST * size
        {
            return (Movement::Jumps, Some(unlike));
        }
        (Movement::Steady, Some(likely))
    }

    /// How often chance alone gives a trend this steep, and by how much the
    /// ratio changes along it from the first week to the last.
    fn trend(&self) -> Option<(f64, f64)> {
        let (amount, ratio) = (self.amount(), self.ratio());
        let of = |part: &Part| part.week * part.amount;
        let mean = self.parts.iter().map(of).sum::<f64>() / amount;
        let (mut score, mut spread) = (0.0, 0.0);
        for part in &self.parts {
            score += (part.week - mean) * (part.sum - ratio * part.amount);
            spread += (part.week - mean) * (part.week - mean) * part.amount;
        }
        let span = self.parts.last()?.week - self.parts.first()?.week;
        let change = score / spread * span;
        if self.variance <= 0.0 {
            // What never varies moves by whatever it moves.
            return Some((if score.abs() > 0.0 { 0.0 } else { 1.0 }, change));
        }
        let z = score / (self.variance * spread).sqrt();
        let normal = Normal::new(0.0, 1.0).ok()?;
        Some((2.0 * normal.cdf(-z.abs()), change))
    }

    /// How often chance alone sets weeks this far apart, and how far the
    /// furthest lies from the ratio of all.
    fn apart(&self) -> Option<(f64, f64)> {
        let (amount, ratio) = (self.amount(), self.ratio());
        let few = |part: &Part| self.events * part.amount / amount < FEW_A_WEEK;
        if self.parts.len() < 3 || self.variance <= 0.0 || self.parts.iter().any(few) {
            return None;
        }
        let (mut squares, mut furthest) = (0.0, 0.0_f64);
        for part in &self.parts {
            let off = part.sum - ratio * part.amount;
            squares += off * off / (self.variance * part.amount);
            furthest = furthest.max(off.abs() / part.amount);
        }
        let freedom = (self.parts.len() - 1) as f64;
        let chi = ChiSquared::new(freedom).ok()?;
        Some((1.0 - chi.cdf(squares), furthest))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weeks(comes: Comes, parts: &[(f64, f64)]) -> Weeks {
        let parts = parts.iter().zip(0u8..);
        let parts = parts.map(|((sum, amount), week)| Part {
            week: f64::from(week),
            sum: *sum,
            amount: *amount,
        });
        let mut weeks = Weeks {
            parts: parts.collect(),
            events: 0.0,
            comes,
            variance: 0.0,
        };
        weeks.events = weeks.sum();
        let ratio = weeks.ratio();
        weeks.variance = match comes {
            Comes::Ratio | Comes::Inverse => ratio,
            Comes::Rest => ratio * (1.0 - ratio),
        };
        weeks
    }

    #[test]
    fn the_trend_in_shares_is_that_of_armitages_children() {
        // P. Armitage, Biometrics 11, 1955: carriers among 1398 children by the
        // size of their tonsils; 7.19 for the trend, 7.88 in all (from memory,
        // and by hand).
        let children = weeks(Comes::Rest, &[(19.0, 516.0), (29.0, 589.0), (24.0, 293.0)]);
        let chi = |freedom| ChiSquared::new(freedom).unwrap();
        let (trend, _) = children.trend().unwrap();
        assert!((trend - (1.0 - chi(1.0).cdf(7.193))).abs() < 1e-4);
        let (apart, _) = children.apart().unwrap();
        assert!((apart - (1.0 - chi(2.0).cdf(7.885))).abs() < 1e-4);
        assert_eq!(children.movement(), (Movement::Falls, Some(trend)));
    }

    #[test]
    fn stops_that_come_more_often_bring_their_time_between_down() {
        let word = |stops: &[f64]| {
            let parts: Vec<_> = stops.iter().map(|stops| (*stops, 4_000.0)).collect();
            weeks(Comes::Inverse, &parts).movement().0
        };
        assert_eq!(word(&[10.0, 14.0, 25.0, 30.0]), Movement::Falls);
        assert_eq!(word(&[30.0, 25.0, 14.0, 10.0]), Movement::Rises);
        assert_eq!(word(&[10.0, 31.0, 30.0, 9.0]), Movement::Jumps);
        assert_eq!(word(&[18.0, 22.0, 19.0, 21.0]), Movement::Steady);
        assert_eq!(word(&[2.0, 0.0, 1.0]), Movement::Open);
        assert_eq!(word(&[40.0]), Movement::Open);
    }

    #[test]
    fn a_change_below_a_thousandth_is_no_news_however_sure() {
        let of = |ratio: f64| {
            let mut weeks = weeks(Comes::Ratio, &[(1e6, 1e6), (1e6 * ratio, 1e6)]);
            weeks.variance = 1e-6;
            weeks.movement().0
        };
        assert_eq!(of(1.0005), Movement::Steady);
        assert_eq!(of(1.005), Movement::Rises);
    }
}
