//! The build order: planned by a job, changed by hand while one waits.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use book::{Book, Problem};
use whole::order::{
    BuildOrder, ByHand, DRIVING_SEED, Effort, Fault, HandMove, HandOrder, HandPlaces, Watch,
};

use super::{NoResult, Office};
use crate::jobs::{Ended, Job, Shop, Wanted};
use crate::store::{StoreError, held};

/// Why there is no order as moved.
#[derive(Debug)]
pub(crate) enum NoHand {
    /// No order was planned that could be moved.
    NotPlanned,
    /// A move that cannot be made.
    Fault(Fault),
    /// The book or the store stands against it.
    NoResult(NoResult),
}

impl From<StoreError> for NoHand {
    fn from(error: StoreError) -> Self {
        Self::NoResult(error.into())
    }
}

impl From<NoResult> for NoHand {
    fn from(error: NoResult) -> Self {
        Self::NoResult(error)
    }
}

impl From<Fault> for NoHand {
    fn from(fault: Fault) -> Self {
        Self::Fault(fault)
    }
}

/// The build order of a week with the seed that the flow is driven by.
pub(super) fn planned(
    book: &Book,
    wanted: Wanted,
    watch: &Watch<'_>,
) -> Result<BuildOrder, Vec<Problem>> {
    let (week, times) = match wanted {
        Wanted::Week(week, times) => (week, times),
        Wanted::Book | Wanted::Runs | Wanted::Paper | Wanted::Kept | Wanted::Rate(_) => (1, 1),
    };
    let effort = Effort {
        seed: DRIVING_SEED,
        times,
    };
    whole::order::order(book, week, effort, watch)
}

impl Office {
    /// Whether the week has an order to be planned; what stands against it is
    /// told with its rows, at once.
    pub(crate) fn order_can_be_planned(
        &self,
        revision: i64,
        wanted: Wanted,
    ) -> Result<(), NoResult> {
        let (_, checked) = self.sound(revision)?;
        let Wanted::Week(week, _) = wanted else {
            return Ok(());
        };
        whole::order::check(&checked.book, week).map_err(NoResult::Problems)
    }

    /// The planned order of a week after some moves.
    pub(crate) fn moved(
        &self,
        revision: i64,
        wanted: Wanted,
        moves: &[HandMove],
    ) -> Result<HandOrder, NoHand> {
        Ok(self.by_hand(revision, wanted)?.moved(moves)?)
    }

    /// What putting cars at each place would do, after some moves.
    pub(crate) fn places_for(
        &self,
        revision: i64,
        wanted: Wanted,
        moves: &[HandMove],
        (from, cars): (u32, u32),
    ) -> Result<HandPlaces, NoHand> {
        let ready = self.by_hand(revision, wanted)?;
        Ok(ready.places_for(moves, from, cars)?)
    }

    /// The whole plan of a week after some moves.
    pub(crate) fn moved_order(
        &self,
        revision: i64,
        wanted: Wanted,
        moves: &[HandMove],
    ) -> Result<BuildOrder, NoHand> {
        if moves.is_empty() {
            let plan = self.shop_plan(revision, Shop::Order, wanted)?;
            return plan.ok_or(NoHand::NotPlanned);
        }
        Ok(self.by_hand(revision, wanted)?.build_order(moves)?)
    }

    /// Ends a job with its order. The best of a search cut short is no plan to
    /// keep on the disk, but may be looked at, moved by hand and taken along
    /// until the program ends or the whole search is made.
    pub(super) fn end_order(&self, job: &Job, order: Result<BuildOrder, Vec<Problem>>) -> Ended {
        let cancelled = job.cancel.load(Ordering::Relaxed);
        // What was made ready to be moved was another order.
        held(&self.hands).remove(&job.order.key);
        match order {
            Ok(mut order) if cancelled => {
                order.proof.complete = false;
                self.cut_short(job.order.key, &order);
                Ended::Cancelled
            }
            order => self.end_shop(job, order),
        }
    }

    /// The planned order ready to be changed: made once, held in memory.
    fn by_hand(&self, revision: i64, wanted: Wanted) -> Result<Arc<ByHand>, NoHand> {
        let (digest, checked) = self.sound(revision)?;
        let key = Self::shop_key(Shop::Order, wanted, digest);
        if let Some(ready) = held(&self.hands).get(&key) {
            return Ok(ready);
        }
        let plan = self.shop_plan(revision, Shop::Order, wanted)?;
        let plan: BuildOrder = plan.ok_or(NoHand::NotPlanned)?;
        let ready = whole::order::by_hand(&checked.book, plan).map_err(NoResult::Problems)?;
        let ready = Arc::new(ready);
        held(&self.hands).put(key, Arc::clone(&ready));
        Ok(ready)
    }
}
