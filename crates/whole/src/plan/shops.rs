//! Working time, takt and people, shop by shop.

use std::collections::BTreeMap;

use book::{Book, Shift, Station};
use formulas::{Origin, Sourced, calendar as trade, rate_plan};
use units::{Count, Hours as HoursOf, Minutes};

use super::sheet::{self, Sheet, cell, setting};
use super::{Basis, Planned, PressLinePlan, ShopPlan, StationPlan};
use crate::calendar::{self, WEEK, Weekly, weekly_spells};

/// Hours a week of one crew in a shop that always works: 168 h are 4.2 crews
/// (common practice for a 40-hour week).
const CREW_HOURS: f64 = 40.0;

/// A shop's week and where its figure is.
pub(super) struct Hours {
    pub(super) week: Option<Weekly>,
    pub(super) net: Sourced<HoursOf>,
}

impl Hours {
    /// Days a week on which the shop works.
    pub(super) fn workdays(&self) -> f64 {
        self.week
            .as_ref()
            .map_or(7.0, |week| f64::from(week.workdays.max(1)))
    }

    /// Hours of the week left for overtime.
    pub(super) fn idle_h(&self) -> f64 {
        WEEK.hours().0 - self.net.value.0
    }
}

/// The working time of every shop.
pub(super) fn hours(sheet: &mut Sheet, book: &Book) -> BTreeMap<String, Hours> {
    let mut hours = BTreeMap::new();
    for shop in calendar::shops(book) {
        let week = weekly_spells(book, &shop);
        let net = week
            .as_ref()
            .and_then(|week| net_time(sheet, book, &shop, week))
            .unwrap_or_else(|| Sourced::usual(WEEK.hours(), "shifts", "shop"));
        hours.insert(shop, Hours { week, net });
    }
    hours
}

fn net_time(sheet: &mut Sheet, book: &Book, shop: &str, week: &Weekly) -> Option<Sourced<HoursOf>> {
    let rows: Vec<&Shift> = book.shifts.iter().filter(|row| row.shop == shop).collect();
    let days = |row: &&Shift| cell(Count(row.days.count() as f64), row.at, "days");
    let lengths = |row: &&Shift| cell(calendar::length(row), row.at, "end");
    let stops = |row: &&Shift| {
        if row.breaks.is_empty() {
            cell(row.planned_stops_min, row.at, "planned_stops_min")
        } else {
            let minutes = row.breaks.iter().map(|stop| stop.minutes).sum::<Minutes>();
            cell(minutes, row.at, "breaks")
        }
    };
    let made = rate_plan::weekly_net_time(
        rows.iter().map(days).collect::<Vec<_>>(),
        rows.iter().map(lengths).collect::<Vec<_>>(),
        rows.iter().map(stops).collect::<Vec<_>>(),
        week.overlap.minutes(),
    );
    let at = rows.first().map(|row| row.at);
    let title = format!("working hours a week of {shop}");
    let made = sheet.add(format!("shop.{shop}.net_time"), title, at, made)?;
    Some(made.part(|net| *net))
}

/// The shops' plans, once their stations and lines are known.
pub(super) fn plan(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    stations: &[StationPlan],
    lines: &[PressLinePlan],
) -> Vec<ShopPlan> {
    calendar::shops(basis.book)
        .into_iter()
        .filter_map(|shop| {
            let hours = basis.shops.get(&shop)?;
            let loads = || {
                let stations = stations.iter().filter(|row| row.shop == shop);
                let lines = lines.iter().filter(|row| row.shop == shop);
                stations
                    .map(|row| (&row.station, &row.load, &row.alone))
                    .chain(lines.map(|row| (&row.press_line, &row.load, &row.alone)))
            };
            let busiest = loads()
                .filter(|(_, load, _)| load.value > 0.0)
                .max_by(|a, b| a.1.value.total_cmp(&b.1.value))
                .map(|(name, load, _)| (name.clone(), load.clone()));
            let alone = sheet::weakest(
                sheet,
                &format!("shop.{shop}.rate"),
                &format!("cars a week that {shop} allows alone"),
                loads().filter_map(|(_, _, alone)| alone.as_ref()),
            );
            let cars = cars(basis, &shop);
            let (positions, payroll) = people(sheet, basis, &shop, hours);
            let here = basis.book.stations.iter().filter(|row| row.shop == shop);
            Some(ShopPlan {
                net_time_h: Planned {
                    value: hours.net.value.0,
                    from: hours.net.from.clone(),
                },
                takt_s: takt(sheet, &shop, hours, &cars),
                cars: cars.value.0,
                busiest,
                alone,
                positions,
                payroll,
                robots: here.map(|row| row.robots).sum(),
                shop,
            })
        })
        .collect()
}

