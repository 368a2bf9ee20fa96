//! Addresses of logs and of what they say.

use super::{
    Handled, JSON_BYTES, Media, PAPER, Query, WORKBOOK, asks, deletes, file, posts, reads,
};
use crate::http::body::Plainly;
use crate::http::learned::WhichDay;
use crate::http::{learned, logs};
use crate::log_work::{LogAsk, Part};

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

/// Logs, what they say, the days of them.
pub(super) fn all() -> Vec<Handled> {
    let all = [kept(), noted(), told(), held_against(), of_a_day()];
    all.into_iter().flatten().collect()
}

/// The logs themselves.
fn kept() -> Vec<Handled> {
    vec![
        reads("/logs", "All logs, newest first", Media::List("LogEntry")).by(logs::list),
        reads(
            "/logs/columns",
            "The columns of each kind of file",
            Media::List("RoleColumns"),
        )
        .by(logs::columns),
        posts(
            "/logs",
            "Makes a log of files that were sent before, and remembers how their \
                headers are read",
            Media::Json("NewLog"),
            Media::Json("LogEntry"),
        )
        .status(201)
        .up_to(JSON_BYTES)
        .by(logs::add),
        posts(
            "/logs/files",
            "Takes in a file of a log, or an archive of them, as it comes",
            Media::Bytes(SENT),
            Media::Json("Uploaded"),
        )
        .with(NAME)
        .by(logs::upload),
        posts(
            "/logs/{log}/words",
            "Says how a log's own words are read",
            Media::Json("LogWords"),
            Media::Json("LogEntry"),
        )
        .up_to(JSON_BYTES)
        .by(logs::set_words),
        deletes(
            "/logs/{log}",
            "Takes a log out, its notes with it",
            Media::Nothing,
        )
        .status(204)
        .by(logs::remove),
    ]
}

/// What was noted, and the log of a run.
fn noted() -> Vec<Handled> {
    vec![
        reads(
            "/logs/{log}/notes",
            "What was noted of a day's losses",
            Media::List("LogNote"),
        )
        .with(ONE_DAY)
        .by(logs::notes),
        posts(
            "/logs/{log}/notes",
            "Notes what is done about a loss; an empty text takes the note away",
            Media::Json("LogNote"),
            Media::List("LogNote"),
        )
        .by(logs::note),
        reads(
            "/revisions/{id}/rehearsal",
            "The log of the plant's own run; 404 before it was written",
            Media::Json("Rehearsed"),
        )
        .with(WEEKS)
        .by(logs::rehearsal),
        asks(
            "/revisions/{id}/rehearsal",
            "Runs the plant and keeps what a log would say, or finds the job that does or did",
        )
        .with(WEEKS)
        .by(logs::rehearse),
    ]
}

/// How a log reads, and its figures.
fn told() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/logs/{log}/reading",
            "How a log reads against a revision; 404 before it was read",
            Media::Json("Reading"),
        )
        .with(HOW)
        .through(learned::kept(Part::Reading)),
        asks(
            "/revisions/{id}/logs/{log}/reading",
            "Reads a log against a revision, or finds the job that does or did",
        )
        .with(HOW)
        .through(learned::asks::<Plainly>(|()| LogAsk::Learn)),
        reads(
            "/revisions/{id}/logs/{log}/figures",
            "The figures of ISO 22400-2",
            Media::Json("FigureRows"),
        )
        .with(FIGURES)
        .by(learned::figures),
        file(
            "/revisions/{id}/logs/{log}/figures.xlsx",
            "The same as a workbook, with stops and cycles",
            WORKBOOK,
        )
        .with(FIGURES)
        .by(learned::figures_workbook),
        reads(
            "/revisions/{id}/logs/{log}/stops",
            "Stops by cause, and cycles by product: those of a station, or of all those \
                furthest from planned",
            Media::Json("StopsAndCycles"),
        )
        .with(STOPS)
        .by(learned::stops),
    ]
}

/// The book held against it.
fn held_against() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/logs/{log}/cells",
            "Every cell of the book that the log can speak of",
            Media::List("LearnedCell"),
        )
        .with(HOW)
        .through(learned::kept(Part::Cells)),
        reads(
            "/revisions/{id}/logs/{log}/fit",
            "The fit behind a cell, with what it is drawn of",
            Media::Json("CellFit"),
        )
        .with(FIT)
        .by(learned::fit),
        reads(
            "/revisions/{id}/logs/{log}/drift",
            "Stations week by week",
            Media::Json("Drift"),
        )
        .with(HOW)
        .through(learned::kept(Part::Drift)),
        reads(
            "/revisions/{id}/logs/{log}/believe",
            "The model against what really came out; 404 before it was run",
            Media::Json("Believed"),
        )
        .with(HOW)
        .through(learned::answers::<Plainly>(|()| LogAsk::Believe)),
        asks(
            "/revisions/{id}/logs/{log}/believe",
            "Runs the plant as it stands and mended, or finds the job that does or did",
        )
        .with(HOW)
        .through(learned::asks::<Plainly>(|()| LogAsk::Believe)),
    ]
}

fn of_a_day() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/logs/{log}/day",
            "What a day cost; 404 before it was replayed",
            Media::Json("ToldDay"),
        )
        .with(DAY)
        .through(learned::answers::<WhichDay>(LogAsk::Day)),
        asks(
            "/revisions/{id}/logs/{log}/day",
            "Replays a day, or finds the job that does or did",
        )
        .with(DAY)
        .through(learned::asks::<WhichDay>(LogAsk::Day)),
        file(
            "/revisions/{id}/logs/{log}/day.html",
            "The morning report, one page of A4, with what was noted",
            PAPER,
        )
        .with(DAY)
        .by(learned::morning),
        file(
            "/revisions/{id}/logs/{log}/day.xlsx",
            "The day as a workbook, with what was noted",
            WORKBOOK,
        )
        .with(DAY)
        .by(learned::day_workbook),
    ]
}
