//! What a log says of a revision: its reading, figures, stops, cells and fits, a day.

use std::sync::Arc;

use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{MethodRouter, get, post};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::value::RawValue;

use super::body::{Asked, In, Meant, Question};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::reports::paper;
use super::runs::asking;
use super::{Desk, json_text, on_a_thread};
use crate::log_work::{
    By, FigureRows, Judged, LogAsk, LogOrder, Part, StopsAndCycles, ToldDay, day_of,
};
use crate::office::Office;
use crate::report::{self, Action, MORNING_STYLE, Morning};

/// A window of a day at most.
const MOST_SECONDS: u32 = 86_400;
/// Stops shorter than this are short ones unless told.
const SHORT_S: u32 = 120;

/// How rows are judged, as it is asked.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct How {
    merge: Option<u32>,
    short: Option<u32>,
}

impl Question for How {
    type Meant = Judged;

    fn meant(self) -> Result<Judged, Failure> {
        let judged = Judged {
            merge_s: self.merge.unwrap_or(0),
            short_s: self.short.unwrap_or(SHORT_S),
        };
        if judged.merge_s <= MOST_SECONDS && judged.short_s <= MOST_SECONDS {
            return Ok(judged);
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "window",
            format!(
                "stops within {} s, short below {} s",
                judged.merge_s, judged.short_s
            ),
            "give both windows in seconds, 0 to 86400",
        ))
    }
}

/// Cycles that are told of all stations.
const FURTHEST: usize = 60;

fn not_read() -> Failure {
    Failure::new(
        StatusCode::NOT_FOUND,
        "not-read",
        "this log was not read against this revision yet",
        "ask for it with POST",
    )
}

type Id = In<(i64, i64)>;

/// A part of the reading as it was kept: `GET` of `reading`, `cells`, `drift`.
pub(crate) fn kept(part: Part) -> MethodRouter<Arc<Desk>> {
    get(
        move |State(desk): State<Arc<Desk>>, In(of): Id, Meant(judged): Meant<How>| async move {
            on_a_thread(&desk, move |office| {
                Ok(json_text(part_text(office, of, judged, part)?))
            })
            .await
        },
    )
}

fn part_text(
    office: &Office,
    (id, log): (i64, i64),
    judged: Judged,
    part: Part,
) -> Result<Bytes, Failure> {
    office.log_text(id, log, judged, part)?.ok_or_else(not_read)
}

/// The same with its types.
fn typed<T: DeserializeOwned>(text: &[u8]) -> Result<T, Failure> {
    // What this engine wrote it can read; anything else was not read.
    serde_json::from_slice(text).map_err(|_| not_read())
}

/// Which stops and cycles.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct WhichStops {
    station: Option<String>,
}

/// `GET /api/revisions/{id}/logs/{log}/stops`: of a station, or of all with the
/// cycles that are furthest from planned.
pub(crate) async fn stops(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Asked(which): Asked<WhichStops>,
) -> Result<Json<StopsAndCycles>, Failure> {
    on_a_thread(&desk, move |office| {
        let text = part_text(office, of, judged, Part::Stops)?;
        let mut all: StopsAndCycles = typed(&text)?;
        match which.station.filter(|station| !station.is_empty()) {
            Some(station) => {
                all.causes.retain(|row| row.station == station);
                all.cycles.retain(|row| row.station == station);
            }
            None => all.furthest_cycles(FURTHEST),
        }
        Ok(Json(all))
    })
    .await
}

/// Which cell's fit.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WhichFit {
    cell: usize,
}

/// `GET /api/revisions/{id}/logs/{log}/fit`.
pub(crate) async fn fit(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Asked(which): Asked<WhichFit>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let text = part_text(office, of, judged, Part::Fits)?;
        let fits: Vec<Option<Box<RawValue>>> = typed(&text)?;
        let fit = fits.into_iter().nth(which.cell).flatten();
        let missing = || Failure::not_found(format!("cell {} has no fit", which.cell));
        Ok(json_text(fit.ok_or_else(missing)?.get().to_owned()))
    })
    .await
}

/// Which groups' figures.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct WhichFigures {
    #[serde(default)]
    by: By,
    level: Option<Level>,
    shop: Option<String>,
    station: Option<String>,
}

/// Of what size the groups are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Level {
    Plant,
    Shop,
    Line,
    Station,
}

impl WhichFigures {
    fn chosen(&self, mut all: FigureRows) -> FigureRows {
        all.rows.retain(|row| {
            let of = &row.of;
            let level = if !of.station.is_empty() {
                Level::Station
            } else if !of.line.is_empty() {
                Level::Line
            } else if !of.shop.is_empty() {
                Level::Shop
            } else {
                Level::Plant
            };
            let same = |wanted: &Option<String>, found: &str| {
                wanted
                    .as_ref()
                    .is_none_or(|wanted| wanted.is_empty() || wanted == found)
            };
            // Who wants the shops wants to see what they come to.
            let with_plant = |wanted| wanted == Level::Shop && level == Level::Plant;
            self.level
                .is_none_or(|wanted| wanted == level || with_plant(wanted))
                && same(&self.shop, &of.shop)
                && same(&self.station, &of.station)
        });
        all
    }
}

