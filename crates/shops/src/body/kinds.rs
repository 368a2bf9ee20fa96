//! The kinds of robot that join, with what they cost.

use book::{At, Book, JoinMethod, RobotKind};
use formulas::{MoneyPerHour, Sourced, money};
use units::{Count, Hours, Share};

use super::method::{ALL, name};
use crate::sheet::{Sheet, Stands, cell, setting};

/// A kind of joining robot.
#[derive(Clone, Debug)]
pub(super) struct JoiningKind {
    pub(super) name: String,
    pub(super) methods: Vec<JoinMethod>,
    pub(super) reach_mm: Option<f64>,
    pub(super) change_s: f64,
    pub(super) per_hour: f64,
    pub(super) per_year: f64,
}

/// What an hour of a kind costs that the book does not have: nothing, so that
/// methods are then chosen by their consumables.
const UNPRICED: f64 = 0.0;

/// The usual change of tools where no kind is in the book, in seconds (common
/// practice: 8 to 20).
const CHANGE_S: f64 = 12.0;

/// The kinds of the book that carry a joining tool; one of its own for each
/// method that none carries.
pub(super) fn kinds(
    sheet: &mut Sheet,
    book: &Book,
    hours: &Sourced<Hours>,
    at: At,
) -> Vec<JoiningKind> {
    let mut kinds = Vec::new();
    let rows = book.robots.iter();
    for row in rows.filter(|row| row.kind == RobotKind::Robot && !row.methods.is_empty()) {
        let energy = book.plant.energy_cost_per_kwh.value.0 * row.energy_kw.0;
        let own = row.cost_per_hour.map_or(0.0, |cost| cost.0);
        let made = money::robot_hour(
            cell(row.investment, row.at, "investment"),
            setting(&book.plant.hurdle_rate, "hurdle_rate"),
            cell(Count(row.life_years), row.at, "life_years"),
            cell(row.upkeep_per_year, row.at, "upkeep_per_year"),
            hours.clone(),
            Share(1.0),
            cell(MoneyPerHour(energy + own), row.at, "energy_kw"),
        );
        let id = format!("price.{}", row.robot);
        let title = format!("what an hour of {} costs", row.robot);
        let made = sheet.add_with(Stands::Last, id, title, at, made);
        let per_hour = made.map_or(0.0, |made| made.value.robot_hour.0);
        kinds.push(JoiningKind {
            name: row.robot.clone(),
            methods: row.methods.clone(),
            reach_mm: row.reach_mm.map(|reach| reach.0),
            change_s: row.tool_change_s.0,
            per_hour,
            per_year: per_hour * hours.value.0,
        });
    }
    for method in ALL {
        if !kinds.iter().any(|kind| kind.methods.contains(&method)) {
            kinds.push(JoiningKind {
                name: format!("{} robot", name(method)),
                methods: vec![method],
                reach_mm: None,
                change_s: CHANGE_S,
                per_hour: UNPRICED,
                per_year: UNPRICED,
            });
        }
    }
    kinds
}

/// The kinds that can bring a method's tool so far.
pub(super) fn able(kinds: &[JoiningKind], method: JoinMethod, reach_mm: Option<f64>) -> Vec<usize> {
    let fits = |kind: &JoiningKind| {
        let reaches = reach_mm
            .zip(kind.reach_mm)
            .is_none_or(|(needs, has)| has >= needs);
        kind.methods.contains(&method) && reaches
    };
    (0..kinds.len()).filter(|at| fits(&kinds[*at])).collect()
}
