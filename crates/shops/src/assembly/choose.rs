//! Person or robot: the least yearly cost of the line.

use balance::cost::{Kind, Mode, Staffed, StaffedLine, frontier_of_line, least_cost_of_line};
use balance::line::Line;
use balance::{Limits, Watch};
use book::Book;

use super::model::{Choice, CostPoint, How, Way};
use super::parallel::side_by_side;
use super::price::Prices;
use super::work::{Doing, Work, ticks};
use crate::known::Known;

/// Steps of the search over who does what: some twenty-five choices, each balanced.
const STEPS: u64 = 200_000;

/// What lines cost on so many stations, and the least with people alone.
static POINTS: Known<(Staffed, u32), Vec<StaffedLine>> = Known::new();
static PEOPLE: Known<(Staffed, u32), Option<u64>> = Known::new();

/// Tasks that robots could do above which people are taken where they can.
const MOST: usize = 60;

/// What was chosen for a line's tasks, in their order, and the robots' shares.
pub(super) struct Chosen {
    pub(super) doing: Vec<Doing>,
    pub(super) choices: Vec<Choice>,
    pub(super) frontier: Vec<CostPoint>,
}

/// Chooses a way for every task of a line: the cheapest by its share of a post,
/// and where robots could do some, who makes the whole line cost least.
pub(super) fn choose(
    book: &Book,
    work: &Work<'_>,
    prices: &Prices,
    places: &[String],
    watch: &Watch<'_>,
) -> Chosen {
    let picked = Picked::of(book, work, prices, places, watch);
    let people = picked.asked.as_ref().map(|asked| asked.by_people(watch));
    let cost = picked.found().map(|line| line.cost_per_year);
    let open = |at: &usize| picked.priced[*at].iter().any(by_robot);
    let choices = (0..picked.priced.len())
        .filter_map(|at| {
            let way = picked.ways[at]?;
            let together = cost.zip(people).filter(|_| open(&at));
            Some(told(work, at, &picked.priced[at], way, together))
        })
        .collect();
    Chosen {
        doing: picked.doing(),
        choices,
        frontier: picked.points.iter().map(point).collect(),
    }
}

/// Who does each task of a line, without the reasons.
pub(super) fn who(
    book: &Book,
    work: &Work<'_>,
    prices: &Prices,
    places: &[String],
    watch: &Watch<'_>,
) -> Vec<Doing> {
    Picked::of(book, work, prices, places, watch).doing()
}

/// The ways taken.
struct Picked {
    priced: Vec<Vec<Way>>,
    ways: Vec<Option<usize>>,
    /// The tasks of each robot's station.
    robots: Vec<Vec<usize>>,
    /// The line as it was asked, where robots could do some of it.
    asked: Option<Asked>,
    /// What it costs on so many stations.
    points: Vec<StaffedLine>,
}

impl Picked {
    fn of(
        book: &Book,
        work: &Work<'_>,
        prices: &Prices,
        places: &[String],
        watch: &Watch<'_>,
    ) -> Self {
        let priced = priced(work, prices);
        let ways: Vec<Option<usize>> = priced.iter().map(|ways| cheapest(ways)).collect();
        let open = priced.iter().filter(|ways| ways.iter().any(by_robot));
        let is_asked = (1..=MOST).contains(&open.count());
        let asked = is_asked.then(|| Asked::of(book, work, &priced, prices, places));
        let points = asked
            .as_ref()
            .map_or_else(Vec::new, |asked| asked.points(watch));
        let mut picked = Self {
            asked,
            priced,
            ways,
            robots: Vec::new(),
            points,
        };
        if let Some((asked, found)) = picked.asked.as_ref().zip(picked.found()) {
            let modes = found.modes.iter().enumerate();
            let ways = modes.map(|(task, mode)| asked.ways[task].get(*mode).copied());
            let robots = found.alone.clone();
            picked.ways = ways.collect();
            picked.robots = robots;
        }
        picked
    }

