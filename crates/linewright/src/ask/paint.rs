//! `linewright paint`: the line, its windows, films, robots, colours, repairs,
//! heat, store and solvent.

use std::fmt::Write as _;

use book::CoatKind;
use desk::report;
use units::PerWeek;
use whole::paint::{BakeWindow, Colours, Paint, PaintStep};

use super::check::{refused, sound};
use crate::arguments::PaintArguments;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::outcome::{Answer, Failure, Form};

/// Plans the paint shop and writes what is asked for.
pub(crate) fn paint(asked: &PaintArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    let rate = rate(asked.cars)?;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    folder::must_be_new_and_end(&asked.svg, "svg")?;
    let book = sound(path, form)?;
    if book.coats.is_empty() {
        return Err(Failure::usage(format!(
            "{}: the book has no coats, so there is nothing to plan; give it a coats table",
            path.display()
        )));
    }
    let plan =
        whole::paint::paint_at(&book, rate).map_err(|problems| refused(&problems, path, form))?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &report::paint_xlsx(&plan)?)?;
    }
    if let Some(file) = &asked.svg {
        folder::write(file, report::paint_svg(&plan).as_bytes())?;
    }
    Answer::of(form, plan.holds, &plan, || {
        let mut text = text(&plan, asked.all);
        for file in asked.xlsx.iter().chain(&asked.svg) {
            let _ = write!(text, "\nWritten: {}\n", file.display());
        }
        text
    })
}

fn rate(cars: Option<f64>) -> Result<Option<PerWeek>, Failure> {
    match cars {
        Some(cars) if !(cars > 0.0 && cars.is_finite()) => Err(Failure::usage(format!(
            "--cars: found {cars}, expected more than 0 cars a week"
        ))),
        cars => Ok(cars.map(PerWeek)),
    }
}

fn text(plan: &Paint, all: bool) -> String {
    let mut text = sentence(plan);
    for problem in &plan.broken {
        let _ = writeln!(text, "\n{problem}");
    }
    section(&mut text, "The line, door to door", &line(plan));
    section(&mut text, "Ovens by metal temperature", &windows(plan));
    if all {
        section(&mut text, "What stops of the conveyor do", &stops(plan));
    }
    section(&mut text, "Films, litres and applicators", &films(plan));
    section(&mut text, "Robots by station", &robots(plan));
    if let Some(colours) = &plan.colours {
        colour_section(&mut text, colours, &plan.currency);
    }
    let repairs = &plan.repairs;
    let _ = write!(
        text,
        "\nOf the bodies inspected {} are OK ({}); {} enter and {} are inspected for each good \
         one.\n",
        percent(repairs.first_time_ok.value, 1),
        if repairs.measured {
            "measured"
        } else {
            "by the coats"
        },
        number(repairs.entering, 4),
        number(repairs.inspections, 4),
    );
    section(&mut text, "Repairs", &ways(plan));
    section(&mut text, "Heat of all bakes together", &heat(plan));
    section(&mut text, "Store behind paint", &store(plan));
    section(&mut text, "Solvent to the air", &solvent(plan));
    for note in &plan.notes {
        let _ = writeln!(text, "\n{note}");
    }
    for caution in &plan.cautions {
        let _ = writeln!(text, "\n{caution}");
    }
    text
}

fn sentence(plan: &Paint) -> String {
    let what = if plan.holds {
        "The paint line holds".to_owned()
    } else {
        format!(
            "{} on the paint line",
            things(
                plan.broken.len(),
                "thing does not hold",
                "things do not hold"
            )
        )
    };
    format!(
        "{what}: {} good bodies a week, one each {} s, over {} m in {} h, with {} robots.\n",
        number(plan.bodies, 0),
        number(plan.takt_s.value, 1),
        number(plan.length_m, 0),
        number(plan.hours, 1),
        plan.robots
    )
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn dash() -> String {
    "-".to_owned()
}

fn any(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(dash, |value| number(value, decimals))
}

fn line(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("step", Side::Left),
        ("kind", Side::Left),
        ("degC", Side::Right),
        ("from m", Side::Right),
        ("length m", Side::Right),
        ("needed m", Side::Right),
        ("min", Side::Right),
        ("m/min", Side::Right),
        ("cycle s", Side::Right),
        ("takt s", Side::Right),
        ("inside", Side::Right),
        ("bodies a week", Side::Right),
    ]);
    for step in &plan.steps {
        grid.row([
            step.coat.clone(),
            step.kind.word().to_owned(),
            any(step.temperature_c, 0),
            number(step.from_m, 1),
            number(step.length_m, 1),
            number(step.needed_m.value, 1),
            number(step.dwell_min, 1),
            number(step.speed_m_min, 2),
            number(step.cycle_s.value, 1),
            number(step.takt_s.value, 1),
            number(step.inside, 1),
            number(step.bodies, 0),
        ]);
    }
    grid
}

