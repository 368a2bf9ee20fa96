//! The report: one plant's plan and answer on paper and in a workbook.
//!
//! Both forms are made from the same sheets (`sheets`), and every figure in
//! them is the one that the command line and the page show.

mod assembly;
mod body;
mod book_sheets;
mod calendar;
mod cell;
mod coils;
mod course;
mod curves;
mod first_time;
mod growth;
mod html;
mod improve;
mod logged;
mod money;
mod morning;
mod number;
mod order;
mod order_paper;
mod paint;
mod paint_line;
mod press;
mod sheets;
pub mod strip;
mod work_lists;
mod workings;
mod xlsx;

use book::raw::Workbook;
use serde::Deserialize;
use whole::findings::Answer;
use whole::growth::Growth;
use whole::money::CarMoney;
use whole::order::BuildOrder;
use whole::plan::RatePlan;

pub use assembly::{Balance, assembly_xlsx};
pub use body::body_xlsx;
pub use calendar::{Date, ics};
pub use cell::cell_svg;
pub use coils::coil_xlsx;
pub use growth::growth_xlsx;
pub(crate) use html::STYLE;
pub use html::html;
pub use improve::{banks_xlsx, improve_xlsx, reach_xlsx};
pub(crate) use logged::{day_xlsx, figures_xlsx};
pub use money::money_xlsx;
pub use morning::{Action, Morning, loss_name, minutes, morning_html, sentence, with_interval};
pub(crate) use morning::{MORNING_STYLE, loss_words};
pub use number::{number, percent};
pub use order::{order_csv, order_xlsx};
pub use order_paper::order_html;
pub use paint::paint_xlsx;
pub use paint_line::paint_svg;
pub use press::{clock, press_xlsx};
pub(crate) use work_lists::WORK_STYLE;
pub use work_lists::work_lists_html;
pub use xlsx::{WorkbookError, xlsx};

/// By what it is told what ideas give.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum IdeasBy {
    /// Runs of the plant, made where they are missing.
    Runs,
    /// The ranking of ideas that was kept.
    Kept,
    /// The plan's weakest station.
    Plan,
}

impl IdeasBy {
    /// The same in words.
    pub const fn told(self) -> &'static str {
        match self {
            Self::Runs => "runs of the plant with and without each idea, with the same luck",
            Self::Kept => "the ranking of ideas that was kept",
            Self::Plan => "the plan's weakest station, without runs",
        }
    }
}

/// What is reported.
#[derive(Clone, Copy)]
pub struct Report<'r> {
    /// The book as it was written.
    pub workbook: &'r Workbook,
    /// Its rate plan.
    pub plan: &'r RatePlan,
    /// The answer of a run; without one the report says so.
    pub answer: Option<&'r Answer>,
    /// What a car costs, where it was added up.
    pub money: Option<&'r CarMoney>,
    /// By what that tells what ideas give; none where nobody asked for money.
    pub ideas_by: Option<IdeasBy>,
    /// The forecast against the plant, where it was followed.
    pub growth: Option<&'r Growth>,
    /// The first week's build order, where it was planned.
    pub order: Option<&'r BuildOrder>,
    /// What state of the book this is, for the first lines: a revision with
    /// author and time, or a file.
    pub of: &'r str,
}

/// Text as HTML and SVG take it.
pub(crate) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            other => safe.push(other),
        }
    }
    safe
}

/// The strip of a plan and its answer; none without an answer.
pub fn strip_of(plan: &RatePlan, answer: &Answer) -> strip::Strip {
    let content = |shop: &str| {
        let stages = answer.stages.iter().filter(|stage| stage.shop == shop);
        stages.map(|stage| stage.jobs.mean).sum()
    };
    let made = |shop: &str| {
        let own = answer.shops.iter().find(|own| own.shop == shop);
        own.map(|own| own.made.mean)
    };
    let shops = plan.shops.iter().map(|shop| strip::Shop {
        made: made(&shop.shop),
        name: shop.shop.clone(),
        alone: shop.alone.as_ref().map(|alone| alone.value),
        content: content(&shop.shop),
    });
    strip::Strip {
        plant: plan.plant.clone(),
        shops: shops.collect(),
        needed: answer.needed,
        made: answer.made.mean,
        half_width: answer.made.half_width,
        met: answer.verdict == whole::findings::Verdict::Met,
    }
}

#[cfg(test)]
mod tests;
