//! The least work moved where tasks stand at another line's stations: these
//! come home, and as little else as may be moves for them.

use balance::again::{Moved, balance_again};
use balance::{Fault, Limits, Watch};

use super::place::Placing;
use super::work::elsewhere;

impl Placing<'_> {
    /// The least moves as the solver has them; none where a task has no station.
    pub(super) fn moved(&self, watch: &Watch<'_>) -> Option<Result<Moved, Vec<Fault>>> {
        let nodes = 0..self.frame.nodes.len();
        let today: Vec<Option<usize>> = nodes.map(|node| self.today(node)).collect();
        let away: Vec<usize> = (0..today.len()).filter(|n| today[*n].is_none()).collect();
        if away.is_empty() {
            let today: Vec<usize> = today.into_iter().flatten().collect();
            return Some(self.moved_from(&today, &self.limits(), watch));
        }
        if away
            .iter()
            .any(|node| self.stands_elsewhere(*node).is_none())
        {
            return None;
        }
        // The work of those that come home moves wherever they go. So each place
        // is tried as theirs, and what else has to move is compared.
        let limits = Limits {
            steps: Some((self.steps / self.places.len().max(1) as u64).max(1)),
            ..self.limits()
        };
        let home: u64 = away.iter().map(|node| self.work_of(*node)).sum();
        let mut best: Option<Moved> = None;
        let mut faults = Vec::new();
        for later in 0..self.places.len() {
            let from = self.with_homes(&today, later);
            match self.moved_from(&from, &limits, watch) {
                Ok(moved) => {
                    let moved = with_home(moved, &away, (&from, home), |node| self.work_of(node));
                    if best.as_ref().is_none_or(|best| moved.moved < best.moved) {
                        best = Some(moved);
                    }
                }
                Err(more) => faults = more,
            }
            if best.as_ref().is_some_and(|best| best.proven) {
                break;
            }
        }
        Some(best.ok_or(faults))
    }

    fn moved_from(
        &self,
        today: &[usize],
        limits: &Limits,
        watch: &Watch<'_>,
    ) -> Result<Moved, Vec<Fault>> {
        let line = &self.frame.line;
        balance_again(
            line,
            self.frame.cycle,
            today,
            self.places.len(),
            limits,
            watch,
        )
    }

    /// Where each stands, with a place for those without: so many later than
    /// what comes before it, no later than what follows it.
    fn with_homes(&self, today: &[Option<usize>], later: usize) -> Vec<usize> {
        let after = &self.frame.line.work.after;
        let last = self.places.len().saturating_sub(1);
        let place = |(node, at): (usize, &Option<usize>)| {
            at.unwrap_or_else(|| {
                let first = after[node].iter().filter_map(|before| today[*before]).max();
                let follows = (0..today.len()).filter(|other| after[*other].contains(&node));
                let most = follows.filter_map(|other| today[other]).min();
                (first.unwrap_or(0) + later).min(most.unwrap_or(last))
            })
        };
        today.iter().enumerate().map(place).collect()
    }

    /// The work of a node in the solver's measure of what moves.
    fn work_of(&self, node: usize) -> u64 {
        let line = &self.frame.line;
        if line.models.is_empty() {
            return u64::from(line.work.ticks[node]);
        }
        let each = line.models.iter();
        each.map(|model| u64::from(model.share) * u64::from(model.ticks[node]))
            .sum()
    }

    /// Where a move starts: today's place, or the other line's station.
    pub(super) fn from(&self, node: usize, place: usize) -> String {
        let other = self.stands_elsewhere(node);
        other.unwrap_or_else(|| self.places[place].clone())
    }

    fn stands_elsewhere(&self, node: usize) -> Option<String> {
        let task = *self.frame.tasks(node, self.doing).first()?;
        let station = elsewhere(self.book, self.work.tasks[task])?;
        Some(station.station.clone())
    }
}

/// The same moves with those that come home counted once each. It is proven
/// where nothing else moves.
fn with_home(
    moved: Moved,
    away: &[usize],
    (from, home): (&[usize], u64),
    work_of: impl Fn(usize) -> u64,
) -> Moved {
    let others = moved.moves.iter().filter(|(node, ..)| !away.contains(node));
    let others: Vec<(usize, usize, usize)> = others.copied().collect();
    let total = home + others.iter().map(|(node, ..)| work_of(*node)).sum::<u64>();
    let to = |node: usize| {
        let went = moved.moves.iter().find(|(own, ..)| *own == node);
        went.map_or(from[node], |(_, _, to)| *to)
    };
    let mut moves: Vec<(usize, usize, usize)> = away
        .iter()
        .map(|node| (*node, from[*node], to(*node)))
        .collect();
    moves.extend(others);
    moves.sort_unstable();
    Moved {
        moves,
        moved: total,
        bound: home,
        proven: total == home,
        ..moved
    }
}
