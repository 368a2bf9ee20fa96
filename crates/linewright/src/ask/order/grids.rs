//! The tables of the build order.

use whole::order::{BuildOrder, Off, OrderRule, PlacedCar, Promised, RuleFrom, RulePrice};

use crate::figure::{number, percent};
use crate::grid::{Grid, Side};

/// Rows of a long table that are shown unless all are wanted.
const SHOWN: usize = 12;

/// How many of a long table's rows are shown.
fn shown(all: bool) -> usize {
    if all { usize::MAX } else { SHOWN }
}

fn whole(count: impl Into<u64>) -> String {
    number(count.into() as f64, 0)
}

fn or_dash(place: Option<u32>) -> String {
    place.map_or_else(|| "-".to_owned(), whole)
}

/// Places, those beyond the first few as a number.
fn first(list: &[u32]) -> String {
    const FIRST: usize = 5;
    let shown: Vec<String> = list.iter().take(FIRST).map(ToString::to_string).collect();
    let more = list.len().saturating_sub(FIRST);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    format!("{}{more}", shown.join(", "))
}

pub(super) fn rules(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("option", Side::Left),
        ("rule", Side::Left),
        ("from", Side::Left),
        ("weight", Side::Right),
        ("cars", Side::Right),
        ("broken", Side::Right),
        ("at least", Side::Right),
        ("on the line", Side::Right),
        ("at places", Side::Left),
    ]);
    let from = |rule: &OrderRule| match &rule.from {
        RuleFrom::Given { at } => at.to_string(),
        RuleFrom::Station {
            station,
            heavy_s,
            takt_s,
            ..
        } => format!(
            "{station}: {} s in a takt of {} s",
            number(*heavy_s, 0),
            number(*takt_s, 0)
        ),
    };
    for rule in &order.rules {
        let weight = rule.weight.map_or_else(|| "must".to_owned(), whole);
        let of = rule.product.as_ref();
        grid.row([
            of.map_or_else(
                || rule.option.clone(),
                |product| format!("{} of {product}", rule.option),
            ),
            format!("{} in {}", rule.at_most, rule.in_every),
            from(rule),
            if rule.weighed {
                weight
            } else {
                "implied".to_owned()
            },
            whole(rule.cars),
            whole(rule.runs_broken() as u64),
            whole(rule.at_least),
            whole(rule.broken_on_line),
            first(&rule.broken_at),
        ]);
    }
    grid
}

pub(super) fn goals(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("goal", Side::Left),
        ("weighs", Side::Right),
        ("at least", Side::Right),
    ]);
    for goal in &order.proof.goals {
        grid.row([
            goal.goal.clone(),
            number(goal.value, 0),
            number(goal.at_least, 0),
        ]);
    }
    grid
}

pub(super) fn promises(order: &BuildOrder, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("order", Side::Left),
        ("within", Side::Right),
        ("place", Side::Right),
        ("on the line", Side::Right),
        ("", Side::Left),
    ]);
    let mut rows: Vec<_> = order.promises.iter().collect();
    let on_line = |promise: &Promised| promise.place_on_line.is_some_and(|at| at <= promise.within);
    rows.sort_by_key(|promise| (promise.kept, on_line(promise)));
    for promise in rows.into_iter().take(shown(all)) {
        let word = match (promise.kept, on_line(promise)) {
            (false, _) if promise.place.is_none() => "NOT KEPT, on hold all week",
            (false, _) => "NOT KEPT",
            (true, false) => "kept, but late on the line",
            (true, true) => "kept",
        };
        grid.row([
            promise.order.clone(),
            whole(promise.within),
            or_dash(promise.place),
            or_dash(promise.place_on_line),
            word.to_owned(),
        ]);
    }
    grid
}

pub(super) fn held(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("order", Side::Left),
        ("back from place", Side::Right),
        ("comes back at", Side::Right),
        ("", Side::Left),
    ]);
    for held in &order.on_hold {
        grid.row([
            held.order.clone(),
            or_dash(held.back_from),
            or_dash(held.place),
            match (held.place, held.back_from) {
                (None, _) => "stays out of the week",
                (Some(place), Some(from)) if place < from => "TOO EARLY",
                _ => "",
            }
            .to_owned(),
        ]);
    }
    grid
}

