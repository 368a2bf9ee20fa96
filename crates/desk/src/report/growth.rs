//! Growth as a workbook.

use whole::growth::Growth;

use super::sheets::{Cell, Sheet, number, number_if_any, text, verdict};
use super::xlsx::{self, WorkbookError};

/// Growth as the bytes of an .xlsx file: periods, shops in each, when shops run out,
/// steps, money by quarter, what is stuck, the ramp.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn growth_xlsx(growth: &Growth) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        periods(growth),
        shops_in_periods(growth),
        shops(growth),
        steps(growth),
        money(growth),
        stuck(growth),
        ramp(growth),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

/// The sheets for the printed report.
pub(super) fn in_short(growth: &Growth) -> Vec<Sheet> {
    vec![shops(growth), steps(growth), stuck(growth)]
}

fn any(text_if: Option<&String>) -> Cell {
    text_if.map_or(Cell::Empty, text)
}

fn periods(growth: &Growth) -> Sheet {
    let rows = growth.periods.iter().map(|one| {
        vec![
            text(&one.period),
            text(&one.starts),
            number(one.cars, 0),
            number_if_any(one.can, 1),
            number_if_any(one.can_with, 1),
            one.made.map_or(Cell::Empty, |made| Cell::Interval(made, 1)),
            one.made_with
                .map_or(Cell::Empty, |made| Cell::Interval(made, 1)),
            one.verdict_with.map_or(Cell::Empty, |of| text(verdict(of))),
        ]
    });
    let columns = [
        "period",
        "starts",
        "cars a week needed",
        "weakest allows",
        "with ideas",
        "made in a run",
        "made with ideas",
        "met with ideas",
    ];
    Sheet::new("Forecast", &columns, rows.collect())
}

fn shops_in_periods(growth: &Growth) -> Sheet {
    let rows = growth.periods.iter().flat_map(|one| {
        one.shops.iter().map(|shop| {
            vec![
                text(&one.period),
                text(&shop.shop),
                number(one.cars, 0),
                number_if_any(shop.can, 1),
                number_if_any(shop.can_with, 1),
                any(shop.busiest.as_ref()),
                Cell::Share(shop.load),
            ]
        })
    });
    let columns = [
        "period",
        "shop",
        "cars a week needed",
        "shop allows",
        "with ideas",
        "busiest",
        "its load",
    ];
    Sheet::new("Shops by period", &columns, rows.collect())
}

fn shops(growth: &Growth) -> Sheet {
    let rows = growth.shops.iter().map(|shop| {
        vec![
            text(&shop.shop),
            text(shop.saturates.as_deref().unwrap_or("not in the forecast")),
            any(shop.at.as_ref()),
            shop.load.map_or(Cell::Empty, Cell::Share),
            any(shop.decide_by.as_ref()),
            any(shop.idea.as_ref()),
        ]
    });
    let columns = [
        "shop",
        "runs out in",
        "at",
        "load then",
        "decide by",
        "idea",
    ];
    Sheet::new("When shops run out", &columns, rows.collect())
}

fn steps(growth: &Growth) -> Sheet {
    let rows = growth.in_turn().into_iter().map(|(place, step)| {
        vec![
            text(&step.decide_by),
            number(place as f64, 0),
            text(&step.idea),
            text(&step.needed_in),
            number(step.weeks, 0),
            number(step.investment, 0),
            number(step.cost_per_year, 0),
            text(&step.shop),
            number_if_any(step.can_before, 0),
            number_if_any(step.can_after, 0),
            any(step.next.as_ref()),
        ]
    });
    let columns = [
        "decide by",
        "step, counts on those before",
        "idea",
        "needed in",
        "weeks",
        "once",
        "a year",
        "shop",
        "cars before",
        "cars after",
        "then weakest",
    ];
    Sheet::new("Decisions", &columns, rows.collect())
}

fn money(growth: &Growth) -> Sheet {
    let rows = growth.money.iter().map(|quarter| {
        vec![
            text(&quarter.quarter),
            number(quarter.investment, 0),
            number(quarter.running, 0),
            number(quarter.spent, 0),
            text(quarter.ideas.join("; ")),
        ]
    });
    let columns = ["quarter", "invested", "running", "spent so far", "decided"];
    Sheet::new("Money by quarter", &columns, rows.collect())
}

fn stuck(growth: &Growth) -> Sheet {
    let rows = growth.stuck.iter().map(|stuck| {
        vec![
            text(&stuck.period),
            text(&stuck.place),
            text(&stuck.shop),
            Cell::Share(stuck.load),
            text(&stuck.mend),
        ]
    });
    let columns = ["from", "place", "shop", "load", "would free it"];
    Sheet::new("No idea frees", &columns, rows.collect())
}

fn ramp(growth: &Growth) -> Sheet {
    let weeks = growth.ramp.iter().flat_map(|ramp| &ramp.weeks);
    let rows = weeks.map(|week| {
        vec![
            number(f64::from(week.week), 0),
            Cell::Share(week.availability),
            number(week.cars, 1),
            number(week.built, 0),
            number(week.hours, 2),
            text(if week.by_work { "work" } else { "stops" }),
            number(week.cars_manned, 1),
            number(week.people, 1),
        ]
    });
    let columns = [
        "week",
        "stops let",
        "cars",
        "since start",
        "h a car",
        "held by",
        "cars if manned",
        "people for that",
    ];
    Sheet::new("Ramp", &columns, rows.collect())
}
