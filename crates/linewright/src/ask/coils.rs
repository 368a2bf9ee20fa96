//! `linewright coils`: from coil to blank: strips, coils to hold, coil orders.

use std::fmt::Write as _;

use shops::coil::{Coil, NoPlan, Shelf, StripPart, Watch};

use super::check::{refused, sound};
use super::problems::listed;
use crate::arguments::CoilsArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Plans the coils, or takes one figure of the plan apart.
pub(crate) fn coils(asked: &CoilsArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    for folder in [&asked.svg, &asked.dxf].into_iter().flatten() {
        folder::make_empty(folder)?;
    }
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    let book = sound(path, form)?;
    let progress = crew::planning();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let crew = crew::of(asked.threads)?;
    let made = crew.work(|| whole::coil::coil(&book, &Shelf::new(), &watch));
    crew::wipe();
    let coil = made.map_err(|why| match why {
        NoPlan::Problems(problems) => refused(&problems, path, form),
        NoPlan::Cancelled => Failure::cancelled("cancelled; no coils were planned"),
    })?;
    write(asked, &coil)?;
    if let Some(figure) = &asked.working {
        return working(&coil, figure, form);
    }
    Answer::of(form, coil.holds, &coil, || text(&coil))
}

/// Writes drawings and workbook where they are asked for.
fn write(asked: &CoilsArguments, coil: &Coil) -> Result<(), Failure> {
    type Draw = fn(&Coil, &StripPart) -> Option<String>;
    let kinds: [(_, &str, Draw); 2] = [
        (&asked.svg, "svg", |coil, part| coil.svg(part, 0)),
        (&asked.dxf, "dxf", |coil, part| coil.dxf(part, 0)),
    ];
    for (folder, ending, draw) in kinds {
        let Some(folder) = folder else {
            continue;
        };
        for part in &coil.parts {
            let Some(drawing) = draw(coil, part) else {
                continue;
            };
            let file = folder.join(format!("{}.{ending}", file_name(&part.part)));
            folder::write(&file, drawing.as_bytes())?;
        }
    }
    if let Some(file) = &asked.xlsx {
        folder::write(file, &desk::report::coil_xlsx(coil)?)?;
    }
    Ok(())
}

/// A name as a file name that every system takes.
pub(super) fn file_name(part: &str) -> String {
    part.chars()
        .map(|c| {
            if c.is_alphanumeric() || "-_ .".contains(c) {
                c
            } else {
                '_'
            }
        })
        .collect()
}

fn text(coil: &Coil) -> String {
    let mut text = format!(
        "{}\nThe metal of a car in `cost` is less: it credits what the presses trim off the blanks as \
         well, at the same scrap price, and says how much that is.\n",
        sentence(coil)
    );
    let section = |text: &mut String, title: &str, grid: &Grid| {
        if !grid.is_empty() {
            // Writing to a `String` cannot fail.
            let _ = write!(text, "\n{title}\n\n{grid}");
        }
    };
    section(&mut text, "Blanks on their strips", &parts(coil));
    section(
        &mut text,
        "What came next, and why it lost",
        &runners_up(coil),
    );
    section(
        &mut text,
        "Pairs that were asked for and are cut apart",
        &pairs(coil),
    );
    section(&mut text, "Coils and what is cut from them", &supply(coil));
    section(&mut text, &holding(coil), &held(coil));
    section(
        &mut text,
        "Coil orders: coils to order at the start of each week",
        &orders(coil),
    );
    section(
        &mut text,
        &format!(
            "Cover: days of use left now and at the end of each week; what comes in a week is \
             taken to come on {}, before work",
            coil.orders.delivery_day
        ),
        &cover(coil),
    );
    section(
        &mut text,
        &format!(
            "Coils in the store, of {} places, those too of which nothing is cut",
            coil.orders.places
        ),
        &stored(coil),
    );
    if !coil.notes.is_empty() {
        let notes = things(coil.notes.len(), "note", "notes");
        let _ = write!(text, "\n{notes}\n{}", listed(&coil.notes));
    }
    text
}

