//! The coil plan as a workbook: strips, coils, what to hold, orders by week.

use shops::coil::{Coil, CoilOrders, CoilWeek};

use super::sheets::{Cell, Sheet, text};
use super::xlsx::{WorkbookError, of_sheets};

/// The columns of thirteen weeks, behind those that name the coil.
const WEEKS: [&str; 13] = [
    "week 1", "week 2", "week 3", "week 4", "week 5", "week 6", "week 7", "week 8", "week 9",
    "week 10", "week 11", "week 12", "week 13",
];

/// The coil plan as the bytes of an .xlsx file.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn coil_xlsx(coil: &Coil) -> Result<Vec<u8>, WorkbookError> {
    let week = |pick: fn(&CoilWeek) -> f64, decimals| {
        move |week: &CoilWeek| Cell::Number(pick(week), decimals)
    };
    let sheets = [
        by_week(coil, "Coil orders", week(|week| f64::from(week.order), 0)),
        by_week(
            coil,
            "Coils that come",
            week(|week| f64::from(week.due + week.comes), 0),
        ),
        by_week(coil, "Coils used", week(|week| week.used, 2)),
        by_week(coil, "Coils left", week(|week| week.left, 2)),
        by_week(coil, "Days of cover", week(|week| week.cover_days, 1)),
        reorder(coil),
        supply(coil),
        held(coil),
        strips(coil),
    ];
    of_sheets(&sheets)
}

fn by_week(coil: &Coil, title: &'static str, cell: impl Fn(&CoilWeek) -> Cell) -> Sheet {
    let columns: Vec<&'static str> = std::iter::once("coil").chain(WEEKS).collect();
    let row = |one: &CoilOrders| {
        let weeks = one.weeks.iter().take(WEEKS.len()).map(&cell);
        std::iter::once(text(&one.coil)).chain(weeks).collect()
    };
    Sheet::new(title, &columns, coil.orders.coils.iter().map(row).collect())
}

fn reorder(coil: &Coil) -> Sheet {
    let columns = [
        "coil",
        "coils a week",
        "spread of a week",
        "lead time d",
        "kept for spread",
        "order at",
        "cover now d",
        "least cover d",
        "runs out in week",
    ];
    let number = Cell::Number;
    let row = |one: &CoilOrders| {
        vec![
            text(&one.coil),
            number(one.mean_use, 2),
            number(one.use_spread, 2),
            number(one.lead_time_days, 0),
            number(one.safety, 1),
            number(one.reorder_point, 1),
            number(one.cover_days, 1),
            number(one.least_cover_days, 1),
            one.runs_out
                .map_or(Cell::Empty, |week| number(f64::from(week), 0)),
        ]
    };
    Sheet::new(
        "Reorder points",
        &columns,
        coil.orders.coils.iter().map(row).collect(),
    )
}

fn supply(coil: &Coil) -> Sheet {
    let columns = [
        "coil",
        "alloy",
        "gauge mm",
        "width mm",
        "mass kg",
        "length m",
        "wraps",
        "coils a week",
        "in blanks",
        "parts",
    ];
    let rows = coil.coils.iter().map(|one| {
        vec![
            text(&one.coil),
            text(&one.material),
            Cell::Number(one.gauge_mm, 2),
            Cell::Number(one.width_mm, 0),
            Cell::Number(one.mass_kg, 0),
            Cell::Number(one.length_m, 0),
            Cell::Number(one.wraps, 0),
            Cell::Number(one.coils_a_week, 2),
            Cell::Share(one.utilisation),
            text(one.parts.join(", ")),
        ]
    });
    Sheet::new("Coils", &columns, rows.collect())
}

fn held(coil: &Coil) -> Sheet {
    let columns = [
        "coil",
        "in the book",
        "width mm",
        "coils a week",
        "holding a year",
        "parts",
    ];
    let rows = coil.holding.chosen.iter().map(|one| {
        vec![
            text(&one.coil),
            text(if one.in_book { "yes" } else { "no" }),
            Cell::Number(one.width_mm, 0),
            Cell::Number(one.coils_a_week, 2),
            Cell::Number(one.cost, 0),
            text(one.parts.join(", ")),
        ]
    });
    Sheet::new("Coils to hold", &columns, rows.collect())
}

fn strips(coil: &Coil) -> Sheet {
    let columns = [
        "part",
        "coil",
        "layout",
        "angle deg",
        "pitch mm",
        "blanks a pitch",
        "used",
        "bound",
        "blanks a coil",
        "cost of a blank",
        "next",
        "dearer by",
        "why",
    ];
    let rows = coil.parts.iter().filter_map(|part| {
        let laid = part.layouts.first()?;
        let next = part.runner_up.as_ref();
        let other = next.and_then(|next| part.layouts.get(next.layout? as usize));
        Some(vec![
            text(&part.part),
            text(&laid.coil),
            text(laid.kind.replace('_', " ")),
            Cell::Number(laid.angle_deg, 1),
            Cell::Number(laid.pitch_mm, 1),
            Cell::Number(f64::from(laid.blanks_per_pitch), 0),
            Cell::Share(laid.utilisation),
            Cell::Share(laid.bound),
            Cell::Number(laid.blanks_of_a_coil, 0),
            Cell::Number(laid.cost, 2),
            other.map_or(Cell::Empty, |other| {
                text(format!(
                    "{} on {}",
                    other.kind.replace('_', " "),
                    other.coil
                ))
            }),
            next.map_or(Cell::Empty, |next| Cell::Number(next.cost_more, 2)),
            next.map_or(Cell::Empty, |next| text(&next.why)),
        ])
    });
    Sheet::new("Blanks on strips", &columns, rows.collect())
}
