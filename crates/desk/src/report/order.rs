//! The build order as a workbook and as CSV.

use whole::order::{BuildOrder, Off, OrderRule, RuleFrom};

use super::sheets::{Cell, Sheet, number, text};
use super::xlsx::{self, WorkbookError};

/// The build order as the bytes of an .xlsx file: the order, rules, blocks,
/// promises, level use, stations, painted-body store, what each rule costs.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn order_xlsx(order: &BuildOrder) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        places(order),
        rules(order),
        blocks(order),
        promises(order),
        level(order),
        stations(order),
        store(order),
        lanes(order),
        costs(order),
        held(order),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

/// The order itself as CSV: a line of headers, a line a car. Cells that a
/// spreadsheet would take for more than text are quoted as RFC 4180 says.
pub fn order_csv(order: &BuildOrder) -> String {
    let mut csv = String::from("place,order,product,options,colour,frozen,place_on_line\r\n");
    let on_line = on_line(order);
    for (car, on_line) in order.places.iter().zip(on_line) {
        let cells = [
            car.place.to_string(),
            car.order.clone().unwrap_or_default(),
            car.product.clone(),
            car.options.join(";"),
            car.colour.clone().unwrap_or_default(),
            if car.frozen { "yes" } else { "no" }.to_owned(),
            on_line.to_string(),
        ];
        csv.push_str(&cells.map(|cell| quoted(&cell)).join(","));
        csv.push_str("\r\n");
    }
    csv
}

fn quoted(cell: &str) -> String {
    // A programme for sheets must not take a name for a formula.
    let cell = &if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    };
    if cell.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.clone()
    }
}

/// For each place of the wanted order that on the line.
fn on_line(order: &BuildOrder) -> Vec<u32> {
    let mut places = vec![0; order.places.len()];
    for (wanted, place) in order.store.on_line.iter().zip(1..) {
        if let Some(entry) = places.get_mut((*wanted as usize).saturating_sub(1)) {
            *entry = place;
        }
    }
    places
}

fn count(value: u32) -> Cell {
    number(f64::from(value), 0)
}

fn if_any(value: Option<u32>) -> Cell {
    value.map_or(Cell::Empty, count)
}

fn yes(holds: bool) -> Cell {
    text(if holds { "yes" } else { "no" })
}

fn places(order: &BuildOrder) -> Sheet {
    let rows = order
        .places
        .iter()
        .zip(on_line(order))
        .map(|(car, on_line)| {
            vec![
                count(car.place),
                text(car.order.as_deref().unwrap_or_default()),
                text(&car.product),
                text(car.options.join("; ")),
                text(car.colour.as_deref().unwrap_or_default()),
                yes(car.frozen),
                count(on_line),
            ]
        });
    let columns = [
        "place",
        "order",
        "product",
        "options",
        "colour",
        "frozen",
        "place on the line",
    ];
    let by_hand = match order.by_hand {
        0 => String::new(),
        1 => "One move was made by hand since it was planned. ".to_owned(),
        moves => format!("{moves} moves were made by hand since it was planned. "),
    };
    Sheet::new("Order", &columns, rows.collect()).note(format!("{by_hand}{}", order.caution))
}

pub(super) fn rules(order: &BuildOrder) -> Sheet {
    let from = |rule: &OrderRule| match &rule.from {
        RuleFrom::Given { at } => at.to_string(),
        RuleFrom::Station { station, at, .. } => format!("{station} ({at})"),
    };
    let rows = order.rules.iter().map(|rule| {
        let places: Vec<String> = rule.broken_at.iter().map(ToString::to_string).collect();
        vec![
            text(&rule.option),
            text(rule.product.as_deref().unwrap_or_default()),
            count(rule.at_most),
            count(rule.in_every),
            rule.weight.map_or_else(|| text("must"), count),
            text(from(rule)),
            yes(rule.weighed),
            count(rule.cars),
            number(rule.runs_broken() as f64, 0),
            number(rule.at_least as f64, 0),
            number(rule.broken_on_line as f64, 0),
            text(places.join(" ")),
        ]
    });
    let columns = [
        "option",
        "product",
        "at most",
        "in every",
        "weight",
        "from",
        "weighed",
        "cars",
        "broken",
        "at least",
        "broken on the line",
        "at places",
    ];
    Sheet::new("Rules", &columns, rows.collect())
}

pub(super) fn blocks(order: &BuildOrder) -> Sheet {
    let rows = order.colours.blocks.iter();
    let rows = rows.map(|block| vec![count(block.place), text(&block.colour), count(block.cars)]);
    Sheet::new(
        "Colour blocks",
        &["place", "colour", "cars"],
        rows.collect(),
    )
}