fn sentence(coil: &Coil) -> String {
    let metal = &coil.metal;
    let orders = &coil.orders;
    let cost = format!(
        "{} t of coil a week, {} of it in blanks, {} {} with the scrap's credit, before the \
         press's offal",
        number(metal.bought_kg / 1e3, 1),
        percent(metal.utilisation, 1),
        number(metal.cost, 0),
        coil.currency
    );
    let out: Vec<&str> = orders
        .coils
        .iter()
        .filter(|one| one.runs_out.is_some())
        .map(|one| one.coil.as_str())
        .collect();
    let state = match (&orders.emptiest, out.as_slice()) {
        (_, [one]) => format!("{one} runs out before an order can come"),
        (_, [_, ..]) => format!(
            "{} run out before orders can come",
            things(out.len(), "coil", "coils")
        ),
        (Some(least), []) => format!(
            "the emptiest is {} with {} days of cover {}",
            least.coil,
            number(least.cover_days, 1),
            match least.week {
                0 => "now".to_owned(),
                week => format!("at the end of week {week}"),
            }
        ),
        (None, []) => "nothing is used".to_owned(),
    };
    format!("{}: {cost}; {state}.", coil.plant)
}

fn parts(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("part", Side::Left),
        ("coil", Side::Left),
        ("layout", Side::Left),
        ("turned", Side::Right),
        ("pitch mm", Side::Right),
        ("a pitch", Side::Right),
        ("used", Side::Right),
        ("bound", Side::Right),
        ("blanks a coil", Side::Right),
        ("cost", Side::Right),
    ]);
    for part in &coil.parts {
        let Some(laid) = part.layouts.first() else {
            continue;
        };
        grid.row([
            part.part.clone(),
            laid.coil.clone(),
            laid.kind.replace('_', " "),
            number(laid.angle_deg, 1),
            number(laid.pitch_mm, 1),
            laid.blanks_per_pitch.to_string(),
            percent(laid.utilisation, 1),
            percent(laid.bound, 1),
            number(laid.blanks_of_a_coil, 0),
            number(laid.cost, 2),
        ]);
    }
    grid
}

fn runners_up(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("part", Side::Left),
        ("next", Side::Left),
        ("on", Side::Left),
        ("dearer", Side::Right),
        ("a year", Side::Right),
        ("why", Side::Left),
    ]);
    for part in &coil.parts {
        let Some(next) = &part.runner_up else {
            continue;
        };
        let laid = next.layout.and_then(|at| part.layouts.get(at as usize));
        grid.row([
            part.part.clone(),
            laid.map_or(String::new(), |laid| laid.kind.replace('_', " ")),
            laid.map_or(String::new(), |laid| laid.coil.clone()),
            number(next.cost_more, 2),
            number(next.cost_more_a_year, 0),
            next.why.clone(),
        ]);
    }
    grid
}

/// Each pair once, at the part that the book has first.
fn pairs(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("part", Side::Left),
        ("beside", Side::Left),
        ("on", Side::Left),
        ("used", Side::Right),
        ("bound", Side::Right),
        ("why", Side::Left),
    ]);
    let mut seen: Vec<&str> = Vec::new();
    for part in &coil.parts {
        let Some(beside) = &part.beside else {
            continue;
        };
        if seen.contains(&part.part.as_str()) {
            continue;
        }
        seen.push(&beside.part);
        let laid = beside.layout.and_then(|at| part.layouts.get(at as usize));
        let share = |of: fn(&shops::coil::StripLayout) -> f64| {
            laid.map_or("-".to_owned(), |laid| percent(of(laid), 1))
        };
        grid.row([
            part.part.clone(),
            beside.part.clone(),
            laid.map_or("no coil".to_owned(), |laid| laid.coil.clone()),
            share(|laid| laid.utilisation),
            share(|laid| laid.bound),
            beside.why.clone(),
        ]);
    }
    grid
}

fn supply(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("coil", Side::Left),
        ("kg", Side::Right),
        ("length m", Side::Right),
        ("wraps", Side::Right),
        ("coils a week", Side::Right),
        ("in blanks", Side::Right),
        ("parts", Side::Left),
    ]);
    for one in &coil.coils {
        grid.row([
            one.coil.clone(),
            number(one.mass_kg, 0),
            number(one.length_m, 0),
            number(one.wraps, 0),
            number(one.coils_a_week, 2),
            percent(one.utilisation, 1),
            one.parts.join(", "),
        ]);
    }
    grid
}

