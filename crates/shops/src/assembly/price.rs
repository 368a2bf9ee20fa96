//! What people, robots and tools cost a year.

use std::collections::BTreeMap;

use book::{At, Book, RobotKind};
use formulas::{MoneyPerHour, Sourced, calendar, money};
use units::{Count, Hours, Money, Share};

use crate::sheet::{Sheet, Stands, cell, setting};

/// A kind of person or robot with its price.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    pub(super) name: String,
    pub(super) per_year: f64,
    /// Seconds from one tool to another; none of note for a person.
    pub(super) change_s: f64,
}

/// Prices for the working hours of one line.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    pub(super) person: Kind,
    pub(super) robots: Vec<Kind>,
    tools: BTreeMap<String, f64>,
    pub(super) station: f64,
}

impl Prices {
    /// The prices for a line that works so many hours a year.
    pub(super) fn of(
        sheet: &mut Sheet,
        book: &Book,
        line: &str,
        hours: &Sourced<Hours>,
        at: At,
    ) -> Self {
        let kinds = book.robots.iter().filter(|r| r.kind == RobotKind::Robot);
        let mut robots = Vec::new();
        for row in kinds {
            let energy = book.plant.energy_cost_per_kwh.value.0 * row.energy_kw.0;
            let dear = Owned {
                investment: cell(row.investment, row.at, "investment"),
                life: cell(Count(row.life_years), row.at, "life_years"),
                upkeep: cell(row.upkeep_per_year, row.at, "upkeep_per_year"),
                per_hour: cell(MoneyPerHour(energy), row.at, "energy_kw"),
            };
            let id = format!("price.{line}.{}", row.robot);
            let per_year = dear.per_year(sheet, book, (id, &row.robot, row.at), hours);
            let own = row.cost_per_hour.map_or(0.0, |cost| cost.0 * hours.value.0);
            robots.push(Kind {
                name: row.robot.clone(),
                per_year: per_year + own,
                change_s: row.tool_change_s.0,
            });
        }
        let mut tools = BTreeMap::new();
        for row in &book.tools {
            let dear = Owned {
                investment: cell(row.investment, row.at, "investment"),
                life: cell(Count(row.life_years), row.at, "life_years"),
                upkeep: cell(row.upkeep_per_year, row.at, "upkeep_per_year"),
                per_hour: Sourced::from(MoneyPerHour(0.0)),
            };
            let id = format!("price.{line}.{}", row.tool);
            let per_year = dear.per_year(sheet, book, (id, &row.tool, row.at), hours);
            tools.insert(row.tool.clone(), per_year);
        }
        Self {
            person: person(sheet, book, line, hours, at),
            robots,
            tools,
            station: book.plant.station_cost_per_year.value.0,
        }
    }

    /// Whether this is a kind of robot.
    pub(super) fn is_robot(&self, name: &str) -> bool {
        self.robots.iter().any(|kind| kind.name == name)
    }

    /// What a tool costs a year; nothing where the book has no price of it.
    pub(super) fn tool(&self, name: Option<&str>) -> f64 {
        name.and_then(|name| self.tools.get(name))
            .copied()
            .unwrap_or(0.0)
    }

    /// What a kind costs a year.
    pub(super) fn kind(&self, name: &str) -> f64 {
        let robot = self.robots.iter().find(|kind| kind.name == name);
        robot.unwrap_or(&self.person).per_year
    }
}

/// What is bought and kept.
struct Owned {
    investment: Sourced<Money>,
    life: Sourced<Count>,
    upkeep: Sourced<Money>,
    per_hour: Sourced<MoneyPerHour>,
}

impl Owned {
    fn per_year(
        self,
        sheet: &mut Sheet,
        book: &Book,
        (id, name, at): (String, &str, At),
        hours: &Sourced<Hours>,
    ) -> f64 {
        let made = money::robot_hour(
            self.investment,
            setting(&book.plant.hurdle_rate, "hurdle_rate"),
            self.life,
            self.upkeep,
            hours.clone(),
            Share(1.0),
            self.per_hour,
        );
        let title = format!("what an hour of {name} costs");
        let made = sheet.add_with(Stands::Last, id, title, at, made);
        made.map_or(0.0, |made| made.value.robot_hour.0 * hours.value.0)
    }
}

/// A post filled all the time, relief, absence and leave paid for.
fn person(sheet: &mut Sheet, book: &Book, line: &str, hours: &Sourced<Hours>, at: At) -> Kind {
    let row = book.robots.iter().find(|r| r.kind == RobotKind::Person);
    let plant = &book.plant;
    let heads = calendar::heads(
        Count(1.0),
        Count(1.0),
        setting(&plant.relief_share, "relief_share"),
        setting(&plant.absence_share, "absence_share"),
        setting(&plant.leave_share, "leave_share"),
    );
    let id = format!("price.{line}.person");
    let heads = sheet.add_with(
        Stands::Last,
        id,
        "people paid for a post that is always filled",
        at,
        heads,
    );
    let heads = heads.map_or(1.0, |heads| heads.value.exact.0);
    let own = row.and_then(|row| row.cost_per_hour);
    let per_hour = own.unwrap_or(plant.person_cost_per_hour.value).0;
    Kind {
        name: row.map_or_else(|| "person".into(), |row| row.robot.clone()),
        per_year: per_hour * hours.value.0 * heads,
        change_s: 0.0,
    }
}
