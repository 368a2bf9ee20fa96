//! Looks at a finished balance with code that shares nothing with the search.

use super::model::{Line, Side, Station};

/// Every rule that the stations break, in words; empty for a sound balance.
///
/// Times are taken anew from the order of work at each post: for each measure
/// (the mean over the mix, each model) a task starts when its post is free and
/// what it must follow at the same station has ended.
pub fn broken_rules(line: &Line, takt: u32, stations: &[Station]) -> Vec<String> {
    let tasks = line.work.ticks.len();
    let mut broken = Vec::new();
    let mut at = vec![None; tasks];
    for (number, station) in stations.iter().enumerate() {
        for post in &station.posts {
            for placed in &post.work {
                if at[placed.task].replace(number).is_some() {
                    broken.push(format!("task {} is done twice", placed.task));
                }
                let side = line.side(placed.task);
                let reaches =
                    side == Side::Either || post.side == Side::Either || side == post.side;
                if !reaches {
                    broken.push(format!("task {} stands on the wrong side", placed.task));
                }
            }
        }
        broken.extend(times(line, takt, number, station));
    }
    for (task, station) in at.iter().enumerate() {
        if station.is_none() {
            broken.push(format!("task {task} is not done"));
        }
    }
    broken.extend(places(line, &at));
    broken
}

fn places(line: &Line, at: &[Option<usize>]) -> Vec<String> {
    let mut broken = Vec::new();
    for (task, befores) in line.work.after.iter().enumerate() {
        for before in befores {
            if at[*before] > at[task] {
                broken.push(format!("task {before} comes after task {task}"));
            }
        }
    }
    let rules = &line.rules;
    for (one, other) in &rules.together {
        if at[*one] != at[*other] {
            broken.push(format!("tasks {one} and {other} are not together"));
        }
    }
    for (one, other) in &rules.apart {
        if at[*one] == at[*other] {
            broken.push(format!("tasks {one} and {other} are not apart"));
        }
    }
    for (task, station) in &rules.fixed {
        if at[*task] != Some(*station) {
            broken.push(format!("task {task} is not at station {station}"));
        }
    }
    for (one, other, stations) in &rules.distance {
        if at[*one].map(|station| station + *stations as usize) > at[*other] {
            broken.push(format!("task {other} is too near behind task {one}"));
        }
    }
    broken
}

/// Whether the posts' orders can be worked off, and within every measure.
fn times(line: &Line, takt: u32, number: usize, station: &Station) -> Vec<String> {
    let mut broken = Vec::new();
    let here = station.tasks();
    for (measure, limits) in line.measures(takt).iter().enumerate() {
        let mut end = vec![None; line.work.ticks.len()];
        let mut next = vec![0; station.posts.len()];
        let mut free = vec![0; station.posts.len()];
        let mut moved = true;
        while moved {
            moved = false;
            for (post, work) in station.posts.iter().map(|post| &post.work).enumerate() {
                let Some(placed) = work.get(next[post]) else {
                    continue;
                };
                let mut start = free[post];
                let mut waits = false;
                for before in &line.work.after[placed.task] {
                    match end[*before] {
                        Some(ended) => start = start.max(ended),
                        None => waits |= here.contains(before),
                    }
                }
                if waits {
                    continue;
                }
                free[post] = start + limits.ticks[placed.task];
                end[placed.task] = Some(free[post]);
                next[post] += 1;
                moved = true;
            }
        }
        if next
            .iter()
            .zip(&station.posts)
            .any(|(n, post)| *n < post.work.len())
        {
            broken.push(format!("the posts of station {number} wait for each other"));
        }
        if free.iter().any(|free| *free > limits.room) {
            broken.push(format!("station {number} exceeds measure {measure}"));
        }
    }
    broken
}
