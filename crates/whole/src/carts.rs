//! Carts within the plant: what their loops and supplies need, and what the
//! plant makes with more and fewer of them.
//!
//! [`carts`] makes the shop's plan by formula and confirms it in the flow: each
//! fleet's curve of cars against carriers, by paired runs with the same luck,
//! with the number from which one more gives nothing. The stores that feed the
//! main line from its sub-plants are sized by the same means.

mod curve;
mod feeders;
mod model;
mod rounds;
mod stores;
#[cfg(test)]
mod tests;
mod trial;
mod way;

use std::sync::atomic::{AtomicU32, Ordering};

use book::{Book, Carrier, Problem};
use flow::statistics::Interval;
use flow::{Progress, Watch};
use formulas::Sourced;
use rayon::prelude::*;
use shops::carts::{InService, Loops, Question};
use units::{Minutes, PerHour, Seconds};

use crate::calendar::{WEEK, weekly_spells};
use crate::findings::measure::{self, Stopped, Window};
use crate::findings::{self, NoAnswer, RunSettings};
use crate::lots::Timetabled;
use crate::network::{self, Built};
use crate::plan::{self, RatePlan};
use crate::requirement::requirement;
use crate::work;

pub use model::{Carts, Curve, CurvePoint, Store, StorePoint, SupplyCurve, SupplyPoint};
pub use shops::carts::{
    CartLoop, CartPlan, Crowding, ShopFigure, ShopValue, StorePlan, SupplyFleet, SupplyRun,
};
use trial::{Seen, Terms};
pub(crate) use way::needs;

/// The carts' plan by formula, for the book's cars.
///
/// # Errors
///
/// All problems at once: those of the rate plan and of the carts.
pub fn plan(book: &Book) -> Result<CartPlan, Vec<Problem>> {
    let rate = plan::plan_with(book, &Timetabled::default())?;
    let worked = work::of(book)?;
    let book = &*worked.book;
    let need = requirement(book)?;
    let net = |shop: &str| {
        let row = rate.shops.iter().find(|row| row.shop == shop)?;
        let net = Minutes(row.net_time_h.value * 60.0);
        Some(Sourced::new(net, row.net_time_h.from.clone()))
    };
    shops::carts::carts(&Question {
        book,
        loops: &needs(book, &need, &net),
        cars: &cars(book, &rate),
        stores: &feeders::needs(book, &need, &rate),
    })
}

/// How the runs are made unless asked otherwise: with the same luck enough to
/// see a car in a hundred, over some fifty variants of a large plant.
pub const RUNS: RunSettings = RunSettings {
    replications: 8,
    weeks: 1,
    warm_up_h: None,
    seed: 1,
    level: 0.95,
    trials: 0,
};

/// The carts' plan, confirmed in the flow: curves of cars against carriers, and
/// the stores of the sub-plants. The same book and settings give the same
/// answer on any number of cores.
///
/// Progress counts variants of the plant; how many there will be is a guess
/// that grows.
///
/// # Errors
///
/// [`NoAnswer`]: problems of the book, settings out of range, or cancelled
/// through `watch`.
pub fn carts(book: &Book, settings: &RunSettings, watch: &Watch) -> Result<Carts, NoAnswer> {
    let plan = plan(book)?;
    let built = network::build(book)?;
    let told = |stopped| findings::no_answer(&built, stopped);
    let (run, base) = measure::outcome(&built, settings, false, watch).map_err(told)?;
    let terms = Terms {
        window: Window {
            seed: run.seed,
            replications: run.replications,
            warm_up_s: base.warm_up_s,
            weeks: run.weeks,
        },
        level: run.level,
        as_it_is: Seen {
            cars: measure::a_week(&base.rate_per_h),
            locked: base.stuck.is_some(),
        },
    };
    let made = Interval::of(&terms.as_it_is.cars, run.level);
    let (curves, stores) = variants(book, &built, &plan, &terms, watch).map_err(told)?;
    let quiet = Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    };
    let fleets = plan.supplies.par_iter();
    let supply_curves: Result<Vec<_>, _> = fleets
        .map(|fleet| rounds::curve(book, fleet, &terms, &quiet))
        .collect();
    let supply_curves = supply_curves.map_err(told)?;
    Ok(Carts {
        plant: book.plant.name.value.clone(),
        holds: plan.holds
            && !curves.iter().any(|curve| curve.loses)
            && !stores.iter().any(|store| store.loses),
        plan,
        run,
        made,
        curves,
        supply_curves: supply_curves.into_iter().flatten().collect(),
        stores,
        notes: built.notes,
    })
}

