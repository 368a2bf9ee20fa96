//! A network made ready to run: names resolved to positions, distributions to
//! samplers, several units to a pool of single ones, arrivals to sources.

use crate::clock::{Ticks, ticks};
use crate::distribution::Sampler;
use crate::model::{AtClose, Basis, Calendar, LotRule};

pub(crate) const NONE: u32 = u32::MAX;

/// A network that has passed every check and can be run any number of times.
#[derive(Clone, Debug)]
pub struct Plan {
    /// One pool per station of the network, then one per arrival.
    pub(crate) pools: Vec<Pool>,
    /// Stations of the network; pools beyond it are arrivals.
    pub(crate) station_count: usize,
    /// Units of all pools, pool by pool.
    pub(crate) unit_count: usize,
    /// Links of the network, then one per arrival.
    pub(crate) links: Vec<Way>,
    pub(crate) link_count: usize,
    pub(crate) fleets: Vec<Carriers>,
    pub(crate) crews: Vec<u32>,
    pub(crate) calendars: Vec<Calendar>,
    pub(crate) class_names: Vec<String>,
    /// Stations that cap the attempts of a job, each with its own counter.
    pub(crate) capped: u32,
}

/// A station's fixed part.
#[derive(Clone, Debug)]
pub(crate) struct Pool {
    pub(crate) name: String,
    pub(crate) first_unit: u32,
    pub(crate) units: u32,
    pub(crate) intake: Intake,
    pub(crate) samplers: Vec<Sampler>,
    pub(crate) of_class: Vec<u16>,
    pub(crate) stops: Vec<StopPlan>,
    pub(crate) wear: f64,
    pub(crate) calendar: u32,
    pub(crate) outlets: Outlets,
    pub(crate) quality: QualityPlan,
    pub(crate) takes_carrier: Vec<u32>,
    pub(crate) returns_carrier: Vec<u32>,
    pub(crate) lots: Option<LotsPlan>,
    /// Jobs at every completion; more than one for batch arrivals.
    pub(crate) batch: u32,
    /// Jobs are born when work ends here (arrivals) instead of when it begins.
    pub(crate) arrival: bool,
    /// A job here may itself leave for good: it is not only a part of another
    /// that it is joined to further on.
    pub(crate) whole: bool,
}

/// Where a pool's jobs come from.
#[derive(Clone, Debug)]
pub(crate) enum Intake {
    /// The one incoming link.
    Link(u32),
    /// Whichever link has the oldest.
    Any(Vec<u32>),
    /// Released here, never short.
    Released(Released),
    /// A main job and parts.
    Each(Each),
    /// Items in lots.
    Lots,
}

/// Jobs that start at the pool.
#[derive(Clone, Debug)]
pub(crate) struct Released {
    pub(crate) plan: ReleasePlan,
    /// The link of the pool's own rework, which goes first: a job that came back
    /// has been begun. None if the pool does no rework of its own.
    pub(crate) back: u32,
}

impl Released {
    /// Jobs that start here, where none comes back.
    pub(crate) fn fresh(plan: ReleasePlan) -> Self {
        Self { plan, back: NONE }
    }
}

#[derive(Clone, Debug)]
pub(crate) enum ReleasePlan {
    /// Running totals of the shares.
    Mix(Vec<f64>),
    Order(Vec<u16>),
}

/// A merge.
#[derive(Clone, Debug)]
pub(crate) struct Each {
    /// The link of the main job; none if it is released here.
    pub(crate) main: u32,
    pub(crate) release: Option<ReleasePlan>,
    pub(crate) parts: Vec<PartPlan>,
    pub(crate) as_they_come: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct PartPlan {
    pub(crate) link: u32,
    pub(crate) needs: u32,
    /// For each class whether it is needed; empty means for all.
    pub(crate) classes: Vec<bool>,
}

/// Where a pool's good jobs go.
#[derive(Clone, Debug)]
pub(crate) enum Outlets {
    /// They leave the plant.
    Leave,
    One(u32),
    /// Link, share, classes that may go (empty: all).
    Share(Vec<(u32, f64, Vec<bool>)>),
    Each(Vec<u32>),
}

#[derive(Clone, Debug)]
pub(crate) struct QualityPlan {
    pub(crate) perfect: bool,
    pub(crate) first_time_ok: f64,
    pub(crate) scrap: f64,
    pub(crate) rework: u32,
    pub(crate) attempts: u32,
    /// Which counter of the job counts its attempts here.
    pub(crate) counter: u32,
    /// Shares that hold from an instant on.
    pub(crate) later: Option<Later>,
}

/// Shares of jobs right and lost from an instant on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Later {
    pub(crate) from: Ticks,
    pub(crate) first_time_ok: f64,
    pub(crate) scrap: f64,
}

