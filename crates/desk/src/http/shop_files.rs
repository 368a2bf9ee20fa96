//! Plans of single shops as files: workbooks, drawings, a calendar.

use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use shops::coil::{Coil, StripPart};
use whole::assembly::Assembly;
use whole::body::Body;
use whole::growth::Growth;
use whole::money::CarMoney;
use whole::paint::Paint;
use whole::press::Press;

use super::body::{Asked, In};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::reports::paper;
use super::shops::{AtRate, WithIdeas, WithRuns, not_planned};
use super::{Desk, on_a_thread};
use crate::clock;
use crate::jobs::{Shop, Wanted};
use crate::report::{self, Balance, Date};

pub(super) const SVG: &str = "image/svg+xml";
pub(super) const DXF: &str = "image/vnd.dxf";
pub(super) const ICS: &str = "text/calendar; charset=utf-8";

/// `GET /api/revisions/{id}/shops/coil.xlsx`.
pub(crate) async fn coil_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    let asked = (Shop::Coil, Wanted::Book);
    workbook_at(desk, id, asked, "coils", |plan: Coil| {
        report::coil_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/press.xlsx`.
pub(crate) async fn press_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    let asked = (Shop::Press, Wanted::Book);
    workbook_at(desk, id, asked, "press", |plan: Press| {
        report::press_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/money.xlsx`.
pub(crate) async fn money_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithIdeas>,
) -> Result<Response, Failure> {
    let asked = (Shop::Money, with.wanted());
    workbook_at(desk, id, asked, "money", |plan: CarMoney| {
        report::money_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/growth.xlsx`.
pub(crate) async fn growth_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithRuns>,
) -> Result<Response, Failure> {
    let asked = (Shop::Growth, with.wanted());
    workbook_at(desk, id, asked, "growth", |plan: Growth| {
        report::growth_xlsx(&plan)
    })
    .await
}

/// Which week a calendar is of.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichWeek {
    monday: Option<String>,
}

/// `GET /api/revisions/{id}/shops/press.ics`.
pub(crate) async fn press_calendar(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(which): Asked<WhichWeek>,
) -> Result<Response, Failure> {
    let monday = match which.monday {
        None => Date::monday_after(clock::now_ms()),
        Some(text) => Date::read(&text)
            .filter(|date| date.is_monday())
            .ok_or_else(|| {
                Failure::bad_request(format!(
                    "monday is `{text}`, expected the date of a Monday, such as 2026-01-05"
                ))
            })?,
    };
    file(desk, id, Shop::Press, move |press: Press| {
        if press.lots.is_empty() {
            return Err(Failure::new(
                StatusCode::NOT_FOUND,
                "no-timetable",
                "no line has a timetable, so there is no calendar",
                "see the press shop's plan, which says what is missing",
            ));
        }
        let bytes = report::ics(&press, monday).into_bytes();
        Ok(File::of("dies", ICS, "ics", bytes))
    })
    .await
}

/// Which layout of which part.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichLayout {
    part: String,
    /// Its place in the plan's list, the cheapest being 1.
    layout: Option<usize>,
}

/// `GET /api/revisions/{id}/shops/coil/strip.svg`.
pub(crate) async fn strip_svg(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    which: Asked<WhichLayout>,
) -> Result<Response, Failure> {
    strip(desk, id, which, Coil::svg, SVG, "svg").await
}

/// `GET /api/revisions/{id}/shops/coil/strip.dxf`.
pub(crate) async fn strip_dxf(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    which: Asked<WhichLayout>,
) -> Result<Response, Failure> {
    strip(desk, id, which, Coil::dxf, DXF, "dxf").await
}

type Draw = fn(&Coil, &StripPart, usize) -> Option<String>;

async fn strip(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(which): Asked<WhichLayout>,
    draw: Draw,
    kind: &'static str,
    ending: &'static str,
) -> Result<Response, Failure> {
    file(desk, id, Shop::Coil, move |coil: Coil| {
        let number = which.layout.unwrap_or(1);
        let part = coil.part(&which.part).ok_or_else(|| {
            Failure::not_found(format!("no part `{}` is cut from coil", which.part))
        })?;
        let drawing = number.checked_sub(1).and_then(|at| draw(&coil, part, at));
        let drawing = drawing.ok_or_else(|| {
            Failure::not_found(format!(
                "`{}` has no layout {number}; it has 1 to {}",
                part.part,
                part.layouts.len()
            ))
        })?;
        let name = format!("{}-layout-{number}", part.part);
        Ok(File::of(&name, kind, ending, drawing.into_bytes()))
    })
    .await
}

/// `GET /api/revisions/{id}/shops/body.xlsx`.
pub(crate) async fn body_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    let asked = (Shop::Body, at.rate()?.into());
    workbook_at(desk, id, asked, "body", |plan: Body| {
        report::body_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/assembly.xlsx`.
pub(crate) async fn assembly_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    let asked = (Shop::Assembly, at.rate()?.into());
    workbook_at(desk, id, asked, "assembly", |plan: Assembly| {
        report::assembly_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/paint.xlsx`.
pub(crate) async fn paint_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    let asked = (Shop::Paint, at.rate()?.into());
    workbook_at(desk, id, asked, "paint", |plan: Paint| {
        report::paint_xlsx(&plan)
    })
    .await
}

/// `GET /api/revisions/{id}/shops/paint/line.svg`.
pub(crate) async fn paint_line(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    let asked = (Shop::Paint, at.rate()?.into());
    file_at(desk, id, asked, |plan: Paint| {
        let bytes = report::paint_svg(&plan).into_bytes();
        Ok(File::of("paint-line", SVG, "svg", bytes))
    })
    .await
}

/// Which robot's cell.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichCell {
    /// Its place in the plan's list, the first being 1.
    cell: usize,
    cars: Option<f64>,
}

/// `GET /api/revisions/{id}/shops/assembly/cell.svg`.
pub(crate) async fn assembly_cell(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(which): Asked<WhichCell>,
) -> Result<Response, Failure> {
    let asked = (Shop::Assembly, AtRate::of(which.cars).rate()?.into());
    file_at(desk, id, asked, move |plan: Assembly| {
        let cell = which.cell.checked_sub(1).and_then(|at| plan.cells.get(at));
        let cell = cell.ok_or_else(|| {
            Failure::not_found(format!(
                "there is no robot {}; the plan has {}",
                which.cell,
                plan.cells.len()
            ))
        })?;
        let place = cell.line.as_deref().unwrap_or(&cell.shop);
        let name = format!("{}-{place}", cell.robot);
        let bytes = report::cell_svg(cell).into_bytes();
        Ok(File::of(&name, SVG, "svg", bytes))
    })
    .await
}

/// Which balance's work.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichWork {
    of: Option<String>,
    cars: Option<f64>,
}

/// `GET /api/revisions/{id}/shops/assembly/work.html`: to be read and printed.
pub(crate) async fn assembly_work(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(which): Asked<WhichWork>,
) -> Result<Response, Failure> {
    let rate = AtRate::of(which.cars).rate()?;
    let word = which.of.as_deref().unwrap_or(Balance::Today.word());
    let balance = Balance::ALL.into_iter().find(|one| one.word() == word);
    let balance = balance.ok_or_else(|| {
        let words = Balance::ALL.map(Balance::word).join(", ");
        Failure::bad_request(format!("of is `{word}`, expected one of {words}"))
    })?;
    on_a_thread(&desk, move |office| {
        let plan = office.shop_plan(id, Shop::Assembly, rate.into())?;
        let plan: Assembly = plan.ok_or_else(not_planned)?;
        let (revision, content, _) = office.store.revision(id)?;
        let of = format!("{}, revision {}", content.name, revision.id);
        let page = report::work_lists_html(&plan, balance, &of);
        Ok(paper(page, report::WORK_STYLE))
    })
    .await
}

/// A file before it has the book's name and revision.
struct File {
    what: String,
    kind: &'static str,
    ending: &'static str,
    bytes: Vec<u8>,
}

impl File {
    fn of(what: &str, kind: &'static str, ending: &'static str, bytes: Vec<u8>) -> Self {
        Self {
            what: what.to_owned(),
            kind,
            ending,
            bytes,
        }
    }
}

/// A shop's plan for the book's cars in another form; it must have been made.
async fn file<T: serde::de::DeserializeOwned + 'static>(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    shop: Shop,
    form: impl FnOnce(T) -> Result<File, Failure> + Send + 'static,
) -> Result<Response, Failure> {
    file_at(desk, id, (shop, Wanted::Book), form).await
}

/// A shop's plan as a workbook; it must have been made.
async fn workbook_at<T: serde::de::DeserializeOwned + 'static, E: std::fmt::Display>(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    asked: (Shop, Wanted),
    name: &'static str,
    write: impl FnOnce(T) -> Result<Vec<u8>, E> + Send + 'static,
) -> Result<Response, Failure> {
    file_at(desk, id, asked, move |plan: T| {
        let bytes = write(plan).map_err(|error| refused(&error.to_string()))?;
        Ok(File::of(name, XLSX, "xlsx", bytes))
    })
    .await
}

async fn file_at<T: serde::de::DeserializeOwned + 'static>(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    (shop, wanted): (Shop, Wanted),
    form: impl FnOnce(T) -> Result<File, Failure> + Send + 'static,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let plan: Option<T> = office.shop_plan(id, shop, wanted)?;
        let file = form(plan.ok_or_else(not_planned)?)?;
        let what = format!("{}-{}", content.name, file.what);
        let name = file_name(&what, revision.id, file.ending);
        Ok(download(file.kind, &name, file.bytes))
    })
    .await
}