/// The variants of every fleet and store, side by side so that no core waits
/// for the next number of one.
fn variants(
    book: &Book,
    built: &Built,
    plan: &CartPlan,
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<(Vec<Curve>, Vec<Store>), Stopped> {
    let links = stores::of(book, built);
    let done = AtomicU32::new(0);
    let of = GUESSED * u32::try_from(plan.loops.len() + links.len()).unwrap_or(u32::MAX / GUESSED);
    let each = terms.window.replications;
    let tell = |progress: Progress| {
        // a variant has as many replications as any
        if progress.done == each {
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            (watch.progress)(Progress {
                done,
                of: of.max(done),
            });
        }
    };
    let own = Watch {
        cancel: watch.cancel,
        progress: &tell,
    };
    let (curves, stores): (Result<Vec<_>, _>, Result<Vec<_>, _>) = rayon::join(
        || {
            let loops = plan.loops.par_iter();
            loops
                .map(|fleet| curve::curve(book, built, fleet, terms, &own))
                .collect()
        },
        || {
            let larger = stores::larger_ones_help(built, &links, terms, &own)?;
            let links = links.par_iter();
            let planned = |link: usize| {
                let at = built.links[link].at;
                let store = plan.stores.iter().find(|store| store.at == at);
                store.map(|store| store.needed.value as u32)
            };
            links
                .map(|&link| stores::store(book, built, (link, larger, planned(link)), terms, &own))
                .collect()
        },
    );
    Ok((curves?.into_iter().flatten().collect(), stores?))
}

/// Variants that a fleet or a store takes, more or less.
const GUESSED: u32 = 6;

/// Cars an hour at the station of each supply.
fn cars(book: &Book, plan: &RatePlan) -> Vec<Option<Sourced<PerHour>>> {
    let at = |name: &str| {
        let station = plan.stations.iter().find(|row| row.station == name)?;
        let shop = plan.shops.iter().find(|row| row.shop == station.shop)?;
        let hours = shop.net_time_h.value;
        let from = vec![station.jobs.from.clone(), shop.net_time_h.from.clone()];
        (station.jobs.value > 0.0).then(|| {
            Sourced::new(
                PerHour(station.jobs.value / hours),
                formulas::Origin::Several(from),
            )
        })
    };
    let rows = book.supplies.iter();
    rows.map(|row| at(row.station.as_deref()?)).collect()
}

/// The loops whose fleets charge or slow each other, which takes the
/// requirement to tell; the others' carriers are those fit.
pub(crate) fn loops(book: &Book) -> Vec<CartLoop> {
    let plain = |row: &Carrier| row.charging == book::Charging::None && row.traffic_loss.0 == 0.0;
    if book.carriers.iter().all(plain) {
        return Vec::new();
    }
    // What is wrong with the requirement is said by the plan.
    let Ok(need) = requirement(book) else {
        return Vec::new();
    };
    let net = |shop: &str| {
        let week = weekly_spells(book, shop).map_or(WEEK, |week| week.net());
        Some(Sourced::new(week.minutes(), formulas::Origin::Given))
    };
    let Loops { loops, .. } = shops::carts::loops(book, &needs(book, &need, &net));
    loops
}

/// What `count` of a fleet do at a time, with what is known of its loop.
pub(crate) fn in_service(row: &Carrier, known: Option<&CartLoop>, count: u32) -> InService {
    if let Some(known) = known {
        return known.in_service(row, count);
    }
    let back = row.return_s.unwrap_or_else(|| {
        let straight = row
            .loop_m
            .zip(row.speed_m_min)
            .map_or(0.0, |(length, speed)| length.0 / speed * 60.0);
        Seconds(straight + f64::from(row.curves) * row.curve_s.0)
    });
    InService {
        carriers: ((f64::from(count) * row.availability.0).floor() as u32).max(1),
        return_s: back.0 + row.load_s.0 + row.unload_s.0,
    }
}
