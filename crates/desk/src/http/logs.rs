//! Logs of the plant: taken in, listed, mapped, taken out; what was noted of a day.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::StatusCode;
use evidence::map::LogMap;
use futures_util::StreamExt as _;
use serde::{Deserialize, Serialize};
use tokio::sync::mpsc;

use super::body::{Asked, In, Meant, Payload, Question};
use super::failure::Failure;
use super::runs::{Asking, asking};
use super::{Desk, on_a_thread};
use crate::log_files::{TakenFile, is_event_log};
use crate::log_work::{Rehearsed, Weeks};
use crate::office::Office;
use crate::store::{FileRole, LogEntry, LogNote, LogWords, NewLog};

/// Pieces of a file that may wait for the disk.
const PIECES: usize = 16;
/// Weeks of a log of the plant's own run.
const MOST_WEEKS: u32 = 4;

/// The columns of a kind of file.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct RoleColumns {
    /// The kind.
    pub role: FileRole,
    /// Columns that it must have.
    pub needed: Vec<&'static str>,
    /// Columns that it may have.
    pub may: Vec<&'static str>,
}

/// A file that was taken in.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct UploadedFile {
    /// Its name.
    pub name: String,
    /// The SHA-256 of its bytes.
    pub digest: String,
    /// Their number.
    pub bytes: u64,
    /// Its columns.
    pub columns: Vec<String>,
    /// What it seems to be; none where nobody has said so and its columns do not.
    pub role: Option<FileRole>,
    /// Whether its header was seen before.
    pub known: bool,
}

/// What became of a file or an archive that was sent.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Uploaded {
    /// Its files.
    pub files: Vec<UploadedFile>,
    /// How their words were read the last time, or as a `log_map.csv` among them says.
    pub words: LogWords,
    /// What is wrong with a `log_map.csv` among them.
    pub problems: Vec<book::Problem>,
}

/// The name of a file.
#[derive(Debug, Deserialize)]
pub(crate) struct Named {
    name: String,
}

/// `POST /api/logs/files`: the body goes to the disk as it comes.
pub(crate) async fn upload(
    State(desk): State<Arc<Desk>>,
    Asked(Named { name }): Asked<Named>,
    body: Body,
) -> Result<Json<Uploaded>, Failure> {
    let (give, take) = mpsc::channel(PIECES);
    let writing = on_a_thread(&desk, move |office| {
        let taken = taken_in(office, &name, take)?;
        Ok(Json(uploaded(office, taken)?))
    });
    let sending = async move {
        let mut pieces = body.into_data_stream();
        while let Some(piece) = pieces.next().await {
            let Ok(piece) = piece else { return };
            if give.send(Some(piece)).await.is_err() {
                return;
            }
        }
        // Nobody listens where the disk has refused.
        let _ = give.send(None).await;
    };
    let (written, ()) = tokio::join!(writing, sending);
    written
}

/// Writes pieces to the disk as they come; none is the end, and only a body that
/// came to its end says so.
fn taken_in(
    office: &Office,
    name: &str,
    mut pieces: mpsc::Receiver<Option<Bytes>>,
) -> Result<Vec<TakenFile>, Failure> {
    let mut coming = office.logs.begin()?;
    loop {
        match pieces.blocking_recv() {
            Some(Some(piece)) => coming.take(&piece)?,
            Some(None) => return Ok(office.logs.keep(name, coming)?),
            None => return Err(Failure::bad_request("the file broke off on its way")),
        }
    }
}

fn uploaded(office: &Office, taken: Vec<TakenFile>) -> Result<Uploaded, Failure> {
    let mut told = Uploaded {
        files: Vec::new(),
        words: LogWords::default(),
        problems: Vec::new(),
    };
    let mut remembered = Vec::new();
    for file in taken {
        if file.columns == ["what", "theirs", "ours"] {
            match map_file(office, &file)? {
                Ok(words) => told.words = words,
                Err(problems) => told.problems = problems,
            }
            continue;
        }
        let known = office.store.remembered(&file.columns)?;
        let known = known.filter(|_| !file.columns.is_empty());
        told.files.push(UploadedFile {
            role: known
                .as_ref()
                .map(|known| known.role)
                .or_else(|| guess(&file)),
            known: known.is_some(),
            name: file.name,
            digest: file.digest,
            bytes: file.bytes,
            columns: file.columns,
        });
        remembered.extend(known.map(|known| known.words));
    }
    for words in &remembered {
        told.words = std::mem::take(&mut told.words).or(words);
    }
    Ok(told)
}

/// A `log_map.csv`; its zone is kept as it was written.
#[allow(clippy::disallowed_methods, reason = "the map came as a file")]
fn map_file(
    office: &Office,
    file: &TakenFile,
) -> Result<Result<LogWords, Vec<book::Problem>>, Failure> {
    let path = office.logs.path(&file.digest);
    let path = path.ok_or_else(|| Failure::not_found("the map was not kept"))?;
    let bytes = std::fs::read(path).map_err(crate::StoreError::from)?;
    let map = match LogMap::read(&file.name, &bytes) {
        Ok(map) => map,
        Err(problems) => return Ok(Err(problems)),
    };
    let table = book::read_csv_bytes(&file.name, &bytes);
    let zone = table.ok().and_then(|table| {
        let mut rows = table.rows.into_iter();
        rows.rfind(|row| row.cells.first().is_some_and(|what| what.trim() == "zone"))
            .and_then(|row| row.cells.get(2).map(|cell| cell.trim().to_owned()))
    });
    Ok(Ok(LogWords::of(map, zone.unwrap_or_default())))
}

