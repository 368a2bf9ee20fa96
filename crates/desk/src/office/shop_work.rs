//! A job's work on the plan of a shop, or on what goes over all shops.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use book::{Book, Problem};
use flow::Watch;
use shops::coil::NoPlan;
use units::PerWeek;
use whole::findings::NoAnswer;

use super::{HUNDRED, Office, listed, order};
use crate::jobs::{Ended, Job, JobView, Next, Shop, Wanted};

impl Office {
    pub(super) fn find_shop(
        &self,
        job: &Arc<Job>,
        book: &Book,
        shop: Shop,
        wanted: Wanted,
    ) -> Ended {
        let rate = match wanted {
            Wanted::Rate(rate) => Some(rate),
            _ => None,
        };
        match shop {
            Shop::Money => self.find_money(job, wanted),
            Shop::Carts | Shop::Growth => self.by_runs(job, book, (shop, wanted)),
            Shop::Paint => self.end_shop(job, whole::paint::paint_at(book, rate)),
            Shop::Press => {
                let watch = shops::press::Watch {
                    cancel: &job.cancel,
                    progress: &|at| tell_best(job, at),
                };
                self.end_shop(job, whole::press::press(book, &watch))
            }
            Shop::Body => self.find_body(job, book, rate),
            Shop::Assembly => self.find_assembly(job, book, rate),
            Shop::Order => {
                let watch = whole::order::Watch {
                    cancel: &job.cancel,
                    progress: &|at| tell_best(job, at),
                    gone: &|| 0.0,
                };
                self.end_order(job, order::planned(book, wanted, &watch))
            }
            Shop::Coil => {
                let watch = shops::coil::Watch {
                    cancel: &job.cancel,
                    progress: &|at| tell_best(job, at),
                };
                let plan = whole::coil::coil(book, &self.shelf, &watch);
                self.end_shop(job, plan.map_err(no_coil_plan))
            }
        }
    }

    /// What a car costs; what ideas give as it is asked: by runs, by the ranking that
    /// was kept, or by the plan's weakest station.
    fn find_money(&self, job: &Job, wanted: Wanted) -> Ended {
        let running = |at: flow::Progress| {
            job.tell(|view| (view.done, view.of) = (at.done, at.of));
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &running,
        };
        let shelf = &self.shelf;
        match wanted {
            Wanted::Paper => self.with_text(job, |text| {
                let laying = shops::coil::Watch {
                    cancel: &job.cancel,
                    progress: &|at| tell_best(job, at),
                };
                whole::money::money(text, None, shelf, &laying).map_err(|why| match why {
                    NoPlan::Problems(problems) => NoAnswer::Problems(problems),
                    NoPlan::Cancelled => NoAnswer::Cancelled,
                })
            }),
            Wanted::Kept => match self.next_found(job.order.revision, Next::Improve) {
                Ok(Some(found)) => self.with_text(job, |text| {
                    whole::money::money_by_ranking(text, &found, shelf, &watch)
                }),
                Ok(None) => Ended::Failed(
                    "no ranking of this revision's ideas is kept; have them ranked first, or take \
                     the plan's weakest station"
                        .to_owned(),
                ),
                Err(error) => Ended::Failed(error.to_string()),
            },
            _ => self.with_text(job, |text| {
                let runs = &whole::money::RUNS;
                whole::money::money_by_runs(text, runs, shelf, &self.tried, &watch)
            }),
        }
    }

    /// What goes over all shops is found by running the plant.
    fn by_runs(&self, job: &Job, book: &Book, (shop, wanted): (Shop, Wanted)) -> Ended {
        let running = |at: flow::Progress| {
            job.tell(|view| (view.done, view.of) = (at.done, at.of));
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &running,
        };
        match shop {
            Shop::Growth => self.with_text(job, |text| {
                let runs = matches!(wanted, Wanted::Runs).then_some(&whole::growth::RUNS);
                whole::growth::growth(text, runs, &watch)
            }),
            _ => self.end_run(job, whole::carts::carts(book, &whole::carts::RUNS, &watch)),
        }
    }

    fn find_body(&self, job: &Job, book: &Book, rate: Option<PerWeek>) -> Ended {
        let watch = whole::body::Watch {
            cancel: &job.cancel,
            progress: &|at| tell_best(job, at),
        };
        let asked = whole::body::Asked {
            rate,
            ..whole::body::Asked::PLAIN
        };
        self.end_shop(job, whole::body::body(book, asked, &watch))
    }

    fn find_assembly(&self, job: &Job, book: &Book, rate: Option<PerWeek>) -> Ended {
        let watch = whole::assembly::Watch {
            cancel: &job.cancel,
            progress: &|at| tell_best(job, at),
        };
        self.end_shop(job, whole::assembly::assembly_at(book, rate, &watch))
    }

    /// Ends a job with what is made of its book as text: ideas change its cells.
    fn with_text<T: serde::Serialize>(
        &self,
        job: &Job,
        make: impl FnOnce(&book::raw::Workbook) -> Result<T, NoAnswer>,
    ) -> Ended {
        match self.store.revision(job.order.revision) {
            Ok((_, content, _)) => self.end_run(job, make(&content.workbook())),
            Err(error) => Ended::Failed(error.to_string()),
        }
    }

    pub(crate) fn end_run(
        &self,
        job: &Job,
        made: Result<impl serde::Serialize, NoAnswer>,
    ) -> Ended {
        match made {
            Ok(made) => self.end(job, &made),
            Err(NoAnswer::Cancelled) => Ended::Cancelled,
            Err(NoAnswer::Settings(what)) => Ended::Failed(what),
            Err(NoAnswer::Problems(problems)) => Ended::Failed(listed(&problems)),
        }
    }

    pub(super) fn end_shop(
        &self,
        job: &Job,
        plan: Result<impl serde::Serialize, Vec<Problem>>,
    ) -> Ended {
        match plan {
            // A search cut short leaves its best so far, which is no plan to keep.
            _ if job.cancel.load(Ordering::Relaxed) => Ended::Cancelled,
            Ok(plan) => self.end(job, &plan),
            Err(problems) => Ended::Failed(listed(&problems)),
        }
    }
}

/// Tells what is going on in a search, how far it is and the best so far.
fn tell_best(job: &Job, at: &shops::Progress) {
    job.tell(|view| {
        view.message.clone_from(&at.doing);
        view.best.clone_from(&at.best);
        if at.of > 0 {
            advance(view, at.done as f64 / at.of as f64);
        }
    });
}

/// Searches of a plan may begin anew, but what is done stays done.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn advance(view: &mut JobView, share: f64) {
    let done = (share.clamp(0.0, 1.0) * f64::from(HUNDRED)) as u32;
    (view.done, view.of) = (done.max(view.done), HUNDRED);
}

fn no_coil_plan(why: NoPlan) -> Vec<Problem> {
    match why {
        NoPlan::Problems(problems) => problems,
        NoPlan::Cancelled => Vec::new(),
    }
}
