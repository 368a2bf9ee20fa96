//! `linewright report`: plan and answer on paper, or as a workbook.

use book::raw::Workbook;
use desk::report::{self, Report};
use flow::Watch;
use serde_json::json;
use shops::coil::Shelf;
use whole::findings::{self, NoAnswer, RunSettings};
use whole::money::CarMoney;

use super::check::{no_answer, refused, sound_workbook};
use super::run;
use crate::arguments::ReportArguments;
use crate::crew;
use crate::folder;
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Plans, runs and writes the report.
pub(crate) fn report(asked: &ReportArguments, form: Form) -> Result<Answer, Failure> {
    let out = &asked.out;
    let ending = folder::must_be_new_and_end_in_one_of(out, &["html", "xlsx", "htm"])?;
    let paper = ending != "xlsx";
    let path = &asked.book.book;
    let (workbook, book) = sound_workbook(path, form)?;
    let plan = whole::plan::plan(&book).map_err(|problems| refused(&problems, path, form))?;
    let settings = RunSettings {
        replications: asked.replications,
        weeks: asked.weeks,
        seed: asked.seed,
        ..RunSettings::USUAL
    };
    let answer = run::find(&crew::of(None)?, &book, &settings);
    let answer = answer.map_err(|why| match why {
        NoAnswer::Cancelled => Failure::cancelled("cancelled; no report was written"),
        why => no_answer(&why, path, form),
    })?;
    let money = car_money(&workbook, &book, &answer);
    let growth = whole::growth::growth(&workbook, None, &Watch::none()).ok();
    let order = (asked.order && paper).then(|| planned_order(&book));
    let order = order.transpose();
    let order = order.map_err(|problems| refused(&problems, path, form))?;
    let of = path.display().to_string();
    let report = Report {
        workbook: &workbook,
        plan: &plan,
        answer: Some(&answer),
        money: money.as_ref(),
        growth: growth.as_ref(),
        order: order.as_ref(),
        of: &of,
    };
    let bytes = if paper {
        report::html(&report).into_bytes()
    } else {
        report::xlsx(&report)?
    };
    folder::write(out, &bytes)?;
    Answer::of(form, true, &json!({ "report": out }), || {
        format!("{}\nThe report is in {}.\n", answer.sentence, out.display())
    })
}

/// The build order of the first week.
fn planned_order(book: &book::Book) -> Result<whole::order::BuildOrder, Vec<book::Problem>> {
    let watch = whole::order::Watch {
        cancel: interrupt::flag(),
        progress: &|_| {},
        gone: &|| 0.0,
    };
    let effort = whole::order::Effort::usual(whole::order::DRIVING_SEED);
    whole::order::order(book, 1, effort, &watch)
}

/// What a car costs, with the minutes of the run; none where the book names no price of
/// a car or of the plant.
fn car_money(
    workbook: &Workbook,
    book: &book::Book,
    answer: &findings::Answer,
) -> Option<CarMoney> {
    let priced = book.products.iter().any(|row| row.price.is_some())
        || book.plant.margin_per_car.value.is_some()
        || book.plant.overhead_per_year.value.is_some();
    let watch = shops::coil::Watch {
        cancel: interrupt::flag(),
        progress: &|_| {},
    };
    let run = Some((answer, &[][..]));
    // What keeps a car from being added up is told by `cost`; the report has the rest.
    priced
        .then(|| whole::money::money(workbook, run, &Shelf::new(), &watch).ok())
        .flatten()
}
