//! `linewright cost`: what a car costs, and what changes would bring.

mod grids;

use std::fmt::Write as _;
use std::path::Path;

use book::raw::Workbook;
use flow::Watch as RunWatch;
use shops::coil::{NoPlan, Shelf, Watch};
use whole::findings::{NoAnswer, RunSettings};
use whole::improve::{ImproveSettings, Memory};
use whole::money::{CarMoney, RUNS};

use super::check::{no_answer, sound_workbook};
use super::improve;
use crate::arguments::CostArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

use grids::{by_product, by_shop, cases, exclusive, hours, make_or_buy, metal, told};

/// Missing prices shown without `--all`.
const SHOWN: usize = 8;

/// Adds up the cost of a car, or takes one of its figures apart.
pub(crate) fn cost(asked: &CostArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    let (workbook, _) = sound_workbook(path, form)?;
    let crew = crew::of(asked.threads)?;
    let memory = improve::kept(asked.keep.as_deref())?;
    let memory = if asked.run { memory } else { memory.closed() };
    let made = crew.work(|| add_up(asked, &workbook, &memory));
    crew::wipe();
    if asked.run {
        improve::keep(asked.keep.as_deref(), &memory)?;
    }
    let made = made.map_err(|why| match why {
        NoAnswer::Cancelled => Failure::cancelled("cancelled; nothing was added up"),
        why => no_answer(&why, path, form),
    })?;
    let money = made.ok_or_else(|| {
        let else_ask = "add --run to make those that are missing, or leave --keep out for the plan's \
                        weakest station";
        not_kept((asked.keep.as_deref(), asked.seed), path, else_ask)
    })?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &desk::report::money_xlsx(&money)?)?;
    }
    if let Some(figure) = &asked.working {
        return working(&money, figure, form);
    }
    Answer::of(form, money.complete, &money, || text(&money, asked.all))
}

/// The runs that were to tell what ideas give are others.
pub(super) fn not_kept((keep, seed): (Option<&Path>, u64), book: &Path, else_ask: &str) -> Failure {
    let file = keep.unwrap_or(Path::new("")).display();
    let book = book.display();
    Failure::usage(format!(
        "{file} does not hold all runs of this book's ideas with seed {seed}; ask `linewright improve \
         {book} --seed {seed} --keep {file}` first, {else_ask}"
    ))
}

/// The money; none where it was to go by runs that are not all kept.
fn add_up(
    asked: &CostArguments,
    workbook: &Workbook,
    memory: &Memory,
) -> Result<Option<CarMoney>, NoAnswer> {
    if asked.run || asked.keep.is_some() {
        let progress = crew::varying();
        let watch = RunWatch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        let shelf = Shelf::new();
        if asked.run {
            let settings = RunSettings {
                seed: asked.seed,
                ..RUNS
            };
            return whole::money::money_by_runs(workbook, &settings, &shelf, memory, &watch)
                .map(Some);
        }
        let ranking = ImproveSettings {
            seed: asked.seed,
            ..ImproveSettings::USUAL
        };
        return whole::money::money_by_kept(workbook, &ranking, &shelf, memory, &watch);
    }
    let progress = crew::planning();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let made = whole::money::money(workbook, None, &Shelf::new(), &watch);
    made.map(Some).map_err(|why| match why {
        NoPlan::Problems(problems) => NoAnswer::Problems(problems),
        NoPlan::Cancelled => NoAnswer::Cancelled,
    })
}

fn working(money: &CarMoney, figure: &str, form: Form) -> Result<Answer, Failure> {
    let named = figure.to_lowercase();
    let exact = money.figures.get(figure);
    let fits = || {
        let figures = money.figures.values();
        figures.filter(|one| {
            one.id.to_lowercase().contains(&named) || one.title.to_lowercase().contains(&named)
        })
    };
    let shown: Vec<_> = exact.map_or_else(|| fits().take(20).collect(), |one| vec![one]);
    if shown.is_empty() {
        let ids: Vec<&str> = money.figures.keys().map(String::as_str).collect();
        let near = units::nearest(figure, ids);
        let near = near.map_or_else(String::new, |near| format!(", the nearest is `{near}`"));
        return Err(Failure::no(format!(
            "`{figure}`: no figure has this name{near}"
        )));
    }
    Answer::of(form, true, &shown, || {
        let texts = shown
            .iter()
            .map(|one| format!("{}: {}\n{}\n", one.id, one.title, one.working));
        texts.collect::<Vec<_>>().join("\n")
    })
}

