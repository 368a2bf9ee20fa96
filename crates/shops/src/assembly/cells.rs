//! Robots that change tools: order of work, open times, and people instead.

use balance::cell::{Cell, CellPlan, Job, OpenTime, nearest_plan, plan_cell};
use balance::line::{Line, balance_line};
use balance::{Fault, Limits, Watch};
use book::{Book, Task};
use units::Seconds;

use super::model::{Bead, CellStep, Fallback, RobotCell};
use super::price::Prices;
use super::work::{Doing, Work, seconds, ticks};

/// Orders of work to look at; a cell has some ten tasks.
const STEPS: u64 = 100_000;

/// People at a station who can help each other out; more are in each other's
/// way (common practice).
const MOST_PEOPLE: u32 = 4;

/// What stands behind work by hand at a robot's place.
const CAUTION: &str =
    "; isolate and lock out the robot by the local procedure before anyone enters its place";

/// The robots' cells of a line, by the numbers that the choice gave them.
pub(super) fn cells(
    book: &Book,
    place: (&str, Option<&str>),
    work: &Work<'_>,
    doing: &[Doing],
    prices: &Prices,
    watch: &Watch<'_>,
) -> Vec<RobotCell> {
    let count = doing
        .iter()
        .filter_map(Doing::cell)
        .max()
        .map_or(0, |last| last + 1);
    let tasks_of = |cell| (0..doing.len()).filter(move |at| doing[*at].cell() == Some(cell));
    (0..count)
        .map(|cell| {
            let tasks: Vec<usize> = tasks_of(cell).collect();
            one(book, place, work, doing, &tasks, prices, watch)
        })
        .collect()
}

/// The same without what is not needed to see whether the work fits: people
/// instead, and two cars at a time where one at a time fits.
pub(super) fn plain(
    book: &Book,
    place: (&str, Option<&str>),
    work: &Work<'_>,
    doing: &[Doing],
    prices: &Prices,
    watch: &Watch<'_>,
) -> Vec<RobotCell> {
    let count = doing.iter().filter_map(Doing::cell).max();
    (0..count.map_or(0, |last| last + 1))
        .map(|cell| {
            let tasks = (0..doing.len()).filter(|at| doing[*at].cell() == Some(cell));
            let tasks: Vec<usize> = tasks.collect();
            let (mut cell, asked) = timed(book, place, work, doing, &tasks, prices, watch);
            if cell.spare_s < 0.0 {
                in_pairs(&mut cell, asked, watch);
            }
            cell
        })
        .collect()
}

/// What two cars between returns to the first tool would save.
fn in_pairs(cell: &mut RobotCell, asked: Cell, watch: &Watch<'_>) {
    if cell.stuck.is_none() {
        let pairs = plan_cell(&Cell { cars: 2, ..asked }, STEPS, watch).ok();
        let saved = |pairs: CellPlan| (cell.seconds - seconds(pairs.ticks) / 2.0).max(0.0);
        cell.pairs_save_s = pairs.map(saved);
    }
}

fn one(
    book: &Book,
    place: (&str, Option<&str>),
    work: &Work<'_>,
    doing: &[Doing],
    tasks: &[usize],
    prices: &Prices,
    watch: &Watch<'_>,
) -> RobotCell {
    let (mut cell, asked) = timed(book, place, work, doing, tasks, prices, watch);
    cell.fallback = fallback(work, tasks, watch);
    cell.fallback.note.push_str(CAUTION);
    in_pairs(&mut cell, asked, watch);
    cell
}

