//! The method of each group: what the stack allows, for the least money a year.

use std::collections::BTreeMap;

use book::{JoinMethod, JoinValue, Problem};
use formulas::{MoneyPerHour, joining};
use units::{Count, Millimetres, Money, Seconds};

use super::kinds::{JoiningKind, able};
use super::method::{ALL, Methods, name};
use super::model::{BrokenLimit, MethodWay};
use super::screen::broken;
use super::seconds::{Making, Uncounted};
use super::stack::Stack;
use crate::sheet::{Sheet, ShopValue, problem};

/// A method that a group may use.
pub(super) struct Candidate {
    pub(super) method: JoinMethod,
    pub(super) making: Making,
    /// Money a year without gun, die or nozzle.
    pub(super) cost: f64,
}

/// A group with every method.
pub(super) struct Choices {
    /// In the order of the methods.
    pub(super) options: Vec<Candidate>,
    refused: Vec<(JoinMethod, Vec<BrokenLimit>)>,
    /// Which option is taken.
    pub(super) taken: usize,
    /// Joints a year for one joint on a car.
    times: f64,
}

impl Choices {
    pub(super) fn chosen(&self) -> &Candidate {
        &self.options[self.taken]
    }

    /// The rules that refuse a method; none where it may be used.
    pub(super) fn refusal(&self, method: JoinMethod) -> Option<&[BrokenLimit]> {
        let refused = self.refused.iter().find(|(other, _)| *other == method);
        refused.map(|(_, rules)| rules.as_slice())
    }
}

/// What the choice needs beside the stacks.
pub(super) struct Chooser<'a, 'b> {
    pub(super) methods: &'a Methods<'b>,
    pub(super) kinds: &'a [JoiningKind],
    /// For each group the cars a year of its line.
    pub(super) cars_per_year: &'a [f64],
}

