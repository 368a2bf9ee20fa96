//! `linewright order`: the build order of a week.

mod grids;

use std::fmt::Write as _;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use desk::report;
use whole::order::{BuildOrder, Effort, Watch};

use super::check::{refused, sound};
use super::solve::under_limit;
use crate::arguments::OrderArguments;
use crate::crew;
use crate::figure::{number, things};
use crate::folder;
use crate::grid::Grid;
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Seconds of a limit that are left for what comes after the search.
const AFTER_SEARCH_S: f64 = 0.15;

/// Plans the build order, within the time where there is a limit.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
fn planned(
    asked: &OrderArguments,
    start: Instant,
    book: &book::Book,
) -> Result<BuildOrder, Vec<book::Problem>> {
    let progress = crew::planning();
    let limit = asked
        .seconds
        .map(|seconds| (seconds - AFTER_SEARCH_S).max(seconds / 2.0));
    // The search plans for the time that is left.
    let gone = || limit.map_or(0.0, |limit| start.elapsed().as_secs_f64() / limit);
    let order = |cancel: &AtomicBool| {
        let watch = Watch {
            cancel,
            progress: &progress,
            gone: &gone,
        };
        let effort = Effort {
            seed: asked.seed,
            times: asked.effort,
        };
        whole::order::order(book, asked.week, effort, &watch)
    };
    match limit {
        None => order(interrupt::flag()),
        Some(limit) => under_limit(start, limit, order),
    }
}

/// Plans the build order and writes what is asked for.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(crate) fn order(asked: &OrderArguments, form: Form) -> Result<Answer, Failure> {
    let start = Instant::now();
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    folder::must_be_new_and_end(&asked.csv, "csv")?;
    folder::must_be_new_and_end(&asked.html, "html")?;
    let book = sound(path, form)?;
    let planned = planned(asked, start, &book);
    crew::wipe();
    let order = planned.map_err(|problems| refused(&problems, path, form))?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &report::order_xlsx(&order)?)?;
    }
    if let Some(file) = &asked.csv {
        folder::write(file, report::order_csv(&order).as_bytes())?;
    }
    if let Some(file) = &asked.html {
        let page = report::order_html(&order, &path.display().to_string());
        folder::write(file, page.as_bytes())?;
    }
    Answer::of(form, order.holds, &order, || {
        let mut text = text(&order, asked.all, start.elapsed().as_secs_f64());
        for file in asked.xlsx.iter().chain(&asked.csv).chain(&asked.html) {
            let _ = write!(text, "\nWritten: {}\n", file.display());
        }
        text
    })
}

fn text(order: &BuildOrder, all: bool, seconds: f64) -> String {
    let mut text = format!("{}\n", sentence(order));
    let _ = writeln!(
        text,
        "{} moves tried with seed {} in {} s.",
        number(order.proof.moves as f64, 0),
        order.proof.seed,
        number(seconds, 1)
    );
    for broken in &order.broken {
        let _ = write!(text, "\nNOT HELD: {broken}.\n");
    }
    section(
        &mut text,
        "Built before, at the end of the week before",
        &grids::before(order),
    );
    section(&mut text, "Spacing rules", &grids::rules(order));
    section(&mut text, "Goals and their bounds", &grids::goals(order));
    let _ = write!(text, "\n{}\n", order.proof.bound_from);
    proven(&mut text, order);
    colours(&mut text, order);
    section(&mut text, "Promises", &grids::promises(order, all));
    section(&mut text, "Cars on hold", &grids::held(order));
    let title = "Stations whose takt some car exceeds, walked car by car";
    section(&mut text, title, &grids::stations(order));
    store(&mut text, order);
    section(
        &mut text,
        "What giving up a rule gives, at least",
        &grids::costs(order, all),
    );
    section(
        &mut text,
        "Farthest from the level line",
        &grids::level(order, all),
    );
    if let Some(level) = &order.levelling {
        let _ = write!(
            text,
            "\nLevel use: {} cars squared off the level line in all, {} by goal chasing, which \
             minds nothing else; what lies between is what spacing, colours and promises cost.\n",
            number(level.order, 0),
            number(level.goal_chasing, 0)
        );
    }
    let title = if all {
        "The order"
    } else {
        "The first places of the order (--all shows every one)"
    };
    section(&mut text, title, &grids::places(order, all));
    let _ = write!(text, "\n{}\n", order.caution);
    for note in &order.notes {
        let _ = write!(text, "\n{note}\n");
    }
    text
}

