//! The work of one station: its order, its tool changes, its cost.

use super::model::{Equipped, Shop};

/// Puts tasks with their modes in the order with the fewest tool changes,
/// which count around the cycle: the next car starts with the first tool.
pub(crate) fn equipped(shop: &Shop, kind: usize, work: &[(usize, usize)]) -> Equipped {
    let tool = |(task, mode): (usize, usize)| shop.modes[task][mode].tool;
    let mut tools: Vec<usize> = work.iter().filter_map(|at| tool(*at)).collect();
    tools.sort_unstable();
    tools.dedup();
    let mut hands = Hands {
        shop,
        order: Vec::with_capacity(work.len()),
        best: Vec::new(),
        fewest: u32::MAX,
        least: if tools.len() > 1 {
            tools.len() as u32
        } else {
            0
        },
    };
    hands.go_on(work, None, None, 0);
    let (order, changes) = (hands.best, hands.fewest);
    let own: u64 = work
        .iter()
        .map(|(task, mode)| u64::from(shop.modes[*task][*mode].ticks))
        .sum();
    let tool_cost: u64 = tools.iter().map(|tool| shop.kinds[kind].tools[*tool]).sum();
    Equipped {
        kind,
        work: order,
        ticks: own + u64::from(changes) * u64::from(shop.kinds[kind].tool_change),
        changes,
        cost_per_year: shop.station_per_year + shop.kinds[kind].cost_per_year + tool_cost,
        tools,
    }
}

/// Changes around a cycle of tools.
pub(crate) fn changes(tools: impl Iterator<Item = usize>) -> u32 {
    let mut first = None;
    let mut last = None;
    let mut changes = 0;
    for tool in tools {
        changes += u32::from(last.is_some_and(|last| last != tool));
        first = first.or(Some(tool));
        last = Some(tool);
    }
    changes + u32::from(first != last)
}

/// Finds the order with the fewest changes. All that is ready for the tool in
/// hand is done before it is changed, which is never worse; which tool comes
/// next is tried in every way.
struct Hands<'a> {
    shop: &'a Shop,
    order: Vec<(usize, usize)>,
    best: Vec<(usize, usize)>,
    fewest: u32,
    /// No order needs fewer.
    least: u32,
}

impl Hands<'_> {
    fn go_on(
        &mut self,
        left: &[(usize, usize)],
        first: Option<usize>,
        in_hand: Option<usize>,
        changes: u32,
    ) {
        let done = self.order.len();
        let mut left = left.to_vec();
        while let Some(at) = self.at_hand(&left, in_hand) {
            self.order.push(left.remove(at));
        }
        let around = changes + u32::from(first != in_hand);
        if left.is_empty() {
            if around < self.fewest {
                self.fewest = around;
                self.best.clone_from(&self.order);
            }
        } else if around + u32::from(first == in_hand && first.is_some()) < self.fewest {
            let mut next: Vec<usize> = self
                .ready(&left)
                .filter_map(|at| self.tool(left[at]))
                .collect();
            next.sort_unstable();
            next.dedup();
            for tool in next {
                if self.fewest > self.least {
                    let change = u32::from(in_hand.is_some());
                    self.go_on(&left, first.or(Some(tool)), Some(tool), changes + change);
                }
            }
        }
        self.order.truncate(done);
    }

    fn tool(&self, (task, mode): (usize, usize)) -> Option<usize> {
        self.shop.modes[task][mode].tool
    }

    /// A place in the list whose task is ready and takes no other tool.
    fn at_hand(&self, left: &[(usize, usize)], in_hand: Option<usize>) -> Option<usize> {
        self.ready(left).find(|at| {
            let tool = self.tool(left[*at]);
            tool.is_none() || tool == in_hand
        })
    }

    /// Places in the list whose tasks wait for none of the list.
    fn ready<'a>(&'a self, left: &'a [(usize, usize)]) -> impl Iterator<Item = usize> + 'a {
        (0..left.len()).filter(|at| {
            let waits = |before: &usize| left.iter().any(|(task, _)| task == before);
            !self.shop.after[left[*at].0].iter().any(waits)
        })
    }
}
