//! The JSON question of `linewright solve flow`, read strictly, and its answer.
//!
//! A question names stations, links, arrivals, fleets and the run. Nothing in
//! it is guessed at or passed over: an unknown key, a misspelt name, a share
//! above 1 or a time of 1e300 seconds is refused with its path, the value
//! found, what was expected and the smallest change that mends it, all
//! misfits at once.
//!
//! What may be left out has one usual value: `units` 1, `stops` none,
//! `first_time_ok` 1, `scrap` 0, `takes` `"any"`, `loads` `"together"`, `gives`
//! `"share"`, `move_s` 0, `return_s` 0, `replications` 10, `seed` 1, `start`
//! `"empty"`; a `share` left out is an even part of what the station's other
//! links leave; `warm_up_s` left out is found from the run. `holds` has no
//! usual value: one place more or less moves the rate by percents.
//!
//! ```
//! let question = flow::question::parse(
//!     r#"{"stations": [{"name": "saw", "cycle": {"exponential": 60}},
//!                      {"name": "wash", "cycle": {"fixed": 55}}],
//!         "links": [{"from": "saw", "to": "wash", "holds": 4}],
//!         "run": {"length_s": 864000}}"#,
//! )
//! .map_err(|problems| problems[0].to_string())?;
//! assert_eq!(question.run.replications, 10);
//!
//! let refused = flow::question::parse(r#"{"stations": [{"name": "saw", "cycl": 3}]}"#);
//! assert!(refused.is_err_and(|problems| problems[0].path == "stations[0].cycl"));
//! # Ok::<(), String>(())
//! ```

mod answer;
mod network;
mod reference;
mod time;

use asked::{Cursor, Fields, Json, Range, Spot};

use crate::compile::Fault;
use crate::model::Network;
use crate::plan::Plan;
use crate::reference::{ReferenceLine, plan as reference_plan};
use crate::run::Settings;
pub use answer::{
    Answer, LinkAnswer, RunFacts, StationAnswer, Status, StuckAnswer, TimeInPlant, shortened,
};
pub use asked::Problem;

/// A question that may be asked of the engine.
#[derive(Clone, Debug)]
pub struct Question {
    /// The network; for a repeatable line the same line as stations and links.
    pub network: Network,
    /// How long, how often and with which luck.
    pub run: Run,
    /// The line of the published definition, where the question asks for it.
    pub repeatable: Option<ReferenceLine>,
}

impl Question {
    /// The network checked as a whole and made ready to run, with the engine's
    /// settings.
    ///
    /// # Errors
    ///
    /// What stands against it, by the paths of the question: a station that no
    /// job reaches, a loop with no way out.
    pub fn prepare(&self) -> Result<(Plan, Settings), Vec<Problem>> {
        let prepared = match &self.repeatable {
            Some(line) => reference_plan(line),
            None => Plan::compile(&self.network).map(|plan| (plan, self.run.settings())),
        };
        prepared.map_err(|faults| {
            faults
                .into_iter()
                .map(|fault| self.problem(fault))
                .collect()
        })
    }

    /// Takes another seed than the question's own.
    pub fn reseed(&mut self, seed: u64) {
        self.run.seed = seed;
        if let Some(line) = &mut self.repeatable {
            line.seed = seed;
        }
    }

    /// The engine names a place by what stands there; a question by its path.
    fn problem(&self, fault: Fault) -> Problem {
        let place = fault.place.split(',').next().unwrap_or("");
        let network = &self.network;
        let quoted = |name: &str| format!("\"{name}\"");
        let path = match place.split_once(' ') {
            Some(("station", name)) => network
                .stations
                .iter()
                .position(|station| quoted(&station.name) == name)
                .map(|at| format!("stations[{at}]")),
            Some(("fleet", name)) => network
                .fleets
                .iter()
                .position(|fleet| quoted(&fleet.name) == name)
                .map(|at| format!("fleets[{at}]")),
            Some(("link", at)) => Some(format!("links[{at}]")),
            _ => None,
        };
        Problem {
            path: path.unwrap_or(fault.place),
            found: fault.found,
            expected: fault.expected,
            mend: fault.mend,
        }
    }
}

/// How a network is to be run.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Seconds before measuring starts; none lets the engine find it.
    pub warm_up_s: Option<f64>,
    /// Seconds measured.
    pub length_s: f64,
    /// Independent runs.
    pub replications: u32,
    /// Seed of the first replication.
    pub seed: u64,
}

/// Reads a question.
///
/// # Errors
///
/// Every misfit of the text, in the order of its keys; never an empty list.
pub fn parse(text: &str) -> Result<Question, Vec<Problem>> {
    asked::read(text, read)
}

fn read(cursor: &mut Cursor, whole: &Spot<'_>) -> Option<Question> {
    let fields = cursor.object(whole, &["stations", "links", "arrivals", "fleets", "run"])?;
    let network = network::read(cursor, &fields);
    let run = cursor.required(&fields, "run");
    let run = run.and_then(|spot| read_run(cursor, &spot));
    let (network, run) = (network?, run?);
    if !run.repeatable {
        return Some(Question {
            network,
            run: run.plain,
            repeatable: None,
        });
    }
    let line = reference::line(cursor, &network, &run.plain)?;
    Some(Question {
        network,
        run: run.plain,
        repeatable: Some(line),
    })
}

struct RunAsked {
    plain: Run,
    repeatable: bool,
}

fn read_run(cursor: &mut Cursor, spot: &Spot<'_>) -> Option<RunAsked> {
    let keys = [
        "warm_up_s",
        "length_s",
        "replications",
        "seed",
        "start",
        "repeatable",
    ];
    let fields = cursor.object(spot, &keys)?;
    let repeatable = read_repeatable(cursor, &fields);
    let warm_up_s = fields
        .get("warm_up_s")
        .filter(|spot| *spot.value != Json::Null)
        .map(|spot| cursor.number(&spot, &Range::SECONDS));
    let length = match fields.get("length_s") {
        None if repeatable => Some(reference::DAYS * reference::DAY_S),
        _ => cursor
            .required(&fields, "length_s")
            .and_then(|spot| cursor.number(&spot, &Range::PASSING_SECONDS)),
    };
    let replications = cursor.count_or(
        &fields,
        "replications",
        if repeatable { 1 } else { 10 },
        1..=1_000_000,
    );
    let seed = match fields.get("seed") {
        Some(spot) => cursor.count(
            &spot,
            &Range {
                what: "a seed",
                least: 0.0,
                // The largest f64 below 2^64.
                most: 18_446_744_073_709_549_568.0,
            },
        ),
        None => Some(1),
    };
    if let Some(spot) = fields.get("start") {
        cursor.word(&spot, &[("empty", ())])?;
    }
    Some(RunAsked {
        plain: Run {
            warm_up_s: match warm_up_s {
                Some(read) => Some(read?),
                None => None,
            },
            length_s: length?,
            replications: replications?,
            seed: seed?,
        },
        repeatable,
    })
}

fn read_repeatable(cursor: &mut Cursor, fields: &Fields<'_>) -> bool {
    let Some(spot) = fields.get("repeatable") else {
        return false;
    };
    let Some(inner) = cursor.object(&spot, &["splitmix"]) else {
        return false;
    };
    let Some(splitmix) = cursor.required(&inner, "splitmix") else {
        return false;
    };
    cursor.flag(&splitmix).unwrap_or(false)
}
