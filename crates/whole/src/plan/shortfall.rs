//! What cannot do what the plan asks, and the smallest change that frees it.

use super::{Basis, CarrierPlan, PressLinePlan, Short, Shortfall, StationPlan};

/// All shortfalls, the highest load first.
pub(super) fn list(
    basis: &Basis<'_>,
    stations: &[StationPlan],
    lines: &[PressLinePlan],
    carriers: &[CarrierPlan],
) -> Vec<Shortfall> {
    let mut list: Vec<Shortfall> = Vec::new();
    list.extend(stations.iter().filter_map(|row| station(basis, row)));
    list.extend(lines.iter().filter_map(|row| line(basis, row)));
    list.extend(carriers.iter().filter_map(|row| carrier(basis, row)));
    list.sort_by(|a, b| b.load.total_cmp(&a.load).then_with(|| a.name.cmp(&b.name)));
    list
}

/// Cars a week that a load above 1 costs.
fn cars_short(basis: &Basis<'_>, load: f64) -> f64 {
    basis.need.cars() * (1.0 - 1.0 / load)
}

/// The overtime, if the week has so many hours left.
fn overtime(basis: &Basis<'_>, shop: &str, hours: f64) -> Option<f64> {
    let idle = basis
        .shops
        .get(shop)
        .map_or(0.0, super::shops::Hours::idle_h);
    (hours <= idle).then_some(hours)
}

fn in_words(overtime: Option<f64>) -> String {
    match overtime {
        Some(hours) => format!(", or work {hours:.1} h a week longer"),
        None => "; overtime does not free it, the week has no such hours left".to_owned(),
    }
}

fn plural(count: u32, one: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{count} {one}s")
    }
}

fn station(basis: &Basis<'_>, row: &StationPlan) -> Option<Shortfall> {
    let load = row.load.value;
    if !row.over {
        return None;
    }
    let overtime = overtime(basis, &row.shop, row.overtime_h.value);
    let units_to_add = (row.units_needed.value as u32)
        .saturating_sub(row.units)
        .max(1);
    let reach = row.cycle_to_reach_s.as_ref().map(|reach| reach.value);
    let cycle = reach.map_or_else(String::new, |reach| {
        let cycle = row.cycle_s.value;
        let less = (1.0 - reach / cycle) * 100.0;
        format!("bring the mean cycle from {cycle:.1} s to {reach:.1} s (-{less:.1} %), or ")
    });
    Some(Shortfall {
        kind: Short::Station,
        name: row.station.clone(),
        shop: row.shop.clone(),
        at: row.at,
        load,
        cars_short: cars_short(basis, load),
        units_to_add,
        overtime_h: overtime,
        cycle_to_reach_s: reach,
        mend: format!(
            "{cycle}add {}{}",
            plural(units_to_add, "unit"),
            in_words(overtime)
        ),
        figure: format!("station.{}.load", row.station),
    })
}

fn line(basis: &Basis<'_>, row: &PressLinePlan) -> Option<Shortfall> {
    let load = row.load.value;
    if !row.over {
        return None;
    }
    let overtime = overtime(basis, &row.shop, row.overtime_h.value);
    let units = basis
        .book
        .press_lines
        .iter()
        .find(|line| line.press_line == row.press_line);
    let units = units.map_or(1, |line| line.units);
    let units_to_add = (row.units_needed.value as u32).saturating_sub(units).max(1);
    // Changeovers alone can free the line when they take more than is missing.
    let missing = row.overtime_h.value * f64::from(units);
    let changing = row.changing_h.value;
    let lots = if changing > missing {
        let part = (1.0 - missing / changing) * 100.0;
        format!(
            "bring changeovers to {part:.0} % of their hours (larger lots or quicker changes), or "
        )
    } else {
        String::new()
    };
    Some(Shortfall {
        kind: Short::PressLine,
        name: row.press_line.clone(),
        shop: row.shop.clone(),
        at: row.at,
        load,
        cars_short: cars_short(basis, load),
        units_to_add,
        overtime_h: overtime,
        cycle_to_reach_s: None,
        mend: format!(
            "{lots}add {}{}",
            plural(units_to_add, "line"),
            in_words(overtime)
        ),
        figure: format!("line.{}.load", row.press_line),
    })
}

fn carrier(basis: &Basis<'_>, row: &CarrierPlan) -> Option<Shortfall> {
    if !row.over {
        return None;
    }
    let units_to_add = (row.needed.value as u32).saturating_sub(row.count).max(1);
    let taken_at = basis
        .book
        .carriers
        .iter()
        .find(|fleet| fleet.carrier == row.carrier);
    let shop = taken_at
        .and_then(|fleet| {
            basis
                .book
                .stations
                .iter()
                .find(|s| s.station == fleet.taken_at)
        })
        .map_or_else(String::new, |station| station.shop.clone());
    Some(Shortfall {
        kind: Short::Carrier,
        name: row.carrier.clone(),
        shop,
        at: row.at,
        load: row.load,
        cars_short: cars_short(basis, row.load.max(1.0)),
        units_to_add,
        overtime_h: None,
        cycle_to_reach_s: None,
        mend: format!(
            "add {}, or shorten the way back",
            plural(units_to_add, "carrier")
        ),
        figure: format!("carrier.{}.needed", row.carrier),
    })
}