/// Good cars a week of the products that pass a shop; a shop of lines alone
/// serves all.
fn cars(basis: &Basis<'_>, shop: &str) -> Sourced<Count> {
    let book = basis.book;
    let here: Vec<usize> = (0..book.stations.len())
        .filter(|&i| book.stations[i].shop == shop)
        .collect();
    let passes = |product: usize| {
        let visits = &basis.need.products[product].per_car.visits;
        here.is_empty() || here.iter().any(|&i| visits[i] > 0.0)
    };
    let rows: Vec<Sourced<f64>> = book
        .products
        .iter()
        .enumerate()
        .filter(|(product, _)| passes(*product))
        .map(|(_, row)| cell(row.cars_per_week.0, row.at, "cars_per_week"))
        .collect();
    let all: Sourced<Vec<f64>> = rows.into();
    all.map(|cars| Count(cars.iter().sum()))
}

fn takt(sheet: &mut Sheet, shop: &str, hours: &Hours, cars: &Sourced<Count>) -> Option<Planned> {
    if cars.value.0 <= 0.0 {
        return None;
    }
    let net = hours.net.clone().map(|net| Minutes(net.0 * 60.0));
    let made = sheet.add(
        format!("shop.{shop}.takt"),
        format!("takt of {shop}"),
        None,
        trade::takt(net, cars.clone()),
    )?;
    Some(made.planned(|takt| takt.0))
}

/// Positions on a shift, at stations and lines, and heads on the payroll. The
/// people of repair crews are not among them: they stand at no post.
fn people(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    shop: &str,
    hours: &Hours,
) -> (Option<Planned>, Option<Planned>) {
    let rows = basis.book.stations.iter();
    let rows = rows.filter(|row| row.shop == shop && row.people() > 0.0);
    let lines = basis.book.press_lines.iter();
    let lines = lines.filter(|row| row.shop == shop);
    let at_lines = lines.filter_map(|row| {
        let heads = row.heads.filter(|heads| *heads > 0.0)?;
        Some(cell(Count(heads * f64::from(row.units)), row.at, "heads"))
    });
    let at_stations = rows.map(|row| people_cell(basis, row));
    let heads: Vec<_> = at_stations.chain(at_lines).collect();
    if heads.is_empty() {
        return (None, None);
    }
    let title = format!("people on a shift of {shop}");
    let made = rate_plan::positions(heads);
    let Some(positions) = sheet.add(format!("shop.{shop}.positions"), title, None, made) else {
        return (None, None);
    };
    let plant = &basis.book.plant;
    let made = trade::heads(
        positions.part(|positions| *positions),
        crews(basis.book, shop, hours),
        setting(&plant.relief_share, "relief_share"),
        setting(&plant.absence_share, "absence_share"),
        setting(&plant.leave_share, "leave_share"),
    );
    let crewed = basis.book.crews.iter();
    let crewed = crewed
        .filter(|row| row.shop.as_deref() == Some(shop))
        .count()
        > 0;
    let but = if crewed {
        ", without its repair crews, which the cost of people adds"
    } else {
        ""
    };
    let title = format!("people on the payroll of {shop}{but}");
    let payroll = sheet.add(format!("shop.{shop}.payroll"), title, None, made);
    (
        Some(positions.planned(|positions| positions.0)),
        payroll.map(|made| made.planned(|heads| heads.heads.0)),
    )
}

/// Crews that share the week: shifts of different name.
fn crews(book: &Book, shop: &str, hours: &Hours) -> Sourced<Count> {
    match &hours.week {
        Some(week) => {
            let rows = book.shifts.iter().filter(|row| row.shop == shop);
            let cells = rows.map(|row| cell((), row.at, "shift").from);
            Sourced::new(
                Count(f64::from(week.crews)),
                Origin::Several(cells.collect()),
            )
        }
        None => Sourced::usual(Count(WEEK.hours().0 / CREW_HOURS), "shifts", "shift"),
    }
}

/// A station's people: those of its row, or those of its tasks.
fn people_cell(basis: &Basis<'_>, row: &Station) -> Sourced<Count> {
    let people = Count(row.people());
    match basis.worked.made(&row.station) {
        Some(made) if made.people => Sourced::new(people, made.origin()),
        _ => cell(people, row.at, "heads"),
    }
}
