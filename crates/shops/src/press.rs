//! The press shop: which line can make which part, in which lots and order each
//! blanking, laser and press line runs, and what quicker changeovers give.
//!
//! [`press`] takes the book, the pieces that a week needs and the lines' working
//! hours, and makes a [`Press`]. Forces are a screen by the trade's formulas;
//! lots come from the solver `lots`, under two hard limits: the days of cover
//! that the coil-to-car target leaves, and the places there are for the part.
//! The timetable is proven by replaying it.

mod answer;
mod follow;
mod making;
mod model;
mod overload;
mod quicker;
mod screen;
mod week;
mod work;

use book::{Book, Problem};
use formulas::Sourced;
use units::{Count, Days};

pub use crate::follow::{Progress, Watch};
pub use crate::sheet::{ShopFigure, ShopValue};
pub use model::{
    CycleLot, Halved, MovePart, Overload, PartLots, Policy, Press, PressLineLots, PressPart,
    Screen, TooStrong, WeekLot,
};

/// What a week needs of a part, beside the book.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// Good pieces a week; 0 leaves the part out.
    pub good: f64,
    /// Pieces a week that must be begun, scrap included.
    pub begun: f64,
    /// Panels left when the next lot comes.
    pub panel_safety: Sourced<Count>,
    /// Blanks left when the next lot comes.
    pub blank_safety: Sourced<Count>,
}

/// When a line works.
#[derive(Clone, Debug, PartialEq)]
pub struct LineHours {
    /// Working hours a week, after planned stops.
    pub net_h: f64,
    /// The same as spells, in hours from Monday 00:00, sorted and apart.
    pub open: Vec<(f64, f64)>,
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// Need of each row of its parts.
    pub needs: &'a [Need],
    /// Hours of each row of its press lines.
    pub hours: &'a [LineHours],
    /// Days from the panel joined to the finished car, at most.
    pub after: Sourced<Days>,
    /// How long and with which luck to search.
    pub search: lots::Settings,
}

impl Question<'_> {
    /// The search that plan, run and page share, so that they speak of the same
    /// timetable: under a second on two cores for a hundred parts.
    pub const SEARCH: lots::Settings = lots::Settings::quick(1);
}

/// Plans the press shop. Lines that lack time are no error but an
/// [`Overload`], and a part too strong for its line is a [`TooStrong`].
///
/// # Errors
///
/// All problems at once, each with its row: a part without speed, a value that
/// its formula refuses, a part for whose lots the target leaves no day.
pub fn press(question: &Question<'_>, watch: &Watch<'_>) -> Result<Press, Vec<Problem>> {
    let mut sheet = crate::sheet::Sheet::default();
    let (parts, too_strong) = screen::screens(&mut sheet, question.book);
    let work = work::Work::of(&mut sheet, question, &parts);
    if !sheet.problems.is_empty() {
        return Err(sheet.problems);
    }
    answer::answer(question, sheet, work, parts, too_strong, watch)
}

#[cfg(test)]
mod tests;
