//! Shifts on the calendar of a log: to which shift of which day an instant
//! belongs, and whether it is planned working time.

use book::Book;
use whole::calendar::weekly_spells;

use crate::time::{DAY, MINUTE, Micros, WEEK, Zone, micros};

/// A shift of a day, by the day on which it begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Turn {
    /// Day on which the shift began, counted from 1970-01-01.
    pub day: i64,
    /// Position among the shop's shifts; [`OUTSIDE`] between shifts.
    pub shift: u8,
}

/// The shift number of time in no shift.
pub const OUTSIDE: u8 = u8::MAX;

/// A stretch of one shift that is all planned working time or all not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// From, universal.
    pub from: Micros,
    /// To, universal.
    pub to: Micros,
    /// Its shift.
    pub turn: Turn,
    /// Whether it is planned working time.
    pub open: bool,
}

/// The hours of all shops.
pub(crate) struct Hours<'b> {
    book: &'b Book,
    zone: Zone,
    pub(crate) shops: Vec<ShopHours>,
}

/// The week of one shop.
#[derive(Clone, Debug)]
pub struct ShopHours {
    /// The shop.
    pub shop: String,
    /// Names of its shifts.
    pub shifts: Vec<String>,
    zone: Zone,
    /// Stretches of the week on the clock, from Monday 00:00, without a gap:
    /// to, days since Monday of the shift's begin, shift, open.
    week: Vec<(Micros, i64, u8, bool)>,
}

/// The shift of a shop of which the book gives none.
pub const ALL_DAY: &str = "all day";

impl<'b> Hours<'b> {
    pub(crate) fn new(book: &'b Book, zone: Zone) -> Self {
        Self {
            book,
            zone,
            shops: Vec::new(),
        }
    }

    /// The position of a shop's hours.
    pub(crate) fn of(&mut self, shop: &str) -> usize {
        if let Some(known) = self.shops.iter().position(|hours| hours.shop == shop) {
            return known;
        }
        self.shops.push(ShopHours::of(self.book, shop, self.zone));
        self.shops.len() - 1
    }
}

/// A shift on the clock of a week: from, to, day, position of its name.
type Present = (Micros, Micros, i64, u8);

/// Names of a shop's shifts, and when they are there; those of the last day of
/// a week reach into the next one's first.
fn presence(book: &Book, shop: &str) -> (Vec<String>, Vec<Present>) {
    let mut names: Vec<String> = Vec::new();
    let mut present = Vec::new();
    for row in book.shifts.iter().filter(|row| row.shop == shop) {
        let known = names.iter().position(|name| *name == row.shift);
        let shift = known.unwrap_or(names.len());
        if known.is_none() {
            names.push(row.shift.clone());
        }
        let shift = u8::try_from(shift).unwrap_or(OUTSIDE - 1);
        let (start, end) = (i64::from(row.start.minutes), i64::from(row.end.minutes));
        let night = if end > start { 0 } else { DAY };
        for day in row.days.iter() {
            let day = i64::try_from(day).unwrap_or(0);
            for turn in [0, WEEK] {
                let midnight = day * DAY - turn;
                let to = midnight + end * MINUTE + night;
                present.push((midnight + start * MINUTE, to, midnight / DAY, shift));
            }
        }
    }
    (names, present)
}

impl ShopHours {
    /// The hours of a shop. A shop without shifts always works, in one shift a
    /// day.
    pub fn of(book: &Book, shop: &str, zone: Zone) -> Self {
        let (mut names, mut present) = presence(book, shop);
        let open: Vec<(Micros, Micros)> = match weekly_spells(book, shop) {
            Some(week) => week
                .open
                .iter()
                .map(|(a, b)| (micros(a.0), micros(b.0)))
                .collect(),
            None => {
                names = vec![ALL_DAY.to_owned()];
                present = (0..7).map(|d| (d * DAY, (d + 1) * DAY, d, 0)).collect();
                vec![(0, WEEK)]
            }
        };
        let mut edges: Vec<Micros> = vec![WEEK];
        edges.extend(present.iter().flat_map(|p| [p.0, p.1]));
        edges.extend(open.iter().flat_map(|o| [o.0, o.1]));
        // Midnights part the days of what lies outside shifts.
        edges.extend((1..7).map(|day| day * DAY));
        edges.retain(|edge| *edge > 0 && *edge <= WEEK);
        edges.sort_unstable();
        edges.dedup();
        let mut from = 0;
        let mut week = Vec::new();
        for to in edges {
            let inside = present.iter().find(|p| p.0 <= from && to <= p.1);
            let (day, shift) = inside.map_or((from / DAY, OUTSIDE), |p| (p.2, p.3));
            let is_open = open.iter().any(|o| o.0 <= from && to <= o.1);
            week.push((to, day, shift, is_open));
            from = to;
        }
        Self {
            shop: shop.to_owned(),
            shifts: names,
            zone,
            week,
        }
    }

