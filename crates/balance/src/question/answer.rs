//! What a question is answered with, as JSON writes it.

use serde::Serialize;

/// How good an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Nothing is better: the bound is met.
    Optimal,
    /// The best found before the search was ended.
    Feasible,
    /// There is no answer, or none was found; the answer says which and why.
    Infeasible,
}

/// The answer to a question; a face adds `wall_s`.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// How good it is.
    pub status: Status,
    /// Stations in order; on lines with several posts a station, one entry for
    /// each post that has work.
    pub stations: Vec<StationAnswer>,
    /// How many stations there are.
    pub count: u64,
    /// Takt in seconds: the one given, or the least found.
    pub takt_s: f64,
    /// No answer is better: stations, seconds or yearly cost, as asked.
    pub lower_bound: f64,
    /// Smoothness index: the root of the summed squares of what each post has
    /// less than the fullest, in seconds (Moodie & Young 1965).
    pub smoothness: f64,
    /// Work as a share of what the posts with work could do in takt.
    pub efficiency: f64,
    /// Yearly cost, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost_per_year: Option<u64>,
    /// By number of stations, where the frontier was asked for; the answer's own
    /// stations are the cheapest.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub frontier: Vec<PointAnswer>,
    /// Why there is no answer.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub why: Vec<String>,
}

/// What so many stations cost at least.
#[derive(Clone, Debug, Serialize)]
pub struct PointAnswer {
    /// At most so many stations.
    pub stations: u64,
    /// The cheapest found.
    pub cost_per_year: u64,
    /// With so many stations nothing costs less.
    pub lower_bound: u64,
    /// Whether that is met.
    pub proven: bool,
    /// Who works at each station.
    pub by: Vec<String>,
}

/// The work of a post.
#[derive(Clone, Debug, Serialize)]
pub struct StationAnswer {
    /// The station, the first being 1.
    pub station: u64,
    /// Its tasks in order of work.
    pub tasks: Vec<String>,
    /// Seconds of work, tool changes included; with models the mean.
    pub load_s: f64,
    /// Who works there.
    pub by: String,
    /// The side: `left`, `right` or `either`.
    pub side: &'static str,
    /// The tasks in time.
    pub work: Vec<WorkAnswer>,
    /// Tools there, where cost was asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<String>,
    /// Tool changes in a cycle.
    #[serde(skip_serializing_if = "is_none")]
    pub tool_changes: u32,
    /// What the station costs a year, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost_per_year: Option<u64>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the derive calls it with a reference"
)]
fn is_none(number: &u32) -> bool {
    *number == 0
}

/// A task in time; with models by the mean.
#[derive(Clone, Debug, Serialize)]
pub struct WorkAnswer {
    /// The task.
    pub task: String,
    /// Seconds after the station's cycle starts.
    pub start_s: f64,
    /// When it ends.
    pub end_s: f64,
    /// With which of the kind's tools.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tool: Option<String>,
}
