//! Colours: how often they change, and what larger blocks save and cost.

use book::{Book, CoatKind, Colour};
use formulas::{Litres, Origin, Sourced, paint as trade};
use units::{Count, Money, Seconds, Share};

use super::{BlockPoint, ColourShare, Colours, PaintStep, Work};
use crate::sheet::{ShopValue, cell};

/// Blocks of the curve where the plant names no longest one.
const USUAL_LONGEST: u32 = 15;
/// The longest curve.
const MOST_POINTS: u32 = 60;

/// What blocks are priced by.
struct Prices {
    mix: Sourced<Vec<Share>>,
    bodies: f64,
    purge_l: f64,
    lost_s: f64,
    per_litre: f64,
    deviations: f64,
    net_h: f64,
}

impl Work<'_> {
    /// The colours; none where no coat is coloured, or there are not two.
    pub(super) fn colours(&mut self, steps: &[PaintStep]) -> Option<Colours> {
        let book = self.question.book;
        let position = self.steps.iter().position(|step| {
            step.row.coloured && matches!(step.kind, CoatKind::Spray | CoatKind::Dip)
        })?;
        let some = book.colours.iter().filter(|colour| colour.share.0 > 0.0);
        if some.count() < 2 {
            return None;
        }
        let (row, step) = (self.steps[position].row, &steps[position]);
        let change_s = mean(&book.colours, |colour| colour.change_s.0);
        let gap = (1.0 - row.access.0) * step.cycle_s.value;
        let prices = Prices {
            mix: mix(book),
            bodies: step.bodies,
            purge_l: mean(&book.colours, |colour| colour.purge_l),
            lost_s: (change_s - gap).max(0.0),
            per_litre: row.price_per_l.map_or(0.0, |price| price.0),
            deviations: book.plant.store_deviations.value,
            net_h: self.question.net.value.0 / 60.0,
        };
        let block = book.plant.colour_block.value;
        let change_probability = self.chance(&prices, block)?;
        let longest = book.plant.longest_colour_block.value;
        let longest = longest.unwrap_or(USUAL_LONGEST).min(MOST_POINTS).max(block);
        let curve: Vec<BlockPoint> = (1..=longest)
            .filter_map(|block| self.point(&prices, block))
            .collect();
        let best = curve
            .iter()
            .min_by(|a, b| a.cost().total_cmp(&b.cost()))
            .map_or(1, |point| point.block);
        let each = prices.mix.value.iter().zip(&book.colours);
        let mix = each.map(|(share, colour)| ColourShare {
            colour: colour.colour.clone(),
            share: share.0,
            longest_wait_h: prices.longest_wait(*share, block),
        });
        Some(Colours {
            mix: mix.collect(),
            change_probability,
            purge_l: prices.purge_l,
            change_s,
            lost_s: prices.lost_s,
            bodies: step.bodies,
            block,
            best,
            root: self.root(&prices),
            curve,
        })
    }

    /// The chance of a change as colours come; the block that the plant has as a
    /// figure beside it.
    fn chance(&mut self, prices: &Prices, block: u32) -> Option<ShopValue> {
        let at = self.question.book.colours.first()?.at;
        let blocks = prices.of(block);
        self.sheet
            .add("paint.blocks", "colour changes a week", at, blocks)?;
        let bodies = Count(prices.bodies.round().max(1.0));
        let random = self.sheet.add(
            "paint.random",
            "chance that the next body has another colour",
            at,
            trade::colour_changes(
                &prices.mix,
                Sourced::new(bodies, Origin::Figure("paint.visits".into())),
                Litres(prices.purge_l),
                Count(f64::from(block)),
            ),
        )?;
        Some(random.value(|made| made.change_probability.0))
    }

    fn point(&self, prices: &Prices, block: u32) -> Option<BlockPoint> {
        let plant = &self.question.book.plant;
        // The same formula refused the plan's own block already, if it does.
        let made = prices.of(block).ok()?.value;
        let weeks = plant.weeks_per_year.value;
        let stock = plant.body_value.value.0 * plant.stock_cost_share.value.0;
        let place = plant.body_place_cost_per_year.value.0;
        let hour = plant.paint_stop_cost_per_hour.value.0;
        Some(BlockPoint {
            block,
            changes: made.changes.0,
            purge_l: made.lost.0,
            stopped_h: made.stopped.0,
            waiting: made.waiting.0,
            places: made.places.0,
            wait_h: made.waiting.0 / prices.bodies * prices.net_h,
            change_cost: made.lost.0 * prices.per_litre + made.stopped.0 * hour,
            wait_cost: (made.waiting.0 * stock + made.places.0 * place) / weeks,
        })
    }

    /// The block by the square root, where both prices are known.
    fn root(&mut self, prices: &Prices) -> Option<ShopValue> {
        let plant = &self.question.book.plant;
        let at = self.question.book.colours.first()?.at;
        let hour = plant.paint_stop_cost_per_hour.value.0;
        let change = prices.purge_l * prices.per_litre + prices.lost_s / 3_600.0 * hour;
        let stock = plant.body_value.value.0 * plant.stock_cost_share.value.0;
        let place = plant.body_place_cost_per_year.value.0;
        let wait = (stock + place) / plant.weeks_per_year.value;
        if change <= 0.0 || wait <= 0.0 {
            return None;
        }
        let made = self.sheet.add(
            "paint.best_block",
            "colour block by the square root",
            at,
            trade::best_block(
                &prices.mix,
                Count(prices.bodies),
                Money(change),
                Money(wait),
            ),
        )?;
        Some(made.value(|block| block.0))
    }
}

impl Prices {
    /// Hours that the first body of a colour's block waits.
    fn longest_wait(&self, share: Share, block: u32) -> f64 {
        if share.0 <= 0.0 {
            return 0.0;
        }
        f64::from(block - 1) / (share.0 * self.bodies) * self.net_h
    }

    fn of(&self, block: u32) -> Result<formulas::Figure<trade::ColourBlocks>, formulas::Refusal> {
        trade::colour_blocks(
            &self.mix,
            Sourced::new(Count(self.bodies), Origin::Figure("paint.visits".into())),
            Count(f64::from(block)),
            Litres(self.purge_l),
            Seconds(self.lost_s),
            Count(self.deviations),
        )
    }
}

/// The shares of the colours, scaled to add to 1.
fn mix(book: &Book) -> Sourced<Vec<Share>> {
    let sum: f64 = book.colours.iter().map(|colour| colour.share.0).sum();
    let share = |row: &Colour| cell(Share(row.share.0 / sum), row.at, "share");
    let shares: Vec<Sourced<Share>> = book.colours.iter().map(share).collect();
    shares.into()
}

/// The mean over the changes: a colour is changed to as often as it comes behind
/// another.
fn mean(colours: &[Colour], of: impl Fn(&Colour) -> f64) -> f64 {
    let often = |colour: &Colour| colour.share.0 * (1.0 - colour.share.0);
    let all: f64 = colours.iter().map(often).sum();
    if all <= 0.0 {
        return 0.0;
    }
    let sum: f64 = colours
        .iter()
        .map(|colour| often(colour) * of(colour))
        .sum();
    sum / all
}
