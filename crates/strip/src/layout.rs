//! What is asked of a strip and what is answered.

use std::fmt;
use std::sync::atomic::AtomicBool;

use units::SoFar;

use crate::outline::Outline;

/// Ways to lay blanks on a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// One row, all blanks alike.
    Single,
    /// Two blanks a pitch, the second turned half round.
    OpposedPair,
    /// Two rows of blanks all alike.
    TwoRow,
    /// Three rows of blanks all alike, each offset from the last by the same
    /// way across.
    ThreeRow,
    /// Two different blanks on one strip.
    MixedPair,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::Single,
        Self::OpposedPair,
        Self::TwoRow,
        Self::ThreeRow,
        Self::MixedPair,
    ];

    /// The word for it in questions and answers.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::OpposedPair => "opposed_pair",
            Self::TwoRow => "two_row",
            Self::ThreeRow => "three_row",
            Self::MixedPair => "mixed_pair",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// How blanks are parted from the strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cut {
    /// A blanking die: a web between blanks, a margin to the strip's edges.
    Die {
        /// Least distance between neighbouring blanks, mm.
        web_mm: f64,
        /// Least distance to the strip's edges, mm.
        edge_mm: f64,
    },
    /// A laser: the beam takes its kerf on each side of the web that is left
    /// standing; without a web one cut parts two blanks.
    Laser {
        /// Least width of metal left between two cuts, mm; 0 for a shared cut.
        web_mm: f64,
        /// Least width of metal left at the strip's edges, mm.
        edge_mm: f64,
        /// Width of the cut, mm.
        kerf_mm: f64,
    },
    /// Sheared off without web and margin: two straight sides of the blank are
    /// the strip's edges.
    CutOff,
}

impl Cut {
    /// Least distance between neighbouring blanks, mm.
    pub fn clearance_mm(&self) -> f64 {
        match *self {
            Self::Die { web_mm, .. } => web_mm,
            Self::Laser {
                web_mm, kerf_mm, ..
            } if web_mm > 0.0 => web_mm + 2.0 * kerf_mm,
            Self::Laser { kerf_mm, .. } => kerf_mm,
            Self::CutOff => 0.0,
        }
    }

    /// Least distance from a blank to the strip's edges, mm.
    pub fn margin_mm(&self) -> f64 {
        match *self {
            Self::Die { edge_mm, .. } => edge_mm,
            Self::Laser {
                edge_mm, kerf_mm, ..
            } => edge_mm + kerf_mm,
            Self::CutOff => 0.0,
        }
    }
}

/// A range of angles by which a blank may be turned on the strip, in degrees
/// counter-clockwise from its drawing, the feed along the drawing's first axis
/// at 0. A blank may always be turned half round as well, which leaves its grain
/// as it was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// The least angle.
    pub from_deg: f64,
    /// The largest.
    pub to_deg: f64,
}

impl Window {
    /// Any angle.
    pub const ANY: Self = Self {
        from_deg: 0.0,
        to_deg: 180.0,
    };
}

/// A second part on the same strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Partner {
    /// Its outline.
    pub outline: Outline,
    /// Its angles; empty for any.
    pub grain: Vec<Window>,
    /// How many blanks of the first and of the second part are needed for each
    /// other.
    pub ratio: (u32, u32),
}

/// What is to be laid on a strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The blank.
    pub blank: Outline,
    /// A second part, for mixed layouts.
    pub partner: Option<Partner>,
    /// The kinds of layout wanted.
    pub kinds: Vec<Kind>,
    /// How blanks are parted from the strip.
    pub cut: Cut,
    /// Angles that the grain allows; empty for any.
    pub grain: Vec<Window>,
    /// Strip widths that can be had, mm; none for any width.
    pub widths_mm: Option<Vec<f64>>,
    /// The longest pitch that the line feeds, mm.
    pub max_pitch_mm: Option<f64>,
    /// Whether blanks may be turned over.
    pub mirror_allowed: bool,
    /// How many cells of angle and offset to look into for each kind; more
    /// bring bound and layout nearer together. [`Request::EFFORT`] is the usual.
    pub effort: usize,
}

impl Request {
    /// The usual effort: some hundredths of a second for an outline of sixty points.
    pub const EFFORT: usize = 12_000;

    /// A request for the usual kinds, at any angle and width, with a die.
    pub fn die(blank: Outline, web_mm: f64, edge_mm: f64) -> Self {
        Self {
            blank,
            partner: None,
            kinds: vec![
                Kind::Single,
                Kind::OpposedPair,
                Kind::TwoRow,
                Kind::ThreeRow,
            ],
            cut: Cut::Die { web_mm, edge_mm },
            grain: Vec::new(),
            widths_mm: None,
            max_pitch_mm: None,
            mirror_allowed: false,
            effort: Self::EFFORT,
        }
    }
}

