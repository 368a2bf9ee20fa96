//! The finished layout measured anew: how far apart neighbouring blanks lie, edge
//! by edge. It shares nothing with the search but the outlines themselves, so
//! that an error there shows here.

use crate::outline::{extent, holds};
use crate::piece::Piece;
use crate::point::{Extent, Point};

/// Below this share of the blanks' size a distance may be an overlap.
const DOUBTFUL: f64 = 1e-6;

/// The least distance between any two blanks of a strip on which `blanks` repeat
/// every `pitch` along the first axis; the depth of the deepest overlap, less
/// than 0, if some overlap.
pub(crate) fn clearance(blanks: &[Vec<Piece>], pitch: f64) -> f64 {
    let extents: Vec<Extent> = blanks.iter().map(|blank| extent(blank)).collect();
    let mut least = f64::INFINITY;
    for (i, first) in blanks.iter().enumerate() {
        for (j, second) in blanks.iter().enumerate().skip(i) {
            let reach = extents[i].size().x + extents[j].size().x;
            let between = extents[i].low.x - extents[j].low.x;
            // One pitch more than those that can stand above each other.
            let mut k = ((between - reach) / pitch).floor() - 1.0;
            while k * pitch <= between + reach + pitch {
                let itself = i == j && k <= 0.0;
                let shift = Point::new(k * pitch, 0.0);
                let moved = Extent {
                    low: extents[j].low + shift,
                    high: extents[j].high + shift,
                };
                if !itself && extents[i].near(&moved, least.max(0.0)) {
                    let moved: Vec<Piece> = second
                        .iter()
                        .map(|piece| piece.placed(false, 0.0, shift))
                        .collect();
                    least = least.min(apart(first, &moved));
                }
                k += 1.0;
            }
        }
    }
    least
}

/// The least distance between two closed paths; less than 0 where they overlap.
pub(crate) fn apart(one: &[Piece], two: &[Piece]) -> f64 {
    let extents: Vec<Extent> = two.iter().map(Piece::extent).collect();
    let mut least = f64::INFINITY;
    for piece in one {
        let near = piece.extent();
        for (second, extent) in two.iter().zip(&extents) {
            if near.near(extent, least) {
                least = least.min(piece.distance(second));
            }
        }
    }
    let sides = extent(one).with(&extent(two)).size();
    if least > DOUBTFUL * sides.x.max(sides.y) {
        let within = holds(two, one[0].from) || holds(one, two[0].from);
        return if within { -least } else { least };
    }
    let overlap = depth(one, two).max(depth(two, one));
    if overlap > 0.0 { -overlap } else { least }
}

/// How deep a path runs into what another encloses: its pieces are cut where
/// they meet the other, and the parts looked at.
fn depth(one: &[Piece], two: &[Piece]) -> f64 {
    let mut deepest = 0.0_f64;
    for piece in one {
        let near = piece.extent();
        let mut cuts = vec![0.0, 1.0];
        for second in two {
            if near.near(&second.extent(), 0.0) {
                let met = piece.meets(second, 0.0);
                cuts.extend(met.into_iter().map(|point| piece.share_of(point)));
            }
        }
        cuts.sort_unstable_by(f64::total_cmp);
        for part in cuts.windows(2) {
            for share in [0.25, 0.5, 0.75] {
                let point = piece.at(part[0] + share * (part[1] - part[0]));
                if holds(two, point) {
                    let to_border = two
                        .iter()
                        .map(|second| second.distance_to(point))
                        .fold(f64::INFINITY, f64::min);
                    deepest = deepest.max(to_border);
                }
            }
        }
    }
    deepest
}

/// The least distance from any blank to the strip's edges at 0 and `width`.
pub(crate) fn edge_clearance(blanks: &[Vec<Piece>], width: f64) -> f64 {
    let all = blanks
        .iter()
        .fold(Extent::NONE, |all, blank| all.with(&extent(blank)));
    all.low.y.min(width - all.high.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Vec<Piece> {
        let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .map(|(a, b)| Point::new(x + a * side, y + b * side));
        (0..4)
            .map(|i| Piece::line(corners[i], corners[(i + 1) % 4]))
            .collect()
    }

    #[test]
    fn squares_beside_each_other_touch_and_do_not_overlap() {
        assert_eq!(
            apart(&square(0.0, 0.0, 10.0), &square(10.0, 3.0, 10.0)),
            0.0
        );
        assert_eq!(
            apart(&square(0.0, 0.0, 10.0), &square(14.0, 0.0, 10.0)),
            4.0
        );
    }

    #[test]
    fn an_overlap_is_as_deep_as_it_is() {
        let found = apart(&square(0.0, 0.0, 10.0), &square(8.0, 2.0, 4.0));
        assert!((found + 2.0).abs() < 1e-9, "{found}");
        let within = apart(&square(0.0, 0.0, 10.0), &square(3.0, 3.0, 4.0));
        assert_eq!(within, -3.0);
        let same = apart(&square(0.0, 0.0, 10.0), &square(0.0, 0.0, 10.0));
        assert!(same <= 0.0, "{same}");
    }

    #[test]
    fn the_least_distance_is_found_over_the_turn_of_the_pitch() {
        let pair = [square(0.0, 0.0, 10.0), square(12.0, 4.0, 10.0)];
        assert_eq!(clearance(&pair, 25.0), 2.0);
        assert_eq!(clearance(&pair, 23.0), 1.0);
        assert_eq!(clearance(&pair, 40.0), 2.0);
    }
}
