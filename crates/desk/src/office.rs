//! Where revisions meet the solvers: what is asked is looked up, or computed
//! once and kept.

pub(crate) mod order;
mod shop_work;

use std::collections::BTreeMap;
use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};

use axum::body::Bytes;
use book::{Book, Checked, Problem};
use flow::Watch;
use shops::coil::Shelf;
use units::PerWeek;
use whole::findings::{self, Answer, Difference, RunFacts, RunSettings};
use whole::improve::Memory;
use whole::order::ByHand;
use whole::plan::RatePlan;

use crate::jobs::{Ended, Job, Jobs, Order, QueueFull, RunKind, Shop, Wanted, Work};
use crate::log_files::LogFiles;
use crate::store::recent::Recent;
use crate::store::{Digest, ResultKey, Store, StoreError, held};

/// The engine: the version and a hash of the solvers' sources. Answers of
/// another engine are not shown.
pub const ENGINE: &str = concat!(env!("CARGO_PKG_VERSION"), "+", env!("LINEWRIGHT_ENGINE"));

const BOOKS_HELD: usize = 32;
const TEXTS_HELD: usize = 64;
/// A shop's plan is told in so many parts.
const HUNDRED: u32 = 100;
/// Plans that wait for the disk.
const PLANS_WAITING: usize = 16;
/// Plans held with their types.
const TYPED_HELD: usize = 8;

/// The store with the solvers and the queue.
pub(crate) struct Office {
    pub(crate) store: Store,
    /// The files of logs, beside the store.
    pub(crate) logs: LogFiles,
    pub(crate) jobs: Jobs,
    checked: Mutex<Recent<Digest, Arc<Checked>>>,
    texts: Mutex<Recent<ResultKey, Bytes>>,
    books: Mutex<Recent<i64, Bytes>>,
    plans: Mutex<Recent<Digest, Arc<RatePlan>>>,
    /// Build orders ready to be changed by hand.
    hands: Mutex<Recent<ResultKey, Arc<ByHand>>>,
    /// The best so far of what was cut short.
    cut: Mutex<Recent<ResultKey, Bytes>>,
    /// Results being computed: who comes second waits for the first.
    under_way: Mutex<BTreeMap<ResultKey, Arc<Mutex<()>>>>,
    /// Blanks laid before, on whatever revision.
    pub(crate) shelf: Shelf,
    /// Variants of plants run before, on whatever revision.
    pub(crate) tried: Memory,
    /// What nobody waits for.
    later: Mutex<Option<SyncSender<Later>>>,
    latecomers: Mutex<Receiver<Later>>,
}

/// Work that is done when there is time.
enum Later {
    /// A plan on its way to the disk.
    Keep(ResultKey, Bytes),
    /// A plan that memory has no more room for: letting go of its thousands of
    /// workings takes a good part of a key's time.
    LetGo(Arc<RatePlan>),
}

/// How much of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PlanPart {
    /// With every working.
    Whole,
    /// Without: a tenth of the bytes, for the page after every key.
    Summary,
}

impl PlanPart {
    fn key(self, book: Digest) -> ResultKey {
        let kind = match self {
            Self::Whole => "plan",
            Self::Summary => "plan summary",
        };
        ResultKey::new(kind, ENGINE, "", book)
    }
}

/// The plan's JSON without its workings; the plan is as before.
fn summary(plan: &mut RatePlan) -> Result<String, StoreError> {
    // Taken out and put back: a clone would take as long as planning does.
    let figures = std::mem::take(&mut plan.figures);
    let text = as_json(plan);
    plan.figures = figures;
    text
}

/// Why there is no plan or answer.
#[derive(Debug)]
pub(crate) enum NoResult {
    Store(StoreError),
    Problems(Vec<Problem>),
}

impl From<StoreError> for NoResult {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl Office {
    pub(crate) fn new(store: Store) -> Self {
        let (give, take) = sync_channel(PLANS_WAITING);
        Self {
            logs: LogFiles::beside(store.path()),
            store,
            jobs: Jobs::new(),
            checked: Mutex::new(Recent::new(BOOKS_HELD)),
            texts: Mutex::new(Recent::new(TEXTS_HELD)),
            books: Mutex::new(Recent::new(BOOKS_HELD)),
            plans: Mutex::new(Recent::new(TYPED_HELD)),
            hands: Mutex::new(Recent::new(TYPED_HELD)),
            cut: Mutex::new(Recent::new(TYPED_HELD)),
            under_way: Mutex::new(BTreeMap::new()),
            shelf: Shelf::new(),
            tried: Memory::default(),
            later: Mutex::new(Some(give)),
            latecomers: Mutex::new(take),
        }
    }

