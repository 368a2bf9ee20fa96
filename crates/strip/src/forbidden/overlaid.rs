//! Straight edges that lie on each other.

use std::f64::consts::PI;

use super::Edge;
use crate::point::Point;

/// Takes out straight edges that run over each other in opposite senses. They
/// come where sides of the two blanks are parallel, inside the set, and rounding
/// would else open a slit between them. A true slit, as wide as the blank that
/// fits it exactly, is bordered by edges that the slack holds apart.
pub(super) fn cancelled(edges: Vec<Edge>, reach: f64) -> Vec<Edge> {
    let (straight, mut kept): (Vec<Edge>, Vec<Edge>) =
        edges.into_iter().partition(|edge| edge.round.is_none());
    // By the line each lies on: its direction of half a turn and its distance.
    let mut on_lines: Vec<(f64, f64, Edge)> = straight
        .into_iter()
        .filter(|edge| edge.from != edge.to)
        .map(|edge| {
            let along = edge.to - edge.from;
            let direction = along.angle();
            let direction = direction - PI * (direction / PI).floor();
            // Just below half a turn is just below none.
            let direction = if direction > PI - 1e-9 {
                0.0
            } else {
                direction
            };
            let unit = along * (1.0 / along.length());
            let sense = if unit.y > 1e-9 || (unit.y.abs() <= 1e-9 && unit.x > 0.0) {
                1.0
            } else {
                -1.0
            };
            (direction, sense * unit.cross(edge.from), edge)
        })
        .collect();
    on_lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut rest = on_lines.as_slice();
    while let Some((direction, _, _)) = rest.first() {
        let parallel = rest
            .iter()
            .take_while(|(other, _, _)| other - direction < 1e-11)
            .count();
        let (bundle, after) = rest.split_at(parallel);
        rest = after;
        let mut bundle: Vec<(f64, &Edge)> =
            bundle.iter().map(|(_, off, edge)| (*off, edge)).collect();
        bundle.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut lines = bundle.as_slice();
        while let Some((off, _)) = lines.first() {
            let same = lines
                .iter()
                .take_while(|(other, _)| other - off < 1e-12 * reach)
                .count();
            let (line, after) = lines.split_at(same);
            lines = after;
            net(line, &mut kept);
        }
    }
    kept
}

/// What is left of edges on one line when opposite ones cancel.
fn net(line: &[(f64, &Edge)], kept: &mut Vec<Edge>) {
    let first = line[0].1;
    let along = first.to - first.from;
    let opposed = line
        .iter()
        .any(|(_, edge)| (edge.to - edge.from).dot(along) < 0.0);
    if !opposed {
        kept.extend(line.iter().map(|(_, edge)| (*edge).clone()));
        return;
    }
    // Stretches between all ends, each with how often it is run along.
    let mut ends: Vec<(f64, Point, i32)> = Vec::new();
    for (_, edge) in line {
        ends.push((edge.from.dot(along), edge.from, 1));
        ends.push((edge.to.dot(along), edge.to, -1));
    }
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut times = 0;
    for pair in ends.windows(2) {
        times += pair[0].2;
        let (from, to) = (pair[0].1, pair[1].1);
        if times == 0 || from == to {
            continue;
        }
        let (from, to) = if times > 0 { (from, to) } else { (to, from) };
        for _ in 0..times.abs() {
            kept.push(Edge {
                from,
                to,
                round: None,
                reach: from.length().max(to.length()),
            });
        }
    }
}