fn holding(coil: &Coil) -> String {
    let (now, then) = (&coil.holding.now, &coil.holding.then);
    let proof = if coil.holding.gap < 1e-6 {
        "proven least".to_owned()
    } else {
        format!("within {} of the least", percent(coil.holding.gap, 3))
    };
    format!(
        "Coils to hold: {} specifications of {} allowed at {} {} a year ({proof} of {} widths); \
         today {} at {}",
        then.specifications,
        coil.holding.at_most,
        number(then.all, 0),
        coil.currency,
        coil.holding.candidates,
        now.specifications,
        number(now.all, 0)
    )
}

fn held(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("coil", Side::Left),
        ("", Side::Left),
        ("coils a week", Side::Right),
        ("holding a year", Side::Right),
        ("parts", Side::Left),
    ]);
    for one in &coil.holding.chosen {
        let new = if one.in_book { "" } else { "new" };
        grid.row([
            one.coil.clone(),
            new.to_owned(),
            number(one.coils_a_week, 2),
            number(one.cost, 0),
            one.parts.join(", "),
        ]);
    }
    grid
}

/// A row of short numbers, one a week.
fn by_week(values: impl Iterator<Item = String>) -> String {
    values.map(|value| format!("{value:>4}")).collect()
}

fn orders(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("coil", Side::Left),
        ("a week", Side::Right),
        ("spread", Side::Right),
        ("lead d", Side::Right),
        ("order at", Side::Right),
        ("weeks 1 to 13", Side::Left),
    ]);
    for one in &coil.orders.coils {
        grid.row([
            one.coil.clone(),
            number(one.mean_use, 2),
            number(one.use_spread, 2),
            number(one.lead_time_days, 0),
            number(one.reorder_point, 1),
            by_week(one.weeks.iter().map(|week| week.order.to_string()))
                .trim()
                .to_owned(),
        ]);
    }
    grid
}

fn cover(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("coil", Side::Left),
        ("now", Side::Right),
        ("least", Side::Right),
        ("runs out", Side::Right),
        ("weeks 1 to 13", Side::Left),
    ]);
    for one in &coil.orders.coils {
        let out = one
            .runs_out
            .map_or("-".to_owned(), |week| format!("week {week}"));
        grid.row([
            one.coil.clone(),
            number(one.cover_days, 1),
            number(one.least_cover_days, 1),
            out,
            by_week(one.weeks.iter().map(|week| number(week.cover_days, 0)))
                .trim()
                .to_owned(),
        ]);
    }
    grid
}

fn stored(coil: &Coil) -> Grid {
    let mut grid = Grid::new([
        ("", Side::Left),
        ("now", Side::Right),
        ("weeks 1 to 13", Side::Left),
    ]);
    let orders = &coil.orders;
    let rows = [
        ("at the week's end", orders.stored_now, &orders.stored),
        (
            "if all of a week's deliveries come on its first day",
            orders.stored_now,
            &orders.stored_after_deliveries,
        ),
    ];
    for (what, now, weeks) in rows {
        let weeks = by_week(weeks.iter().map(|coils| number(*coils, 0)));
        grid.row([what.to_owned(), number(now, 0), weeks.trim().to_owned()]);
    }
    grid
}

/// The figures whose id and title hold all words asked for.
fn working(coil: &Coil, asked: &str, form: Form) -> Result<Answer, Failure> {
    let low = asked.to_lowercase();
    let found: Vec<_> = match coil.figures.get(asked) {
        Some(one) => vec![one],
        None => coil
            .figures
            .values()
            .filter(|figure| {
                let names = format!("{} {}", figure.id, figure.title).to_lowercase();
                low.split_whitespace().all(|word| names.contains(word))
            })
            .collect(),
    };
    if found.is_empty() {
        let ids = coil.figures.keys().map(String::as_str);
        let hint = match book::nearest(asked, ids) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "--working reorder lists the reorder points".to_owned(),
        };
        return Err(Failure::usage(format!(
            "no figure of the coil plan has all of `{asked}` in its name; {hint}"
        )));
    }
    Answer::of(form, true, &serde_json::json!({ "figures": found }), || {
        if let [one] = found.as_slice() {
            return format!("{}: {}\n\n{}\n", one.id, one.title, one.working);
        }
        let mut grid = Grid::new([
            ("figure", Side::Left),
            ("value", Side::Right),
            ("unit", Side::Left),
            ("what it is", Side::Left),
        ]);
        for figure in &found {
            grid.row([
                figure.id.clone(),
                number(figure.value, 3),
                figure.unit.clone(),
                figure.title.clone(),
            ]);
        }
        grid.to_string()
    })
}