    /// Takes plans to the disk until the office closes.
    pub(crate) fn keep_plans(&self) {
        for work in held(&self.latecomers).iter() {
            match work {
                Later::Keep(key, text) => {
                    if let Ok(text) = std::str::from_utf8(&text) {
                        // What finds no room is computed again after the next start.
                        let _ = self.store.keep_result(key, text);
                    }
                }
                Later::LetGo(plan) => drop(plan),
            }
        }
    }

    fn later(&self, work: Later) {
        if let Some(give) = held(&self.later).as_ref() {
            // Where the disk cannot follow, memory has to do.
            let _ = give.try_send(work);
        }
    }

    /// Does what only one is to do at a time; whoever comes second finds what
    /// the first has left in memory.
    fn in_turn<T>(&self, key: ResultKey, work: impl FnOnce() -> T) -> T {
        let turn = Arc::clone(held(&self.under_way).entry(key).or_default());
        let first = held(&turn);
        let done = work();
        drop(first);
        held(&self.under_way).remove(&key);
        done
    }

    /// A revision's book with its types and problems.
    pub(crate) fn checked(&self, revision: i64) -> Result<(Digest, Arc<Checked>), StoreError> {
        let (_, content, digest) = self.store.revision(revision)?;
        if let Some(checked) = held(&self.checked).get(&digest) {
            return Ok((digest, checked));
        }
        let checked = self.in_turn(ResultKey::new("check", ENGINE, "", digest), || {
            if let Some(checked) = held(&self.checked).get(&digest) {
                return checked;
            }
            let checked = Arc::new(book::check(&content.workbook()));
            held(&self.checked).put(digest, Arc::clone(&checked));
            checked
        });
        Ok((digest, checked))
    }

    pub(crate) fn sound(&self, revision: i64) -> Result<(Digest, Arc<Checked>), NoResult> {
        let (digest, checked) = self.checked(revision)?;
        if checked.holds() {
            Ok((digest, checked))
        } else {
            Err(NoResult::Problems(checked.problems.clone()))
        }
    }

    /// A revision's book as JSON: `view` makes it where it is not in memory.
    pub(crate) fn book_text<T: serde::Serialize>(
        &self,
        revision: i64,
        view: impl FnOnce() -> Result<T, NoResult>,
    ) -> Result<Bytes, NoResult> {
        if let Some(text) = held(&self.books).get(&revision) {
            return Ok(text);
        }
        let text = Bytes::from(as_json(&view()?)?);
        held(&self.books).put(revision, text.clone());
        Ok(text)
    }

    /// What the answers of two revisions say, and how the second was run, where
    /// both were run alike.
    pub(crate) fn compare_answers(
        &self,
        a: i64,
        b: i64,
    ) -> Result<Option<(Vec<Difference>, RunFacts)>, StoreError> {
        for kind in [RunKind::Precise, RunKind::Preview] {
            if let (Some(a), Some(b)) = (self.answer(a, kind)?, self.answer(b, kind)?) {
                return Ok(findings::differences(&a, &b).map(|found| (found, b.run)));
            }
        }
        Ok(None)
    }

    /// The rate plan of a revision.
    pub(crate) fn plan(&self, revision: i64) -> Result<Arc<RatePlan>, NoResult> {
        let (digest, checked) = self.sound(revision)?;
        if let Some(plan) = held(&self.plans).get(&digest) {
            return Ok(plan);
        }
        self.in_turn(PlanPart::Whole.key(digest), || {
            if let Some(plan) = held(&self.plans).get(&digest) {
                return Ok(plan);
            }
            let plan = whole::plan::plan(&checked.book).map_err(NoResult::Problems)?;
            let plan = self.remember_plan(digest, plan)?;
            Ok(plan)
        })
    }

    /// With its summary, which the page asks for after every key.
    fn remember_plan(
        &self,
        digest: Digest,
        mut plan: RatePlan,
    ) -> Result<Arc<RatePlan>, StoreError> {
        let short = summary(&mut plan)?;
        self.keep_later(PlanPart::Summary.key(digest), Bytes::from(short));
        let plan = Arc::new(plan);
        let gone = held(&self.plans).put(digest, Arc::clone(&plan));
        gone.into_iter()
            .for_each(|gone| self.later(Later::LetGo(gone)));
        Ok(plan)
    }

    /// In memory now, on the disk when there is time.
    fn keep_later(&self, key: ResultKey, text: Bytes) {
        held(&self.texts).put(key, text.clone());
        self.later(Later::Keep(key, text));
    }

    /// The same as JSON, kept.
    pub(crate) fn plan_text(&self, revision: i64, part: PlanPart) -> Result<Bytes, NoResult> {
        let (digest, _) = self.sound(revision)?;
        let key = part.key(digest);
        if let Some(text) = self.kept(key)? {
            return Ok(text);
        }
        let plan = self.plan(revision)?;
        if let Some(text) = held(&self.texts).get(&key) {
            return Ok(text);
        }
        let text = Bytes::from(match part {
            PlanPart::Whole => as_json(&*plan)?,
            PlanPart::Summary => summary(&mut RatePlan::clone(&plan))?,
        });
        self.keep_later(key, text.clone());
        Ok(text)
    }

