//! Coil orders, week by week, for each specification in use.
//!
//! At the start of each week as many coils are ordered as bring the stock at the
//! end of the week in which they come back to the safety stock. The use is the
//! plan's; what is kept for its spread and the supplier's is the formula's.
//!
//! What comes in a week comes on its first day, before the first cut: an order of
//! the plan has had its whole lead time by then, and of a delivery the book says
//! the week alone. So the stock of a week is lowest just before what comes in the
//! next, and highest just after what comes in it.

use book::{At, Book, Coil as CoilRow};
use formulas::{PerDay, coil};
use units::{Days, Share};

use super::figures::{Figures, cell, cell_or_usual, setting};
use super::model::{CoilOrders, CoilWeek, Emptiest, Orders};

/// Days of a week, as lead times count them.
const WEEK_DAYS: f64 = 7.0;
/// The day on which what comes in a week is taken to come.
const DELIVERY_DAY: &str = "Monday";
/// A delivery that is needed before so much of its week is over is told: a day
/// late, and nothing is left to cut.
const NEEDED_WITHIN_DAYS: f64 = 2.0;
/// Lead time where the book gives none.
const LEAD_DAYS: f64 = 14.0;

/// A specification with its use in each week, in coils.
pub(super) struct Use<'a> {
    pub(super) row: &'a CoilRow,
    pub(super) weeks: Vec<f64>,
}

