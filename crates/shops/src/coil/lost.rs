//! Why a layout lost, with the number that decided.

use strip::Kind;

use super::clients::{self, Client, Share, weekly};
use super::lay::{Place, micrometres};
use super::model::{Beside, RunnerUp, Unlaid};
use super::parts::{On, Shown};

/// A share of metal as text, with as many digits as tell it from the other.
fn apart(one: f64, other: f64) -> (String, String) {
    let text = |share: f64, digits: usize| format!("{:.digits$} %", share * 100.0);
    let digits = (1..=4).find(|digits| text(one, *digits) != text(other, *digits));
    let digits = digits.unwrap_or(4);
    (text(one, digits), text(other, digits))
}

/// The layout that came next.
pub(super) fn runner_up(
    shown: &Shown<'_, '_>,
    part: usize,
    found: &[On],
    beside: Option<&Beside>,
) -> Option<RunnerUp> {
    let [first, next, ..] = found else {
        return None;
    };
    let more = next.priced.blank() - first.priced.blank();
    let mixed = next.priced.layout.kind == Kind::MixedPair;
    let why = match beside {
        Some(beside) if mixed => beside.why.clone(),
        _ if more < -1e-9 * first.priced.blank() => {
            "cheaper for this part alone, dearer for the pair".to_owned()
        }
        _ => why(shown, part, first, next),
    };
    let weeks = shown.book.plant.weeks_per_year.value;
    Some(RunnerUp {
        layout: Some(1),
        cost_more: more,
        cost_more_a_year: more * shown.cut[part].mean() * weeks,
        why,
    })
}

/// The greatest of the causes: strip, ends of the coil, gauge.
fn why(shown: &Shown<'_, '_>, part: usize, first: &On, next: &On) -> String {
    let (won, lost) = (&first.priced.layout, &next.priced.layout);
    let spec = |on: &On| &shown.specs[on.spec];
    if (next.priced.blank() / first.priced.blank() - 1.0).abs() < 1e-6 {
        return as_good(first, next).to_owned();
    }
    // Of what the strip has in blanks, the share that the coil's ends leave.
    let whole = |on: &On| {
        let own = shown.cut[part].net_kg(spec(on).delivered_mm);
        let coil = spec(on).mass_kg * on.priced.share;
        on.priced.pieces.value.good_blanks.0 * own / coil / on.priced.layout.utilisation
    };
    let strip = won.utilisation / lost.utilisation - 1.0;
    let ends = whole(first) / whole(next) - 1.0;
    let gauge = spec(next).delivered_mm / spec(first).delivered_mm - 1.0;
    if gauge > strip.max(ends) {
        return format!(
            "its coil comes {} mm thick against {} mm: as many kilograms are shorter",
            spec(next).delivered_mm,
            spec(first).delivered_mm
        );
    }
    if ends > strip {
        let (own, other) = apart(1.0 - whole(next), 1.0 - whole(first));
        return format!("loses more at the coil's ends: {own} of a coil against {other}");
    }
    let (own, other) = apart(lost.utilisation, won.utilisation);
    let idle = lost.width_mm - lost.needed_width_mm;
    if idle > won.width_mm - won.needed_width_mm + 1.0 {
        format!(
            "leaves {idle:.0} mm of the strip's width unused: {own} of the metal in blanks \
             against {other}"
        )
    } else {
        format!("nests looser: {own} of the metal in blanks against {other}")
    }
}

fn as_good(first: &On, next: &On) -> &'static str {
    let rank = |on: &On| {
        let kinds = Kind::ALL.iter();
        kinds
            .take_while(|kind| **kind != on.priced.layout.kind)
            .count()
    };
    if rank(first) < rank(next) {
        "as good, the simpler kind is taken"
    } else if first.spec < next.spec {
        "as good, the coil that stands first in the book is taken"
    } else {
        "as good to a millionth of its cost"
    }
}

/// The pair that a part was asked to lie in and does not, with its client's
/// place among the parts; none where it lies in one, or was not asked.
pub(super) fn tried(shown: &Shown<'_, '_>, client: &Client, part: usize) -> Option<(usize, usize)> {
    let pairs = clients::pairs(shown.cut);
    let own = pairs.into_iter().find(|(a, b)| *a == part || *b == part);
    own.filter(|_| client.parts.len() == 1)
}

