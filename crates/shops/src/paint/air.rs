//! Solvent to the air, by the mass of all coats and purges.

use book::{At, CoatKind, Severity};
use formulas::{KilogramsPerLitre, Litres, Sourced, SquareMetres, paint as trade};
use units::Share;

use super::{Colours, PaintStep, Solvent, SolventFrom, Work, said, told};
use crate::sheet::{cell, setting};

/// A source of solvent.
struct From {
    name: String,
    paint: Sourced<Litres>,
    density: Sourced<KilogramsPerLitre>,
    solvent: Sourced<Share>,
    escapes: Sourced<Share>,
}

impl Work<'_> {
    /// Solvent a body; none where no coat says what it holds, or no surface is
    /// known.
    pub(super) fn solvent(
        &mut self,
        steps: &[PaintStep],
        colours: Option<&Colours>,
    ) -> Option<Solvent> {
        let sources = self.sources(steps, colours);
        let at = self
            .steps
            .iter()
            .find(|s| s.row.solvent_share.0 > 0.0)?
            .row
            .at;
        let (area, of) = self.surface()?;
        let all = |of: fn(&From) -> Sourced<Share>| sources.iter().map(of).collect::<Vec<_>>();
        let paint: Vec<_> = sources.iter().map(|from| from.paint.clone()).collect();
        let density: Vec<_> = sources.iter().map(|from| from.density.clone()).collect();
        let (solvent, escapes) = (
            all(|from| from.solvent.clone()),
            all(|from| from.escapes.clone()),
        );
        let made = self.sheet.add(
            "paint.solvent",
            "solvent a body",
            at,
            trade::solvent_mass(
                paint,
                density,
                solvent,
                escapes,
                cell(SquareMetres(area), of, "area_m2"),
            ),
        )?;
        let plant = &self.question.book.plant;
        let per_m2 = made.value.per_area.0;
        let limit = &plant.solvent_limit_g_m2;
        if let Some(most) = limit.value.filter(|most| per_m2 > *most) {
            let row = limit.at.unwrap_or(at);
            self.broken.push(said(
                Severity::Error,
                (row, "solvent-limit", "value"),
                format!("{} g for each of {} m2", told(per_m2), told(area)),
                format!("{} g/m2 at most", told(most)),
                "catch more of it in booth and oven air, take paint with less solvent, waste \
                 less spray, or change colours less often",
            ));
        }
        let body_g = made.value(|made| made.mass.0);
        let year = self.question.bodies.value.0 * plant.weeks_per_year.value;
        Some(Solvent {
            year_t: body_g.value * year / 1e6,
            body_g,
            area_m2: area,
            per_m2_g: per_m2,
            limit_g: limit.value,
            sources: sources.iter().map(From::grams).collect(),
        })
    }

    fn sources(&self, steps: &[PaintStep], colours: Option<&Colours>) -> Vec<From> {
        let mut sources = Vec::new();
        for (step, of) in steps.iter().zip(self.steps) {
            let row = of.row;
            let Some(film) = step.film.as_ref().filter(|_| row.solvent_share.0 > 0.0) else {
                continue;
            };
            sources.push(From {
                name: row.coat.clone(),
                paint: film.part(row, step.passes),
                density: cell(KilogramsPerLitre(row.density_kg_l), row.at, "density_kg_l"),
                solvent: cell(row.solvent_share, row.at, "solvent_share"),
                escapes: cell(row.escapes, row.at, "escapes"),
            });
        }
        let coloured = self.steps.iter().find(|step| step.row.coloured);
        if let Some((colours, row)) = colours.zip(coloured.map(|step| step.row)) {
            let lost = colours.often() * colours.bodies * colours.purge_l;
            let escapes = &self.question.book.plant.purge_escapes;
            sources.push(From {
                name: "purges".to_owned(),
                paint: Sourced::figure(Litres(lost / self.question.bodies.value.0), "paint.blocks"),
                density: cell(KilogramsPerLitre(row.density_kg_l), row.at, "density_kg_l"),
                solvent: cell(row.solvent_share, row.at, "solvent_share"),
                escapes: setting(escapes, "purge_escapes"),
            });
        }
        sources
    }

    /// The surface that a limit counts: the largest that is dipped, else the
    /// largest coated.
    fn surface(&self) -> Option<(f64, At)> {
        let largest = |dipped: bool| {
            let areas = self.steps.iter().filter_map(|step| {
                let area = step.row.area_m2?;
                (!dipped || step.kind == CoatKind::Dip).then_some((area, step.row.at))
            });
            areas.max_by(|a, b| a.0.total_cmp(&b.0))
        };
        largest(true).or_else(|| largest(false))
    }
}

impl From {
    fn grams(&self) -> SolventFrom {
        let mass = self.paint.value.0 * self.density.value.0 * self.solvent.value.0;
        SolventFrom {
            from: self.name.clone(),
            grams: 1_000.0 * mass * self.escapes.value.0,
        }
    }
}
