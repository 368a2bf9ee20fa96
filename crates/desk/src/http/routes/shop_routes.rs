//! Addresses of single shops.

use axum::routing::{get, post};

use super::{Handled, Media, Query, Route, posts, reads};
use crate::http::{export, order, shop_files, shops};

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

const RUN: &[Query] = &[Query::optional(
    "run",
    "true for the same with a run of every period; without it on paper",
)];

const IDEAS: &[Query] = &[Query::optional(
    "ideas",
    "By what is told what ideas give: runs (the usual), kept for the ranking that was kept, plan \
     for the plan's weakest station",
)];

const WEEK: Query = Query::optional("week", "The week, 1 being the first and the usual");

const EFFORT: Query = Query::optional(
    "effort",
    "So many times the usual moves are searched, 1 to 64; the same effort gives the same order",
);

const MOVES: Query = Query::optional(
    "moves",
    "Cars moved by hand since, first to last, as from.cars.to with _ between, such as \
     12.1.45_300.14.20: one car from place 12 to 45, then fourteen from 300 to 20",
);

const PLACES: &[Query] = &[
    WEEK,
    EFFORT,
    MOVES,
    Query::needed("from", "The place of the first car, 1 being the first"),
    Query::optional("cars", "How many cars in a row; without it one"),
];

/// The build order.
pub(super) fn order() -> Vec<Handled> {
    let all = [order_of_cars(), order_files()];
    all.into_iter().flatten().collect()
}

/// The order and cars moved in it.
fn order_of_cars() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/shops/order",
                "The build order of a week; 404 before it was planned",
                Media::Json("BuildOrder"),
            )
            .with(&[WEEK, EFFORT]),
            get(order::order),
        ),
        (
            plans_shop("/revisions/{id}/shops/order").with(&[WEEK, EFFORT]),
            post(order::plan_order),
        ),
        (
            reads(
                "/revisions/{id}/shops/order/hand",
                "The planned order with cars moved by hand: nothing is searched",
                Media::Json("HandOrder"),
            )
            .with(&[WEEK, EFFORT, MOVES]),
            get(order::hand),
        ),
        (
            reads(
                "/revisions/{id}/shops/order/places",
                "What putting some cars at each place would do",
                Media::Json("HandPlaces"),
            )
            .with(PLACES),
            get(order::places),
        ),
    ]
}

/// The same as files.
fn order_files() -> Vec<Handled> {
    vec![
        (
            file(
                "/revisions/{id}/shops/order.xlsx",
                "The build order as a workbook: cars, rules, blocks, part use, store",
                &[export::XLSX],
            )
            .with(&[WEEK, EFFORT, MOVES]),
            get(order::order_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/order.csv",
                "The build order as a table, a line a car",
                &["text/csv"],
            )
            .with(&[WEEK, EFFORT, MOVES]),
            get(order::order_csv),
        ),
        (
            file(
                "/revisions/{id}/shops/order.html",
                "The build order on paper: its strip, what it keeps and breaks",
                &["text/html"],
            )
            .with(&[WEEK, EFFORT, MOVES]),
            get(order::order_paper),
        ),
    ]
}

/// Plans of single shops.
pub(super) fn plans() -> Vec<Handled> {
    let all = [metal(), cars(), carts()];
    all.into_iter().flatten().collect()
}

/// Coils and parts.
fn metal() -> Vec<Handled> {
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
            plans_shop("/revisions/{id}/shops/coil"),
            post(shops::plan_coil),
        ),
        (
            plans_shop("/revisions/{id}/shops/press"),
            post(shops::plan_press),
        ),
    ]
}

