//! The workings of the plan's figures as rows.

use formulas::{Origin, Term, Working};
use whole::plan::Figure;

/// A figure with its working in words.
pub(super) struct Worked<'f> {
    pub(super) figure: &'f Figure,
    /// `demand = 200 (products, row 2, cars_per_week); ...`
    pub(super) inputs: String,
    /// `takt = 264 s; ...`
    pub(super) results: String,
}

/// Puts a figure's working into words.
pub(super) fn worked(figure: &Figure) -> Worked<'_> {
    let Working {
        inputs, results, ..
    } = &figure.working;
    let listed = |terms: &[Term]| {
        let words: Vec<String> = terms.iter().map(term).collect();
        words.join("; ")
    };
    Worked {
        figure,
        inputs: listed(inputs),
        results: listed(results),
    }
}

fn term(term: &Term) -> String {
    match &term.from {
        Some(origin) => format!("{term} ({})", place(origin)),
        None => term.to_string(),
    }
}

/// A list from hundreds of places is named by its first and their number; the
/// page and the command line name them all.
fn place(origin: &Origin) -> String {
    const NAMED: usize = 3;
    match origin {
        Origin::Several(places) if places.len() > NAMED => {
            let named: Vec<String> = places.iter().take(NAMED).map(place).collect();
            format!("{}; and {} more", named.join("; "), places.len() - NAMED)
        }
        other => other.to_string(),
    }
}