fn text(money: &CarMoney, all: bool) -> String {
    let mut text = format!("{}\n", sentence(money));
    section(&mut text, "Cost of a mean car by shop", &by_shop(money));
    section(&mut text, "The same by product", &by_product(money));
    section(
        &mut text,
        "Metal a week, from `coils` to the cars",
        &metal(money),
    );
    lost(&mut text, money);
    section(
        &mut text,
        "A robot's hour against a person's",
        &hours(money),
    );
    section(&mut text, "Make or buy", &make_or_buy(money));
    let whys = money.make_or_buy.iter();
    grouped(
        &mut text,
        whys.map(|one| (one.why.as_str(), one.name.as_str())),
    );
    let title = if money.gains_by_run {
        "What ideas are worth, cars by runs with the same luck"
    } else {
        "What ideas are worth, each alone, cars by the plan's weakest station (--run asks runs of the plant)"
    };
    section(&mut text, title, &cases(money));
    text.push_str(&cautions(money));
    let notes = money.cases.iter().filter(|case| told(case));
    let notes = notes.filter_map(|case| Some((case.returns.note.as_deref()?, case.idea.as_str())));
    grouped(&mut text, notes);
    section(
        &mut text,
        "Ideas that exclude each other",
        &exclusive(money),
    );
    missing(&mut text, money, all);
    one_way(&mut text, money, all);
    text
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

/// Remarks, each once, with all that it is said of.
fn grouped<'m>(text: &mut String, said: impl Iterator<Item = (&'m str, &'m str)>) {
    let mut by: Vec<(&str, Vec<&str>)> = Vec::new();
    for (remark, of) in said {
        match by.iter_mut().find(|(known, _)| *known == remark) {
            Some((_, all)) => all.push(of),
            None => by.push((remark, vec![of])),
        }
    }
    for (remark, of) in by {
        let _ = writeln!(text, "  {}: {remark}", of.join(", "));
    }
}

fn sentence(money: &CarMoney) -> String {
    let complete = if money.complete {
        ""
    } else {
        "; prices are missing, so the figures are too low"
    };
    let more = if money.variable.value > 0.0 {
        number(money.variable.value, 0)
    } else {
        "an unknown part is".to_owned()
    };
    let planned = format!(
        "{}: a car costs {} {} over the {} good cars a week that are planned, of which {more} for \
         one more{complete}.",
        money.plant,
        number(money.total.value, 0),
        money.currency,
        number(money.cars, 0),
    );
    match (&money.at_made, money.made) {
        (Some(over), Some(made)) => format!(
            "{planned}\nThe run makes {} ± {} a week: over those a car costs {} {} \
             (--working {} takes it apart).",
            number(made.mean, 0),
            number(made.half_width, 0),
            number(over.value, 0),
            money.currency,
            over.figure,
        ),
        _ => format!(
            "{planned}\nWhere fewer are made each costs more: --run says how many the plant makes, \
             and what a car costs over those."
        ),
    }
}

fn lost(text: &mut String, money: &CarMoney) {
    let Some(lost) = &money.lost else {
        return;
    };
    let whether = match &lost.spare {
        _ if lost.short => {
            "The plant is short of cars, so that none lost there is made up.".to_owned()
        }
        Some(spare) => format!(
            "The plant can make {} cars a week of {} needed: {} minutes a week lost at {} are made \
             up and cost nothing; what a minute costs counts beyond those.",
            number(spare.cars, 1),
            number(money.cars, 0),
            number(spare.minutes, 0),
            spare.place
        ),
        None => "The plant meets its need with no time to spare there.".to_owned(),
    };
    let _ = write!(
        text,
        "\nA car lost at the constraint costs {} {}; off the constraint it costs {}, as the time \
         is made up. {whether}\n",
        number(lost.at_constraint.value, 0),
        money.currency,
        number(lost.off_constraint, 0)
    );
    let mut grid = Grid::new([
        ("lost at", Side::Left),
        ("shop", Side::Left),
        (
            match lost.spare {
                Some(_) => "not made up, spare used",
                None => "never made up",
            },
            Side::Right,
        ),
        ("a minute costs", Side::Right),
    ]);
    for minute in &lost.minutes {
        grid.row([
            minute.place.clone(),
            minute.shop.clone(),
            percent(minute.share, 0),
            number(minute.minute.value, 0),
        ]);
    }
    let by = if lost.by_run {
        "What a lost minute costs, by the critical path of the run"
    } else {
        "What a lost minute costs at the plan's weakest (--run asks a run of the plant)"
    };
    section(text, by, &grid);
}

/// What to mind with the worth of ideas.
fn cautions(money: &CarMoney) -> String {
    if money.cases.is_empty() {
        return String::new();
    }
    let mut text =
        "\n  A car more counts as sold as far as each period of the forecast asks for it, \
                    the first period beginning\n  today and the last holding on.\n"
            .to_owned();
    let car = money.cases.iter().find(|case| case.no_car.is_some());
    if car.is_some() {
        text.push_str(
            "  An idea that is hidden is worth nothing alone: `growth` takes it in its turn, \
             `reach` beside others.\n",
        );
    }
    if !money.gains_by_run {
        text.push_str(
            "  The plan counts no waiting, so that its cars are not those of `improve`, which runs \
             the plant, nor of --run.\n",
        );
    }
    text
}

fn missing(text: &mut String, money: &CarMoney, all: bool) {
    if money.missing.is_empty() {
        return;
    }
    let count = things(
        money.missing.len(),
        "price is missing",
        "kinds of price are missing",
    );
    let _ = write!(text, "\n{count}\n");
    let shown = if all { usize::MAX } else { SHOWN };
    for one in money.missing.iter().take(shown) {
        let _ = writeln!(text, "  {one}");
    }
    if money.missing.len() > shown {
        let _ = writeln!(text, "  --all shows every one");
    }
}

fn one_way(text: &mut String, money: &CarMoney, all: bool) {
    if money.not_compared.is_empty() {
        return;
    }
    if !all {
        let count = things(money.not_compared.len(), "part has", "parts have");
        let _ = write!(text, "\n{count} one known way only (--all says why)\n");
        return;
    }
    let _ = write!(text, "\nNot compared, make or buy\n");
    for one in &money.not_compared {
        let _ = writeln!(text, "  {} ({}): {}", one.name, one.at, one.why);
    }
}