/// `GET /api/revisions/{id}/logs/{log}/figures`.
pub(crate) async fn figures(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Asked(which): Asked<WhichFigures>,
) -> Result<Json<FigureRows>, Failure> {
    on_a_thread(&desk, move |office| {
        let text = part_text(office, of, judged, Part::Figures(which.by))?;
        Ok(Json(which.chosen(typed(&text)?)))
    })
    .await
}

/// `GET /api/revisions/{id}/logs/{log}/figures.xlsx`: all groups of a fineness.
pub(crate) async fn figures_workbook(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Asked(which): Asked<WhichFigures>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(of.0)?;
        let text = part_text(office, of, judged, Part::Figures(which.by))?;
        let rows: FigureRows = which.chosen(typed(&text)?);
        let stops: StopsAndCycles = typed(&part_text(office, of, judged, Part::Stops)?)?;
        let bytes = report::figures_xlsx(&rows, &stops).map_err(refused)?;
        let name = file_name(
            &format!("{}-log-figures", content.name),
            revision.id,
            "xlsx",
        );
        Ok(download(XLSX, &name, bytes))
    })
    .await
}

/// Has a question answered: `POST`.
pub(crate) fn asks<Q: Question>(ask: fn(Q::Meant) -> LogAsk) -> MethodRouter<Arc<Desk>> {
    post(
        move |State(desk): State<Arc<Desk>>,
              In((id, log)): Id,
              Meant(judged): Meant<How>,
              Meant(asked): Meant<Q>| async move {
            let ask = ask(asked);
            let order = LogOrder { log, judged, ask };
            on_a_thread(&desk, move |office| asking(office.ask_log(id, order)?)).await
        },
    )
}

/// The answer, once there is one: `GET`.
pub(crate) fn answers<Q: Question>(ask: fn(Q::Meant) -> LogAsk) -> MethodRouter<Arc<Desk>> {
    get(
        move |State(desk): State<Arc<Desk>>,
              In((id, log)): Id,
              Meant(judged): Meant<How>,
              Meant(asked): Meant<Q>| async move {
            let ask = ask(asked);
            on_a_thread(&desk, move |office| {
                let text = office.log_answer(id, log, judged, ask)?;
                Ok(json_text(text.ok_or_else(not_read)?))
            })
            .await
        },
    )
}

/// Which day.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct WhichDay {
    day: String,
}

impl Question for WhichDay {
    type Meant = i64;

    fn meant(self) -> Result<i64, Failure> {
        day_of(&self.day).ok_or_else(|| {
            Failure::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "day",
                format!("the day is `{}`", self.day),
                "give a date such as 2026-03-10",
            )
        })
    }
}

/// The day with what was noted of it.
fn noted(
    office: &Office,
    (id, log): (i64, i64),
    judged: Judged,
    day: i64,
) -> Result<(ToldDay, Vec<Action>), Failure> {
    let text = office.log_answer(id, log, judged, LogAsk::Day(day))?;
    let told: ToldDay = typed(&text.ok_or_else(not_read)?)?;
    let notes = office.store.notes(log, &told.day.date)?;
    let actions = notes.into_iter().map(|note| Action {
        of: report::loss_words(&note.station, note.kind, &note.cause),
        what: note.what,
        who: note.who,
        until: note.until,
    });
    Ok((told, actions.collect()))
}

/// `GET /api/revisions/{id}/logs/{log}/day.html`: the morning report.
pub(crate) async fn morning(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Meant(day): Meant<WhichDay>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (told, actions) = noted(office, of, judged, day)?;
        let (_, checked) = office.checked(of.0)?;
        let shops: Vec<_> = told
            .shops
            .iter()
            .map(|shop| (shop.shop.clone(), shop.figures.clone()))
            .collect();
        let page = report::morning_html(&Morning {
            plant: &checked.book.plant.name.value,
            day: &told.day,
            shops: &shops,
            causes: &told.day.stops,
            defects: (told.defects, told.rows),
            actions: &actions,
        });
        Ok(paper(page, MORNING_STYLE))
    })
    .await
}

/// `GET /api/revisions/{id}/logs/{log}/day.xlsx`.
pub(crate) async fn day_workbook(
    State(desk): State<Arc<Desk>>,
    In(of): Id,
    Meant(judged): Meant<How>,
    Meant(day): Meant<WhichDay>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (told, actions) = noted(office, of, judged, day)?;
        let (revision, content, _) = office.store.revision(of.0)?;
        let bytes = report::day_xlsx(&told, &actions).map_err(refused)?;
        let name = format!("{}-{}", content.name, told.day.date);
        let name = file_name(&name, revision.id, "xlsx");
        Ok(download(XLSX, &name, bytes))
    })
    .await
}
