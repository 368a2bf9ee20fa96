//! Final assembly and sub-plants: which work at which station, by a person or
//! by which robot, what it costs a year, and the least work to move when takt
//! or mix changes.
//!
//! [`assembly`] takes the book and each line's working time and cars, and makes
//! an [`Assembly`]. Hard screens come first (lift, reach, access, how exactly,
//! judgement); of the ways that are left the cheapest is taken. The line is
//! then balanced by the solver `balance`: two sides, the mean over the mix
//! within the cycle, the overload of each car limited. A robot has a station of
//! its own.
//!
//! *Never:* a requirement of its own, a clock.

mod cells;
mod choose;
mod frame;
mod guard;
mod home;
mod mix;
mod model;
mod parallel;
mod place;
mod price;
mod screen;
mod today;
mod today_told;
mod work;

pub use balance::{Progress, Watch};
use book::{At, Book, Problem, Task};
use formulas::{Sourced, calendar};
use rayon::prelude::*;
use units::{Count, Hours, Minutes};

use crate::sheet::{Sheet, Stands, problem, setting};
use parallel::{side_by_side, units};
use place::Placing;
use price::Prices;
use work::{Doing, Work};

pub use crate::sheet::{ShopFigure, ShopValue};
pub use model::{
    Again, Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Bead, CellStep, Choice,
    CostPoint, Fallback, Guard, Heavy, How, Move, RobotCell, Stuck, TimedTask, Way,
};
pub use today::today;
pub use today_told::{
    Broken, BrokenRule, OptionCycle, ProductCycle, StationCycle, Today, Unplaced, Waits,
};
pub use work::elsewhere;

/// What a line works on, beside the book.
#[derive(Clone, Debug, PartialEq)]
pub struct LineNeed {
    /// Its shop.
    pub shop: String,
    /// Its name, as the tasks give it.
    pub line: Option<String>,
    /// Its working time a week.
    pub net: Sourced<Minutes>,
    /// Cars a week that it works on.
    pub jobs: Sourced<Count>,
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// The lines, from [`lines`], each with its need.
    pub needs: &'a [LineNeed],
    /// Steps of search a line.
    pub steps: u64,
}

impl Question<'_> {
    /// The search that plan, run and page share: a page's line of a hundred
    /// tasks in a fraction of a second.
    pub const STEPS: u64 = 80_000;
}