/// What is proven of breaks, or that nothing is.
fn proven(text: &mut String, order: &BuildOrder) {
    let proof = &order.proof;
    if proof.must_hold == "unknown" {
        text.push_str(
            "\nWhat must hold is broken, and it is not proven that every order breaks it: give the \
             search more seconds.\n",
        );
    }
    let broken = order.rules.iter().any(|rule| rule.runs_broken() > 0);
    let late = order.sums.late > 0;
    if !proof.clash.is_empty() {
        let clash = proof.clash.join("; ");
        let _ = write!(text, "\nNo order keeps together: {clash}.\n");
    } else if proof.without_break == "unknown" && (broken || late) {
        text.push_str("\nWhether some order breaks nothing is not proven either way.\n");
    }
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn sentence(order: &BuildOrder) -> String {
    let cars = order.places.len();
    let (late, broken) = (order.sums.late as usize, order.sums.runs_past as usize);
    let musts = match (order.holds, order.proof.must_hold.as_str()) {
        (true, _) => "",
        (false, "impossible") => "; WHAT MUST HOLD IS BROKEN, as in every order, proven",
        (false, _) => "; WHAT MUST HOLD IS BROKEN, not proven of every order",
    };
    let proof = match order.proof.without_break.as_str() {
        _ if order.proof.optimal => "; no order is better",
        "impossible" if order.holds => "; no order breaks nothing, proven",
        // What is proven of wishes is no proof of what must hold.
        "impossible" if order.proof.must_hold == "unknown" => "; every order breaks a wish, proven",
        _ => "",
    };
    let cut = if order.proof.complete {
        ""
    } else {
        "; the search was cut short"
    };
    format!(
        "{}: week {} in an order of {} with {} past a spacing rule and {}; {}{musts}{proof}{cut}.",
        order.plant,
        order.week,
        things(cars, "car", "cars"),
        things(broken, "run of cars", "runs of cars"),
        things(
            order.colours.changes as usize,
            "change of colour",
            "changes of colour"
        ),
        if late == 0 {
            "every promise is kept".to_owned()
        } else {
            format!("{} not kept", things(late, "promise", "promises"))
        }
    )
}

fn colours(text: &mut String, order: &BuildOrder) {
    let colours = &order.colours;
    let Some(longest) = colours.blocks.iter().map(|block| block.cars).max() else {
        return;
    };
    let mean = order.places.len() as f64 / colours.blocks.len() as f64;
    let allowed = colours
        .longest_allowed
        .map_or_else(String::new, |most| format!(", {most} allowed"));
    let _ = write!(
        text,
        "\nColours: {} (at least {}), blocks of {} cars on average, the longest of {longest}\
         {allowed}; {} min and {} l lost.\n",
        things(colours.changes as usize, "change", "changes"),
        colours.changes_at_least,
        number(mean, 1),
        number(colours.change_min, 0),
        number(colours.purge_l, 0)
    );
}

fn store(text: &mut String, order: &BuildOrder) {
    let store = &order.store;
    let need = &store.needed;
    section(text, "Repairs in paint", &grids::repairs(order));
    let _ = write!(
        text,
        "\nPainted-body store: {} of {}, {} held back. To restore the wanted order in full \
         this week: {}. Over {} weeks of other luck it takes {} lanes on average, {} at most.\n",
        things(store.lanes as usize, "lane", "lanes"),
        store.lane_places,
        store.hold,
        need.told,
        need.weeks,
        number(need.mean_lanes, 1),
        need.most_lanes
    );
    section(text, "How far from the wanted order", &grids::store(order));
}
