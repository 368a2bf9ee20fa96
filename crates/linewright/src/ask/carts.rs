//! `linewright carts`: carts of loops and supplies, by formula and by runs.

use std::fmt::Write as _;

use flow::Watch;
use flow::statistics::Interval;
use serde::Serialize;
use whole::carts::{CartPlan, Carts, Curve, RUNS, Store, StorePlan, SupplyFleet};
use whole::findings::RunSettings;

use super::check::{no_answer, refused, sound};
use crate::arguments::CartsArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// The plan by formula alone.
#[derive(Serialize)]
struct Planned<'p> {
    holds: bool,
    plan: &'p CartPlan,
}

/// Plans the carts and runs the plant with more and fewer of them.
pub(crate) fn carts(asked: &CartsArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    let book = sound(path, form)?;
    if book.carriers.is_empty() && book.supplies.is_empty() {
        return Err(Failure::usage(format!(
            "{}: the book has no carts; give it a carriers or a supplies table",
            path.display()
        )));
    }
    if asked.formula {
        let plan = whole::carts::plan(&book).map_err(|problems| refused(&problems, path, form))?;
        let json = Planned {
            holds: plan.holds,
            plan: &plan,
        };
        return Answer::of(form, plan.holds, &json, || planned(&plan));
    }
    let settings = RunSettings {
        replications: asked.replications,
        weeks: asked.weeks,
        seed: asked.seed,
        ..RUNS
    };
    let found = crew::of(asked.threads)?.work(|| {
        let progress = crew::varying();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        whole::carts::carts(&book, &settings, &watch)
    });
    crew::wipe();
    let found = found.map_err(|why| no_answer(&why, path, form))?;
    Answer::of(form, found.holds, &found, || text(&found, asked.all))
}

fn text(found: &Carts, all: bool) -> String {
    let run = &found.run;
    let mut text = sentence(found);
    // Writing to a `String` cannot fail.
    let _ = writeln!(
        text,
        "{} of {} for each number after {} h of warm-up, seed {}; ± is the {} interval of the\n\
         difference with the same luck.",
        things(run.replications as usize, "replication", "replications"),
        things(run.weeks as usize, "week", "weeks"),
        number(run.warm_up_h, 1),
        run.seed,
        percent(run.level, 0)
    );
    plan_sections(&mut text, &found.plan);
    section(&mut text, "In the run of the plant", &curves(found));
    if !found.curves.is_empty() {
        let _ = writeln!(
            text,
            "  enough is less than the formula says where stations wait for cars and hold no cart,\n  \
             and more where full buffers hold carts too"
        );
    }
    section(
        &mut text,
        "Supply carts with calls that come by chance",
        &rounds(found),
    );
    section(
        &mut text,
        "Stores of the sub-plants before the main line",
        &stores(&found.stores),
    );
    for curve in &found.curves {
        if all || curve.loses || curve.enough.is_none() {
            let title = format!("Cars a week against the number of {}", curve.carrier);
            section(&mut text, &title, &points(curve));
        }
    }
    if all {
        for store in &found.stores {
            let title = format!("Cars a week against the places before {}", store.to);
            section(&mut text, &title, &places(store));
        }
    }
    end(&mut text, &found.plan);
    text
}

fn planned(plan: &CartPlan) -> String {
    let short = plan.loops.iter().filter(|fleet| fleet.over).count();
    let mut text = if plan.holds {
        "Every fleet has as many as its formula asks for.\n".to_owned()
    } else {
        format!(
            "{} of {} and {} of {} are too small.\n",
            short,
            things(plan.loops.len(), "loop", "loops"),
            plan.supplies.iter().filter(|fleet| fleet.over).count(),
            things(plan.supplies.len(), "supply fleet", "supply fleets"),
        )
    };
    plan_sections(&mut text, plan);
    end(&mut text, plan);
    text
}

fn plan_sections(text: &mut String, plan: &CartPlan) {
    section(text, "Loops", &loops(plan));
    section(text, "Where those needed are", &split(plan));
    section(text, "Supply carts", &supplies(plan));
    for mend in plan.supplies.iter().filter_map(|s| s.mend.as_ref()) {
        let _ = writeln!(text, "  {mend}");
    }
    section(text, "What supply carts bring", &runs(plan));
    section(
        text,
        "Stores of the sub-plants: places that last the longest stop of a week",
        &planned_stores(&plan.stores),
    );
}

