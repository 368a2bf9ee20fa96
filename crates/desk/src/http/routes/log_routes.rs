//! Addresses of logs and of what they say.

use axum::extract::DefaultBodyLimit;
use axum::routing::{delete, get, post};

use super::{Handled, JSON_BYTES, Media, Query, Route, posts, reads};
use crate::http::learned::{How, WhichDay};
use crate::http::{export, learned, logs};
use crate::log_work::Part;

const MERGE: Query = Query::optional(
    "merge",
    "Stops of one cause with less work than this between them are one stop, seconds; 0 unless told",
);

const SHORT: Query = Query::optional(
    "short",
    "Stops shorter than this are short ones, seconds; 120 unless told",
);

const HOW: &[Query] = &[MERGE, SHORT];

const FIT: &[Query] = &[Query::needed("cell", "The cell's number"), MERGE, SHORT];

const NAME: &[Query] = &[Query::needed("name", "The file's name")];

/// What a file of a log is sent as.
const SENT: &[&str] = &[
    "text/csv",
    "application/zip",
    "application/vnd.apache.parquet",
    "application/octet-stream",
];

const ONE_DAY: &[Query] = &[Query::needed("day", "The day, such as 2026-03-10")];

const DAY: &[Query] = &[
    Query::needed("day", "The day, such as 2026-03-10"),
    MERGE,
    SHORT,
];

const FIGURES: &[Query] = &[
    Query {
        words: &["total", "day", "shift", "day_and_shift"],
        ..Query::optional("by", "How finely; all of the log in one unless told")
    },
    Query {
        words: &["plant", "shop", "line", "station"],
        ..Query::optional(
            "level",
            "Groups of this size only; the plant is told with its shops",
        )
    },
    Query::optional("shop", "Groups of this shop only"),
    Query::optional("station", "This station only"),
    MERGE,
    SHORT,
];

const STOPS: &[Query] = &[
    Query::optional("station", "This station only"),
    MERGE,
    SHORT,
];

const WEEKS: &[Query] = &[
    Query::optional("weeks", "Weeks logged, 1 to 4; 2 unless told"),
    Query::optional("seed", "The seed of the run; 1 unless told"),
];

const fn found(
    path: &'static str,
    about: &'static str,
    query: &'static [Query],
    reply: Media,
) -> Route {
    Route {
        query,
        ..reads(path, about, reply)
    }
}

const fn asks(path: &'static str, about: &'static str, query: &'static [Query]) -> Route {
    Route {
        status: 202,
        query,
        ..posts(path, about, Media::Nothing, Media::Json("Asking"))
    }
}

/// Logs, what they say, the days of them.
pub(super) fn all() -> Vec<Handled> {
    let all = [kept(), noted(), told(), held_against(), of_a_day()];
    all.into_iter().flatten().collect()
}

/// The logs themselves.
fn kept() -> Vec<Handled> {
    vec![
        (
            reads("/logs", "All logs, newest first", Media::List("LogEntry")),
            get(logs::list),
        ),
        (
            reads(
                "/logs/columns",
                "The columns of each kind of file",
                Media::List("RoleColumns"),
            ),
            get(logs::columns),
        ),
        (
            Route {
                status: 201,
                ..posts(
                    "/logs",
                    "Makes a log of files that were sent before, and remembers how their \
                     headers are read",
                    Media::Json("NewLog"),
                    Media::Json("LogEntry"),
                )
            },
            post(logs::add).layer(DefaultBodyLimit::max(JSON_BYTES)),
        ),
        (
            posts(
                "/logs/files",
                "Takes in a file of a log, or an archive of them, as it comes",
                Media::Bytes(SENT),
                Media::Json("Uploaded"),
            )
            .with(NAME),
            post(logs::upload),
        ),
        (
            posts(
                "/logs/{log}/words",
                "Says how a log's own words are read",
                Media::Json("LogWords"),
                Media::Json("LogEntry"),
            ),
            post(logs::set_words).layer(DefaultBodyLimit::max(JSON_BYTES)),
        ),
        (
            Route {
                method: "delete",
                status: 204,
                ..reads(
                    "/logs/{log}",
                    "Takes a log out, its notes with it",
                    Media::Nothing,
                )
            },
            delete(logs::remove),
        ),
    ]
}

