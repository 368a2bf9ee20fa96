//! The body shop's plan as a workbook: methods with reasons, stations, the joints
//! of every robot, consumables.

use whole::body::{Body, BodyStation};

use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};

/// The body shop's plan as the bytes of an .xlsx file.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn body_xlsx(body: &Body) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        stations(body),
        joints(body),
        groups(body),
        methods(body),
        consumables(body),
        stops(body),
        takts(body),
        limits(body),
        stuck(body),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

fn optional(value: Option<&str>) -> Cell {
    value.map_or(Cell::Empty, text)
}

fn stations(body: &Body) -> Sheet {
    let rows = body.stations.iter().map(|row| {
        let most = row
            .robots
            .iter()
            .map(|robot| robot.end_s)
            .fold(0.0, f64::max);
        vec![
            text(&row.station),
            text(&row.line),
            number(row.takt_s, 1),
            number(row.net_s.value, 1),
            number(row.index_s, 1),
            number(row.robots.len() as f64, 0),
            number(f64::from(row.robots_most), 0),
            number(f64::from(row.joints), 0),
            number(most, 1),
            number(row.cycle_s, 1),
            number_if_any(row.measured_s, 1),
            number_if_any(row.one_less_s, 1),
        ]
    });
    let columns = [
        "station",
        "line",
        "takt s",
        "time to join s",
        "index s",
        "robots",
        "at most",
        "joints",
        "last robot ends s",
        "cycle s",
        "measured s",
        "cycle with one less s",
    ];
    Sheet::new("Stations", &columns, rows.collect()).note(body.cautions.join(" "))
}

fn joints(body: &Body) -> Sheet {
    let of_station = |row: &BodyStation| {
        let mut rows = Vec::new();
        for robot in &row.robots {
            for step in &robot.steps {
                rows.push(vec![
                    text(&row.station),
                    text(&robot.robot),
                    text(&step.join),
                    text(step.method.word()),
                    text(&step.variant),
                    optional(step.zone.as_deref()),
                    number(f64::from(step.joints), 0),
                    number(step.start_s, 2),
                    number(step.end_s, 2),
                    text(if step.changed { "yes" } else { "" }),
                ]);
            }
        }
        rows
    };
    let columns = [
        "station",
        "robot",
        "join",
        "method",
        "gun, die or nozzle",
        "zone",
        "joints",
        "from s",
        "to s",
        "tool changed before",
    ];
    let rows = body.stations.iter().flat_map(of_station).collect();
    Sheet::new("Joints by robot", &columns, rows)
}

fn groups(body: &Body) -> Sheet {
    let rows = body.groups.iter().map(|row| {
        vec![
            text(&row.join),
            text(&row.assembly),
            text(&row.stack),
            text(row.method.word()),
            text(&row.variant),
            number(f64::from(row.joints), 0),
            number(row.in_cycle_s, 2),
            number(row.effective_s.value, 2),
            number_if_any(row.cost_per_year.as_ref().map(|cost| cost.value), 0),
            optional(row.runner_up.map(book::JoinMethod::word)),
            number_if_any(row.runner_up_dearer, 0),
            text(&row.reason),
            text(row.stations.join("; ")),
        ]
    });
    let columns = [
        "join",
        "assembly",
        "stack",
        "method",
        "gun, die or nozzle",
        "joints",
        "s in the cycle",
        "s with stops",
        "cost a year",
        "runner-up",
        "dearer a year",
        "why",
        "stations",
    ];
    Sheet::new("Joint groups", &columns, rows.collect())
}

fn methods(body: &Body) -> Sheet {
    let rows = body.groups.iter().flat_map(|group| {
        group.ways.iter().map(|way| {
            let rules: Vec<&str> = way.refused.iter().map(|rule| rule.told.as_str()).collect();
            let sources: Vec<&str> = way
                .refused
                .iter()
                .map(|rule| rule.source.as_str())
                .collect();
            vec![
                text(&group.join),
                text(way.method.word()),
                text(match (way.refused.is_empty(), way.method == group.method) {
                    (_, true) => "taken",
                    (true, _) => "possible",
                    (false, _) => "refused",
                }),
                text(rules.join("; ")),
                text(sources.join("; ")),
                number_if_any(way.effective_s, 2),
                number_if_any(way.consumables, 4),
                number_if_any(way.cost_per_year, 0),
            ]
        })
    });
    let columns = [
        "join",
        "method",
        "",
        "why not",
        "limit from",
        "s a joint",
        "consumables a joint",
        "cost a year",
    ];
    Sheet::new("Methods", &columns, rows.collect())
}

fn consumables(body: &Body) -> Sheet {
    let rows = body.consumables.iter().map(|row| {
        vec![
            text(row.method.word()),
            text(&row.item),
            text(&row.unit),
            number(row.per_car, 3),
            number(row.per_week, 1),
            number(row.cost_per_year, 0),
        ]
    });
    let columns = ["method", "what", "unit", "a car", "a week", "cost a year"];
    Sheet::new("Consumables", &columns, rows.collect())
}

fn stops(body: &Body) -> Sheet {
    let rows = body.stations.iter().flat_map(|station| {
        station.stops.iter().map(|stop| {
            vec![
                text(&station.station),
                text(&stop.cause),
                number(stop.between_min, 1),
                number(stop.minutes, 2),
            ]
        })
    });
    let columns = ["station", "stop", "every min of running", "min"];
    Sheet::new("Stops", &columns, rows.collect())
}

fn takts(body: &Body) -> Sheet {
    let rows = body.takts.iter().map(|row| {
        vec![
            number(row.more_s, 0),
            number(row.cars_per_week, 0),
            number_if_any(row.robots.map(f64::from), 0),
            number_if_any(row.robots_cost_per_year, 0),
        ]
    });
    let columns = ["s of takt more", "cars a week", "robots", "cost a year"];
    Sheet::new("Takt", &columns, rows.collect())
}

fn limits(body: &Body) -> Sheet {
    let rows = body.limits.iter().map(|row| {
        vec![
            text(row.method.word()),
            text(&row.rule),
            number(row.limit, 3),
            text(&row.source),
            row.at.map_or(Cell::Empty, |at| text(at.to_string())),
        ]
    });
    let columns = ["method", "rule", "limit", "from", "row"];
    Sheet::new("Limits", &columns, rows.collect())
}

fn stuck(body: &Body) -> Sheet {
    let rows = body.stuck.iter().map(|row| {
        vec![
            text(&row.join),
            number(f64::from(row.joints), 0),
            text(&row.why),
            text(&row.mend),
        ]
    });
    let columns = ["join", "joints", "why", "ways out"];
    Sheet::new("Without a robot", &columns, rows.collect())
}