/// The lines that tasks name, as shop and line, in the order of the book.
pub fn lines(book: &Book) -> Vec<(String, Option<String>)> {
    let mut lines: Vec<(String, Option<String>)> = Vec::new();
    for task in &book.tasks {
        let line = (task.shop.clone(), task.line.clone());
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// Plans all assembly lines. A line without a balance is no error but says
/// why; [`Assembly::holds`] is false then.
///
/// # Errors
///
/// All problems at once, each with its row, where no line is without any: a task
/// without a time, a robot that is none, a task that the screens leave no way, a
/// value that its formula refuses. A line with problems beside others without is
/// told as one that cannot be balanced.
pub fn assembly(question: &Question<'_>, watch: &Watch<'_>) -> Result<Assembly, Vec<Problem>> {
    let book = question.book;
    let mut sheet = Sheet::default();
    let mut plan = Assembly {
        holds: true,
        lines: Vec::new(),
        choices: Vec::new(),
        cells: Vec::new(),
        guards: Vec::new(),
        cost_per_year: 0.0,
        figures: std::collections::BTreeMap::new(),
    };
    let mut told: Vec<(usize, Planned)> = Vec::new();
    let mut asked = Vec::new();
    let mut refused = Vec::new();
    for (number, need) in question.needs.iter().enumerate() {
        let own = |task: &&Task| task.shop == need.shop && task.line == need.line;
        let tasks: Vec<&Task> = book.tasks.iter().filter(own).collect();
        let Some(at) = tasks.first().map(|task| task.at) else {
            continue;
        };
        let (count, before) = (tasks.len(), sheet.problems.len());
        match prepared(book, &mut sheet, need, tasks, at) {
            Some(ready) => asked.push((number, need, ready)),
            None => {
                let problems = sheet.problems.split_off(before);
                refused.push((number, need, (count, at), problems));
            }
        }
    }
    if asked.is_empty() || !sheet.problems.is_empty() {
        let all = refused.into_iter().flat_map(|(.., problems)| problems);
        sheet.problems.extend(all);
    } else {
        // A row of one line says nothing against the others.
        for (number, need, line, problems) in refused {
            match without(book, &mut sheet, need, line, &problems) {
                Some(planned) => told.push((number, planned)),
                None => sheet.problems.extend(problems),
            }
        }
    }
    if !sheet.problems.is_empty() {
        return Err(sheet.problems);
    }
    // Lines know nothing of each other, and come back in their order.
    told.par_extend(
        asked
            .into_par_iter()
            .map(|(number, need, ready)| (number, line(question, need, ready, watch))),
    );
    told.sort_by_key(|(number, _)| *number);
    for (_, planned) in told {
        plan.lines.push(planned.line);
        plan.choices.extend(planned.choices);
        plan.cells.extend(planned.cells);
    }
    let mut robots: Vec<String> = plan.cells.iter().map(|cell| cell.robot.clone()).collect();
    robots.sort();
    robots.dedup();
    plan.guards = guard::guards(&mut sheet, book, &robots);
    if !sheet.problems.is_empty() {
        return Err(sheet.problems);
    }
    let stuck = |line: &AssemblyLine| !line.stuck.is_empty();
    plan.holds =
        !plan.lines.iter().any(stuck) && plan.cells.iter().all(|cell| cell.stuck.is_none());
    plan.cost_per_year = plan.lines.iter().map(|line| line.cost_per_year).sum();
    plan.choices.sort_by_key(|choice| choice.at.row);
    plan.figures = sheet.figures;
    Ok(plan)
}

/// What one line adds to the whole.
struct Planned {
    line: AssemblyLine,
    choices: Vec<Choice>,
    cells: Vec<RobotCell>,
}

/// A line that the problems of its rows leave without a balance; none where it
/// has no takt either.
fn without(
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
            shop: need.shop.clone(),
            line: need.line.clone(),
            tasks,
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
            stuck: stuck.collect(),
        },
        choices: Vec::new(),
        cells: Vec::new(),
    })
}

/// Plans one line.
fn line(
    question: &Question<'_>,
    need: &LineNeed,
    ((takt_s, cycle_s), (work, prices)): Prepared<'_>,
    watch: &Watch<'_>,
) -> Planned {
    let book = question.book;
    let mut chosen = choose::choose(&work, &prices, watch);
    let place = (need.shop.as_str(), need.line.as_deref());
    let cells = cells::cells(book, place, &work, &chosen.doing, &prices, watch);
    let places = places(book, &work);
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
    let (again, balanced) = rayon::join(|| placing.again(watch), || placing.balance(watch));
    let (again, again_stuck) = match again {
        Some(Ok(again)) => (Some(again), Vec::new()),
        Some(Err(stuck)) => (None, stuck),
        None => (None, Vec::new()),
    };
    let (stations, bound, proven, stuck) = match balanced {
        Ok((stations, bound, proven)) => {
            let (stations, stuck) = or_today(stations, again.as_ref());
            (stations, bound, proven, stuck)
        }
        Err(stuck) => (Vec::new(), 0, false, stuck),
    };
    let mut told = AssemblyLine {
        shop: need.shop.clone(),
        line: need.line.clone(),
        tasks: work.tasks.len(),
        takt_s,
        cycle_s,
        two_sided: frame.two_sided,
        work_s: mean(&work, &chosen.doing),
        stations,
        bound,
        proven,
        people: 0,
        efficiency: 0.0,
        cost_per_year: 0.0,
        cost_bound_per_year: least_cost(&work, bound, &prices),
        again,
        again_stuck,
        today: today_of(book, need, &work, &chosen.doing, &prices, watch),
        frontier: chosen.frontier,
        stuck,
    };
    sum(book, &mut told, &prices);
    Planned {
        line: told,
        choices: chosen.choices,
        cells,
    }
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

/// The stations found, or today's after the moves where those are fewer or the
/// search ended with none.
fn or_today(
    stations: Vec<AssemblyStation>,
    again: Option<&Again>,
) -> (Vec<AssemblyStation>, Vec<Stuck>) {
    let used = |station: &&AssemblyStation| !station.posts.is_empty();
    let today: Option<Vec<AssemblyStation>> =
        again.map(|again| again.stations.iter().filter(used).cloned().collect());
    if !stations.is_empty() && today.as_ref().is_none_or(|t| stations.len() <= t.len()) {
        return (stations, Vec::new());
    }
    let Some(today) = today else {
        let stuck = Stuck {
            why: "no balance was found before the search ended; this does not say that there is \
                  none. give each task its station of today to start from, or raise takt"
                .into(),
            rows: Vec::new(),
        };
        return (stations, vec![stuck]);
    };
    (today, Vec::new())
}

/// Takt and cycle of a line, its tasks with their ways, and its prices; none
/// where there are problems.
type Prepared<'a> = ((ShopValue, ShopValue), (Work<'a>, Prices));

