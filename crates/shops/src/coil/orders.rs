//! Coil orders, week by week, for each specification in use.
//!
//! At the start of each week as many coils are ordered as bring the stock at the
//! end of the week in which they come back to the safety stock. The use is the
//! plan's; what is kept for its spread and the supplier's is the formula's.

use book::{At, Book, Coil as CoilRow};
use formulas::{PerDay, coil};
use units::{Days, Share};

use super::figures::{Figures, cell, cell_or_usual, setting};
use super::model::{CoilOrders, CoilWeek, Emptiest, Orders};

/// Days of a week, as lead times count them.
const WEEK_DAYS: f64 = 7.0;
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
    let stored = (0..weeks).map(|week| {
        let left = |coil: &CoilOrders| coil.weeks.get(week).map_or(0.0, |week| week.left.max(0.0));
        // A coil that is begun takes a place as a whole one does.
        coils
            .iter()
            .map(|coil| (left(coil) - 1e-9).ceil().max(0.0))
            .sum()
    });
    Orders {
        weeks: u32::try_from(weeks).unwrap_or(u32::MAX),
        service: book.plant.coil_service.value.0,
        places: book.plant.coil_places.value,
        stored: stored.collect(),
        emptiest: emptiest(&coils),
        coils,
    }
}

fn emptiest(coils: &[CoilOrders]) -> Option<Emptiest> {
    let all = coils.iter().flat_map(|coil| {
        coil.weeks.iter().map(|week| Emptiest {
            coil: coil.coil.clone(),
            week: week.week,
            cover_days: week.cover_days,
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
        cover_days: cover(f64::from(row.on_hand), &one.weeks, 0),
        least_cover_days: least.fold(f64::INFINITY, f64::min).min(1e6),
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
            left += f64::from(due[week]) + f64::from(comes[week]) - used[week];
            CoilWeek {
                week: week as u32 + 1,
                used: used[week],
                due: due[week],
                comes: comes[week],
                order: ordered[week],
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
    let most = orders.stored.iter().copied().fold(0.0, f64::max);
    if most > f64::from(orders.places) {
        let week = orders
            .stored
            .iter()
            .position(|stored| *stored == most)
            .unwrap_or(0)
            + 1;
        let place = At {
            table: book::Table::Plant,
            row: 0,
        };
        let note = super::wrong::at(
            place,
            "coil-places",
            "value",
            format!("{most} coils in the store at the end of week {week}"),
            "as many as coil_places at most",
            format!(
                "raise coil_places from {} or hold fewer specifications: set \
                 coil_specifications lower",
                orders.places
            ),
        );
        notes.push(book::Problem {
            row: None,
            ..super::wrong::note(note)
        });
    }
    notes
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
