//! What people and machines cost a year, for a shop or a part of it.

use book::{At, Robot};
use formulas::{MoneyPerHour, Sourced, calendar as trade, cost};
use units::{Count, Hours, Kilowatts, Money, Share};

use super::Basis;
use super::model::CostKind;
use crate::calendar::weekly_spells;
use crate::plan::sheet::{Made, Sheet, cell, setting};

/// Crews of a shop that always works: 168 h of 40 h each (common practice).
const CREWS_ALWAYS: f64 = 4.2;

/// Where a machine stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// A station, by its row.
    Station(usize),
    /// A blanking or press line, by its row.
    Line(usize),
}

/// A station, its robots, or a line, with what they cost.
pub(super) struct Machine {
    pub(super) place: Place,
    pub(super) shop: String,
    count: f64,
    load: f64,
    investment: Option<Sourced<Money>>,
    life: Sourced<Count>,
    power: Option<Sourced<Kilowatts>>,
    upkeep: Option<Sourced<Money>>,
}

/// All machines of the plant.
pub(super) fn machines(basis: &mut Basis<'_>) -> Vec<Machine> {
    let book = basis.book;
    let mut machines = Vec::new();
    for (i, row) in book.stations.iter().enumerate() {
        let load = basis.plan.stations[i].load.value.min(1.0);
        machines.push(Machine {
            place: Place::Station(i),
            shop: row.shop.clone(),
            count: f64::from(row.units),
            load,
            investment: row
                .investment
                .map(|money| cell(money, row.at, "investment")),
            life: cell(Count(row.life_years), row.at, "life_years"),
            power: row.energy_kw.map(|power| cell(power, row.at, "energy_kw")),
            upkeep: row
                .upkeep_per_year
                .map(|money| cell(money, row.at, "upkeep_per_year")),
        });
        if row.robots == 0 {
            continue;
        }
        let kind = row.robot.as_ref();
        let kind = kind.and_then(|kind| book.robots.iter().find(|robot| robot.robot == *kind));
        match kind {
            Some(kind) => machines.push(robots(kind, i, &row.shop, row.robots, load)),
            None => basis.lacking.cell(
                row.at,
                "robot",
                &row.station,
                "capital, energy and upkeep of its robots are left out",
            ),
        }
    }
    for (i, row) in book.press_lines.iter().enumerate() {
        let load = basis.plan.press_lines[i].load.value.min(1.0);
        machines.push(Machine {
            place: Place::Line(i),
            shop: row.shop.clone(),
            count: f64::from(row.units),
            load,
            investment: row
                .investment
                .map(|money| cell(money, row.at, "investment")),
            life: cell(Count(row.life_years), row.at, "life_years"),
            power: row.energy_kw.map(|power| cell(power, row.at, "energy_kw")),
            upkeep: row
                .upkeep_per_year
                .map(|money| cell(money, row.at, "upkeep_per_year")),
        });
        lacking_line(basis, i);
    }
    machines
}

fn lacking_line(basis: &mut Basis<'_>, line: usize) {
    let row = &basis.book.press_lines[line];
    let name = &row.press_line;
    let wanted = [
        (
            row.investment.is_none(),
            "investment",
            "capital leaves out such lines",
        ),
        (
            row.energy_kw.is_none(),
            "energy_kw",
            "energy leaves out such lines",
        ),
        (
            row.upkeep_per_year.is_none(),
            "upkeep_per_year",
            "upkeep leaves out such lines",
        ),
        (
            row.heads.is_none(),
            "heads",
            "the cost of people leaves out those of such lines",
        ),
    ];
    for (_, column, what) in wanted.into_iter().filter(|(lacks, _, _)| *lacks) {
        basis.lacking.cell(row.at, column, name, what);
    }
}

fn robots(kind: &Robot, station: usize, shop: &str, count: u32, load: f64) -> Machine {
    Machine {
        place: Place::Station(station),
        shop: shop.to_owned(),
        count: f64::from(count),
        load,
        investment: Some(cell(kind.investment, kind.at, "investment")),
        life: cell(Count(kind.life_years), kind.at, "life_years"),
        power: Some(cell(kind.energy_kw, kind.at, "energy_kw")),
        upkeep: Some(cell(kind.upkeep_per_year, kind.at, "upkeep_per_year")),
    }
}

