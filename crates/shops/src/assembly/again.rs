//! The least moves from today, robots where they stand as long as they fit.

use balance::Watch;

use super::cells;
use super::choose::Chosen;
use super::keep;
use super::model::{Again, AssemblyPost, RobotChange, RobotCount, RobotMove, Stuck};
use super::parallel::side_by_side;
use super::place::Placing;
use super::tally::tally;
use super::work::Doing;

/// What near today there is.
#[derive(Default)]
pub(super) struct Near {
    /// The moves, or why there are none; none where a task has no station.
    pub(super) again: Option<Result<Again, Vec<Stuck>>>,
    /// Who does what then, where that is not as chosen.
    pub(super) others: Option<Vec<Doing>>,
}

/// The least moves with people and robots as today; where a robot has too much
/// for the cycle with the least of its work by people; and where that does not
/// hold with those of `chosen`, wherever their robots come from.
pub(super) fn near_today(
    chosen: &Placing<'_>,
    parts: keep::Line<'_>,
    now: &[Doing],
    watch: &Watch<'_>,
) -> Near {
    let mut near = Near::default();
    for doing in parts.kept(now, watch) {
        let is_chosen = is_same(&doing, chosen.doing);
        let again = if is_chosen {
            chosen.again(watch)
        } else {
            by_others(chosen, parts, &doing, watch)
        };
        let Some(Ok(found)) = again else { continue };
        let best = near.again.as_ref().and_then(|best| best.as_ref().ok());
        if best.is_none_or(|best| found.moved_s < best.moved_s) {
            near.again = Some(Ok(found));
            near.others = (!is_chosen).then_some(doing);
        }
    }
    if near.again.is_none() {
        near.again = chosen.again(watch);
    }
    let doing = near.others.as_deref().unwrap_or(chosen.doing);
    if let Some(Ok(again)) = &mut near.again {
        again.robots = robots(parts, now, again);
        again.counts = counts(parts, again);
        let sum = tally(
            parts.book,
            &again.stations,
            parts.work.cycle_s,
            parts.prices,
        );
        again.people = sum.people;
        for moved in &mut again.moves {
            let mut tasks = parts.work.tasks.iter();
            let task = tasks.position(|task| task.task == moved.task);
            moved.by = task.and_then(|task| changed_hands(&now[task], &doing[task]));
        }
    }
    near
}

fn by_others(
    chosen: &Placing<'_>,
    parts: keep::Line<'_>,
    doing: &[Doing],
    watch: &Watch<'_>,
) -> Option<Result<Again, Vec<Stuck>>> {
    let cells = cells::plain(
        parts.book,
        parts.place,
        parts.work,
        doing,
        parts.prices,
        watch,
    );
    let mut others = Chosen {
        doing: doing.to_vec(),
        choices: Vec::new(),
        frontier: Vec::new(),
    };
    let frame = side_by_side(parts.book, parts.work, &mut others, chosen.places);
    let placing = Placing {
        doing: &others.doing,
        cells: &cells,
        frame: &frame,
        ..*chosen
    };
    placing.again(watch)
}

/// Whether the same people and robots do the same.
fn is_same(one: &[Doing], other: &[Doing]) -> bool {
    let way = |who: &Doing| who.way().map(|way| (way.how, way.by.clone()));
    let alike = one.iter().zip(other).all(|(a, b)| way(a) == way(b));
    let together = |doing: &[Doing], a: usize, b: usize| doing[a].cell() == doing[b].cell();
    let robots: Vec<usize> = (0..one.len())
        .filter(|t| one[*t].cell().is_some())
        .collect();
    let pairs = |a: usize| robots.iter().map(move |b| (a, *b));
    alike
        && robots
            .iter()
            .flat_map(|a| pairs(*a))
            .all(|(a, b)| together(one, a, b) == together(other, a, b))
}

/// Who does a task from now on, where that is somebody else than today.
fn changed_hands(now: &Doing, then: &Doing) -> Option<String> {
    let (now, then) = (now.way()?, then.way()?);
    let is_other = now.how != then.how || now.by != then.by;
    is_other.then(|| match &then.tool {
        Some(tool) => format!("{} with {tool}", then.by),
        None => then.by.clone(),
    })
}

/// How many robots stations have in the book and do not keep. A book that says
/// nowhere where the shop's robots stand is told of all stations of the line, so
/// that those which it had without a word are not lost.
fn counts(parts: keep::Line<'_>, again: &Again) -> Vec<RobotCount> {
    if again.robots.is_empty() {
        return Vec::new();
    }
    let rows = parts.book.stations.iter();
    let count = |row: &book::Station| {
        let name = Some(row.station.as_str());
        let then = if parts.knows_robots() {
            let to = |robot: &&RobotMove| robot.to.as_deref() == name;
            let from = |robot: &&RobotMove| robot.from.as_deref() == name;
            let more = again.robots.iter().filter(to).count() as u32;
            let less = again.robots.iter().filter(from).count() as u32;
            (row.robots + more).saturating_sub(less)
        } else {
            let mut stations = again.stations.iter();
            let own = stations.find(|station| station.station.as_deref() == name)?;
            let is_robot = |post: &&AssemblyPost| parts.prices.is_robot(&post.by);
            own.posts.iter().filter(is_robot).count() as u32
        };
        (then != row.robots).then(|| RobotCount {
            station: row.station.clone(),
            at: row.at,
            now: row.robots,
            then,
        })
    };
    rows.filter_map(count).collect()
}

/// Robots that are bought, moved or no longer needed.
fn robots(parts: keep::Line<'_>, now: &[Doing], again: &Again) -> Vec<RobotMove> {
    let prices = parts.prices;
    let cells = now.iter().filter_map(Doing::cell).max();
    let mut gone: Vec<(String, String)> = (0..cells.map_or(0, |last| last + 1))
        .filter_map(|cell| {
            let first = *keep::members(now, cell).first()?;
            let stands = parts.has_robots(first) || !parts.knows_robots();
            stands.then_some(())?;
            let station = parts.work.station[first]?.to_owned();
            Some((now[first].way()?.by.clone(), station))
        })
        .collect();
    let mut new = Vec::new();
    for station in &again.stations {
        let Some(name) = &station.station else {
            continue;
        };
        for post in station
            .posts
            .iter()
            .filter(|post| prices.is_robot(&post.by))
        {
            let own = (post.by.clone(), name.clone());
            match gone.iter().position(|other| *other == own) {
                Some(at) => drop(gone.swap_remove(at)),
                None => new.push((post, name)),
            }
        }
    }
    let mut moves = Vec::new();
    for (post, to) in new {
        let at = gone.iter().position(|(kind, _)| *kind == post.by);
        let from = at.map(|at| gone.remove(at).1);
        let tools: f64 = post.tools.iter().map(|tool| prices.tool(Some(tool))).sum();
        moves.push(RobotMove {
            robot: post.by.clone(),
            change: if from.is_some() {
                RobotChange::Moved
            } else {
                RobotChange::Bought
            },
            cost_per_year: if from.is_some() {
                0.0
            } else {
                prices.kind(&post.by) + tools
            },
            from,
            to: Some(to.clone()),
        });
    }
    moves.extend(gone.into_iter().map(|(robot, from)| RobotMove {
        cost_per_year: -prices.kind(&robot),
        robot,
        change: RobotChange::GivenUp,
        from: Some(from),
        to: None,
    }));
    moves
}
