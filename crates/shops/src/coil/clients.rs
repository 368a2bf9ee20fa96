//! Parts, and pairs of parts that may lie on one strip, as buyers of coil.

use super::cutting::Cutting;
use super::lay::{Laid, partner_of, ratio};
use super::price::{Priced, Spec, alone, together};

/// One part, or two that are laid on one strip.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Client {
    /// The parts, by their places among those cut.
    pub(super) parts: Vec<usize>,
}

/// One part's share of a client's use of a coil in a mean week.
#[derive(Clone, Debug)]
pub(super) struct Share {
    pub(super) part: usize,
    pub(super) priced: Priced,
    /// Blanks cut, those beyond the need included.
    pub(super) blanks: f64,
    pub(super) mixed: bool,
}

impl Share {
    /// Coils of a week.
    pub(super) fn coils(&self) -> f64 {
        self.priced.coils(self.blanks)
    }

    /// Metal cost of a week.
    pub(super) fn cost(&self) -> f64 {
        self.blanks * self.priced.blank()
    }
}

/// The pairs of parts of which one names the other, each once.
pub(super) fn pairs(cut: &[Cutting<'_>]) -> Vec<(usize, usize)> {
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (i, cutting) in cut.iter().enumerate() {
        let Some(other) = partner_of(cut, cutting) else {
            continue;
        };
        let found = cut.iter().position(|row| row.part.part == other.part.part);
        let taken = |part: usize| pairs.iter().any(|(a, b)| *a == part || *b == part);
        if let Some(j) = found
            && !taken(i)
            && !taken(j)
        {
            pairs.push((i, j));
        }
    }
    pairs
}

/// The cheapest way to cut a part alone from a coil.
fn cheapest_alone(cut: &[Cutting<'_>], laid: &Laid, part: usize, spec: &Spec<'_>) -> Option<Share> {
    if !cut[part].takes(spec.width_mm) || cut[part].sort() != spec.sort {
        return None;
    }
    let priced = alone(cut, laid, part, spec)
        .into_iter()
        .min_by(|one, other| one.blank().total_cmp(&other.blank()))?;
    Some(Share {
        part,
        priced,
        blanks: cut[part].mean(),
        mixed: false,
    })
}

/// A pair on one strip of a coil: as many pitches as the part that needs most.
fn as_pair(
    cut: &[Cutting<'_>],
    laid: &Laid,
    (first, second): (usize, usize),
    spec: &Spec<'_>,
) -> Option<[Share; 2]> {
    if !cut[first].takes(spec.width_mm) || cut[first].sort() != spec.sort {
        return None;
    }
    let [one, two] = together(cut, laid, (first, second), spec)?;
    let (a, b) = (f64::from(one.per_pitch.0), f64::from(two.per_pitch.0));
    let pitches = (cut[first].mean() / a).max(cut[second].mean() / b);
    let share = |part: usize, priced: Priced, n: f64| Share {
        part,
        priced,
        blanks: pitches * n,
        mixed: true,
    };
    Some([share(first, one, a), share(second, two, b)])
}

/// The cheapest way in which a coil serves a client.
pub(super) fn serve(
    cut: &[Cutting<'_>],
    laid: &Laid,
    client: &Client,
    spec: &Spec<'_>,
) -> Option<Vec<Share>> {
    let apart: Option<Vec<Share>> = client
        .parts
        .iter()
        .map(|part| cheapest_alone(cut, laid, *part, spec))
        .collect();
    let paired = match client.parts.as_slice() {
        [first, second] => as_pair(cut, laid, (*first, *second), spec).map(Vec::from),
        _ => None,
    };
    match (apart, paired) {
        (Some(apart), Some(paired)) if weekly(&apart) <= weekly(&paired) => Some(apart),
        (apart, paired) => paired.or(apart),
    }
}

/// What the shares cost in a week.
pub(super) fn weekly(shares: &[Share]) -> f64 {
    shares.iter().map(Share::cost).sum()
}

/// The cheapest of several coils for a client.
pub(super) fn best(
    cut: &[Cutting<'_>],
    laid: &Laid,
    client: &Client,
    specs: &[Spec<'_>],
) -> Option<(usize, Vec<Share>)> {
    specs
        .iter()
        .enumerate()
        .filter_map(|(s, spec)| Some((s, serve(cut, laid, client, spec)?)))
        .min_by(|(_, one), (_, other)| weekly(one).total_cmp(&weekly(other)))
}

/// The cheapest of several coils for a pair on one strip.
pub(super) fn best_pair(
    cut: &[Cutting<'_>],
    laid: &Laid,
    pair: (usize, usize),
    specs: &[Spec<'_>],
) -> Option<(usize, Vec<Share>)> {
    specs
        .iter()
        .enumerate()
        .filter_map(|(s, spec)| Some((s, Vec::from(as_pair(cut, laid, pair, spec)?))))
        .min_by(|(_, one), (_, other)| weekly(one).total_cmp(&weekly(other)))
}

/// Parts and pairs as they are cut from the coils given: a pair is one client
/// where one strip is cheaper than the best two apart.
pub(super) fn clients(cut: &[Cutting<'_>], laid: &Laid, specs: &[Spec<'_>]) -> Vec<Client> {
    let single = |part: usize| Client { parts: vec![part] };
    let mut clients: Vec<Client> = Vec::new();
    let mut paired: Vec<usize> = Vec::new();
    for (first, second) in pairs(cut) {
        let client = Client {
            parts: vec![first, second],
        };
        let as_one = best(cut, laid, &client, specs)
            .filter(|(_, shares)| shares.iter().all(|share| share.mixed));
        let apart: Option<f64> = [first, second]
            .iter()
            .map(|part| best(cut, laid, &single(*part), specs).map(|(_, own)| weekly(&own)))
            .sum();
        if let Some((_, shares)) = as_one
            && apart.is_none_or(|apart| weekly(&shares) < apart * (1.0 - 1e-9))
        {
            paired.extend([first, second]);
            clients.push(client);
        }
    }
    clients.extend(
        (0..cut.len())
            .filter(|part| !paired.contains(part))
            .map(single),
    );
    clients.sort_by_key(|client| client.parts.clone());
    clients
}

/// Whether a pair's needs are those of its ratio, to a hundredth.
pub(super) fn balanced(first: &Cutting<'_>, second: &Cutting<'_>) -> bool {
    let (a, b) = ratio(first.part.per_car, second.part.per_car);
    let one = first.mean() / f64::from(a);
    let two = second.mean() / f64::from(b);
    (one - two).abs() <= 0.01 * one.max(two)
}