pub(super) fn promises(order: &BuildOrder) -> Sheet {
    let rows = order.promises.iter().map(|promise| {
        vec![
            text(&promise.order),
            count(promise.within),
            yes(promise.must),
            if_any(promise.place),
            yes(promise.kept),
            if_any(promise.place_on_line),
        ]
    });
    let columns = [
        "order",
        "within",
        "must",
        "place",
        "kept",
        "place on the line",
    ];
    Sheet::new("Promises", &columns, rows.collect())
}

pub(super) fn level(order: &BuildOrder) -> Sheet {
    let rows = order.level.iter().map(|used| {
        vec![
            text(&used.name),
            count(used.cars),
            number(used.worst, 2),
            count(used.worst_place),
            number(used.spread, 3),
        ]
    });
    let columns = [
        "option or product",
        "cars",
        "worst off",
        "at place",
        "spread",
    ];
    Sheet::new("Level use", &columns, rows.collect())
}

pub(super) fn stations(order: &BuildOrder) -> Sheet {
    let rows = order.stations.iter().map(|station| {
        vec![
            text(&station.station),
            text(&station.shop),
            number(station.takt_s, 1),
            number(station.drift_s, 1),
            count(station.heavy_cars),
            number(station.past.len() as f64, 0),
            number(station.on_line.past.len() as f64, 0),
            number(station.worst_s, 1),
            number(station.worst_m, 2),
            count(station.worst_place),
            count(station.longest_behind),
            count(station.restart_place),
            count(station.restart_past),
            count(station.restart_cars),
        ]
    });
    let columns = [
        "station",
        "shop",
        "takt s",
        "drift s",
        "heavy cars",
        "past the drift",
        "past it on the line",
        "worst s",
        "worst m",
        "at place",
        "cars behind in a row",
        "worst restart at",
        "past after it",
        "cars to catch up",
    ];
    Sheet::new("Stations", &columns, rows.collect())
}

pub(super) fn store(order: &BuildOrder) -> Sheet {
    let row = |into: &str, out: &str, off: &Off| {
        vec![
            text(into),
            text(out),
            number(off.pairs as f64, 0),
            number(off.mean_places, 2),
            count(off.most_places),
            Cell::Share(off.in_place),
        ]
    };
    let mut rows = vec![row("as paint gives them", "", &order.store.arriving_off)];
    rows.extend(
        order
            .store
            .rules
            .iter()
            .map(|rule| row(&rule.into, &rule.out, &rule.off)),
    );
    let columns = [
        "in",
        "out",
        "wrong way round",
        "mean places off",
        "most places off",
        "in place",
    ];
    let need = &order.store.needed;
    Sheet::new("Store", &columns, rows).note(format!(
        "{} lanes of {} places, {} bodies held back. To restore the wanted order this week: {}; \
         over {} weeks of other luck it takes {} lanes at most",
        order.store.lanes,
        order.store.lane_places,
        order.store.hold,
        need.told,
        need.weeks,
        need.most_lanes
    ))
}

fn lanes(order: &BuildOrder) -> Sheet {
    let rows = order.store.stays.iter().map(|stay| {
        vec![
            count(stay.place),
            count(stay.lane),
            count(stay.came),
            count(stay.left),
        ]
    });
    Sheet::new(
        "Lanes",
        &["wanted place", "lane", "came in beat", "left in beat"],
        rows.collect(),
    )
}

pub(super) fn costs(order: &BuildOrder) -> Sheet {
    let rows = order.costs.iter().map(|cost| {
        vec![
            text(&cost.rule),
            text(&cost.change),
            number(cost.fewer_breaks as f64, 0),
            number(cost.fewer_colour_changes as f64, 0),
            number(cost.own_before as f64, 0),
            number(cost.own_left as f64, 0),
            number(cost.own_after as f64, 0),
        ]
    });
    let columns = [
        "rule",
        "if",
        "fewer breaks of others",
        "fewer changes of colour",
        "its own breaks",
        "then",
        "then, as it was",
    ];
    Sheet::new("What rules cost", &columns, rows.collect())
}

pub(super) fn held(order: &BuildOrder) -> Sheet {
    let rows = order.on_hold.iter();
    let rows = rows.map(|held| {
        vec![
            text(&held.order),
            if_any(held.back_from),
            if_any(held.place),
        ]
    });
    Sheet::new(
        "On hold",
        &["order", "back from place", "comes back at"],
        rows.collect(),
    )
}
