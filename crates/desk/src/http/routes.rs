//! Every address of the interface, once: the router is made from this list, and
//! so is the interface's description.

mod log_routes;
mod next_routes;
mod shop_routes;

use std::sync::Arc;

use axum::extract::DefaultBodyLimit;
use axum::handler::Handler;
use axum::routing::{MethodRouter, delete, get, post};

use super::{Desk, export, facts, import, reports, revisions, runs, session, variants};

/// Bytes of a JSON body: a pasted block of 5,000 rows has about one million.
const JSON_BYTES: usize = 8 << 20;

/// What an address takes and gives.
#[cfg_attr(
    not(feature = "schema"),
    allow(dead_code, reason = "read where the description is made")
)]
pub(crate) struct Route {
    pub(crate) method: Method,
    /// Below `/api`.
    pub(crate) path: &'static str,
    pub(crate) about: &'static str,
    pub(crate) query: &'static [Query],
    pub(crate) body: Media,
    /// What a body may have at the most; none for the interface's usual.
    most_bytes: Option<usize>,
    pub(crate) status: u16,
    pub(crate) reply: Media,
}

/// A parameter behind the question mark.
#[cfg_attr(
    not(feature = "schema"),
    allow(dead_code, reason = "read where the description is made")
)]
#[derive(Clone, Copy)]
pub(crate) struct Query {
    pub(crate) name: &'static str,
    pub(crate) about: &'static str,
    pub(crate) needed: bool,
    /// The words it may be; none for any text.
    pub(crate) words: &'static [&'static str],
}

impl Query {
    const fn needed(name: &'static str, about: &'static str) -> Self {
        Self {
            name,
            about,
            needed: true,
            words: &[],
        }
    }

    const fn optional(name: &'static str, about: &'static str) -> Self {
        Self {
            needed: false,
            ..Self::needed(name, about)
        }
    }
}

/// What a body is.
#[cfg_attr(
    not(feature = "schema"),
    allow(dead_code, reason = "read where the description is made")
)]
#[derive(Clone, Copy)]
pub(crate) enum Media {
    Nothing,
    /// A JSON type by the name of its schema.
    Json(&'static str),
    /// A list of it.
    List(&'static str),
    /// Text by name.
    Texts,
    /// Any JSON object.
    AnyJson,
    /// Bytes of one of these types.
    Bytes(&'static [&'static str]),
    /// Server-sent events, each this JSON type.
    Events(&'static str),
}

#[derive(Clone, Copy)]
pub(crate) enum Method {
    Get,
    Post,
    Delete,
}

#[cfg(feature = "schema")]
impl Method {
    /// Its name in the description.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Get => "get",
            Self::Post => "post",
            Self::Delete => "delete",
        }
    }
}

type Handled = (Route, MethodRouter<Arc<Desk>>);

impl Route {
    /// The same with what may stand behind the question mark.
    const fn with(self, query: &'static [Query]) -> Self {
        Self { query, ..self }
    }

    /// The same with another answer than 200 where all went well.
    const fn status(self, status: u16) -> Self {
        Self { status, ..self }
    }

    /// The same with a body of so many bytes at most.
    const fn up_to(self, bytes: usize) -> Self {
        Self {
            most_bytes: Some(bytes),
            ..self
        }
    }

    /// The same with who answers it.
    fn by<H: Handler<T, Arc<Desk>>, T: 'static>(self, handler: H) -> Handled {
        let answers = match self.method {
            Method::Get => get(handler),
            Method::Post => post(handler),
            Method::Delete => delete(handler),
        };
        match self.most_bytes {
            Some(bytes) => self.through(answers.layer(DefaultBodyLimit::max(bytes))),
            None => self.through(answers),
        }
    }

    /// The same with what answers it, made for the purpose.
    fn through(self, answers: MethodRouter<Arc<Desk>>) -> Handled {
        (self, answers)
    }
}

const fn reads(path: &'static str, about: &'static str, reply: Media) -> Route {
    Route {
        method: Method::Get,
        path,
        about,
        query: &[],
        body: Media::Nothing,
        most_bytes: None,
        status: 200,
        reply,
    }
}

const fn posts(path: &'static str, about: &'static str, body: Media, reply: Media) -> Route {
    Route {
        method: Method::Post,
        body,
        ..reads(path, about, reply)
    }
}

const fn deletes(path: &'static str, about: &'static str, reply: Media) -> Route {
    Route {
        method: Method::Delete,
        ..reads(path, about, reply)
    }
}

/// Asks for a job.
const fn asks(path: &'static str, about: &'static str) -> Route {
    posts(path, about, Media::Nothing, Media::Json("Asking")).status(202)
}

const fn file(path: &'static str, about: &'static str, kinds: &'static [&'static str]) -> Route {
    reads(path, about, Media::Bytes(kinds))
}

const PAPER: &[&str] = &["text/html"];
const WORKBOOK: &[&str] = &[export::XLSX];

/// All addresses below `/api`.
pub(crate) fn all() -> Vec<Handled> {
    let all = [
        program(),
        lines_of_work(),
        changes(),
        books(),
        results(),
        jobs(),
        shop_routes::all(),
        next_routes::all(),
        log_routes::all(),
    ];
    all.into_iter().flatten().collect()
}

