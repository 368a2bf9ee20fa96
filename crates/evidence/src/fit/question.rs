//! A fit as one JSON question and its answer.
//!
//! ```text
//! {"samples_s": [12.1, 30.2, 45], "censored": [false, true, false],
//!  "families": ["exponential", "weibull", "lognormal"]}
//! ```

use asked::{Cursor, Problem, Range};
use serde::Serialize;

use super::{Course, Family, Fit, Step, Times, Trend, fit, survival, trend};

/// A question.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// In the order in which they were seen, and whether each was cut off.
    samples: Vec<(f64, bool)>,
    families: Vec<Family>,
    level: f64,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// The families.
    #[serde(flatten)]
    pub fit: Fit,
    /// Name of the best by AIC.
    pub best_family: Option<Family>,
    /// Its mean.
    pub mean: Option<f64>,
    /// Its median.
    pub median: Option<f64>,
    /// The share that lasts longer, straight from the times.
    pub survival: Vec<Step>,
    /// Trend over the samples in their order, as times one after the other.
    pub trend: Option<Trend>,
}

/// Reads a question.
///
/// # Errors
/// Every misfit with its path.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, |cursor: &mut Cursor, whole| {
        let keys = ["samples_s", "censored", "families", "level"];
        let fields = cursor.object(whole, &keys)?;
        let samples = cursor.required(&fields, "samples_s")?;
        let list = cursor.list(&samples);
        let numbers: Vec<Option<f64>> = list
            .iter()
            .map(|spot| cursor.number(spot, &Range::SECONDS))
            .collect();
        let flags: Vec<Option<bool>> = cursor
            .optional_list(&fields, "censored")
            .iter()
            .map(|spot| cursor.flag(spot))
            .collect();
        if numbers.is_empty() {
            cursor.refuse(
                "samples_s",
                "no times",
                "at least one time",
                "give the times",
            );
        }
        if !flags.is_empty() && flags.len() != numbers.len() {
            cursor.refuse(
                "censored",
                format!("{} flags for {} times", flags.len(), numbers.len()),
                "one flag a time, or none",
                "give as many flags as times",
            );
        }
        let words = Family::ALL.map(|family| (family.word(), family));
        let mut families: Vec<Family> = cursor
            .optional_list(&fields, "families")
            .iter()
            .filter_map(|spot| cursor.word(spot, &words))
            .collect();
        if families.is_empty() {
            families = Family::ALL.to_vec();
        }
        let level = cursor.number_or(&fields, "level", 0.95, &Range::SHARE)?;
        let samples = numbers.iter().enumerate().map(|(n, number)| {
            let flag = flags.get(n).copied().unwrap_or(Some(false));
            Some(((*number)?, flag?))
        });
        Some(Question {
            samples: samples.collect::<Option<_>>()?,
            families,
            level,
        })
    })
}

impl Question {
    /// Answers it.
    pub fn answer(&self) -> Answer {
        let mut times = Times::default();
        let mut course = Course {
            stops: 0,
            total: 0.0,
            when_sum: 0.0,
            when_log: 0.0,
            ends_with_stop: self.samples.last().is_some_and(|(_, cut)| !cut),
        };
        let mut record = 0.0;
        for (seconds, cut) in &self.samples {
            course.total += seconds;
            record += seconds;
            if *cut {
                times.cut.push(*seconds);
                times.watched.push(std::mem::take(&mut record));
            } else {
                times.ended.push(*seconds);
                course.stops += 1;
                course.when_sum += course.total;
                course.when_log += libm::log(course.total.max(1e-3));
            }
        }
        times.watched.extend((record > 0.0).then_some(record));
        let fit = fit(&times, &self.families, self.level);
        let best = fit.best().cloned();
        Answer {
            best_family: best.as_ref().map(|best| best.family),
            mean: best.as_ref().map(|best| best.mean.value),
            median: best.as_ref().map(|best| best.median),
            survival: survival(&times),
            trend: trend([course]),
            fit,
        }
    }
}
