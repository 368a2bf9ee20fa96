//! Films: litres a body by balance of volume, and the applicators that lay them
//! on, a robot each.

use book::{Coat, Severity};
use formulas::{
    Litres, LitresPerMinute, Micrometres, Origin, Sourced, SquareMetres, paint as trade, rate_plan,
};
use units::{Count, Seconds};

use super::{Applicators, CoatFilm, PaintStep, Work, said};
use crate::sheet::{ShopValue, cell};

impl Work<'_> {
    /// What every step lays on.
    pub(super) fn films(&mut self, steps: &mut [PaintStep]) {
        for (position, step) in steps.iter_mut().enumerate() {
            step.film = self.film(self.steps[position].row, step);
        }
    }

    fn film(&mut self, row: &Coat, step: &PaintStep) -> Option<CoatFilm> {
        let id = format!("paint.{}.{}", row.step, row.coat);
        let (paint, missed, wet) = self.litres(row, &id)?;
        let litres = paint.value.0;
        Some(CoatFilm {
            dry_um: row.film_um,
            wet_um: wet,
            transfer_efficiency: row.transfer_efficiency.map(|share| share.0),
            missed_l: missed,
            week_l: litres * step.bodies,
            cost: litres * step.passes * row.price_per_l.map_or(0.0, |price| price.0),
            litres,
            figure: match &paint.from {
                Origin::Figure(id) => Some(id.clone()),
                _ => None,
            },
            applicators: self.applicators(row, step, paint, &id),
        })
    }

    /// Litres a pass, those that miss the body, and the wet film.
    fn litres(&mut self, row: &Coat, id: &str) -> Option<(Sourced<Litres>, f64, Option<f64>)> {
        if let Some(wet) = row.wet_l {
            return Some((cell(Litres(wet), row.at, "wet_l"), 0.0, None));
        }
        let film = cell(Micrometres(row.film_um?), row.at, "film_um");
        let area = cell(SquareMetres(row.area_m2?), row.at, "area_m2");
        let solids = cell(row.solids_share?, row.at, "solids_share");
        let stays = cell(row.transfer_efficiency?, row.at, "transfer_efficiency");
        let made = self.sheet.add(
            format!("{id}.litres"),
            format!("{} on a body", row.coat),
            row.at,
            trade::film_paint(area, film, solids, stays),
        )?;
        Some((
            made.part(|made| made.paint),
            made.value.lost.0,
            Some(made.value.wet_film.0),
        ))
    }

    fn applicators(
        &mut self,
        row: &Coat,
        step: &PaintStep,
        paint: Sourced<Litres>,
        id: &str,
    ) -> Option<Applicators> {
        let flow = flow(row)?;
        let made = self.sheet.add_with(
            crate::sheet::Stands::Last,
            format!("{id}.applicators"),
            format!("applicators for {}", row.coat),
            row.at,
            trade::atomisers(
                paint,
                flow,
                cell(row.trigger, row.at, "trigger"),
                Sourced::figure(Seconds(step.cycle_s.value), step.cycle_s.figure.clone()),
                cell(row.access, row.at, "access"),
            ),
        )?;
        let needed = made.value.atomisers.0 as u32;
        let stations = step.stations.len().max(1) as u32;
        let room = row.robots_most.map(|most| most.saturating_mul(stations));
        let short = room.filter(|room| *room < needed);
        if let Some(room) = short {
            self.broken.push(said(
                Severity::Error,
                (row.at, "no-room-for-robots", "robots_most"),
                format!("room for {room} on `{}`, which needs {needed}", row.coat),
                "room for every applicator",
                format!(
                    "add {} more stations to the step, give the applicators more flow, or run \
                     the conveyor slower",
                    needed.div_ceil(row.robots_most.unwrap_or(1)) - stations
                ),
            ));
        }
        Some(Applicators {
            exact: made.value.exact.0,
            needed: made.value(|made| made.atomisers.0),
            room,
            over: short.is_some(),
            placed: room.map_or(needed, |room| needed.min(room)),
        })
    }
}

impl CoatFilm {
    /// A part of its litres as a formula takes them.
    pub(super) fn part(&self, row: &Coat, part: f64) -> Sourced<Litres> {
        let litres = Litres(self.litres * part);
        match &self.figure {
            Some(id) => Sourced::figure(litres, id.clone()),
            None => cell(litres, row.at, "wet_l"),
        }
    }
}

/// What an applicator lays on.
pub(super) fn flow(row: &Coat) -> Option<Sourced<LitresPerMinute>> {
    let flow = LitresPerMinute(row.flow_ml_min? / 1000.0);
    Some(cell(flow, row.at, "flow_ml_min"))
}

/// The figure of a time that is the same for every body.
pub(super) fn plain_cycle(
    work: &mut Work<'_>,
    id: String,
    title: String,
    at: book::At,
    seconds: Sourced<Seconds>,
) -> Option<ShopValue> {
    let made = rate_plan::cycle_of_work(vec![seconds], Seconds(0.0));
    let made = work.sheet.add(id, title, at, made)?;
    Some(made.value(|cycle| cycle.0))
}

/// Applicators of each of a step's stations: as even as whole ones allow, the
/// first stations first.
pub(super) fn shared(placed: u32, stations: usize) -> Vec<u32> {
    let stations = stations as u32;
    (0..stations)
        .map(|at| placed / stations + u32::from(at < placed % stations))
        .collect()
}

/// A count as a formula takes it.
pub(super) fn count(of: u32) -> Count {
    Count(f64::from(of))
}
