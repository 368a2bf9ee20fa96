//! The groups, lines and consumables as the plan shows them, and what it has to
//! say beside.

use std::collections::{BTreeMap, BTreeSet};

use balance::robots::{Plan, Shop};
use book::{Book, JoinMethod, JoinRule, Problem, Severity};

use super::choose::{Choices, reason, variants};
use super::method::{ALL, Methods, name};
use super::model::{
    BodyLine, BodyStation, BrokenLimit, Consumable, JoinGroup, LimitUsed, StuckJoints,
};
use super::place::TICKS;
use super::stack::{Floor, Stack, at};
use super::usual::LIMITS;
use super::{Room, times};
use crate::sheet::{Sheet, ShopValue, problem};

impl Room<'_, '_> {
    pub(super) fn groups(&self, sheet: &mut Sheet, stations: &[BodyStation]) -> Vec<JoinGroup> {
        let used = variants(self.choices);
        let mut made_at: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for station in stations {
            let steps = station.robots.iter().flat_map(|robot| &robot.steps);
            let joins: BTreeSet<&str> = steps.map(|step| step.join.as_str()).collect();
            for join in joins {
                made_at
                    .entry(join)
                    .or_default()
                    .push(station.station.clone());
            }
        }
        let rows = self.stacks.iter().zip(self.choices);
        let groups = rows.filter_map(|(stack, choices)| {
            let row = stack.row;
            let option = choices.chosen();
            let sharers = used.get(&option.making.variant).map_or(1, Vec::len);
            let ways = self.chooser.ways(choices, &used);
            let (reason, runner_up, runner_up_dearer) = reason(stack, &ways, option.method);
            let seconds = sheet.add_with(
                crate::sheet::Stands::Last,
                format!("join.{}.seconds", row.join),
                format!("seconds of a joint of {}", row.join),
                row.at,
                Ok(option.making.seconds.clone()),
            )?;
            Some(JoinGroup {
                join: row.join.clone(),
                at: row.at,
                assembly: row.assembly.clone(),
                stack: stack.told.clone(),
                zone: row.zone.clone(),
                geometry: row.geometry,
                joints: option.making.joints,
                method: option.method,
                variant: option.making.variant.clone(),
                reason,
                runner_up,
                runner_up_dearer,
                in_cycle_s: option.making.seconds.value.in_cycle.0,
                effective_s: seconds.value(|seconds| seconds.effective.0),
                cost_per_year: self.chooser.cost(sheet, stack, choices, sharers),
                ways,
                stations: made_at.remove(row.join.as_str()).unwrap_or_default(),
            })
        });
        groups.collect()
    }

    pub(super) fn body_lines(&self, stations: &[BodyStation]) -> Vec<BodyLine> {
        let lines = self.lines.iter().map(|line| {
            let own = || stations.iter().filter(|station| station.line == line.line);
            let shown = |value: &ShopValue| value.clone();
            BodyLine {
                line: line.line.clone(),
                shop: line.shop.clone(),
                takt_s: shown(&line.takt_s),
                cycle_s: shown(&line.cycle_s),
                joints: own().map(|station| station.joints).sum(),
                robots: own().map(|station| station.robots.len() as u32).sum(),
            }
        });
        lines.collect()
    }

    pub(super) fn consumables(&self) -> Vec<Consumable> {
        let weeks = self.question.book.plant.weeks_per_year.value;
        let mut rows: Vec<Consumable> = Vec::new();
        for (stack, choices) in self.stacks.iter().zip(self.choices) {
            let option = choices.chosen();
            let jobs = times::jobs(self.question, self.floor, stack);
            let joints = f64::from(option.making.joints);
            for used in &option.making.used {
                let same =
                    |row: &&mut Consumable| row.method == option.method && row.item == used.item;
                let (per_car, cost) = (used.amount * joints, used.money * joints * jobs * weeks);
                match rows.iter_mut().find(same) {
                    Some(row) => {
                        row.per_car += per_car;
                        row.per_week += per_car * jobs;
                        row.cost_per_year += cost;
                    }
                    None => rows.push(Consumable {
                        method: option.method,
                        item: used.item.to_owned(),
                        unit: used.unit.to_owned(),
                        per_car,
                        per_week: per_car * jobs,
                        cost_per_year: cost,
                    }),
                }
            }
        }
        rows.sort_by_key(|row| row.method);
        rows
    }
}