/// Says what no station of a shop gives; some stations may well cost nothing.
pub(super) fn lacking_stations(basis: &mut Basis<'_>, shop: &str) {
    let rows = basis.book.stations.iter().filter(|row| row.shop == shop);
    let rows: Vec<_> = rows.collect();
    let Some(first) = rows.first() else {
        return;
    };
    let (at, name): (At, &str) = (first.at, &first.station);
    let lacking = &mut basis.lacking;
    if rows.iter().all(|row| row.investment.is_none()) {
        lacking.cell(
            at,
            "investment",
            name,
            &format!("capital of {shop} has no stations"),
        );
    }
    if rows.iter().all(|row| row.energy_kw.is_none()) {
        lacking.cell(
            at,
            "energy_kw",
            name,
            &format!("energy of {shop} has no stations"),
        );
    }
    if rows.iter().all(|row| row.upkeep_per_year.is_none()) {
        lacking.cell(
            at,
            "upkeep_per_year",
            name,
            &format!("upkeep of {shop} has no stations"),
        );
    }
}

/// Energy of some machines of one shop a year.
pub(super) fn energy(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    id: String,
    of: &str,
    shop: &str,
    machines: &[&Machine],
) -> Option<Made<Money>> {
    let with = machines.iter().filter_map(|machine| {
        let power = machine.power.clone().filter(|power| power.value.0 > 0.0)?;
        let load = &basis.load_of(machine.place);
        Some((
            power.map(|power| Kilowatts(power.0 * machine.count)),
            Sourced::new(Share(machine.load), load.clone()),
        ))
    });
    let (powers, loads): (Vec<_>, Vec<_>) = with.unzip();
    if powers.is_empty() {
        return None;
    }
    let plant = &basis.book.plant;
    let made = cost::energy_a_year(
        powers,
        loads,
        basis.hours(shop),
        setting(&plant.weeks_per_year, "weeks_per_year").map(Count),
        setting(&plant.energy_cost_per_kwh, "energy_cost_per_kwh"),
    );
    sheet.add(id, format!("energy of {of} a year"), None, made)
}

/// Capital of some machines a year.
pub(super) fn capital(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    id: String,
    of: &str,
    machines: &[&Machine],
) -> Option<Made<Money>> {
    let with = machines.iter().filter_map(|machine| {
        let cost = machine
            .investment
            .clone()
            .filter(|cost| cost.value.0 > 0.0)?;
        Some((cost.map(|cost| cost * machine.count), machine.life.clone()))
    });
    let (investments, lives): (Vec<_>, Vec<_>) = with.unzip();
    if investments.is_empty() {
        return None;
    }
    let rate = setting(&basis.book.plant.hurdle_rate, "hurdle_rate");
    let made = cost::capital_a_year(rate, investments, lives);
    sheet.add(id, format!("capital of {of} a year"), None, made)
}

/// Upkeep of some machines a year.
pub(super) fn upkeep(
    sheet: &mut Sheet,
    id: String,
    of: &str,
    machines: &[&Machine],
) -> Option<Made<Money>> {
    let with = machines.iter().filter_map(|machine| {
        let cost = machine.upkeep.clone().filter(|cost| cost.value.0 > 0.0)?;
        Some(cost.map(|cost| cost * machine.count))
    });
    let parts: Vec<_> = with.collect();
    if parts.is_empty() {
        return None;
    }
    sheet.add(
        id,
        format!("upkeep of {of} a year"),
        None,
        cost::money_sum(parts),
    )
}

/// People of a shop a year: those on the plan's payroll, at its stations and
/// lines, and those of its repair crews, each whole heads.
pub(super) fn people(sheet: &mut Sheet, basis: &Basis<'_>, shop: &str) -> Option<Made<Money>> {
    let book = basis.book;
    let mut parts = Vec::new();
    let planned = basis.plan.shops.iter().find(|row| row.shop == shop);
    if let Some(payroll) = planned.and_then(|row| row.payroll.as_ref()) {
        let heads = Sourced::new(Count(payroll.value), payroll.from.clone());
        let id = format!("people.{shop}.posts");
        let title = format!("people at the stations and lines of {shop}, a year");
        parts.extend(cost_of_heads(sheet, basis, (id, title), shop, heads));
    }
    let crews = book.crews.iter();
    let crews = crews.filter(|row| row.shop.as_deref() == Some(shop));
    let crews = crews.map(|row| cell(Count(f64::from(row.count)), row.at, "count"));
    let ids = format!("people.{shop}.crews");
    let of = format!("repair crews of {shop}");
    if let Some(heads) = heads_of(sheet, basis, &ids, &of, shop, crews.collect()) {
        let whole = heads.part(|heads| heads.heads);
        let title = format!("people of the repair crews of {shop}, a year");
        parts.extend(cost_of_heads(sheet, basis, (ids, title), shop, whole));
    }
    if parts.is_empty() {
        return None;
    }
    let title = format!("people of {shop} a year");
    let made = cost::money_sum(
        parts
            .iter()
            .map(|made| made.part(|cost| *cost))
            .collect::<Vec<_>>(),
    );
    sheet.add(format!("year.{shop}.people"), title, None, made)
}

