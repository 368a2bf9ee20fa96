//! `linewright day`: what a day cost.

use std::fmt::Write as _;

use desk::report::{Morning, loss_name, minutes, morning_html, sentence, with_interval};
use evidence::day::{self, Day, NoDay, Settings};
use evidence::figures::{Figures, Grain, figures};
use evidence::read::Log;
use evidence::roster::Roster;
use evidence::time::{DAY, parse_day};
use flow::Watch;
use serde::Serialize;

use super::check::refused;
use super::logged::{self, Plant};
use super::problems::listed;
use crate::arguments::DayArguments;
use crate::crew;
use crate::figure::{number, percent};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// The day and what stands beside it.
#[derive(Serialize)]
struct Told<'d> {
    holds: bool,
    #[serde(flatten)]
    day: &'d Day,
    shops: Vec<(String, Figures)>,
    problems: Vec<book::Problem>,
}

/// Replays the day and words what it cost.
pub(crate) fn day(asked: &DayArguments, form: Form) -> Result<Answer, Failure> {
    folder::must_be_new_and_end(&asked.html, "html")?;
    let plant = logged::plant(&asked.book.book, form)?;
    let date = match &asked.day {
        Some(text) => parse_day(text).ok_or_else(|| {
            Failure::usage(format!("--day {text}: expected a date such as 2026-03-10"))
        })?,
        None => last_day(asked, &plant, form)?,
    };
    let keep = |roster: &Roster| Some(day::wanted(date, roster.map.zone));
    let (roster, log) = logged::log(&asked.log, &plant, form, keep)?;
    let found = replay(asked, &plant, &roster, &log, date)?.map_err(|why| match why {
        NoDay::Problems(problems) => refused(&problems, &asked.log.log, form),
        NoDay::Cancelled => Failure::cancelled("cancelled; nothing was answered"),
    })?;
    let told = Told {
        holds: found.shortfall <= 0.5,
        shops: shops(&plant, &roster, &log, &found.date),
        problems: log.problems(&roster),
        day: &found,
    };
    if let Some(file) = &asked.html {
        let bad = log.defects.kinds.values().map(|rows| rows.count).sum();
        let name = plant.book.plant.name.value.clone();
        let page = morning_html(&Morning {
            plant: &name,
            day: &found,
            shops: &told.shops,
            causes: &found.stops,
            defects: (bad, log.rows),
            actions: &[],
        });
        folder::write(file, page.as_bytes())?;
    }
    Answer::of(form, told.holds, &told, || text(&told))
}

/// The last day of which the log has every hour.
fn last_day(asked: &DayArguments, plant: &Plant, form: Form) -> Result<i64, Failure> {
    let (roster, log) = logged::log(&asked.log, plant, form, |_| None)?;
    let zone = roster.map.zone;
    let end = log.span.map_or(0, |span| zone.local(span.1));
    let worked = |day: i64| {
        let (from, to) = (zone.instant(day * DAY), zone.instant((day + 1) * DAY));
        let open = roster
            .hours
            .iter()
            .map(|hours| hours.open_between(from, to));
        open.sum::<i64>() > 0
    };
    // A log that ends with the last shift of a day has that day.
    let last = (end + DAY / 4).div_euclid(DAY) - 1;
    let worked = (last - 6..=last).rev().find(|day| worked(*day));
    Ok(worked.unwrap_or(last))
}

fn replay(
    asked: &DayArguments,
    plant: &Plant,
    roster: &Roster,
    log: &Log,
    date: i64,
) -> Result<Result<Day, NoDay>, Failure> {
    let settings = Settings {
        seed: asked.seed,
        replications: asked.replications,
        apart: asked.losses.into(),
    };
    let crew = crew::of(asked.threads)?;
    let found = crew.work(|| {
        let progress = crew::replaying();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        day::day(
            &plant.book,
            &plant.built,
            roster,
            log,
            date,
            &settings,
            &watch,
        )
    });
    crew::wipe();
    Ok(found)
}

/// The day's figures by shop, from coil to car.
fn shops(plant: &Plant, roster: &Roster, log: &Log, date: &str) -> Vec<(String, Figures)> {
    let grain = Grain {
        day: true,
        shift: false,
    };
    let all = figures(log, roster, grain);
    let of = |shop: &String| {
        let found = all.iter().find(|(of, _)| {
            of.day == date && of.shop == *shop && of.line.is_empty() && of.station.is_empty()
        });
        found.map(|(_, figures)| (shop.clone(), figures.clone()))
    };
    whole::calendar::shops(&plant.book)
        .iter()
        .filter_map(of)
        .collect()
}

fn text(told: &Told<'_>) -> String {
    let day = told.day;
    let mut text = format!("{}: {}\n", day.date, sentence(day));
    let _ = writeln!(
        text,
        "Cars by {} replays of the day; ± is the 95 % interval.\n",
        day.replications
    );
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("loss", Side::Left),
        ("times", Side::Right),
        ("minutes", Side::Right),
        ("cars", Side::Right),
    ]);
    for loss in &day.losses {
        grid.row([
            loss.station.clone(),
            loss_name(loss),
            number(loss.events as f64, 0),
            minutes(loss.minutes),
            with_interval(loss.cars),
        ]);
    }
    let _ = writeln!(text, "What it cost, in cars not made\n\n{grid}");
    let _ = writeln!(text, "From planned to made\n\n{}", bridge(day));
    let _ = write!(text, "Made against plan\n\n{}", hours(day));
    if !told.shops.is_empty() {
        let _ = write!(text, "\nShops (ISO 22400-2)\n\n{}", ratios(&told.shops));
    }
    text + &listed(&told.problems)
}

fn bridge(day: &Day) -> Grid {
    let mut grid = Grid::new([("", Side::Left), ("cars", Side::Right)]);
    grid.row(["planned".to_owned(), number(day.plan, 1)]);
    let less = |interval: flow::statistics::Interval| flow::statistics::Interval {
        mean: -interval.mean,
        ..interval
    };
    let beyond = if day.beyond.mean > 0.0 {
        "asked beyond what the plant makes without any loss"
    } else {
        "what the plant makes beyond the plan, without any loss"
    };
    let parts = [
        (beyond, less(day.beyond)),
        ("losses", less(day.lost)),
        ("not explained by the model", less(day.unexplained)),
    ];
    for (what, cars) in parts {
        grid.row([what.to_owned(), with_interval(cars)]);
    }
    grid.row(["made".to_owned(), number(day.made, 0)]);
    grid
}

fn hours(day: &Day) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("hour", Side::Right),
        ("planned", Side::Right),
        ("made", Side::Right),
    ]);
    for row in &day.hours {
        grid.row([
            row.shop.clone(),
            format!("{:02}", row.hour),
            number(row.plan, 1),
            row.made.to_string(),
        ]);
    }
    grid
}

fn ratios(shops: &[(String, Figures)]) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("availability", Side::Right),
        ("effectiveness", Side::Right),
        ("quality", Side::Right),
        ("OEE", Side::Right),
        ("starved", Side::Right),
        ("blocked", Side::Right),
    ]);
    let shown =
        |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| percent(value, 1));
    for (shop, figures) in shops {
        let share = |s: f64| shown((figures.pbt_s > 0.0).then(|| s / figures.pbt_s));
        grid.row([
            shop.clone(),
            shown(figures.ratios.availability),
            shown(figures.ratios.effectiveness),
            shown(figures.ratios.quality_ratio),
            shown(figures.ratios.oee),
            share(figures.starved_s),
            share(figures.blocked_s),
        ]);
    }
    grid
}
