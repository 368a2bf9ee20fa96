//! The search for the angle and the offset across the strip at which least
//! strip is used, by branch and bound over both at once.
//!
//! A cell is a range of angles and of offsets. What is surely forbidden
//! throughout it gives a pitch that no layout of the cell goes below, the
//! blank's height a width, and both together a use of strip that no layout of the
//! cell can beat. Cells are halved, the most promising first, until none can
//! hold anything better than what was found, or the effort is spent; the least of
//! the cells left is then the bound. A layout found is polished within its
//! neighbourhood, where the use of strip is smooth but for the kinks at event
//! angles, and set on an event angle where it lies on one.

mod cell;
mod polish;

use std::collections::BinaryHeap;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::across::{self, Intervals, Part, Scratch};
use crate::forbidden::Forbidden;
use crate::pitch;
use crate::point::Point;
use crate::skyline::{Skyline, height};
use cell::Cell;

/// How many rows a layout has, one blank a pitch in each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rows {
    One,
    Two,
    /// Three rows of one blank, each offset from the one below alike.
    Three,
}

/// Where the second row may stand across the strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Offsets {
    /// Anywhere.
    Free,
    /// Above the first only: the rows are alike.
    Above,
    /// So that both rows reach equally far across: one row of cut-off blanks.
    Flush,
}

/// What is searched.
pub(crate) struct Setting<'a> {
    pub(crate) rows: Rows,
    /// What a row forbids itself, the first and where it is another the second.
    pub(crate) own: Vec<&'a Forbidden>,
    /// What the first row forbids the second.
    pub(crate) cross: Option<&'a Forbidden>,
    pub(crate) skylines: [&'a Skyline; 2],
    pub(crate) offsets: Offsets,
    /// Metal of the blanks of one pitch, mm2.
    pub(crate) area: f64,
    /// No less than this is covered by the blanks of one pitch, each grown by
    /// half the web.
    pub(crate) grown: f64,
    pub(crate) web: f64,
    pub(crate) edge: f64,
    pub(crate) limits: Limits<'a>,
    /// Ranges of angles in radians, in order.
    pub(crate) angles: &'a [(f64, f64)],
    /// Angles at which something changes, in radians.
    pub(crate) events: &'a [f64],
    /// Cells to look into at most.
    pub(crate) effort: usize,
}

/// Limits of the strip.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits<'a> {
    /// Widths that can be had, ascending; none for any width.
    pub(crate) widths: Option<&'a [f64]>,
    pub(crate) pitch: f64,
}

impl Limits<'_> {
    /// The width bought for a width needed; infinite where none is wide enough.
    pub(crate) fn bought(&self, needed: f64) -> f64 {
        match self.widths {
            None => needed,
            Some(widths) => widths
                .iter()
                .copied()
                .find(|width| *width >= needed * (1.0 - 1e-12))
                .unwrap_or(f64::INFINITY),
        }
    }
}

/// A layout of the rows, by the numbers that fix it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    pub(crate) angle: f64,
    pub(crate) offset: f64,
    pub(crate) pitch: f64,
    pub(crate) shift: f64,
    /// Shift of a third row from the first.
    pub(crate) third: f64,
    pub(crate) needed: f64,
    pub(crate) width: f64,
    /// Strip used for each unit of metal.
    pub(crate) cost: f64,
}

/// What a search came to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Searched {
    pub(crate) found: Option<Found>,
    /// No layout uses less strip for each unit of metal; infinite where none
    /// keeps the limits.
    pub(crate) bound: f64,
    pub(crate) cancelled: bool,
}

/// The edges of the forbidden sets that come into a neighbourhood.
#[derive(Clone, Default)]
pub(crate) struct Listed {
    pub(crate) own: Vec<Vec<u32>>,
    pub(crate) cross: Vec<u32>,
    pub(crate) double: Vec<u32>,
}

/// Room for working, kept from evaluation to evaluation.
#[derive(Default)]
pub(crate) struct Desk {
    pub(crate) scratch: Scratch,
    pub(crate) one: Intervals,
    pub(crate) own: Intervals,
    pub(crate) cross: Intervals,
    pub(crate) double: Intervals,
    turned: Vec<Part>,
    turned_double: Vec<Part>,
}

/// What all offsets at one angle have in common; the rows' own intervals and the
/// turned edges lie on the desk meanwhile.
#[derive(Clone, Copy)]
pub(crate) struct Standing {
    angle: f64,
    /// The lowest and highest point of each row.
    spans: [(f64, f64); 2],
    /// The pitch that the rows need alone.
    alone: f64,
}

