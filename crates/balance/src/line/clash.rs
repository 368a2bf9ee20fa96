//! Which rules of place stand in each other's way.

use super::model::{Line, Rules};
use super::search::Spell;
use super::solve::{Asked, Ends};
use crate::fault::{Fault, PlaceRule};
use crate::watch::{Limits, Watch};

/// Steps of search to show that rules clash without one of them.
const STEPS: u64 = 20_000;

/// More rules than these are not tried one by one.
const MOST_RULES: usize = 200;

/// The fault of a line that was shown to have no balance on any number of
/// stations up to `most`: a set of rules of which none can be left out of that
/// proof, found by leaving out one at a time. None where there are too many.
pub(super) fn clash<const W: usize>(
    line: &Line,
    takt: u32,
    most: u32,
    watch: &Watch<'_>,
) -> Option<Fault> {
    let mut rules = listed(&line.rules);
    if rules.is_empty() || rules.len() > MOST_RULES {
        return None;
    }
    let shown = |rules: &[PlaceRule], takt: u32| {
        let line = Line {
            rules: only(rules),
            ..line.clone()
        };
        is_shown::<W>(&line, takt, most, watch)
    };
    for at in (0..rules.len()).rev() {
        let mut fewer = rules.clone();
        fewer.remove(at);
        if shown(&fewer, takt) {
            rules = fewer;
        }
    }
    let work = line.measures(1);
    let ever = work.iter().map(|measure| measure.ticks.iter().sum::<u64>());
    let ever = ever.max().unwrap_or(1).clamp(1, u64::from(u32::MAX / 4)) as u32;
    Some(Fault::Clash {
        takt_helps: !shown(&rules, ever.max(takt)),
        rules,
    })
}

/// Whether it is shown in a few steps that no balance keeps the rules.
fn is_shown<const W: usize>(line: &Line, takt: u32, most: u32, watch: &Watch<'_>) -> bool {
    if !line.faults(takt).is_empty() {
        return true;
    }
    let limits = Limits {
        memory_mb: 20,
        steps: Some(STEPS),
    };
    let asked = Asked {
        line,
        takt,
        limits: &limits,
        watch,
        most_steps: STEPS,
    };
    match Ends::<W>::of(line, takt) {
        Err(_) => true,
        Ok(ends) if ends.bound > most => true,
        Ok(ends) => matches!(ends.decide(&asked, most, STEPS, &mut 0), Spell::Refuted),
    }
}

fn listed(rules: &Rules) -> Vec<PlaceRule> {
    let together = rules
        .together
        .iter()
        .map(|(a, b)| PlaceRule::Together(*a, *b));
    let apart = rules.apart.iter().map(|(a, b)| PlaceRule::Apart(*a, *b));
    let fixed = rules.fixed.iter().map(|(a, at)| PlaceRule::Fixed(*a, *at));
    let far = rules
        .distance
        .iter()
        .map(|(a, b, far)| PlaceRule::Distance(*a, *b, *far));
    together.chain(apart).chain(fixed).chain(far).collect()
}

fn only(kept: &[PlaceRule]) -> Rules {
    let mut rules = Rules::default();
    for rule in kept {
        match *rule {
            PlaceRule::Together(one, other) => rules.together.push((one, other)),
            PlaceRule::Apart(one, other) => rules.apart.push((one, other)),
            PlaceRule::Fixed(task, station) => rules.fixed.push((task, station)),
            PlaceRule::Distance(one, other, far) => rules.distance.push((one, other, far)),
        }
    }
    rules
}

/// The shortest way through the order from a task that is fixed beyond a
/// station to one that must stand there; empty where none is.
pub(super) fn pushed(line: &Line, task: usize, station: usize) -> Vec<usize> {
    let fixed_beyond = |other: usize| {
        let mut fixed = line.rules.fixed.iter();
        fixed.any(|(fixed, at)| *fixed == other && *at > station)
    };
    let mut ways = vec![vec![task]];
    let mut seen = vec![false; line.work.ticks.len()];
    let mut next = 0;
    while let Some(way) = ways.get(next).cloned() {
        next += 1;
        let first = way[0];
        if fixed_beyond(first) {
            return way;
        }
        for before in &line.work.after[first] {
            if !std::mem::replace(&mut seen[*before], true) {
                ways.push([&[*before], way.as_slice()].concat());
            }
        }
    }
    Vec::new()
}