fn end(text: &mut String, plan: &CartPlan) {
    for note in &plan.notes {
        let _ = writeln!(text, "\n{note}");
    }
    let _ = writeln!(text, "\n{}", plan.caution);
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn sentence(found: &Carts) -> String {
    let losing: Vec<&str> = found
        .curves
        .iter()
        .filter(|curve| curve.loses)
        .map(|curve| curve.carrier.as_str())
        .collect();
    let stores = found.stores.iter().filter(|store| store.loses).count();
    let mut told = if losing.is_empty() {
        "No fleet loses the plant a car that the runs show".to_owned()
    } else {
        format!("The plant loses cars for want of {}", losing.join(" and "))
    };
    if stores > 0 {
        let _ = write!(
            told,
            "; {} too small",
            things(stores, "store is", "stores are")
        );
    }
    let spare: i64 = found
        .curves
        .iter()
        .filter_map(|curve| Some(i64::from(curve.count) - i64::from(curve.enough?)))
        .filter(|spare| *spare > 0)
        .sum();
    if spare > 0 {
        let _ = write!(
            told,
            "; {spare} carriers could go at the rate that the plant makes now"
        );
    }
    let _ = writeln!(told, ". It makes {} cars a week.", interval(found.made, 1));
    let floors = found
        .curves
        .iter()
        .filter(|c| c.enough.is_some_and(|enough| enough < c.count));
    let floors: Vec<String> = floors
        .map(|curve| format!("{} {}", curve.needed, curve.carrier))
        .collect();
    if !floors.is_empty() {
        let _ = writeln!(
            told,
            "For the rate that the book needs the formula asks for {}: keep at least these.",
            floors.join(" and ")
        );
    }
    told
}

/// A mean with its interval.
fn interval(seen: Interval, decimals: usize) -> String {
    if seen.half_width.is_finite() {
        let mean = number(seen.mean, decimals);
        format!("{mean} ± {}", number(seen.half_width, decimals))
    } else {
        number(seen.mean, decimals)
    }
}

fn loops(plan: &CartPlan) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("takt s", Side::Right),
        ("pitch m", Side::Right),
        ("m/min", Side::Right),
        ("way back s", Side::Right),
        ("in service", Side::Right),
        ("needed", Side::Right),
        ("there are", Side::Right),
        ("", Side::Left),
    ]);
    for fleet in &plan.loops {
        grid.row([
            fleet.carrier.clone(),
            number(fleet.takt_s.value, 1),
            number(fleet.pitch_m, 2),
            number(fleet.speed_m_min.value, 2),
            number(fleet.way_back_s, 0),
            percent(fleet.fit, 1),
            number(fleet.needed.value, 0),
            fleet.count.to_string(),
            if fleet.needed.value > f64::from(fleet.count) {
                "TOO FEW".into()
            } else {
                String::new()
            },
        ]);
    }
    grid
}

fn split(plan: &CartPlan) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("at stations", Side::Right),
        ("on the move", Side::Right),
        ("way back", Side::Right),
        ("traffic leaves", Side::Right),
        ("charging or unfit", Side::Right),
        ("charging", Side::Left),
    ]);
    for fleet in &plan.loops {
        grid.row([
            fleet.carrier.clone(),
            number(fleet.on_line, 0),
            number(fleet.on_move, 1),
            number(fleet.on_way_back, 1),
            percent(fleet.traffic, 0),
            number(fleet.out_of_service, 1),
            format!(
                "{}, {} of the time",
                fleet.charging.word(),
                percent(fleet.charging_share, 1)
            ),
        ]);
    }
    grid
}

fn supplies(plan: &CartPlan) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("work min/h", Side::Right),
        ("free carts", Side::Right),
        ("traffic leaves", Side::Right),
        ("needed", Side::Right),
        ("there are", Side::Right),
        ("most useful", Side::Right),
    ]);
    for fleet in &plan.supplies {
        let crowding = fleet.crowding.as_ref();
        grid.row([
            fleet.fleet.clone(),
            number(fleet.workload_min, 1),
            number(fleet.exact, 2),
            crowding.map_or_else(dash, |crowding| percent(crowding.traffic, 0)),
            needed(fleet),
            fleet.count.map_or_else(dash, |count| count.to_string()),
            crowding.map_or_else(dash, |crowding| crowding.most_at.to_string()),
        ]);
    }
    grid
}

fn needed(fleet: &SupplyFleet) -> String {
    let needed = fleet.needed.as_ref();
    needed.map_or_else(|| "none do".to_owned(), |needed| number(needed.value, 0))
}

fn dash() -> String {
    "-".to_owned()
}

fn runs(plan: &CartPlan) -> Grid {
    let mut grid = Grid::new([
        ("supply", Side::Left),
        ("to", Side::Left),
        ("loads an hour", Side::Right),
        ("min each", Side::Right),
        ("carts", Side::Right),
    ]);
    for run in plan.supplies.iter().flat_map(|fleet| &fleet.runs) {
        grid.row([
            run.supply.clone(),
            run.station.clone().unwrap_or_else(dash),
            number(run.loads_per_hour, 1),
            number(run.cycle_min.value, 2),
            number(run.carts, 2),
        ]);
    }
    grid
}