fn ovens(plan: &Paint) -> impl Iterator<Item = (&PaintStep, &BakeWindow)> {
    let steps = plan.steps.iter().filter(|step| step.kind == CoatKind::Oven);
    steps.filter_map(|step| Some((step, step.window.as_ref()?)))
}

fn windows(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("oven", Side::Left),
        ("degC", Side::Right),
        ("heats up min", Side::Right),
        ("at metal min", Side::Right),
        ("least", Side::Right),
        ("most", Side::Right),
        ("after a repair", Side::Right),
        ("bodies", Side::Right),
        ("kept empty", Side::Right),
        ("stop borne min", Side::Right),
    ]);
    for (step, window) in ovens(plan) {
        grid.row([
            step.coat.clone(),
            any(step.temperature_c, 0),
            number(window.heat_up_min, 1),
            number(window.at_metal_min.value, 1),
            any(window.least_min, 1),
            any(window.most_min, 1),
            any(window.twice_min, 1),
            window.bodies.to_string(),
            window.room.to_string(),
            if window.allowance_min.is_some() && window.stop_min.is_none() {
                "any".to_owned()
            } else {
                any(window.stop_min, 1)
            },
        ]);
    }
    grid
}

fn stops(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("oven", Side::Left),
        ("stop min", Side::Right),
        ("bodies caught", Side::Right),
        ("at metal min", Side::Right),
        ("over the most", Side::Right),
    ]);
    for (step, window) in ovens(plan) {
        for stop in &window.stops {
            grid.row([
                step.coat.clone(),
                number(stop.minutes, 0),
                stop.caught.to_string(),
                number(stop.at_metal_min, 1),
                number(stop.over_min, 1),
            ]);
        }
    }
    grid
}

fn films(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("coat", Side::Left),
        ("dry um", Side::Right),
        ("wet um", Side::Right),
        ("stays on", Side::Right),
        ("l a body", Side::Right),
        ("misses l", Side::Right),
        ("l a week", Side::Right),
        ("cost a body", Side::Right),
        ("applicators", Side::Right),
        ("whole", Side::Right),
        ("room", Side::Right),
    ]);
    for step in &plan.steps {
        let Some(film) = &step.film else { continue };
        let guns = film.applicators.as_ref();
        grid.row([
            step.coat.clone(),
            any(film.dry_um, 0),
            any(film.wet_um, 0),
            film.transfer_efficiency
                .map_or_else(dash, |share| percent(share, 0)),
            number(film.litres, 2),
            number(film.missed_l, 2),
            number(film.week_l, 0),
            number(film.cost, 2),
            guns.map_or_else(dash, |guns| number(guns.exact, 2)),
            guns.map_or_else(dash, |guns| number(guns.needed.value, 0)),
            guns.and_then(|guns| guns.room)
                .map_or_else(dash, |room| room.to_string()),
        ]);
    }
    grid
}

fn robots(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("step", Side::Left),
        ("robots", Side::Right),
        ("on the body s", Side::Right),
        ("colour change s", Side::Right),
        ("cycle s", Side::Right),
        ("measured s", Side::Right),
    ]);
    for row in plan
        .stations
        .iter()
        .filter(|row| row.robots.unwrap_or(row.robots_given) > 0)
    {
        grid.row([
            row.station.clone(),
            row.step.clone(),
            row.robots.unwrap_or(row.robots_given).to_string(),
            any(row.path_s, 1),
            any(row.change_s, 2),
            number(row.cycle_s.value, 1),
            any(row.measured_s, 1),
        ]);
    }
    grid
}

