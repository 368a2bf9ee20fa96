//! `linewright reach`: the cheapest ideas that reach a rate together.

use std::fmt::Write as _;

use desk::report;
use whole::findings::Verdict;
use whole::improve::{Goal, Reach, ReachSettings, Reached, WayPoint};

use super::check::{no_answer, read};
use super::improve::{as_it_is, gain, plus_minus, seek, why};
use crate::arguments::ReachArguments;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::outcome::{Answer, Failure, Form};

/// Finds the cheapest way.
pub(crate) fn reach(asked: &ReachArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.luck.xlsx, "xlsx")?;
    let workbook = read(path)?;
    let goal = Goal {
        cars_per_week: asked.cars_per_week,
        days: asked.days,
    };
    let settings = ReachSettings {
        seed: asked.luck.seed,
        weeks: asked.luck.weeks,
        runs: asked.runs,
        ideas: asked.ideas.into(),
        ..ReachSettings::USUAL
    };
    let found = seek(&asked.luck, |memory, watch| {
        whole::improve::reach(&workbook, goal, &settings, memory, watch)
    })?;
    let found = found.map_err(|why| no_answer(&why, path, form))?;
    if let Some(file) = &asked.luck.xlsx {
        folder::write(file, &report::reach_xlsx(&found)?)?;
    }
    let holds = found.cheapest.is_some();
    Answer::of(form, holds, &found, || text(&found))
}

fn text(found: &Reach) -> String {
    let mut text = as_it_is(&found.as_it_is);
    let goal = goal(found);
    match &found.cheapest {
        None => {
            let _ = writeln!(
                text,
                "{} {goal}: {} together make {} cars a week, {} days{}.",
                unreached(found),
                things(found.all.ideas.len(), "idea", "ideas"),
                plus_minus(found.all.made, 0),
                plus_minus(found.all.days, 1),
                next(&found.all)
            );
            perhaps(&mut text, found);
        }
        Some(way) => reached(&mut text, found, way, &goal),
    }
    if found.stopped {
        text.push_str(
            "Stopped before the end: this is the best so far; --keep a file to go on from here.\n",
        );
    }
    let _ = writeln!(
        text,
        "{} run in {} of {}, seed {}; ± is the {} interval.",
        things(found.sets as usize, "set", "sets"),
        things(found.runs as usize, "run", "runs"),
        things(found.settings.weeks as usize, "week", "weeks"),
        found.settings.seed,
        percent(found.settings.level, 0),
    );
    if let Some(way) = &found.cheapest {
        section(
            &mut text,
            "Step by step; the steps add up to what the set makes more",
            &steps(found, way),
        );
    }
    section(
        &mut text,
        &format!("Money ({}) against cars", found.as_it_is.currency),
        &curve(found),
    );
    section(&mut text, "Left out", &left_out(found));
    if found.without_money > 0 {
        let _ = write!(
            text,
            "\n{} left out because the book does not tell their money; give them a row in the ideas table.\n",
            things(
                found.without_money as usize,
                "found idea was",
                "found ideas were"
            )
        );
    }
    text
}

fn goal(found: &Reach) -> String {
    let cars = found.goal.cars_per_week;
    let days = found.goal.days;
    let cars = cars.map(|cars| format!("{} cars a week", number(cars, 0)));
    let days = days.map(|days| format!("{} days from coil to car", number(days, 1)));
    let parts: Vec<String> = cars.into_iter().chain(days).collect();
    parts.join(" and ")
}

/// How far it is known that no set reaches the goal.
fn unreached(found: &Reach) -> &'static str {
    match (found.all.verdict, found.perhaps.is_some()) {
        (Verdict::Missed, false) => "Not even all ideas that do no harm together reach",
        _ => "No set was shown to reach",
    }
}

