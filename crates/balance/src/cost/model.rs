//! Kinds of people and robots, the ways a task can be done, and the answer.

use crate::fault::Fault;
use crate::work::Work;

/// A kind of person or robot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kind {
    /// What one of it costs a year, in whole money.
    pub cost_per_year: u64,
    /// Ticks to change from one tool to another.
    pub tool_change: u32,
    /// What each of its tools costs a year, at every station that has it.
    pub tools: Vec<u64>,
}

/// A way to do a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mode {
    /// The kind that does it.
    pub kind: usize,
    /// How long that takes, in ticks.
    pub ticks: u32,
    /// Which of the kind's tools it takes; none for bare hands or a tool that
    /// is always at hand.
    pub tool: Option<usize>,
}

/// Work that kinds can do in modes. Every station has one of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shop {
    /// For each task those before it.
    pub after: Vec<Vec<usize>>,
    /// For each task the ways to do it, as screened by the caller.
    pub modes: Vec<Vec<Mode>>,
    /// The kinds.
    pub kinds: Vec<Kind>,
    /// What a station costs a year whoever stands there.
    pub station_per_year: u64,
}

/// A station with who works there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equipped {
    /// The kind.
    pub kind: usize,
    /// Its tools, ascending.
    pub tools: Vec<usize>,
    /// Tasks in order of work, each with the mode taken of its list.
    pub work: Vec<(usize, usize)>,
    /// Ticks of the work with its tool changes, back to the first tool.
    pub ticks: u64,
    /// Tool changes in a cycle.
    pub changes: u32,
    /// What the station costs a year.
    pub cost_per_year: u64,
}

/// Stations with their crew and how good the answer is known to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Crewed {
    /// Stations in order.
    pub stations: Vec<Equipped>,
    /// What they cost a year.
    pub cost_per_year: u64,
    /// No answer costs less.
    pub bound: u64,
    /// Whether the bound is met.
    pub proven: bool,
}

impl Shop {
    /// Everything that stands against the shop at a takt.
    pub fn faults(&self, takt: u32) -> Vec<Fault> {
        let shortest = self.modes.iter().map(|modes| {
            let ticks = modes.iter().map(|mode| mode.ticks);
            ticks.min().unwrap_or(0)
        });
        let work = Work {
            ticks: shortest.collect(),
            after: self.after.clone(),
        };
        let mut faults = work.faults();
        if takt == 0 {
            faults.push(Fault::NoTakt);
        }
        for (task, modes) in self.modes.iter().enumerate() {
            if modes.is_empty() {
                faults.push(Fault::NoMode { task });
            }
            for (at, mode) in modes.iter().enumerate() {
                let kind = self.kinds.get(mode.kind);
                let tool_is_there =
                    |kind: &Kind| mode.tool.is_none_or(|tool| tool < kind.tools.len());
                if !kind.is_some_and(tool_is_there) {
                    faults.push(Fault::NoSuchKind { task, mode: at });
                }
            }
        }
        if faults.is_empty() {
            faults.extend(work.longer_than(takt));
        }
        faults
    }

    /// Of each task the modes that fit takt, without those that another of the
    /// same kind and tool outdoes; with their place in the caller's list.
    pub(crate) fn useful(&self, takt: u32) -> Vec<Vec<(usize, Mode)>> {
        let useful = self.modes.iter().map(|modes| {
            let listed = modes.iter().copied().enumerate();
            let fits = listed.filter(|(at, mode)| {
                let outdone = modes.iter().enumerate().any(|(other, by)| {
                    (by.kind, by.tool) == (mode.kind, mode.tool)
                        && (by.ticks, other) < (mode.ticks, *at)
                });
                mode.ticks <= takt && !outdone
            });
            fits.collect()
        });
        useful.collect()
    }
}
