use crate::formula::Formula;
use crate::refusal::{Fault, Refusal};
use crate::working::Working;
use crate::{
    calendar, cascade, coil, cost, fleet, guarding, joining, kpi, lifting, load, money, paint,
    press, rate_plan, reliability, stock, work_time,
};

/// The shops' sheets in the order of the handbook.
static SHEETS: &[&[&Formula]] = &[
    calendar::SHEET,
    cascade::SHEET,
    load::SHEET,
    rate_plan::SHEET,
    kpi::SHEET,
    reliability::SHEET,
    stock::SHEET,
    coil::SHEET,
    press::SHEET,
    joining::SHEET,
    paint::SHEET,
    fleet::SHEET,
    work_time::SHEET,
    lifting::SHEET,
    guarding::SHEET,
    money::SHEET,
    cost::SHEET,
];

/// All formulas, in the order of the handbook.
pub fn all() -> impl Iterator<Item = &'static Formula> + Clone {
    SHEETS.iter().flat_map(|sheet| sheet.iter().copied())
}

/// The formula of this name; case and `_` for `-` do not matter.
///
/// ```
/// let refusal = formulas::find("takd").unwrap_err();
/// assert_eq!(refusal.to_string(), "takd: no formula has this name, the nearest is `takt`");
/// ```
///
/// # Errors
/// When there is none, with the nearest name there is.
pub fn find(name: &str) -> Result<&'static Formula, Refusal> {
    let plain = name.trim().replace('_', "-").to_lowercase();
    all()
        .find(|formula| formula.name == plain)
        .ok_or_else(|| Refusal {
            formula: name.to_owned(),
            faults: vec![Fault::UnknownFormula {
                nearest: nearest(&plain, all().map(|formula| formula.name)),
            }],
        })
}

/// Computes a formula from pairs of text with units.
///
/// ```
/// let working = formulas::compute(
///     "mixed-load",
///     &[("mix", "0.6;0.3;0.1"), ("station_times", "200;240;300 s"), ("takt", "237.6 s")],
/// )?;
/// assert_eq!(working.result("weighted"), Some(222.0));
/// # Ok::<(), formulas::Refusal>(())
/// ```
///
/// # Errors
/// When no formula has the name, or with everything wrong with the pairs.
pub fn compute(name: &str, pairs: &[(&str, &str)]) -> Result<Working, Refusal> {
    find(name)?.compute(pairs)
}

/// The candidate that one slip of the hand explains, else the longest that
/// contains the text or stands in it, else the nearest within a third of the
/// letters.
pub(crate) fn nearest(
    text: &str,
    candidates: impl Iterator<Item = &'static str> + Clone,
) -> Option<&'static str> {
    let text = text.to_lowercase();
    let near = units::nearest(&text, candidates.clone());
    if let Some(slip) = near.filter(|name| units::slips(&text, name) <= 1) {
        return Some(slip);
    }
    let kin = |name: &&str| {
        (text.len() > 2 && name.contains(&text)) || (name.len() > 2 && text.contains(*name))
    };
    candidates
        .filter(kin)
        .max_by_key(|name| name.len())
        .or(near)
}