/// What was noted, and the log of a run.
fn noted() -> Vec<Handled> {
    vec![
        (
            reads(
                "/logs/{log}/notes",
                "What was noted of a day's losses",
                Media::List("LogNote"),
            )
            .with(ONE_DAY),
            get(logs::notes),
        ),
        (
            posts(
                "/logs/{log}/notes",
                "Notes what is done about a loss; an empty text takes the note away",
                Media::Json("LogNote"),
                Media::List("LogNote"),
            ),
            post(logs::note),
        ),
        (
            found(
                "/revisions/{id}/rehearsal",
                "The log of the plant's own run; 404 before it was written",
                WEEKS,
                Media::Json("Rehearsed"),
            ),
            get(logs::rehearsal),
        ),
        (
            asks(
                "/revisions/{id}/rehearsal",
                "Runs the plant and keeps what a log would say, or finds the job that does or did",
                WEEKS,
            ),
            post(logs::rehearse),
        ),
    ]
}

/// How a log reads, and its figures.
fn told() -> Vec<Handled> {
    vec![
        (
            found(
                "/revisions/{id}/logs/{log}/reading",
                "How a log reads against a revision; 404 before it was read",
                HOW,
                Media::Json("Reading"),
            ),
            learned::kept(Part::Reading),
        ),
        (
            asks(
                "/revisions/{id}/logs/{log}/reading",
                "Reads a log against a revision, or finds the job that does or did",
                HOW,
            ),
            learned::asks(How::learn),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/figures",
                "The figures of ISO 22400-2",
                FIGURES,
                Media::Json("FigureRows"),
            ),
            get(learned::figures),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/figures.xlsx",
                "The same as a workbook, with stops and cycles",
                FIGURES,
                Media::Bytes(&[export::XLSX]),
            ),
            get(learned::figures_workbook),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/stops",
                "Stops by cause, and cycles by product: those of a station, or of all those \
                 furthest from planned",
                STOPS,
                Media::Json("StopsAndCycles"),
            ),
            get(learned::stops),
        ),
    ]
}

/// The book held against it.
fn held_against() -> Vec<Handled> {
    vec![
        (
            found(
                "/revisions/{id}/logs/{log}/cells",
                "Every cell of the book that the log can speak of",
                HOW,
                Media::List("LearnedCell"),
            ),
            learned::kept(Part::Cells),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/fit",
                "The fit behind a cell, with what it is drawn of",
                FIT,
                Media::Json("CellFit"),
            ),
            get(learned::fit),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/drift",
                "Stations week by week",
                HOW,
                Media::Json("Drift"),
            ),
            learned::kept(Part::Drift),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/believe",
                "The model against what really came out; 404 before it was run",
                HOW,
                Media::Json("Believed"),
            ),
            learned::answers(How::believe),
        ),
        (
            asks(
                "/revisions/{id}/logs/{log}/believe",
                "Runs the plant as it stands and mended, or finds the job that does or did",
                HOW,
            ),
            learned::asks(How::believe),
        ),
    ]
}

fn of_a_day() -> Vec<Handled> {
    vec![
        (
            found(
                "/revisions/{id}/logs/{log}/day",
                "What a day cost; 404 before it was replayed",
                DAY,
                Media::Json("ToldDay"),
            ),
            learned::answers(WhichDay::asked),
        ),
        (
            asks(
                "/revisions/{id}/logs/{log}/day",
                "Replays a day, or finds the job that does or did",
                DAY,
            ),
            learned::asks(WhichDay::asked),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/day.html",
                "The morning report, one page of A4, with what was noted",
                DAY,
                Media::Bytes(&["text/html"]),
            ),
            get(learned::morning),
        ),
        (
            found(
                "/revisions/{id}/logs/{log}/day.xlsx",
                "The day as a workbook, with what was noted",
                DAY,
                Media::Bytes(&[export::XLSX]),
            ),
            get(learned::day_workbook),
        ),
    ]
}
