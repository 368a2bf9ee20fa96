//! All full loads of the next station.

use super::graph::Graph;
use crate::set::Set;
use crate::watch::Watch;

/// A load of the station at hand and what it leaves.
pub(crate) struct Load<const W: usize> {
    /// The tasks taken.
    pub(crate) tasks: Set<W>,
    /// Those done before with them.
    pub(crate) done: Set<W>,
    /// Ticks that the load leaves idle.
    pub(crate) idle: u32,
}

/// The station to be loaded.
#[derive(Clone, Copy)]
pub(crate) struct Station<'a, const W: usize> {
    /// What is done before it.
    pub(crate) done: &'a Set<W>,
    pub(crate) takt: u32,
    /// Ticks that a load may leave idle.
    pub(crate) most_idle: u32,
}

/// How many loads and steps one station may be given.
#[derive(Clone, Copy, Default)]
pub(crate) struct Cut {
    /// Loads handed on.
    pub(crate) loads: u32,
    /// Steps of enumeration.
    pub(crate) steps: u32,
}

/// Working store of the enumeration, kept between stations.
#[derive(Default)]
pub(crate) struct Loader {
    eligible: Vec<u16>,
    /// Steps taken since the start.
    pub(crate) steps: u64,
    left: Cut,
}

impl Loader {
    /// Hands every load that no eligible task fits beside, and that leaves no
    /// more idle than allowed, to `take`; each once. Returns whether all were
    /// seen: neither the cut nor the caller ended it.
    ///
    /// The enumeration is Hoffmann's (1963): walk the list of eligible tasks,
    /// take one that fits, put what it frees at the list's end, go on behind it.
    pub(crate) fn each<const W: usize>(
        &mut self,
        graph: &Graph<W>,
        station: Station<'_, W>,
        cut: Cut,
        watch: &Watch<'_>,
        mut take: impl FnMut(Load<W>),
    ) -> bool {
        let Station {
            done,
            takt,
            most_idle,
        } = station;
        self.eligible.clear();
        for task in graph.all.less(done).iter() {
            if graph.before[task].within(done) {
                self.eligible.push(task as u16);
            }
        }
        self.left = cut;
        let mut frame = Frame {
            graph,
            done: *done,
            most_idle,
            watch,
            take: &mut take,
        };
        self.fill(&mut frame, Set::EMPTY, takt, 0)
    }

    fn fill<const W: usize, F: FnMut(Load<W>)>(
        &mut self,
        frame: &mut Frame<'_, W, F>,
        tasks: Set<W>,
        room: u32,
        from: usize,
    ) -> bool {
        self.steps += 1;
        if self.left.steps == 0 {
            return false;
        }
        self.left.steps -= 1;
        if self.left.steps.is_multiple_of(4_096) && frame.watch.cancelled() {
            return false;
        }
        let graph = frame.graph;
        let listed = self.eligible.len();
        let mut full = true;
        for at in from..listed {
            let task = usize::from(self.eligible[at]);
            let ticks = graph.ticks[task];
            if ticks > room {
                continue;
            }
            full = false;
            let with = tasks.with(task);
            let done = frame.done.or(&with);
            for follower in &graph.after[task] {
                if graph.before[usize::from(*follower)].within(&done) {
                    self.eligible.push(*follower);
                }
            }
            let seen_all = self.fill(frame, with, room - ticks, at + 1);
            self.eligible.truncate(listed);
            if !seen_all {
                return false;
            }
        }
        if full && room <= frame.most_idle && self.nothing_fits(graph, &tasks, room, from) {
            if self.left.loads == 0 {
                return false;
            }
            self.left.loads -= 1;
            (frame.take)(Load {
                tasks,
                done: frame.done.or(&tasks),
                idle: room,
            });
        }
        true
    }

    /// Whether no task passed over on the way would still fit.
    fn nothing_fits<const W: usize>(
        &self,
        graph: &Graph<W>,
        tasks: &Set<W>,
        room: u32,
        from: usize,
    ) -> bool {
        self.eligible[..from].iter().all(|task| {
            let task = usize::from(*task);
            graph.ticks[task] > room || tasks.has(task)
        })
    }
}

struct Frame<'a, const W: usize, F> {
    graph: &'a Graph<W>,
    done: Set<W>,
    most_idle: u32,
    watch: &'a Watch<'a>,
    take: &'a mut F,
}
