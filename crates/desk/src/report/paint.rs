//! The paint shop's plan as a workbook.

use whole::paint::{Paint, PaintStep};

use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};

/// The paint shop's plan as the bytes of an .xlsx file: line, windows, stops,
/// films, stations, colour blocks, repairs, heat, store, solvent, what does not
/// hold.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn paint_xlsx(plan: &Paint) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        line(plan),
        windows(plan),
        stops(plan),
        films(plan),
        stations(plan),
        blocks(plan),
        repairs(plan),
        heat(plan),
        store(plan),
        solvent(plan),
        said(plan),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

fn share_if_any(share: Option<f64>) -> Cell {
    share.map_or(Cell::Empty, Cell::Share)
}

fn line(plan: &Paint) -> Sheet {
    let row = |step: &PaintStep| {
        vec![
            text(&step.coat),
            text(step.kind.word()),
            number_if_any(step.temperature_c, 0),
            number(step.from_m, 1),
            number(step.length_m, 1),
            number(step.needed_m.value, 1),
            number(step.dwell_min, 1),
            number(step.speed_m_min, 2),
            number(step.pitch_m, 2),
            number(step.cycle_s.value, 1),
            number(step.takt_s.value, 1),
            number(step.inside, 1),
            number(step.bodies, 1),
            text(step.stations.join("; ")),
        ]
    };
    let columns = [
        "step",
        "kind",
        "degC",
        "from m",
        "length m",
        "needed m",
        "min",
        "m/min",
        "pitch m",
        "cycle s",
        "takt s",
        "bodies inside",
        "bodies a week",
        "stations",
    ];
    let rows = plan.steps.iter().map(row).collect();
    Sheet::new("Line", &columns, rows).note(plan.cautions.join(" "))
}

fn windows(plan: &Paint) -> Sheet {
    let rows = plan.steps.iter().filter_map(|step| {
        let window = step.window.as_ref()?;
        let any = window.allowance_min.is_some() && window.stop_min.is_none();
        Some(vec![
            text(&step.coat),
            number_if_any(step.temperature_c, 0),
            number(window.heat_up_min, 1),
            number(window.at_metal_min.value, 2),
            number_if_any(window.least_min, 1),
            number_if_any(window.most_min, 1),
            number_if_any(window.twice_min, 2),
            number(f64::from(window.bodies), 0),
            number(f64::from(window.room), 0),
            if any {
                text("any")
            } else {
                number_if_any(window.stop_min, 1)
            },
        ])
    });
    let columns = [
        "oven",
        "degC",
        "heats up min",
        "at metal min",
        "least min",
        "most min",
        "after a repair min",
        "bodies in it",
        "places kept empty",
        "stop borne min",
    ];
    Sheet::new("Windows", &columns, rows.collect())
}

fn stops(plan: &Paint) -> Sheet {
    let mut rows = Vec::new();
    for step in &plan.steps {
        for stop in step.window.iter().flat_map(|window| &window.stops) {
            rows.push(vec![
                text(&step.coat),
                number(stop.minutes, 0),
                number(f64::from(stop.caught), 0),
                number(stop.at_metal_min, 1),
                number(stop.over_min, 1),
            ]);
        }
    }
    let columns = [
        "oven",
        "stop min",
        "bodies caught",
        "at metal min",
        "over the most min",
    ];
    Sheet::new("Stops", &columns, rows)
}

fn films(plan: &Paint) -> Sheet {
    let rows = plan.steps.iter().filter_map(|step| {
        let film = step.film.as_ref()?;
        let guns = film.applicators.as_ref();
        Some(vec![
            text(&step.coat),
            number_if_any(film.dry_um, 0),
            number_if_any(film.wet_um, 0),
            share_if_any(film.transfer_efficiency),
            number(film.litres, 3),
            number(film.missed_l, 3),
            number(film.week_l, 0),
            number(film.cost, 2),
            number_if_any(guns.map(|guns| guns.exact), 3),
            number_if_any(guns.map(|guns| guns.needed.value), 0),
            number_if_any(guns.and_then(|guns| guns.room).map(f64::from), 0),
        ])
    });
    let columns = [
        "coat",
        "dry um",
        "wet um",
        "stays on",
        "l a body",
        "misses l",
        "l a week",
        "cost a body",
        "applicators",
        "whole",
        "room",
    ];
    Sheet::new("Films", &columns, rows.collect())
}