/// What came of a pair that was tried and lost, or could not be laid.
pub(super) fn beside(
    shown: &Shown<'_, '_>,
    pair: (usize, usize),
    part: usize,
    found: &[On],
) -> Beside {
    let other = if pair.0 == part { pair.1 } else { pair.0 };
    let name = |part: usize| shown.cut[part].part.part.as_str();
    let mixed = clients::best_pair(shown.cut, shown.laid, pair, shown.specs);
    let single = |part: usize| {
        let client = Client { parts: vec![part] };
        clients::best(shown.cut, shown.laid, &client, shown.specs)
    };
    let alone: Vec<Share> = [pair.0, pair.1]
        .into_iter()
        .filter_map(single)
        .flat_map(|(_, shares)| shares)
        .collect();
    let apart_a_week = weekly(&alone);
    let Some((spec, shares)) = mixed else {
        return Beside {
            part: name(other).to_owned(),
            layout: None,
            cost_a_week: None,
            apart_a_week,
            why: not_laid(shown, pair),
        };
    };
    let layout = found
        .iter()
        .position(|on| on.spec == spec && on.priced.layout.kind == Kind::MixedPair);
    let together = weekly(&shares);
    Beside {
        part: name(other).to_owned(),
        layout: layout.and_then(|at| u32::try_from(at).ok()),
        cost_a_week: Some(together),
        apart_a_week,
        why: format!(
            "`{}` and `{}` on one strip of {} cost {together:.2} {} a week against \
             {apart_a_week:.2} apart: {}",
            name(pair.0),
            name(pair.1),
            shown.specs[spec].name,
            shown.book.plant.currency.value,
            dearer(shown, &shares, &alone)
        ),
    }
}

/// What makes a pair dearer: blanks beyond the need, or the strip.
fn dearer(shown: &Shown<'_, '_>, shares: &[Share], alone: &[Share]) -> String {
    let beyond = shares.iter().find_map(|share| {
        let cutting = &shown.cut[share.part];
        let more = share.blanks - cutting.mean();
        (more > 0.01 * cutting.mean()).then_some((more, &cutting.part.part))
    });
    let used = |share: &Share| share.priced.layout.utilisation;
    let own = shares.first().map_or(0.0, used);
    let strip = match alone {
        [one, two] => {
            let (pair, least) = apart(own, used(one).min(used(two)));
            let (_, most) = apart(own, used(one).max(used(two)));
            format!("{pair} of the metal in blanks against {least} and {most}")
        }
        _ => format!("{:.1} % of the metal in blanks", own * 100.0),
    };
    match beyond {
        Some((more, part)) => {
            format!("{more:.0} blanks of `{part}` a week are beyond the need; {strip}")
        }
        None => strip,
    }
}

/// Why a pair has no layout on any coil, in the words of the strip.
fn not_laid(shown: &Shown<'_, '_>, (first, second): (usize, usize)) -> String {
    let widths = shown.specs.iter().filter(|spec| {
        spec.sort == shown.cut[first].sort() && shown.cut[first].takes(spec.width_mm)
    });
    let widest = widths.map(|spec| spec.width_mm).fold(0.0, f64::max);
    let place = Place {
        cutting: first,
        width: Some(micrometres(widest)),
        mixed: true,
    };
    let why = match shown.laid.at(&place) {
        Some(Ok(outcome)) => outcome.without.first().map(|none| none.why.clone()),
        _ => None,
    };
    let why = why.unwrap_or_else(|| "no coil is as long as one pitch of both".to_owned());
    format!("beside `{}`: {why}", shown.cut[second].part.part)
}

/// A pair that was asked for and is nowhere among the layouts.
pub(super) fn without_pair(
    shown: &Shown<'_, '_>,
    client: &Client,
    part: usize,
    beside: Option<&Beside>,
) -> Option<Unlaid> {
    let why = match (beside, &shown.cut[part].part.strip_with) {
        (Some(beside), _) if beside.layout.is_none() => beside.why.clone(),
        (None, Some(name)) if client.parts.len() == 1 => {
            format!("`{name}` is named by another part too and lies beside that one")
        }
        _ => return None,
    };
    Some(Unlaid {
        kind: Kind::MixedPair.word().to_owned(),
        why,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_shares_are_told_apart_by_as_many_digits_as_it_takes() {
        assert_eq!(apart(0.7591, 0.8).0, "75.9 %");
        let (one, other) = apart(0.75912, 0.75918);
        assert_eq!((one.as_str(), other.as_str()), ("75.91 %", "75.92 %"));
    }
}