impl Chooser<'_, '_> {
    /// The choice of every group; a group without any is a problem.
    pub(super) fn choose(&self, stacks: &[Stack<'_>], problems: &mut Vec<Problem>) -> Vec<Choices> {
        let mut all: Vec<Choices> = Vec::new();
        for (stack, cars) in stacks.iter().zip(self.cars_per_year) {
            match self.of(stack, *cars) {
                Ok(choices) => all.push(choices),
                Err(problem) => problems.push(*problem),
            }
        }
        if problems.is_empty() {
            self.share_variants(&mut all);
        }
        all
    }

    fn of(&self, stack: &Stack<'_>, cars: f64) -> Result<Choices, Box<Problem>> {
        let row = stack.row;
        let gauges: Vec<Millimetres> = stack.gauges.iter().map(|g| Millimetres(*g)).collect();
        let sheets = joining::sheet_stack(gauges).map_err(|refusal| {
            Box::new(Problem {
                found: format!("a stack for which there is no screen: {refusal}"),
                expected: "sheets with gauges above 0".into(),
                mend: "correct the gauges of its parts".into(),
                ..problem("refused", row.at, Some("stack"))
            })
        })?;
        let mut options = Vec::new();
        let mut refused = Vec::new();
        for method in ALL {
            let reach = self.out_of_reach(stack, method);
            let mut rules = broken(self.methods, stack, &sheets.value, method, reach);
            if rules.is_empty() {
                match self.methods.making(stack, method) {
                    Ok(making) => {
                        let cost = self.plain_cost(method, &making, cars);
                        options.push(Candidate {
                            method,
                            making,
                            cost,
                        });
                        continue;
                    }
                    Err(why) => rules.push(uncounted(&why)),
                }
            }
            refused.push((method, rules));
        }
        if options.is_empty() {
            return Err(Box::new(no_method(stack, &refused)));
        }
        let taken = (0..options.len())
            .min_by(|a, b| options[*a].cost.total_cmp(&options[*b].cost))
            .unwrap_or(0);
        Ok(Choices {
            options,
            refused,
            taken,
            times: cars,
        })
    }

    /// The reach that the group needs and the most that robots with the method's
    /// tool have, where that is too little.
    fn out_of_reach(&self, stack: &Stack<'_>, method: JoinMethod) -> Option<(f64, f64)> {
        let needs = stack.row.reach_mm?.0;
        if !able(self.kinds, method, Some(needs)).is_empty() {
            return None;
        }
        let kinds = self
            .kinds
            .iter()
            .filter(|kind| kind.methods.contains(&method));
        let most = kinds.filter_map(|kind| kind.reach_mm).fold(0.0, f64::max);
        Some((needs, most))
    }

    /// The hour of the cheapest robot with the method's tool.
    fn robot_hour(&self, method: JoinMethod) -> f64 {
        let kinds = able(self.kinds, method, None);
        let hours = kinds.iter().map(|kind| self.kinds[*kind].per_hour);
        let least = hours.fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    }

    fn plain_cost(&self, method: JoinMethod, making: &Making, cars: f64) -> f64 {
        let each = making.consumables()
            + self.methods.value(method, JoinValue::Inspection)
            + making.seconds.value.effective.0 / 3600.0 * self.robot_hour(method);
        each * f64::from(making.joints) * cars
    }

    fn variant_cost(&self, option: &Candidate) -> f64 {
        self.methods.value(option.method, JoinValue::VariantPerYear)
    }

    /// Gives up guns, dies and nozzles that few groups use, where their other
    /// methods cost less than what is saved.
    fn share_variants(&self, all: &mut [Choices]) {
        for _ in 0..all.len() {
            let used = variants(all);
            let moved = used.iter().any(|(variant, groups)| {
                let Some(saved) = groups.first().map(|g| self.variant_cost(all[*g].chosen()))
                else {
                    return false;
                };
                let mut dearer = 0.0;
                let mut moves = Vec::new();
                for group in groups {
                    let choices = &all[*group];
                    let others = choices.options.iter().enumerate().filter(|(_, option)| {
                        option.making.variant != *variant
                            && used.contains_key(&option.making.variant)
                    });
                    let Some((to, other)) = others.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
                    else {
                        return false;
                    };
                    dearer += other.cost - choices.chosen().cost;
                    moves.push((*group, to));
                }
                if dearer >= saved {
                    return false;
                }
                for (group, to) in moves {
                    all[group].taken = to;
                }
                true
            });
            if !moved {
                break;
            }
        }
    }

    /// The group's yearly cost with its part of gun, die or nozzle.
    pub(super) fn cost(
        &self,
        sheet: &mut Sheet,
        stack: &Stack<'_>,
        choices: &Choices,
        sharers: usize,
    ) -> Option<ShopValue> {
        let option = choices.chosen();
        let made = joining::method_cost(
            Count(f64::from(option.making.joints) * choices.times),
            Money(option.making.consumables()),
            self.methods
                .sourced(option.method, JoinValue::Inspection)
                .map(Money),
            Seconds(option.making.seconds.value.effective.0),
            MoneyPerHour(self.robot_hour(option.method)),
            self.methods
                .sourced(option.method, JoinValue::VariantPerYear)
                .map(|cost| Money(cost / sharers.max(1) as f64)),
        );
        let join = &stack.row.join;
        let title = format!("yearly cost of {join}");
        let made = sheet.add(format!("join.{join}.cost"), title, stack.row.at, made)?;
        Some(made.value(|cost| cost.0))
    }

    /// All methods of a group as the plan shows them.
    pub(super) fn ways(
        &self,
        choices: &Choices,
        used: &BTreeMap<String, Vec<usize>>,
    ) -> Vec<MethodWay> {
        let ways = ALL.iter().map(|method| {
            let refused = choices.refused.iter().find(|(other, _)| other == method);
            let option = choices
                .options
                .iter()
                .find(|option| option.method == *method);
            let cost = option.map(|option| {
                let sharers = used.get(&option.making.variant).map_or(0, Vec::len);
                let own = option.method == choices.chosen().method;
                let part = match (own, sharers) {
                    (true, sharers) => 1.0 / sharers.max(1) as f64,
                    (false, 0) => 1.0,
                    (false, _) => 0.0,
                };
                option.cost + part * self.variant_cost(option)
            });
            MethodWay {
                method: *method,
                refused: refused.map(|(_, rules)| rules.clone()).unwrap_or_default(),
                joints: option.map(|option| option.making.joints),
                in_cycle_s: option.map(|option| option.making.seconds.value.in_cycle.0),
                effective_s: option.map(|option| option.making.seconds.value.effective.0),
                consumables: option.map(|option| option.making.consumables()),
                cost_per_year: cost,
            }
        });
        ways.collect()
    }
}

/// Groups by the gun, die or nozzle that they take.
pub(super) fn variants(all: &[Choices]) -> BTreeMap<String, Vec<usize>> {
    let mut used: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (group, choices) in all.iter().enumerate() {
        let variant = choices.chosen().making.variant.clone();
        used.entry(variant).or_default().push(group);
    }
    used
}

/// Why the method was taken, the runner-up and what that costs more.
pub(super) fn reason(
    stack: &Stack<'_>,
    ways: &[MethodWay],
    chosen: JoinMethod,
) -> (String, Option<JoinMethod>, Option<f64>) {
    let cost = |method: JoinMethod| {
        let way = ways.iter().find(|way| way.method == method);
        way.and_then(|way| way.cost_per_year)
    };
    let others = ways
        .iter()
        .filter(|way| way.method != chosen)
        .filter_map(|way| Some((way.method, way.cost_per_year?)));
    let next = others.min_by(|a, b| a.1.total_cmp(&b.1));
    match next {
        Some((method, dear)) => {
            let more = dear - cost(chosen).unwrap_or(0.0);
            let told = if more >= 0.0 {
                format!("least yearly cost, {} next", name(method))
            } else {
                format!("saves a gun or die that {} would need", name(method))
            };
            (told, Some(method), Some(more))
        }
        None if stack.row.methods.len() <= 1 => (
            "the only method that the product allows".to_owned(),
            None,
            None,
        ),
        None => (
            "the only method that the stack allows".to_owned(),
            None,
            None,
        ),
    }
}

fn uncounted(why: &Uncounted) -> BrokenLimit {
    let (rule, told, mend) = match why {
        Uncounted::NoCount => (
            "count",
            "neither a count nor a length with a pitch".to_owned(),
            "write count, or length_mm and pitch_mm",
        ),
        Uncounted::NoLength => (
            "length_mm",
            "a seam or bead without a length".to_owned(),
            "write length_mm",
        ),
        Uncounted::Refused(refusal) => (
            "refused",
            format!("values for which it has no figure: {refusal}"),
            "change the value named",
        ),
    };
    BrokenLimit {
        rule: rule.to_owned(),
        limit: 0.0,
        value: 0.0,
        source: "arithmetic".to_owned(),
        told,
        mend: mend.to_owned(),
    }
}

/// The method that the fewest changes would free is told first.
fn no_method(stack: &Stack<'_>, refused: &[(JoinMethod, Vec<BrokenLimit>)]) -> Problem {
    let row = stack.row;
    let wanted = refused.iter().filter(|(method, _)| stack.allowed(*method));
    let wanted: Vec<_> = wanted.collect();
    let why: Vec<String> = wanted
        .iter()
        .map(|(method, rules)| {
            let rules: Vec<&str> = rules.iter().map(|rule| rule.told.as_str()).collect();
            format!("{}: {}", name(*method), rules.join("; "))
        })
        .collect();
    let nearest = refused
        .iter()
        .min_by_key(|(method, rules)| (!stack.allowed(*method), rules.len()));
    let mend = nearest.map_or_else(String::new, |(method, rules)| {
        let each: Vec<&str> = rules.iter().map(|rule| rule.mend.as_str()).collect();
        format!("for {}: {}", name(*method), each.join(", and "))
    });
    Problem {
        found: format!(
            "`{}`, {}, which no method may join ({})",
            row.join,
            stack.told,
            why.join(". ")
        ),
        expected: "a stack within the limits of one of its methods".into(),
        mend,
        ..problem("no-method", row.at, Some("stack"))
    }
}
