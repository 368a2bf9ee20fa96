//! Long work: a bounded queue, its progress, its end.
//!
//! Five threads take jobs: one takes previews only, one the plans of shops, one
//! carts and one logs, so that an engineer who changes a cell never waits for somebody's
//! long run. Two jobs of the same content are one.

use std::collections::{BTreeMap, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex};

use serde::Serialize;
use shops::SoFar;
use tokio::sync::watch;

use crate::store::{ResultKey, held};

mod work;

pub(crate) use work::{JobKind, Lane, Next, Picked, RunKind, Shop, Wanted, Work};

/// Jobs that may wait.
const MOST_WAITING: usize = 64;
/// Jobs remembered after their end.
const MOST_REMEMBERED: usize = 256;

/// Where a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum JobState {
    /// Waiting for its turn.
    Queued,
    /// At work.
    Running,
    /// Its answer is kept.
    Done,
    /// Stopped on demand.
    Cancelled,
    /// Without an answer; the message says why.
    Failed,
}

impl JobState {
    /// Whether nothing more will come.
    pub(crate) fn is_final(self) -> bool {
        !matches!(self, Self::Queued | Self::Running)
    }
}

/// A job as the page sees it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "Job")
)]
pub(crate) struct JobView {
    /// Its number.
    pub id: u64,
    /// The revision it was first asked for.
    pub revision: i64,
    /// What it does.
    pub kind: JobKind,
    /// Where it is.
    pub state: JobState,
    /// Replications, or parts of a shop's plan, done.
    pub done: u32,
    /// The same in all, as far as is known; 0 where it is not.
    pub of: u32,
    /// What is going on, or what went wrong.
    pub message: String,
    /// The best that a search has found so far, in the order in which it counts;
    /// empty where nothing is searched or found yet.
    pub best: Vec<SoFar>,
}

/// What a job has to do.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Order {
    pub(crate) key: ResultKey,
    pub(crate) revision: i64,
    pub(crate) work: Work,
}

/// A job.
pub(crate) struct Job {
    pub(crate) order: Order,
    pub(crate) cancel: AtomicBool,
    view: watch::Sender<JobView>,
}

impl Job {
    pub(crate) fn view(&self) -> JobView {
        self.view.borrow().clone()
    }

    pub(crate) fn follow(&self) -> watch::Receiver<JobView> {
        self.view.subscribe()
    }

    pub(crate) fn tell(&self, change: impl FnOnce(&mut JobView)) {
        self.view.send_modify(change);
    }

    /// Enters a state; a final one is never left.
    fn enter(&self, state: JobState, message: &str) {
        self.view.send_if_modified(|view| {
            if view.state.is_final() {
                return false;
            }
            view.state = state;
            message.clone_into(&mut view.message);
            if state == JobState::Done {
                view.done = view.of;
            }
            true
        });
    }
}

/// How a job ended.
pub(crate) enum Ended {
    Done,
    Cancelled,
    Failed(String),
}

/// The queue is full.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct QueueFull;

/// All jobs.
pub(crate) struct Jobs {
    list: Mutex<List>,
    changed: Condvar,
}

#[derive(Default)]
struct List {
    last: u64,
    all: BTreeMap<u64, Arc<Job>>,
    waiting: BTreeMap<Lane, VecDeque<u64>>,
    closed: bool,
}

impl Jobs {
    pub(crate) fn new() -> Self {
        Self {
            list: Mutex::new(List::default()),
            changed: Condvar::new(),
        }
    }

    /// The job of this order: one that is under way, or a new one.
    pub(crate) fn ask(&self, order: Order) -> Result<Arc<Job>, QueueFull> {
        let mut list = held(&self.list);
        let same = |job: &&Arc<Job>| {
            job.order.key == order.key
                && !job.view().state.is_final()
                && !job.cancel.load(Ordering::Relaxed)
        };
        if let Some(job) = list.all.values().find(same) {
            return Ok(Arc::clone(job));
        }
        if list.waiting.values().map(VecDeque::len).sum::<usize>() >= MOST_WAITING {
            return Err(QueueFull);
        }
        let job = list.add(order, JobState::Queued);
        let lane = list.waiting.entry(order.work.lane()).or_default();
        lane.push_back(job.view().id);
        self.changed.notify_all();
        Ok(job)
    }

