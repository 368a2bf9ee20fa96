//! Lots and stocks of made parts, from the book or as plants usually have them.
//!
//! Usual values where a part gives none (common practice for plants that press
//! for themselves): a lot is half a day of use, rounded up to full racks, or
//! that of the die timetable where the plant says so, but no more than a given
//! stock takes above the start level; the start level is a quarter of a day; the
//! stock holds both.

use std::collections::BTreeMap;

use book::Part;
use serde::{Deserialize, Serialize};

/// Lot size where none is given, in days of use.
const LOT_DAYS: f64 = 0.5;
/// Start level where none is given, in days of use.
const START_DAYS: f64 = 0.25;

/// A figure of a lot: from the book, or computed as the module says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LotFigure {
    /// Pieces.
    pub pieces: u32,
    /// Whether the book gives it.
    pub given: bool,
}

impl LotFigure {
    fn or(given: Option<u32>, usual: f64) -> Self {
        // the usual is at least one piece and below what a u32 counts
        let usual = usual.ceil().clamp(1.0, f64::from(u32::MAX)) as u32;
        Self {
            pieces: given.unwrap_or(usual),
            given: given.is_some(),
        }
    }
}

/// The die timetable, as far as plan and run follow it; empty where the plant
/// does not take its lots from there.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Timetabled {
    /// By part and whether they are blanks.
    pub(crate) made: BTreeMap<(String, bool), MadeIn>,
    /// For each line, by its row among the lines and its unit, the lots in
    /// their order.
    pub(crate) order: BTreeMap<(usize, usize), Vec<TurnOf>>,
}

/// Lots of a part in the die timetable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct MadeIn {
    /// Pieces of its largest lot.
    pub(crate) lot: f64,
    /// Pieces that lie there when the next lot comes.
    pub(crate) safety: f64,
    /// Pieces that lie there as the timetable begins.
    pub(crate) at_start: f64,
    /// The unit of its line.
    pub(crate) unit: usize,
}

/// A lot in a line's order.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TurnOf {
    pub(crate) part: String,
    pub(crate) blanks: bool,
    pub(crate) pieces: f64,
}

impl Timetabled {
    /// The timetable's lots of a part's blanks or panels.
    pub(crate) fn of(&self, part: &str, blanks: bool) -> Option<&MadeIn> {
        self.made.get(&(part.to_owned(), blanks))
    }
}

/// A part's lots on one line and the stock they fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lot {
    /// Pieces in a lot.
    pub(crate) lot: LotFigure,
    /// The column that gives the lot, or would.
    pub(crate) lot_column: &'static str,
    /// A lot is due when fewer pieces are left.
    pub(crate) start_below: LotFigure,
    /// Places for pieces.
    pub(crate) stock: LotFigure,
    /// Pieces that the timetable has there as it begins, so that its lots come
    /// due one after the other and not all at once.
    begins: Option<u32>,
}

impl Lot {
    /// Pieces in the stock when the plant starts: those of the timetable, else
    /// half of the places, but a whole lot if it fits, so that no part starts
    /// below what a run would leave.
    pub(crate) fn at_start(&self) -> u32 {
        let stock = self.stock.pieces;
        if let Some(begins) = self.begins {
            return begins.min(stock);
        }
        (stock / 2).max(self.lot.pieces).min(stock)
    }
}

/// Whether the part's blanks lie before a press line; else they are parts
/// themselves.
pub(crate) fn feeds_press(part: &Part, blanks: bool) -> bool {
    blanks && part.press_line.is_some()
}

