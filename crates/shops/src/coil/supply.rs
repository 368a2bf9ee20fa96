//! The coils of the book: what each is, what is cut from it, what its metal
//! comes to.

use std::collections::BTreeMap;

use book::{Book, Coil as CoilRow, Problem};
use formulas::{KilogramsPerCubicMetre, coil};
use units::{Kilograms, Millimetres};

use super::clients::Share;
use super::cutting::Cutting;
use super::figures::{Figures, cell, cell_or_usual};
use super::model::{CoilUse, Metal, Scrap};
use super::orders::Use;
use super::parts::Shown;
use super::wrong;

/// The book's coils with their use.
pub(super) fn coils(
    figures: &mut Figures,
    shown: &Shown<'_, '_>,
    used: &[(usize, Share)],
) -> Vec<CoilUse> {
    shown
        .specs
        .iter()
        .enumerate()
        .filter_map(|(s, spec)| {
            let row = spec.row?;
            let own: Vec<&Share> = used
                .iter()
                .filter(|(at, _)| *at == s)
                .map(|(_, share)| share)
                .collect();
            let mut coil = one(figures, shown.book, row)?;
            let net: f64 = own
                .iter()
                .map(|share| in_blanks(shown.cut, share, spec.delivered_mm))
                .sum();
            coil.parts = own
                .iter()
                .map(|share| shown.cut[share.part].part.part.clone())
                .collect();
            coil.coils_a_week = own.iter().map(|share| share.coils()).sum();
            coil.kg_a_week = coil.coils_a_week * coil.mass_kg;
            coil.utilisation = if coil.kg_a_week > 0.0 {
                net / coil.kg_a_week
            } else {
                0.0
            };
            Some(coil)
        })
        .collect()
}

/// Metal of a week in the blanks that are needed.
fn in_blanks(cut: &[Cutting<'_>], share: &Share, delivered_mm: f64) -> f64 {
    let cutting = &cut[share.part];
    share.blanks.min(cutting.mean()) * cutting.net_kg(delivered_mm)
}

/// A coil by its diameters, its mass and the side of its tolerance.
#[expect(
    clippy::too_many_lines,
    reason = "three formulas with their cells, one after the other"
)]
fn one(figures: &mut Figures, book: &Book, row: &CoilRow) -> Option<CoilUse> {
    let material = book.materials.iter().find(|m| m.material == row.material)?;
    let density = || {
        cell(
            KilogramsPerCubicMetre(material.density_kg_m3),
            material.at,
            "density_kg_m3",
        )
    };
    let name = &row.coil;
    let delivered = Millimetres(row.gauge_mm.0 + row.thicker_mm.0);
    let own = |value: Millimetres, column: &str| cell(value, row.at, column);
    let id = |what: &str| format!("coil.{name}.{what}");
    let by_mass = figures.add(
        &id("length"),
        format!("outer diameter and length of {name} by its mass"),
        row.at,
        coil::coil_from_mass(
            cell(row.mass_kg, row.at, "mass_kg"),
            own(row.inner_mm, "inner_mm"),
            own(row.width_mm, "width_mm"),
            own(delivered, "gauge_mm"),
            density(),
        ),
    )?;
    let outer = row.outer_mm.unwrap_or(by_mass.outer);
    let by_size = figures.add(
        &id("size"),
        format!("mass, length and wraps of {name} by its diameters"),
        row.at,
        coil::coil(
            cell_or_usual(outer, row.outer_mm.is_some(), row.at, "outer_mm"),
            own(row.inner_mm, "inner_mm"),
            own(row.width_mm, "width_mm"),
            own(delivered, "gauge_mm"),
            density(),
        ),
    )?;
    let loss = figures.add(
        &id("gauge"),
        format!("length of {name} lost by the side of its gauge"),
        row.at,
        coil::coil_gauge_loss(
            cell(Kilograms(row.mass_kg.0), row.at, "mass_kg"),
            own(row.width_mm, "width_mm"),
            own(row.gauge_mm, "gauge_mm"),
            own(delivered, "thicker_mm"),
            density(),
        ),
    )?;
    Some(CoilUse {
        coil: name.clone(),
        at: Some(row.at),
        material: row.material.clone(),
        gauge_mm: row.gauge_mm.0,
        delivered_mm: delivered.0,
        width_mm: row.width_mm.0,
        mass_kg: row.mass_kg.0,
        mass_by_size_kg: by_size.mass.0,
        inner_mm: row.inner_mm.0,
        outer_mm: outer.0,
        length_m: by_mass.length.0,
        wraps: by_size.wraps.0,
        gauge_loss: loss.loss.0,
        parts: Vec::new(),
        coils_a_week: 0.0,
        kg_a_week: 0.0,
        utilisation: 0.0,
        figures: ["length", "size", "gauge"].map(id).to_vec(),
    })
}

