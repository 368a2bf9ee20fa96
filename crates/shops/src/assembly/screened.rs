//! What the hard screens refuse, line by line, before anything is balanced.

use book::{At, Book};
use serde::Serialize;

use super::LineNeed;
use super::model::{How, Way};
use super::prepare::{way_out, ways_of_line};

/// A task of which the screens refuse a way.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Screened {
    /// The task.
    pub task: String,
    /// Its shop.
    pub shop: String,
    /// Its line, where the book names one.
    pub line: Option<String>,
    /// Its row.
    pub at: At,
    /// The ways refused, each with the reason.
    pub refused: Vec<Refused>,
    /// Who may still do it, in the order of the book's columns; empty where
    /// nobody may.
    pub left: Vec<String>,
    /// Bare hands are refused and an aid is left: it must be there.
    pub needs_aid: bool,
    /// What would free a task that nobody may do.
    pub mend: Option<String>,
}

impl Screened {
    /// Nobody may do it.
    #[must_use]
    pub fn is_stuck(&self) -> bool {
        self.left.is_empty()
    }
}

/// A way to do a task that a screen refuses.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Refused {
    /// By whom, with which aid.
    pub by: String,
    /// By hand, with an aid or by robot.
    pub how: How,
    /// Why not.
    pub why: String,
}

/// Every task of these lines of which a screen refuses a way: the lift, the
/// place in reach, the access, how exactly, the eye. Those that nobody may do
/// come first, then those that need an aid, each in the order of the book.
#[must_use]
pub fn screened(book: &Book, needs: &[LineNeed]) -> Vec<Screened> {
    let of_line = |need: &LineNeed| {
        let tasks = ways_of_line(book, need).into_iter();
        let told = tasks.filter_map(|(task, ways)| {
            let refused: Vec<Refused> = ways.iter().filter_map(refused).collect();
            let left: Vec<&Way> = ways.iter().filter(|way| way.refused.is_none()).collect();
            let is = |how: How| left.iter().any(|way| way.how == how);
            let stuck = left.is_empty();
            (!refused.is_empty()).then(|| Screened {
                task: task.task.clone(),
                shop: task.shop.clone(),
                line: task.line.clone(),
                at: task.at,
                needs_aid: is(How::Aided) && !is(How::Hand),
                left: left.iter().map(|way| name(way)).collect(),
                mend: stuck.then(|| way_out(&ways).to_owned()),
                refused,
            })
        });
        told.collect::<Vec<_>>()
    };
    let mut all: Vec<Screened> = needs.iter().flat_map(of_line).collect();
    all.sort_by_key(|task| (!task.is_stuck(), !task.needs_aid, task.at.row));
    all
}

fn refused(way: &Way) -> Option<Refused> {
    Some(Refused {
        by: name(way),
        how: way.how,
        why: way.refused.clone()?,
    })
}

/// Who, and with which aid: tools in hand are no question of who may.
fn name(way: &Way) -> String {
    match (way.how, &way.tool) {
        (How::Aided, Some(aid)) => format!("{} with {aid}", way.by),
        (How::Aided, None) => format!("{} with an aid", way.by),
        _ => way.by.clone(),
    }
}
