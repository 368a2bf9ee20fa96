//! Cars a week against the carriers of a fleet, by paired runs.

use book::Book;
use flow::Watch;
use flow::statistics::Interval;
use shops::carts::CartLoop;

use super::model::{Curve, CurvePoint};
use super::trial::{Terms, Trials};
use crate::findings::measure::Stopped;
use crate::network::Built;

/// Steps past the knee that are tried while one more still gains.
const STEPS_ON: u32 = 4;

/// The curve of one fleet. Tried are few, about needed, there are and more,
/// then whatever finds the number from which one more gives nothing.
pub(super) fn curve(
    book: &Book,
    built: &Built,
    fleet: &CartLoop,
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<Option<Curve>, Stopped> {
    let rows = book.carriers.iter();
    let Some(row) = rows.clone().find(|row| row.at == fleet.at) else {
        return Ok(None);
    };
    let Some(position) = built.fleets.iter().position(|at| *at == fleet.at) else {
        return Ok(None);
    };
    let variant = |count: u32| {
        let mut network = built.network.clone();
        let serving = fleet.in_service(row, count);
        network.fleets[position].count = serving.carriers;
        network.fleets[position].return_s = serving.return_s;
        network
    };
    let mut trials = Trials::of(terms, fleet.count, &variant, watch);
    let needed = fleet.needed.value as u32;
    for count in first(fleet.count, needed) {
        trials.at(count)?;
    }
    let enough = enough(&mut trials)?;
    told(fleet, needed, &mut trials, enough).map(Some)
}

/// The numbers tried before any is known. Where there are a quarter more than
/// needed, those show what plenty gives.
fn first(count: u32, needed: u32) -> Vec<u32> {
    let share = |part: f64| ((f64::from(needed) * part).round() as u32).max(1);
    let mut tried = vec![share(0.5), share(0.8), needed];
    if count < share(1.25) {
        tried.push(share(1.25).max(count + 2));
    }
    tried.sort_unstable();
    tried.dedup();
    tried
}

/// The fewest from which one more gives nothing, nor all further ones.
fn enough(trials: &mut Trials<'_>) -> Result<Option<u32>, Stopped> {
    let Some(best) = trials.best() else {
        return Ok(None);
    };
    let most = trials.seen.keys().next_back().copied();
    let below: Vec<u32> = trials.seen.keys().copied().filter(|n| *n < best).collect();
    let mut low = 0;
    let mut high = best;
    for number in below.into_iter().rev() {
        if trials.better(best, number)? {
            low = number;
            break;
        }
        high = number;
    }
    // mostly a little above what is needed: strides from there, each twice the
    // one before, spare half the halvings of a wide range
    let mut stride = (low / 16).max(2);
    while low > 0 && low + stride < high {
        if trials.better(best, low + stride)? {
            low += stride;
            stride *= 2;
        } else {
            high = low + stride;
        }
    }
    let mut knee = trials.knee(low, high, best)?;
    for _ in 0..STEPS_ON {
        if !trials.better(knee + 1, knee)? {
            return Ok(Some(knee));
        }
        knee += 1;
    }
    // still rising at the most tried: more than was tried would be needed
    Ok((Some(knee) < most).then_some(knee))
}

fn told(
    fleet: &CartLoop,
    needed: u32,
    trials: &mut Trials<'_>,
    enough: Option<u32>,
) -> Result<Curve, Stopped> {
    let count = fleet.count;
    let one_more = match enough {
        Some(enough) => Some(trials.gain(enough + 1, enough)?),
        None => None,
    };
    let against_count = match enough {
        Some(enough) => Some(trials.gain(enough, count)?),
        None => None,
    };
    let best = trials.best().unwrap_or(count);
    let loses = trials.better(best, count)?;
    let numbers: Vec<u32> = trials.seen.keys().copied().collect();
    let mut points = Vec::with_capacity(numbers.len());
    for carriers in numbers {
        let below_best = trials.gain(best, carriers)?;
        let terms = trials.terms;
        let seen = trials.at(carriers)?;
        points.push(CurvePoint {
            carriers,
            in_service: ((f64::from(carriers) * fleet.fit).floor() as u32).max(1),
            cars: Interval::of(&seen.cars, terms.level),
            below_best,
            shown: terms.shows(below_best),
            locked: seen.locked,
        });
    }
    Ok(Curve {
        carrier: fleet.carrier.clone(),
        at: fleet.at,
        count,
        needed,
        enough,
        one_more,
        against_count,
        loses,
        points,
    })
}
