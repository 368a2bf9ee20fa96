//! Two different parts on one strip.

mod stack;

use std::f64::consts::PI;

use super::members::{Member, Parts, Variant};
use super::{Job, Unlaid, finish, limits};
use crate::Layout;
use crate::angles;
use crate::forbidden::Stopped;
use crate::layout::Cut;
use crate::search::{Rows, Searched};
use crate::skyline::hull;

/// Turns of the partner against the blank that are tried.
const TURNS: usize = 48;
/// Turns nearer to each other than this are the same, radians.
const SAME_TURN: f64 = 0.01;

/// Lays blank and partner in their ratio. The turn of one against the other is
/// free within their grain; it is tried at those turns at which a side of one
/// lies on a side of the other, and at even steps between.
pub(super) fn lay(job: &Job<'_>, parts: &mut Parts<'_>) -> Result<(Layout, bool), Unlaid> {
    let ratio = job.request.partner.as_ref().map_or((1, 1), |p| p.ratio);
    let turns = turns(job, parts);
    if turns.is_empty() {
        return Err(Unlaid::Because(limits::no_angle(job.request, parts)));
    }
    if ratio != (1, 1) && job.request.cut == Cut::CutOff {
        return Err(Unlaid::Because(
            "cut-off blanks of two parts follow each other one by one: lay them 1 to 1, or with \
             a web"
                .to_owned(),
        ));
    }
    if ratio == (1, 1) {
        pair(job, parts, &turns)
    } else {
        stack::lay(job, parts, ratio, &turns)
    }
}

/// A turn of the partner against the blank, and whether it is turned over.
pub(super) type Turn = (f64, bool);

/// The turns to try, within what both grains allow.
fn turns(job: &Job<'_>, parts: &Parts<'_>) -> Vec<Turn> {
    let first = Member::of(parts, 0, 0.0, false);
    let mut turns: Vec<Turn> = Vec::new();
    let mirrors: &[bool] = if job.request.mirror_allowed {
        &[false, true]
    } else {
        &[false]
    };
    for mirrored in mirrors {
        let second = Member::of(parts, 1, 0.0, *mirrored);
        let mut own: Vec<(f64, f64)> = vec![(f64::INFINITY, 0.0), (f64::INFINITY, PI)];
        for (one, long) in sides(&first) {
            for (two, length) in sides(&second) {
                // Side on side they run against each other.
                own.push((long.min(length), (one + PI - two).rem_euclid(2.0 * PI)));
            }
        }
        // The longest shared sides first, even steps last.
        own.sort_by(|a, b| b.0.total_cmp(&a.0));
        own.extend((0..24).map(|k| (0.0, f64::from(k) * PI / 12.0)));
        let mut kept: Vec<f64> = Vec::new();
        for (_, turn) in own {
            let near = |other: &f64| {
                let apart = (turn - other).rem_euclid(2.0 * PI);
                !(SAME_TURN..=2.0 * PI - SAME_TURN).contains(&apart)
            };
            let member = Member::of(parts, 1, turn, *mirrored);
            let allowed = !angles::shared(&first.angles, &member.angles).is_empty();
            if allowed && kept.len() < TURNS && !kept.iter().any(near) {
                kept.push(turn);
            }
        }
        turns.extend(kept.into_iter().map(|turn| (turn, *mirrored)));
    }
    turns
}

/// Directions and lengths of the sides of a member's hull.
fn sides(member: &Member) -> Vec<(f64, f64)> {
    let corners = hull(member.path.iter().map(|piece| piece.from).collect());
    let n = corners.len();
    (0..n)
        .map(|i| corners[(i + 1) % n] - corners[i])
        .map(|side| (side.angle(), side.length()))
        .collect()
}

/// A turn that was looked at.
struct Tried {
    turn: Turn,
    variant: Variant,
    searched: Searched,
}

impl Tried {
    fn cost(&self) -> f64 {
        self.searched
            .found
            .map_or(f64::INFINITY, |found| found.cost)
    }
}

/// The strip for each unit of metal of the best of those looked at.
fn least(tried: &[Tried]) -> f64 {
    tried.iter().map(Tried::cost).fold(f64::INFINITY, f64::min)
}

