//! The build order: planned by a job, moved by hand at once, as files.
//!
//! A hand-made order is the planned one and a list of moves. The list stands in
//! the address, so that an order has a link, survives a reload and is undone by
//! going back.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use whole::order::{BuildOrder, Effort, HandMove, HandOrder, HandPlaces};

use super::body::{Asked, In, Meant, Question};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::reports::paper;
use super::runs::{Asking, asking};
use super::{Desk, on_a_thread, shops};
use crate::jobs::{Shop, Wanted};
use crate::office::order::NoHand;
use crate::report;

pub(super) const CSV: &str = "text/csv; charset=utf-8";

/// Weeks that may be planned.
const MOST_WEEKS: u32 = 520;
/// Moves of a hand-made order; more are better kept in the book.
const MOST_MOVES: usize = 500;

/// Which week, and how much is searched for its order.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WhichOrder {
    week: Option<u32>,
    effort: Option<u32>,
}

impl Question for WhichOrder {
    type Meant = Wanted;

    fn meant(self) -> Result<Wanted, Failure> {
        let (week, effort) = (self.week.unwrap_or(1), self.effort.unwrap_or(1));
        let refused = |code, found, mend: &str| {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            Err(Failure::new(status, code, found, mend))
        };
        if !(1..=MOST_WEEKS).contains(&week) {
            let mend = "ask for a week from 1 to 520";
            return refused("week", format!("week {week}"), mend);
        }
        if !(1..=Effort::MOST).contains(&effort) {
            let mend = format!("ask for 1 to {} times the usual moves", Effort::MOST);
            return refused("effort", format!("{effort} times the usual moves"), &mend);
        }
        Ok(Wanted::Week(week, effort))
    }
}

/// What was moved by hand: `from.cars.to`, one after the other with `_` between.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct ByHand {
    moves: Option<String>,
}

impl Question for ByHand {
    type Meant = Vec<HandMove>;

    fn meant(self) -> Result<Vec<HandMove>, Failure> {
        let text = self.moves.as_deref().unwrap_or_default();
        let words: Vec<&str> = text.split('_').filter(|word| !word.is_empty()).collect();
        if words.len() > MOST_MOVES {
            return Err(Failure::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "too-many-moves",
                format!("{} moves, the most is {MOST_MOVES}", words.len()),
                "keep the order in the book and go on from there",
            ));
        }
        words.into_iter().map(read_move).collect()
    }
}

fn read_move(word: &str) -> Result<HandMove, Failure> {
    let numbers: Result<Vec<u32>, _> = word.split('.').map(str::parse).collect();
    match numbers.as_deref() {
        Ok(&[from, cars, to]) => Ok(HandMove { from, cars, to }),
        _ => Err(Failure::bad_request(format!(
            "moves holds `{word}`, expected from.cars.to, such as 12.1.45"
        ))),
    }
}

impl From<NoHand> for Failure {
    fn from(error: NoHand) -> Self {
        match error {
            NoHand::NotPlanned => shops::not_planned(),
            NoHand::NoResult(error) => error.into(),
            NoHand::Fault(fault) => Self::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "no-such-move",
                format!(
                    "{}: {}; expected {}",
                    fault.place, fault.found, fault.expected
                ),
                &fault.mend,
            ),
        }
    }
}

/// `POST /api/revisions/{id}/shops/order`.
pub(crate) async fn plan_order(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(wanted): Meant<WhichOrder>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| {
        office.order_can_be_planned(id, wanted)?;
        asking(office.plan_shop(id, Shop::Order, wanted)?)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/order/hand`.
pub(crate) async fn hand(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(wanted): Meant<WhichOrder>,
    Meant(moves): Meant<ByHand>,
) -> Result<Json<HandOrder>, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(Json(office.moved(id, wanted, &moves)?))
    })
    .await
}

/// Which cars are to find a place.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WhichCars {
    from: u32,
    cars: Option<u32>,
}

/// `GET /api/revisions/{id}/shops/order/places`.
pub(crate) async fn places(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(wanted): Meant<WhichOrder>,
    Meant(moves): Meant<ByHand>,
    Asked(WhichCars { from, cars }): Asked<WhichCars>,
) -> Result<Json<HandPlaces>, Failure> {
    let cars = cars.unwrap_or(1);
    on_a_thread(&desk, move |office| {
        Ok(Json(office.places_for(id, wanted, &moves, (from, cars))?))
    })
    .await
}

/// `GET /api/revisions/{id}/shops/order.xlsx`.
pub(crate) async fn order_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    week: Meant<WhichOrder>,
    moves: Meant<ByHand>,
) -> Result<Response, Failure> {
    file(desk, id, (week, moves), XLSX, "xlsx", |order| {
        report::order_xlsx(order).map_err(refused)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/order.csv`.
pub(crate) async fn order_csv(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    week: Meant<WhichOrder>,
    moves: Meant<ByHand>,
) -> Result<Response, Failure> {
    file(desk, id, (week, moves), CSV, "csv", |order| {
        Ok(report::order_csv(order).into_bytes())
    })
    .await
}

/// `GET /api/revisions/{id}/shops/order.html`.
pub(crate) async fn order_paper(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(wanted): Meant<WhichOrder>,
    Meant(moves): Meant<ByHand>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, _, _) = office.store.revision(id)?;
        let order = office.moved_order(id, wanted, &moves)?;
        let of = format!(
            "Revision {} by {}, {}",
            revision.id, revision.author, revision.time
        );
        Ok(paper(report::order_html(&order, &of), report::STYLE))
    })
    .await
}

async fn file(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    (Meant(wanted), Meant(moves)): (Meant<WhichOrder>, Meant<ByHand>),
    kind: &'static str,
    ending: &'static str,
    form: fn(&BuildOrder) -> Result<Vec<u8>, Failure>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let order = office.moved_order(id, wanted, &moves)?;
        let by_hand = if moves.is_empty() { "" } else { "-by-hand" };
        let what = format!("{}-order-week-{}{by_hand}", content.name, order.week);
        let name = file_name(&what, revision.id, ending);
        Ok(download(kind, &name, form(&order)?))
    })
    .await
}
