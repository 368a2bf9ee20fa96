//! Two different parts on one strip.

mod stack;

use std::f64::consts::PI;

use super::members::{Member, Parts, Variant};
use super::{Job, Unlaid, finish, limits};
use crate::Layout;
use crate::angles;
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
pub(super) fn lay(job: &Job<'_>, parts: &mut Parts) -> Result<(Layout, bool), Unlaid> {
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
fn turns(job: &Job<'_>, parts: &Parts) -> Vec<Turn> {
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

/// One of each a pitch: every turn is looked at roughly, the best thoroughly.
fn pair(job: &Job<'_>, parts: &mut Parts, turns: &[Turn]) -> Result<(Layout, bool), Unlaid> {
    let rough = (job.request.effort / 8).max(200);
    let mut tried: Vec<(Variant, Searched)> = Vec::new();
    let mut cancelled = false;
    for (n, turn) in turns.iter().enumerate() {
        (job.told)(0.7 * n as f64 / turns.len() as f64);
        let Some(variant) = variant(parts, *turn, job.request.cut == Cut::CutOff) else {
            continue;
        };
        let searched = job.search(&variant, job.limits, rough, &mut |_| {});
        cancelled |= searched.cancelled;
        tried.push((variant, searched));
        if cancelled && tried.iter().any(|(_, searched)| searched.found.is_some()) {
            break;
        }
    }
    let cost = |searched: &Searched| searched.found.map_or(f64::INFINITY, |found| found.cost);
    tried.sort_by(|(_, a), (_, b)| cost(a).total_cmp(&cost(b)));
    for (n, (variant, searched)) in tried.iter_mut().take(4).enumerate() {
        (job.told)(0.7 + 0.07 * n as f64);
        let thorough = job.search(variant, job.limits, job.request.effort, &mut |_| {});
        cancelled |= thorough.cancelled;
        searched.bound = searched.bound.max(thorough.bound);
        if cost(&thorough) < cost(searched) {
            searched.found = thorough.found;
        }
    }
    let best = tried
        .iter()
        .filter_map(|(variant, searched)| Some((variant, searched.found?)))
        .min_by(|(_, a), (_, b)| a.cost.total_cmp(&b.cost));
    let Some((variant, found)) = best else {
        let variants: Vec<Variant> = tried.into_iter().map(|(variant, _)| variant).collect();
        return Err(if variants.is_empty() && !cancelled {
            Unlaid::Because(limits::no_angle(job.request, parts))
        } else if cancelled {
            Unlaid::Cancelled
        } else {
            Unlaid::Because(limits::why_none(job, parts, &variants))
        });
    };
    // Between the turns tried there are others, unless the grain leaves none.
    let searched_all = tried.len() == turns.len() && is_fixed(parts);
    let bound = if searched_all {
        tried
            .iter()
            .map(|(_, s)| s.bound)
            .fold(f64::INFINITY, f64::min)
    } else {
        bound_of(job, &variant.members.iter().collect::<Vec<_>>())
    };
    let rows = finish::rows(variant, &found);
    Ok((finish::layout(job, parts, &rows, &found, bound), cancelled))
}

fn variant(parts: &mut Parts, (turn, mirrored): Turn, cut_off: bool) -> Option<Variant> {
    let members = vec![
        Member::of(parts, 0, 0.0, false),
        Member::of(parts, 1, turn, mirrored),
    ];
    Variant::of(parts, members, Rows::Two, cut_off)
}

/// Whether the grain leaves each part one angle only.
fn is_fixed(parts: &Parts) -> bool {
    parts
        .parts
        .iter()
        .all(|part| part.grain.len() == 1 && part.grain[0].0 == part.grain[0].1)
}

/// The utilisation that no arrangement of a layout's blanks beats, by
/// [`bound_of`].
pub(super) fn area_bound(job: &Job<'_>, parts: &Parts, layout: &Layout) -> f64 {
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
