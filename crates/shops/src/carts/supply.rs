//! Fleets that bring material, by the work of all their loads.

use book::{Problem, Supply};
use formulas::{Origin, Sourced, fleet as trade};
use units::{Minutes, PerHour, Share};

use super::{Crowding, Question, SupplyFleet, SupplyRun};
use crate::sheet::{Sheet, ShopValue, cell, problem};

/// The fleets in the order in which the rows name them.
pub(super) fn fleets(sheet: &mut Sheet, question: &Question<'_>) -> Vec<SupplyFleet> {
    let rows = &question.book.supplies;
    let mut names: Vec<&str> = Vec::new();
    for row in rows {
        if !names.contains(&row.fleet.as_str()) {
            names.push(&row.fleet);
        }
    }
    names
        .into_iter()
        .filter_map(|name| fleet(sheet, question, name))
        .collect()
}

fn fleet(sheet: &mut Sheet, question: &Question<'_>, name: &str) -> Option<SupplyFleet> {
    let rows: Vec<(usize, &Supply)> = question
        .book
        .supplies
        .iter()
        .enumerate()
        .filter(|(_, row)| row.fleet == name)
        .collect();
    let at = rows.first()?.1.at;
    let mut runs = Vec::new();
    let mut parts = Vec::new();
    for (position, row) in &rows {
        let cars = question.cars.get(*position).and_then(Option::as_ref);
        let (run, carts) = run(sheet, row, cars)?;
        runs.push(run);
        parts.push(carts);
    }
    let exact: f64 = parts.iter().map(|carts| carts.value.0).sum();
    // carts that nothing slows, as their minutes of work in each hour
    let work = Sourced::<Vec<Minutes>>::from(parts)
        .map(|parts| Minutes(60.0 * parts.iter().map(|carts| carts.0).sum::<f64>()));
    let loss = loss(&rows);
    let made = sheet.add(
        format!("supply.{name}.needed"),
        format!("carts of {name} that the deliveries need"),
        at,
        trade::crowded_carts(work, Share(1.0), &loss),
    )?;
    let needed = made.value.map(|carts| made.value(|_| carts.0));
    let count = rows.iter().filter_map(|(_, row)| row.carts).max();
    let crowding = (loss.value.0 > 0.0).then(|| {
        let (most_at, most) = most(loss.value.0);
        let carts = made.value.map_or(f64::from(most_at), |carts| carts.0);
        Crowding {
            loss: loss.value.0,
            traffic: 1.0 - loss.value.0 * (carts - 1.0),
            most_at,
            most,
        }
    });
    let enough = |needed: &ShopValue| count.is_none_or(|count| needed.value <= f64::from(count));
    let mut found = SupplyFleet {
        fleet: name.to_owned(),
        at,
        workload_min: runs.iter().map(|run| run.workload_min).sum(),
        runs,
        count,
        exact,
        over: !needed.as_ref().is_some_and(enough),
        needed,
        crowding,
        mend: None,
    };
    found.mend = mend(&found);
    Some(found)
}

/// A row's work, and the carts that it keeps busy if none slows another.
fn run(
    sheet: &mut Sheet,
    row: &Supply,
    cars: Option<&Sourced<PerHour>>,
) -> Option<(SupplyRun, Sourced<Minutes>)> {
    let loads = loads(sheet, row, cars)?;
    let back = row.empty_m.map_or_else(
        || cell(row.loaded_m, row.at, "loaded_m"),
        |empty| cell(empty, row.at, "empty_m"),
    );
    let fit = Share(row.availability.0 * (1.0 - row.charging_share.0));
    let origins = ["availability", "charging_share"].map(|column| cell((), row.at, column).from);
    let traffic = match row.traffic {
        Some(traffic) => cell(traffic, row.at, "traffic"),
        None => Sourced::usual(Share(1.0), "supplies", "traffic"),
    };
    let name = row.supply.as_str();
    let speed = formulas::MetresPerMinute(row.speed_m_min);
    let made = sheet.add(
        format!("supply.{name}.run"),
        format!("deliveries of {name}"),
        row.at,
        trade::supply_carts(
            cell(row.loaded_m, row.at, "loaded_m"),
            back,
            cell(speed, row.at, "speed_m_min"),
            cell(row.load_min, row.at, "load_min"),
            cell(row.unload_min, row.at, "unload_min"),
            &loads,
            Sourced::new(fit, Origin::Several(origins.to_vec())),
            traffic,
        ),
    )?;
    let carts = made.part(|made| Minutes(made.exact.0));
    let run = SupplyRun {
        supply: row.supply.clone(),
        at: row.at,
        station: row.station.clone(),
        loads_per_hour: loads.value.0,
        cycle_min: made.value(|made| made.cycle.0),
        workload_min: made.value.workload.0,
        carts: made.value.exact.0,
    };
    Some((run, carts))
}

/// Loads an hour, given or by the cars that one lasts.
fn loads(
    sheet: &mut Sheet,
    row: &Supply,
    cars: Option<&Sourced<PerHour>>,
) -> Option<Sourced<PerHour>> {
    if let Some(loads) = row.loads_per_hour {
        return Some(cell(PerHour(loads), row.at, "loads_per_hour"));
    }
    let Some((cars, lasts)) = cars.zip(row.cars_per_load) else {
        sheet.problems.push(Problem {
            found: "no car at its station, or no station".into(),
            expected: "a station that cars come to".into(),
            mend: "name the station, or write loads_per_hour".into(),
            ..problem("no-loads", row.at, Some("loads_per_hour"))
        });
        return None;
    };
    let from = vec![cars.from.clone(), cell((), row.at, "cars_per_load").from];
    Some(Sourced::new(
        PerHour(cars.value.0 / lasts),
        Origin::Several(from),
    ))
}

/// The largest loss of the rows that do not give their traffic.
fn loss(rows: &[(usize, &Supply)]) -> Sourced<Share> {
    let falls = rows.iter().filter(|(_, row)| row.traffic.is_none());
    let worst = falls.max_by(|a, b| a.1.traffic_loss.0.total_cmp(&b.1.traffic_loss.0));
    worst.map_or_else(
        || Sourced::usual(Share(0.0), "supplies", "traffic"),
        |(_, row)| cell(row.traffic_loss, row.at, "traffic_loss"),
    )
}

/// The number of carts that does most and what it does. Of whole numbers the
/// next does more as long as `1 - 2 loss n` is above 0.
fn most(loss: f64) -> (u32, f64) {
    // half a unit in the ninth place keeps 1 / 0.1 at 10
    let best = (0.5 / loss - 1e-9).ceil().max(1.0);
    (best as u32, best * (1.0 - loss * (best - 1.0)))
}

fn mend(fleet: &SupplyFleet) -> Option<String> {
    match (&fleet.needed, fleet.count, &fleet.crowding) {
        (None, _, Some(crowding)) => Some(format!(
            "the work of {:.2} carts, and {} do most, that of {:.2}: carry more at a time, or \
             give part of the runs a way of their own",
            fleet.exact, crowding.most_at, crowding.most
        )),
        (Some(needed), Some(count), _) if needed.value > f64::from(count) => Some(format!(
            "{count} of {} that the deliveries need: add {}, or carry more at a time",
            needed.value,
            needed.value - f64::from(count)
        )),
        _ => None,
    }
}
