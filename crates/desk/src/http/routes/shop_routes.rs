//! Addresses of single shops.

use super::{Handled, Media, PAPER, Query, Route, WORKBOOK, asks, file, reads};
use crate::http::body::{Plainly, Question};
use crate::http::order::WhichOrder;
use crate::http::shops::{AtRate, WithIdeas, WithRuns};
use crate::http::{order, shop_files, shops};
use crate::jobs::{Shop, Wanted};
use crate::report;

const RATE: &[Query] = &[Query::optional(
    "cars",
    "Cars a week in all, the mix kept; without it the book's",
)];

const RUN: &[Query] = &[Query::optional(
    "run",
    "true for the same with a run of every period; without it on paper",
)];

pub(super) const IDEAS: &[Query] = &[Query::optional(
    "ideas",
    "By what is told what ideas give: runs (the usual), kept for the ranking that was kept, plan \
     for the plan's weakest station",
)];

const WEEK: Query = Query::optional("week", "The week, 1 being the first and the usual");

const EFFORT: Query = Query::optional(
    "effort",
    "So many times the usual moves are searched, 1 being the usual; what is too many is refused with the most; the same effort gives the same order",
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

const PLANS_THE_SHOP: &str = "Plans the shop, or finds the job that does or did";

/// Plans of single shops, and what is told of them.
pub(super) fn all() -> Vec<Handled> {
    let others = [
        at_once(),
        order(),
        order_files(),
        metal_files(),
        car_files(),
        money_files(),
    ];
    plans().into_iter().chain(others).flatten().collect()
}

impl Route {
    /// A shop's plan, as it was kept and to be made.
    fn planned<Q: Question<Meant: Into<Wanted>>>(self, shop: Shop) -> Vec<Handled> {
        let asks = asks(self.path, PLANS_THE_SHOP).with(self.query);
        vec![
            self.through(shops::kept::<Q>(shop)),
            asks.through(shops::planned::<Q>(shop)),
        ]
    }
}

fn plans() -> [Vec<Handled>; 8] {
    [
        reads(
            "/revisions/{id}/shops/coil",
            "The coil shop's plan; 404 before it was made",
            Media::Json("Coil"),
        )
        .planned::<Plainly>(Shop::Coil),
        reads(
            "/revisions/{id}/shops/press",
            "The press shop's plan; 404 before it was made",
            Media::Json("Press"),
        )
        .planned::<Plainly>(Shop::Press),
        reads(
            "/revisions/{id}/shops/body",
            "The body shop's plan: methods, seconds, robots; 404 before it was made",
            Media::Json("Body"),
        )
        .with(RATE)
        .planned::<AtRate>(Shop::Body),
        reads(
            "/revisions/{id}/shops/assembly",
            "The balance of the assembly lines; 404 before it was made",
            Media::Json("Assembly"),
        )
        .with(RATE)
        .planned::<AtRate>(Shop::Assembly),
        reads(
            "/revisions/{id}/shops/paint",
            "The paint shop's plan; 404 before it was made",
            Media::Json("Paint"),
        )
        .with(RATE)
        .planned::<AtRate>(Shop::Paint),
        reads(
            "/revisions/{id}/shops/carts",
            "Carts and stores, confirmed by runs of the plant; 404 before they were made",
            Media::Json("Carts"),
        )
        .planned::<Plainly>(Shop::Carts),
        reads(
            "/revisions/{id}/shops/money",
            "What a car costs, make or buy, what ideas are worth; 404 before it was made",
            Media::Json("CarMoney"),
        )
        .with(IDEAS)
        .planned::<WithIdeas>(Shop::Money),
        reads(
            "/revisions/{id}/shops/growth",
            "The forecast against each shop, decisions, the ramp; 404 before it was made",
            Media::Json("Growth"),
        )
        .with(RUN)
        .planned::<WithRuns>(Shop::Growth),
    ]
}

/// What is told without a job.
fn at_once() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/shops/assembly/today",
            "The assembly lines as the book has them today: nothing is searched",
            Media::List("Today"),
        )
        .with(RATE)
        .by(shops::assembly_today),
        reads(
            "/revisions/{id}/shops/carts/plan",
            "Carts by formula alone: nothing is run",
            Media::Json("CartPlan"),
        )
        .by(shops::cart_plan),
    ]
}

/// The build order, and cars moved in it.
fn order() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/shops/order",
            "The build order of a week; 404 before it was planned",
            Media::Json("BuildOrder"),
        )
        .with(&[WEEK, EFFORT])
        .through(shops::kept::<WhichOrder>(Shop::Order)),
        asks("/revisions/{id}/shops/order", PLANS_THE_SHOP)
            .with(&[WEEK, EFFORT])
            .by(order::plan_order),
        reads(
            "/revisions/{id}/shops/order/hand",
            "The planned order with cars moved by hand: nothing is searched",
            Media::Json("HandOrder"),
        )
        .with(&[WEEK, EFFORT, MOVES])
        .by(order::hand),
        reads(
            "/revisions/{id}/shops/order/places",
            "What putting some cars at each place would do",
            Media::Json("HandPlaces"),
        )
        .with(PLACES)
        .by(order::places),
    ]
}

