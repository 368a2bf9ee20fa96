//! Person or robot: the least yearly cost of the tasks that either could do.

use balance::cost::{Crewed, Kind, Mode, Shop, frontier, least_cost};
use balance::{Limits, Watch};

use super::model::{Choice, CostPoint, How, Way};
use super::price::Prices;
use super::work::{Doing, Work, ticks};

/// Steps of the search over the few tasks that a robot could do; exact for
/// most.
const STEPS: u64 = 200_000;

/// Tasks above which cost is not searched station by station.
const MOST: usize = 60;

/// What was chosen for a line's tasks, in their order, and the robots' shares.
pub(super) struct Chosen {
    pub(super) doing: Vec<Doing>,
    pub(super) choices: Vec<Choice>,
    pub(super) frontier: Vec<CostPoint>,
}

/// Chooses a way for every task of a line.
pub(super) fn choose(work: &Work<'_>, prices: &Prices, watch: &Watch<'_>) -> Chosen {
    let picked = Picked::of(work, prices, watch);
    let asked = picked.asked.as_ref();
    let people = asked.map(|asked| asked.by_people(watch));
    let choices = (0..picked.priced.len())
        .filter_map(|at| {
            let way = picked.ways[at]?;
            let together = picked
                .cost
                .zip(people)
                .filter(|_| picked.open.contains(&at));
            Some(told(work, at, &picked.priced[at], way, together))
        })
        .collect();
    Chosen {
        doing: picked.doing(),
        choices,
        frontier: asked.map_or_else(Vec::new, |asked| asked.points(watch)),
    }
}

/// Who does each task of a line, without the reasons.
pub(super) fn who(work: &Work<'_>, prices: &Prices, watch: &Watch<'_>) -> Vec<Doing> {
    Picked::of(work, prices, watch).doing()
}

/// The ways taken.
struct Picked {
    priced: Vec<Vec<Way>>,
    /// Tasks that a robot could do.
    open: Vec<usize>,
    ways: Vec<Option<usize>>,
    /// The tasks of each robot's station.
    robots: Vec<Vec<usize>>,
    /// The tasks that a robot could do as they were asked, where they were.
    asked: Option<Asked>,
    /// Their least cost.
    cost: Option<u64>,
}

impl Picked {
    fn of(work: &Work<'_>, prices: &Prices, watch: &Watch<'_>) -> Self {
        let priced = priced(work, prices);
        let by_robot = |way: &Way| way.how == How::Robot && allowed(way);
        let open: Vec<usize> = (0..priced.len())
            .filter(|at| priced[*at].iter().any(by_robot))
            .collect();
        let ways: Vec<Option<usize>> = priced.iter().map(|ways| cheapest(ways)).collect();
        let is_asked = !open.is_empty() && open.len() <= MOST;
        let mut picked = Self {
            asked: is_asked.then(|| Asked::of(work, &priced, prices, &open)),
            priced,
            open,
            ways,
            robots: Vec::new(),
            cost: None,
        };
        let found = picked.asked.as_ref().and_then(|asked| asked.least(watch));
        if let Some(found) = found {
            picked.take(&found);
        }
        picked
    }

    fn take(&mut self, found: &Crewed) {
        self.cost = Some(found.cost_per_year);
        for station in &found.stations {
            let mut here = Vec::new();
            for (task, mode) in &station.work {
                let way = self.asked.as_ref().map(|asked| asked.ways[*task][*mode]);
                self.ways[self.open[*task]] = way;
                here.push(self.open[*task]);
            }
            if station.kind > 0 {
                self.robots.push(here);
            }
        }
    }

    fn doing(&self) -> Vec<Doing> {
        doing(&self.priced, &self.ways, &self.robots)
    }
}

pub(super) fn allowed(way: &Way) -> bool {
    way.refused.is_none()
}

