//! Long work: a bounded queue, its progress, its end.
//!
//! Five threads take jobs: one takes previews only, one the plans of shops, one
//! carts and one logs, so that an engineer who changes a cell never waits for somebody's
//! long run. Two jobs of the same content are one.

use std::collections::{BTreeMap, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex};

use serde::{Deserialize, Serialize};
use tokio::sync::watch;
use units::PerWeek;
use whole::findings::RunSettings;
use whole::improve::Goal;

use crate::log_work::{LogAsk, LogOrder, Weeks};
use crate::store::{ResultKey, held};

/// Jobs that may wait.
const MOST_WAITING: usize = 64;
/// Jobs remembered after their end.
const MOST_REMEMBERED: usize = 256;

/// How much a run is to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum RunKind {
    /// Soon, with a wide interval and no trials.
    Preview,
    /// Later, with a narrow one.
    Precise,
}

impl RunKind {
    /// The settings of this kind.
    pub(crate) fn settings(self) -> RunSettings {
        match self {
            Self::Preview => RunSettings {
                replications: 4,
                weeks: 1,
                trials: 0,
                ..RunSettings::USUAL
            },
            Self::Precise => RunSettings::USUAL,
        }
    }
}

/// A shop that has a plan of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum Shop {
    /// Strips, coils to hold, coil orders.
    Coil,
    /// Presses, lots, the die timetable.
    Press,
    /// Methods, seconds, robots of the joints.
    Body,
    /// Work to stations, people or robots.
    Assembly,
    /// Carts on their loops, supply carts, stores of the sub-plants.
    Carts,
    /// The order in which a week's cars are built.
    Order,
    /// The paint line: windows, films, colours, repairs.
    Paint,
    /// No shop: what a car costs, over all of them.
    Money,
    /// No shop: the forecast against all of them.
    Growth,
}

impl Shop {
    /// Its word in addresses.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Coil => "coil",
            Self::Press => "press",
            Self::Body => "body",
            Self::Assembly => "assembly",
            Self::Carts => "carts",
            Self::Order => "order",
            Self::Paint => "paint",
            Self::Money => "money",
            Self::Growth => "growth",
        }
    }
}

/// Ideas taken together, at most.
const MOST_PICKED: usize = 12;

/// Numbers of ideas, rising; places left over are 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Picked([u32; MOST_PICKED]);

impl Picked {
    /// None where there are too many, twice the same, or the number 0.
    pub(crate) fn of(ids: &[u32]) -> Option<Self> {
        let mut sorted = ids.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        if sorted.len() != ids.len() || sorted.len() > MOST_PICKED || sorted.first() == Some(&0) {
            return None;
        }
        let mut picked = Self::default();
        for (place, id) in picked.0.iter_mut().zip(sorted) {
            *place = id;
        }
        Some(picked)
    }

    pub(crate) fn ids(self) -> impl Iterator<Item = u32> {
        self.0.into_iter().filter(|id| *id > 0)
    }
}

/// A question about what to do next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Next {
    /// Ideas ranked.
    Improve,
    /// Banks priced both ways.
    Banks,
    /// The cheapest way to a goal.
    Reach(Goal),
    /// Some ideas together.
    Together(Picked),
    /// What a yearly budget mans the assembly lines for.
    Budget(f64),
}

impl Next {
    /// Its name among results.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Improve => "improve",
            Self::Banks => "banks",
            Self::Reach(_) => "reach",
            Self::Together(_) => "together",
            Self::Budget(_) => "budget",
        }
    }

    /// What it asks, as a part of a result's name.
    pub(crate) fn asks(self) -> String {
        match self {
            Self::Improve | Self::Banks => String::new(),
            Self::Reach(goal) => format!("{goal:?}"),
            Self::Together(picked) => format!("{picked:?}"),
            Self::Budget(money) => money.to_string(),
        }
    }
}

/// What a job does, in a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum JobKind {
    /// Runs the plant, soon.
    Preview,
    /// Runs the plant, precisely.
    Precise,
    /// Plans the coil shop.
    Coil,
    /// Plans the press shop.
    Press,
    /// Plans the body shop.
    Body,
    /// Balances the assembly lines.
    Assembly,
    /// Runs the plant with more and fewer carts.
    Carts,
    /// Plans the build order.
    Order,
    /// Plans the paint shop.
    Paint,
    /// Adds up what a car costs, and runs the plant with each idea.
    Money,
    /// Follows the forecast.
    Growth,
    /// Ranks ideas.
    Improve,
    /// Prices banks both ways.
    Banks,
    /// Finds the cheapest way to a rate.
    Reach,
    /// Runs the plant with some ideas together.
    Together,
    /// Balances the assembly lines at the rates that a budget may pay for.
    Budget,
    /// Reads a log and holds the book against it.
    Learn,
    /// Runs the plant against what really came out.
    Believe,
    /// Replays a day.
    Day,
    /// Writes a log of the plant's own run.
    Rehearse,
}