fn curves(found: &Carts) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("formula", Side::Right),
        ("there are", Side::Right),
        ("enough", Side::Right),
        ("one more gives", Side::Right),
        ("enough against there are", Side::Right),
        ("", Side::Left),
    ]);
    let shown = |gain: Option<Interval>| gain.map_or_else(dash, |gain| interval(gain, 1));
    for curve in &found.curves {
        grid.row([
            curve.carrier.clone(),
            curve.needed.to_string(),
            curve.count.to_string(),
            curve
                .enough
                .map_or_else(|| "more than tried".into(), |enough| enough.to_string()),
            shown(curve.one_more),
            shown(curve.against_count),
            if curve.loses { "LOSES CARS" } else { "" }.into(),
        ]);
    }
    grid
}

/// Each fleet at what the formula asks for, what there is, and what is enough.
fn rounds(found: &Carts) -> Grid {
    let mut grid = Grid::new([
        ("fleet", Side::Left),
        ("carts", Side::Right),
        ("called an hour", Side::Right),
        ("brought an hour", Side::Right),
        ("one more brings", Side::Right),
        ("min from call", Side::Right),
        ("", Side::Left),
    ]);
    for curve in &found.supply_curves {
        let marks = |carts: u32| {
            let mut marks = Vec::new();
            for (own, word) in [
                (curve.needed, "formula"),
                (curve.count, "there are"),
                (curve.enough, "enough"),
            ] {
                if own == Some(carts) {
                    marks.push(word);
                }
            }
            marks.join(", ")
        };
        for point in &curve.points {
            let marks = marks(point.carts);
            if marks.is_empty() {
                continue;
            }
            grid.row([
                curve.fleet.clone(),
                point.carts.to_string(),
                number(curve.calls_per_hour, 1),
                interval(point.loads_per_hour, 1),
                point.one_more.map_or_else(dash, |more| interval(more, 2)),
                interval(point.wait_min, 1),
                marks,
            ]);
        }
    }
    grid
}

fn points(curve: &Curve) -> Grid {
    let mut grid = Grid::new([
        ("carriers", Side::Right),
        ("in service", Side::Right),
        ("cars a week", Side::Right),
        ("below the best", Side::Right),
        ("", Side::Left),
    ]);
    for point in &curve.points {
        let mut marks = Vec::new();
        if point.carriers == curve.needed {
            marks.push("formula");
        }
        if point.carriers == curve.count {
            marks.push("there are");
        }
        if Some(point.carriers) == curve.enough {
            marks.push("enough");
        }
        if point.locked {
            marks.push("locks itself up");
        }
        grid.row([
            point.carriers.to_string(),
            point.in_service.to_string(),
            interval(point.cars, 1),
            interval(point.below_best, 1),
            marks.join(", "),
        ]);
    }
    grid
}

fn planned_stores(stores: &[StorePlan]) -> Grid {
    let mut grid = Grid::new([
        ("from", Side::Left),
        ("to", Side::Left),
        ("there are", Side::Right),
        ("planned", Side::Right),
        ("longest stop min", Side::Right),
        ("closed min", Side::Right),
        ("lasts min", Side::Right),
        ("ahead", Side::Right),
        ("working", Side::Left),
    ]);
    for store in stores {
        let there_are = store.places.map(|places| places.to_string());
        grid.row([
            store.line.clone(),
            store.to.clone(),
            there_are.unwrap_or_else(|| "no limit".into()),
            number(store.needed.value, 0),
            number(store.longest_stop_min, 1),
            number(store.closed_min, 1),
            number(store.cover_min, 1),
            number(store.ahead, 0),
            store.needed.figure.clone(),
        ]);
    }
    grid
}

fn stores(stores: &[Store]) -> Grid {
    let mut grid = Grid::new([
        ("from", Side::Left),
        ("to", Side::Left),
        ("places", Side::Right),
        ("planned", Side::Right),
        ("loss there", Side::Right),
        ("at least", Side::Right),
        ("loss there", Side::Right),
        ("loss with one fewer", Side::Right),
        ("", Side::Left),
    ]);
    // a loss is what the fewest make less than the most
    let loss = |gain: Interval| {
        interval(
            Interval {
                mean: -gain.mean,
                ..gain
            },
            1,
        )
    };
    for store in stores {
        grid.row([
            store.line.clone(),
            store.to.clone(),
            store.places.to_string(),
            store.planned.map_or_else(dash, |places| places.to_string()),
            store.at_planned.map_or_else(dash, loss),
            store.least.to_string(),
            loss(store.at_least),
            store.one_fewer.map_or_else(dash, loss),
            if store.loses { "TOO SMALL" } else { "" }.into(),
        ]);
    }
    grid
}

fn places(store: &Store) -> Grid {
    let mut grid = Grid::new([
        ("places", Side::Right),
        ("below the most", Side::Right),
        ("", Side::Left),
    ]);
    for point in &store.points {
        let mut marks = Vec::new();
        if point.places == store.places {
            marks.push("there are");
        }
        if Some(point.places) == store.planned {
            marks.push("planned");
        }
        if point.places == store.least {
            marks.push("at least");
        }
        grid.row([
            point.places.to_string(),
            interval(point.below_most, 1),
            marks.join(", "),
        ]);
    }
    grid
}