/// People on the payroll for positions of one shop.
pub(super) fn heads_of(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    id: &str,
    of: &str,
    shop: &str,
    positions: Vec<Sourced<Count>>,
) -> Option<Made<trade::Heads>> {
    if positions.is_empty() {
        return None;
    }
    let plant = &basis.book.plant;
    let made = formulas::rate_plan::positions(positions);
    let posts = sheet.add(
        format!("{id}.positions"),
        format!("people on a shift: {of}"),
        None,
        made,
    )?;
    let made = trade::heads(
        posts.part(|posts| *posts),
        crews(basis, shop),
        setting(&plant.relief_share, "relief_share"),
        setting(&plant.absence_share, "absence_share"),
        setting(&plant.leave_share, "leave_share"),
    );
    sheet.add(
        format!("{id}.heads"),
        format!("people on the payroll: {of}"),
        None,
        made,
    )
}

/// What heads of a shop cost a year.
pub(super) fn cost_of_heads(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    (id, title): (String, String),
    shop: &str,
    heads: Sourced<Count>,
) -> Option<Made<Money>> {
    let plant = &basis.book.plant;
    let made = cost::people_a_year(
        heads,
        basis.hours(shop),
        crews(basis, shop),
        setting(&plant.weeks_per_year, "weeks_per_year").map(Count),
        setting(&plant.person_cost_per_hour, "person_cost_per_hour")
            .map(|price| MoneyPerHour(price.0)),
    );
    sheet.add(id, title, None, made)
}

fn crews(basis: &Basis<'_>, shop: &str) -> Sourced<Count> {
    match weekly_spells(basis.book, shop) {
        Some(week) => {
            let rows = basis.book.shifts.iter().filter(|row| row.shop == shop);
            let cells = rows.map(|row| cell((), row.at, "shift").from);
            Sourced::new(
                Count(f64::from(week.crews)),
                formulas::Origin::Several(cells.collect()),
            )
        }
        None => Sourced::usual(Count(CREWS_ALWAYS), "shifts", "shift"),
    }
}

/// A yearly cost's share of a mean car, and of a car of each product that
/// passes the shop.
pub(super) fn of_a_car(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    (shop, kind): (&str, CostKind),
    yearly: &Made<Money>,
) -> Option<(Made<Money>, Vec<f64>)> {
    let weeks = setting(&basis.book.plant.weeks_per_year, "weeks_per_year").map(Count);
    let made = cost::share_of_car(
        yearly.part(|cost| *cost),
        basis.cars_a_week(),
        weeks.clone(),
    );
    let id = format!("cost.{shop}.{}", kind.word());
    let title = format!("{} of a car in {shop}", kind.word());
    let share = sheet.add(id, title, None, made)?;
    let passes = basis.passes(shop);
    let carried: f64 = passes
        .iter()
        .zip(&basis.need.products)
        .filter(|(passes, _)| **passes)
        .map(|(_, need)| need.cars)
        .sum();
    let each = if carried > 0.0 {
        yearly.value.0 / (carried * weeks.value.0)
    } else {
        0.0
    };
    let by_product = passes.iter().map(|passes| if *passes { each } else { 0.0 });
    Some((share, by_product.collect()))
}

/// Hours that a shop works a year.
pub(super) fn hours_a_year(basis: &Basis<'_>, shop: &str) -> Sourced<Hours> {
    let weeks = basis.book.plant.weeks_per_year.value;
    basis.hours(shop).map(|hours| hours * weeks)
}