pub(super) fn stations(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("takt, s", Side::Right),
        ("drift, s", Side::Right),
        ("heavy cars", Side::Right),
        ("past the drift", Side::Right),
        ("on the line", Side::Right),
        ("worst, s", Side::Right),
        ("m", Side::Right),
        ("at place", Side::Right),
        ("cars behind", Side::Right),
        ("after a stop: past", Side::Right),
        ("cars to catch up", Side::Right),
    ]);
    for station in &order.stations {
        grid.row([
            station.station.clone(),
            number(station.takt_s, 0),
            number(station.drift_s, 0),
            whole(station.heavy_cars),
            whole(station.past.len() as u64),
            whole(station.on_line.past.len() as u64),
            number(station.worst_s, 0),
            number(station.worst_m, 1),
            whole(station.worst_place),
            whole(station.longest_behind),
            whole(station.restart_past),
            whole(station.restart_cars),
        ]);
    }
    grid
}

pub(super) fn repairs(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("found at", Side::Left),
        ("first to", Side::Left),
        ("back at", Side::Left),
        ("of all cars", Side::Right),
        ("longer, min", Side::Right),
        ("overtaken by", Side::Right),
    ]);
    for way in &order.store.repairs {
        let end = |station: Option<&String>| station.cloned().unwrap_or_default();
        grid.row([
            way.station.clone(),
            end(way.way.get(1).or_else(|| way.way.first())),
            end(way.way.last()),
            percent(way.share, 1),
            number(way.seconds / 60.0, 0),
            whole(way.overtaken_by),
        ]);
    }
    grid
}

pub(super) fn store(order: &BuildOrder) -> Grid {
    let mut grid = Grid::new([
        ("", Side::Left),
        ("out", Side::Left),
        ("wrong way round", Side::Right),
        ("mean places off", Side::Right),
        ("most", Side::Right),
        ("in place", Side::Right),
    ]);
    let mut row = |name: String, out: &str, off: &Off| {
        grid.row([
            name,
            out.to_owned(),
            whole(off.pairs),
            number(off.mean_places, 1),
            whole(off.most_places),
            percent(off.in_place, 0),
        ]);
    };
    row(
        "as paint gives them".to_owned(),
        "",
        &order.store.arriving_off,
    );
    for rule in &order.store.rules {
        row(format!("in: {}", rule.into), &rule.out, &rule.off);
    }
    grid
}

pub(super) fn costs(order: &BuildOrder, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("rule", Side::Left),
        ("if", Side::Left),
        ("fewer breaks of others", Side::Right),
        ("fewer changes of colour", Side::Right),
        ("its own breaks", Side::Right),
        ("then", Side::Right),
        ("then, as it was", Side::Right),
    ]);
    let gives = |cost: &&RulePrice| {
        let own = cost.own_left < cost.own_before;
        own || cost.fewer_breaks != 0 || cost.fewer_colour_changes != 0
    };
    for cost in order.costs.iter().filter(|cost| all || gives(cost)) {
        grid.row([
            cost.rule.clone(),
            cost.change.clone(),
            number(cost.fewer_breaks as f64, 0),
            number(cost.fewer_colour_changes as f64, 0),
            number(cost.own_before as f64, 0),
            number(cost.own_left as f64, 0),
            number(cost.own_after as f64, 0),
        ]);
    }
    grid
}

pub(super) fn level(order: &BuildOrder, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("", Side::Left),
        ("cars", Side::Right),
        ("worst, cars off", Side::Right),
        ("at place", Side::Right),
        ("spread", Side::Right),
    ]);
    let mut rows: Vec<_> = order.level.iter().collect();
    if !all {
        rows.sort_by(|a, b| b.worst.abs().total_cmp(&a.worst.abs()));
    }
    for used in rows.into_iter().take(shown(all)) {
        grid.row([
            used.name.clone(),
            whole(used.cars),
            number(used.worst, 1),
            whole(used.worst_place),
            number(used.spread, 2),
        ]);
    }
    grid
}

pub(super) fn before(order: &BuildOrder) -> Grid {
    cars(order.before.iter().rev())
}

pub(super) fn places(order: &BuildOrder, all: bool) -> Grid {
    cars(order.places.iter().take(shown(all)))
}

fn cars<'a>(cars: impl Iterator<Item = &'a PlacedCar>) -> Grid {
    let mut grid = Grid::new([
        ("place", Side::Right),
        ("order", Side::Left),
        ("product", Side::Left),
        ("colour", Side::Left),
        ("options", Side::Left),
    ]);
    let name = |car: &PlacedCar| {
        let order = car.order.clone().unwrap_or_default();
        if car.frozen {
            format!("{order} (frozen)")
        } else {
            order
        }
    };
    for car in cars {
        grid.row([
            whole(car.place),
            name(car),
            car.product.clone(),
            car.colour.clone().unwrap_or_default(),
            car.options.join(", "),
        ]);
    }
    grid
}