/// The lots of a part's blanks or panels, of which so many are used a day.
pub(crate) fn of(part: &Part, blanks: bool, used_per_day: f64, timetabled: &Timetabled) -> Lot {
    let before_press = feeds_press(part, blanks);
    let (lot, lot_column) = match (blanks, part.blank_lot) {
        _ if before_press => (part.blank_lot, "blank_lot"),
        (true, Some(lot)) => (Some(lot), "blank_lot"),
        _ => (part.lot, "lot"),
    };
    let stock = match (blanks, part.blank_stock) {
        (true, Some(stock)) => Some(stock),
        _ => part.stock.filter(|_| !before_press),
    };
    // racks and start level are of finished parts
    let rack = if before_press { 1 } else { part.rack.max(1) };
    let start_below = part.start_below.filter(|_| !before_press);
    let timetabled = timetabled.of(&part.part, blanks);
    // Blanks for a press lie ready for a whole lot of it.
    let usual = START_DAYS * used_per_day;
    let usual = match timetabled {
        Some(made) if before_press => made.safety.max(usual),
        _ => usual,
    };
    let start_below = LotFigure::or(start_below, usual);
    let rack = f64::from(rack);
    let racks = (LOT_DAYS * used_per_day / rack).ceil() * rack;
    // a lot that its stock cannot take would hold the line up
    let room = stock.map_or(f64::INFINITY, |stock| {
        f64::from(stock.saturating_sub(start_below.pieces))
    });
    let usual = timetabled.map_or(racks, |made| made.lot);
    let lot = LotFigure::or(lot, usual.min(room));
    let holds = f64::from(lot.pieces) + f64::from(start_below.pieces);
    Lot {
        lot,
        lot_column,
        start_below,
        // a car's set must fit
        stock: LotFigure::or(stock, holds.max(f64::from(part.per_car))),
        // at least none and below what a u32 counts
        begins: timetabled.map(|made| made.at_start.round().clamp(0.0, f64::from(u32::MAX)) as u32),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 240 roofs a day in racks of 16, nothing else said.
    fn roof() -> Part {
        Part {
            part: "roof".into(),
            press_line: Some("big press".into()),
            blank_line: Some("blanking".into()),
            per_car: 1,
            rack: 16,
            ..Part::default()
        }
    }

    #[test]
    fn a_usual_lot_is_half_a_day_in_full_racks_and_its_stock_holds_the_start_level_too() {
        let lot = of(&roof(), false, 250.0, &Timetabled::default());
        let pieces = |figure: LotFigure| (figure.pieces, figure.given);
        // 125 pieces are 8 racks of 16; a quarter of a day is 63 (computed)
        assert_eq!(pieces(lot.lot), (128, false));
        assert_eq!(pieces(lot.start_below), (63, false));
        assert_eq!(pieces(lot.stock), (191, false));
        assert_eq!(lot.at_start(), 128, "a whole lot, not half the places");
    }

    #[test]
    fn blanks_before_a_press_have_lots_of_their_own_without_racks() {
        let part = Part {
            lot: Some(200),
            start_below: Some(40),
            stock: Some(300),
            ..roof()
        };
        let blanks = of(&part, true, 250.0, &Timetabled::default());
        assert_eq!(blanks.lot_column, "blank_lot");
        assert_eq!((blanks.lot.pieces, blanks.start_below.pieces), (125, 63));
        // blanks that are parts themselves take what is said of the part
        let flat = Part {
            press_line: None,
            ..part
        };
        let flat = of(&flat, true, 250.0, &Timetabled::default());
        assert_eq!((flat.lot_column, flat.lot.pieces), ("lot", 200));
        assert_eq!((flat.start_below.pieces, flat.stock.pieces), (40, 300));
    }

    #[test]
    fn a_usual_lot_fits_the_stock_given_and_the_stock_at_start_too() {
        let part = Part {
            stock: Some(90),
            ..roof()
        };
        let lot = of(&part, false, 250.0, &Timetabled::default());
        assert_eq!(lot.lot.pieces, 27, "90 places less a start level of 63");
        let part = Part {
            lot: Some(500),
            ..part
        };
        assert_eq!(
            of(&part, false, 250.0, &Timetabled::default()).at_start(),
            90
        );
    }

    #[test]
    fn a_lot_of_the_timetable_stands_where_the_book_gives_none() {
        let key = ("roof".to_owned(), false);
        let made = MadeIn {
            lot: 96.4,
            safety: 0.0,
            at_start: 30.0,
            unit: 0,
        };
        let timetabled = Timetabled {
            made: BTreeMap::from([(key, made)]),
            ..Timetabled::default()
        };
        let lot = of(&roof(), false, 250.0, &timetabled);
        assert_eq!((lot.lot.pieces, lot.lot.given), (97, false));
        assert_eq!(lot.stock.pieces, 97 + 63, "and its stock holds it");
        let part = Part {
            lot: Some(200),
            ..roof()
        };
        assert_eq!(of(&part, false, 250.0, &timetabled).lot.pieces, 200);
    }
}