/// The ways with their share of a post's cost.
pub(super) fn priced(work: &Work<'_>, prices: &Prices) -> Vec<Vec<Way>> {
    let of = |at: usize, way: &Way| {
        let share = way.seconds * work.share[at] / work.cycle_s;
        Way {
            cost_per_year: share * prices.kind(&way.by) + prices.tool(way.tool.as_deref()),
            ..way.clone()
        }
    };
    let tasks = work.ways.iter().enumerate();
    tasks
        .map(|(at, ways)| ways.iter().map(|way| of(at, way)).collect())
        .collect()
}

/// The cheapest of the allowed ways by its share of a post; by robot only
/// where nothing else is left.
pub(super) fn cheapest(ways: &[Way]) -> Option<usize> {
    let can = ways.iter().enumerate().filter(|(_, way)| allowed(way));
    let best = can.min_by(|(_, a), (_, b)| {
        let robot = (a.how == How::Robot).cmp(&(b.how == How::Robot));
        robot.then(a.cost_per_year.total_cmp(&b.cost_per_year))
    });
    best.map(|(at, _)| at)
}

fn doing(priced: &[Vec<Way>], ways: &[Option<usize>], robots: &[Vec<usize>]) -> Vec<Doing> {
    let mut cells: Vec<Vec<usize>> = robots.to_vec();
    let mut doing = Vec::new();
    for (at, way) in ways.iter().enumerate() {
        let Some(way) = way.map(|way| &priced[at][way]) else {
            doing.push(Doing::Nobody);
            continue;
        };
        if way.how != How::Robot {
            doing.push(Doing::Person(way.clone()));
            continue;
        }
        let known = cells.iter().position(|tasks| tasks.contains(&at));
        let cell = known.unwrap_or_else(|| {
            cells.push(vec![at]);
            cells.len() - 1
        });
        doing.push(Doing::Robot(way.clone(), cell));
    }
    doing
}

/// The tasks that a robot could do, as the solver wants them.
struct Asked {
    shop: Shop,
    /// Which of the task's ways each mode is.
    ways: Vec<Vec<usize>>,
    cycle: u32,
}

impl Asked {
    fn of(work: &Work<'_>, priced: &[Vec<Way>], prices: &Prices, open: &[usize]) -> Self {
        let whole = |money: f64| money.round().max(0.0) as u64;
        let mut kinds = vec![Kind {
            cost_per_year: whole(prices.person.per_year),
            tool_change: 0,
            tools: Vec::new(),
        }];
        kinds.extend(prices.robots.iter().map(|robot| Kind {
            cost_per_year: whole(robot.per_year),
            tool_change: ticks(robot.change_s),
            tools: Vec::new(),
        }));
        let mut tools: Vec<Vec<&str>> = vec![Vec::new(); kinds.len()];
        let (mut modes, mut ways) = (Vec::new(), Vec::new());
        for at in open {
            let (mut of_task, mut which) = (Vec::new(), Vec::new());
            for (number, way) in priced[*at].iter().enumerate() {
                if !allowed(way) {
                    continue;
                }
                let robot = prices.robots.iter().position(|kind| kind.name == way.by);
                let kind = robot.map_or(0, |robot| robot + 1);
                let tool = way.tool.as_deref().map(|tool| {
                    let known = tools[kind].iter().position(|name| *name == tool);
                    known.unwrap_or_else(|| {
                        tools[kind].push(tool);
                        kinds[kind].tools.push(whole(prices.tool(Some(tool))));
                        tools[kind].len() - 1
                    })
                });
                of_task.push(Mode {
                    kind,
                    ticks: ticks(way.seconds),
                    tool,
                });
                which.push(number);
            }
            modes.push(of_task);
            ways.push(which);
        }
        let place = |task: &usize| open.iter().position(|at| at == task);
        let after = open
            .iter()
            .map(|at| work.after[*at].iter().filter_map(place).collect());
        Self {
            shop: Shop {
                after: after.collect(),
                modes,
                kinds,
                station_per_year: whole(prices.station),
            },
            ways,
            cycle: ticks(work.cycle_s),
        }
    }

    fn limits() -> Limits {
        Limits {
            memory_mb: 100,
            steps: Some(STEPS),
        }
    }