impl QualityPlan {
    /// Shares of jobs right at the first try, and lost, at an instant.
    #[inline]
    pub(crate) fn shares(&self, at: Ticks) -> (f64, f64) {
        match &self.later {
            Some(later) if at >= later.from => (later.first_time_ok, later.scrap),
            _ => (self.first_time_ok, self.scrap),
        }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct StopPlan {
    pub(crate) cause: String,
    pub(crate) basis: Basis,
    pub(crate) between: Sampler,
    pub(crate) repair: Sampler,
    pub(crate) crew: u32,
    pub(crate) in_breaks: bool,
    /// Both draws come from one stream in turn, that of this station of the
    /// reference line.
    pub(crate) shared: Option<u32>,
}

#[derive(Clone, Debug)]
pub(crate) struct LotsPlan {
    pub(crate) items: Vec<ItemPlan>,
    pub(crate) changeover: Sampler,
    pub(crate) rule: LotRule,
    /// Mean hours of a changeover.
    pub(crate) changeover_h: f64,
}

impl LotsPlan {
    /// Hours that a lot takes on the mean, its changeover included.
    pub(crate) fn hours(&self, item: u32, pieces: u32) -> f64 {
        let pieces = f64::from(pieces) * self.items[item as usize].piece_h;
        self.changeover_h + pieces
    }
}

#[derive(Clone, Debug)]
pub(crate) struct ItemPlan {
    pub(crate) class: u16,
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) cycle: Sampler,
    /// Mean hours of a piece.
    pub(crate) piece_h: f64,
    pub(crate) scrap: f64,
    pub(crate) lot: u32,
    pub(crate) start_below: u32,
    pub(crate) drawn_per_hour: f64,
    pub(crate) at_start: u32,
    pub(crate) born_here: bool,
    /// Material that must lie ready before a lot starts.
    pub(crate) material: u32,
    /// Pieces that the station below takes at once.
    pub(crate) needed_at_once: u32,
}

/// A link's fixed part.
#[derive(Clone, Debug)]
pub(crate) struct Way {
    pub(crate) from_pool: u32,
    pub(crate) to_pool: u32,
    /// `u32::MAX` means without limit.
    pub(crate) holds: u32,
    pub(crate) transit: Ticks,
    /// A lot station watches its level.
    pub(crate) watched: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct Carriers {
    pub(crate) count: u32,
    pub(crate) return_time: Ticks,
}

impl Pool {
    /// The links by which jobs go on, rework included.
    pub(crate) fn onward(&self) -> Vec<u32> {
        let mut links = match &self.outlets {
            Outlets::Leave => Vec::new(),
            Outlets::One(link) => vec![*link],
            Outlets::Share(ways) => ways.iter().map(|way| way.0).collect(),
            Outlets::Each(links) => links.clone(),
        };
        let items = self.lots.iter().flat_map(|lots| &lots.items);
        links.extend(items.map(|item| item.to));
        links.extend((self.quality.rework != NONE).then_some(self.quality.rework));
        links
    }

    /// Whether what comes by a link is joined to another job here.
    pub(crate) fn joins(&self, link: u32) -> bool {
        match &self.intake {
            Intake::Each(each) => each.parts.iter().any(|part| part.link == link),
            _ => false,
        }
    }
}

impl Plan {
    /// How many units the stations have together.
    pub fn units(&self) -> usize {
        self.unit_count
    }

    /// From an instant on, seconds from the begin of a run (its warm-up
    /// included), other shares of a station's jobs are right at the first try
    /// and lost; what is not right goes the way that the network gives it. For
    /// the replay of a day whose rejects are not those of the days before.
    ///
    /// Two plans of which each has such an instant, or neither, draw the same
    /// luck. Shares beyond 0 and 1 count as these, and a station that the
    /// network does not have changes nothing.
    pub fn quality_from(&mut self, station: usize, from_s: f64, first_time_ok: f64, scrap: f64) {
        let Some(pool) = self.pools[..self.station_count].get_mut(station) else {
            return;
        };
        pool.quality.perfect = false;
        pool.quality.later = Some(Later {
            from: ticks(from_s.max(0.0)),
            first_time_ok: first_time_ok.clamp(0.0, 1.0),
            scrap: scrap.clamp(0.0, 1.0),
        });
    }

    pub(crate) fn unlimited(holds: Option<u32>) -> u32 {
        holds.unwrap_or(u32::MAX)
    }
}

impl Way {
    pub(crate) fn new(from: u32, to: u32, holds: Option<u32>, move_s: f64) -> Self {
        Self {
            from_pool: from,
            to_pool: to,
            holds: Plan::unlimited(holds),
            transit: ticks(move_s),
            watched: false,
        }
    }
}

/// Whether a closed calendar lets work in hand go on.
pub(crate) fn pauses(at_close: AtClose) -> bool {
    !matches!(at_close, AtClose::FinishFirst)
}