/// One robot's work in time and no more.
pub(super) fn timed_cell(
    (book, place, work): (&Book, (&str, Option<&str>), &Work<'_>),
    doing: &[Doing],
    tasks: &[usize],
    prices: &Prices,
    watch: &Watch<'_>,
) -> RobotCell {
    timed(book, place, work, doing, tasks, prices, watch).0
}

/// The robot's work in time, and what the solver was asked.
fn timed(
    book: &Book,
    (shop, line): (&str, Option<&str>),
    work: &Work<'_>,
    doing: &[Doing],
    tasks: &[usize],
    prices: &Prices,
    watch: &Watch<'_>,
) -> (RobotCell, Cell) {
    let robot = tasks
        .first()
        .and_then(|at| doing[*at].way())
        .map(|way| way.by.clone());
    let robot = robot.unwrap_or_default();
    let (asked, tools, beads) = asked(book, work, doing, tasks, prices);
    let planned = plan_cell(&asked, STEPS, watch);
    let mut cell = RobotCell {
        shop: shop.to_owned(),
        line: line.map(Into::into),
        robot,
        steps: Vec::new(),
        changes: 0,
        seconds: 0.0,
        cycle_s: work.cycle_s,
        spare_s: 0.0,
        proven: false,
        pairs_save_s: None,
        beads: Vec::new(),
        fallback: Fallback {
            people: None,
            seconds: 0.0,
            note: String::new(),
        },
        stuck: None,
    };
    // A cell that is refused still stands on the line, with its robot, its tools
    // and its time: the order that comes nearest shows them.
    let plan = match planned {
        Ok(plan) => Some(plan),
        Err(faults) => {
            let told: Vec<String> = faults
                .iter()
                .map(|fault| refused(work, tasks, fault))
                .collect();
            cell.stuck = Some(told.join("; "));
            nearest_plan(&asked, STEPS, watch)
        }
    };
    if let Some(plan) = plan {
        let parts = (&asked, tools.as_slice(), beads.as_slice());
        fill(&mut cell, book, work, tasks, parts, &plan);
    }
    (cell, asked)
}

/// Why there is no plan, in seconds and with the rows.
fn refused(work: &Work<'_>, tasks: &[usize], fault: &Fault) -> String {
    let name = |task: usize| match tasks.get(task) {
        Some(at) => {
            format!("`{}` ({})", work.tasks[*at].task, work.at(*at))
        }
        None => format!("task {}", task + 1),
    };
    let Fault::OpenTooShort {
        from,
        to,
        open,
        stop,
        path,
    } = fault
    else {
        return fault.told(&name);
    };
    format!(
        "no order of work keeps the open times over a stop of {:.0} s: the bead of {} is open for \
         {:.1} s, and the shortest path found until {} is done takes {:.1} s, {:.1} s too long \
         with the stop; shorten the stop to be borne or the tool change, or take an adhesive that \
         stays open longer",
        seconds(*stop),
        name(*from),
        seconds(*open),
        name(*to),
        seconds(*path),
        seconds((path + stop).saturating_sub(*open)),
    )
}

/// The solver's cell, its tools' names, and the tasks that lay beads.
fn asked(
    book: &Book,
    work: &Work<'_>,
    doing: &[Doing],
    tasks: &[usize],
    prices: &Prices,
) -> (Cell, Vec<String>, Vec<usize>) {
    let mut tools: Vec<String> = Vec::new();
    let mut change = 0;
    let place = |task: &usize| tasks.iter().position(|at| at == task);
    let mut jobs = Vec::new();
    for at in tasks {
        let way = doing[*at].way();
        let tool = way.and_then(|way| way.tool.clone()).map(|tool| {
            tools
                .iter()
                .position(|name| *name == tool)
                .unwrap_or_else(|| {
                    tools.push(tool);
                    tools.len() - 1
                })
        });
        if let Some(kind) = way.and_then(|w| prices.robots.iter().find(|k| k.name == w.by)) {
            change = ticks(kind.change_s);
        }
        jobs.push(Job {
            ticks: way.map_or(0, |way| ticks(way.seconds)),
            tool,
            after: work.after[*at].iter().filter_map(place).collect(),
        });
    }
    let (open_times, beads) = open_times(work, tasks, &jobs);
    let cell = Cell {
        jobs,
        change,
        open_times,
        stop: ticks(book.plant.line_stop_s.value.0),
        cars: 1,
    };
    (cell, tools, beads)
}

/// The open times between jobs, each with the task that lays its bead.
fn open_times(work: &Work<'_>, tasks: &[usize], jobs: &[Job]) -> (Vec<OpenTime>, Vec<usize>) {
    let (mut open_times, mut beads) = (Vec::new(), Vec::new());
    for (from, at) in tasks.iter().enumerate() {
        let Some(open) = work.tasks[*at].open_s else {
            continue;
        };
        let mut into: Vec<usize> = (0..jobs.len())
            .filter(|to| jobs[*to].after.contains(&from))
            .collect();
        // A task that lays and sets closes its own bead.
        if into.is_empty() {
            into.push(from);
        }
        for to in into {
            open_times.push(OpenTime {
                from,
                to,
                ticks: ticks(open.0),
            });
            beads.push(*at);
        }
    }
    (open_times, beads)
}

fn fill(
    told: &mut RobotCell,
    book: &Book,
    work: &Work<'_>,
    tasks: &[usize],
    (cell, tools, beads): (&Cell, &[String], &[usize]),
    plan: &CellPlan,
) {
    told.changes = plan.changes;
    told.seconds = seconds(plan.ticks);
    told.spare_s = work.cycle_s - told.seconds;
    told.proven = plan.proven;
    let mut in_hand = None;
    told.steps = plan
        .steps
        .iter()
        .map(|step| {
            in_hand = cell.jobs[step.job].tool.or(in_hand);
            CellStep {
                task: work.tasks[tasks[step.job]].task.clone(),
                tool: in_hand.map(|tool| tools[tool].clone()),
                start_s: seconds(step.start),
                end_s: seconds(step.end),
                change_s: if step.changed {
                    seconds(cell.change.into())
                } else {
                    0.0
                },
            }
        })
        .collect();
    let stop = book.plant.line_stop_s.value.0;
    told.beads = plan
        .kept
        .iter()
        .map(|kept| {
            let task = work.tasks[beads[kept.open_time]];
            let margin_s = seconds(kept.margin);
            Bead {
                task: task.task.clone(),
                laying_s: task
                    .bead_mm
                    .zip(task.bead_mm_s)
                    .map(|(mm, speed)| mm.0 / speed),
                path_s: seconds(kept.path),
                open_s: task.open_s.map_or(0.0, |open| open.0),
                margin_s,
                holds: margin_s >= stop,
            }
        })
        .collect();
}

/// How many people do the robot's work within takt, at its station and in the
/// order it asks for.
fn fallback(work: &Work<'_>, tasks: &[usize], watch: &Watch<'_>) -> Fallback {
    let time = |at: &usize| by_hand(work.tasks[*at]);
    let missing: Vec<&str> = tasks
        .iter()
        .filter(|at| time(at).is_none())
        .map(|at| work.tasks[*at].task.as_str())
        .collect();
    let times: Vec<f64> = tasks.iter().filter_map(time).map(|s| s.0).collect();
    let total: f64 = times.iter().sum();
    let (people, note) = if missing.is_empty() {
        let people = people_enough(work, tasks, &times, watch);
        let note = match people {
            Some(people) => format!("{total:.0} s by hand fit takt with {people} at the station"),
            None => format!(
                "{total:.0} s by hand do not fit takt of {:.0} s at one station with up to \
                 {MOST_PEOPLE} people; divide the longest task or keep cars behind the robot",
                work.takt_s
            ),
        };
        (people, note)
    } else {
        let note = format!(
            "the book gives no time by hand for {}; give hand_s or aid_s, or the line stops with \
             the robot",
            missing.join(", ")
        );
        (None, note)
    };
    Fallback {
        people,
        seconds: total,
        note,
    }
}

/// The time by hand, with the aid where it is a lift that has one.
fn by_hand(task: &Task) -> Option<Seconds> {
    let lifted = task.lift_kg.is_some() && task.aid_s.is_some();
    let hand = if lifted { None } else { task.hand_s };
    task.aid_s.filter(|_| lifted).or(hand).or(task.aid_s)
}

/// The fewest people who do work of these times within takt at one station.
fn people_enough(
    work: &Work<'_>,
    tasks: &[usize],
    times: &[f64],
    watch: &Watch<'_>,
) -> Option<u32> {
    let place = |task: &usize| tasks.iter().position(|at| at == task);
    let after = tasks
        .iter()
        .map(|at| work.after[*at].iter().filter_map(place).collect());
    let mut line = Line::plain(balance::Work {
        ticks: times.iter().map(|time| ticks(*time)).collect(),
        after: after.collect(),
    });
    let limits = Limits {
        memory_mb: 20,
        steps: Some(STEPS),
    };
    for people in 1..=MOST_PEOPLE {
        line.people = people;
        match balance_line(&line, ticks(work.takt_s), &limits, watch) {
            Ok(found) if found.stations.len() == 1 => return Some(people),
            Err(faults)
                if faults
                    .iter()
                    .any(|f| matches!(f, Fault::LongerThanTakt { .. })) =>
            {
                return None;
            }
            _ => {}
        }
    }
    None
}
