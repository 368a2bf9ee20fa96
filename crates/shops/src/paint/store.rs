//! The store behind paint: places that give the line its order back.

use book::Severity;
use formulas::{Sourced, paint as trade};
use units::{Count, Seconds};

use super::{Colours, RepairLoad, StoreFor, StoreSize, Work, said, told};
use crate::sheet::Made;

impl Work<'_> {
    /// The store's places by formula, against those that the book has.
    pub(super) fn store(
        &mut self,
        colours: Option<&Colours>,
        repairs: &RepairLoad,
        takt: &Made<Seconds>,
    ) -> StoreSize {
        let plant = &self.question.book.plant;
        let places = plant
            .painted_lanes
            .value
            .saturating_mul(plant.painted_lane_places.value);
        let block = colours.and_then(|colours| {
            let own = |point: &&super::BlockPoint| point.block == colours.block;
            colours.curve.iter().find(own)
        });
        let block_places = block.map_or(0.0, |point| point.places);
        let mut ways = Vec::new();
        for way in repairs.ways.iter().filter(|way| way.visits > 0.0) {
            let made = self.sheet.add(
                format!("paint.store.{}", way.repair),
                format!("places that hold all others for {}", way.repair),
                way.at,
                trade::painted_store(
                    Sourced::figure(Count(block_places), "paint.blocks"),
                    Seconds(way.delay_h * 3_600.0),
                    takt.part(|takt| *takt),
                ),
            );
            ways.extend(made.map(|made| StoreFor {
                repair: way.repair.clone(),
                places: made.value(|made| made.places.0),
            }));
        }
        let least = ways
            .iter()
            .min_by(|a, b| a.places.value.total_cmp(&b.places.value));
        if let Some(least) = least.filter(|least| least.places.value > f64::from(places)) {
            let at = plant.painted_lane_places.at.or(plant.painted_lanes.at);
            self.notes.push(said(
                Severity::Note,
                (
                    at.unwrap_or_else(|| self.steps[0].row.at),
                    "painted-store",
                    "value",
                ),
                format!("{places} places behind paint"),
                format!(
                    "{} to hold the others for `{}`",
                    told(least.places.value),
                    least.repair
                ),
                "the line takes repaired bodies at a later place of the order; add lanes if it \
                 must not",
            ));
        }
        StoreSize {
            block_places,
            ways,
            places,
        }
    }
}
