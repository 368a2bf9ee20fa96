//! What all bakes together do to adhesives and alloys.

use book::{HeatLimit, Repair, Severity};
use formulas::{Celsius, KilojoulesPerMole, Origin, Sourced, paint as trade};
use units::Minutes;

use super::{HeatSum, PaintStep, RepairHeat, Work, said, told};
use crate::sheet::{ShopValue, cell};

/// A bake: how long metal has which temperature.
#[derive(Clone, Debug)]
struct Bake {
    minutes: Sourced<Minutes>,
    metal: Sourced<Celsius>,
}

impl Work<'_> {
    /// Every limit of the book against the bakes.
    pub(super) fn heat(&mut self, steps: &[PaintStep]) -> Vec<HeatSum> {
        let book = self.question.book;
        let bakes: Vec<Option<Bake>> = steps.iter().map(bake).collect();
        let of = |row: &HeatLimit| self.limit(row, &bakes);
        book.heat_limits.iter().filter_map(of).collect()
    }

    fn limit(&mut self, row: &HeatLimit, bakes: &[Option<Bake>]) -> Option<HeatSum> {
        let all: Vec<Bake> = bakes.iter().flatten().cloned().collect();
        let normal = self.equivalent(row, &all)?;
        let book = self.question.book;
        let repairs: Vec<RepairHeat> = book
            .repairs
            .iter()
            .filter_map(|repair| {
                let adds = self.adds(row, repair, bakes)?;
                let left = row.most_min.map(|most| most.0 - normal.value);
                let bears = left.filter(|_| adds > 0.0).map(|left| {
                    // a body is not repaired a thousand times
                    (left / adds + 1e-9).floor().clamp(0.0, 1e3) as u32
                });
                Some(RepairHeat {
                    repair: repair.repair.clone(),
                    adds_min: adds,
                    bears,
                })
            })
            .collect();
        let sum = HeatSum {
            limit: row.limit.clone(),
            at: row.at,
            at_c: row.at_c,
            least_min: row.least_min.map(|least| least.0),
            most_min: row.most_min.map(|most| most.0),
            normal_min: normal,
            repairs,
        };
        self.outside_limit(&sum);
        Some(sum)
    }

    /// Minutes at the limit's temperature that do the same as the bakes.
    fn equivalent(&mut self, row: &HeatLimit, bakes: &[Bake]) -> Option<ShopValue> {
        let made = self.sheet.add(
            format!("paint.heat.{}", row.limit),
            format!("heat on {} by all bakes", row.limit),
            row.at,
            minutes_at(row, bakes),
        )?;
        Some(made.value(|minutes| minutes.0))
    }

    /// What one repair adds.
    fn adds(&self, row: &HeatLimit, repair: &Repair, bakes: &[Option<Bake>]) -> Option<f64> {
        let mut own: Vec<Bake> = Vec::new();
        if let Some(back) = repair.back_to.as_deref() {
            let from = self.step_of(back)?;
            own.extend(bakes.iter().skip(from).flatten().cloned());
        }
        if let Some(at) = repair.bake_c {
            own.push(Bake {
                minutes: cell(repair.bake_min, repair.at, "bake_min"),
                metal: cell(Celsius(at), repair.at, "bake_c"),
            });
        }
        Some(minutes_at(row, &own).ok()?.value.0)
    }

    fn outside_limit(&mut self, sum: &HeatSum) {
        let normal = sum.normal_min.value;
        let found = format!(
            "{} min at {} degrees for `{}` by all bakes together",
            told(normal),
            told(sum.at_c),
            sum.limit
        );
        if let Some(least) = sum.least_min.filter(|least| normal < *least) {
            self.broken.push(said(
                Severity::Error,
                (sum.at, "too-little-heat", "least_min"),
                found,
                format!("{} min at least", told(least)),
                "bake longer or hotter, or take an adhesive or alloy that needs less",
            ));
        } else if let Some(most) = sum.most_min.filter(|most| normal > *most) {
            self.broken.push(said(
                Severity::Error,
                (sum.at, "too-much-heat", "most_min"),
                found,
                format!("{} min at most", told(most)),
                "bake shorter or cooler, or take an adhesive or alloy that bears more",
            ));
        } else if let Some(way) = sum.repairs.iter().find(|way| way.bears == Some(0)) {
            self.notes.push(said(
                Severity::Note,
                (sum.at, "no-repair-borne", "most_min"),
                format!(
                    "{} min, and {} more by `{}`",
                    told(normal),
                    told(way.adds_min),
                    way.repair
                ),
                format!("{} min at most", told(sum.most_min.unwrap_or_default())),
                "bake that repair shorter or cooler, or keep such bodies apart",
            ));
        }
    }
}

/// The bake of an oven.
fn bake(step: &PaintStep) -> Option<Bake> {
    let window = step.window.as_ref()?;
    let at_metal = &window.at_metal_min;
    Some(Bake {
        minutes: Sourced::figure(Minutes(at_metal.value), at_metal.figure.clone()),
        metal: cell(Celsius(step.temperature_c?), step.at, "temperature_c"),
    })
}

fn minutes_at(
    row: &HeatLimit,
    bakes: &[Bake],
) -> Result<formulas::Figure<Minutes>, formulas::Refusal> {
    let reference = cell(Celsius(row.at_c), row.at, "at_c");
    // Without an energy the minutes above the temperature count in full.
    let counts = |bake: &&Bake| row.energy_kj_mol.is_some() || bake.metal.value.0 >= row.at_c;
    let own: Vec<&Bake> = bakes.iter().filter(counts).collect();
    let energy = match row.energy_kj_mol {
        Some(energy) => cell(KilojoulesPerMole(energy), row.at, "energy_kj_mol"),
        None => Sourced::new(KilojoulesPerMole(0.0), Origin::Given),
    };
    if own.is_empty() {
        let (none, at) = (vec![Minutes(0.0)], vec![Celsius(row.at_c)]);
        return trade::equivalent_heat(none, at, reference, energy);
    }
    let minutes: Vec<_> = own.iter().map(|bake| bake.minutes.clone()).collect();
    let metal: Vec<_> = own.iter().map(|bake| bake.metal.clone()).collect();
    trade::equivalent_heat(minutes, metal, reference, energy)
}