/// The same as files.
fn order_files() -> Vec<Handled> {
    vec![
        file(
            "/revisions/{id}/shops/order.xlsx",
            "The build order as a workbook: cars, rules, blocks, part use, store",
            WORKBOOK,
        )
        .with(&[WEEK, EFFORT, MOVES])
        .by(order::order_workbook),
        file(
            "/revisions/{id}/shops/order.csv",
            "The build order as a table, a line a car",
            &["text/csv"],
        )
        .with(&[WEEK, EFFORT, MOVES])
        .by(order::order_csv),
        file(
            "/revisions/{id}/shops/order.html",
            "The build order on paper: its strip, what it keeps and breaks",
            PAPER,
        )
        .with(&[WEEK, EFFORT, MOVES])
        .by(order::order_paper),
    ]
}

/// Files of coils and parts.
fn metal_files() -> Vec<Handled> {
    vec![
        file(
            "/revisions/{id}/shops/coil.xlsx",
            "The coil shop's plan as a workbook; 404 before it was made, as all files of a \
                shop's plan",
            WORKBOOK,
        )
        .through(shop_files::workbook::<Plainly, _>(
            Shop::Coil,
            "coils",
            report::coil_xlsx,
        )),
        file(
            "/revisions/{id}/shops/press.xlsx",
            "The press shop's plan as a workbook",
            WORKBOOK,
        )
        .through(shop_files::workbook::<Plainly, _>(
            Shop::Press,
            "press",
            report::press_xlsx,
        )),
        file(
            "/revisions/{id}/shops/press.ics",
            "The die timetable of a week as a calendar (RFC 5545)",
            &["text/calendar"],
        )
        .with(MONDAY)
        .by(shop_files::press_calendar),
        file(
            "/revisions/{id}/shops/coil/strip.svg",
            "A part's layout as a drawing",
            &[shop_files::SVG],
        )
        .with(LAYOUT)
        .by(shop_files::strip_svg),
        file(
            "/revisions/{id}/shops/coil/strip.dxf",
            "A part's layout as DXF, one pitch of the strip",
            &[shop_files::DXF],
        )
        .with(LAYOUT)
        .by(shop_files::strip_dxf),
    ]
}

/// Of bodies and cars.
fn car_files() -> Vec<Handled> {
    vec![
        file(
            "/revisions/{id}/shops/body.xlsx",
            "The body shop's plan as a workbook, with the joints of every robot",
            WORKBOOK,
        )
        .with(RATE)
        .through(shop_files::workbook::<AtRate, _>(
            Shop::Body,
            "body",
            report::body_xlsx,
        )),
        file(
            "/revisions/{id}/shops/assembly.xlsx",
            "The assembly plan as a workbook, with the work list of every station",
            WORKBOOK,
        )
        .with(RATE)
        .through(shop_files::workbook::<AtRate, _>(
            Shop::Assembly,
            "assembly",
            report::assembly_xlsx,
        )),
        file(
            "/revisions/{id}/shops/paint.xlsx",
            "The paint shop's plan as a workbook",
            WORKBOOK,
        )
        .with(RATE)
        .through(shop_files::workbook::<AtRate, _>(
            Shop::Paint,
            "paint",
            report::paint_xlsx,
        )),
        file(
            "/revisions/{id}/shops/paint/line.svg",
            "The paint line to scale as a drawing",
            &[shop_files::SVG],
        )
        .with(RATE)
        .by(shop_files::paint_line),
        file(
            "/revisions/{id}/shops/assembly/work.html",
            "The work list of every station to print, a page each",
            PAPER,
        )
        .with(WORK)
        .by(shop_files::assembly_work),
        file(
            "/revisions/{id}/shops/assembly/cell.svg",
            "A robot's work on a car against time as a drawing",
            &[shop_files::SVG],
        )
        .with(CELL)
        .by(shop_files::assembly_cell),
    ]
}

/// Of money and growth, which are of all shops.
fn money_files() -> Vec<Handled> {
    vec![
        file(
            "/revisions/{id}/shops/money.xlsx",
            "What a car costs and ideas are worth as a workbook",
            WORKBOOK,
        )
        .with(IDEAS)
        .through(shop_files::workbook::<WithIdeas, _>(
            Shop::Money,
            "money",
            report::money_xlsx,
        )),
        file(
            "/revisions/{id}/shops/growth.xlsx",
            "The forecast against the plant as a workbook",
            WORKBOOK,
        )
        .with(RUN)
        .through(shop_files::workbook::<WithRuns, _>(
            Shop::Growth,
            "growth",
            report::growth_xlsx,
        )),
    ]
}
