//! The best order found.

use crate::cost::Cost;
use crate::evaluate::{Tally, evaluate};
use crate::model::Checked;
use crate::search::search;
use crate::watch::{Settings, Watch};

#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Classes, car by car.
    pub order: Vec<usize>,
    pub tally: Tally,
    pub steps: u64,
    pub bound: crate::bound::Bound,
    pub complete: bool,
}

pub fn best(checked: &Checked, settings: &Settings, watch: &Watch<'_>) -> Solution {
    let found = search(checked, settings, None, &Cost::ZERO, watch);
    let order: Vec<usize> = found.row[checked.plan.first..].iter().map(|c| usize::from(*c)).collect();
    let tally = evaluate(checked, &order).unwrap_or_else(|_| unreachable!());
    Solution { order, tally, steps: found.steps, bound: crate::bound::bound(&checked.plan, checked.problem.rules.len()), complete: found.complete }
}