fn program() -> Vec<Handled> {
    vec![
        reads(
            "/health",
            "That the program is there",
            Media::Json("Health"),
        )
        .by(facts::health),
        reads(
            "/schema",
            "The tables of the book and their columns",
            Media::Json("Schema"),
        )
        .by(facts::schema),
        reads("/formulas", "The formula sheet", Media::List("Formula")).by(facts::formulas),
        posts(
            "/formulas/{name}",
            "Computes a formula from texts with units",
            Media::Texts,
            Media::Json("Working"),
        )
        .by(facts::compute),
        reads("/openapi.json", "This description", Media::AnyJson).by(facts::openapi),
        posts(
            "/login",
            "Begins a session, where the desk is open to other machines",
            Media::Json("Login"),
            Media::Json("LoggedIn"),
        )
        .by(session::log_in),
        posts(
            "/logout",
            "Ends the session",
            Media::Nothing,
            Media::Nothing,
        )
        .status(204)
        .by(session::log_out),
    ]
}

const IMPORT: &[Query] = &[
    Query::needed("author", "Who imports"),
    Query::optional("note", "Why"),
    Query::optional("table", "The table that a CSV file is"),
    Query::optional("name", "The plant's name, where the file has none"),
];

fn lines_of_work() -> Vec<Handled> {
    vec![
        reads(
            "/variants",
            "All variants with their heads",
            Media::List("Variant"),
        )
        .by(variants::list),
        posts(
            "/variants",
            "Makes a variant from a revision, or with an empty book",
            Media::Json("NewVariant"),
            Media::Json("Variant"),
        )
        .status(201)
        .by(variants::add),
        reads(
            "/variants/{variant}/revisions",
            "The revisions of a variant, newest first",
            Media::List("Revision"),
        )
        .by(variants::revisions),
    ]
}

fn changes() -> Vec<Handled> {
    vec![
        posts(
            "/variants/{variant}/edits",
            "Saves an edit, merged with what came in since its base; 409 names the cells \
                that others changed",
            Media::Json("Edit"),
            Media::Json("EditReply"),
        )
        .with(OUTCOME)
        .up_to(JSON_BYTES)
        .by(variants::edit),
        posts(
            "/variants/{variant}/take-back",
            "Takes a revision back, an import for one; what came in since stays, 409 names \
                the cells that others changed on top of it",
            Media::Json("TakeBack"),
            Media::Json("EditReply"),
        )
        .by(variants::take_back),
        posts(
            "/variants/{variant}/restore",
            "Makes an old revision's book the head again",
            Media::Json("Restore"),
            Media::Json("Revision"),
        )
        .by(variants::restore),
        posts(
            "/variants/{variant}/import",
            "Saves a book (.xlsx, or CSV files in an archive) or one table (CSV) as a new \
                revision",
            Media::Bytes(&[export::XLSX, "application/zip", "text/csv"]),
            Media::Json("Imported"),
        )
        .with(IMPORT)
        .up_to(import::MOST_BYTES)
        .by(import::import),
    ]
}

fn books() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/book",
            "The book with its problems",
            Media::Json("BookReply"),
        )
        .by(revisions::book),
        reads(
            "/revisions/{id}/problems",
            "All that is wrong with a book, as tables and as a plant",
            Media::Json("BookProblems"),
        )
        .by(revisions::problems),
        reads(
            "/revisions/{a}/compare/{b}",
            "What differs between two revisions",
            Media::Json("Compare"),
        )
        .by(revisions::compare),
        file(
            "/revisions/{id}/export.xlsx",
            "The book as a workbook",
            WORKBOOK,
        )
        .by(export::workbook),
        file(
            "/revisions/{id}/export.zip",
            "The book as CSV files in an archive",
            &["application/zip"],
        )
        .by(export::folder),
    ]
}

const OUTCOME: &[Query] = &[Query {
    words: &["none", "plan"],
    ..Query::optional(
        "outcome",
        "`plan` brings the new book's problems and its plan along",
    )
}];

const KIND: &[Query] = &[Query {
    words: &["preview", "precise"],
    ..Query::needed("kind", "Which answer")
}];

const WORKINGS: &[Query] = &[Query {
    words: &["all", "none"],
    ..Query::optional(
        "workings",
        "`none` leaves `figures` empty: a tenth of the bytes",
    )
}];

fn results() -> Vec<Handled> {
    vec![
        reads(
            "/revisions/{id}/plan",
            "The rate plan",
            Media::Json("RatePlan"),
        )
        .with(WORKINGS)
        .by(revisions::plan),
        reads(
            "/revisions/{id}/figures/{figure}",
            "One figure of the plan with its working",
            Media::Json("Figure"),
        )
        .by(revisions::figure),
        reads(
            "/revisions/{id}/answer",
            "The answer of a run with the kind's own settings; 404 before it was run",
            Media::Json("Answer"),
        )
        .with(KIND)
        .by(runs::answer),
        posts(
            "/revisions/{id}/runs",
            "Runs the plant, or finds the job that does or did",
            Media::Json("NewRun"),
            Media::Json("Asking"),
        )
        .status(202)
        .by(runs::run),
        file(
            "/revisions/{id}/report.html",
            "The report for paper, with the best answer there is",
            PAPER,
        )
        .with(shop_routes::IDEAS)
        .by(reports::page),
        file(
            "/revisions/{id}/figures.xlsx",
            "All tables and figures of the report as a workbook",
            WORKBOOK,
        )
        .with(shop_routes::IDEAS)
        .by(reports::workbook),
    ]
}

fn jobs() -> Vec<Handled> {
    vec![
        reads("/jobs", "All jobs, newest first", Media::List("Job")).by(runs::jobs),
        reads("/jobs/{id}", "A job", Media::Json("Job")).by(runs::job),
        deletes("/jobs/{id}", "Cancels a job", Media::Json("Job")).by(runs::cancel),
        reads(
            "/jobs/{id}/events",
            "A job's state now and after every change, until its end",
            Media::Events("Job"),
        )
        .by(runs::events),
    ]
}