/// Where one blank of a pitch lies: the outline as drawn is turned over if
/// mirrored (across its first axis), turned about its origin, and its origin
/// put at the place. The strip runs along the first axis from its lower edge
/// at 0; the pattern repeats every pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// 0 for the blank, 1 for the partner.
    pub part: usize,
    /// Along the feed, mm.
    pub x_mm: f64,
    /// Across the strip, mm.
    pub y_mm: f64,
    /// Turned counter-clockwise by, degrees.
    pub rot_deg: f64,
    /// Whether it is turned over.
    pub mirrored: bool,
}

/// A finished layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Its kind.
    pub kind: Kind,
    /// The angle of the first blank, degrees counter-clockwise from its drawing.
    pub angle_deg: f64,
    /// Feed for each repeat, mm.
    pub pitch_mm: f64,
    /// Width of the strip bought, mm.
    pub width_mm: f64,
    /// Width that the layout needs, mm.
    pub needed_width_mm: f64,
    /// The blanks of one pitch.
    pub placements: Vec<Placement>,
    /// Metal in the blanks, net of holes, for the strip used.
    pub utilisation: f64,
    /// Least distance between neighbouring blanks, measured anew on the
    /// finished layout, mm.
    pub clearance_mm: f64,
    /// Least distance to the strip's edges, measured anew, mm.
    pub edge_clearance_mm: f64,
    /// No layout of the kind has a better utilisation.
    pub bound: f64,
}

impl Layout {
    /// Whether no layout of the kind is better by a thousandth of a percent.
    pub fn is_proven(&self) -> bool {
        self.bound <= self.utilisation * (1.0 + 1e-5)
    }
}

/// A kind of layout that cannot be laid within the limits.
#[derive(Clone, Debug, PartialEq)]
pub struct NoLayout {
    /// The kind.
    pub kind: Kind,
    /// Why, and what would free it.
    pub why: String,
}

/// What a request comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The layouts found, in the order of the kinds asked for.
    pub layouts: Vec<Layout>,
    /// Kinds without a layout.
    pub without: Vec<NoLayout>,
    /// Whether the search was stopped before its effort was spent; layouts
    /// and bounds hold all the same.
    pub cancelled: bool,
}

impl Outcome {
    /// The layout that uses the least strip for its metal; the first of equals.
    pub fn best(&self) -> Option<&Layout> {
        self.layouts.iter().fold(None, |best, layout| match best {
            // Equal but for rounding, the simpler kind stays.
            Some(best) if layout.utilisation <= best.utilisation + 1e-9 => Some(best),
            _ => Some(layout),
        })
    }
}

/// A request that cannot be taken up.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// Which part of the request: `web_mm`, `grain`, `widths_mm`.
    pub place: &'static str,
    /// What stands there.
    pub found: String,
    /// What could stand there.
    pub expected: String,
    /// The smallest change that mends it.
    pub mend: String,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            place,
            found,
            expected,
            mend,
        } = self;
        write!(f, "{place}: found {found}, expected {expected}; {mend}")
    }
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// The kind searched.
    pub kind: Kind,
    /// Share of all that is to be done.
    pub share: f64,
    /// The best of all kinds so far; none while there is none.
    pub best: Option<Best>,
}

/// The best layout found so far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Best {
    /// Its kind.
    pub kind: Kind,
    /// Share of the strip that it uses.
    pub utilisation: f64,
}

impl Best {
    /// The better of two, the one before where they use the same.
    pub(crate) fn better(before: Option<Self>, now: Self) -> Option<Self> {
        let kept = before.filter(|best| best.utilisation >= now.utilisation);
        Some(kept.unwrap_or(now))
    }
}

impl Progress {
    /// The best so far in words; none while there is none.
    pub fn so_far(&self) -> Option<SoFar> {
        self.best.map(|best| {
            let kind = best.kind.word().replace('_', " ");
            let lost = 100.0 * (1.0 - best.utilisation);
            SoFar::new(format!("% of the strip lost, {kind}"), lost, 0.0)
        })
    }
}

/// Watches a search and may stop it.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Set it to have the best found so far.
    pub cancel: &'a AtomicBool,
    /// Told how far the search is.
    pub progress: &'a (dyn Fn(Progress) + Sync),
}

static NEVER_CANCELLED: AtomicBool = AtomicBool::new(false);

impl Watch<'static> {
    /// Neither watched nor stopped.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER_CANCELLED,
            progress: &|_| {},
        }
    }
}