fn colour_section(text: &mut String, colours: &Colours, currency: &str) {
    let _ = write!(
        text,
        "\nAs they come, {} of the bodies have another colour than the one before; a change \
         loses {} l and takes {} s, of which {} s do not fit between two bodies.\n",
        percent(colours.change_probability.value, 1),
        number(colours.purge_l, 2),
        number(colours.change_s, 1),
        number(colours.lost_s, 1)
    );
    let title = format!("Colour blocks, {currency} a week");
    let mut grid = Grid::new([
        ("block", Side::Right),
        ("changes", Side::Right),
        ("lost l", Side::Right),
        ("stopped h", Side::Right),
        ("waiting", Side::Right),
        ("places", Side::Right),
        ("wait h", Side::Right),
        ("changes cost", Side::Right),
        ("waiting costs", Side::Right),
        ("together", Side::Right),
        ("", Side::Left),
    ]);
    for point in &colours.curve {
        let mut marks = Vec::new();
        if point.block == colours.block {
            marks.push("as it is");
        }
        if point.block == colours.best {
            marks.push("best");
        }
        grid.row([
            point.block.to_string(),
            number(point.changes, 0),
            number(point.purge_l, 0),
            number(point.stopped_h, 2),
            number(point.waiting, 1),
            number(point.places, 0),
            number(point.wait_h, 2),
            number(point.change_cost, 0),
            number(point.wait_cost, 0),
            number(point.cost(), 0),
            marks.join(", "),
        ]);
    }
    section(text, &title, &grid);
}

fn ways(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("repair", Side::Left),
        ("back to", Side::Left),
        ("a good body", Side::Right),
        ("a week", Side::Right),
        ("min", Side::Right),
        ("bays", Side::Right),
        ("load", Side::Right),
        ("needed", Side::Right),
        ("comes later h", Side::Right),
    ]);
    for way in &plan.repairs.ways {
        grid.row([
            way.repair.clone(),
            way.back_to.clone().unwrap_or_else(dash),
            number(way.visits, 4),
            number(way.week, 1),
            number(way.minutes, 1),
            way.bays.to_string(),
            percent(way.load, 1),
            way.bays_needed.to_string(),
            number(way.delay_h, 2),
        ]);
    }
    grid
}

/// So many repairs no body gets.
const MANY: u32 = 20;

fn heat(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("material", Side::Left),
        ("degC", Side::Right),
        ("min", Side::Right),
        ("least", Side::Right),
        ("most", Side::Right),
        ("a repair adds min", Side::Left),
    ]);
    for sum in &plan.heat {
        let adds = sum.repairs.iter().map(|way| {
            let bears = match way.bears {
                None => String::new(),
                Some(bears) if bears >= MANY => " (bears many)".to_owned(),
                Some(bears) => format!(" (bears {bears})"),
            };
            format!("{} {}{bears}", way.repair, number(way.adds_min, 1))
        });
        grid.row([
            sum.limit.clone(),
            number(sum.at_c, 0),
            number(sum.normal_min.value, 1),
            any(sum.least_min, 1),
            any(sum.most_min, 1),
            adds.collect::<Vec<_>>().join("; "),
        ]);
    }
    grid
}

fn store(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("holds all others for", Side::Left),
        ("for blocks", Side::Right),
        ("places", Side::Right),
        ("there are", Side::Right),
    ]);
    for way in &plan.store.ways {
        grid.row([
            way.repair.clone(),
            number(plan.store.block_places, 0),
            number(way.places.value, 0),
            plan.store.places.to_string(),
        ]);
    }
    grid
}

fn solvent(plan: &Paint) -> Grid {
    let mut grid = Grid::new([
        ("from", Side::Left),
        ("g a body", Side::Right),
        ("g/m2", Side::Right),
    ]);
    let Some(solvent) = &plan.solvent else {
        return grid;
    };
    for source in &solvent.sources {
        grid.row([
            source.from.clone(),
            number(source.grams, 1),
            number(source.grams / solvent.area_m2, 2),
        ]);
    }
    grid.row([
        format!("all, {} t a year", number(solvent.year_t, 1)),
        number(solvent.body_g.value, 1),
        number(solvent.per_m2_g, 2),
    ]);
    if let Some(limit) = solvent.limit_g {
        grid.row(["limit".to_owned(), String::new(), number(limit, 2)]);
    }
    grid
}