/// One of each a pitch: every turn is looked at roughly, the best thoroughly,
/// and round the very best in steps that halve.
fn pair(job: &Job<'_>, parts: &mut Parts<'_>, turns: &[Turn]) -> Result<(Layout, bool), Unlaid> {
    let rough = (job.request.effort / 8).max(200);
    let mut tried: Vec<Tried> = Vec::new();
    let mut cancelled = false;
    for (n, turn) in turns.iter().enumerate() {
        (job.told)(0.6 * n as f64 / turns.len() as f64, least(&tried));
        match look(job, parts, *turn, rough) {
            Ok(looked) => tried.extend(looked),
            Err(Stopped) => cancelled = true,
        }
        cancelled |= tried.last().is_some_and(|last| last.searched.cancelled);
        if cancelled {
            break;
        }
    }
    let searched_all = tried.len() == turns.len() && is_fixed(parts);
    tried.sort_by(|a, b| a.cost().total_cmp(&b.cost()));
    let mut least = least(&tried);
    for (n, tried) in tried.iter_mut().take(4).enumerate() {
        least = least.min(tried.cost());
        (job.told)(0.6 + 0.07 * n as f64, least);
        let thorough = job.search(
            &tried.variant,
            job.limits,
            job.request.effort,
            &mut |_, _| {},
        );
        cancelled |= thorough.cancelled;
        tried.searched.bound = tried.searched.bound.max(thorough.bound);
        let cost = thorough.found.map_or(f64::INFINITY, |found| found.cost);
        if cost < tried.cost() {
            tried.searched.found = thorough.found;
        }
    }
    tried.sort_by(|a, b| a.cost().total_cmp(&b.cost()));
    if !is_fixed(parts) && !cancelled {
        cancelled |= refine(job, parts, &mut tried, rough);
    }
    let best = tried
        .first()
        .and_then(|best| Some((best, best.searched.found?)));
    let Some((best, found)) = best else {
        let variants: Vec<Variant> = tried.into_iter().map(|tried| tried.variant).collect();
        return Err(if variants.is_empty() && !cancelled {
            Unlaid::Because(limits::no_angle(job.request, parts))
        } else if cancelled {
            Unlaid::Cancelled
        } else {
            Unlaid::Because(limits::why_none(job, parts, &variants))
        });
    };
    // Between the turns tried there are others, unless the grain leaves none.
    let bound = if searched_all {
        let bounds = tried.iter().map(|tried| tried.searched.bound);
        bounds.fold(f64::INFINITY, f64::min)
    } else {
        bound_of(job, &best.variant.members.iter().collect::<Vec<_>>())
    };
    let rows = finish::rows(&best.variant, &found);
    Ok((finish::layout(job, parts, &rows, &found, bound), cancelled))
}

/// A turn searched; none where no angle of the pattern suits both grains.
fn look(
    job: &Job<'_>,
    parts: &mut Parts<'_>,
    turn: Turn,
    effort: usize,
) -> Result<Option<Tried>, Stopped> {
    let cut_off = job.request.cut == Cut::CutOff;
    let Some(variant) = variant(parts, turn, cut_off)? else {
        return Ok(None);
    };
    let searched = job.search(&variant, job.limits, effort, &mut |_, _| {});
    Ok(Some(Tried {
        turn,
        variant,
        searched,
    }))
}

/// Turns round the best one, in steps that halve; each better one becomes the
/// first. Whether it was told to stop.
fn refine(job: &Job<'_>, parts: &mut Parts<'_>, tried: &mut Vec<Tried>, effort: usize) -> bool {
    const HALVINGS: u32 = 6;
    let mut step = PI / 48.0;
    for n in 0..HALVINGS {
        (job.told)(0.88 + 0.02 * f64::from(n), least(tried));
        for side in [-1.0, 1.0] {
            let Some(best) = tried.first() else {
                return false;
            };
            let (turn, mirrored) = best.turn;
            let looked = match look(job, parts, (turn + side * step, mirrored), effort) {
                Ok(Some(looked)) => looked,
                Ok(None) => continue,
                Err(Stopped) => return true,
            };
            let better = looked.cost() < best.cost() * (1.0 - 1e-12);
            let stopped = looked.searched.cancelled;
            if better {
                tried.insert(0, looked);
            }
            if stopped {
                return true;
            }
        }
        step *= 0.5;
    }
    false
}

fn variant(
    parts: &mut Parts<'_>,
    (turn, mirrored): Turn,
    cut_off: bool,
) -> Result<Option<Variant>, Stopped> {
    let members = vec![
        Member::of(parts, 0, 0.0, false),
        Member::of(parts, 1, turn, mirrored),
    ];
    Variant::of(parts, members, Rows::Two, cut_off)
}

/// Whether the grain leaves each part one angle only.
fn is_fixed(parts: &Parts<'_>) -> bool {
    parts
        .parts
        .iter()
        .all(|part| part.grain.len() == 1 && part.grain[0].0 == part.grain[0].1)
}

/// The utilisation that no arrangement of a layout's blanks beats, by
/// [`bound_of`].
pub(super) fn area_bound(job: &Job<'_>, parts: &Parts<'_>, layout: &Layout) -> f64 {
    let members: Vec<Member> = layout
        .placements
        .iter()
        .map(|place| Member::of(parts, place.part, 0.0, place.mirrored))
        .collect();
    let cost = bound_of(job, &members.iter().collect::<Vec<_>>());
    (1.0 / cost).max(layout.utilisation)
}

/// Strip for each unit of metal that no arrangement of these blanks goes below,
/// whatever their turns: grown by half the web they lie apart.
fn bound_of(job: &Job<'_>, members: &[&Member]) -> f64 {
    let margin = 2.0 * job.request.cut.margin_mm();
    let grown: f64 = members.iter().map(|member| member.grown).sum();
    let area: f64 = members.iter().map(|member| member.area).sum();
    let beyond = job.request.cut.clearance_mm() - margin;
    let narrowest = members
        .iter()
        .map(|member| limits::narrowest(&member.skyline, &angles::any()))
        .fold(0.0, f64::max);
    let width = narrowest + margin;
    let strip = if beyond <= 0.0 {
        grown
    } else {
        grown * (width / (width + beyond))
    };
    strip / area
}
