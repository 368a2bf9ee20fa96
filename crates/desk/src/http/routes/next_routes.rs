//! Addresses of what to do next.

use axum::routing::{get, post};

use super::{Handled, Media, Query, Route, posts, reads};
use crate::http::{export, next};

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

const fn asks(path: &'static str, about: &'static str, query: &'static [Query]) -> Route {
    Route {
        status: 202,
        query,
        ..posts(path, about, Media::Nothing, Media::Json("Asking"))
    }
}

const fn file(path: &'static str, about: &'static str, query: &'static [Query]) -> Route {
    Route {
        query,
        ..reads(path, about, Media::Bytes(&[export::XLSX]))
    }
}

/// Ideas, ways, banks.
pub(super) fn all() -> Vec<Handled> {
    let all = [ideas(), ways(), files()];
    all.into_iter().flatten().collect()
}

/// Ideas and banks one by one.
fn ideas() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/next/improve",
                "Ideas ranked by what the plant makes with each; 404 before they were",
                Media::Json("Improve"),
            ),
            get(next::improve),
        ),
        (
            asks(
                "/revisions/{id}/next/improve",
                "Ranks the ideas, or finds the job that does or did; cancelled and asked again it \
                 goes on from where it was",
                &[],
            ),
            post(next::ask_improve),
        ),
        (
            reads(
                "/revisions/{id}/next/banks",
                "Banks priced both ways; 404 before they were",
                Media::Json("Banks"),
            ),
            get(next::banks),
        ),
        (
            asks(
                "/revisions/{id}/next/banks",
                "Prices the banks, or finds the job that does or did",
                &[],
            ),
            post(next::ask_banks),
        ),
    ]
}

/// Several together.
fn ways() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/next/reach",
                "The cheapest ideas that reach a rate together; 404 before it was asked for",
                Media::Json("Reach"),
            )
            .with(GOAL),
            get(next::reach),
        ),
        (
            asks(
                "/revisions/{id}/next/reach",
                "Finds the cheapest way, or the job that does or did",
                GOAL,
            ),
            post(next::ask_reach),
        ),
        (
            reads(
                "/revisions/{id}/next/together",
                "The plant with some ideas of its ranking together; 404 before it was asked for",
                Media::Json("Together"),
            )
            .with(IDEAS),
            get(next::together),
        ),
        (
            asks(
                "/revisions/{id}/next/together",
                "Runs the plant with these ideas, or finds the job that does or did",
                IDEAS,
            ),
            post(next::ask_together),
        ),
        (
            reads(
                "/revisions/{id}/next/budget",
                "The most cars a week whose assembly lines cost no more than a budget; 404 \
                     before it was asked for",
                Media::Json("Budgeted"),
            )
            .with(BUDGET),
            get(next::budget),
        ),
        (
            asks(
                "/revisions/{id}/next/budget",
                "Balances the lines at the rates that a budget may pay for, or finds the job \
                 that does or did",
                BUDGET,
            ),
            post(next::ask_budget),
        ),
    ]
}

/// The same as files.
fn files() -> Vec<Handled> {
    vec![
        (
            file(
                "/revisions/{id}/next/improve.xlsx",
                "The ranking as a workbook; 404 before it was made",
                &[],
            ),
            get(next::improve_workbook),
        ),
        (
            file(
                "/revisions/{id}/next/banks.xlsx",
                "The priced banks as a workbook",
                &[],
            ),
            get(next::banks_workbook),
        ),
        (
            file(
                "/revisions/{id}/next/reach.xlsx",
                "The way to a rate as a workbook",
                GOAL,
            ),
            get(next::reach_workbook),
        ),
    ]
}