impl Setting<'_> {
    pub(crate) fn listed_all(&self) -> Listed {
        let all = |set: &Forbidden| (0..set.edges.len() as u32).collect::<Vec<u32>>();
        let cross = self.cross.map(all).unwrap_or_default();
        Listed {
            own: self.own.iter().map(|set| all(set)).collect(),
            double: match self.rows {
                Rows::Three => cross.clone(),
                _ => Vec::new(),
            },
            cross,
        }
    }

    /// The offset at which two rows reach equally far across.
    pub(crate) fn flush(&self, angle: f64) -> f64 {
        let by = Point::at_angle(angle);
        let low = |skyline: &Skyline| skyline.span(by).0;
        low(self.skylines[0]) - low(self.skylines[1])
    }

    /// The width that the rows need at an offset.
    fn needed(&self, [first, second]: [(f64, f64); 2], offset: f64) -> f64 {
        let (low, high) = first;
        let tall = match self.rows {
            Rows::One => high - low,
            Rows::Two => high.max(second.1 + offset) - low.min(second.0 + offset),
            Rows::Three => high - low + 2.0 * offset.abs(),
        };
        tall + 2.0 * self.edge
    }

    /// Strip that one pitch takes at least on a strip of a width: blanks grown by
    /// half the web lie apart, in the strip less its edges but half a web.
    pub(crate) fn least_strip(&self, width: f64) -> f64 {
        let beyond = self.web - 2.0 * self.edge;
        if beyond <= 0.0 {
            self.grown
        } else {
            self.grown * (width / (width + beyond))
        }
    }

    /// The layout with the least pitch at an angle and offset.
    pub(crate) fn evaluate(
        &self,
        listed: &Listed,
        angle: f64,
        offset: f64,
        desk: &mut Desk,
    ) -> Option<Found> {
        let spans = self.spans(Point::at_angle(angle));
        if self.limits.bought(self.needed(spans, offset)).is_infinite() {
            return None;
        }
        let standing = self.stand(listed, angle, desk);
        self.evaluate_at(&standing, offset, desk)
    }

    /// The lowest and highest point of each row at an angle.
    fn spans(&self, by: Point) -> [(f64, f64); 2] {
        let first = self.skylines[0].span(by);
        let second = match self.rows {
            Rows::Two => self.skylines[1].span(by),
            Rows::One | Rows::Three => first,
        };
        [first, second]
    }

    /// Works out what all offsets at an angle have in common.
    pub(crate) fn stand(&self, listed: &Listed, angle: f64, desk: &mut Desk) -> Standing {
        let by = Point::at_angle(angle);
        desk.own.clear();
        let mut alone = 0.0_f64;
        for (set, list) in self.own.iter().zip(&listed.own) {
            across::at(set, list, by, 0.0, &mut desk.scratch, &mut desk.one);
            alone = alone.max(pitch::alone(&desk.one));
            desk.own.extend_from_slice(&desk.one);
        }
        if let Some(set) = self.cross {
            across::turn(set, &listed.cross, by, &mut desk.turned);
            if self.rows == Rows::Three {
                across::turn(set, &listed.double, by, &mut desk.turned_double);
            }
        }
        Standing {
            angle,
            spans: self.spans(by),
            alone,
        }
    }

    /// The layout with the least pitch at an offset, after `stand`.
    pub(crate) fn evaluate_at(
        &self,
        standing: &Standing,
        offset: f64,
        desk: &mut Desk,
    ) -> Option<Found> {
        let &Standing {
            angle,
            spans,
            alone,
        } = standing;
        let needed = self.needed(spans, offset);
        let width = self.limits.bought(needed);
        if width.is_infinite() {
            return None;
        }
        if let Some(set) = self.cross {
            let scratch = &mut desk.scratch;
            across::along(set, &desk.turned, offset, scratch, &mut desk.cross);
            if self.rows == Rows::Three {
                let (turned, double) = (&desk.turned_double, &mut desk.double);
                across::along(set, turned, 2.0 * offset, scratch, double);
            }
        }
        let (fit, third) = match self.rows {
            Rows::One => {
                let fit = pitch::Fit {
                    pitch: alone,
                    shift: 0.0,
                };
                (fit, 0.0)
            }
            Rows::Two => (pitch::least(&desk.own, &desk.cross, alone)?, 0.0),
            Rows::Three => pitch::three_rows(&desk.own, &desk.cross, &desk.double, alone)?,
        };
        // More metal than strip would be a slip of rounding.
        let sound = fit.pitch * needed >= self.least_strip(needed) * (1.0 - 1e-6);
        let allowed = sound && fit.pitch <= self.limits.pitch * (1.0 + 1e-12);
        allowed.then_some(Found {
            angle,
            offset,
            pitch: fit.pitch,
            shift: fit.shift,
            third,
            needed,
            width,
            cost: fit.pitch * width / self.area,
        })
    }
}

/// Seeds cost as much as a cell each.
const MOST_SEEDS: usize = 10_000;

