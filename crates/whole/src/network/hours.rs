//! The hours of the shops, as calendars of the flow engine.

use std::collections::BTreeMap;

use book::{Book, Problem};
use flow::model::{AtClose, Calendar, CalendarIdx};

use super::{idx, problem};
use crate::calendar::{WEEK, Weekly, weekly_spells};

/// Days of a week on which a shop without shifts works.
const ALL_DAYS: u32 = 7;

/// The hours of every shop.
#[derive(Clone, Debug)]
pub(super) struct Hours {
    pub(super) calendars: Vec<Calendar>,
    of_shop: BTreeMap<String, (CalendarIdx, Weekly)>,
}

impl Hours {
    /// The calendar of a shop; none when it always works.
    pub(super) fn calendar(&self, shop: &str) -> Option<CalendarIdx> {
        self.of_shop.get(shop).map(|(calendar, _)| *calendar)
    }

    /// Seconds a week in which a shop works.
    pub(super) fn open_s_per_week(&self, shop: &str) -> f64 {
        let week = self.of_shop.get(shop);
        week.map_or(WEEK, |(_, week)| week.net()).0
    }

    /// Days a week on which a shop works.
    pub(super) fn days_per_week(&self, shop: &str) -> u32 {
        let week = self.of_shop.get(shop);
        week.map_or(ALL_DAYS, |(_, week)| week.workdays.max(1))
    }
}

/// The hours of all shops that have shifts, in the order of the table.
pub(super) fn of(book: &Book, problems: &mut Vec<Problem>) -> Hours {
    let mut hours = Hours {
        calendars: Vec::new(),
        of_shop: BTreeMap::new(),
    };
    for row in &book.shifts {
        if let Some((_, week)) = hours.of_shop.get(&row.shop) {
            if week.at_close != row.at_close {
                problems.push(Problem {
                    found: row.at_close.word().into(),
                    expected: format!("{}, as in the shop's first row", week.at_close.word()),
                    mend: format!("give all shifts of {} the same at_close", row.shop),
                    ..problem("shifts", "mixed-close", Some(row.at), "at_close")
                });
            }
            continue;
        }
        let Some(week) = weekly_spells(book, &row.shop) else {
            continue;
        };
        if week.open.is_empty() {
            problems.push(Problem {
                found: format!("no working time for {}", row.shop),
                expected: "at least one open spell a week".into(),
                mend: "give the shift days, or shorten its planned stops".into(),
                ..problem("shifts", "never-open", Some(row.at), "days")
            });
            continue;
        }
        let calendar = CalendarIdx(idx(hours.calendars.len()));
        hours.calendars.push(Calendar {
            name: row.shop.clone(),
            open: week.open.iter().map(|(from, to)| (from.0, to.0)).collect(),
            repeat_s: WEEK.0,
            at_close: at_close(week.at_close),
        });
        hours.of_shop.insert(row.shop.clone(), (calendar, week));
    }
    hours
}

fn at_close(word: book::AtClose) -> AtClose {
    match word {
        book::AtClose::Pause => AtClose::Pause,
        book::AtClose::Finish => AtClose::FinishFirst,
        book::AtClose::NoStart => AtClose::NoStart,
    }
}