    /// A job whose answer is there already.
    pub(crate) fn ask_kept(&self, order: Order) -> Arc<Job> {
        let mut list = held(&self.list);
        let same =
            |job: &&Arc<Job>| job.order.key == order.key && job.view().state == JobState::Done;
        if let Some(job) = list.all.values().find(same) {
            return Arc::clone(job);
        }
        list.add(order, JobState::Done)
    }

    pub(crate) fn find(&self, id: u64) -> Option<Arc<Job>> {
        held(&self.list).all.get(&id).map(Arc::clone)
    }

    /// All jobs, newest first.
    pub(crate) fn views(&self) -> Vec<JobView> {
        let list = held(&self.list);
        list.all.values().rev().map(|job| job.view()).collect()
    }

    /// Stops a job, whether it waits or works.
    pub(crate) fn cancel(&self, id: u64) -> Option<Arc<Job>> {
        let mut list = held(&self.list);
        let job = list.all.get(&id).map(Arc::clone)?;
        job.cancel.store(true, Ordering::Relaxed);
        for lane in list.waiting.values_mut() {
            lane.retain(|waiting| *waiting != id);
        }
        if job.view().state == JobState::Queued {
            job.enter(JobState::Cancelled, "cancelled before it began");
        }
        Some(job)
    }

    /// No more jobs: those that wait are cancelled, those at work are told.
    pub(crate) fn close(&self) {
        let mut list = held(&self.list);
        list.closed = true;
        list.waiting.clear();
        for job in list.all.values() {
            job.cancel.store(true, Ordering::Relaxed);
            if job.view().state == JobState::Queued {
                job.enter(JobState::Cancelled, "the program is ending");
            }
        }
        self.changed.notify_all();
    }

    /// Takes jobs until there are no more; `work` says how each ended.
    pub(crate) fn serve(&self, lane: Lane, work: impl Fn(&Arc<Job>) -> Ended) {
        while let Some(job) = self.next(lane) {
            job.enter(JobState::Running, job.order.work.begins());
            match work(&job) {
                Ended::Done => job.enter(JobState::Done, "done"),
                Ended::Cancelled => job.enter(JobState::Cancelled, "cancelled"),
                Ended::Failed(why) => job.enter(JobState::Failed, &why),
            }
        }
    }

    fn next(&self, lane: Lane) -> Option<Arc<Job>> {
        let mut list = held(&self.list);
        loop {
            if list.closed {
                return None;
            }
            let waiting = &mut list.waiting;
            let id = lane
                .takes()
                .iter()
                .find_map(|lane| waiting.get_mut(lane)?.pop_front());
            if let Some(job) = id.and_then(|id| list.all.get(&id).map(Arc::clone)) {
                return Some(job);
            }
            list = self
                .changed
                .wait(list)
                .unwrap_or_else(std::sync::PoisonError::into_inner);
        }
    }
}

impl List {
    fn add(&mut self, order: Order, state: JobState) -> Arc<Job> {
        self.last += 1;
        let id = self.last;
        let of = order.work.steps();
        let (view, _) = watch::channel(JobView {
            id,
            revision: order.revision,
            kind: order.work.kind(),
            state,
            done: if state == JobState::Done { of } else { 0 },
            of,
            message: if state == JobState::Done {
                "the answer was kept from before".to_owned()
            } else {
                "waiting for its turn".to_owned()
            },
            best: Vec::new(),
        });
        let job = Arc::new(Job {
            order,
            cancel: AtomicBool::new(false),
            view,
        });
        self.all.insert(id, Arc::clone(&job));
        while self.all.len() > MOST_REMEMBERED {
            let over = |job: &&Arc<Job>| job.view().state.is_final();
            let Some(id) = self.all.values().find(over).map(|job| job.view().id) else {
                break;
            };
            self.all.remove(&id);
        }
        job
    }
}
