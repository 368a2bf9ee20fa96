//! How many robots of which kind at which station.

use super::frame::Frame;
use super::hands::{Rule, Station, stirred};
use super::level::levelled;
use super::lines::Line;
use super::{Robot, Shop};
use crate::Watch;

/// What a line's search found.
pub(super) struct Found {
    /// The robots of each of its stations, in the shop's count.
    pub(super) stations: Vec<(usize, Vec<Robot>)>,
    /// Joints without a robot.
    pub(super) left: Vec<(usize, u32)>,
    pub(super) complete: bool,
}

/// Robots at each station, by kind.
type Crew = Vec<Vec<usize>>;

/// A crew with what a trial made of it.
#[derive(Clone)]
struct Trial {
    crew: Crew,
    rule: Rule,
    /// Ticks of work that found no robot.
    missing: u64,
}

/// Finds the crew of least cost for a line.
pub(super) fn search(
    shop: &Shop,
    line: &Line,
    bound: u64,
    steps: u64,
    (watch, tell): (&Watch<'_>, &dyn Fn(u64)),
) -> Found {
    let frame = Frame::of(shop, line);
    let mut search = Search {
        frame: &frame,
        watch,
        steps_left: steps,
        luck: 0x5851_f42d_4c95_7f2d ^ line.stations[0] as u64,
        options: options(&frame),
        clusters: super::bound::by_kinds(&frame, line),
    };
    let mut now = search.trial(search.settled());
    search.complete(&mut now);
    search.thin(&mut now);
    let mut best = now.clone();
    if best.missing == 0 {
        tell(search.cost(&best.crew));
    }
    while (best.missing > 0 || search.cost(&best.crew) > bound) && !search.ended() {
        let next = search.another(&now);
        let key =
            |trial: &Trial, search: &Search<'_, '_>| (trial.missing, search.cost(&trial.crew));
        if key(&next, &search) <= key(&now, &search) {
            now = next;
        }
        if key(&now, &search) < key(&best, &search) {
            best = now.clone();
            if best.missing == 0 {
                tell(search.cost(&best.crew));
            }
        }
    }
    let complete = !watch.cancelled();
    let (robots, left) = search.charts(&best);
    let stations = robots.into_iter().enumerate().map(|(at, robots)| {
        let limit = shop.stations[frame.stations[at]].ticks;
        (frame.stations[at], levelled(&frame, at, robots, limit))
    });
    let left = left.iter().enumerate().filter(|(_, left)| **left > 0);
    Found {
        stations: stations.collect(),
        left: left.map(|(at, left)| (frame.groups[at], *left)).collect(),
        complete,
    }
}

/// Kinds of robot that can be of use at each station.
fn options(frame: &Frame<'_>) -> Vec<(usize, usize)> {
    let mut options = Vec::new();
    for (station, groups) in frame.at.iter().enumerate() {
        let mut kinds: Vec<usize> = groups
            .iter()
            .flat_map(|group| frame.group(*group).kinds.iter().copied())
            .collect();
        kinds.sort_unstable();
        kinds.dedup();
        options.extend(kinds.into_iter().map(|kind| (station, kind)));
    }
    options
}

struct Search<'a, 'f> {
    frame: &'f Frame<'a>,
    watch: &'f Watch<'f>,
    steps_left: u64,
    luck: u64,
    options: Vec<(usize, usize)>,
    /// Kinds that can stand in for one another, and the fewest robots of them.
    clusters: Vec<(Vec<usize>, u64)>,
}

/// Of so many exchanges one is a larger upheaval.
const UPHEAVALS: usize = 40;

impl Search<'_, '_> {
    fn ended(&self) -> bool {
        self.steps_left == 0 || self.watch.cancelled()
    }

    fn next(&mut self, below: usize) -> usize {
        self.luck = stirred(self.luck, 1).max(1);
        (self.luck % below.max(1) as u64) as usize
    }

    fn cost(&self, crew: &Crew) -> u64 {
        let kinds = crew.iter().flatten();
        kinds.map(|kind| self.frame.shop.kinds[*kind].cost).sum()
    }

    /// Robots for what can be made at one station only.
    fn settled(&self) -> Crew {
        let mut crew: Crew = vec![Vec::new(); self.frame.stations.len()];
        for (at, robots) in crew.iter_mut().enumerate() {
            let place = &self.frame.shop.stations[self.frame.stations[at]];
            // By the kinds that can do it: the work settled here.
            let mut work: Vec<(&[usize], u64)> = Vec::new();
            for local in &self.frame.at[at] {
                let group = self.frame.group(*local);
                if group.stations.len() > 1 {
                    continue;
                }
                let own = super::bound::work(group);
                match work.iter_mut().find(|(kinds, _)| *kinds == group.kinds) {
                    Some((_, sum)) => *sum += own,
                    None => work.push((&group.kinds, own)),
                }
            }
            // The hardest to place first; what is over is the next one's.
            work.sort_by_key(|(kinds, _)| kinds.len());
            let mut over: Vec<(usize, u64)> = Vec::new();
            for (kinds, mut sum) in work {
                for (kind, spare) in &mut over {
                    if kinds.contains(kind) {
                        let taken = sum.min(*spare);
                        sum -= taken;
                        *spare -= taken;
                    }
                }
                let cheapest = kinds.iter().min_by_key(|k| self.frame.shop.kinds[**k].cost);
                let Some(kind) = cheapest else { continue };
                let each = u64::from(place.ticks);
                let count = sum.div_ceil(each);
                for _ in 0..count {
                    if robots.len() < place.most as usize {
                        robots.push(*kind);
                    }
                }
                over.push((*kind, count * each - sum));
            }
        }
        crew
    }

    /// How many robots of each cluster are above the fewest that it needs.
    fn spare(&self, crew: &Crew) -> Vec<u64> {
        let of = |(kinds, least): &(Vec<usize>, u64)| {
            let own = crew.iter().flatten().filter(|kind| kinds.contains(kind));
            (own.count() as u64).saturating_sub(*least)
        };
        self.clusters.iter().map(of).collect()
    }

    /// A crew a little different: where a cluster has robots to spare, two of it
    /// for one elsewhere or one for one; now and then several anywhere.
    fn another(&mut self, now: &Trial) -> Trial {
        let spare = self.spare(&now.crew);
        let loose: Vec<usize> = (0..spare.len()).filter(|at| spare[*at] > 0).collect();
        if now.missing > 0 || loose.is_empty() || self.next(UPHEAVALS) == 0 {
            let mut next = now.clone();
            self.shake(&mut next);
            self.complete(&mut next);
            self.thin(&mut next);
            return next;
        }
        let cluster = loose[self.next(loose.len())];
        let kinds = self.clusters[cluster].0.clone();
        let mut crew = now.crew.clone();
        for _ in 0..1 + self.next(2) {
            self.take_one(&mut crew, &kinds);
        }
        let own: Vec<(usize, usize)> = self
            .options
            .iter()
            .copied()
            .filter(|(station, kind)| {
                let most = self.frame.shop.stations[self.frame.stations[*station]].most;
                kinds.contains(kind) && crew[*station].len() < most as usize
            })
            .collect();
        if let Some((station, kind)) = own.get(self.next(own.len())) {
            crew[*station].push(*kind);
        }
        self.trial(crew)
    }

    /// Takes one robot of these kinds away, any.
    fn take_one(&mut self, crew: &mut Crew, kinds: &[usize]) {
        let own = |crew: &Crew| -> Vec<(usize, usize)> {
            let stations = crew.iter().enumerate();
            stations
                .flat_map(|(at, robots)| (0..robots.len()).map(move |robot| (at, robot)))
                .filter(|(at, robot)| kinds.contains(&crew[*at][*robot]))
                .collect()
        };
        let robots = own(crew);
        if let Some((at, robot)) = robots.get(self.next(robots.len())) {
            crew[*at].remove(*robot);
        }
    }

    /// What a crew leaves undone, by the plain rule and, where that is little, by
    /// some others.
    fn trial(&mut self, crew: Crew) -> Trial {
        let mut best = Trial {
            rule: Rule::PLAIN,
            missing: self.missing(&crew, Rule::PLAIN),
            crew,
        };
        // Where whole robots are missing another order will not make them up.
        let little = u64::from(self.frame.shop.stations[self.frame.stations[0]].ticks);
        for _ in 0..4 {
            if best.missing == 0 || best.missing > little || self.ended() {
                break;
            }
            let rule = Rule::by(self.next(usize::MAX) as u64);
            let missing = self.missing(&best.crew, rule);
            if missing < best.missing {
                best.missing = missing;
                best.rule = rule;
            }
        }
        best
    }

    fn missing(&mut self, crew: &Crew, rule: Rule) -> u64 {
        self.steps_left = self.steps_left.saturating_sub(1);
        let (_, left) = self.filled(crew, rule);
        let ticks = left.iter().enumerate().map(|(group, left)| {
            u64::from(*left) * u64::from(self.frame.group(group).ticks.max(1))
        });
        ticks.sum()
    }

    fn charts(&self, trial: &Trial) -> (Vec<Vec<Robot>>, Vec<u32>) {
        self.filled(&trial.crew, trial.rule)
    }

    /// All stations in turn; and the joints that found no robot.
    fn filled(&self, crew: &Crew, rule: Rule) -> (Vec<Vec<Robot>>, Vec<u32>) {
        let frame = self.frame;
        let count = frame.groups.len();
        let mut left: Vec<u32> = (0..count).map(|group| frame.group(group).joints).collect();
        let mut lost = vec![0; count];
        let mut all = Vec::with_capacity(crew.len());
        let mut must = vec![false; count];
        for (at, kinds) in crew.iter().enumerate() {
            must.fill(false);
            let last = |group: &&usize| frame.last[**group] == at;
            let mut open: Vec<usize> = frame.at[at].iter().filter(last).copied().collect();
            while let Some(group) = open.pop() {
                if !must[group] && left[group] > 0 {
                    must[group] = true;
                    open.extend(&frame.before[group]);
                }
            }
            let station = Station {
                frame,
                at,
                limit: frame.shop.stations[frame.stations[at]].ticks,
                rule,
            };
            all.push(station.fill(kinds, &mut left, &must));
            // What could not be made at its last station is lost; the rest goes on.
            for group in frame.at[at].iter().filter(last) {
                lost[*group] += std::mem::take(&mut left[*group]);
            }
        }
        (all, lost)
    }

    /// Adds the robots that do most for their cost until nothing is missing.
    fn complete(&mut self, trial: &mut Trial) {
        while trial.missing > 0 && !self.ended() {
            let mut best: Option<(u64, u64, Trial)> = None;
            for (station, kind) in self.options.clone() {
                let place = self.frame.stations[station];
                let full = trial.crew[station].len();
                if full >= self.frame.shop.stations[place].most as usize || self.ended() {
                    continue;
                }
                let mut crew = trial.crew.clone();
                crew[station].push(kind);
                let next = self.trial(crew);
                let gained = trial.missing.saturating_sub(next.missing);
                let cost = self.frame.shop.kinds[kind].cost.max(1);
                // Gain for cost, as whole numbers; luck among equals.
                let worth = gained.saturating_mul(1_000) / cost;
                let tie = self.next(1 << 20) as u64;
                if gained > 0
                    && best
                        .as_ref()
                        .is_none_or(|(other, luck, _)| (worth, tie) > (*other, *luck))
                {
                    best = Some((worth, tie, next));
                }
            }
            match best {
                Some((.., next)) => *trial = next,
                None => break,
            }
        }
    }

    /// Takes robots away as long as nothing is missing without them.
    fn thin(&mut self, trial: &mut Trial) {
        if trial.missing > 0 {
            return;
        }
        let mut places: Vec<(u64, u64, usize, usize)> = Vec::new();
        for (station, kinds) in trial.crew.iter().enumerate() {
            for kind in kinds {
                let cost = self.frame.shop.kinds[*kind].cost;
                places.push((u64::MAX - cost, 0, station, *kind));
            }
        }
        for place in &mut places {
            place.1 = self.next(1 << 20) as u64;
        }
        places.sort_unstable();
        places.dedup_by_key(|(_, _, station, kind)| (*station, *kind));
        for (.., station, kind) in places {
            if self.ended() {
                return;
            }
            // No cluster can do with fewer than its work takes.
            let spare = self.spare(&trial.crew);
            let in_cluster = self.clusters.iter().zip(spare);
            let tight = in_cluster.filter(|((kinds, _), _)| kinds.contains(&kind));
            if tight.map(|(_, spare)| spare).sum::<u64>() == 0 {
                continue;
            }
            let mut crew = trial.crew.clone();
            let Some(at) = crew[station].iter().position(|own| *own == kind) else {
                continue;
            };
            crew[station].remove(at);
            let next = self.trial(crew);
            if next.missing == 0 {
                *trial = next;
            }
        }
    }

    /// Takes a few robots away at random.
    fn shake(&mut self, trial: &mut Trial) {
        let count = 1 + self.next(3);
        let mut crew = trial.crew.clone();
        for _ in 0..count {
            let all: usize = crew.iter().map(Vec::len).sum();
            if all == 0 {
                break;
            }
            let mut at = self.next(all);
            for kinds in &mut crew {
                if at < kinds.len() {
                    kinds.remove(at);
                    break;
                }
                at -= kinds.len();
            }
        }
        // Otherwise the same robots would only be put back where they were.
        let option = self.next(self.options.len());
        if let Some((station, kind)) = self.options.get(option).copied() {
            let most = self.frame.shop.stations[self.frame.stations[station]].most;
            if count > 1 && crew[station].len() < most as usize {
                crew[station].push(kind);
            }
        }
        *trial = self.trial(crew);
    }
}
