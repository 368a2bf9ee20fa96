//! What stands against a question, in words.

use super::PlaceRule;

pub(super) fn longer(task: &str, ticks: u64, takt: u64) -> String {
    format!(
        "{task} takes {ticks} at its quickest, {} more than a station may take ({takt}); \
         split it, let stations in parallel do it, or allow a takt of {ticks}",
        ticks - takt
    )
}

pub(super) fn no_such_task(task: &str, named: usize) -> String {
    format!("{task} comes after task {named}, which is not in the list; drop it or add the task")
}

pub(super) fn too_many(tasks: usize, most: usize) -> String {
    format!(
        "{tasks} tasks are more than the {most} the solver takes; join tasks that \
         are always done together"
    )
}

pub(super) fn too_long(task: &str) -> String {
    format!(
        "the times up to {task} add up to more than the solver can hold; use a \
         coarser tick"
    )
}

/// A pair under both rules of company.
pub(super) fn both(one: &str, other: &str) -> String {
    format!("{one} and {other} must share a station and must not; drop one of the two rules")
}

pub(super) fn together(tasks: &str, ticks: u64, takt: u64) -> String {
    format!(
        "{tasks} must share a station and take {ticks} together, {} more than it may \
         take ({takt}); let one of them go or raise takt to {ticks}",
        ticks - takt
    )
}

pub(super) fn fixed_apart(one: &str, other: &str) -> String {
    format!(
        "{one} and {other} must share a station but are fixed to different ones; fix both to one, \
         or drop the rule"
    )
}

/// Stations by position from 0.
pub(super) fn fixed_twice(task: &str, one: usize, other: usize) -> String {
    format!(
        "{task} is fixed to station {} and to station {}; leave one",
        one + 1,
        other + 1
    )
}

pub(super) fn clash(
    rules: &[PlaceRule],
    takt_helps: bool,
    name: &dyn Fn(usize) -> String,
) -> String {
    let each: Vec<String> = rules.iter().map(|rule| rule.told(name)).collect();
    format!(
        "no number of stations meets these together: {}; drop or change one of \
         them{}",
        each.join("; "),
        if takt_helps { ", or raise takt" } else { "" }
    )
}

pub(super) fn no_side(task: &str) -> String {
    format!(
        "{task} asks for a side on a line that has only one; leave the side open or \
         make the line two-sided"
    )
}

pub(super) fn model_times(model: usize, given: usize, tasks: usize) -> String {
    format!(
        "model {model} has {given} times for {tasks} tasks; give it one for each, 0 where \
         it does not have the task"
    )
}

pub(super) fn no_such_kind(task: &str, mode: usize) -> String {
    format!(
        "mode {mode} of {task} names a kind or a tool that is not in the list; add it or name \
         another"
    )
}

pub(super) fn open_too_short((from, to): (&str, &str), open: u64, stop: u64, path: u64) -> String {
    format!(
        "no order of work keeps the bead of {from} open until {to} is done: the shortest path \
         found takes {path} and a stop of the line {stop}, {} more than the {open} that \
         it stays open; shorten the stop to be borne, the tool change or the batch, or \
         take an adhesive that stays open longer",
        (path + stop).saturating_sub(open)
    )
}

pub(super) fn zone(tasks: &str, ticks: u64, takt: u64) -> String {
    format!(
        "{tasks} are in one zone, where one robot works at a time, and take {ticks} together, \
         {} more than their stations have ({takt}); divide the zone, allow one more \
         station, or raise takt",
        ticks - takt
    )
}

/// A task between what pushes it and where it must stand.
pub(super) fn no_room(
    task: &str,
    (earliest, latest): (usize, usize),
    pushed: &[usize],
    name: &dyn Fn(usize) -> String,
) -> String {
    match pushed {
        [] => format!(
            "{task} can stand at station {earliest} at the earliest, as the work before it needs \
             that long, and must at station {latest} at the latest; raise takt or fix it further on"
        ),
        [_] => format!(
            "{task} is fixed to station {earliest} of a line that ends at {latest}; add stations \
             or fix it sooner"
        ),
        [first, ..] => {
            let way: Vec<String> = pushed.iter().map(|task| name(*task)).collect();
            format!(
                "{task} can stand at station {earliest} at the earliest and must at station \
                 {latest} at the latest: {} is fixed beyond it and comes first ({}); fix one of \
                 the two elsewhere or drop the order between them",
                name(*first),
                way.join(" before ")
            )
        }
    }
}

pub(super) fn circle(tasks: &[usize], name: &dyn Fn(usize) -> String) -> String {
    let mut around: Vec<String> = tasks.iter().map(|task| name(*task)).collect();
    if let [only] = around.as_slice() {
        return format!("{only} waits for itself; drop it from its own list");
    }
    if let Some(first) = around.first().cloned() {
        around.push(first);
    }
    format!(
        "the order goes in a circle: {}; drop one of these",
        around.join(" before ")
    )
}

pub(super) fn listed(tasks: &[usize], name: &dyn Fn(usize) -> String) -> String {
    let names: Vec<String> = tasks.iter().map(|task| name(*task)).collect();
    names.join(", ")
}