fn reached(text: &mut String, found: &Reach, way: &Reached, goal: &str) {
    let set = &way.set;
    if set.ideas.is_empty() {
        let _ = writeln!(text, "It reaches {goal} as it is.");
        return;
    }
    let _ = writeln!(
        text,
        "Cheapest for {goal}: {}. {} {} once, {} a year, capital spread over its life at {}; it makes \
         {} cars a week, {} days{}{}.",
        names(found, &set.ideas),
        found.as_it_is.currency,
        number(set.investment, 0),
        number(set.yearly, 0),
        percent(found.as_it_is.hurdle_rate, 0),
        plus_minus(set.made, 0),
        plus_minus(set.days, 1),
        match set.verdict {
            Verdict::Met => "",
            Verdict::Open | Verdict::Missed => " (within luck of the goal: more --runs would tell)",
        },
        next(set)
    );
    perhaps(text, found);
    if way.proved {
        text.push_str(
            "Every cheaper set misses the goal with its whole interval, or is a part of one that does.\n",
        );
    } else if found.perhaps.is_none() {
        text.push_str(
            "The runs ended before every cheaper set was ruled out; more --runs go on.\n",
        );
    }
}

/// The cheaper set that may do.
fn perhaps(text: &mut String, found: &Reach) {
    if let Some(set) = &found.perhaps {
        let _ = writeln!(
            text,
            "Perhaps already with {}: {} a year, {} cars a week, {} days, within luck of the goal; more \
             --runs would tell.",
            names(found, &set.ideas),
            number(set.yearly, 0),
            plus_minus(set.made, 0),
            plus_minus(set.days, 1),
        );
    }
}

fn next(point: &WayPoint) -> String {
    point
        .constraint
        .as_ref()
        .map_or_else(String::new, |(name, share)| {
            format!("; next {name} holds it back ({})", percent(*share, 0))
        })
}

fn names(found: &Reach, ideas: &[u32]) -> String {
    let name = |id: &u32| {
        let idea = found.ideas.iter().find(|idea| idea.id == *id);
        idea.map_or_else(String::new, |idea| idea.name.clone())
    };
    let names: Vec<String> = ideas.iter().map(name).collect();
    if names.is_empty() {
        "nothing".to_owned()
    } else {
        names.join(" + ")
    }
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn steps(found: &Reach, way: &Reached) -> Grid {
    let mut grid = Grid::new([
        ("cars a week", Side::Right),
        ("days", Side::Right),
        ("then holds back", Side::Left),
        ("idea", Side::Left),
    ]);
    for step in &way.steps {
        let then = step.constraint.as_ref();
        let days = gain(step.days, 2);
        grid.row([
            gain(step.cars, 1),
            if step.days_shown {
                days
            } else {
                "-".to_owned()
            },
            then.map_or_else(String::new, |(name, share)| {
                format!("{name} ({})", percent(*share, 0))
            }),
            format!(
                "{}{}",
                names(found, &[step.idea]),
                if step.shown {
                    ""
                } else {
                    " (no difference in cars shown)"
                }
            ),
        ]);
    }
    grid
}

fn curve(found: &Reach) -> Grid {
    let mut grid = Grid::new([
        ("a year", Side::Right),
        ("once", Side::Right),
        ("cars a week", Side::Right),
        ("days", Side::Right),
        ("goal", Side::Left),
        ("then holds back", Side::Left),
        ("ideas", Side::Left),
    ]);
    for point in &found.curve {
        let then = point.constraint.as_ref();
        grid.row([
            number(point.yearly, 0),
            number(point.investment, 0),
            plus_minus(point.made, 0),
            number(point.days.mean, 2),
            match point.verdict {
                Verdict::Met => "met",
                Verdict::Open => "open",
                Verdict::Missed => "missed",
            }
            .to_owned(),
            then.map_or_else(String::new, |(name, share)| {
                format!("{name} ({})", percent(*share, 0))
            }),
            names(found, &point.ideas),
        ]);
    }
    grid
}

fn left_out(found: &Reach) -> Grid {
    let mut grid = Grid::new([("idea", Side::Left), ("why", Side::Left)]);
    for idea in &found.left_out {
        grid.row([idea.idea.name.clone(), why(&idea.why)]);
    }
    grid
}
