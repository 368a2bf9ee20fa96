//! A range of angles and offsets with the use of strip that none of it beats.

use std::cmp::Ordering;
use std::f64::consts::PI;

use super::{Desk, Listed, Offsets, Rows, Setting};
use crate::across::{self, Neighbourhood};
use crate::pitch::{self, MOST_BETWEEN};
use crate::point::Point;
use crate::skyline::height;

/// Angles finer than this are the same angle to any press.
const FINEST: f64 = 1e-11;

/// A cell of the search.
pub(super) struct Cell {
    pub(super) near: Neighbourhood,
    /// Strip for each unit of metal that no layout of the cell goes below.
    pub(super) bound: f64,
    pub(super) listed: Listed,
}

// The heap gives the largest first: the cell with the least bound, and among
// equals the one at the least angle and offset, so that every run is the same.
impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .bound
            .total_cmp(&self.bound)
            .then(other.near.angle.total_cmp(&self.near.angle))
            .then(other.near.low.total_cmp(&self.near.low))
    }
}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

/// The cells to begin with: an eighth of half a turn wide at most.
pub(super) fn roots(setting: &Setting<'_>) -> Vec<Cell> {
    let listed = setting.listed_all();
    let reach = setting.cross.map_or(0.0, |set| set.reach);
    let mut cells = Vec::new();
    for (from, to) in setting.angles {
        let count = ((to - from) / (PI / 8.0)).ceil().max(1.0);
        let slack = 0.5 * (to - from) / count;
        let mut k = 0.0;
        while k < count {
            let angle = from + (2.0 * k + 1.0) * slack;
            let (low, high) = match (setting.rows, setting.offsets) {
                (Rows::One, _) => (0.0, 0.0),
                (_, Offsets::Free) => (-reach, reach),
                (_, Offsets::Above) => (0.0, reach),
                (_, Offsets::Flush) => {
                    let flush = setting.flush(angle);
                    (flush, flush)
                }
            };
            cells.push(Cell {
                near: Neighbourhood {
                    angle,
                    slack,
                    low,
                    high,
                },
                bound: 0.0,
                listed: listed.clone(),
            });
            k += 1.0;
        }
    }
    cells
}

impl Cell {
    /// Halves the range that leaves more open; none if the cell is a point.
    pub(super) fn halves(self, setting: &Setting<'_>) -> Option<[Self; 2]> {
        let Neighbourhood {
            angle,
            slack,
            low,
            high,
        } = self.near;
        let reach = setting.own.iter().map(|set| set.reach).fold(0.0, f64::max);
        let by_angle = slack * reach >= 0.5 * (high - low);
        if by_angle && slack < FINEST {
            return None;
        }
        let [first, second] = if by_angle {
            let slack = 0.5 * slack;
            [angle - slack, angle + slack].map(|angle| Neighbourhood {
                angle,
                slack,
                low,
                high,
            })
        } else {
            let middle = self.near.middle();
            [(low, middle), (middle, high)].map(|(low, high)| Neighbourhood {
                angle,
                slack,
                low,
                high,
            })
        };
        let half = |near: Neighbourhood, listed: Listed| Self {
            near,
            bound: self.bound,
            listed,
        };
        Some([half(first, self.listed.clone()), half(second, self.listed)])
    }

    /// Works out the bound and drops the edges that do not come near.
    pub(super) fn take_bound(&mut self, setting: &Setting<'_>, desk: &mut Desk) {
        let width = setting.limits.bought(self.least_width(setting));
        let pitch = self.least_pitch(setting, desk);
        if width.is_infinite()
            || pitch.is_none_or(|pitch| pitch > setting.limits.pitch * (1.0 + 1e-9))
        {
            self.bound = f64::INFINITY;
            return;
        }
        let strip = pitch.unwrap_or(0.0) * width;
        let covered = setting.least_strip(width);
        self.bound = self.bound.max(strip.max(covered) / setting.area);
    }

    fn least_pitch(&mut self, setting: &Setting<'_>, desk: &mut Desk) -> Option<f64> {
        let near = self.near;
        let row = Neighbourhood {
            low: 0.0,
            high: 0.0,
            ..near
        };
        let mut kept = Vec::new();
        desk.own.clear();
        let mut alone = 0.0_f64;
        for (set, list) in setting.own.iter().zip(&mut self.listed.own) {
            let (scratch, one) = (&mut desk.scratch, &mut desk.one);
            across::surely(set, list, &row, scratch, one, &mut kept);
            list.clone_from(&kept);
            alone = alone.max(pitch::alone(&desk.one));
            desk.own.extend_from_slice(&desk.one);
        }
        let Some(set) = setting.cross else {
            return Some(alone);
        };
        let (scratch, cross) = (&mut desk.scratch, &mut desk.cross);
        across::surely(set, &self.listed.cross, &near, scratch, cross, &mut kept);
        self.listed.cross.clone_from(&kept);
        let long = match (desk.cross.first(), desk.cross.last()) {
            (Some(first), Some(last)) => last.1 - first.0,
            _ => 0.0,
        };
        // Too little is sure yet of the pitch to say what is squeezed between.
        let unsure = alone * MOST_BETWEEN <= long;
        if setting.rows == Rows::Three {
            let double = Neighbourhood {
                low: 2.0 * near.low,
                high: 2.0 * near.high,
                ..near
            };
            let list = &self.listed.double;
            across::surely(set, list, &double, scratch, &mut desk.double, &mut kept);
            self.listed.double.clone_from(&kept);
        }
        if unsure || alone == 0.0 {
            return Some(alone);
        }
        if setting.rows == Rows::Three {
            return pitch::three_rows_bound(&desk.own, &desk.cross, &desk.double, alone);
        }
        pitch::least(&desk.own, &desk.cross, alone).map(|fit| fit.pitch)
    }

    /// The least width of the cell: the height of each pair of points that is
    /// extreme in the middle, at its least over the angles.
    fn least_width(&self, setting: &Setting<'_>) -> f64 {
        let near = &self.near;
        let by = Point::at_angle(near.angle);
        let ends = [near.angle - near.slack, near.angle + near.slack].map(Point::at_angle);
        let least = |apart: Point| {
            let at_ends = height(apart, ends[0]).min(height(apart, ends[1]));
            // Positive throughout, the height is a concave arch of a sine.
            if at_ends > 0.0 {
                at_ends
            } else {
                height(apart, by) - apart.length() * near.slack
            }
        };
        let first = setting.skylines[0].extremes(by);
        let tall = match setting.rows {
            Rows::One => least(first.high - first.low),
            Rows::Three => least(first.high - first.low) + 2.0 * near.low.max(0.0),
            Rows::Two => {
                let second = setting.skylines[1].extremes(by);
                least(first.high - first.low)
                    .max(least(second.high - second.low))
                    .max(least(second.high - first.low) + near.low)
                    .max(least(first.high - second.low) - near.high)
            }
        };
        tall + 2.0 * setting.edge
    }
}
