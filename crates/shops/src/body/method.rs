//! The joining methods as the book and the usual values have them.

use book::{At, Book, JoinMethod, JoinRule, JoinValue, Problem};
use formulas::Sourced;

use super::usual::{FIGURES, LIMITS};
use crate::sheet::{cell, problem};

/// All methods in the order in which tables show them.
pub(super) const ALL: [JoinMethod; 5] = [
    JoinMethod::Adhesive,
    JoinMethod::Rivet,
    JoinMethod::Arc,
    JoinMethod::Spot,
    JoinMethod::TapeSpot,
];

/// A limit with where it comes from.
#[derive(Clone, Debug)]
pub(super) struct Limited {
    pub(super) limit: f64,
    pub(super) source: String,
    /// Its row, where the book has it.
    pub(super) at: Option<At>,
}

/// Limits and figures of a book.
pub(super) struct Methods<'b> {
    book: &'b Book,
}

impl<'b> Methods<'b> {
    pub(super) fn of(book: &'b Book) -> Self {
        Self { book }
    }

    /// The limit of a rule; none where the method knows no such rule.
    pub(super) fn limit(&self, method: JoinMethod, rule: JoinRule) -> Option<Limited> {
        let mut rows = self.book.join_limits.iter();
        if let Some(row) = rows.find(|row| row.method == method && row.rule == rule) {
            return Some(Limited {
                limit: row.limit,
                source: row
                    .source
                    .clone()
                    .unwrap_or_else(|| format!("the book, {}", row.at)),
                at: Some(row.at),
            });
        }
        let usual = LIMITS.iter().find(|row| (row.0, row.1) == (method, rule));
        usual.map(|(.., limit, source)| Limited {
            limit: *limit,
            source: (*source).to_owned(),
            at: None,
        })
    }

    /// The rules that the book limits itself.
    pub(super) fn own_rules(&self) -> impl Iterator<Item = (JoinMethod, JoinRule)> {
        self.book
            .join_limits
            .iter()
            .map(|row| (row.method, row.rule))
    }

    /// A figure; 0 where the method has none.
    pub(super) fn value(&self, method: JoinMethod, value: JoinValue) -> f64 {
        self.sourced(method, value).value
    }

    /// The same with where it comes from.
    pub(super) fn sourced(&self, method: JoinMethod, value: JoinValue) -> Sourced<f64> {
        let mut rows = self.book.join_figures.iter();
        if let Some(row) = rows.find(|row| row.method == method && row.figure == value) {
            return cell(row.value, row.at, "value");
        }
        let usual = FIGURES.iter().find(|row| (row.0, row.1) == (method, value));
        Sourced::usual(usual.map_or(0.0, |row| row.2), "join_figures", value.word())
    }

    /// Figures by which time or use is divided and that are 0.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let divides = |value: JoinValue| {
            use JoinValue as V;
            matches!(
                value,
                V::TurnEvery
                    | V::Speed
                    | V::DressEvery
                    | V::DressesPerCap
                    | V::TapeSpool
                    | V::Refill
                    | V::DieLife
                    | V::Wire
                    | V::WireRatio
                    | V::WireYield
                    | V::WireDensity
                    | V::WireSpool
                    | V::NozzleEvery
                    | V::TipEvery
                    | V::Bead
                    | V::AdhesiveDensity
                    | V::Drum
                    | V::PurgeEvery
            )
        };
        let rows = self.book.join_figures.iter();
        let wrong = rows.filter(|row| divides(row.figure) && row.value <= 0.0);
        let mut problems: Vec<Problem> = wrong
            .map(|row| Problem {
                found: format!("{} for `{}`", row.value, row.figure.word()),
                expected: "a number above 0".into(),
                mend: "write how many, how long or how fast, or drop the row for the usual value"
                    .into(),
                ..problem("out-of-range", row.at, Some("value"))
            })
            .collect();
        let rows = self.book.join_figures.iter();
        let over = rows.filter(|row| row.figure == JoinValue::WireYield && row.value > 1.0);
        problems.extend(over.map(|row| Problem {
            found: format!("{} of the wire in the seam", row.value),
            expected: "a part of the wire, above 0 to 1".into(),
            mend: "write 0.98 for 98 %".into(),
            ..problem("out-of-range", row.at, Some("value"))
        }));
        problems
    }
}

/// The method as tables and sentences name it.
pub(super) fn name(method: JoinMethod) -> &'static str {
    match method {
        JoinMethod::Adhesive => "adhesive",
        JoinMethod::Rivet => "rivet",
        JoinMethod::Arc => "arc seam",
        JoinMethod::Spot => "spot",
        JoinMethod::TapeSpot => "tape spot",
    }
}