    /// The cheapest of the points.
    fn found(&self) -> Option<&StaffedLine> {
        self.points.iter().min_by_key(|point| point.cost_per_year)
    }

    fn doing(&self) -> Vec<Doing> {
        doing(&self.priced, &self.ways, &self.robots)
    }
}

fn point(of: &StaffedLine) -> CostPoint {
    let posts = of.stations.iter().flatten();
    CostPoint {
        stations: of.stations.len() as u32,
        posts: posts.count() as u32,
        robots: of.alone.len() as u32,
        cost_per_year: of.cost_per_year as f64,
        bound_per_year: of.bound as f64,
    }
}

fn by_robot(way: &Way) -> bool {
    way.how == How::Robot && allowed(way)
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

/// The line with all its ways, as the solver wants it.
struct Asked {
    line: Staffed,
    /// Which of the task's ways each mode is.
    ways: Vec<Vec<usize>>,
    cycle: u32,
}

impl Asked {
    fn of(
        book: &Book,
        work: &Work<'_>,
        priced: &[Vec<Way>],
        prices: &Prices,
        places: &[String],
    ) -> Self {
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
        for (at, of_task) in priced.iter().enumerate() {
            let (mut own, mut which) = (Vec::new(), Vec::new());
            for (number, way) in of_task.iter().enumerate().filter(|(_, way)| allowed(way)) {
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
                // Units side by side take every other car.
                let units = work.parallel(at, &Doing::Person(way.clone()));
                let units = units.filter(|_| kind == 0).unwrap_or(1);
                own.push(Mode {
                    kind,
                    ticks: ticks(way.seconds / f64::from(units)),
                    tool,
                });
                which.push(number);
            }
            modes.push(own);
            ways.push(which);
        }
        Self {
            line: Staffed {
                line: by_tasks(book, work, priced, places),
                modes,
                kinds,
                people: Some(0),
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

    /// The least cost found with people alone.
    fn by_people(&self, watch: &Watch<'_>) -> Option<u64> {
        let mut line = self.line.clone();
        for modes in &mut line.modes {
            modes.retain(|mode| mode.kind == 0);
        }
        let question = (line, self.cycle);
        PEOPLE.ask(&question, watch.cancel, || {
            // It is no balance of the line, so that nothing is told of it.
            let quiet = Watch {
                progress: &|_| {},
                ..*watch
            };
            let found = least_cost_of_line(&question.0, self.cycle, &Self::limits(), &quiet);
            let found = found.ok()?;
            Some(found.cost_per_year)
        })
    }

    /// None where a task is longer than the cycle in every way: the line's own
    /// balance then says so.
    fn points(&self, watch: &Watch<'_>) -> Vec<StaffedLine> {
        let solve =
            || frontier_of_line(&self.line, self.cycle, &Self::limits(), watch).unwrap_or_default();
        POINTS.ask(&(self.line.clone(), self.cycle), watch.cancel, solve)
    }
}

/// The line task by task, whoever does them: its sides, cars and rules.
fn by_tasks(book: &Book, work: &Work<'_>, priced: &[Vec<Way>], places: &[String]) -> Line {
    let any = |ways: &Vec<Way>| {
        let by_hand = ways
            .iter()
            .find(|way| allowed(way) && way.how != How::Robot);
        let way = by_hand.or_else(|| ways.iter().find(|way| allowed(way)));
        way.map_or(Doing::Nobody, |way| Doing::Person(way.clone()))
    };
    let mut chosen = Chosen {
        doing: priced.iter().map(any).collect(),
        choices: Vec::new(),
        frontier: Vec::new(),
    };
    side_by_side(book, work, &mut chosen, places).line
}

/// The choice in words. `together` is the least cost found of the line, and that
/// with people alone.
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
                None => "people alone cannot do all of it".to_owned(),
            };
            format!("the line costs {cost} a year so, {people}")
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
