//! Words what lines lack.

use serde::Serialize;

use super::Question;
use crate::overload::{LineOverload, Overload};

/// Lines with too little time, and what would free them.
#[derive(Clone, Debug, Serialize)]
pub struct OverloadAnswer {
    /// Whether it is proven that no spread of the items over the lines fits.
    pub proven: bool,
    /// The lines with too little time.
    pub lines: Vec<LineOverloadAnswer>,
}

/// What one line lacks.
#[derive(Clone, Debug, Serialize)]
pub struct LineOverloadAnswer {
    /// Name.
    pub line: String,
    /// Days of running asked for in a day.
    pub running_days_per_day: f64,
    /// Days of changeovers that the limits force in a day.
    pub changeover_days_per_day: f64,
    /// Hours missing a day.
    pub missing_hours_per_day: f64,
    /// Hours missing a week.
    pub missing_hours_per_week: f64,
    /// The fewest items that free the line when made elsewhere.
    pub move_items: Vec<String>,
    /// Minutes to save on each changeover to free the line; null when
    /// changeovers of no time do not.
    pub save_changeover_min: Option<f64>,
    /// The same in a sentence.
    pub mend: String,
}

impl Question {
    pub(super) fn overload_answer(&self, overload: &Overload) -> OverloadAnswer {
        OverloadAnswer {
            proven: overload.proven,
            lines: overload.lines.iter().map(|line| self.line(line)).collect(),
        }
    }

    fn line(&self, over: &LineOverload) -> LineOverloadAnswer {
        let problem = self.checked.problem();
        let name = problem.lines[over.line.at()].name.clone();
        let move_items: Vec<String> = over
            .move_items
            .iter()
            .map(|item| problem.items[item.at()].name.clone())
            .collect();
        let minutes = over
            .save_changeover_days
            .map(|days| days * self.hours_per_day * 60.0);
        let saving = minutes.map_or(String::new(), |minutes| {
            format!(", or save {minutes:.1} min on each changeover")
        });
        LineOverloadAnswer {
            running_days_per_day: over.running,
            changeover_days_per_day: over.changing,
            missing_hours_per_day: over.missing * self.hours_per_day,
            missing_hours_per_week: over
                .missing_hours_per_week(self.hours_per_day, self.days_per_week),
            mend: format!("make {} elsewhere{saving}", move_items.join(", ")),
            line: name,
            move_items,
            save_changeover_min: minutes,
        }
    }
}