/// What a file seems to be, by the columns that it has.
fn guess(file: &TakenFile) -> Option<FileRole> {
    if is_event_log(&file.name) {
        return Some(FileRole::Events);
    }
    let has = |name: &&'static str| file.columns.iter().any(|column| column == name);
    FileRole::TABLES
        .into_iter()
        .find(|role| role.columns().0.iter().all(has))
}

/// `GET /api/logs/columns`.
pub(crate) async fn columns() -> Json<Vec<RoleColumns>> {
    let roles = FileRole::TABLES.into_iter().map(|role| RoleColumns {
        role,
        needed: role.columns().0.to_vec(),
        may: role.columns().1.to_vec(),
    });
    Json(roles.collect())
}

/// `GET /api/logs`.
pub(crate) async fn list(State(desk): State<Arc<Desk>>) -> Result<Json<Vec<LogEntry>>, Failure> {
    on_a_thread(&desk, |office| Ok(Json(office.store.logs()?))).await
}

/// `POST /api/logs`.
pub(crate) async fn add(
    State(desk): State<Arc<Desk>>,
    Payload(new): Payload<NewLog>,
) -> Result<(StatusCode, Json<LogEntry>), Failure> {
    on_a_thread(&desk, move |office| {
        if let Some(file) = new
            .files
            .iter()
            .find(|file| office.logs.path(&file.digest).is_none())
        {
            return Err(Failure::not_found(format!(
                "the file {} was not taken in, or was taken out again",
                file.name
            )));
        }
        Ok((StatusCode::CREATED, Json(office.store.add_log(&new)?)))
    })
    .await
}

/// `POST /api/logs/{log}/words`.
pub(crate) async fn set_words(
    State(desk): State<Arc<Desk>>,
    In(log): In<i64>,
    Payload(words): Payload<LogWords>,
) -> Result<Json<LogEntry>, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(Json(office.store.set_log_words(log, &words)?))
    })
    .await
}

/// `DELETE /api/logs/{log}`.
pub(crate) async fn remove(
    State(desk): State<Arc<Desk>>,
    In(log): In<i64>,
) -> Result<StatusCode, Failure> {
    on_a_thread(&desk, move |office| {
        for digest in office.store.remove_log(log)? {
            office
                .logs
                .remove(&digest)
                .map_err(crate::StoreError::from)?;
        }
        Ok(StatusCode::NO_CONTENT)
    })
    .await
}

/// Which day.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichDay {
    day: String,
}

/// `GET /api/logs/{log}/notes`.
pub(crate) async fn notes(
    State(desk): State<Arc<Desk>>,
    In(log): In<i64>,
    Asked(WhichDay { day }): Asked<WhichDay>,
) -> Result<Json<Vec<LogNote>>, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(Json(office.store.notes(log, &day)?))
    })
    .await
}

/// `POST /api/logs/{log}/notes`.
pub(crate) async fn note(
    State(desk): State<Arc<Desk>>,
    In(log): In<i64>,
    Payload(note): Payload<LogNote>,
) -> Result<Json<Vec<LogNote>>, Failure> {
    on_a_thread(&desk, move |office| {
        office.store.keep_note(log, &note)?;
        Ok(Json(office.store.notes(log, &note.day)?))
    })
    .await
}

/// How long a log of the plant's own run.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct HowLong {
    #[serde(default = "two")]
    weeks: u32,
    #[serde(default = "one")]
    seed: u64,
}

fn two() -> u32 {
    2
}

fn one() -> u64 {
    1
}

impl Question for HowLong {
    type Meant = Weeks;

    fn meant(self) -> Result<Weeks, Failure> {
        if (1..=MOST_WEEKS).contains(&self.weeks) {
            return Ok(Weeks {
                weeks: self.weeks,
                seed: self.seed,
            });
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "weeks",
            format!("a log of {} weeks", self.weeks),
            "ask for 1 to 4 weeks here; the command line's `rehearse` writes longer ones",
        ))
    }
}

/// `GET /api/revisions/{id}/rehearsal`.
pub(crate) async fn rehearsal(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(weeks): Meant<HowLong>,
) -> Result<Json<Rehearsed>, Failure> {
    on_a_thread(&desk, move |office| {
        let found = office.rehearsed(id, weeks)?;
        let missing = || Failure::not_found("no such log was written of this revision");
        Ok(Json(found.ok_or_else(missing)?))
    })
    .await
}

/// `POST /api/revisions/{id}/rehearsal`.
pub(crate) async fn rehearse(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(weeks): Meant<HowLong>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| asking(office.rehearse(id, weeks)?)).await
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Store;

    #[test]
    fn a_file_that_breaks_off_on_its_way_is_not_kept() {
        let folder = tempfile::tempdir().unwrap();
        let office = Office::new(Store::open(&folder.path().join("plant.lw")).unwrap());
        for whole in [false, true] {
            let (give, take) = mpsc::channel(PIECES);
            let piece = Bytes::from_static(b"station,from,state\n");
            give.try_send(Some(piece)).unwrap();
            if whole {
                give.try_send(None).unwrap();
            }
            drop(give);
            assert_eq!(taken_in(&office, "states.csv", take).is_ok(), whole);
            let left = std::fs::read_dir(folder.path().join("plant.lw.logs")).unwrap();
            assert_eq!(left.count(), usize::from(whole));
        }
    }
}
