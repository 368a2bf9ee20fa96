//! Addresses of what to do next.

use super::{Handled, Media, Query, Route, WORKBOOK, asks, file, reads};
use crate::http::body::{Plainly, Question};
use crate::http::next::{self, WhichGoal, WhichIdeas, WithBudget};
use crate::jobs::Next;
use crate::report;

const GOAL: &[Query] = &[
    Query::needed("cars", "Cars a week to be reached"),
    Query::optional(
        "days",
        "Days from coil to car to be kept by nine cars in ten; without it any",
    ),
];

const IDEAS: &[Query] = &[Query::needed(
    "ideas",
    "Numbers of ideas of the ranking, commas between",
)];

const BUDGET: &[Query] = &[Query::needed("money", "Money a year, above 0")];

/// Ideas, ways, banks.
pub(super) fn all() -> Vec<Handled> {
    jobs()
        .into_iter()
        .chain([together(), files()])
        .flatten()
        .collect()
}

impl Route {
    /// What is found out by a job, as it was kept and to be found out.
    fn found_out<Q: Question>(
        self,
        next: fn(Q::Meant) -> Next,
        about: &'static str,
    ) -> Vec<Handled> {
        let asks = asks(self.path, about).with(self.query);
        vec![
            self.through(next::found::<Q>(next)),
            asks.through(next::asks::<Q>(next)),
        ]
    }
}

fn jobs() -> [Vec<Handled>; 4] {
    [
        reads(
            "/revisions/{id}/next/improve",
            "Ideas ranked by what the plant makes with each; 404 before they were",
            Media::Json("Improve"),
        )
        .found_out::<Plainly>(
            |()| Next::Improve,
            "Ranks the ideas, or finds the job that does or did; cancelled and asked again it \
            goes on from where it was",
        ),
        reads(
            "/revisions/{id}/next/banks",
            "Banks priced both ways; 404 before they were",
            Media::Json("Banks"),
        )
        .found_out::<Plainly>(
            |()| Next::Banks,
            "Prices the banks, or finds the job that does or did",
        ),
        reads(
            "/revisions/{id}/next/reach",
            "The cheapest ideas that reach a rate together; 404 before it was asked for",
            Media::Json("Reach"),
        )
        .with(GOAL)
        .found_out::<WhichGoal>(
            Next::Reach,
            "Finds the cheapest way, or the job that does or did",
        ),
        reads(
            "/revisions/{id}/next/budget",
            "The most cars a week whose assembly lines cost no more than a budget; 404 \
                before it was asked for",
            Media::Json("Budgeted"),
        )
        .with(BUDGET)
        .found_out::<WithBudget>(
            Next::Budget,
            "Balances the lines at the rates that a budget may pay for, or finds the job \
            that does or did",
        ),
    ]
}

fn together() -> Vec<Handled> {
    let path = "/revisions/{id}/next/together";
    vec![
        reads(
            path,
            "The plant with some ideas of its ranking together; 404 before it was asked for",
            Media::Json("Together"),
        )
        .with(IDEAS)
        .through(next::found::<WhichIdeas>(Next::Together)),
        asks(
            path,
            "Runs the plant with these ideas, or finds the job that does or did",
        )
        .with(IDEAS)
        .by(next::ask_together),
    ]
}

/// The same as files.
fn files() -> Vec<Handled> {
    vec![
        file(
            "/revisions/{id}/next/improve.xlsx",
            "The ranking as a workbook; 404 before it was made",
            WORKBOOK,
        )
        .through(next::workbook::<Plainly, _>(
            |()| Next::Improve,
            report::improve_xlsx,
        )),
        file(
            "/revisions/{id}/next/banks.xlsx",
            "The priced banks as a workbook",
            WORKBOOK,
        )
        .through(next::workbook::<Plainly, _>(
            |()| Next::Banks,
            report::banks_xlsx,
        )),
        file(
            "/revisions/{id}/next/reach.xlsx",
            "The way to a rate as a workbook",
            WORKBOOK,
        )
        .with(GOAL)
        .through(next::workbook::<WhichGoal, _>(
            Next::Reach,
            report::reach_xlsx,
        )),
    ]
}
