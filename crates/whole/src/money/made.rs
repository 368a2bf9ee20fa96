//! What making a part costs: its metal and its time on the lines.

use std::collections::BTreeMap;

use book::{Part, PartSource};
use formulas::{MoneyPerHour, Sourced, cost};
use units::{Count, Hours, Money, PerWeek};

use super::Basis;
use super::model::Freed;
use super::pieces::{self, Piece};
use super::yearly::{self, Machine, Place};
use crate::plan::sheet::{Made, Sheet, cell, setting};

/// A part made in the plant.
pub(super) struct PartMade {
    /// Cost of a good piece, the lines' people and capital included.
    pub(super) cost: Made<Money>,
    /// Of it what is not spent when it is bought.
    pub(super) saved: f64,
    /// The hours it takes on its lines.
    pub(super) hours: Vec<Freed>,
    /// Days that blank and panel lie at most.
    pub(super) days: f64,
    /// Good pieces a week.
    pub(super) pieces: f64,
}

/// An hour of a line: all of it, and of it energy.
struct LineHour {
    hour: Made<MoneyPerHour>,
    energy: f64,
}

/// Each part that is made and whose metal has a price, by its place in the book.
pub(super) fn parts(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    pieces: &[Piece],
    machines: &[Machine],
) -> BTreeMap<usize, PartMade> {
    let hours = line_hours(sheet, basis, machines);
    let constraint = super::lost::weakest(basis);
    let constraint = constraint.map(|weakest| weakest.place);
    let mut made = BTreeMap::new();
    for (p, part) in basis.book.parts.iter().enumerate() {
        let is_metal =
            |piece: &&Piece| piece.kind == super::CostKind::Metal && piece.name == part.part;
        let metal = pieces.iter().find(is_metal);
        if let (PartSource::Made, Some(metal)) = (part.source, metal) {
            let one = one(
                sheet,
                basis,
                (p, part),
                metal,
                &hours,
                constraint.as_deref(),
            );
            made.extend(one.map(|one| (p, one)));
        }
    }
    made
}

fn one(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    (p, part): (usize, &Part),
    metal: &Piece,
    hours: &BTreeMap<usize, LineHour>,
    constraint: Option<&str>,
) -> Option<PartMade> {
    let good = basis.need.parts[p].good;
    if good <= 0.0 {
        return None;
    }
    let metal_cost = Sourced::figure(metal.price.value, pieces::metal_figure(&part.part));
    let mut summed = vec![metal_cost];
    let mut saved = metal.price.value.0;
    let (mut freed, mut days) = (Vec::new(), 0.0);
    for (l, line) in basis.plan.press_lines.iter().enumerate() {
        let lots: f64 = line.runs.iter().map(|run| run.lots.value).sum();
        for run in line.runs.iter().filter(|run| run.part == part.part) {
            let change = if lots > 0.0 {
                line.changing_h.value * run.lots.value / lots
            } else {
                0.0
            };
            days += run.worst_age_days.value;
            let used = run.run_h.value + change;
            freed.push(Freed {
                place: line.press_line.clone(),
                hours: used,
                load: line.load.value,
                constraint: constraint == Some(line.press_line.as_str()),
            });
            let Some(hour) = hours.get(&l) else {
                continue;
            };
            saved += used * hour.energy / good;
            let work = if run.blanks { "cutting" } else { "pressing" };
            let made = cost::line_hours_cost(
                Sourced::new(Hours(run.run_h.value), run.run_h.from.clone()),
                Sourced::new(Hours(change), line.changing_h.from.clone()),
                hour.hour.part(|hour| *hour),
                cell(PerWeek(good), part.at, "per_car"),
            );
            let id = format!("{work}.{}", part.part);
            let title = format!("{work} of {}", part.part);
            let made = sheet.add(id, title, Some(part.at), made)?;
            summed.push(made.part(|cost| *cost));
        }
    }
    let title = format!("making {}", part.part);
    let id = format!("make.{}", part.part);
    let cost = sheet.add(id, title, Some(part.at), cost::money_sum(summed))?;
    Some(PartMade {
        cost,
        saved,
        hours: freed,
        days,
        pieces: good,
    })
}

/// What an hour of each line costs over the hours in which it is used.
fn line_hours(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    machines: &[Machine],
) -> BTreeMap<usize, LineHour> {
    let mut hours = BTreeMap::new();
    for (l, row) in basis.book.press_lines.iter().enumerate() {
        let name = &row.press_line;
        let own: Vec<&Machine> = machines
            .iter()
            .filter(|machine| machine.place == Place::Line(l))
            .collect();
        let id = |what: &str| format!("line.{name}.{what}");
        let energy = yearly::energy(sheet, basis, id("energy"), name, &row.shop, &own);
        let energy_cost = energy.as_ref().map_or(0.0, |made| made.value.0);
        let mut yearly: Vec<Made<Money>> = energy.into_iter().collect();
        yearly.extend(yearly::upkeep(sheet, id("upkeep"), name, &own));
        yearly.extend(yearly::capital(sheet, basis, id("capital"), name, &own));
        yearly.extend(people(sheet, basis, l));
        let planned = &basis.plan.press_lines[l];
        let running: f64 = planned.runs.iter().map(|run| run.run_h.value).sum();
        let used = running + planned.changing_h.value;
        if yearly.is_empty() || used <= 0.0 {
            continue;
        }
        let parts: Vec<_> = yearly.iter().map(|made| made.part(|cost| *cost)).collect();
        let title = format!("{name} a year");
        let year = sheet.add(id("year"), title, Some(row.at), cost::money_sum(parts));
        let weeks = setting(&basis.book.plant.weeks_per_year, "weeks_per_year").map(Count);
        let Some(year) = year else {
            continue;
        };
        let made = cost::line_hour(
            year.part(|cost| *cost),
            Sourced::new(Hours(used), planned.load.from.clone()),
            weeks.clone(),
        );
        let title = format!("a used hour of {name}");
        if let Some(hour) = sheet.add(id("hour"), title, Some(row.at), made) {
            let energy = energy_cost / (used * weeks.value.0);
            hours.insert(l, LineHour { hour, energy });
        }
    }
    hours
}

fn people(sheet: &mut Sheet, basis: &Basis<'_>, line: usize) -> Option<Made<Money>> {
    let row = &basis.book.press_lines[line];
    let heads = row.heads.filter(|heads| *heads > 0.0)?;
    let positions = cell(Count(heads * f64::from(row.units)), row.at, "heads");
    let name = &row.press_line;
    let id = format!("line.{name}.people");
    let heads = yearly::heads_of(sheet, basis, &id, name, &row.shop, vec![positions])?;
    let title = format!("people of {name} a year");
    let exact = heads.part(|heads| heads.exact);
    yearly::cost_of_heads(sheet, basis, (id, title), &row.shop, exact)
}
