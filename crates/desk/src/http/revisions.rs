//! A revision's book and plan, and two of them compared.

use std::collections::BTreeSet;
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Response;
use book::Problem;
use serde::{Deserialize, Serialize};
use whole::findings::{Difference, RunFacts};
use whole::plan::Figure;

use super::body::{Asked, In};
use super::failure::Failure;
use super::{Desk, json_text, on_a_thread};
use crate::office::{NoResult, Office, PlanPart};
use crate::store::{ChangedCell, OneSidedRow, Revision, Table, compare as compare_books};

/// A revision's book as a grid shows it.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct BookReply {
    /// The revision.
    pub revision: Revision,
    /// The book's name.
    pub name: String,
    /// Its tables in order.
    pub tables: Vec<BookTable>,
    /// All that is wrong with it; rows are named by line.
    pub problems: Vec<Problem>,
}

/// A table of it.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct BookTable {
    /// Its name.
    pub name: String,
    /// Its headers.
    pub columns: Vec<String>,
    /// Whether a comma in its numbers is a decimal comma.
    pub decimal_comma: bool,
    /// Its rows.
    pub rows: Vec<BookRow>,
}

/// A row of it.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct BookRow {
    /// The row's id: patches name it so.
    pub id: String,
    /// Its number as a spreadsheet shows it: problems and origins name it so.
    pub line: u32,
    /// Its cells, as many as there are headers.
    pub cells: Vec<String>,
}

/// `GET /api/revisions/{id}/book`.
pub(crate) async fn book(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(json_text(office.book_text(id, || view(office, id))?))
    })
    .await
}

fn view(office: &Office, id: i64) -> Result<BookReply, NoResult> {
    let (revision, content, _) = office.store.revision(id)?;
    let (_, checked) = office.checked(id)?;
    let table = |table: &Arc<Table>| BookTable {
        name: table.name.clone(),
        columns: table.columns.clone(),
        decimal_comma: table.decimal_comma,
        rows: table
            .rows
            .iter()
            .enumerate()
            .map(|(position, row)| BookRow {
                id: row.id.clone(),
                line: Table::line(position),
                cells: row.cells.clone(),
            })
            .collect(),
    };
    Ok(BookReply {
        revision,
        name: content.name.clone(),
        tables: content.tables.iter().map(table).collect(),
        problems: checked.problems.clone(),
    })
}

/// All that there is to say of a revision's book, as `check` says it.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct BookProblems {
    /// How many keep the book from being computed.
    pub errors: usize,
    /// How many are worth a look and no more.
    pub notes: usize,
    /// All of them, those of the cells first; rows are named by line.
    pub problems: Vec<Problem>,
}

/// `GET /api/revisions/{id}/problems`.
///
/// Apart from the book, whose own problems come back after every key: what the
/// plan, the network and the shops see takes longer to find.
pub(crate) async fn problems(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Json<BookProblems>, Failure> {
    on_a_thread(&desk, move |office| {
        let (_, checked) = office.checked(id)?;
        let problems = whole::check::checked(&checked);
        let errors = problems.iter().filter(|one| whole::check::is_error(one));
        let errors = errors.count();
        Ok(Json(BookProblems {
            errors,
            notes: problems.len() - errors,
            problems,
        }))
    })
    .await
}

/// How much of a plan is asked for.
#[derive(Debug, Deserialize)]
pub(crate) struct HowMuch {
    #[serde(default)]
    workings: Workings,
}

/// Whether every figure's working comes along.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Workings {
    /// In `figures`.
    #[default]
    All,
    /// `figures` is empty; they are asked for one by one.
    None,
}

/// `GET /api/revisions/{id}/plan`.
pub(crate) async fn plan(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(much): Asked<HowMuch>,
) -> Result<Response, Failure> {
    let part = match much.workings {
        Workings::All => PlanPart::Whole,
        Workings::None => PlanPart::Summary,
    };
    on_a_thread(&desk, move |office| {
        Ok(json_text(office.plan_text(id, part)?))
    })
    .await
}

/// `GET /api/revisions/{id}/figures/{figure}`.
pub(crate) async fn figure(
    State(desk): State<Arc<Desk>>,
    In((id, figure)): In<(i64, String)>,
) -> Result<Json<Figure>, Failure> {
    on_a_thread(&desk, move |office| {
        let plan = office.plan(id)?;
        let found = plan.figures.get(&figure).cloned();
        let missing = || Failure::not_found(format!("the plan has no figure `{figure}`"));
        Ok(Json(found.ok_or_else(missing)?))
    })
    .await
}

/// A figure of two plans.
#[derive(Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct PlanDifference {
    /// The figure's id.
    pub figure: String,
    /// What it is.
    pub title: String,
    /// Its unit.
    pub unit: String,
    /// Its value in the first plan, if that has it.
    pub a: Option<f64>,
    /// Its value in the second.
    pub b: Option<f64>,
}

/// Two revisions compared.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Compare {
    /// Cells of rows that both have.
    pub cells: Vec<ChangedCell>,
    /// Rows of the second only.
    pub rows_added: Vec<OneSidedRow>,
    /// Rows of the first only.
    pub rows_removed: Vec<OneSidedRow>,
    /// Figures of the plans that differ; none where a book cannot be planned.
    pub plan: Option<Vec<PlanDifference>>,
    /// Figures of the answers; none where they were not run alike.
    pub run: Option<Vec<Difference>>,
    /// How the second was simulated, and the first but for its warm-up.
    pub how: Option<RunFacts>,
}

/// `GET /api/revisions/{a}/compare/{b}`.
pub(crate) async fn compare(
    State(desk): State<Arc<Desk>>,
    In((a, b)): In<(i64, i64)>,
) -> Result<Json<Compare>, Failure> {
    on_a_thread(&desk, move |office| {
        let ((_, first, _), (_, second, _)) =
            (office.store.revision(a)?, office.store.revision(b)?);
        let difference = compare_books(&first, &second);
        let (run, how) = office.compare_answers(a, b)?.unzip();
        Ok(Json(Compare {
            cells: difference.cells,
            rows_added: difference.rows_added,
            rows_removed: difference.rows_removed,
            plan: plans(office, a, b)?,
            run,
            how,
        }))
    })
    .await
}

/// The figures that differ, or that only one plan has.
fn plans(office: &Office, a: i64, b: i64) -> Result<Option<Vec<PlanDifference>>, Failure> {
    let plan = |id| match office.plan(id) {
        Ok(plan) => Ok(Some(plan)),
        Err(NoResult::Problems(_)) => Ok(None),
        Err(NoResult::Store(error)) => Err(Failure::from(error)),
    };
    let (Some(a), Some(b)) = (plan(a)?, plan(b)?) else {
        return Ok(None);
    };
    let mut ids: BTreeSet<&String> = a.figures.keys().collect();
    ids.extend(b.figures.keys());
    let mut differences = Vec::new();
    for id in ids {
        let (first, second) = (a.figures.get(id), b.figures.get(id));
        let values = (first.map(|f| f.value), second.map(|f| f.value));
        if values.0 == values.1 {
            continue;
        }
        if let Some(known) = second.or(first) {
            differences.push(PlanDifference {
                figure: id.clone(),
                title: known.title.clone(),
                unit: known.unit.clone(),
                a: values.0,
                b: values.1,
            });
        }
    }
    Ok(Some(differences))
}