    /// A result from memory or from the store.
    pub(crate) fn kept(&self, key: ResultKey) -> Result<Option<Bytes>, StoreError> {
        if let Some(text) = held(&self.texts).get(&key) {
            return Ok(Some(text));
        }
        let text = self.store.result(key)?.map(Bytes::from);
        if let Some(text) = &text {
            held(&self.texts).put(key, text.clone());
        }
        Ok(text)
    }

    /// Remembers the best so far of what was cut short; it is no answer, so that
    /// the store does not hold it.
    pub(crate) fn cut_short(&self, key: ResultKey, what: &impl serde::Serialize) {
        if let Ok(text) = as_json(what) {
            held(&self.cut).put(key, Bytes::from(text));
        }
    }

    /// The same, if there is any.
    pub(crate) fn best_so_far(&self, key: ResultKey) -> Option<Bytes> {
        held(&self.cut).get(&key)
    }

    pub(crate) fn keep(
        &self,
        key: ResultKey,
        what: &impl serde::Serialize,
    ) -> Result<Bytes, NoResult> {
        let text = as_json(what)?;
        match self.store.keep_result(key, &text) {
            // A result that finds no room on the disk is as right as any; it is
            // shown, and computed again after the next start.
            Ok(()) | Err(StoreError::Full | StoreError::Locked | StoreError::ReadOnly) => {}
            Err(error) => return Err(error.into()),
        }
        let text = Bytes::from(text);
        held(&self.texts).put(key, text.clone());
        Ok(text)
    }

    /// The name of an answer.
    fn answer_key(settings: &RunSettings, book: Digest) -> ResultKey {
        let settings = serde_json::to_string(settings).unwrap_or_default();
        ResultKey::new("answer", ENGINE, &settings, book)
    }

    /// An answer as JSON, if there is one.
    pub(crate) fn answer_text(
        &self,
        revision: i64,
        settings: &RunSettings,
    ) -> Result<Option<Bytes>, StoreError> {
        let (_, _, digest) = self.store.revision(revision)?;
        self.kept(Self::answer_key(settings, digest))
    }

    /// The most precise answer there is of the kinds' own settings.
    pub(crate) fn best_answer(&self, revision: i64) -> Result<Option<Answer>, StoreError> {
        for kind in [RunKind::Precise, RunKind::Preview] {
            if let Some(answer) = self.answer(revision, kind)? {
                return Ok(Some(answer));
            }
        }
        Ok(None)
    }

    fn answer(&self, revision: i64, kind: RunKind) -> Result<Option<Answer>, StoreError> {
        let text = self.answer_text(revision, &kind.settings())?;
        // What this engine wrote it can read; anything else is no answer.
        Ok(text.and_then(|text| serde_json::from_slice(&text).ok()))
    }

    /// The job that makes an answer, or has made it.
    pub(crate) fn run(
        &self,
        revision: i64,
        kind: RunKind,
        settings: RunSettings,
    ) -> Result<Result<Arc<Job>, QueueFull>, NoResult> {
        let (digest, _) = self.sound(revision)?;
        let order = Order {
            key: Self::answer_key(&settings, digest),
            revision,
            work: Work::Run(kind, settings),
        };
        if self.kept(order.key)?.is_some() {
            return Ok(Ok(self.jobs.ask_kept(order)));
        }
        Ok(self.jobs.ask(order))
    }

    fn shop_key(shop: Shop, wanted: Wanted, book: Digest) -> ResultKey {
        ResultKey::new(shop.word(), ENGINE, &wanted.text(), book)
    }

    /// A shop's plan as JSON, if there is one, else the best of one cut short.
    pub(crate) fn shop_text(
        &self,
        revision: i64,
        shop: Shop,
        wanted: Wanted,
    ) -> Result<Option<Bytes>, StoreError> {
        let (_, _, digest) = self.store.revision(revision)?;
        let key = Self::shop_key(shop, wanted, digest);
        let kept = self.kept(key)?;
        Ok(kept.or_else(|| self.best_so_far(key)))
    }

    /// A shop's plan with its types, without workings; none where it was not
    /// made.
    pub(crate) fn shop_plan<T: serde::de::DeserializeOwned>(
        &self,
        revision: i64,
        shop: Shop,
        wanted: Wanted,
    ) -> Result<Option<T>, StoreError> {
        let text = self.shop_text(revision, shop, wanted)?;
        // What this engine wrote it can read; anything else is no plan.
        Ok(text.and_then(|text| serde_json::from_slice(&text).ok()))
    }

