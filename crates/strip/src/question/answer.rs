//! What a question is answered with, as JSON writes it.

use serde::Serialize;

use super::Question;
use crate::layout::{Layout, NoLayout, Outcome, Placement};

/// How good an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// No layout of the kinds asked for is better.
    Optimal,
    /// The best found; the bound says what may be left.
    Feasible,
    /// No kind of layout keeps the limits.
    Infeasible,
}

/// The answer to a question; a face adds `wall_s`.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// How good it is.
    pub status: Status,
    /// The layout that uses the least strip for its metal.
    pub best: Option<LayoutAnswer>,
    /// All layouts, in the order asked for.
    pub layouts: Vec<LayoutAnswer>,
    /// Kinds without a layout, with the reason.
    pub without: Vec<WithoutAnswer>,
    /// Area of the blank net of holes, mm2.
    pub area_mm2: f64,
    /// Length of the blank's edges, holes included, mm.
    pub cut_length_mm: f64,
}

/// One layout.
#[derive(Clone, Debug, Serialize)]
pub struct LayoutAnswer {
    /// Its kind.
    pub layout: &'static str,
    /// Whether no layout of the kind is better.
    pub status: Status,
    /// Angle of the first blank.
    pub angle_deg: f64,
    /// Feed for each repeat.
    pub pitch_mm: f64,
    /// Width of the strip bought.
    pub width_mm: f64,
    /// Width that the layout needs.
    pub needed_width_mm: f64,
    /// Blanks of one pitch.
    pub blanks_per_pitch: usize,
    /// Metal in the blanks, net of holes, for the strip used.
    pub utilisation: f64,
    /// Where the blanks of one pitch lie.
    pub placements: Vec<PlacementAnswer>,
    /// Least distance between blanks, measured anew.
    pub clearance_mm: f64,
    /// Least distance to the strip's edges, measured anew.
    pub edge_clearance_mm: f64,
    /// No layout of the kind has a better utilisation.
    pub bound: f64,
}

/// Where a blank lies.
#[derive(Clone, Debug, Serialize)]
pub struct PlacementAnswer {
    /// 0 for the blank, 1 for the partner.
    pub part: usize,
    /// Along the feed.
    pub x: f64,
    /// Across the strip.
    pub y: f64,
    /// Turned counter-clockwise by.
    pub rot_deg: f64,
    /// Whether it is turned over first.
    pub mirrored: bool,
}

/// A kind without a layout.
#[derive(Clone, Debug, Serialize)]
pub struct WithoutAnswer {
    /// The kind.
    pub layout: &'static str,
    /// Why, and what would free it.
    pub why: String,
}

impl Answer {
    /// The answer to a question by its outcome.
    pub fn of(question: &Question, outcome: &Outcome) -> Self {
        let layouts: Vec<LayoutAnswer> = outcome.layouts.iter().map(LayoutAnswer::of).collect();
        let proven = outcome.layouts.iter().all(Layout::is_proven);
        let status = match (layouts.is_empty(), proven && !outcome.cancelled) {
            (true, _) if outcome.cancelled => Status::Feasible,
            (true, _) => Status::Infeasible,
            (false, true) => Status::Optimal,
            (false, false) => Status::Feasible,
        };
        Self {
            status,
            best: outcome.best().map(LayoutAnswer::of),
            layouts,
            without: outcome.without.iter().map(WithoutAnswer::of).collect(),
            area_mm2: question.request.blank.area_mm2(),
            cut_length_mm: question.request.blank.cut_length_mm(),
        }
    }
}

impl LayoutAnswer {
    /// A layout as it is written.
    pub fn of(layout: &Layout) -> Self {
        Self {
            layout: layout.kind.word(),
            status: if layout.is_proven() {
                Status::Optimal
            } else {
                Status::Feasible
            },
            angle_deg: layout.angle_deg,
            pitch_mm: layout.pitch_mm,
            width_mm: layout.width_mm,
            needed_width_mm: layout.needed_width_mm,
            blanks_per_pitch: layout.placements.len(),
            utilisation: layout.utilisation,
            placements: layout.placements.iter().map(PlacementAnswer::of).collect(),
            clearance_mm: layout.clearance_mm,
            edge_clearance_mm: layout.edge_clearance_mm,
            bound: layout.bound,
        }
    }
}

impl PlacementAnswer {
    fn of(placement: &Placement) -> Self {
        Self {
            part: placement.part,
            x: placement.x_mm,
            y: placement.y_mm,
            rot_deg: placement.rot_deg,
            mirrored: placement.mirrored,
        }
    }
}

impl WithoutAnswer {
    fn of(none: &NoLayout) -> Self {
        Self {
            layout: none.kind.word(),
            why: none.why.clone(),
        }
    }
}