/// Bodies and cars.
fn cars() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/shops/body",
                "The body shop's plan: methods, seconds, robots; 404 before it was made",
                Media::Json("Body"),
            )
            .with(RATE),
            get(shops::body),
        ),
        (
            plans_shop("/revisions/{id}/shops/body").with(RATE),
            post(shops::plan_body),
        ),
        (
            reads(
                "/revisions/{id}/shops/assembly",
                "The balance of the assembly lines; 404 before it was made",
                Media::Json("Assembly"),
            )
            .with(RATE),
            get(shops::assembly),
        ),
        (
            reads(
                "/revisions/{id}/shops/assembly/today",
                "The assembly lines as the book has them today: nothing is searched",
                Media::List("Today"),
            )
            .with(RATE),
            get(shops::assembly_today),
        ),
        (
            plans_shop("/revisions/{id}/shops/assembly").with(RATE),
            post(shops::plan_assembly),
        ),
        (
            reads(
                "/revisions/{id}/shops/paint",
                "The paint shop's plan; 404 before it was made",
                Media::Json("Paint"),
            )
            .with(RATE),
            get(shops::paint),
        ),
        (
            plans_shop("/revisions/{id}/shops/paint").with(RATE),
            post(shops::plan_paint),
        ),
    ]
}

/// What carries parts between shops.
fn carts() -> Vec<Handled> {
    vec![
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

/// The plans as files.
pub(super) fn files() -> Vec<Handled> {
    let all = [metal_files(), car_files()];
    all.into_iter().flatten().collect()
}

/// Of coils and parts.
fn metal_files() -> Vec<Handled> {
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
            file(
                "/revisions/{id}/shops/press.ics",
                "The die timetable of a week as a calendar (RFC 5545)",
                &["text/calendar"],
            )
            .with(MONDAY),
            get(shop_files::press_calendar),
        ),
        (
            file(
                "/revisions/{id}/shops/coil/strip.svg",
                "A part's layout as a drawing",
                &[shop_files::SVG],
            )
            .with(LAYOUT),
            get(shop_files::strip_svg),
        ),
        (
            file(
                "/revisions/{id}/shops/coil/strip.dxf",
                "A part's layout as DXF, one pitch of the strip",
                &[shop_files::DXF],
            )
            .with(LAYOUT),
            get(shop_files::strip_dxf),
        ),
    ]
}

/// Of bodies and cars.
fn car_files() -> Vec<Handled> {
    vec![
        (
            file(
                "/revisions/{id}/shops/body.xlsx",
                "The body shop's plan as a workbook, with the joints of every robot",
                &[export::XLSX],
            )
            .with(RATE),
            get(shop_files::body_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/assembly.xlsx",
                "The assembly plan as a workbook, with the work list of every station",
                &[export::XLSX],
            )
            .with(RATE),
            get(shop_files::assembly_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/paint.xlsx",
                "The paint shop's plan as a workbook",
                &[export::XLSX],
            )
            .with(RATE),
            get(shop_files::paint_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/paint/line.svg",
                "The paint line to scale as a drawing",
                &[shop_files::SVG],
            )
            .with(RATE),
            get(shop_files::paint_line),
        ),
        (
            file(
                "/revisions/{id}/shops/assembly/work.html",
                "The work list of every station to print, a page each",
                &["text/html"],
            )
            .with(WORK),
            get(shop_files::assembly_work),
        ),
        (
            file(
                "/revisions/{id}/shops/assembly/cell.svg",
                "A robot's work on a car against time as a drawing",
                &[shop_files::SVG],
            )
            .with(CELL),
            get(shop_files::assembly_cell),
        ),
    ]
}

/// Money and growth, which are of all shops.
pub(super) fn money() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/shops/money",
                "What a car costs, make or buy, what ideas are worth; 404 before it was made",
                Media::Json("CarMoney"),
            )
            .with(IDEAS),
            get(shops::money),
        ),
        (
            plans_shop("/revisions/{id}/shops/money").with(IDEAS),
            post(shops::plan_money),
        ),
        (
            reads(
                "/revisions/{id}/shops/growth",
                "The forecast against each shop, decisions, the ramp; 404 before it was made",
                Media::Json("Growth"),
            )
            .with(RUN),
            get(shops::growth),
        ),
        (
            plans_shop("/revisions/{id}/shops/growth").with(RUN),
            post(shops::plan_growth),
        ),
        (
            file(
                "/revisions/{id}/shops/money.xlsx",
                "What a car costs and ideas are worth as a workbook",
                &[export::XLSX],
            )
            .with(IDEAS),
            get(shop_files::money_workbook),
        ),
        (
            file(
                "/revisions/{id}/shops/growth.xlsx",
                "The forecast against the plant as a workbook",
                &[export::XLSX],
            )
            .with(RUN),
            get(shop_files::growth_workbook),
        ),
    ]
}
