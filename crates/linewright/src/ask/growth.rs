//! `linewright growth`: the forecast against each shop, decisions, money, ramp.

use std::fmt::Write as _;

use flow::Watch;
use flow::statistics::Interval;
use whole::findings::RunSettings;
use whole::growth::{Growth, Ramp, RampWeek};

use super::check::{no_answer, sound_workbook};
use crate::arguments::GrowthArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Weeks of the ramp shown without `--all`: the first ones, then every fourth.
const FIRST_WEEKS: u32 = 4;
/// Places that no idea frees, shown without `--all`.
const SHOWN: usize = 8;

/// Follows the forecast.
pub(crate) fn growth(asked: &GrowthArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    let (workbook, _) = sound_workbook(path, form)?;
    let settings = RunSettings {
        replications: asked.replications,
        weeks: asked.weeks,
        seed: asked.seed,
        trials: 0,
        ..RunSettings::USUAL
    };
    let runs = asked.run.then_some(&settings);
    let found = crew::of(asked.threads)?.work(|| {
        let progress = crew::varying();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        whole::growth::growth(&workbook, runs, &watch)
    });
    crew::wipe();
    let growth = found.map_err(|why| no_answer(&why, path, form))?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &desk::report::growth_xlsx(&growth)?)?;
    }
    Answer::of(form, growth.holds, &growth, || {
        text(&growth, asked.all, today())
    })
}

fn text(growth: &Growth, all: bool, today: i64) -> String {
    let mut text = format!("{}\n{}", sentence(growth), late(growth, today));
    section(
        &mut text,
        "Cars a week: needed, and what the weakest allows",
        &periods(growth),
    );
    section(&mut text, "When each shop runs out", &shops(growth));
    section(
        &mut text,
        "What to decide by when (a step counts on those before it)",
        &steps(growth),
    );
    section(&mut text, "Money by quarter", &money(growth));
    let shown = if all { usize::MAX } else { SHOWN };
    section(
        &mut text,
        "What no idea of the book frees",
        &stuck(growth, shown),
    );
    for stuck in growth.stuck.iter().take(shown) {
        let _ = writeln!(text, "  {} ({}): {}", stuck.place, stuck.at, stuck.mend);
    }
    if growth.stuck.len() > shown {
        let more = things(growth.stuck.len() - shown, "place more", "places more");
        let _ = writeln!(text, "  {more} (--all shows every one)");
    }
    match (&growth.ramp, &growth.no_ramp) {
        (Some(ramp), _) => ramp_text(&mut text, growth, ramp, all),
        (None, Some(why)) => {
            let _ = write!(text, "\nNo ramp: {why}.\n");
        }
        (None, None) => {}
    }
    text
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn sentence(growth: &Growth) -> String {
    let plant = &growth.plant;
    let Some((period, shops)) = growth.first_out() else {
        return format!("{plant}: every shop can do what the forecast asks, to its end.");
    };
    let first = match shops.as_slice() {
        [shop] => format!("{shop} is the first shop to run out"),
        shops => format!("{} are the first shops to run out", shops.join(" and ")),
    };
    let steps = things(growth.steps.len(), "idea follows it", "ideas follow it");
    let ends = match growth.stuck.first() {
        None => format!(
            "{steps} to its end for {currency} {} once and {currency} {} a year from then on",
            number(growth.investment, 0),
            number(growth.cost_per_year, 0),
            currency = growth.currency,
        ),
        Some(stuck) => format!(
            "{steps}, but from {} on no idea of the book frees {}",
            stuck.period, stuck.place
        ),
    };
    let paper = if growth.run.is_some() {
        ""
    } else {
        ", on paper (no run stands behind it; --run makes them)"
    };
    let by = growth
        .in_turn()
        .first()
        .map_or_else(String::new, |(_, step)| {
            format!(
                "; the first to decide, by {}, is {} for {}",
                step.decide_by, step.idea, step.shop
            )
        });
    format!("{plant}: {first}, in {period}; {ends}{paper}{by}.")
}

/// What is late on a day, and what that means.
fn late(growth: &Growth, today: i64) -> String {
    let late = growth.past(today);
    if late.is_empty() {
        return String::new();
    }
    let told = late.iter().map(|past| {
        format!(
            "{} works from {}, not from the start of {}",
            past.step.idea, past.works_from, past.step.needed_in
        )
    });
    format!(
        "{} past: decided today, {}.\n",
        things(late.len(), "day of decision is", "days of decision are"),
        told.collect::<Vec<_>>().join("; ")
    )
}

/// Today, counted from 1970-01-01.
#[allow(
    clippy::disallowed_methods,
    reason = "whether a day has passed is the clock's"
)]
fn today() -> i64 {
    const DAY_S: u64 = 86_400;
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.map_or(0, |time| i64::try_from(time.as_secs() / DAY_S).unwrap_or(0))
}

fn if_any(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |value| number(value, decimals))
}

fn interval(seen: Option<Interval>) -> String {
    seen.map_or_else(
        || "-".to_owned(),
        |seen| format!("{} ± {}", number(seen.mean, 0), number(seen.half_width, 0)),
    )
}

