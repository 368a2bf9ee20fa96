//! First answers: Hoffmann's rule, station by station the load that fits best,
//! with weights.

use rayon::prelude::*;

use super::graph::Graph;
use super::loads::{Cut, Loader, Station};
use crate::set::Set;
use crate::watch::Watch;

/// Weights of a task in a load's worth beside its time (Sewell & Jacobson
/// 2012): its positional weight and its immediate followers, both in parts of
/// a thousand, less a fixed amount that favours few long tasks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weights {
    position: i64,
    followers: i64,
    each: i64,
}

/// The stations of the best of some weighted runs over one direction, ended
/// where they reach `enough` or the caller wants an end. Deterministic on any
/// number of threads.
pub(crate) fn best_of<const W: usize>(
    graph: &Graph<W>,
    takt: u32,
    enough: u32,
    runs: usize,
    cut: Cut,
    watch: &Watch<'_>,
) -> Vec<Set<W>> {
    let weights = weights();
    // One quick run comes first, so that there is an answer whatever happens.
    let quick = Cut {
        loads: 10,
        steps: 100,
    };
    let mut best = run(graph, takt, weights[0], quick, watch);
    for chunk in weights[..runs.min(weights.len())].chunks(8) {
        if best.len() <= enough as usize || watch.cancelled() {
            break;
        }
        let found: Vec<Option<Vec<Set<W>>>> = chunk
            .par_iter()
            .map(|weights| {
                let stations = run(graph, takt, *weights, cut, watch);
                // The end may have come in the middle of a run.
                (!watch.cancelled()).then_some(stations)
            })
            .collect();
        for stations in found.into_iter().flatten() {
            if stations.len() < best.len() {
                best = stations;
            }
        }
    }
    best
}

fn weights() -> Vec<Weights> {
    let mut all = Vec::new();
    for each in [0, 10, 20, 30] {
        for position in [5, 0, 10, 15, 20] {
            for followers in [0, 5, 10, 15, 20] {
                all.push(Weights {
                    position,
                    followers,
                    each,
                });
            }
        }
    }
    all
}

fn run<const W: usize>(
    graph: &Graph<W>,
    takt: u32,
    weights: Weights,
    cut: Cut,
    watch: &Watch<'_>,
) -> Vec<Set<W>> {
    let mean = (graph.total / graph.len().max(1) as u64).max(1) as i64;
    let worth: Vec<i64> = (0..graph.len())
        .map(|task| {
            let own = i64::from(graph.ticks[task]);
            let behind: i64 = graph.all_after[task]
                .iter()
                .map(|follower| i64::from(graph.ticks[follower]))
                .sum();
            1000 * own
                + weights.position * (own + behind)
                + weights.followers * mean * graph.all_after[task].len() as i64
                - weights.each * mean
        })
        .collect();
    let mut loader = Loader::default();
    let mut done = Set::EMPTY;
    let mut stations = Vec::new();
    while done != graph.all {
        let mut best: Option<(i64, Set<W>)> = None;
        let station = Station {
            done: &done,
            takt,
            most_idle: takt,
        };
        loader.each(graph, station, cut, watch, |load| {
            let sum = load.tasks.iter().map(|task| worth[task]).sum();
            if best.is_none_or(|(most, _)| sum > most) {
                best = Some((sum, load.tasks));
            }
        });
        // The enumeration may be cut before its first full load.
        let tasks = best.map_or_else(|| first_fit(graph, &done, takt), |(_, tasks)| tasks);
        done = done.or(&tasks);
        stations.push(tasks);
    }
    stations
}

/// A load by taking the longest task that fits, again and again.
fn first_fit<const W: usize>(graph: &Graph<W>, done: &Set<W>, takt: u32) -> Set<W> {
    let mut tasks = Set::EMPTY;
    let mut room = takt;
    loop {
        let now = done.or(&tasks);
        let fits = graph
            .all
            .less(&now)
            .iter()
            .find(|task| graph.ticks[*task] <= room && graph.before[*task].within(&now));
        let Some(task) = fits else {
            return tasks;
        };
        tasks.put(task);
        room -= graph.ticks[task];
    }
}
