//! Addresses of single shops.

use axum::routing::{get, post};

use super::{Handled, Media, Query, Route, posts, reads};
use crate::http::{export, shop_files, shops};

const fn plans_shop(path: &'static str) -> Route {
    Route {
        status: 202,
        ..posts(
            path,
            "Plans the shop, or finds the job that does or did",
            Media::Nothing,
            Media::Json("Asking"),
        )
    }
}

const RATE: &[Query] = &[Query::optional(
    "cars",
    "Cars a week in all, the mix kept; without it the book's",
)];

const BUDGET: &[Query] = &[Query::needed("budget", "Money a year, above 0")];

/// Plans of single shops.
pub(super) fn plans() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/shops/coil",
                "The coil shop's plan; 404 before it was made",
                Media::Json("Coil"),
            ),
            get(shops::coil),
        ),
        (
            reads(
                "/revisions/{id}/shops/press",
                "The press shop's plan; 404 before it was made",
                Media::Json("Press"),
            ),
            get(shops::press),
        ),
        (
            Route {
                query: RATE,
                ..reads(
                    "/revisions/{id}/shops/assembly",
                    "The balance of the assembly lines; 404 before it was made",
                    Media::Json("Assembly"),
                )
            },
            get(shops::assembly),
        ),
        (
            Route {
                query: RATE,
                ..reads(
                    "/revisions/{id}/shops/assembly/today",
                    "The assembly lines as the book has them today: nothing is searched",
                    Media::List("Today"),
                )
            },
            get(shops::assembly_today),
        ),
        (
            Route {
                query: BUDGET,
                ..reads(
                    "/revisions/{id}/shops/assembly/budget",
                    "The most cars a week whose assembly lines cost no more than a budget",
                    Media::Json("Budgeted"),
                )
            },
            get(shops::assembly_budget),
        ),
        (
            Route {
                query: RATE,
                ..plans_shop("/revisions/{id}/shops/assembly")
            },
            post(shops::plan_assembly),
        ),
        (
            reads(
                "/revisions/{id}/shops/carts",
                "Carts and stores, confirmed by runs of the plant; 404 before they were made",
                Media::Json("Carts"),
            ),
            get(shops::carts),
        ),
        (
            reads(
                "/revisions/{id}/shops/carts/plan",
                "Carts by formula alone: nothing is run",
                Media::Json("CartPlan"),
            ),
            get(shops::cart_plan),
        ),
        (
            plans_shop("/revisions/{id}/shops/carts"),
            post(shops::plan_carts),
        ),
        (
            plans_shop("/revisions/{id}/shops/coil"),
            post(shops::plan_coil),
        ),
        (
            plans_shop("/revisions/{id}/shops/press"),
            post(shops::plan_press),
        ),
    ]
}

const LAYOUT: &[Query] = &[
    Query::needed("part", "The part"),
    Query::optional("layout", "Its layout, 1 being the cheapest and the usual"),
];

const WORK: &[Query] = &[
    Query {
        words: &["today", "moves", "fewest"],
        ..Query::optional(
            "of",
            "Whose work: of today's stations, after the fewest moves, or on the fewest stations",
        )
    },
    RATE[0],
];

const CELL: &[Query] = &[
    Query::needed("cell", "The robot, 1 being the first of the plan"),
    RATE[0],
];

const MONDAY: &[Query] = &[Query::optional(
    "monday",
    "The Monday of the week, such as 2026-01-05; without it the coming one",
)];

const fn file(path: &'static str, about: &'static str, kinds: &'static [&'static str]) -> Route {
    reads(path, about, Media::Bytes(kinds))
}

/// The same as files.
pub(super) fn files() -> Vec<Handled> {
    vec![
        (
            file(
                "/revisions/{id}/shops/coil.xlsx",
                "The coil shop's plan as a workbook; 404 before it was made, as all files of a \
                 shop's plan",
                &[export::XLSX],
            ),
            get(shop_files::coil_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/press.xlsx",
                "The press shop's plan as a workbook",
                &[export::XLSX],
            ),
            get(shop_files::press_workbook),
        ),
        (
            Route {
                query: MONDAY,
                ..file(
                    "/revisions/{id}/shops/press.ics",
                    "The die timetable of a week as a calendar (RFC 5545)",
                    &["text/calendar"],
                )
            },
            get(shop_files::press_calendar),
        ),
        (
            Route {
                query: LAYOUT,
                ..file(
                    "/revisions/{id}/shops/coil/strip.svg",
                    "A part's layout as a drawing",
                    &[shop_files::SVG],
                )
            },
            get(shop_files::strip_svg),
        ),
        (
            Route {
                query: LAYOUT,
                ..file(
                    "/revisions/{id}/shops/coil/strip.dxf",
                    "A part's layout as DXF, one pitch of the strip",
                    &[shop_files::DXF],
                )
            },
            get(shop_files::strip_dxf),
        ),
        (
            Route {
                query: RATE,
                ..file(
                    "/revisions/{id}/shops/assembly.xlsx",
                    "The assembly plan as a workbook, with the work list of every station",
                    &[export::XLSX],
                )
            },
            get(shop_files::assembly_workbook),
        ),
        (
            Route {
                query: WORK,
                ..file(
                    "/revisions/{id}/shops/assembly/work.html",
                    "The work list of every station to print, a page each",
                    &["text/html"],
                )
            },
            get(shop_files::assembly_work),
        ),
        (
            Route {
                query: CELL,
                ..file(
                    "/revisions/{id}/shops/assembly/cell.svg",
                    "A robot's work on a car against time as a drawing",
                    &[shop_files::SVG],
                )
            },
            get(shop_files::assembly_cell),
        ),
    ]
}