/// What a shop's plan is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Wanted {
    /// The book as it is.
    Book,
    /// So many cars a week instead of the book's.
    Rate(PerWeek),
    /// A week, the first being 1.
    Week(u32),
}

impl Wanted {
    /// The same as a part of a result's name.
    pub(crate) fn text(self) -> String {
        match self {
            Self::Book => String::new(),
            Self::Rate(rate) => format!("{} cars a week", rate.0),
            Self::Week(week) => format!("week {week}"),
        }
    }
}

impl From<Option<PerWeek>> for Wanted {
    fn from(rate: Option<PerWeek>) -> Self {
        rate.map_or(Self::Book, Self::Rate)
    }
}

/// What a thread takes jobs of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Lane {
    /// Previews only.
    Previews,
    /// Plans of shops only.
    Plans,
    /// Carts, money and ideas only: hundreds of runs of the plant, which nothing
    /// waits for.
    Carts,
    /// Logs only: reading one, and replaying a day.
    Logs,
    /// Precise runs, and previews before them.
    Runs,
}

impl Lane {
    /// The lanes that its thread takes from, the most urgent first.
    fn takes(self) -> &'static [Self] {
        match self {
            Self::Previews => &[Self::Previews],
            Self::Plans => &[Self::Plans],
            Self::Carts => &[Self::Carts],
            Self::Logs => &[Self::Logs],
            Self::Runs => &[Self::Previews, Self::Runs],
        }
    }
}

/// What a job does.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Work {
    /// Runs the plant.
    Run(RunKind, RunSettings),
    /// Plans a shop.
    Plan(Shop, Wanted),
    /// Says what to do next.
    Next(Next),
    /// Answers a question about a log.
    Log(LogOrder),
    /// Writes a log of the plant's own run.
    Rehearse(Weeks),
}

impl Work {
    fn kind(self) -> JobKind {
        match self {
            Self::Run(RunKind::Preview, _) => JobKind::Preview,
            Self::Run(RunKind::Precise, _) => JobKind::Precise,
            Self::Plan(Shop::Coil, _) => JobKind::Coil,
            Self::Plan(Shop::Press, _) => JobKind::Press,
            Self::Plan(Shop::Body, _) => JobKind::Body,
            Self::Plan(Shop::Assembly, _) => JobKind::Assembly,
            Self::Plan(Shop::Carts, _) => JobKind::Carts,
            Self::Plan(Shop::Order, _) => JobKind::Order,
            Self::Plan(Shop::Paint, _) => JobKind::Paint,
            Self::Plan(Shop::Money, _) => JobKind::Money,
            Self::Plan(Shop::Growth, _) => JobKind::Growth,
            Self::Next(Next::Improve) => JobKind::Improve,
            Self::Next(Next::Banks) => JobKind::Banks,
            Self::Next(Next::Reach(_)) => JobKind::Reach,
            Self::Next(Next::Together(_)) => JobKind::Together,
            Self::Next(Next::Budget(_)) => JobKind::Budget,
            Self::Log(order) => match order.ask {
                LogAsk::Learn => JobKind::Learn,
                LogAsk::Believe => JobKind::Believe,
                LogAsk::Day(_) => JobKind::Day,
            },
            Self::Rehearse(_) => JobKind::Rehearse,
        }
    }

    /// Steps to the end, as far as is known before the beginning.
    fn steps(self) -> u32 {
        match self {
            Self::Run(_, settings) => settings.replications,
            Self::Plan(..) | Self::Next(_) | Self::Log(_) | Self::Rehearse(_) => 0,
        }
    }

    fn begins(self) -> &'static str {
        match self {
            Self::Run(..) => "the plant as it stands",
            Self::Plan(Shop::Money, _) => "what a car costs",
            Self::Plan(Shop::Growth, _) => "the forecast",
            Self::Plan(_, Wanted::Book) => "the shop as the book has it",
            Self::Plan(_, Wanted::Rate(_)) => "the shop at another rate",
            Self::Plan(_, Wanted::Week(_)) => "the week as the book has it",
            Self::Next(Next::Budget(_)) => "the lines at the book's rate",
            Self::Next(_) | Self::Rehearse(_) => "the plant as it stands",
            Self::Log(_) => "the log",
        }
    }

    fn lane(self) -> Lane {
        match self {
            Self::Run(RunKind::Preview, _) => Lane::Previews,
            Self::Run(RunKind::Precise, _) => Lane::Runs,
            Self::Plan(Shop::Carts | Shop::Money, _)
            | Self::Next(Next::Improve | Next::Banks | Next::Reach(_)) => Lane::Carts,
            Self::Plan(..) | Self::Next(Next::Together(_) | Next::Budget(_)) => Lane::Plans,
            Self::Log(_) | Self::Rehearse(_) => Lane::Logs,
        }
    }
}

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
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
