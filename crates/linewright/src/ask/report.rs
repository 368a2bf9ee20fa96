//! `linewright report`: plan and answer on paper, or as a workbook.

use std::sync::atomic::Ordering;

use book::raw::Workbook;
use desk::report::{self, IdeasBy, Report};
use flow::Watch;
use serde_json::json;
use shops::coil::Shelf;
use whole::findings::{self, NoAnswer, RunSettings};
use whole::improve::ImproveSettings;
use whole::money::{CarMoney, Gain};

use super::check::{no_answer, refused, sound_workbook};
use super::{cost, improve, run};
use crate::arguments::{Ideas, ReportArguments};
use crate::crew;
use crate::folder;
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Plans, runs and writes the report.
pub(crate) fn report(asked: &ReportArguments, form: Form) -> Result<Answer, Failure> {
    let out = &asked.out;
    let ending = folder::must_be_new_and_end_in_one_of(out, &["html", "xlsx", "htm"])?;
    let paper = ending != "xlsx";
    if asked.ideas == Ideas::Kept && asked.keep.is_none() {
        return Err(Failure::usage(
            "--ideas kept needs --keep FILE, the runs that `linewright improve --keep FILE` kept; \
             or take --ideas runs to make them now, or --ideas plan",
        ));
    }
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
    let money = match is_priced(&book) {
        true => car_money(asked, (&workbook, &book), &answer, form)?,
        false => None,
    };
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
        ideas_by: money.as_ref().map(|_| asked.ideas.into()),
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

impl From<Ideas> for IdeasBy {
    fn from(ideas: Ideas) -> Self {
        match ideas {
            Ideas::Runs => Self::Runs,
            Ideas::Kept => Self::Kept,
            Ideas::Plan => Self::Plan,
        }
    }
}

/// Whether the book names a price of a car or of the plant.
fn is_priced(book: &book::Book) -> bool {
    book.products.iter().any(|row| row.price.is_some())
        || book.plant.margin_per_car.value.is_some()
        || book.plant.overhead_per_year.value.is_some()
}

/// What a car costs with the minutes of the run, and what ideas are worth by what was
/// asked for; none where it cannot be added up, which `cost` tells: the report has the
/// rest.
fn car_money(
    asked: &ReportArguments,
    (workbook, book): (&Workbook, &book::Book),
    answer: &findings::Answer,
    form: Form,
) -> Result<Option<CarMoney>, Failure> {
    let Some(gains) = gains(asked, (workbook, book), form)? else {
        return Ok(None);
    };
    let watch = shops::coil::Watch {
        cancel: interrupt::flag(),
        progress: &|_| {},
    };
    let run = Some((answer, &gains[..]));
    Ok(whole::money::money(workbook, run, &Shelf::new(), &watch).ok())
}

/// What the book's ideas give; none where the plan cannot tell it.
fn gains(
    asked: &ReportArguments,
    (workbook, book): (&Workbook, &book::Book),
    form: Form,
) -> Result<Option<Vec<Gain>>, Failure> {
    if asked.ideas == Ideas::Plan {
        return Ok(whole::money::gains_by_plan(workbook, book).ok());
    }
    let path = &asked.book.book;
    let settings = ImproveSettings {
        seed: asked.seed,
        ..ImproveSettings::USUAL
    };
    let memory = improve::kept(asked.keep.as_deref())?;
    let memory = match asked.ideas {
        Ideas::Runs => memory,
        _ => memory.closed(),
    };
    let found = crew::of(None)?.work(|| {
        let progress = crew::trying();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        whole::money::gains_by_run(workbook, &settings, &memory, &watch)
    });
    crew::wipe();
    if asked.ideas == Ideas::Runs {
        improve::keep(asked.keep.as_deref(), &memory)?;
    }
    match found {
        Ok(gains) => Ok(Some(gains)),
        Err(NoAnswer::Cancelled) if interrupt::flag().load(Ordering::Relaxed) => {
            Err(Failure::cancelled("cancelled; no report was written"))
        }
        // what is not kept is not run
        Err(NoAnswer::Cancelled) => {
            let else_ask = "take --ideas runs to make those that are missing, or --ideas plan";
            let kept = (asked.keep.as_deref(), asked.seed);
            Err(cost::not_kept(kept, path, else_ask))
        }
        Err(why) => Err(no_answer(&why, path, form)),
    }
}