fn stations(plan: &Paint) -> Sheet {
    let rows = plan.stations.iter().map(|row| {
        let robots = row.robots.unwrap_or(row.robots_given);
        vec![
            text(&row.station),
            text(&row.step),
            number(f64::from(robots), 0),
            number(row.cycle_s.value, 1),
            number_if_any(row.measured_s, 1),
            number_if_any(row.path_s, 1),
            number_if_any(row.change_s, 2),
        ]
    });
    let columns = [
        "station",
        "step",
        "robots",
        "cycle s",
        "measured s",
        "on the body s",
        "colour change s",
    ];
    Sheet::new("Stations", &columns, rows.collect())
}

fn blocks(plan: &Paint) -> Sheet {
    let curve = plan.colours.iter().flat_map(|colours| &colours.curve);
    let rows = curve.map(|point| {
        vec![
            number(f64::from(point.block), 0),
            number(point.changes, 0),
            number(point.purge_l, 1),
            number(point.stopped_h, 2),
            number(point.waiting, 1),
            number(point.places, 0),
            number(point.wait_h, 2),
            number(point.change_cost, 0),
            number(point.wait_cost, 0),
            number(point.cost(), 0),
        ]
    });
    let columns = [
        "block",
        "changes a week",
        "lost l",
        "stopped h",
        "waiting",
        "places",
        "wait h",
        "changes cost a week",
        "waiting costs a week",
        "together",
    ];
    Sheet::new("Colour blocks", &columns, rows.collect())
}

fn repairs(plan: &Paint) -> Sheet {
    let rows = plan.repairs.ways.iter().map(|way| {
        vec![
            text(&way.repair),
            text(way.back_to.clone().unwrap_or_default()),
            number(way.visits, 4),
            number(way.week, 1),
            number(way.minutes, 1),
            number(f64::from(way.bays), 0),
            Cell::Share(way.load),
            number(f64::from(way.bays_needed), 0),
            number(way.delay_h, 2),
        ]
    });
    let columns = [
        "repair",
        "back to",
        "a good body",
        "a week",
        "min",
        "bays",
        "load",
        "needed",
        "comes later h",
    ];
    Sheet::new("Repairs", &columns, rows.collect())
}

fn heat(plan: &Paint) -> Sheet {
    let mut rows = Vec::new();
    for sum in &plan.heat {
        let row = |what: &str, minutes: f64, bears: Option<u32>| {
            vec![
                text(&sum.limit),
                number(sum.at_c, 0),
                text(what),
                number(minutes, 2),
                number_if_any(sum.least_min, 1),
                number_if_any(sum.most_min, 1),
                number_if_any(bears.map(f64::from), 0),
            ]
        };
        rows.push(row("all bakes", sum.normal_min.value, None));
        let ways = sum.repairs.iter();
        rows.extend(ways.map(|way| row(&way.repair, way.adds_min, way.bears)));
    }
    let columns = ["material", "degC", "of", "min", "least", "most", "bears"];
    Sheet::new("Heat", &columns, rows)
}

fn store(plan: &Paint) -> Sheet {
    let rows = plan.store.ways.iter().map(|way| {
        vec![
            text(&way.repair),
            number(plan.store.block_places, 0),
            number(way.places.value, 0),
            number(f64::from(plan.store.places), 0),
        ]
    });
    let columns = [
        "holds all others for",
        "places for blocks",
        "places",
        "there are",
    ];
    Sheet::new("Store", &columns, rows.collect())
}

fn solvent(plan: &Paint) -> Sheet {
    let Some(solvent) = &plan.solvent else {
        return Sheet::new("Solvent", &[], Vec::new());
    };
    let mut rows: Vec<Vec<Cell>> = solvent
        .sources
        .iter()
        .map(|source| {
            vec![
                text(&source.from),
                number(source.grams, 1),
                number(source.grams / solvent.area_m2, 3),
                Cell::Empty,
            ]
        })
        .collect();
    rows.push(vec![
        text("all"),
        number(solvent.body_g.value, 1),
        number(solvent.per_m2_g, 3),
        number_if_any(solvent.limit_g, 2),
    ]);
    Sheet::new("Solvent", &["from", "g a body", "g/m2", "limit"], rows)
}

fn said(plan: &Paint) -> Sheet {
    let all = plan.broken.iter().chain(&plan.notes);
    let rows = all.map(|problem| {
        vec![
            text(&problem.table),
            number_if_any(problem.row.map(f64::from), 0),
            text(problem.column.clone().unwrap_or_default()),
            text(&problem.found),
            text(&problem.expected),
            text(&problem.mend),
        ]
    });
    let columns = ["table", "row", "column", "found", "expected", "way out"];
    Sheet::new("Does not hold, and notes", &columns, rows.collect())
}