fn periods(growth: &Growth) -> Grid {
    let mut heads = vec![("period", Side::Left), ("needed", Side::Right)];
    heads.extend(
        growth
            .products
            .iter()
            .map(|name| (name.as_str(), Side::Right)),
    );
    heads.extend([("as it is", Side::Right), ("with ideas", Side::Right)]);
    if growth.run.is_some() {
        heads.extend([
            ("made as it is", Side::Right),
            ("made with ideas", Side::Right),
        ]);
    }
    let mut grid = Grid::of(&heads);
    for one in &growth.periods {
        let mut row = vec![one.period.clone(), number(one.cars, 0)];
        row.extend(one.by_product.iter().map(|cars| number(*cars, 0)));
        row.extend([if_any(one.can, 0), if_any(one.can_with, 0)]);
        if growth.run.is_some() {
            row.extend([interval(one.made), interval(one.made_with)]);
        }
        grid.cells(row);
    }
    grid
}

fn shops(growth: &Growth) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("runs out in", Side::Left),
        ("at", Side::Left),
        ("load then", Side::Right),
        ("decide by", Side::Left),
        ("idea", Side::Left),
    ]);
    let or_dash = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".to_owned());
    for shop in &growth.shops {
        grid.row([
            shop.shop.clone(),
            shop.saturates
                .clone()
                .unwrap_or_else(|| "not in the forecast".to_owned()),
            or_dash(&shop.at),
            shop.load
                .map_or_else(|| "-".to_owned(), |load| percent(load, 1)),
            or_dash(&shop.decide_by),
            or_dash(&shop.idea),
        ]);
    }
    grid
}

fn steps(growth: &Growth) -> Grid {
    let mut grid = Grid::new([
        ("decide by", Side::Left),
        ("step", Side::Right),
        ("idea", Side::Left),
        ("for", Side::Left),
        ("needed in", Side::Left),
        ("weeks", Side::Right),
        ("once", Side::Right),
        ("a year", Side::Right),
        ("cars a week", Side::Right),
        ("then weakest", Side::Left),
    ]);
    for (place, step) in growth.in_turn() {
        grid.row([
            step.decide_by.clone(),
            place.to_string(),
            step.idea.clone(),
            step.shop.clone(),
            step.needed_in.clone(),
            number(step.weeks, 0),
            number(step.investment, 0),
            number(step.cost_per_year, 0),
            format!(
                "{} to {}",
                if_any(step.can_before, 0),
                if_any(step.can_after, 0)
            ),
            step.next.clone().unwrap_or_default(),
        ]);
    }
    grid
}

fn money(growth: &Growth) -> Grid {
    let mut grid = Grid::new([
        ("quarter", Side::Left),
        ("invested", Side::Right),
        ("running", Side::Right),
        ("spent so far", Side::Right),
        ("decided", Side::Left),
    ]);
    if growth.steps.is_empty() {
        return grid;
    }
    for quarter in &growth.money {
        grid.row([
            quarter.quarter.clone(),
            number(quarter.investment, 0),
            number(quarter.running, 0),
            number(quarter.spent, 0),
            quarter.ideas.join("; "),
        ]);
    }
    grid
}

fn stuck(growth: &Growth, shown: usize) -> Grid {
    let mut grid = Grid::new([
        ("from", Side::Left),
        ("place", Side::Left),
        ("shop", Side::Left),
        ("load", Side::Right),
    ]);
    for stuck in growth.stuck.iter().take(shown) {
        grid.row([
            stuck.period.clone(),
            stuck.place.clone(),
            stuck.shop.clone(),
            percent(stuck.load, 1),
        ]);
    }
    grid
}

fn ramp_text(text: &mut String, growth: &Growth, ramp: &Ramp, all: bool) {
    let full = ramp.full_in.map_or_else(
        || "not within two years".to_owned(),
        |week| format!("in week {week}"),
    );
    let _ = write!(
        text,
        "\nRamp of a start, learning by the {} model at {}: from {} h in the first car to {} h;\n\
         the plan's {} cars a week are made {full}, with {} cars lost until then. With as many \
         people as the stops let work {} are lost,\nat {} people at most for {} settled, which \
         costs {} {}.\n",
        match ramp.model {
            book::LearningModel::Unit => "unit",
            book::LearningModel::Average => "cumulative-average",
        },
        percent(ramp.rate, 0),
        number(ramp.first_hours, 0),
        number(ramp.settled_hours.value, 1),
        number(ramp.cars, 0),
        number(ramp.cars_lost, 0),
        number(ramp.cars_lost_manned, 0),
        number(ramp.most_people, 0),
        number(ramp.people, 0),
        number(ramp.manning_cost, 0),
        growth.currency,
    );
    let title = if all {
        "Week by week"
    } else {
        "Some of its weeks (--all shows every one)"
    };
    section(text, title, &weeks(ramp, all));
}

fn weeks(ramp: &Ramp, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("week", Side::Right),
        ("stops let", Side::Right),
        ("cars", Side::Right),
        ("since start", Side::Right),
        ("h a car", Side::Right),
        ("held by", Side::Left),
        ("cars if manned", Side::Right),
        ("people for that", Side::Right),
    ]);
    let last = ramp.weeks.last().map_or(0, |week| week.week);
    let shown = |week: &&RampWeek| {
        let number = week.week;
        all || number <= FIRST_WEEKS || number.is_multiple_of(4) || number == last
    };
    for week in ramp.weeks.iter().filter(shown) {
        grid.row([
            week.week.to_string(),
            percent(week.availability, 0),
            number(week.cars, 0),
            number(week.built, 0),
            number(week.hours, 1),
            if week.by_work { "work" } else { "stops" }.to_owned(),
            number(week.cars_manned, 0),
            number(week.people, 0),
        ]);
    }
    grid
}
