//! The published and computed figures under `checks/flow`, as data.
#![allow(dead_code, reason = "each test that includes this uses its own part")]

use serde::Deserialize;
use serde_json::Value;

/// A situation with the figures known for it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Case {
    /// What is at hand.
    #[serde(rename = "case")]
    pub(crate) name: String,
    /// Which reference applies.
    pub(crate) model: String,
    /// Its numbers.
    pub(crate) given: Value,
    /// Author and year of the model.
    pub(crate) source: String,
    obtained: Option<String>,
    tolerance: Option<Tolerance>,
    /// What must come out.
    pub(crate) figures: Vec<Figure>,
}

/// One figure of a case.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figure {
    /// Its name.
    #[serde(rename = "figure")]
    pub(crate) name: String,
    /// A number, a list, a list of lists, or a fraction as text.
    pub(crate) value: Value,
    #[serde(rename = "unit")]
    _unit: Option<String>,
    obtained: Option<String>,
    tolerance: Option<Tolerance>,
}

/// How near a computed figure must come.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Tolerance {
    /// To the last digit.
    Exact,
    /// As a share of the figure (where it is 0: as a difference).
    Relative(f64),
    /// As a difference.
    Absolute(f64),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "about")]
    _about: String,
    cases: Vec<Case>,
}

const FILES: [&str; 10] = [
    include_str!("../../../../checks/flow/queues.json"),
    include_str!("../../../../checks/flow/rework.json"),
    include_str!("../../../../checks/flow/lines.json"),
    include_str!("../../../../checks/flow/merges.json"),
    include_str!("../../../../checks/flow/slotted.json"),
    include_str!("../../../../checks/flow/fluid.json"),
    include_str!("../../../../checks/flow/transfer.json"),
    include_str!("../../../../checks/flow/loops.json"),
    include_str!("../../../../checks/flow/statistics.json"),
    include_str!("../../../../checks/flow/runs.json"),
];

/// All cases.
pub(crate) fn cases() -> Vec<Case> {
    FILES
        .iter()
        .flat_map(|text| serde_json::from_str::<File>(text).unwrap().cases)
        .collect()
}

impl Case {
    /// A number given.
    pub(crate) fn number(&self, key: &str) -> f64 {
        self.given[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{}: no number {key}", self.name))
    }

    /// A whole number given.
    pub(crate) fn whole(&self, key: &str) -> u32 {
        self.given[key]
            .as_u64()
            .and_then(|n| u32::try_from(n).ok())
            .unwrap_or_else(|| panic!("{}: no whole number {key}", self.name))
    }

    /// A list of numbers given.
    pub(crate) fn list(&self, key: &str) -> Vec<f64> {
        assert!(self.given[key].is_array(), "{}: no list {key}", self.name);
        numbers(&self.given[key])
    }

    /// A list of whole numbers given.
    pub(crate) fn wholes(&self, key: &str) -> Vec<u16> {
        self.list(key).iter().map(|&x| x as u16).collect()
    }

    /// Whether the figures say how they were obtained.
    pub(crate) fn tells_how_obtained(&self) -> bool {
        self.obtained.is_some() || self.figures.iter().all(|f| f.obtained.is_some())
    }

    /// How near `figure` must come.
    pub(crate) fn tolerance(&self, figure: &Figure) -> Tolerance {
        figure
            .tolerance
            .or(self.tolerance)
            .unwrap_or_else(|| panic!("{}: no tolerance", self.name))
    }
}

/// All numbers of a value, in reading order.
pub(crate) fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        other => other.as_f64().into_iter().collect(),
    }
}
