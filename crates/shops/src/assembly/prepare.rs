//! What a line is planned from: takt, cycle, tasks with their ways, prices.

use book::{At, Book, Problem, Task};
use formulas::calendar;
use units::Hours;

use super::model::{How, Way};
use super::parallel::by_turns;
use super::price::Prices;
use super::work::{Work, elsewhere};
use super::{LineNeed, mix, screen};
use crate::sheet::{Sheet, ShopValue, Stands, problem, setting};

/// Takt and cycle of a line, its tasks with their ways, and its prices; none
/// where there are problems.
pub(super) type Prepared<'a> = ((ShopValue, ShopValue), (Work<'a>, Prices));

pub(super) fn prepared<'a>(
    book: &'a Book,
    sheet: &mut Sheet,
    need: &LineNeed,
    tasks: Vec<&'a Task>,
    at: At,
) -> Option<Prepared<'a>> {
    let (takt_s, cycle_s) = cycle(sheet, book, need, at)?;
    let prices = prices(sheet, book, need, at);
    let work = work(sheet, book, tasks, (takt_s.value, cycle_s.value), &prices)?;
    Some(((takt_s, cycle_s), (work, prices)))
}

/// Prices for the hours that a line works in a year.
fn prices(sheet: &mut Sheet, book: &Book, need: &LineNeed, at: At) -> Prices {
    let hours = need
        .net
        .clone()
        .map(|net| Hours(net.0 / 60.0 * book.plant.weeks_per_year.value));
    Prices::of(sheet, book, &need.shop, &hours, at)
}

/// The ways of each task of a line and what the screens say of them; nothing
/// where the line has no takt.
pub(super) fn ways_of_line<'a>(book: &'a Book, need: &LineNeed) -> Vec<(&'a Task, Vec<Way>)> {
    let own = |task: &&Task| task.shop == need.shop && task.line == need.line;
    let tasks: Vec<&Task> = book.tasks.iter().filter(own).collect();
    let mut sheet = Sheet::default();
    let takt = tasks.first().and_then(|task| {
        let (takt_s, _) = cycle(&mut sheet, book, need, task.at)?;
        Some((takt_s.value, prices(&mut sheet, book, need, task.at)))
    });
    let Some((takt_s, prices)) = takt else {
        return Vec::new();
    };
    let ways = |task: &Task| {
        let often = mix::on_all(book, task) * 60.0 / takt_s;
        screen::ways(&mut sheet, book, task, often, &prices)
    };
    let ways: Vec<Vec<Way>> = tasks.iter().copied().map(ways).collect();
    tasks.into_iter().zip(ways).collect()
}

/// Takt of a line, and the part of it that work may fill.
pub(super) fn cycle(
    sheet: &mut Sheet,
    book: &Book,
    need: &LineNeed,
    at: At,
) -> Option<(ShopValue, ShopValue)> {
    let name = need.line.as_deref().unwrap_or("all");
    let id = format!("line.{}.{name}", need.shop);
    let made = calendar::takt(need.net.clone(), need.jobs.clone());
    let takt = sheet.add_with(
        Stands::Last,
        format!("{id}.takt"),
        format!("takt of {name}"),
        at,
        made,
    )?;
    let efficiency = setting(&book.plant.line_efficiency, "line_efficiency");
    let made = calendar::design_cycle(takt.part(|takt| *takt), efficiency);
    let cycle = sheet.add_with(
        Stands::Last,
        format!("{id}.cycle"),
        format!("cycle that the work of {name} may fill"),
        at,
        made,
    )?;
    Some((takt.value(|takt| takt.0), cycle.value(|cycle| cycle.0)))
}

/// A line's tasks with their ways; none where one has no way.
fn work<'a>(
    sheet: &mut Sheet,
    book: &Book,
    tasks: Vec<&'a Task>,
    (takt_s, cycle_s): (f64, f64),
    prices: &Prices,
) -> Option<Work<'a>> {
    let (mut ways, mut share) = (Vec::new(), Vec::new());
    let before = sheet.problems.len();
    for task in &tasks {
        let often = mix::on_all(book, task);
        let of_task = screen::ways(sheet, book, task, often * 60.0 / takt_s, prices);
        sheet.problems.extend(no_way(task, &of_task));
        sheet.problems.extend(no_share(book, task));
        ways.push(of_task);
        share.push(often);
    }
    let after = tasks
        .iter()
        .map(|task| Work::named(&tasks, &task.after))
        .collect();
    let station = tasks.iter().copied().map(|task| {
        let own = task.station.as_deref();
        own.filter(|_| elsewhere(book, task).is_none())
    });
    let station: Vec<Option<&str>> = station.collect();
    let units = by_turns(book, (&tasks, &ways, &share), &station, cycle_s);
    (sheet.problems.len() == before).then_some(Work {
        tasks,
        station,
        units,
        after,
        ways,
        share,
        takt_s,
        cycle_s,
    })
}

/// What is wrong with a task that nobody can do.
fn no_way(task: &Task, ways: &[Way]) -> Option<Problem> {
    if ways.iter().any(|way| way.refused.is_none()) {
        return None;
    }
    if ways.is_empty() {
        return Some(Problem {
            found: format!("no time for `{}`", task.task),
            expected: "hand_s, aid_s or robot_s".into(),
            mend: "give the seconds of at least one way to do it".into(),
            ..problem("no-time", task.at, Some("hand_s"))
        });
    }
    let each = ways.iter().filter_map(|way| {
        let how = in_words(way.how);
        Some(format!("{how}: {}", way.refused.as_ref()?))
    });
    let found = format!(
        "no way left to do `{}`: {}",
        task.task,
        each.collect::<Vec<_>>().join("; ")
    );
    Some(Problem {
        found,
        expected: "a way that the screens leave".into(),
        mend: way_out(ways).into(),
        ..problem("no-way-left", task.at, None)
    })
}

pub(super) fn in_words(how: How) -> &'static str {
    match how {
        How::Hand => "by hand",
        How::Aided => "with an aid",
        How::Robot => "by robot",
    }
}

/// What would leave a way to a task that has none.
pub(super) fn way_out(ways: &[Way]) -> &'static str {
    if ways.iter().any(|way| way.how == How::Aided) {
        "change what refuses it, give the aid a repeat_mm in `tools` where it locates, or name \
         a robot that can"
    } else {
        "give aid_s and an aid, or name a robot that can"
    }
}

/// What is wrong with a task of an option that no car of its product can have.
fn no_share(book: &Book, task: &Task) -> Option<Problem> {
    let option = task.option.as_deref()?;
    let of_task = |product: &&book::Product| {
        task.product
            .as_ref()
            .is_none_or(|own| *own == product.product)
    };
    let mut products = book.products.iter().filter(of_task);
    if products.any(|product| mix::option_row(book, option, &product.product).is_some()) {
        return None;
    }
    let product = task.product.as_deref().unwrap_or("any product");
    Some(Problem {
        found: format!(
            "`{}` is work of `{option}`, which has no share on {product}",
            task.task
        ),
        expected: "an option that some car of the task's product has".into(),
        mend: format!("give `{option}` a row with its share on {product}, or change the task"),
        ..problem("option-without-share", task.at, Some("option"))
    })
}
