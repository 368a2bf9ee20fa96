//! What to do next, asked in the office: ideas, ways to a rate, banks.

use std::sync::Arc;

use axum::body::Bytes;
use flow::Watch;
use whole::assembly::{Looking, within_budget};
use whole::findings::NoAnswer;
use whole::improve::buffers::{self, BankSettings};
use whole::improve::{self, Idea, Improve, ImproveSettings, ReachSettings};

use crate::jobs::{Ended, Job, Next, Order, Picked, QueueFull, Work};
use crate::office::{ENGINE, NoResult, Office, listed};
use crate::store::{Digest, ResultKey, StoreError};

fn key(next: Next, book: Digest) -> ResultKey {
    ResultKey::new(next.word(), ENGINE, &next.asks(), book)
}

impl Office {
    /// What was found as JSON, if it was; the best so far where it was cut short.
    pub(crate) fn next_text(&self, revision: i64, next: Next) -> Result<Option<Bytes>, StoreError> {
        let (_, _, digest) = self.store.revision(revision)?;
        let key = key(next, digest);
        Ok(self.kept(key)?.or_else(|| self.best_so_far(key)))
    }

    /// The same with its types.
    pub(crate) fn next_found<T: serde::de::DeserializeOwned>(
        &self,
        revision: i64,
        next: Next,
    ) -> Result<Option<T>, StoreError> {
        let text = self.next_text(revision, next)?;
        // What this engine wrote it can read; anything else was not found.
        Ok(text.and_then(|text| serde_json::from_slice(&text).ok()))
    }

    /// The job that finds it, or has found it.
    pub(crate) fn find_out(
        &self,
        revision: i64,
        next: Next,
    ) -> Result<Result<Arc<Job>, QueueFull>, NoResult> {
        let (digest, _) = self.sound(revision)?;
        let order = Order {
            key: key(next, digest),
            revision,
            work: Work::Next(next),
        };
        if self.kept(order.key)?.is_some() {
            return Ok(Ok(self.jobs.ask_kept(order)));
        }
        Ok(self.jobs.ask(order))
    }

    /// The ideas with these numbers in a revision's ranking; none where it has no
    /// ranking or not all of them.
    pub(crate) fn picked(
        &self,
        revision: i64,
        picked: Picked,
    ) -> Result<Option<Vec<Idea>>, StoreError> {
        let found: Option<Improve> = self.next_found(revision, Next::Improve)?;
        Ok(found.and_then(|found| {
            let ranked = found.ideas.iter().map(|ranked| &ranked.idea);
            let all: Vec<&Idea> = ranked
                .chain(found.unrun.iter().map(|one| &one.idea))
                .collect();
            let idea = |id: u32| {
                all.iter()
                    .find(|idea| idea.id == id)
                    .map(|idea| (*idea).clone())
            };
            picked.ids().map(idea).collect()
        }))
    }

    pub(crate) fn find_next(&self, job: &Arc<Job>, next: Next) -> Ended {
        let progress = |at: flow::Progress| {
            job.tell(|view| (view.done, view.of) = (at.done, at.of));
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &progress,
        };
        let seeking = shops::Watch {
            cancel: &job.cancel,
            progress: &|at| {
                job.tell(|view| {
                    (view.done, view.of) = (at.done as u32, at.of as u32);
                    view.best.clone_from(&at.best);
                });
            },
        };
        let workbook = match self.store.revision(job.order.revision) {
            Ok((_, content, _)) => content.workbook(),
            Err(error) => return Ended::Failed(error.to_string()),
        };
        let tried = &self.tried;
        match next {
            Next::Budget(money) => self.find_budget(job, money),
            Next::Improve => {
                let found = improve::improve(
                    &workbook,
                    &ImproveSettings::USUAL,
                    &self.shelf,
                    tried,
                    &seeking,
                );
                self.end_next(job, found)
            }
            Next::Banks => {
                let found = buffers::banks(&workbook, &BankSettings::USUAL, tried, &watch);
                self.end_next(job, found)
            }
            Next::Reach(goal) => {
                let settings = &ReachSettings::USUAL;
                let found = improve::reach(&workbook, goal, settings, tried, &seeking);
                self.end_next(job, found)
            }
            Next::Together(picked) => match self.picked(job.order.revision, picked) {
                Ok(Some(ideas)) => {
                    let seed = ImproveSettings::USUAL.seed;
                    let found = improve::together(&workbook, &ideas, seed, tried, &watch);
                    self.end_next(job, found)
                }
                Ok(None) => Ended::Failed("the ranking does not have these ideas".to_owned()),
                Err(error) => Ended::Failed(error.to_string()),
            },
        }
    }

    fn find_budget(&self, job: &Job, money: f64) -> Ended {
        let told = |at: &Looking| {
            job.tell(|view| {
                (view.done, view.of) = (at.done, at.of);
                view.message = looking(at, money);
            });
        };
        match self.sound(job.order.revision) {
            Ok((_, checked)) => {
                let found = within_budget(&checked.book, money, &job.cancel, &told);
                self.end_next(job, found.map_err(NoAnswer::Problems))
            }
            Err(NoResult::Store(error)) => Ended::Failed(error.to_string()),
            Err(NoResult::Problems(problems)) => Ended::Failed(listed(&problems)),
        }
    }

    /// What was cut short is the best so far and no answer to keep: it is shown
    /// until the program ends. Its runs are kept, and whoever asks again goes on
    /// from there.
    fn end_next(&self, job: &Job, found: Result<impl serde::Serialize, NoAnswer>) -> Ended {
        let cancelled = job.cancel.load(std::sync::atomic::Ordering::Relaxed);
        match found {
            Ok(found) if cancelled => {
                // of the others half an answer is none
                if let Work::Next(Next::Improve | Next::Reach(_)) = job.order.work {
                    self.cut_short(job.order.key, &found);
                }
                Ended::Cancelled
            }
            Ok(found) => self.end(job, &found),
            Err(_) if cancelled => Ended::Cancelled,
            Err(NoAnswer::Cancelled) => Ended::Cancelled,
            Err(NoAnswer::Settings(what)) => Ended::Failed(what),
            Err(NoAnswer::Problems(problems)) => Ended::Failed(listed(&problems)),
        }
    }
}

/// The rate that is looked at, and what the one before cost.
fn looking(at: &Looking, budget: f64) -> String {
    let now = format!("{:.0} cars a week", at.cars);
    let Some(last) = at.seen.last() else {
        return now;
    };
    let cost = match last.cost_per_year {
        Some(cost) if cost <= budget => format!("{cost:.0} a year, within the budget"),
        Some(cost) => format!("{cost:.0} a year, above the budget"),
        None => "no balance".to_owned(),
    };
    format!("{now}; {:.0} gave {cost}", last.cars)
}