fn prepared<'a>(
    book: &'a Book,
    sheet: &mut Sheet,
    need: &LineNeed,
    tasks: Vec<&'a Task>,
    at: At,
) -> Option<Prepared<'a>> {
    let (takt_s, cycle_s) = cycle(sheet, book, need, at)?;
    let hours = need
        .net
        .clone()
        .map(|net| Hours(net.0 / 60.0 * book.plant.weeks_per_year.value));
    let prices = Prices::of(sheet, book, &need.shop, &hours, at);
    let work = work(sheet, book, tasks, (takt_s.value, cycle_s.value), &prices)?;
    Some(((takt_s, cycle_s), (work, prices)))
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

/// Takt of a line, and the part of it that work may fill.
fn cycle(
    sheet: &mut Sheet,
    book: &Book,
    need: &LineNeed,
    at: At,
) -> Option<(ShopValue, ShopValue)> {
    let name = need.line.as_deref().unwrap_or("all");
    let id = format!("line.{}.{name}", need.shop);
    let made = calendar::takt(need.net.clone(), need.jobs.clone());
    let takt = sheet.add_with(
        Stands::Last,
        format!("{id}.takt"),
        format!("takt of {name}"),
        at,
        made,
    )?;
    let efficiency = setting(&book.plant.line_efficiency, "line_efficiency");
    let made = calendar::design_cycle(takt.part(|takt| *takt), efficiency);
    let cycle = sheet.add_with(
        Stands::Last,
        format!("{id}.cycle"),
        format!("cycle that the work of {name} may fill"),
        at,
        made,
    )?;
    Some((takt.value(|takt| takt.0), cycle.value(|cycle| cycle.0)))
}

/// A line's tasks with their ways; none where one has no way.
fn work<'a>(
    sheet: &mut Sheet,
    book: &Book,
    tasks: Vec<&'a Task>,
    (takt_s, cycle_s): (f64, f64),
    prices: &Prices,
) -> Option<Work<'a>> {
    let (mut ways, mut share) = (Vec::new(), Vec::new());
    let before = sheet.problems.len();
    for task in &tasks {
        let often = mix::on_all(book, task);
        let of_task = screen::ways(sheet, book, task, often * 60.0 / takt_s, prices);
        sheet.problems.extend(no_way(task, &of_task));
        sheet.problems.extend(no_share(book, task));
        ways.push(of_task);
        share.push(often);
    }
    let after = tasks
        .iter()
        .map(|task| Work::named(&tasks, &task.after))
        .collect();
    let station = tasks.iter().copied().map(|task| {
        let own = task.station.as_deref();
        own.filter(|_| elsewhere(book, task).is_none())
    });
    let station: Vec<Option<&str>> = station.collect();
    let units = station.iter().map(|name| units(book, *name)).collect();
    (sheet.problems.len() == before).then_some(Work {
        tasks,
        station,
        units,
        after,
        ways,
        share,
        takt_s,
        cycle_s,
    })
}

