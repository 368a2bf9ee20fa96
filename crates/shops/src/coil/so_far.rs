//! The cheapest way found so far to have the blanks cut, told while they are laid on
//! further widths.

use std::sync::atomic::AtomicBool;

use units::SoFar;

use super::clients::{self, Share};
use super::hold::{self, Basis};
use super::parts::Shown;
use super::supply;

/// A way to have all blanks cut.
pub(super) struct Way {
    /// What coils, their changes and their stock cost a year.
    cost: f64,
    pub(super) told: Vec<SoFar>,
}

impl Way {
    /// The cheaper of two, the one before where they cost the same.
    pub(super) fn cheaper(before: Option<Self>, now: Option<Self>) -> Option<Self> {
        match (before, now) {
            (Some(before), Some(now)) if now.cost < before.cost => Some(now),
            (before, now) => before.or(now),
        }
    }

    fn of(basis: &Basis<'_, '_>, cost: f64, used: &[(usize, Share)]) -> Self {
        let shown = Shown {
            book: basis.book,
            cut: basis.cut,
            laid: basis.laid,
            specs: basis.specs,
        };
        let metal = supply::metal(&shown, used);
        let currency = &basis.book.plant.currency.value;
        let lost = 100.0 * (1.0 - metal.utilisation);
        Self {
            cost,
            told: vec![
                SoFar::new(format!("{currency} a year for coils"), cost, 0.0),
                SoFar::new("t of coil a week", metal.bought_kg / 1e3, 0.0),
                SoFar::new("% of it not in blanks", lost, 0.0),
            ],
        }
    }
}

/// Each part from the cheapest of the coils given; none while a part lies on none.
pub(super) fn as_they_are(basis: &Basis<'_, '_>) -> Option<Way> {
    let mut used: Vec<(usize, Share)> = Vec::new();
    for client in clients::clients(basis.cut, basis.laid, basis.specs) {
        let (spec, shares) = clients::best(basis.cut, basis.laid, &client, basis.specs)?;
        used.extend(shares.into_iter().map(|share| (spec, share)));
    }
    let cost = hold::as_things_are(basis, &used).all;
    (!used.is_empty()).then(|| Way::of(basis, cost, &used))
}

/// The best choice among the coils given, as far as blanks lie on them; none where no
/// choice that is allowed covers all parts yet.
pub(super) fn chosen(basis: &Basis<'_, '_>, cancel: &AtomicBool) -> Option<Way> {
    let (cost, used) = hold::cheapest(basis, cancel)?;
    Some(Way::of(basis, cost, &used))
}