    /// The stretch that holds an instant.
    pub fn stretch(&self, at: Micros) -> Stretch {
        let local = self.zone.local(at);
        // 1970-01-05 was a Monday.
        let monday = (local - 4 * DAY).div_euclid(WEEK) * WEEK + 4 * DAY;
        let into = local - monday;
        let n = self.week.partition_point(|stretch| stretch.0 <= into);
        let (to, day, shift, open) = self.week[n.min(self.week.len() - 1)];
        let from = if n == 0 { 0 } else { self.week[n - 1].0 };
        // Where the clocks change within the stretch, its edges move with them.
        let from = self.zone.instant(monday + from).min(at);
        let to = self.zone.instant(monday + to);
        Stretch {
            from,
            to: to.max(at + 1),
            turn: Turn {
                day: monday / DAY + day,
                shift,
            },
            open,
        }
    }

    /// The name of a shift.
    pub fn shift(&self, turn: Turn) -> &str {
        let name = self.shifts.get(usize::from(turn.shift));
        name.map_or("outside shifts", String::as_str)
    }

    /// Planned working time behind an instant of the shift that it lies in.
    pub(crate) fn left_of_shift(&self, at: Micros) -> Micros {
        let turn = self.stretch(at - 1).turn;
        let (mut left, mut from) = (0, at);
        loop {
            let stretch = self.stretch(from);
            if turn.shift == OUTSIDE || stretch.turn != turn {
                return left;
            }
            left += if stretch.open { stretch.to - from } else { 0 };
            from = stretch.to;
        }
    }

    /// Planned working time between two instants.
    pub fn open_between(&self, from: Micros, to: Micros) -> Micros {
        let mut at = from;
        let mut open = 0;
        while at < to {
            let stretch = self.stretch(at);
            let end = stretch.to.min(to);
            if stretch.open {
                open += end - at;
            }
            at = end;
        }
        open
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::{HOUR, days};
    use book::small::book;

    #[test]
    fn a_night_shift_belongs_to_the_day_on_which_it_began() {
        let book = book(
            "[shifts]
             shop,shift,days,start,end,planned_stops_min
             press,late,mon-fri,14:00,22:00,0
             press,night,mon-fri,22:00,06:00,0",
        );
        let hours = ShopHours::of(&book, "press", Zone::default());
        let monday = days(2026, 3, 2);
        let at = |day: i64, hour: i64| (monday + day) * DAY + hour * HOUR;
        let tuesday_early = hours.stretch(at(1, 3));
        assert_eq!(
            (tuesday_early.turn.day, hours.shift(tuesday_early.turn)),
            (monday, "night")
        );
        assert!(tuesday_early.open);
        // Friday's night shift runs into Saturday; Saturday noon is outside.
        assert_eq!(hours.stretch(at(5, 3)).turn.day, monday + 4);
        assert_eq!(hours.shift(hours.stretch(at(5, 12)).turn), "outside shifts");
        assert_eq!(hours.open_between(at(0, 0), at(7, 0)), 80 * HOUR);
        let left = |day, hour| hours.left_of_shift(at(day, hour)) / HOUR;
        assert_eq!((left(0, 23), left(1, 6), left(5, 12)), (7, 0, 0));
    }

    #[test]
    fn a_shop_without_shifts_always_works() {
        let book = book("[products]\nproduct,cars_per_week\nvan,10");
        let hours = ShopHours::of(&book, "yard", Zone::default());
        let stretch = hours.stretch(days(2026, 3, 4) * DAY + HOUR);
        assert!(stretch.open);
        assert_eq!(stretch.turn.day, days(2026, 3, 4));
    }
}
