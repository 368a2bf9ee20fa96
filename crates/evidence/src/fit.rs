//! Times between stops and times to repair as distributions: maximum
//! likelihood with right-censoring, intervals by profile likelihood, goodness
//! of fit, and a trend test before any of it is trusted.
//!
//! A time that was cut off (the log ended before the stop came) counts as
//! "longer than this". Methods: W. Q. Meeker and L. A. Escobar, Statistical
//! Methods for Reliability Data, 1998, chapters 7 and 8 (likelihood and
//! profile intervals); the lognormal mean's interval is the generalized one of
//! K. Krishnamoorthy and T. Mathew, 2003; R. B. D'Agostino and M. A. Stephens, Goodness-of-Fit
//! Techniques, 1986, chapter 4 (Anderson–Darling with fitted parameters).

mod family;
mod goodness;
mod mean;
mod plot;
mod profile;
pub mod question;
mod survival;
mod trend;

use serde::Serialize;

pub use family::{Family, Fitted};
pub use goodness::Goodness;
pub use mean::exponential_mean;
pub(crate) use mean::mean_by_total;
pub use plot::{Mark, Paper, PaperPoint, Plot, plot};
pub use profile::{Span, exact_exponential};
pub use survival::{Step, survival};
pub use trend::{Course, Trend, trend};

/// Times, and those that were cut off.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Times {
    /// Seen to their end.
    pub ended: Vec<f64>,
    /// Cut off: at least so long.
    pub cut: Vec<f64>,
    /// For each record of times one behind the other how long it was watched,
    /// where that is known: the goodness of fit repeats it.
    pub watched: Vec<f64>,
}

/// Shortest time that counts: a stamp is no finer, and the logarithm of
/// nothing is nothing.
const SHORTEST: f64 = 1e-3;

impl Times {
    /// The times with none shorter than a log can tell.
    fn floored(&self) -> Self {
        let floor = |xs: &[f64]| xs.iter().map(|x| x.max(SHORTEST)).collect();
        Self {
            ended: floor(&self.ended),
            cut: self.cut.iter().copied().filter(|x| *x > 0.0).collect(),
            watched: self.watched.clone(),
        }
    }

    /// Time under observation: the sum of the times seen to their end and of those
    /// cut off, in their own unit (seconds in a log).
    pub fn total(&self) -> f64 {
        self.ended.iter().chain(&self.cut).sum()
    }
}

/// What the times say, family by family.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Fit {
    /// Times seen to their end.
    pub ended: usize,
    /// Times cut off.
    pub cut: usize,
    /// The families that could be fitted.
    pub families: Vec<Fitted>,
    /// Position of the one with the least AIC.
    pub best: usize,
}

impl Fit {
    /// The family with the least AIC.
    pub fn best(&self) -> Option<&Fitted> {
        self.families.get(self.best)
    }

    /// A family, if it could be fitted.
    pub fn family(&self, family: Family) -> Option<&Fitted> {
        self.families.iter().find(|fitted| fitted.family == family)
    }
}

/// Fits the families to times, with intervals of this level.
///
/// NIST's ten failed and ten surviving units (e-Handbook 8.4.1.3):
///
/// ```
/// use evidence::fit::{Family, Times, fit};
/// let times = Times {
///     ended: vec![54., 187., 216., 240., 244., 335., 361., 373., 375., 386.],
///     cut: vec![500.; 10],
///     ..Times::default()
/// };
/// let fit = fit(&times, &Family::ALL, 0.95);
/// let weibull = fit.family(Family::Weibull).expect("ten failures are enough");
/// assert!((weibull.shape.value - 1.7208).abs() < 5e-5);
/// assert!((weibull.scale.value - 606.528).abs() < 5e-3);
/// assert!((weibull.aic - 154.27).abs() < 5e-3);
/// ```
pub fn fit(times: &Times, families: &[Family], level: f64) -> Fit {
    let times = times.floored();
    let families: Vec<Fitted> = families
        .iter()
        .filter_map(|family| family::fitted(*family, &times, level))
        .collect();
    let best = (0..families.len())
        .min_by(|a, b| families[*a].aic.total_cmp(&families[*b].aic))
        .unwrap_or(0);
    Fit {
        ended: times.ended.len(),
        cut: times.cut.len(),
        families,
        best,
    }
}

#[cfg(test)]
mod tests;
