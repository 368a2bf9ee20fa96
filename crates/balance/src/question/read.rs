//! Walks the question.

use std::collections::BTreeMap;

use asked::{Cursor, Fields, Range, Spot};

use super::rules::{self, ModelAsked, models};
use super::ticks::{per_second, ticks};
use super::{Objective, Question};
use crate::cost::{Kind, Mode, Shop};
use crate::fault::Fault;
use crate::line::{Line, Rules, Side};
use crate::work::Work;

const KEYS: [&str; 15] = [
    "tasks",
    "takt_s",
    "objective",
    "stations",
    "budget_per_year",
    "sides",
    "people",
    "by",
    "station_cost_per_year",
    "same_station",
    "not_same_station",
    "fixed",
    "station_after",
    "models",
    "overload_share",
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Asks {
    Stations,
    Takt,
    /// Least takt for a yearly budget.
    Budget,
    Cost,
    Frontier,
}

impl Asks {
    /// Whether the work is weighed by kinds and their cost.
    fn by_cost(self) -> bool {
        matches!(self, Self::Budget | Self::Cost | Self::Frontier)
    }
}

/// A task as it is written.
#[derive(Default)]
pub(super) struct TaskAsked {
    name: String,
    is_timed: bool,
    seconds: Option<f64>,
    after: Vec<usize>,
    side: Option<Side>,
    modes: Vec<ModeAsked>,
}

struct ModeAsked {
    kind: usize,
    seconds: f64,
    tool: Option<usize>,
}

struct KindAsked {
    name: String,
    cost: u64,
    change_s: f64,
    tools: Vec<(String, u64)>,
    /// Whether it has a station to itself.
    alone: bool,
}

/// A line as it is written.
struct LineAsked {
    two_sided: bool,
    people: u32,
    tasks: Vec<TaskAsked>,
    models: Vec<ModelAsked>,
    rules: Rules,
    /// Share by which a model may exceed takt.
    overload: f64,
}

pub(super) fn read(cursor: &mut Cursor, whole: &Spot<'_>) -> Option<Question> {
    let fields = cursor.object(whole, &KEYS)?;
    let (asks, budget) = asks(cursor, &fields)?;
    let two_sided = cursor.count_or(&fields, "sides", 1, 1..=2)? == 2;
    let people = cursor.count_or(&fields, "people", 1, 1..=100)?;
    let kinds = kinds(cursor, &fields, asks);
    let (tasks, names) = tasks(cursor, &fields, asks, two_sided, &kinds)?;
    let models = models(cursor, &fields, &names, asks.by_cost());
    let takt_s = takt(cursor, &fields, asks);
    let stations = stations(cursor, &fields, asks);
    let rules = rules::read(cursor, &fields, &names);
    let overload = fields
        .get("overload_share")
        .map_or(Some(0.0), |spot| cursor.number(&spot, &Range::SHARE))?;
    if models.is_empty() && !asks.by_cost() {
        all_timed(cursor, &tasks);
    }
    if !cursor.problems.is_empty() {
        return None;
    }
    let scale = scale(cursor, &all_seconds(&tasks, &kinds, &models, takt_s))?;
    let asked = LineAsked {
        two_sided,
        people,
        tasks,
        models,
        rules,
        overload,
    };
    let line = asked.in_ticks(scale);
    sound(cursor, &line, &names)?;
    let people = people_kind(cursor, &line, &kinds)?;
    let station_cost = cost(cursor, fields.get("station_cost_per_year"))?;
    let takt = takt_s.map_or(0, |seconds| ticks(seconds, scale));
    Some(Question {
        shop: shop(&asked.tasks, &kinds, &line, station_cost, scale),
        tools: kinds
            .iter()
            .map(|kind| kind.tools.iter().map(|(name, _)| name.clone()).collect())
            .collect(),
        kinds: kinds.into_iter().map(|kind| kind.name).collect(),
        people,
        tasks: asked.tasks.into_iter().map(|task| task.name).collect(),
        per_second: scale,
        objective: objective(asks, takt, stations, budget),
        line,
    })
}

/// What is asked, and the budget where one is given.
fn asks(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<(Asks, Option<u64>)> {
    let asks = match fields.get("objective") {
        None => Asks::Stations,
        Some(spot) => {
            let words = [
                ("stations", Asks::Stations),
                ("takt", Asks::Takt),
                ("cost", Asks::Cost),
                ("frontier", Asks::Frontier),
            ];
            cursor.word(&spot, &words)?
        }
    };
    let budget = budget(cursor, fields, asks);
    // A budget is what the least takt is asked for.
    Some(match (asks, budget) {
        (Asks::Takt, Some(_)) => (Asks::Budget, budget),
        (asks, _) => (asks, budget),
    })
}

fn objective(asks: Asks, takt: u32, stations: Option<u32>, budget: Option<u64>) -> Objective {
    match asks {
        Asks::Stations => Objective::Stations { takt },
        Asks::Takt => Objective::Takt {
            stations: stations.unwrap_or(1),
        },
        Asks::Budget => Objective::Budget {
            per_year: budget.unwrap_or(0),
        },
        Asks::Cost => Objective::Cost { takt },
        Asks::Frontier => Objective::Frontier { takt },
    }
}

impl LineAsked {
    fn in_ticks(&self, scale: u32) -> Line {
        let tasks = || self.tasks.iter();
        Line {
            work: Work {
                ticks: tasks()
                    .map(|task| ticks(task.seconds.unwrap_or(0.0), scale))
                    .collect(),
                after: tasks().map(|task| task.after.clone()).collect(),
            },
            sides: match self.two_sided {
                true => tasks()
                    .map(|task| task.side.unwrap_or(Side::Either))
                    .collect(),
                false => Vec::new(),
            },
            people: self.people,
            models: self
                .models
                .iter()
                .map(|model| model.in_ticks(scale))
                .collect(),
            // Rounded down, so that no model gets more than was allowed.
            overload_per_mille: (self.overload * 1_000.0 + 1e-6) as u32,
            rules: self.rules.clone(),
        }
    }
}

fn all_timed(cursor: &mut Cursor, tasks: &[TaskAsked]) {
    for (at, task) in tasks.iter().enumerate() {
        if !task.is_timed {
            cursor.refuse(
                format!("tasks[{at}].s"),
                "nothing",
                "the key `s`",
                "add `s`, the seconds that the task takes",
            );
        }
    }
}

fn all_seconds(
    tasks: &[TaskAsked],
    kinds: &[KindAsked],
    models: &[ModelAsked],
    takt_s: Option<f64>,
) -> Vec<f64> {
    let modes = tasks.iter().flat_map(|task| &task.modes);
    let own = tasks.iter().filter_map(|task| task.seconds);
    own.chain(modes.map(|mode| mode.seconds))
        .chain(kinds.iter().map(|kind| kind.change_s))
        .chain(
            models
                .iter()
                .flat_map(|model| model.seconds.iter().copied()),
        )
        .chain(takt_s)
        .collect()
}

fn scale(cursor: &mut Cursor, seconds: &[f64]) -> Option<u32> {
    let scale = per_second(seconds);
    if scale.is_none() {
        cursor.refuse(
            "tasks",
            "times with parts of a second finer than a millionth",
            "seconds with at most six places",
            "round them to milliseconds",
        );
    }
    scale
}

/// Circles and overflow are misfits of the text; all else is for the answer.
fn sound(cursor: &mut Cursor, line: &Line, names: &BTreeMap<String, u32>) -> Option<()> {
    let faults = line.work.faults();
    let by_place: BTreeMap<u32, &String> = names.iter().map(|(name, at)| (*at, name)).collect();
    let name = |task: usize| {
        let name = by_place.get(&(task as u32));
        name.map_or(String::new(), |name| format!("\"{name}\""))
    };
    for fault in &faults {
        let path = match fault {
            Fault::Circle { tasks } => format!("tasks[{}].after", tasks.first().unwrap_or(&0)),
            Fault::TooLong { task } => format!("tasks[{task}].s"),
            _ => "tasks".to_owned(),
        };
        let told = fault.told(&name);
        let (found, mend) = told.split_once("; ").unwrap_or((&told, "mend it"));
        let expected = match fault {
            Fault::Circle { .. } => "an order without a circle",
            _ => "work that the solver can hold",
        };
        cursor.refuse(path, found, expected, mend);
    }
    faults.is_empty().then_some(())
}

fn shop(
    tasks: &[TaskAsked],
    kinds: &[KindAsked],
    line: &Line,
    station_per_year: u64,
    scale: u32,
) -> Shop {
    let mode = |mode: &ModeAsked| Mode {
        kind: mode.kind,
        ticks: ticks(mode.seconds, scale),
        tool: mode.tool,
    };
    Shop {
        after: line.work.after.clone(),
        modes: tasks
            .iter()
            .map(|task| task.modes.iter().map(mode).collect())
            .collect(),
        kinds: kinds
            .iter()
            .map(|kind| Kind {
                cost_per_year: kind.cost,
                tool_change: ticks(kind.change_s, scale),
                tools: kind.tools.iter().map(|(_, cost)| *cost).collect(),
            })
            .collect(),
        station_per_year,
    }
}

/// The yearly budget for which the least takt is asked.
fn budget(cursor: &mut Cursor, fields: &Fields<'_>, asks: Asks) -> Option<u64> {
    let spot = fields.get("budget_per_year")?;
    if asks != Asks::Takt {
        cursor.misfit(
            &spot,
            "no budget but with the objective \"takt\"",
            "leave it out, or write \"objective\": \"takt\"",
        );
    } else if let Some(stations) = fields.get("stations") {
        cursor.misfit(
            &stations,
            "no stations beside a budget",
            "leave one of the two out",
        );
    }
    cost(cursor, Some(spot))
}

fn takt(cursor: &mut Cursor, fields: &Fields<'_>, asks: Asks) -> Option<f64> {
    let spot = match asks {
        Asks::Takt | Asks::Budget => fields.get("takt_s")?,
        _ => cursor.required(fields, "takt_s")?,
    };
    cursor.number(&spot, &Range::PASSING_SECONDS)
}

fn stations(cursor: &mut Cursor, fields: &Fields<'_>, asks: Asks) -> Option<u32> {
    let range = Range {
        what: "a number of stations",
        least: 1.0,
        most: 10_000.0,
    };
    let spot = match asks {
        Asks::Takt => cursor.required(fields, "stations")?,
        _ => fields.get("stations")?,
    };
    let count = cursor.count(&spot, &range)?;
    if asks != Asks::Takt {
        cursor.misfit(
            &spot,
            "nothing, as the stations are what is looked for",
            "leave it out, or ask for the objective \"takt\"",
        );
    }
    u32::try_from(count).ok()
}

/// Names by place; a name that stands twice is refused.
pub(super) fn unique(cursor: &mut Cursor, names: &[(String, String)]) -> BTreeMap<String, u32> {
    let mut places = BTreeMap::new();
    for (at, (name, path)) in names.iter().enumerate() {
        if !name.is_empty() && places.insert(name.clone(), at as u32).is_some() {
            cursor.refuse(
                path,
                format!("\"{name}\" a second time"),
                "a name that stands once",
                "give it another name",
            );
        }
    }
    places
}

fn tasks(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    asks: Asks,
    two_sided: bool,
    kinds: &[KindAsked],
) -> Option<(Vec<TaskAsked>, BTreeMap<String, u32>)> {
    let spot = cursor.required(fields, "tasks")?;
    let items = cursor.list(&spot);
    if items.is_empty() {
        cursor.misfit(&spot, "at least one task", "add a task");
        return None;
    }
    let keys = ["name", "s", "after", "side", "modes"];
    let mut objects = Vec::new();
    let mut named = Vec::new();
    for item in &items {
        let object = cursor.object(item, &keys);
        let name = object.as_ref().and_then(|object| {
            let spot = cursor.required(object, "name")?;
            let name = cursor.text(&spot)?;
            Some((name, spot.path))
        });
        named.push(name.unwrap_or_default());
        objects.push(object);
    }
    let names = unique(cursor, &named);
    let mut tasks = Vec::new();
    for (object, (name, _)) in objects.iter().zip(named) {
        let Some(object) = object else {
            tasks.push(TaskAsked::default());
            continue;
        };
        let seconds = object.get("s");
        let seconds = seconds.and_then(|spot| cursor.number(&spot, &Range::SECONDS));
        let mut after: Vec<usize> = Vec::new();
        for spot in cursor.optional_list(object, "after") {
            if let Some(at) = cursor.named(&spot, &names, "task") {
                after.push(at as usize);
            }
        }
        after.sort_unstable();
        after.dedup();
        tasks.push(TaskAsked {
            name,
            is_timed: object.get("s").is_some(),
            seconds,
            after,
            side: side(cursor, object, two_sided),
            modes: modes(cursor, object, asks, kinds),
        });
    }
    Some((tasks, names))
}

fn side(cursor: &mut Cursor, object: &Fields<'_>, two_sided: bool) -> Option<Side> {
    let spot = object.get("side")?;
    let sides = [
        ("either", Side::Either),
        ("left", Side::Left),
        ("right", Side::Right),
    ];
    let side = cursor.word(&spot, &sides)?;
    if side != Side::Either && !two_sided {
        cursor.misfit(
            &spot,
            "\"either\", as the line has one side",
            "write \"sides\": 2",
        );
    }
    Some(side)
}

fn modes(
    cursor: &mut Cursor,
    object: &Fields<'_>,
    asks: Asks,
    kinds: &[KindAsked],
) -> Vec<ModeAsked> {
    if !asks.by_cost() {
        return Vec::new();
    }
    let Some(spot) = cursor.required(object, "modes") else {
        return Vec::new();
    };
    let items = cursor.list(&spot);
    if items.is_empty() {
        cursor.misfit(&spot, "at least one way to do the task", "add a mode");
    }
    let places: BTreeMap<String, u32> = (0..)
        .zip(kinds)
        .map(|(at, k)| (k.name.clone(), at))
        .collect();
    let mut modes = Vec::new();
    for item in items {
        let Some(mode) = cursor.object(&item, &["by", "tool", "s"]) else {
            continue;
        };
        let by = cursor.required(&mode, "by");
        let by = by.and_then(|spot| cursor.named(&spot, &places, "kind in `by`"));
        let seconds = cursor.required(&mode, "s");
        let seconds = seconds.and_then(|spot| cursor.number(&spot, &Range::SECONDS));
        let (Some(kind), Some(seconds)) = (by, seconds) else {
            continue;
        };
        let tool = mode.get("tool").and_then(|spot| {
            let tools = (0..).zip(&kinds[kind as usize].tools);
            let tools = tools.map(|(at, (name, _))| (name.clone(), at)).collect();
            cursor.named(&spot, &tools, "tool of this kind")
        });
        modes.push(ModeAsked {
            kind: kind as usize,
            seconds,
            tool: tool.map(|tool| tool as usize),
        });
    }
    modes
}

/// Whole money a year.
fn cost(cursor: &mut Cursor, spot: Option<Spot<'_>>) -> Option<u64> {
    let Some(spot) = spot else { return Some(0) };
    let range = Range {
        what: "whole money a year",
        least: 0.0,
        most: 1e12,
    };
    cursor.count(&spot, &range)
}

fn kinds(cursor: &mut Cursor, fields: &Fields<'_>, asks: Asks) -> Vec<KindAsked> {
    if !asks.by_cost() {
        return Vec::new();
    }
    let Some(spot) = cursor.required(fields, "by") else {
        return Vec::new();
    };
    let keys = [
        "name",
        "cost_per_year",
        "tool_change_s",
        "tools",
        "max_per_station",
        "alone",
    ];
    let mut kinds = Vec::new();
    let mut named = Vec::new();
    for item in cursor.list(&spot) {
        let Some(object) = cursor.object(&item, &keys) else {
            continue;
        };
        let name = cursor.required(&object, "name");
        let path = name
            .as_ref()
            .map_or(String::new(), |spot| spot.path.clone());
        let name = name.and_then(|spot| cursor.text(&spot));
        let own = cursor.required(&object, "cost_per_year");
        let own = cost(cursor, own);
        let change_s = cursor.number_or(&object, "tool_change_s", 0.0, &Range::SECONDS);
        // Every station has one, which keeps any limit from one up.
        cursor.count_or(&object, "max_per_station", 1, 1..=1_000);
        let alone = object
            .get("alone")
            .and_then(|spot| cursor.word(&spot, &[("yes", true), ("no", false)]));
        let tools = tools(cursor, &object);
        if let (Some(name), Some(cost), Some(change_s)) = (name, own, change_s) {
            named.push((name.clone(), path));
            kinds.push(KindAsked {
                name,
                cost,
                change_s,
                tools,
                // Who changes tools keeps the next car waiting, not a neighbour.
                alone: alone.unwrap_or(change_s > 0.0),
            });
        }
    }
    unique(cursor, &named);
    kinds
}

fn tools(cursor: &mut Cursor, object: &Fields<'_>) -> Vec<(String, u64)> {
    let mut tools = Vec::new();
    let mut named = Vec::new();
    for item in cursor.optional_list(object, "tools") {
        let Some(tool) = cursor.object(&item, &["name", "cost_per_year"]) else {
            continue;
        };
        let name = cursor.required(&tool, "name");
        let path = name
            .as_ref()
            .map_or(String::new(), |spot| spot.path.clone());
        let name = name.and_then(|spot| cursor.text(&spot));
        let own = tool.get("cost_per_year");
        if let (Some(name), Some(cost)) = (name, cost(cursor, own)) {
            named.push((name.clone(), path));
            tools.push((name, cost));
        }
    }
    unique(cursor, &named);
    tools
}

/// The kind that shares stations; one at most where a station has several posts
/// or rules.
fn people_kind(cursor: &mut Cursor, line: &Line, kinds: &[KindAsked]) -> Option<Option<usize>> {
    let shares: Vec<usize> = (0..kinds.len()).filter(|at| !kinds[*at].alone).collect();
    if line.is_plain() || shares.len() <= 1 {
        return Some(shares.first().copied());
    }
    let names: Vec<String> = shares
        .iter()
        .map(|at| format!("\"{}\"", kinds[*at].name))
        .collect();
    cursor.refuse(
        "by",
        format!("{} that share a station", names.join(" and ")),
        "one kind that shares a station with others of it, where the line has sides, several \
         people, models or rules of place",
        "write \"alone\": \"yes\" for those that have a station to themselves",
    );
    None
}