/// Joints without a robot, with the ways out that their stations leave.
pub(super) fn stuck(
    plan: &Plan,
    shop: &Shop,
    stacks: &[Stack<'_>],
    floor: &Floor<'_>,
) -> Vec<StuckJoints> {
    let rows = plan.left.iter().map(|(group, joints)| {
        let row = stacks[*group].row;
        let what = &shop.groups[*group];
        let missing = f64::from(*joints) * f64::from(what.ticks) / TICKS;
        let full: Vec<&str> = what
            .stations
            .iter()
            .filter(|at| plan.stations[**at].len() >= shop.stations[**at].most as usize)
            .map(|at| floor.stations[*at].station.as_str())
            .collect();
        let why = format!(
            "no robot has time for {joints} of its {} joints within the cycle, {missing:.1} s of \
             work",
            what.joints
        );
        let mut ways = Vec::new();
        if !full.is_empty() {
            ways.push(format!(
                "let one robot more stand at {} (robots_most)",
                full.join(" or ")
            ));
        }
        if row.station.is_some() && !row.geometry {
            ways.push("leave its station empty, so that others of the line may help".to_owned());
        }
        if row.zone.is_some() {
            ways.push("divide its zone, so that two robots may work at once".to_owned());
        }
        if !row.after.is_empty() {
            ways.push("move what it comes after to an earlier station".to_owned());
        }
        ways.push("raise takt".to_owned());
        StuckJoints {
            join: row.join.clone(),
            at: at(stacks, *group),
            joints: *joints,
            why,
            mend: ways.join("; "),
        }
    });
    rows.collect()
}

/// Every limit in force, those of the book in place of the usual ones.
pub(super) fn limits(methods: &Methods<'_>) -> Vec<LimitUsed> {
    let mut all: Vec<(JoinMethod, JoinRule)> = LIMITS.iter().map(|row| (row.0, row.1)).collect();
    all.extend(methods.own_rules());
    all.sort_unstable();
    all.dedup();
    let rows = all.into_iter().filter_map(|(method, rule)| {
        let limited = methods.limit(method, rule)?;
        Some(LimitUsed {
            method,
            rule: rule.word().to_owned(),
            limit: limited.limit,
            source: limited.source,
            at: limited.at,
        })
    });
    rows.collect()
}

/// What can hurt someone in a body shop.
pub(super) fn cautions() -> Vec<String> {
    [
        "Robot cells are guarded, stopped and released by ISO 10218-1 and ISO 10218-2; distances \
         here are none of their proof.",
        "Rivet guns close with 40 to 80 kN: no hand between frame and punch, lock out before \
         dies are changed.",
        "Spot guns carry 25 to 45 kA: the magnetic field disturbs pacemakers and implants; mark \
         and measure the zones.",
        "Arc seams give ultraviolet light, ozone and fume; uncured adhesive irritates skin and \
         lungs: screens, extraction, data sheets.",
        "Aluminium dust of dressing and grinding can explode: extraction of its own, rated or \
         wet, never mixed with sparks of steel.",
        "The screens are planning values: joints are released by trial joints and sections to the \
         product's own rule, and local codes and licensed practice decide.",
    ]
    .map(str::to_owned)
    .to_vec()
}

/// What is odd in the book's joints but can be computed.
pub(super) fn notes(stacks: &[Stack<'_>], choices: &[Choices], book: &Book) -> Vec<Problem> {
    let mut notes = Vec::new();
    for (stack, choices) in stacks.iter().zip(choices) {
        let (row, taken) = (stack.row, choices.chosen().method);
        if let Some(rules) = choices.refusal(row.method) {
            notes.push(Problem {
                severity: Severity::Note,
                found: format!(
                    "`{}` as {}, which its stack does not allow: {}",
                    row.join,
                    name(row.method),
                    told_rules(rules)
                ),
                expected: "a method within its limits".into(),
                mend: format!(
                    "write {} in method; it is what the plan takes",
                    taken.word()
                ),
                ..problem("method-refused", row.at, Some("method"))
            });
        }
    }
    for method in ALL {
        let used = choices
            .iter()
            .any(|choices| choices.chosen().method == method);
        let carried = book.robots.iter().any(|row| row.methods.contains(&method));
        if used && !carried {
            let at = stacks
                .first()
                .map_or_else(book::At::default, |stack| stack.row.at);
            notes.push(Problem {
                severity: Severity::Note,
                found: format!("no kind of robot that carries the tool of {}", name(method)),
                expected: "a kind of robot with the method in its methods".into(),
                mend: format!(
                    "write {} in methods of a kind of robot; until then it counts as a kind of \
                     its own without a price",
                    method.word()
                ),
                ..problem("no-robot", at, Some("method"))
            });
        }
    }
    notes
}

fn told_rules(rules: &[BrokenLimit]) -> String {
    let rules: Vec<&str> = rules.iter().map(|rule| rule.told.as_str()).collect();
    rules.join("; ")
}