/// The use of each coil of the book in each week.
pub(super) fn uses<'a>(
    book: &'a Book,
    cut: &[Cutting<'_>],
    used: &[(usize, Share)],
) -> Vec<Use<'a>> {
    let weeks = cut
        .iter()
        .map(|cutting| cutting.weeks.len())
        .max()
        .unwrap_or(0);
    let mut uses: Vec<Use<'a>> = book
        .coils
        .iter()
        .map(|row| Use {
            row,
            weeks: vec![0.0; weeks],
        })
        .collect();
    for (spec, share) in used {
        let cutting = &cut[share.part];
        let mean = cutting.mean();
        // What a pair cuts beyond the need is cut in step with the need.
        let beyond = if mean > 0.0 { share.blanks / mean } else { 0.0 };
        if let Some(one) = uses.get_mut(*spec) {
            for (week, blanks) in one.weeks.iter_mut().zip(cutting.weeks) {
                *week += share.priced.coils(blanks * beyond);
            }
        }
    }
    uses
}

/// The metal of a mean week.
pub(super) fn metal(shown: &Shown<'_, '_>, used: &[(usize, Share)]) -> Metal {
    let mut metal = Metal::default();
    let mut scrap: BTreeMap<&str, Scrap> = BTreeMap::new();
    for (s, share) in used {
        let spec = &shown.specs[*s];
        let cutting = &shown.cut[share.part];
        let bought = share.coils() * spec.mass_kg;
        let net = in_blanks(shown.cut, share, spec.delivered_mm);
        let cut = share.blanks * cutting.net_kg(spec.delivered_mm);
        metal.bought_kg += bought;
        metal.in_blanks_kg += net;
        metal.cost += share.cost();
        let name = cutting.material.material.as_str();
        let own = scrap.entry(name).or_insert_with(|| Scrap {
            material: name.to_owned(),
            kg: 0.0,
            credit: 0.0,
        });
        own.kg += bought - cut;
        own.credit += (bought - cut) * cutting.scrap_price;
    }
    metal.scrap_credit = scrap.values().map(|own| own.credit).sum();
    metal.scrap = scrap.into_values().collect();
    if metal.bought_kg > 0.0 {
        metal.utilisation = metal.in_blanks_kg / metal.bought_kg;
    }
    metal
}

/// Coils whose mass and diameters disagree, and coils that nothing is cut from.
pub(super) fn notes(book: &Book, coils: &[CoilUse]) -> Vec<Problem> {
    let mut notes = Vec::new();
    for coil in coils {
        let Some(row) = book.coils.iter().find(|row| row.coil == coil.coil) else {
            continue;
        };
        let filled = coil.mass_kg / coil.mass_by_size_kg;
        if row.outer_mm.is_some() && !(0.95..=1.01).contains(&filled) {
            notes.push(wrong::mass_and_diameter(row, coil.mass_by_size_kg));
        }
        if coil.parts.is_empty() {
            notes.push(unused(book, row));
        }
    }
    notes
}

fn unused(book: &Book, row: &CoilRow) -> Problem {
    let due = book.deliveries.iter().filter(|due| due.coil == row.coil);
    let due: u32 = due.map(|due| due.coils).sum();
    // Nothing will ever use it up by itself.
    let (lying, mend) = match (row.on_hand, due) {
        (0, 0) => (
            String::new(),
            "order it no more, or take its row out of coils",
        ),
        (0, due) => (
            format!("; {due} are ordered"),
            "cancel the order, or sell what comes or cut it by hand; order it no more",
        ),
        (lie, 0) => (
            format!("; {lie} lie in the store"),
            "sell them or use them up by hand, and order it no more",
        ),
        (lie, due) => (
            format!("; {lie} lie in the store and {due} are ordered"),
            "cancel the order, sell what lies there or use it up by hand, and order it no more",
        ),
    };
    wrong::note(wrong::at(
        row.at,
        "not-used",
        "coil",
        format!(
            "`{}`, from which no part is cut at least cost{lying}",
            row.coil
        ),
        "a coil that a part is cut from",
        mend.to_owned(),
    ))
}
