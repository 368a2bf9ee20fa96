//! One line: who does what, its balance, the least moves, what it costs.

use balance::Watch;
use book::{At, Book, Problem};

use super::again::{Near, near_today};
use super::cells;
use super::choose;
use super::drift::Kept;
use super::keep;
use super::model::{
    Again, AssemblyLine, AssemblyStation, Choice, CostPoint, How, RobotCell, Stuck, Way,
};
use super::parallel::side_by_side;
use super::place::{Found, Placing};
use super::prepare::{Prepared, cycle};
use super::price::Prices;
use super::tally::{mean, places, sum};
use super::today;
use super::today_told::Today;
use super::work::{Doing, Work};
use super::{LineNeed, Question};
use crate::sheet::{Sheet, ShopValue};

/// What one line adds to the whole.
pub(super) struct Planned {
    pub(super) line: AssemblyLine,
    pub(super) choices: Vec<Choice>,
    pub(super) cells: Vec<RobotCell>,
}

/// A line that the problems of its rows leave without a balance; none where it
/// has no takt either.
pub(super) fn without(
    book: &Book,
    sheet: &mut Sheet,
    need: &LineNeed,
    (tasks, at): (usize, At),
    problems: &[Problem],
) -> Option<Planned> {
    let (takt_s, cycle_s) = cycle(sheet, book, need, at)?;
    let stuck = problems.iter().map(|problem| {
        let place = book::Table::find(&problem.table).zip(problem.row);
        Stuck {
            why: format!("{}; {}", problem.found, problem.mend),
            rows: place
                .map(|(table, row)| At { table, row })
                .into_iter()
                .collect(),
        }
    });
    Some(Planned {
        line: AssemblyLine {
            stuck: stuck.collect(),
            ..bare(need, tasks, takt_s, cycle_s)
        },
        choices: Vec::new(),
        cells: Vec::new(),
    })
}

/// A line of which only takt and cycle are known.
fn bare(need: &LineNeed, tasks: usize, takt_s: ShopValue, cycle_s: ShopValue) -> AssemblyLine {
    AssemblyLine {
        shop: need.shop.clone(),
        line: need.line.clone(),
        tasks,
        balanced: false,
        takt_s,
        cycle_s,
        two_sided: false,
        work_s: 0.0,
        stations: Vec::new(),
        bound: 0,
        proven: false,
        people: 0,
        efficiency: 0.0,
        cost_per_year: 0.0,
        cost_bound_per_year: 0.0,
        again: None,
        again_stuck: Vec::new(),
        today: None,
        frontier: Vec::new(),
        too_far: Vec::new(),
        stuck: Vec::new(),
    }
}

/// Plans one line.
pub(super) fn line(
    question: &Question<'_>,
    need: &LineNeed,
    ((takt_s, cycle_s), (work, prices)): Prepared<'_>,
    watch: &Watch<'_>,
) -> Planned {
    let book = question.book;
    let places = places(book, &work);
    let mut chosen = choose::choose(book, &work, &prices, &places, watch);
    let place = (need.shop.as_str(), need.line.as_deref());
    let mut cells = cells::cells(book, place, &work, &chosen.doing, &prices, watch);
    let frame = side_by_side(book, &work, &mut chosen, &places);
    let placing = Placing {
        book,
        work: &work,
        doing: &chosen.doing,
        cells: &cells,
        prices: &prices,
        frame: &frame,
        places: &places,
        steps: question.steps,
    };
    let parts = keep::Line {
        book,
        place,
        work: &work,
        prices: &prices,
    };
    let now = parts.today(&chosen.doing);
    let (near, balanced) = searched(question, &placing, (parts, &now), watch);
    let (again, again_stuck) = again_or_why(near.again);
    let settled = settled(balanced, again.as_ref());
    if let Some(others) = near.others.filter(|_| settled.is_today) {
        cells = cells::cells(book, place, &work, &others, &prices, watch);
        chosen.choices = choose::as_done(&work, chosen.choices, &others);
        chosen.doing = others;
    }
    let today = (!question.only_cost)
        .then(|| today_of(book, need, &work, &now, &prices, watch))
        .flatten();
    let mut told = AssemblyLine {
        two_sided: frame.two_sided,
        work_s: mean(&work, &chosen.doing),
        cost_bound_per_year: least_cost(&work, settled.found.bound, &prices),
        again,
        again_stuck,
        today,
        frontier: chosen.frontier,
        ..settled.told(bare(need, work.tasks.len(), takt_s, cycle_s))
    };
    sum(book, &mut told, &prices);
    with_own(&mut told, &cells);
    Planned {
        line: told,
        choices: chosen.choices,
        cells,
    }
}