/// Gaps below this are rounding: the layout found is the best there is.
pub(crate) const PROVEN: f64 = 1e-6;

/// Searches all angles and offsets.
pub(crate) fn search(
    setting: &Setting<'_>,
    cancel: &AtomicBool,
    ticked: &mut dyn FnMut(f64, f64),
) -> Searched {
    let mut desk = Desk::default();
    let mut heap: BinaryHeap<Cell> = BinaryHeap::new();
    let mut best: Option<Found> = None;
    // Cells that can be halved no more, and those that were passed over.
    let mut settled = f64::INFINITY;
    let mut looked = 0_usize;
    let mut ways = polish::Polished::default();
    let mut cancelled = false;
    for found in seeds(setting, &mut desk) {
        if gains(&found, best.as_ref()) {
            best = Some(found);
        }
    }
    for cell in cell::roots(setting) {
        look(setting, cell, &mut heap, &mut best, &mut ways, &mut desk);
        looked += 1;
    }
    while let Some(cell) = heap.pop() {
        let beaten = best.map_or(f64::INFINITY, |best| best.cost * (1.0 - PROVEN));
        cancelled = cancel.load(Ordering::Relaxed);
        if cell.bound >= beaten || looked >= setting.effort || cancelled {
            settled = settled.min(cell.bound);
            break;
        }
        if looked.is_multiple_of(256) {
            let cost = best.map_or(f64::INFINITY, |best| best.cost);
            ticked(looked as f64 / setting.effort as f64, cost);
        }
        let bound = cell.bound;
        match cell.halves(setting) {
            None => settled = settled.min(bound),
            Some(halves) => {
                for half in halves {
                    looked += 1;
                    look(setting, half, &mut heap, &mut best, &mut ways, &mut desk);
                }
            }
        }
    }
    let best = best.map(|best| {
        let best = polish::to_the_bottom(setting, best, &mut desk);
        polish::set_on_events(setting, best, &mut desk)
    });
    let found_cost = best.map_or(f64::INFINITY, |best| best.cost);
    Searched {
        found: best,
        bound: settled.min(found_cost),
        cancelled,
    }
}

/// Whether a layout gains more than rounding does, so that of equal layouts the
/// one at the first event angle stays.
fn gains(found: &Found, best: Option<&Found>) -> bool {
    best.is_none_or(|best| found.cost < best.cost * (1.0 - 1e-9))
}

/// Layouts at the event angles. Blanks that fit each other exactly, like a
/// tongue in its slot, leave no range of angles or offsets for the search to
/// halve: they are found here or not at all.
fn seeds(setting: &Setting<'_>, desk: &mut Desk) -> Vec<Found> {
    let listed = setting.listed_all();
    let mut found = Vec::new();
    for angle in setting.events {
        let by = Point::at_angle(*angle);
        let offsets = match setting.cross {
            None => vec![0.0],
            // With a web a slot that fits is no likelier than any other.
            Some(set) if setting.web == 0.0 => {
                let slack = 2.0 * set.slack();
                let mut heights: Vec<f64> = set
                    .edges
                    .iter()
                    .map(|edge| height(edge.from, by))
                    .flat_map(|height| [height - slack, height + slack])
                    .filter(|offset| setting.offsets == Offsets::Free || *offset >= 0.0)
                    .collect();
                heights.sort_unstable_by(f64::total_cmp);
                heights.dedup_by(|a, b| (*a - *b).abs() < 0.1 * slack);
                heights
            }
            Some(_) => Vec::new(),
        };
        if found.len() + offsets.len() > MOST_SEEDS {
            break;
        }
        let standing = setting.stand(&listed, *angle, desk);
        found.extend(
            offsets
                .into_iter()
                .filter_map(|offset| setting.evaluate_at(&standing, offset, desk)),
        );
    }
    found
}

/// Bounds a cell, tries its middle, and keeps it if it may hold something.
fn look(
    setting: &Setting<'_>,
    mut cell: Cell,
    heap: &mut BinaryHeap<Cell>,
    best: &mut Option<Found>,
    ways: &mut polish::Polished,
    desk: &mut Desk,
) {
    cell.take_bound(setting, desk);
    if cell.bound.is_infinite() {
        return;
    }
    let near = cell.near;
    let middle = setting.evaluate(&cell.listed, near.angle, near.middle(), desk);
    if let Some(mut found) = middle {
        let cost = best.map_or(f64::INFINITY, |best| best.cost);
        if ways.worth(&found, cost, &near) {
            found = polish::polish(setting, found, &near, desk);
            ways.note(&near);
        }
        if gains(&found, best.as_ref()) {
            *best = Some(found);
        }
    }
    if cell.bound < best.map_or(f64::INFINITY, |best| best.cost) {
        heap.push(cell);
    }
}
