//! Work that must be done on every car: times and order.

use crate::Fault;

/// The most tasks that a question may hold.
pub const MOST_TASKS: usize = 2_000;

/// Tasks with whole times and what each must follow. The caller picks the tick
/// (a second, a tenth of one); nothing here rounds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// The time of each task, in ticks.
    pub ticks: Vec<u32>,
    /// For each task those that must be done before it.
    pub after: Vec<Vec<usize>>,
}

impl Work {
    /// Everything that stands against the work itself: positions that do not
    /// exist, an order that goes in a circle, times that overflow.
    pub fn faults(&self) -> Vec<Fault> {
        let tasks = self.ticks.len();
        let mut faults = Vec::new();
        if tasks > MOST_TASKS {
            faults.push(Fault::TooMany {
                tasks,
                most: MOST_TASKS,
            });
        }
        let mut total: u32 = 0;
        for (task, ticks) in self.ticks.iter().enumerate() {
            match total.checked_add(*ticks) {
                Some(sum) if sum < u32::MAX / 4 => total = sum,
                _ => {
                    faults.push(Fault::TooLong { task });
                    break;
                }
            }
        }
        for (task, befores) in self.after.iter().enumerate() {
            for named in befores {
                if *named >= tasks {
                    faults.push(Fault::NoSuchTask {
                        task,
                        named: *named,
                    });
                }
            }
        }
        if faults.is_empty()
            && let Err(circle) = self.order()
        {
            faults.push(circle);
        }
        faults
    }

    /// The tasks that do not fit a station, or that there is no takt.
    pub(crate) fn longer_than(&self, takt: u32) -> Vec<Fault> {
        if takt == 0 {
            return vec![Fault::NoTakt];
        }
        let long = self
            .ticks
            .iter()
            .enumerate()
            .filter(|(_, ticks)| **ticks > takt);
        long.map(|(task, ticks)| Fault::LongerThanTakt {
            task,
            ticks: u64::from(*ticks),
            takt: u64::from(takt),
        })
        .collect()
    }

    /// The tasks in an order that respects what comes before what; of the
    /// tasks that could come next, the first in the list does.
    ///
    /// # Errors
    ///
    /// The circle, where there is no such order.
    pub fn order(&self) -> Result<Vec<usize>, Fault> {
        let tasks = self.ticks.len();
        let mut waits: Vec<usize> = self.after.iter().map(Vec::len).collect();
        let mut followers = vec![Vec::new(); tasks];
        for (task, befores) in self.after.iter().enumerate() {
            for before in befores {
                followers[*before].push(task);
            }
        }
        let mut ready: std::collections::BTreeSet<usize> =
            (0..tasks).filter(|task| waits[*task] == 0).collect();
        let mut order = Vec::with_capacity(tasks);
        while let Some(task) = ready.pop_first() {
            order.push(task);
            for follower in &followers[task] {
                waits[*follower] -= 1;
                if waits[*follower] == 0 {
                    ready.insert(*follower);
                }
            }
        }
        if order.len() == tasks {
            return Ok(order);
        }
        Err(self.circle(&waits))
    }

    /// Walks back from a task that never became ready until it meets itself.
    fn circle(&self, waits: &[usize]) -> Fault {
        let mut seen = Vec::new();
        let mut at = waits.iter().position(|left| *left > 0);
        while let Some(task) = at {
            if let Some(start) = seen.iter().position(|earlier| *earlier == task) {
                let mut tasks = seen.split_off(start);
                tasks.reverse();
                return Fault::Circle { tasks };
            }
            seen.push(task);
            at = self.after[task]
                .iter()
                .copied()
                .find(|before| waits[*before] > 0);
        }
        Fault::Circle { tasks: seen }
    }
}
