//! Carts, skids and hangers: how many the loop needs at the plan's rate.

use book::{Holds, Severity};
use formulas::Sourced;
use units::{Minutes, Share};

use super::sheet::Sheet;
use super::stations::alone;
use super::{Basis, CarrierPlan, Planned};
use crate::carts;

/// The fleets' plans, in the book's order. What keeps a loop from having a
/// number is a note here, as the rest of the plan stands; the carts' own plan
/// refuses it.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) -> Vec<CarrierPlan> {
    let net = |shop: &str| {
        let hours = basis.shops.get(shop)?;
        Some(hours.net.clone().map(|net| Minutes(net.0 * 60.0)))
    };
    let needs = carts::needs(basis.book, basis.need, &net);
    let loops = shops::carts::loops(basis.book, &needs);
    sheet.adopt(loops.figures);
    for problem in loops.problems {
        sheet.note(book::Problem {
            severity: Severity::Note,
            ..problem
        });
    }
    let one = |row: &shops::carts::CartLoop| {
        let load = row.exact / f64::from(row.count.max(1));
        let share = Sourced::figure(Share(load), row.needed.figure.clone());
        CarrierPlan {
            carrier: row.carrier.clone(),
            at: row.at,
            count: row.count,
            needed: Planned {
                value: row.needed.value,
                from: formulas::Origin::Figure(row.needed.figure.clone()),
            },
            load,
            over: formulas::over(load),
            alone: alone(sheet, basis, &format!("carrier.{}", row.carrier), share),
        }
    };
    loops.loops.iter().map(one).collect()
}

/// Places of a link that count, none where there is no limit.
pub(super) fn places(holds: Holds) -> Option<f64> {
    match holds {
        Holds::Places(places) => Some(f64::from(places)),
        Holds::Unlimited => None,
    }
}
