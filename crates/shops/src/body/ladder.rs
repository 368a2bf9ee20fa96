//! What a second of takt more, or a robot less, does.

use balance::robots::{Place, Plan, Shop, allocate};
use balance::{Fault, Watch};

use super::model::{AtTakt, OneLess};
use super::place::{TICKS, up};

/// Trials on each line for a point of the ladder; fewer than for the plan, since
/// the plan itself serves where no better one is found.
const STEPS: u64 = 800;

/// Seconds of takt, less and more.
const MORE: [f64; 6] = [-5.0, -2.0, -1.0, 1.0, 2.0, 5.0];

/// No more seconds than this are tried for one robot less.
const MOST_MORE: u32 = 20;

/// The plan's question with what turns takt into time to join.
pub(super) struct Ladder<'a> {
    pub(super) shop: &'a Shop,
    pub(super) plan: &'a Plan,
    /// For each station, the part of a second of takt that robots get.
    pub(super) share: &'a [f64],
    /// The longest takt, and cars a week at it.
    pub(super) takt_s: f64,
    pub(super) cars: f64,
    /// Money a year of each kind.
    pub(super) per_year: Vec<f64>,
}

impl Ladder<'_> {
    fn shop_at(&self, more_s: f64) -> Shop {
        let mut shop = self.shop.clone();
        for (place, share) in shop.stations.iter_mut().zip(self.share) {
            let ticks = f64::from(place.ticks) + more_s * share * TICKS;
            place.ticks = ticks.floor().max(1.0) as u32;
        }
        shop
    }

    fn robots_at(&self, more_s: f64, watch: &Watch<'_>) -> Result<Option<Plan>, Vec<Fault>> {
        let plan = allocate(&self.shop_at(more_s), STEPS, watch)?;
        Ok(plan.holds().then_some(plan))
    }

    fn cars_at(&self, more_s: f64) -> f64 {
        self.cars * self.takt_s / (self.takt_s + more_s)
    }

    fn cost(&self, plan: &Plan) -> f64 {
        let robots = plan.stations.iter().flatten();
        robots.map(|robot| self.per_year[robot.kind]).sum()
    }

    /// Robots at each takt. A plan of a shorter takt holds at a longer one too.
    pub(super) fn takts(&self, watch: &Watch<'_>) -> Vec<AtTakt> {
        let mut best: Option<Plan> = None;
        let mut told = Vec::new();
        for more_s in MORE {
            if watch_ended(watch) {
                break;
            }
            if more_s > 0.0 && self.plan.holds() {
                best = Some(lesser(best, self.plan.clone()));
            }
            if let Ok(Some(found)) = self.robots_at(more_s, watch) {
                best = Some(lesser(best, found));
            }
            told.push(AtTakt {
                more_s,
                cars_per_week: self.cars_at(more_s),
                robots: best.as_ref().map(|plan| plan.robots() as u32),
                robots_cost_per_year: best.as_ref().map(|plan| self.cost(plan)),
            });
        }
        told
    }

    /// The least whole seconds of takt at which one robot less is found.
    pub(super) fn one_less(&self, watch: &Watch<'_>) -> Option<OneLess> {
        let fewer = self
            .plan
            .robots()
            .checked_sub(1)
            .filter(|_| self.plan.holds())?;
        let within = |more: u32| {
            let found = self.robots_at(f64::from(more), watch).ok().flatten()?;
            (found.robots() <= fewer).then_some(found.robots())
        };
        let (mut low, mut high, mut found) = (1, 1, None);
        while high <= MOST_MORE && found.is_none() && !watch_ended(watch) {
            found = within(high);
            if found.is_none() {
                low = high + 1;
                high *= 2;
            }
        }
        let mut robots = found?;
        while low < high && !watch_ended(watch) {
            let middle = low + (high - low) / 2;
            match within(middle) {
                Some(found) => {
                    robots = found;
                    high = middle;
                }
                None => low = middle + 1,
            }
        }
        Some(OneLess {
            robots: robots as u32,
            more_s: f64::from(high),
            cars_per_week: self.cars_at(f64::from(high)),
        })
    }

    /// For each station the seconds of joining with one robot less, its joints
    /// kept; none where it has no robot to spare.
    pub(super) fn stations(&self, watch: &Watch<'_>) -> Vec<Option<f64>> {
        let rows = self.plan.stations.iter().enumerate();
        rows.map(|(at, robots)| {
            let fewer = robots.len().checked_sub(1).filter(|fewer| *fewer > 0)?;
            self.station_with(at, fewer, watch)
        })
        .collect()
    }

    fn station_with(&self, at: usize, fewer: usize, watch: &Watch<'_>) -> Option<f64> {
        let mut joints = vec![0; self.shop.groups.len()];
        for step in self.plan.stations[at].iter().flat_map(|robot| &robot.steps) {
            joints[step.group] += step.joints;
        }
        let kept: Vec<usize> = (0..joints.len())
            .filter(|group| joints[*group] > 0)
            .collect();
        let groups = kept.iter().map(|group| {
            let mut own = self.shop.groups[*group].clone();
            own.joints = joints[*group];
            own.stations = vec![0];
            own.after.retain(|before| joints[*before] > 0);
            for before in &mut own.after {
                *before = kept.binary_search(before).unwrap_or(0);
            }
            own
        });
        let mut shop = Shop {
            groups: groups.collect(),
            stations: Vec::new(),
            kinds: self.shop.kinds.clone(),
        };
        for kind in &mut shop.kinds {
            kind.cost = 1;
        }
        let work: u32 = shop.groups.iter().map(|g| g.joints * g.ticks).sum();
        let mut within = |ticks: u32| {
            shop.stations = vec![Place {
                ticks,
                most: fewer as u32,
            }];
            let plan = allocate(&shop, 60, watch).ok()?;
            let ends = plan.stations.iter().flatten().map(|robot| robot.end);
            let end = ends.max()?;
            plan.holds().then_some(end)
        };
        let mut high = within(work.saturating_mul(2).max(up(60.0)))?;
        let mut low = work / fewer as u32;
        while low < high && !watch_ended(watch) {
            let middle = low + (high - low) / 2;
            match within(middle) {
                Some(end) => high = end.min(middle),
                None => low = middle + 1,
            }
        }
        Some(f64::from(high) / TICKS)
    }
}

fn lesser(one: Option<Plan>, other: Plan) -> Plan {
    match one {
        Some(one) if one.robots() <= other.robots() => one,
        _ => other,
    }
}

fn watch_ended(watch: &Watch<'_>) -> bool {
    watch.cancel.load(std::sync::atomic::Ordering::Relaxed)
}