/// What is wrong with a task that nobody can do.
fn no_way(task: &Task, ways: &[Way]) -> Option<Problem> {
    if ways.iter().any(|way| way.refused.is_none()) {
        return None;
    }
    if ways.is_empty() {
        return Some(Problem {
            found: format!("no time for `{}`", task.task),
            expected: "hand_s, aid_s or robot_s".into(),
            mend: "give the seconds of at least one way to do it".into(),
            ..problem("no-time", task.at, Some("hand_s"))
        });
    }
    let each = ways.iter().filter_map(|way| {
        let how = match way.how {
            How::Hand => "by hand",
            How::Aided => "with an aid",
            How::Robot => "by robot",
        };
        Some(format!("{how}: {}", way.refused.as_ref()?))
    });
    let found = format!(
        "no way left to do `{}`: {}",
        task.task,
        each.collect::<Vec<_>>().join("; ")
    );
    let aided = ways.iter().any(|way| way.how == How::Aided);
    Some(Problem {
        found,
        expected: "a way that the screens leave".into(),
        mend: if aided {
            "change what refuses it, or name a robot that can".into()
        } else {
            "give aid_s and the aid, or name a robot that can".into()
        },
        ..problem("no-way-left", task.at, None)
    })
}

/// What is wrong with a task of an option that no car of its product can have.
fn no_share(book: &Book, task: &Task) -> Option<Problem> {
    let option = task.option.as_deref()?;
    let of_task = |product: &&book::Product| {
        task.product
            .as_ref()
            .is_none_or(|own| *own == product.product)
    };
    let mut products = book.products.iter().filter(of_task);
    if products.any(|product| mix::option_row(book, option, &product.product).is_some()) {
        return None;
    }
    let product = task.product.as_deref().unwrap_or("any product");
    Some(Problem {
        found: format!(
            "`{}` is work of `{option}`, which has no share on {product}",
            task.task
        ),
        expected: "an option that some car of the task's product has".into(),
        mend: format!("give `{option}` a row with its share on {product}, or change the task"),
        ..problem("option-without-share", task.at, Some("option"))
    })
}

/// Today's stations of a line's tasks, in the book's order.
fn places(book: &Book, work: &Work<'_>) -> Vec<String> {
    let used = |name: &str| work.station.contains(&Some(name));
    let rows = book.stations.iter().filter(|row| used(&row.station));
    rows.map(|row| row.station.clone()).collect()
}

/// Seconds of work on a mean car.
fn mean(work: &Work<'_>, doing: &[Doing]) -> f64 {
    let each = doing.iter().zip(&work.share);
    each.map(|(who, share)| who.way().map_or(0.0, |way| way.seconds) * share)
        .sum()
}

/// People, efficiency and cost of a balance.
fn sum(book: &Book, line: &mut AssemblyLine, prices: &Prices) {
    let sum = tally(book, &line.stations, line.cycle_s.value, prices);
    line.people = sum.people;
    line.efficiency = sum.efficiency;
    line.cost_per_year = sum.cost_per_year;
}

/// What stations with their posts come to.
struct Tally {
    people: u32,
    efficiency: f64,
    cost_per_year: f64,
}

/// Stations without work count for nothing, those whose units take cars by turns
/// as many times as they have units.
fn tally(book: &Book, stations: &[AssemblyStation], cycle_s: f64, prices: &Prices) -> Tally {
    let times = |station: &AssemblyStation| {
        let longer = station
            .posts
            .iter()
            .any(|post| post.load_s > cycle_s + 0.05);
        let units = units(book, station.station.as_deref());
        if longer { units as usize } else { 1 }
    };
    let posts: Vec<&AssemblyPost> = stations
        .iter()
        .flat_map(|station| std::iter::repeat_n(&station.posts, times(station)))
        .flatten()
        .collect();
    let people = posts.iter().filter(|post| post.by == prices.person.name);
    let room = cycle_s * posts.len() as f64;
    let load: f64 = stations
        .iter()
        .flat_map(|s| &s.posts)
        .map(|post| post.load_s)
        .sum();
    let of_post = |post: &&AssemblyPost| {
        let tools: f64 = post.tools.iter().map(|tool| prices.tool(Some(tool))).sum();
        prices.kind(&post.by) + tools
    };
    let used = stations.iter().filter(|station| !station.posts.is_empty());
    Tally {
        people: people.count() as u32,
        efficiency: if room > 0.0 { load / room } else { 0.0 },
        cost_per_year: posts.iter().map(of_post).sum::<f64>()
            + prices.station * used.count() as f64,
    }
}

#[cfg(test)]
mod tests;
