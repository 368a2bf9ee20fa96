//! Every address of the interface, once: the router is made from this list, and
//! so is the interface's description.

mod log_routes;
mod next_routes;
mod shop_routes;

use std::sync::Arc;

use axum::extract::DefaultBodyLimit;
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
    pub(crate) method: &'static str,
    /// Below `/api`.
    pub(crate) path: &'static str,
    pub(crate) about: &'static str,
    pub(crate) query: &'static [Query],
    pub(crate) body: Media,
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

impl Route {
    /// The same with what may stand behind the question mark.
    const fn with(self, query: &'static [Query]) -> Self {
        Self { query, ..self }
    }
}

const fn reads(path: &'static str, about: &'static str, reply: Media) -> Route {
    Route {
        method: "get",
        path,
        about,
        query: &[],
        body: Media::Nothing,
        status: 200,
        reply,
    }
}

const fn posts(path: &'static str, about: &'static str, body: Media, reply: Media) -> Route {
    Route {
        method: "post",
        body,
        ..reads(path, about, reply)
    }
}

type Handled = (Route, MethodRouter<Arc<Desk>>);

/// All addresses below `/api`.
pub(crate) fn all() -> Vec<Handled> {
    let mut all = program();
    all.extend(lines_of_work());
    all.extend(changes());
    all.extend(books());
    all.extend(results());
    all.extend(jobs());
    all.extend(shop_routes::plans());
    all.extend(shop_routes::files());
    all.extend(shop_routes::order());
    all.extend(next_routes::all());
    all.extend(log_routes::all());
    all.extend(shop_routes::money());
    all
}

fn program() -> Vec<Handled> {
    vec![
        (
            reads(
                "/health",
                "That the program is there",
                Media::Json("Health"),
            ),
            get(facts::health),
        ),
        (
            reads(
                "/schema",
                "The tables of the book and their columns",
                Media::Json("Schema"),
            ),
            get(facts::schema),
        ),
        (
            reads("/formulas", "The formula sheet", Media::List("Formula")),
            get(facts::formulas),
        ),
        (
            posts(
                "/formulas/{name}",
                "Computes a formula from texts with units",
                Media::Texts,
                Media::Json("Working"),
            ),
            post(facts::compute),
        ),
        (
            reads("/openapi.json", "This description", Media::AnyJson),
            get(facts::openapi),
        ),
        (
            posts(
                "/login",
                "Begins a session, where the desk is open to other machines",
                Media::Json("Login"),
                Media::Json("LoggedIn"),
            ),
            post(session::log_in),
        ),
        (
            Route {
                status: 204,
                ..posts(
                    "/logout",
                    "Ends the session",
                    Media::Nothing,
                    Media::Nothing,
                )
            },
            post(session::log_out),
        ),
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
        (
            reads(
                "/variants",
                "All variants with their heads",
                Media::List("Variant"),
            ),
            get(variants::list),
        ),
        (
            Route {
                status: 201,
                ..posts(
                    "/variants",
                    "Makes a variant from a revision, or with an empty book",
                    Media::Json("NewVariant"),
                    Media::Json("Variant"),
                )
            },
            post(variants::add),
        ),
        (
            reads(
                "/variants/{variant}/revisions",
                "The revisions of a variant, newest first",
                Media::List("Revision"),
            ),
            get(variants::revisions),
        ),
    ]
}

fn changes() -> Vec<Handled> {
    vec![
        (
            posts(
                "/variants/{variant}/edits",
                "Saves an edit, merged with what came in since its base; 409 names the cells \
                     that others changed",
                Media::Json("Edit"),
                Media::Json("EditReply"),
            )
            .with(OUTCOME),
            post(variants::edit).layer(DefaultBodyLimit::max(JSON_BYTES)),
        ),
        (
            posts(
                "/variants/{variant}/take-back",
                "Takes a revision back, an import for one; what came in since stays, 409 names \
                 the cells that others changed on top of it",
                Media::Json("TakeBack"),
                Media::Json("EditReply"),
            ),
            post(variants::take_back),
        ),
        (
            posts(
                "/variants/{variant}/restore",
                "Makes an old revision's book the head again",
                Media::Json("Restore"),
                Media::Json("Revision"),
            ),
            post(variants::restore),
        ),
        (
            posts(
                "/variants/{variant}/import",
                "Saves a book (.xlsx, or CSV files in an archive) or one table (CSV) as a new \
                     revision",
                Media::Bytes(&[export::XLSX, "application/zip", "text/csv"]),
                Media::Json("Imported"),
            )
            .with(IMPORT),
            post(import::import).layer(DefaultBodyLimit::max(import::MOST_BYTES)),
        ),
    ]
}

fn books() -> Vec<Handled> {
    vec![
        (
            reads(
                "/revisions/{id}/book",
                "The book with its problems",
                Media::Json("BookReply"),
            ),
            get(revisions::book),
        ),
        (
            reads(
                "/revisions/{id}/problems",
                "All that is wrong with a book, as tables and as a plant",
                Media::Json("BookProblems"),
            ),
            get(revisions::problems),
        ),
        (
            reads(
                "/revisions/{a}/compare/{b}",
                "What differs between two revisions",
                Media::Json("Compare"),
            ),
            get(revisions::compare),
        ),
        (
            reads(
                "/revisions/{id}/export.xlsx",
                "The book as a workbook",
                Media::Bytes(&[export::XLSX]),
            ),
            get(export::workbook),
        ),
        (
            reads(
                "/revisions/{id}/export.zip",
                "The book as CSV files in an archive",
                Media::Bytes(&["application/zip"]),
            ),
            get(export::folder),
        ),
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
        (
            reads(
                "/revisions/{id}/plan",
                "The rate plan",
                Media::Json("RatePlan"),
            )
            .with(WORKINGS),
            get(revisions::plan),
        ),
        (
            reads(
                "/revisions/{id}/figures/{figure}",
                "One figure of the plan with its working",
                Media::Json("Figure"),
            ),
            get(revisions::figure),
        ),
        (
            reads(
                "/revisions/{id}/answer",
                "The answer of a run with the kind's own settings; 404 before it was run",
                Media::Json("Answer"),
            )
            .with(KIND),
            get(runs::answer),
        ),
        (
            Route {
                status: 202,
                ..posts(
                    "/revisions/{id}/runs",
                    "Runs the plant, or finds the job that does or did",
                    Media::Json("NewRun"),
                    Media::Json("Asking"),
                )
            },
            post(runs::run),
        ),
        (
            reads(
                "/revisions/{id}/report.html",
                "The report for paper, with the best answer there is",
                Media::Bytes(&["text/html"]),
            ),
            get(reports::page),
        ),
        (
            reads(
                "/revisions/{id}/figures.xlsx",
                "All tables and figures of the report as a workbook",
                Media::Bytes(&[export::XLSX]),
            ),
            get(reports::workbook),
        ),
    ]
}

fn jobs() -> Vec<Handled> {
    vec![
        (
            reads("/jobs", "All jobs, newest first", Media::List("Job")),
            get(runs::jobs),
        ),
        (
            reads("/jobs/{id}", "A job", Media::Json("Job")),
            get(runs::job),
        ),
        (
            Route {
                method: "delete",
                ..reads("/jobs/{id}", "Cancels a job", Media::Json("Job"))
            },
            delete(runs::cancel),
        ),
        (
            reads(
                "/jobs/{id}/events",
                "A job's state now and after every change, until its end",
                Media::Events("Job"),
            ),
            get(runs::events),
        ),
    ]
}
