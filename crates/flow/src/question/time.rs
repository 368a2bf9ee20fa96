//! Distributions of times: `{"exponential": 300}` and its like.

use crate::distribution::Distribution;
use asked::{Cursor, Fields, Json, LONGEST_S, Range, Spot, shown};

const PHASES: Range = Range {
    what: "phases",
    least: 1.0,
    most: 1_000.0,
};

/// A coefficient of variation above this has no place on a shop floor, and its
/// tail would outlast any run.
const VARIATION: Range = Range {
    what: "a coefficient of variation",
    least: 0.0,
    most: 100.0,
};

const SHAPE: Range = Range {
    what: "a shape",
    least: 0.05,
    most: 100.0,
};

const KINDS: [&str; 8] = [
    "fixed",
    "exponential",
    "uniform",
    "triangular",
    "erlang",
    "lognormal",
    "weibull",
    "empirical",
];

/// Whether a time may be zero for every job.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Least {
    Zero,
    AboveZero,
}

/// Reads a distribution.
pub(super) fn read(cursor: &mut Cursor, spot: &Spot<'_>, least: Least) -> Option<Distribution> {
    let fields = cursor.object(spot, &KINDS)?;
    let (kind, value) = only_kind(cursor, spot, &fields)?;
    let scale = match least {
        Least::Zero => &Range::SECONDS,
        Least::AboveZero => &Range::PASSING_SECONDS,
    };
    Some(match kind {
        "fixed" => Distribution::Fixed(cursor.number(&value, scale)?),
        "exponential" => Distribution::Exponential(cursor.number(&value, scale)?),
        "empirical" => empirical(cursor, &value, scale)?,
        "triangular" => {
            let [low, mode, high] =
                numbers(cursor, &value, [&Range::SECONDS, &Range::SECONDS, scale])?;
            ordered(cursor, &value, &[low, mode, high])?;
            Distribution::Triangular(low, mode, high)
        }
        "uniform" => {
            let [low, high] = numbers(cursor, &value, [&Range::SECONDS, scale])?;
            ordered(cursor, &value, &[low, high])?;
            Distribution::Uniform(low, high)
        }
        "erlang" => erlang(cursor, &value, scale)?,
        "lognormal" => {
            let [mean, variation] = numbers(cursor, &value, [scale, &VARIATION])?;
            Distribution::Lognormal(mean, variation)
        }
        _ => {
            let [shape, size] = numbers(cursor, &value, [&SHAPE, scale])?;
            Distribution::Weibull(shape, size)
        }
    })
}

/// The one kind that the object names, and what stands beside it.
fn only_kind<'a>(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    fields: &Fields<'a>,
) -> Option<(&'static str, Spot<'a>)> {
    let mut kinds = KINDS
        .iter()
        .filter_map(|kind| Some((*kind, fields.get(kind)?)));
    match (kinds.next(), kinds.next()) {
        (Some(only), None) => Some(only),
        (None, _) => {
            // An unknown kind has been named already.
            if matches!(spot.value, Json::Object(entries) if entries.is_empty()) {
                cursor.refuse(
                    &spot.path,
                    "{}",
                    "one distribution",
                    "write {\"fixed\": 60}",
                );
            }
            None
        }
        (Some((one, _)), Some((other, _))) => {
            cursor.refuse(
                &spot.path,
                format!("`{one}` and `{other}`"),
                "one distribution",
                format!("leave `{other}` out"),
            );
            None
        }
    }
}

fn erlang(cursor: &mut Cursor, value: &Spot<'_>, scale: &Range) -> Option<Distribution> {
    let [phases, mean] = numbers(cursor, value, [&PHASES, scale])?;
    if phases.fract() != 0.0 {
        cursor.refuse(
            format!("{}[0]", value.path),
            shown(phases),
            "a whole number of phases",
            format!("round it to {}", phases.round()),
        );
        return None;
    }
    Some(Distribution::Erlang(phases as u32, mean))
}

fn numbers<const N: usize>(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    ranges: [&Range; N],
) -> Option<[f64; N]> {
    let items = cursor.list(spot);
    if items.len() != N {
        if matches!(spot.value, Json::List(_)) {
            let whats: Vec<&str> = ranges.iter().map(|range| range.what).collect();
            cursor.refuse(
                &spot.path,
                format!("{} numbers", items.len()),
                format!("{N} numbers: {}", whats.join(", ")),
                format!("write {N} numbers"),
            );
        }
        return None;
    }
    let mut read = [0.0; N];
    let mut sound = true;
    for ((item, range), place) in items.iter().zip(ranges).zip(&mut read) {
        match cursor.number(item, range) {
            Some(number) => *place = number,
            None => sound = false,
        }
    }
    sound.then_some(read)
}

fn ordered(cursor: &mut Cursor, spot: &Spot<'_>, values: &[f64]) -> Option<()> {
    let slip = values.windows(2).position(|pair| pair[0] > pair[1]);
    let Some(at) = slip else {
        return Some(());
    };
    cursor.refuse(
        format!("{}[{}]", spot.path, at + 1),
        shown(values[at + 1]),
        format!("no less than the {} before it", shown(values[at])),
        "put the numbers in rising order",
    );
    None
}

fn empirical(cursor: &mut Cursor, spot: &Spot<'_>, scale: &Range) -> Option<Distribution> {
    let items = cursor.list(spot);
    if items.is_empty() {
        if matches!(spot.value, Json::List(_)) {
            cursor.refuse(&spot.path, "[]", "at least one time", "write [60]");
        }
        return None;
    }
    let before = cursor.problems.len();
    let values: Vec<f64> = items
        .iter()
        .filter_map(|item| cursor.number(item, &Range::SECONDS))
        .collect();
    if cursor.problems.len() > before {
        return None;
    }
    let most = values.iter().copied().fold(0.0, f64::max);
    if most < scale.least {
        cursor.refuse(
            &spot.path,
            "times of zero only",
            format!("a time above zero, up to {}", shown(LONGEST_S)),
            "add a time above zero",
        );
        return None;
    }
    Some(Distribution::Empirical(values))
}