/// The balance and, unless only its cost is asked for, the moves from today.
fn searched(
    question: &Question<'_>,
    placing: &Placing<'_>,
    (parts, now): (keep::Line<'_>, &[Doing]),
    watch: &Watch<'_>,
) -> (Near, Result<Kept<Found>, Vec<Stuck>>) {
    if question.only_cost {
        return (Near::default(), placing.balance(watch));
    }
    rayon::join(
        || near_today(placing, parts, now, watch),
        || placing.balance(watch),
    )
}

/// The moves from today, or why there are none.
fn again_or_why(again: Option<Result<Again, Vec<Stuck>>>) -> (Option<Again>, Vec<Stuck>) {
    match again {
        Some(Ok(again)) => (Some(again), Vec::new()),
        Some(Err(stuck)) => (None, stuck),
        None => (None, Vec::new()),
    }
}

/// The line's balance among the points of cost, those that it outdoes left out.
fn with_own(line: &mut AssemblyLine, cells: &[RobotCell]) {
    if line.frontier.is_empty() || line.stations.is_empty() {
        return;
    }
    let own = CostPoint {
        stations: line.stations.len() as u32,
        posts: line
            .stations
            .iter()
            .map(|station| station.posts.len() as u32)
            .sum(),
        robots: cells.len() as u32,
        cost_per_year: line.cost_per_year,
        // What holds for the point of the most stations holds for all.
        bound_per_year: line
            .frontier
            .iter()
            .map(|point| point.bound_per_year)
            .fold(line.cost_per_year, f64::min),
    };
    // Costs of the points are in whole money.
    let outdone = |one: &CostPoint, by: &CostPoint| {
        by.stations <= one.stations && by.cost_per_year <= one.cost_per_year + 1_000.0
    };
    line.cost_bound_per_year = line.cost_bound_per_year.max(own.bound_per_year - 1_000.0);
    line.frontier.retain(|point| !outdone(point, &own));
    let is_outdone = line
        .frontier
        .iter()
        .any(|point| point.stations <= own.stations && point.cost_per_year <= own.cost_per_year);
    if !is_outdone {
        line.frontier.push(own);
    }
    line.frontier.sort_by_key(|point| point.stations);
}

/// What the line's work costs at least, whoever does it: posts of people filled
/// to the last second, where robots could do a task the cheaper share of a post
/// of either, each tool that some task cannot do without once, and the stations that
/// no balance goes without; with robots in question, of these only one is sure.
fn least_cost(work: &Work<'_>, bound: u64, prices: &Prices) -> f64 {
    let mut people_s = 0.0;
    let mut either = 0.0;
    let mut tools: Vec<&str> = Vec::new();
    for (ways, share) in work.ways.iter().zip(&work.share) {
        let allowed = || ways.iter().filter(|way| way.refused.is_none());
        let cost = |way: &Way| way.seconds * share / work.cycle_s * prices.kind(&way.by);
        if allowed().any(|way| way.how == How::Robot) {
            either += allowed().map(cost).reduce(f64::min).unwrap_or(0.0);
        } else {
            let quickest = allowed().map(|way| way.seconds).reduce(f64::min);
            people_s += quickest.unwrap_or(0.0) * share;
        }
        if let [only] = allowed().collect::<Vec<_>>()[..] {
            tools.extend(only.tool.as_deref());
        }
    }
    tools.sort_unstable();
    tools.dedup();
    // Whole posts, but for rounding of the last bit.
    let posts = (people_s / work.cycle_s - 1e-9).ceil().max(0.0);
    let tools: f64 = tools.iter().map(|tool| prices.tool(Some(tool))).sum();
    let stations = if either > 0.0 {
        u64::from(bound > 0)
    } else {
        bound
    };
    posts * prices.person.per_year + either + tools + prices.station * stations as f64
}

/// The balance that is told.
struct Settled {
    found: Found,
    /// Whether it is today's after the moves.
    is_today: bool,
    too_far: Vec<Stuck>,
    stuck: Vec<Stuck>,
}

impl Settled {
    /// A line with this balance.
    fn told(self, line: AssemblyLine) -> AssemblyLine {
        AssemblyLine {
            balanced: self.stuck.is_empty(),
            stations: self.found.stations,
            bound: self.found.bound,
            proven: self.found.proven,
            too_far: self.too_far,
            stuck: self.stuck,
            ..line
        }
    }
}

fn settled(balanced: Result<Kept<Found>, Vec<Stuck>>, again: Option<&Again>) -> Settled {
    let kept = match balanced {
        Ok(kept) => kept,
        Err(stuck) => {
            let none = Found {
                stations: Vec::new(),
                bound: 0,
                proven: false,
            };
            return Settled {
                found: none,
                is_today: false,
                too_far: Vec::new(),
                stuck,
            };
        }
    };
    // Today's stations are no way out where more cars drift too far on them.
    let none = kept.found.stations.is_empty();
    let again = again.filter(|again| none || again.too_far.len() <= kept.over.len());
    let (stations, is_today, stuck) = or_today(kept.found.stations, again);
    Settled {
        found: Found {
            stations,
            ..kept.found
        },
        is_today,
        too_far: match again.filter(|_| is_today) {
            Some(again) => again.too_far.clone(),
            None => kept.over,
        },
        stuck,
    }
}

/// The stations found, or today's after the moves where those are fewer or the
/// search ended with none; whether they are today's.
fn or_today(
    stations: Vec<AssemblyStation>,
    again: Option<&Again>,
) -> (Vec<AssemblyStation>, bool, Vec<Stuck>) {
    let used = |station: &&AssemblyStation| !station.posts.is_empty();
    let today: Option<Vec<AssemblyStation>> =
        again.map(|again| again.stations.iter().filter(used).cloned().collect());
    if !stations.is_empty() && today.as_ref().is_none_or(|t| stations.len() <= t.len()) {
        return (stations, false, Vec::new());
    }
    let Some(today) = today else {
        let stuck = Stuck {
            why: "no balance was found before the search ended; this does not say that there is \
                  none. give each task its station of today to start from, or raise takt"
                .into(),
            rows: Vec::new(),
        };
        return (stations, false, vec![stuck]);
    };
    (today, true, Vec::new())
}

/// The line of today; none where no task has a station.
fn today_of(
    book: &Book,
    need: &LineNeed,
    work: &Work<'_>,
    doing: &[Doing],
    prices: &Prices,
    watch: &Watch<'_>,
) -> Option<Today> {
    let any = work.tasks.iter().any(|task| task.station.is_some());
    any.then(|| today::of_line(book, need, work, doing, prices, watch))
}
