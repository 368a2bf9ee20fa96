//! Plans of single shops as files: workbooks, drawings, a calendar.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shops::coil::{Coil, StripPart};
use whole::press::Press;

use super::body::{Asked, In};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::shops::not_planned;
use super::{Desk, on_a_thread};
use crate::clock;
use crate::jobs::Shop;
use crate::report::{self, Date};

pub(super) const SVG: &str = "image/svg+xml";
pub(super) const DXF: &str = "image/vnd.dxf";
pub(super) const ICS: &str = "text/calendar; charset=utf-8";

/// `GET /api/revisions/{id}/shops/coil.xlsx`.
pub(crate) async fn coil_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    file(desk, id, Shop::Coil, |coil: Coil| {
        let bytes = report::coil_xlsx(&coil).map_err(|error| refused(&error.to_string()))?;
        Ok(File::of(&coil.plant, "coils", XLSX, "xlsx", bytes))
    })
    .await
}

/// `GET /api/revisions/{id}/shops/press.xlsx`.
pub(crate) async fn press_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    file(desk, id, Shop::Press, |press: Press| {
        let bytes = report::press_xlsx(&press).map_err(|error| refused(&error.to_string()))?;
        Ok(File::of(&press.plant, "press", XLSX, "xlsx", bytes))
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
        let bytes = report::ics(&press, monday).into_bytes();
        Ok(File::of(&press.plant, "dies", ICS, "ics", bytes))
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
        Ok(File::of(
            &coil.plant,
            &name,
            kind,
            ending,
            drawing.into_bytes(),
        ))
    })
    .await
}

/// A file before it has a revision.
pub(super) struct File {
    name: String,
    kind: &'static str,
    ending: &'static str,
    bytes: Vec<u8>,
}

impl File {
    pub(super) fn of(
        plant: &str,
        what: &str,
        kind: &'static str,
        ending: &'static str,
        bytes: Vec<u8>,
    ) -> Self {
        Self {
            name: format!("{plant}-{what}"),
            kind,
            ending,
            bytes,
        }
    }
}

/// A shop's plan in another form; the plan must have been made.
pub(super) async fn file<T: serde::de::DeserializeOwned + 'static>(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    shop: Shop,
    form: impl FnOnce(T) -> Result<File, Failure> + Send + 'static,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let plan: T = office.shop_plan(id, shop)?.ok_or_else(not_planned)?;
        let file = form(plan)?;
        let name = file_name(&file.name, id, file.ending);
        Ok(download(file.kind, &name, file.bytes))
    })
    .await
}
