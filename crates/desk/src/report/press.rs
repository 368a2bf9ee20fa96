//! The press shop's plan as a workbook.

use whole::press::{Press, PressLineLots, Screen, ShopValue};

use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};

/// The press shop's plan as the bytes of an .xlsx file: lines, lots, cycle, week,
/// racks, what quicker changeovers give, forces.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn press_xlsx(press: &Press) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        lines(press),
        lots(press),
        cycle(press),
        week(press),
        halved(press),
        overload(press),
        forces(press),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

fn made(blanks: bool) -> Cell {
    text(if blanks { "blanks" } else { "panels" })
}

fn lines(press: &Press) -> Sheet {
    let row = |line: &PressLineLots| {
        vec![
            text(&line.line),
            number(line.parts as f64, 0),
            number(line.hours, 1),
            Cell::Share(line.running),
            Cell::Share(line.changing),
            Cell::Share(line.load),
            number(line.changeover_min.value, 1),
            number(line.changeovers_per_week, 1),
            number(line.cycle_days, 3),
            number_if_any(line.least_cycle_days, 3),
        ]
    };
    let columns = [
        "line",
        "parts",
        "h a week",
        "running",
        "changing",
        "load",
        "changeover min",
        "changeovers a week",
        "cycle days",
        "shortest rotation days",
    ];
    let rows = press.lines.iter().map(row).collect();
    Sheet::new("Lines", &columns, rows).note(press.caution.as_str())
}

fn lots(press: &Press) -> Sheet {
    let rows = press.lots.iter().map(|lot| {
        vec![
            text(&lot.line),
            text(&lot.part),
            made(lot.blanks),
            number(lot.used_per_week, 0),
            number(lot.rate_per_hour.value, 0),
            number(lot.most_days.value, 3),
            number(lot.lot, 0),
            number(lot.every_days, 3),
            number(lot.safety, 0),
            number(lot.oldest_days, 3),
            number(lot.peak_stock, 0),
            number_if_any(lot.racks.as_ref().map(|racks| racks.value), 0),
            number(lot.cost_per_year, 0),
        ]
    });
    let columns = [
        "line",
        "part",
        "made",
        "used a week",
        "an hour",
        "longest lot days",
        "lot",
        "every days",
        "safety",
        "oldest days",
        "highest stock",
        "racks",
        "cost a year",
    ];
    Sheet::new("Lots and racks", &columns, rows.collect())
}

fn cycle(press: &Press) -> Sheet {
    let rows = press.lines.iter().flat_map(|line| {
        line.cycle.iter().map(|lot| {
            vec![
                text(&line.line),
                text(&lot.part),
                made(lot.blanks),
                number(lot.start_day, 3),
                number(lot.changeover_days, 3),
                number(lot.run_days, 3),
                number(lot.lot, 0),
                number(lot.cover_days, 3),
            ]
        })
    });
    let columns = [
        "line",
        "part",
        "made",
        "start day",
        "changeover days",
        "run days",
        "lot",
        "lasts days",
    ];
    Sheet::new("Cycle", &columns, rows.collect())
        .note("Days of the week's seven; each line's cycle repeats.")
}

fn week(press: &Press) -> Sheet {
    let rows = press.lines.iter().flat_map(|line| {
        line.week.iter().map(|lot| {
            vec![
                text(&line.line),
                text(&lot.part),
                made(lot.blanks),
                number(lot.lot, 0),
                text(clock(lot.start_h)),
                text(clock(lot.run_h)),
                text(clock(lot.end_h)),
            ]
        })
    });
    let columns = ["line", "part", "made", "lot", "changeover", "run", "end"];
    Sheet::new("Week", &columns, rows.collect())
}

/// Hours from Monday 00:00 as day and time.
///
/// ```
/// assert_eq!(desk::report::clock(30.5), "Tue 06:30");
/// ```
pub fn clock(hours: f64) -> String {
    const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    let minutes = (hours * 60.0).round().max(0.0) as u64;
    let day = DAYS[(minutes / 1_440 % 7) as usize];
    format!("{day} {:02}:{:02}", minutes / 60 % 24, minutes % 60)
}

fn halved(press: &Press) -> Sheet {
    let rows = press.halved.iter().map(|half| {
        vec![
            text(half.line.as_deref().unwrap_or("all lines")),
            number(half.hours_per_week, 1),
            number(half.saved_per_year, 0),
            number(half.days, 3),
            number(half.racks, 0),
            number(half.halved_lots_saved_per_year, 0),
        ]
    });
    let columns = [
        "line",
        "lots kept: h a week",
        "lots kept: saved a year",
        "hours kept: days",
        "hours kept: racks",
        "hours kept: saved a year",
    ];
    Sheet::new("Half the changeover", &columns, rows.collect())
}

fn overload(press: &Press) -> Sheet {
    let rows = press.overload.iter().map(|over| {
        vec![
            text(&over.line),
            number(over.missing_h, 1),
            number_if_any(over.save_minutes, 1),
            text(&over.mend),
        ]
    });
    let columns = ["line", "hours missing", "minutes to save", "ways out"];
    Sheet::new("Overload", &columns, rows.collect())
}

fn forces(press: &Press) -> Sheet {
    let rows = press.parts.iter().flat_map(|part| {
        let steps = [("blanking", &part.blanking), ("forming", &part.forming)];
        steps.into_iter().filter_map(|(step, screen)| {
            let screen: &Screen = screen.as_ref()?;
            let value = |value: &Option<ShopValue>| value.as_ref().map(|value| value.value);
            let share = |share: Option<f64>| share.map_or(Cell::Empty, Cell::Share);
            Some(vec![
                text(&part.part),
                text(step),
                text(&screen.line),
                number(screen.force_kn.value, 0),
                share(value(&screen.force_used)),
                number_if_any(value(&screen.energy_kj), 1),
                share(screen.energy_used),
                text(part.lines.join("; ")),
            ])
        })
    });
    let columns = [
        "part",
        "step",
        "line",
        "force kN",
        "of its rating",
        "energy kJ",
        "of its energy",
        "lines allowed",
    ];
    Sheet::new("Forces", &columns, rows.collect()).note(press.caution.as_str())
}
