//! A robot's hour against a person's.

use std::collections::BTreeMap;

use book::{Robot, RobotKind};
use formulas::{MoneyPerHour, cost, money};
use units::{Count, Money, Share};

use super::Basis;
use super::model::{HourPrices, RobotHour};
use super::yearly::hours_a_year;
use crate::plan::sheet::{Sheet, cell, setting};

/// The hours of all kinds that the book names.
pub(super) fn hours(sheet: &mut Sheet, basis: &Basis<'_>) -> HourPrices {
    let plant = &basis.book.plant;
    let made = cost::person_hour(
        setting(&plant.person_cost_per_hour, "person_cost_per_hour")
            .map(|price| MoneyPerHour(price.0)),
        setting(&plant.relief_share, "relief_share"),
        setting(&plant.absence_share, "absence_share"),
        setting(&plant.leave_share, "leave_share"),
    );
    let title = "what an hour of a filled post costs";
    let Some(person) = sheet.add("hour.person", title, None, made) else {
        return HourPrices::default();
    };
    let per_hour = person.part(|hour| *hour);
    let kinds = basis.book.robots.iter();
    let robots = kinds
        .filter(|row| row.kind == RobotKind::Robot)
        .filter_map(|row| robot(sheet, basis, row, &per_hour))
        .collect();
    HourPrices {
        person: Some(person.told(|hour| hour.0)),
        robots,
    }
}

fn robot(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    row: &Robot,
    person: &formulas::Sourced<MoneyPerHour>,
) -> Option<RobotHour> {
    let (shop, count, used) = standing(basis, row);
    let plant = &basis.book.plant;
    let hours = hours_a_year(basis, &shop);
    let energy = plant.energy_cost_per_kwh.value.0 * row.energy_kw.0;
    let own = row.cost_per_hour.map_or(0.0, |cost| cost.0);
    let variable = cell(MoneyPerHour(energy + own), row.at, "energy_kw");
    let upkeep = cell(row.upkeep_per_year, row.at, "upkeep_per_year");
    let made = money::robot_hour(
        cell(row.investment, row.at, "investment"),
        setting(&plant.hurdle_rate, "hurdle_rate"),
        cell(Count(row.life_years), row.at, "life_years"),
        upkeep.clone(),
        hours.clone(),
        Share(if used > 0.0 { used } else { 1.0 }),
        variable.clone(),
    );
    let id = format!("hour.{}", row.robot);
    let title = format!("capital of a {} a year, and its hour", row.robot);
    let made = sheet.add(id, title, Some(row.at), made)?;
    let fixed = made.part(|made| Money(made.capital.0 + upkeep.value.0));
    let pace = pace(basis, &row.robot);
    let replaced = person
        .clone()
        .map(|hour| MoneyPerHour(hour.0 * pace.unwrap_or(1.0)));
    let worth = replaced.value.0;
    let pays = cost::break_even_hours(fixed, variable, replaced);
    let id = format!("pays.{}", row.robot);
    let title = format!("hours a year from which a {} is cheaper", row.robot);
    let pays = sheet.add(id, title, Some(row.at), pays);
    let hour = made.told(|made| made.robot_hour.0);
    Some(RobotHour {
        robot: row.robot.clone(),
        at: row.at,
        count,
        hours_a_year: hours.value.0,
        used,
        robot_cheaper: hour.value < worth,
        hour,
        pace,
        person: worth,
        pays_from_h: pays
            .as_ref()
            .and_then(|made| made.value.map(|hours| hours.0)),
        pays_figure: pays.map(|made| made.told(|_| 0.0).figure),
    })
}

/// The shop with most robots of a kind, how many there are in all, and the part
/// of the time in which they work.
fn standing(basis: &Basis<'_>, row: &Robot) -> (String, u32, f64) {
    let mut by_shop: BTreeMap<&str, u32> = BTreeMap::new();
    let (mut count, mut worked) = (0, 0.0);
    for (i, station) in basis.book.stations.iter().enumerate() {
        if station.robot.as_ref() == Some(&row.robot) && station.robots > 0 {
            *by_shop.entry(&station.shop).or_default() += station.robots;
            count += station.robots;
            let load = basis.plan.stations[i].load.value.min(1.0);
            worked += f64::from(station.robots) * load;
        }
    }
    let longest = || {
        let shops = basis.plan.shops.iter();
        let with_people = shops.filter(|shop| shop.positions.is_some());
        with_people
            .max_by(|a, b| a.net_time_h.value.total_cmp(&b.net_time_h.value))
            .map_or_else(|| super::PLANT.to_owned(), |shop| shop.shop.clone())
    };
    let most = by_shop.iter().max_by_key(|(_, count)| **count);
    let shop = most.map_or_else(longest, |(shop, _)| (*shop).to_owned());
    let used = if count > 0 {
        worked / f64::from(count)
    } else {
        0.0
    };
    (shop, count, used)
}

/// Seconds by hand for one by robot, over the tasks that both can do.
fn pace(basis: &Basis<'_>, kind: &str) -> Option<f64> {
    let tasks = basis.book.tasks.iter();
    let both = tasks.filter(|task| task.robot.as_deref() == Some(kind));
    let both = both.filter_map(|task| Some((task.hand_s?.0, task.robot_s?.0)));
    let (hand, robot) = both.fold((0.0, 0.0), |sum, each| (sum.0 + each.0, sum.1 + each.1));
    (robot > 0.0 && hand > 0.0).then(|| hand / robot)
}
