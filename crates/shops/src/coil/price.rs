//! What a blank costs on a coil: the coil's blanks, its ends lost, its scrap
//! credited.

use book::Coil as CoilRow;
use formulas::coil::{self, BlankFromCoil, BlanksPerCoil};
use formulas::{Figure, KilogramsPerCubicMetre, MoneyPerKilogram, Refusal, Sourced};
use strip::{Kind, Layout, Placement};
use units::{Count, Kilograms, Millimetres, Share};

use super::cutting::{Cutting, Sort, sort_of};
use super::figures::{cell, cell_or_usual};
use super::lay::{Laid, Place, micrometres};

/// A coil specification, of the book or thought of.
#[derive(Clone, Debug)]
pub(super) struct Spec<'a> {
    pub(super) name: String,
    /// Its row; none for one thought of.
    pub(super) row: Option<&'a CoilRow>,
    pub(super) sort: Sort,
    pub(super) gauge_mm: f64,
    /// The gauge delivered, on the whole.
    pub(super) delivered_mm: f64,
    pub(super) width_mm: f64,
    pub(super) mass_kg: f64,
}

impl<'a> Spec<'a> {
    pub(super) fn of(row: &'a CoilRow) -> Self {
        Self {
            name: row.coil.clone(),
            row: Some(row),
            sort: sort_of(row),
            gauge_mm: row.gauge_mm.0,
            delivered_mm: row.gauge_mm.0 + row.thicker_mm.0,
            width_mm: row.width_mm.0,
            mass_kg: row.mass_kg.0,
        }
    }

    /// A value of the coil with its cell, where it has one.
    pub(super) fn sourced<T>(&self, value: T, column: &str) -> Sourced<T> {
        match self.row {
            Some(row) => cell(value, row.at, column),
            None => value.into_given(),
        }
    }
}

/// A value fixed by the caller.
trait Given: Sized {
    fn into_given(self) -> Sourced<Self> {
        Sourced::new(self, formulas::Origin::Given)
    }
}

impl<T> Given for T {}

/// A part's blanks laid on a coil, with their cost.
#[derive(Clone, Debug)]
pub(super) struct Priced {
    /// The layout, of the part as it is.
    pub(super) layout: Layout,
    /// Blanks of the part, and of the one beside it, in a pitch.
    pub(super) per_pitch: (u32, u32),
    /// The part's share of the coil: 1, or by its metal.
    pub(super) share: f64,
    pub(super) pieces: Figure<BlanksPerCoil>,
    pub(super) cost: Figure<BlankFromCoil>,
}

impl Priced {
    /// Coils used by so many blanks.
    pub(super) fn coils(&self, blanks: f64) -> f64 {
        blanks / self.pieces.value.good_blanks.0 * self.share
    }

    /// Metal cost of a good blank.
    pub(super) fn blank(&self) -> f64 {
        self.cost.value.cost.0
    }
}

/// Every layout of a part alone on a coil, in the order of the kinds.
pub(super) fn alone(
    cut: &[Cutting<'_>],
    laid: &Laid,
    cutting: usize,
    spec: &Spec<'_>,
) -> Vec<Priced> {
    let place = Place {
        cutting,
        width: Some(micrometres(spec.width_mm)),
        mixed: false,
    };
    let Some(Ok(outcome)) = laid.at(&place) else {
        return Vec::new();
    };
    let part = &cut[cutting];
    let priced = outcome.layouts.iter().filter_map(|layout| {
        let layout = if part.part.mirrored {
            mirror(layout)
        } else {
            layout.clone()
        };
        let count = u32::try_from(layout.placements.len()).unwrap_or(u32::MAX);
        price(part, None, spec, layout, (count, 0)).ok().flatten()
    });
    priced.collect()
}

/// The two parts of a pair on one strip.
pub(super) fn together(
    cut: &[Cutting<'_>],
    laid: &Laid,
    (first, second): (usize, usize),
    spec: &Spec<'_>,
) -> Option<[Priced; 2]> {
    let place = Place {
        cutting: first,
        width: Some(micrometres(spec.width_mm)),
        mixed: true,
    };
    let outcome = laid.at(&place)?.as_ref().ok()?;
    let layout = outcome.layouts.iter().find(|l| l.kind == Kind::MixedPair)?;
    let count = |part: usize| {
        let own = layout.placements.iter().filter(|place| place.part == part);
        u32::try_from(own.count()).unwrap_or(u32::MAX)
    };
    let (a, b) = (count(0), count(1));
    let (one, two) = (&cut[first], &cut[second]);
    let own = price(one, Some(two), spec, layout.clone(), (a, b));
    let other = price(two, Some(one), spec, swapped(layout), (b, a));
    Some([own.ok()??, other.ok()??])
}

/// Prices a layout; none where the coil is too short for a single pitch.
fn price(
    part: &Cutting<'_>,
    beside: Option<&Cutting<'_>>,
    spec: &Spec<'_>,
    layout: Layout,
    per_pitch: (u32, u32),
) -> Result<Option<Priced>, Refusal> {
    let line = part.line;
    let area = |cutting: &Cutting<'_>, n: u32| cutting.own.area_mm2() * f64::from(n);
    let own = area(part, per_pitch.0);
    let share = own / (own + beside.map_or(0.0, |other| area(other, per_pitch.1)));
    let density = cell(
        KilogramsPerCubicMetre(part.material.density_kg_m3),
        part.material.at,
        "density_kg_m3",
    );
    let pieces = coil::blanks_per_coil(
        spec.sourced(Kilograms(spec.mass_kg), "mass_kg"),
        spec.sourced(Millimetres(spec.width_mm), "width_mm"),
        spec.sourced(Millimetres(spec.delivered_mm), "gauge_mm"),
        density,
        Millimetres(layout.pitch_mm),
        cell_or_usual(line.head_m, true, line.at, "head_m"),
        cell_or_usual(line.tail_m, true, line.at, "tail_m"),
        Count(f64::from(per_pitch.0)),
        // What the press spoils is in the blanks needed already.
        Share(1.0),
    )?;
    if pieces.value.good_blanks.0 < 1.0 {
        return Ok(None);
    }
    let credit = part.material.scrap_price_per_kg.is_some();
    let cost = coil::blank_from_coil(
        spec.sourced(Kilograms(spec.mass_kg * share), "mass_kg"),
        pieces.part(|pieces| pieces.good_blanks),
        Kilograms(part.net_kg(spec.delivered_mm)),
        cell(
            MoneyPerKilogram(part.price),
            part.material.at,
            "price_per_kg",
        ),
        cell_or_usual(
            MoneyPerKilogram(part.scrap_price),
            credit,
            part.material.at,
            "scrap_price_per_kg",
        ),
    )?;
    Ok(Some(Priced {
        layout,
        per_pitch,
        share,
        pieces,
        cost,
    }))
}

/// The layout seen from below: that of the blank turned over.
fn mirror(layout: &Layout) -> Layout {
    let over = |place: &Placement| Placement {
        y_mm: layout.width_mm - place.y_mm,
        rot_deg: -place.rot_deg,
        ..*place
    };
    Layout {
        angle_deg: -layout.angle_deg,
        placements: layout.placements.iter().map(over).collect(),
        ..layout.clone()
    }
}

/// The layout with its two parts' names swapped.
fn swapped(layout: &Layout) -> Layout {
    let other = |place: &Placement| Placement {
        part: 1 - place.part.min(1),
        ..*place
    };
    Layout {
        placements: layout.placements.iter().map(other).collect(),
        ..layout.clone()
    }
}