    /// None where a task is longer than the cycle in every way: the line's own
    /// balance then says so.
    fn least(&self, watch: &Watch<'_>) -> Option<Crewed> {
        least_cost(&self.shop, self.cycle, &Self::limits(), watch).ok()
    }

    /// The least cost with people alone.
    fn by_people(&self, watch: &Watch<'_>) -> Option<u64> {
        let mut shop = self.shop.clone();
        for modes in &mut shop.modes {
            modes.retain(|mode| mode.kind == 0);
        }
        let found = least_cost(&shop, self.cycle, &Self::limits(), watch).ok()?;
        Some(found.cost_per_year)
    }

    fn points(&self, watch: &Watch<'_>) -> Vec<CostPoint> {
        let points = frontier(&self.shop, self.cycle, &Self::limits(), watch);
        let points = points.unwrap_or_default().into_iter();
        points
            .map(|point| CostPoint {
                posts: point.stations,
                robots: point.crewed.stations.iter().filter(|s| s.kind > 0).count() as u32,
                cost_per_year: point.crewed.cost_per_year as f64,
                bound_per_year: point.crewed.bound as f64,
            })
            .collect()
    }
}

/// The choice in words. `together` is the least cost of all tasks that a robot
/// could do, and that with people alone.
fn told(
    work: &Work<'_>,
    at: usize,
    ways: &[Way],
    chosen: usize,
    together: Option<(u64, Option<u64>)>,
) -> Choice {
    let others = ways.iter().enumerate().filter(|(way, _)| *way != chosen);
    let (can, refused): (Vec<&Way>, Vec<&Way>) =
        others.map(|(_, way)| way).partition(|way| allowed(way));
    let way = &ways[chosen];
    let runner_up = can
        .into_iter()
        .min_by(|a, b| a.cost_per_year.total_cmp(&b.cost_per_year));
    let reason = match (runner_up, together) {
        (None, _) if refused.is_empty() => "the only way that the book gives".to_owned(),
        (None, _) => format!("the only way left: {}", refusals(&refused)),
        (Some(other), Some((cost, people))) if cheaper(other, way) || way.how == How::Robot => {
            let people = match people {
                Some(people) => format!("{people} a year by people alone"),
                None => "people alone cannot do them all".to_owned(),
            };
            format!("the tasks that a robot could do cost {cost} a year so, {people}")
        }
        (Some(other), _) => format!(
            "{:.0} a year for its share of a post against {:.0} {}",
            way.cost_per_year,
            other.cost_per_year,
            how(other)
        ),
    };
    let task = work.tasks[at];
    Choice {
        task: task.task.clone(),
        at: task.at,
        chosen: way.clone(),
        reason,
        runner_up: runner_up.cloned(),
        refused: refused.into_iter().cloned().collect(),
    }
}

/// The choices as they are done near today, where that differs.
pub(super) fn as_done(work: &Work<'_>, choices: Vec<Choice>, doing: &[Doing]) -> Vec<Choice> {
    let of = |choice: Choice| {
        let task = work.tasks.iter().position(|task| task.task == choice.task);
        let way = task.and_then(|task| doing[task].way());
        match way.filter(|way| way.how != choice.chosen.how || way.by != choice.chosen.by) {
            None => choice,
            Some(way) => Choice {
                chosen: way.clone(),
                reason: "so that the least work moves from today".into(),
                runner_up: Some(choice.chosen),
                ..choice
            },
        }
    };
    choices.into_iter().map(of).collect()
}

fn cheaper(one: &Way, other: &Way) -> bool {
    one.cost_per_year < other.cost_per_year
}

fn refusals(refused: &[&Way]) -> String {
    let each = refused.iter().map(|way| {
        let why = way.refused.as_deref().unwrap_or_default();
        format!("not {}, since {why}", how(way))
    });
    each.collect::<Vec<_>>().join("; ")
}

fn how(way: &Way) -> String {
    match way.how {
        How::Hand => "by hand".into(),
        How::Aided => "by hand with an aid".into(),
        How::Robot => format!("by {}", way.by),
    }
}