/// The orders of all specifications in use.
pub(super) fn plan(figures: &mut Figures, book: &Book, uses: &[Use<'_>]) -> Orders {
    let weeks = uses.iter().map(|one| one.weeks.len()).max().unwrap_or(0);
    let coils: Vec<CoilOrders> = uses
        .iter()
        .filter(|one| mean(&one.weeks) > 0.0)
        .filter_map(|one| orders(figures, book, one))
        .collect();
    let stored = stored(book, uses, &coils, weeks);
    Orders {
        weeks: u32::try_from(weeks).unwrap_or(u32::MAX),
        service: book.plant.coil_service.value.0,
        places: book.plant.coil_places.value,
        delivery_day: DELIVERY_DAY.to_owned(),
        stored_now: stored.now,
        stored_after_deliveries: stored.after,
        stored: stored.left,
        emptiest: emptiest(&coils),
        coils,
    }
}

/// Places taken.
struct Stored {
    now: f64,
    /// Just after the deliveries of each week.
    after: Vec<f64>,
    /// At the end of each week.
    left: Vec<f64>,
}

/// Places taken by all specifications, those too of which nothing is cut.
fn stored(book: &Book, uses: &[Use<'_>], coils: &[CoilOrders], weeks: usize) -> Stored {
    // A coil that is begun takes a place as a whole one does.
    let places = |coils: f64| (coils - 1e-9).ceil().max(0.0);
    let rows = || uses.iter().map(|one| one.row);
    let idle = || rows().filter(|row| !coils.iter().any(|coil| coil.coil == row.coil));
    let lying = |row: &CoilRow, week: usize| -> f64 {
        let come: u32 = (1..=week + 1).map(|week| due(book, &row.coil, week)).sum();
        f64::from(row.on_hand) + f64::from(come)
    };
    let unused = |week: usize| idle().map(|row| lying(row, week)).sum::<f64>();
    let of = |week: usize, stock: &dyn Fn(&CoilWeek) -> f64| -> f64 {
        let used = coils.iter().filter_map(|coil| coil.weeks.get(week));
        used.map(|week| places(stock(week))).sum::<f64>() + unused(week)
    };
    Stored {
        now: rows().map(|row| f64::from(row.on_hand)).sum(),
        after: (0..weeks)
            .map(|week| of(week, &|week| week.left + week.used))
            .collect(),
        left: (0..weeks).map(|week| of(week, &|week| week.left)).collect(),
    }
}

/// Where the cover is least: now, which is week 0, or at the end of a week.
fn emptiest(coils: &[CoilOrders]) -> Option<Emptiest> {
    let all = coils.iter().flat_map(|coil| {
        let now = (0, coil.cover_days);
        let weeks = coil.weeks.iter().map(|week| (week.week, week.cover_days));
        std::iter::once(now)
            .chain(weeks)
            .map(|(week, cover_days)| Emptiest {
                coil: coil.coil.clone(),
                week,
                cover_days,
            })
    });
    all.min_by(|one, other| one.cover_days.total_cmp(&other.cover_days))
}

fn mean(weeks: &[f64]) -> f64 {
    weeks.iter().sum::<f64>() / weeks.len().max(1) as f64
}

fn orders(figures: &mut Figures, book: &Book, one: &Use<'_>) -> Option<CoilOrders> {
    let row = one.row;
    let use_a_week = mean(&one.weeks);
    let spread = book.plant.use_spread.value.0 * use_a_week;
    let lead = row.lead_time_days.map_or(LEAD_DAYS, |days| days.0);
    let id = format!("coil.{}.reorder", row.coil);
    let point = figures.add(
        &id,
        format!("reorder point of {}, looked at once a week", row.coil),
        row.at,
        coil::reorder_point(
            PerDay(use_a_week / WEEK_DAYS),
            PerDay(spread / WEEK_DAYS.sqrt()),
            // What is not ordered today can be ordered a week later only.
            cell_or_usual(
                Days(lead + WEEK_DAYS),
                row.lead_time_days.is_some(),
                row.at,
                "lead_time_days",
            ),
            cell(row.lead_spread_days, row.at, "lead_spread_days"),
            setting::<Share>(&book.plant.coil_service, "coil_service"),
        ),
    )?;
    let due: Vec<u32> = (1..=one.weeks.len())
        .map(|week| due(book, &row.coil, week))
        .collect();
    let weeks = week_by_week(
        f64::from(row.on_hand),
        &due,
        &one.weeks,
        lead,
        point.safety.0,
    );
    let now = cover(f64::from(row.on_hand), &one.weeks, 0);
    let least = weeks.iter().map(|week| week.cover_days);
    Some(CoilOrders {
        coil: row.coil.clone(),
        at: row.at,
        lead_time_days: lead,
        mean_use: use_a_week,
        use_spread: spread,
        plan_spread: deviation(&one.weeks),
        safety: point.safety.0,
        reorder_point: point.reorder_point.0,
        figure: id,
        cover_days: now,
        least_cover_days: least.fold(now, f64::min).min(1e6),
        runs_out: weeks
            .iter()
            .find(|week| week.left < -1e-9)
            .map(|week| week.week),
        weeks,
    })
}

/// Coils that come in a week of what is ordered already.
fn due(book: &Book, coil: &str, week: usize) -> u32 {
    book.deliveries
        .iter()
        .filter(|row| row.coil == coil && row.week as usize == week)
        .map(|row| row.coils)
        .sum()
}

/// Orders and stock of each week.
fn week_by_week(
    on_hand: f64,
    due: &[u32],
    used: &[f64],
    lead_days: f64,
    safety: f64,
) -> Vec<CoilWeek> {
    let usual = mean(used);
    let use_of = |week: usize| used.get(week).copied().unwrap_or(usual);
    let lead = (lead_days / WEEK_DAYS).ceil() as usize;
    let weeks = used.len();
    let mut comes = vec![0_u32; weeks + lead + 1];
    let mut ordered = vec![0_u32; weeks];
    for (week, order) in ordered.iter_mut().enumerate() {
        let arrives = week + lead;
        let coming: u32 = (0..=arrives)
            .map(|w| due.get(w).copied().unwrap_or(0) + comes.get(w).copied().unwrap_or(0))
            .sum();
        let gone: f64 = (0..=arrives).map(use_of).sum();
        let missing = safety - (on_hand + f64::from(coming) - gone);
        let coils = (missing - 1e-9).ceil().max(0.0) as u32;
        *order = coils;
        comes[arrives] += coils;
    }
    let mut left = on_hand;
    (0..weeks)
        .map(|week| {
            let before = left;
            left += f64::from(due[week]) + f64::from(comes[week]) - used[week];
            CoilWeek {
                week: week as u32 + 1,
                used: used[week],
                due: due[week],
                comes: comes[week],
                order: ordered[week],
                before,
                before_days: cover(before, used, week),
                left,
                cover_days: cover(left, used, week + 1),
            }
        })
        .collect()
}

/// Days that coils last from the start of a week (counted from 0) without any
/// delivery, by the use of the weeks to come and then of a mean week.
fn cover(coils: f64, used: &[f64], from: usize) -> f64 {
    let usual = mean(used);
    if usual <= 0.0 {
        return 0.0;
    }
    let mut left = coils.max(0.0);
    let mut days = 0.0;
    for use_a_week in used.iter().skip(from) {
        if *use_a_week > left {
            return days + WEEK_DAYS * left / use_a_week;
        }
        left -= use_a_week;
        days += WEEK_DAYS;
    }
    days + WEEK_DAYS * left / usual
}

fn deviation(weeks: &[f64]) -> f64 {
    let middle = mean(weeks);
    let squares: f64 = weeks
        .iter()
        .map(|week| (week - middle) * (week - middle))
        .sum();
    (squares / weeks.len().max(1) as f64).sqrt()
}

/// What is worth knowing of the orders: coils that run out, weeks without room.
pub(super) fn notes(orders: &Orders) -> Vec<book::Problem> {
    let mut notes = Vec::new();
    for coil in &orders.coils {
        let Some(week) = coil.runs_out else {
            continue;
        };
        let first = (coil.lead_time_days / WEEK_DAYS).ceil() as usize;
        let missing = coil.weeks.iter().take(first.max(week as usize));
        let missing = missing.map(|week| -week.left).fold(0.0, f64::max).ceil();
        notes.push(super::wrong::note(super::wrong::at(
            coil.at,
            "runs-out",
            "on_hand",
            format!("`{}`, which runs out in week {week}", coil.coil),
            "coils until the first order comes",
            format!(
                "have {missing} coils sent at once; what is ordered today comes after {} days",
                coil.lead_time_days
            ),
        )));
    }
    notes.extend(orders.coils.iter().filter_map(needed_early));
    notes.extend(too_many(orders));
    notes
}

/// The first delivery that the book names and that is needed early in its week.
fn needed_early(coil: &CoilOrders) -> Option<book::Problem> {
    let early = |week: &&CoilWeek| {
        week.due > 0 && week.before > -1e-9 && week.before_days < NEEDED_WITHIN_DAYS
    };
    let week = coil.weeks.iter().find(early)?;
    let last = if week.before < 1e-9 {
        "nothing is left to cut before".to_owned()
    } else {
        format!(
            "what lies there before it lasts {:.1} days",
            week.before_days
        )
    };
    let after = if week.before_days < 1.0 {
        "before work on the week's first day"
    } else {
        "on the week's second day at the latest"
    };
    Some(super::wrong::note(super::wrong::at(
        coil.at,
        "needed-early",
        "on_hand",
        format!(
            "`{}`, of which {} come in week {}: {last}",
            coil.coil, week.due, week.week
        ),
        "coils until the delivery comes, whichever day that is",
        format!(
            "have them come {after}; deliveries are taken to come on {DELIVERY_DAY}, before work"
        ),
    )))
}

/// More coils than places: today, or when the deliveries of a week have come.
fn too_many(orders: &Orders) -> Option<book::Problem> {
    let places = f64::from(orders.places);
    let peak = |weeks: &[f64]| -> (usize, f64) {
        let all = weeks.iter().copied().enumerate();
        all.fold(
            (0, 0.0),
            |most, one| if one.1 > most.1 { one } else { most },
        )
    };
    let (end, left) = peak(&orders.stored);
    let (week, after) = peak(&orders.stored_after_deliveries);
    let (found, mend) = if orders.stored_now > places {
        (
            format!("{} coils in the store now", orders.stored_now),
            format!(
                "correct on_hand, or raise coil_places from {}",
                orders.places
            ),
        )
    } else if left > places {
        (
            format!("{left} coils in the store at the end of week {}", end + 1),
            format!(
                "raise coil_places from {}, sell coils of which nothing is cut, or hold fewer \
                 specifications: set coil_specifications lower",
                orders.places
            ),
        )
    } else if after > places {
        let before = match week.checked_sub(1) {
            Some(before) => orders.stored.get(before).copied().unwrap_or(0.0),
            None => orders.stored_now,
        };
        (
            format!(
                "{after} coils in the store if all that comes in week {} comes on its first day",
                week + 1
            ),
            format!(
                "have deliveries spread over the week's days, {:.0} coils on the first at most, \
                 or raise coil_places from {}",
                (places - before).max(0.0),
                orders.places
            ),
        )
    } else {
        return None;
    };
    let place = At {
        table: book::Table::Plant,
        row: 0,
    };
    let expected = "as many as coil_places at most";
    let note = super::wrong::at(place, "coil-places", "value", found, expected, mend);
    Some(book::Problem {
        row: None,
        ..super::wrong::note(note)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn an_order_comes_before_the_safety_stock_is_touched() {
        // Two coils a week, ten days of lead time are two weeks; one coil is kept.
        let weeks = week_by_week(6.0, &[0; 6], &[2.0; 6], 10.0, 1.0);
        let orders: Vec<u32> = weeks.iter().map(|week| week.order).collect();
        let left: Vec<f64> = weeks.iter().map(|week| week.left).collect();
        assert_eq!(orders, [1, 2, 2, 2, 2, 2]);
        assert_eq!(left, [4.0, 2.0, 1.0, 1.0, 1.0, 1.0]);
    }

    #[test]
    fn coils_on_their_way_are_not_ordered_again() {
        let weeks = week_by_week(2.0, &[2, 2, 2, 0], &[2.0; 4], 7.0, 0.0);
        let orders: Vec<u32> = weeks.iter().map(|week| week.order).collect();
        assert_eq!(orders, [0, 0, 0, 2]);
    }

    #[test]
    fn cover_counts_the_weeks_to_come_and_not_their_mean() {
        // Three coils last the slow week and half of the fast one.
        assert_eq!(cover(3.0, &[1.0, 4.0, 1.0], 0), 10.5);
        assert_eq!(cover(0.0, &[1.0, 4.0], 0), 0.0);
    }

    proptest! {
        #[test]
        fn once_orders_come_the_stock_never_falls_below_what_is_kept(
            on_hand in 0.0..9.0_f64,
            used in prop::collection::vec(0.0..6.0_f64, 13),
            lead in 0.0..30.0_f64,
            safety in 0.0..3.0_f64,
        ) {
            let weeks = week_by_week(on_hand, &[0; 13], &used, lead, safety);
            let first = (lead / WEEK_DAYS).ceil() as usize;
            for week in weeks.iter().skip(first) {
                prop_assert!(week.left >= safety - 1e-6);
            }
            // Nothing comes from nowhere.
            let come: f64 = weeks.iter().map(|week| f64::from(week.comes)).sum();
            let gone: f64 = used.iter().sum();
            let last = weeks[12].left;
            prop_assert!((on_hand + come - gone - last).abs() < 1e-6);
        }
    }
}