    /// The job that makes a shop's plan, or has made it.
    pub(crate) fn plan_shop(
        &self,
        revision: i64,
        shop: Shop,
        wanted: Wanted,
    ) -> Result<Result<Arc<Job>, QueueFull>, NoResult> {
        let (digest, _) = self.sound(revision)?;
        let order = Order {
            key: Self::shop_key(shop, wanted, digest),
            revision,
            work: Work::Plan(shop, wanted),
        };
        if self.kept(order.key)?.is_some() {
            return Ok(Ok(self.jobs.ask_kept(order)));
        }
        Ok(self.jobs.ask(order))
    }

    /// The assembly lines as the book has them, as JSON: no job, since nothing
    /// is searched.
    pub(crate) fn today_text(
        &self,
        revision: i64,
        rate: Option<PerWeek>,
    ) -> Result<Bytes, NoResult> {
        let (digest, checked) = self.sound(revision)?;
        let wanted = Wanted::from(rate).text();
        let key = ResultKey::new("assembly today", ENGINE, &wanted, digest);
        self.quick_text(key, || {
            whole::assembly::today(&checked.book, rate, &whole::assembly::Watch::none())
        })
    }

    /// The carts by formula, as JSON: no job, since nothing is run.
    pub(crate) fn cart_plan_text(&self, revision: i64) -> Result<Bytes, NoResult> {
        let (digest, checked) = self.sound(revision)?;
        let key = ResultKey::new("cart plan", ENGINE, "", digest);
        self.quick_text(key, || whole::carts::plan(&checked.book))
    }

    /// What is made in less time than the disk would take.
    fn quick_text<T: serde::Serialize>(
        &self,
        key: ResultKey,
        make: impl FnOnce() -> Result<T, Vec<Problem>>,
    ) -> Result<Bytes, NoResult> {
        if let Some(text) = held(&self.texts).get(&key) {
            return Ok(text);
        }
        let text = Bytes::from(as_json(&make().map_err(NoResult::Problems)?)?);
        held(&self.texts).put(key, text.clone());
        Ok(text)
    }

    /// Does a job's work on this thread's pool.
    pub(crate) fn work(&self, job: &Arc<Job>) -> Ended {
        let done = std::panic::catch_unwind(AssertUnwindSafe(|| self.find(job)));
        done.unwrap_or_else(|_| {
            Ended::Failed("the run broke off; this is a fault of the program".to_owned())
        })
    }

    fn find(&self, job: &Arc<Job>) -> Ended {
        let order = &job.order;
        let (_, checked) = match self.sound(order.revision) {
            Ok(found) => found,
            Err(NoResult::Store(error)) => return Ended::Failed(error.to_string()),
            Err(NoResult::Problems(problems)) => return Ended::Failed(listed(&problems)),
        };
        match order.work {
            Work::Run(_, settings) => self.find_answer(job, &checked.book, &settings),
            Work::Plan(shop, wanted) => self.find_shop(job, &checked.book, shop, wanted),
            Work::Next(next) => self.find_next(job, next),
            Work::Log(order) => self.find_log(job, &checked, order),
            Work::Rehearse(weeks) => self.find_rehearsed(job, &checked.book, weeks),
        }
    }

    fn find_answer(&self, job: &Arc<Job>, book: &Book, settings: &RunSettings) -> Ended {
        // One call a replication, whichever thread is first; the run and its
        // trials follow one another with the same number of them.
        let calls = AtomicU32::new(0);
        let progress = |progress: flow::Progress| {
            let (before, of) = (calls.fetch_add(1, Ordering::Relaxed), progress.of.max(1));
            let (trial, done) = (before / of, before % of + 1);
            job.tell(|view| {
                (view.done, view.of) = (done, of);
                if trial > 0 {
                    view.message = format!("trial {trial}: the plant with one time shorter");
                }
            });
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &progress,
        };
        self.end_run(job, findings::find(book, settings, &watch))
    }

    pub(crate) fn end(&self, job: &Job, what: &impl serde::Serialize) -> Ended {
        match self.keep(job.order.key, what) {
            Ok(_) => Ended::Done,
            Err(NoResult::Store(error)) => Ended::Failed(error.to_string()),
            Err(NoResult::Problems(problems)) => Ended::Failed(listed(&problems)),
        }
    }

    /// Whether the program is to end: no job goes on.
    pub(crate) fn close(&self) {
        self.jobs.close();
        *held(&self.later) = None;
    }
}

fn as_json(what: &impl serde::Serialize) -> Result<String, StoreError> {
    serde_json::to_string(what)
        .map_err(|error| StoreError::Refused(format!("a result cannot be written: {error}")))
}

pub(crate) fn listed(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}
