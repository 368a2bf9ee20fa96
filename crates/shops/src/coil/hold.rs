//! Which coil specifications to hold: widths thought of, what each part costs
//! on each, and the cheapest choice.

use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;

use book::{At, Book, Problem, Severity, Table};
use formulas::coil::SpecificationCost;
use formulas::{Figure, MoneyPerHour, MoneyPerKilogram, Refusal, coil};
use units::{Count, Kilograms, Share as Part};

use super::clients::{Client, Share, serve};
use super::cutting::{Cutting, Sort};
use super::figures::{Figures, cell, setting};
use super::lay::{Laid, Place, micrometres};
use super::model::{ByNumber, Held, Holding, YearlyCost};
use super::price::Spec;
use super::{NoPlan, choose, parts};

/// What the choice reads.
pub(super) struct Basis<'a, 'b> {
    pub(super) book: &'a Book,
    pub(super) cut: &'b [Cutting<'a>],
    pub(super) laid: &'b Laid,
    pub(super) clients: &'b [Client],
    /// Those of the book first.
    pub(super) specs: &'b [Spec<'a>],
}

/// The sorts that are cut, in the order of the parts.
pub(super) fn sorts(cut: &[Cutting<'_>]) -> Vec<Sort> {
    let mut sorts: Vec<Sort> = Vec::new();
    for cutting in cut {
        let sort = cutting.sort();
        if !sorts.contains(&sort) {
            sorts.push(sort);
        }
    }
    sorts
}

/// Widths worth thinking of beside the book's: what the free layouts need,
/// rounded up to the widths that can be had.
pub(super) fn thought_of<'a>(
    book: &Book,
    cut: &[Cutting<'_>],
    laid: &Laid,
    own: &[Spec<'a>],
) -> Vec<Spec<'a>> {
    let step = book.plant.coil_width_step_mm.value.0;
    let mut more = Vec::new();
    if step <= 0.0 {
        return more;
    }
    let heaviest = own.iter().map(|spec| spec.mass_kg).fold(0.0, f64::max);
    for sort in sorts(cut) {
        let held: Vec<&Spec<'a>> = own.iter().filter(|spec| spec.sort == sort).collect();
        let known: BTreeSet<i64> = held.iter().map(|spec| micrometres(spec.width_mm)).collect();
        let mut widths: BTreeSet<i64> = BTreeSet::new();
        for (i, cutting) in cut.iter().enumerate().filter(|(_, c)| c.sort() == sort) {
            let place = Place {
                cutting: i,
                width: None,
                mixed: false,
            };
            let Some(Ok(outcome)) = laid.at(&place) else {
                continue;
            };
            for layout in &outcome.layouts {
                let width = (layout.needed_width_mm / step - 1e-9).ceil() * step;
                if cutting.takes(width) {
                    widths.insert(micrometres(width));
                }
            }
        }
        let like = held
            .iter()
            .max_by(|one, other| per_width(one).total_cmp(&per_width(other)));
        let Some(like) = like else {
            continue;
        };
        more.extend(widths.difference(&known).map(|width| {
            let width_mm = *width as f64 * 1e-3;
            Spec {
                name: name(&like.sort.0, like.gauge_mm, width_mm),
                row: None,
                width_mm,
                // As large as the largest of its sort, no heavier than the crane
                // lifts today.
                mass_kg: (per_width(like) * width_mm).min(heaviest),
                ..(*like).clone()
            }
        }));
    }
    more
}

fn per_width(spec: &Spec<'_>) -> f64 {
    spec.mass_kg / spec.width_mm
}

/// A name as the trade writes it: alloy, gauge by width.
fn name(material: &str, gauge_mm: f64, width_mm: f64) -> String {
    let tenths = (gauge_mm * 10.0).round() / 10.0;
    if (tenths - gauge_mm).abs() < 1e-9 {
        format!("{material} {gauge_mm:.1}x{width_mm}")
    } else {
        format!("{material} {gauge_mm}x{width_mm}")
    }
}

/// What holding a specification costs a year.
fn cost_of_holding(
    basis: &Basis<'_, '_>,
    spec: &Spec<'_>,
) -> Option<Result<Figure<SpecificationCost>, Refusal>> {
    let of_sort: Vec<&Cutting<'_>> = basis.cut.iter().filter(|c| c.sort() == spec.sort).collect();
    let first = of_sort.first()?;
    let plant = &basis.book.plant;
    // Each round of a part's lots mounts the coil once; parts of a sort run in
    // rounds of about the same length.
    let lots = |cutting: &&Cutting<'_>| {
        let lot = cutting
            .part
            .blank_lot
            .or(cutting.part.lot)
            .map_or(0.0, f64::from);
        if lot > 0.0 { cutting.mean() / lot } else { 5.0 }
    };
    let rounds = of_sort.iter().map(lots).sum::<f64>() / of_sort.len() as f64;
    Some(coil::specification_cost(
        spec.sourced(Kilograms(spec.mass_kg), "mass_kg"),
        cell(
            MoneyPerKilogram(first.price),
            first.material.at,
            "price_per_kg",
        ),
        setting::<Part>(&plant.stock_cost_share, "stock_cost_share"),
        Count(rounds * plant.weeks_per_year.value),
        cell(first.line.coil_change_min, first.line.at, "coil_change_min"),
        setting(
            &plant.coil_change_cost_per_hour,
            "coil_change_cost_per_hour",
        )
        .map(|cost| MoneyPerHour(cost.0)),
    ))
}

/// What the clients' shares cost a year on a coil: metal, and the changes as
/// coils are used up.
struct OnCoil {
    shares: Vec<Share>,
    metal: f64,
    changes: f64,
}

fn on_coil(basis: &Basis<'_, '_>, client: &Client, spec: &Spec<'_>) -> Option<OnCoil> {
    let shares = serve(basis.cut, basis.laid, client, spec)?;
    let plant = &basis.book.plant;
    let weeks = plant.weeks_per_year.value;
    let change = plant.coil_change_cost_per_hour.value.0;
    let changes = shares
        .iter()
        .map(|share| share.coils() * basis.cut[share.part].line.coil_change_min.0 / 60.0)
        .sum::<f64>();
    Some(OnCoil {
        metal: parts::yearly(&shares, weeks),
        changes: changes * change * weeks,
        shares,
    })
}

/// The choice, and for each part the coil to cut it from.
pub(super) fn choose(
    figures: &mut Figures,
    basis: &Basis<'_, '_>,
    now: &[(usize, Share)],
    cancel: &AtomicBool,
) -> Result<(Holding, Vec<String>), NoPlan> {
    let at_most = basis.book.plant.coil_specifications.value;
    let sorts = sorts(basis.cut);
    let tables: Vec<SortTable> = sorts.iter().map(|sort| table(basis, sort)).collect();
    let problems: Vec<choose::Sort> = tables.iter().map(|table| table.problem.clone()).collect();
    let Some(choice) = choose::choose(&problems, at_most as usize, cancel) else {
        if cancel.load(std::sync::atomic::Ordering::Relaxed) {
            return Err(NoPlan::Cancelled);
        }
        return Err(NoPlan::Problems(vec![too_few(basis, &problems, cancel)]));
    };
    let mut to_cut_from = vec![String::new(); basis.cut.len()];
    let mut chosen = Vec::new();
    let mut then = YearlyCost::default();
    for (table, widths) in tables.iter().zip(&choice.widths) {
        chosen.extend(held(
            figures,
            basis,
            table,
            widths,
            &mut then,
            &mut to_cut_from,
        ));
    }
    then.specifications = chosen.len() as u32;
    let dropped = basis.specs.iter().filter(|spec| spec.row.is_some());
    let dropped = dropped.filter(|spec| !chosen.iter().any(|held: &Held| held.coil == spec.name));
    let holding = Holding {
        at_most,
        fewest: choice.fewest as u32,
        now: as_things_are(basis, now),
        then,
        bound: choice.bound,
        gap: ((choice.cost - choice.bound) / choice.bound.max(1e-9)).max(0.0),
        by_number: choice
            .by_number
            .iter()
            .map(|(number, cost)| ByNumber {
                specifications: *number as u32,
                cost: *cost,
            })
            .collect(),
        candidates: tables.iter().map(|table| table.specs.len() as u32).sum(),
        dropped: dropped.map(|spec| spec.name.clone()).collect(),
        chosen,
    };
    Ok((holding, to_cut_from))
}

/// What the cheapest choice costs a year, as far as blanks are laid, and the coil of
/// each part's share in it; none where no choice that is allowed covers all parts.
pub(super) fn cheapest(
    basis: &Basis<'_, '_>,
    cancel: &AtomicBool,
) -> Option<(f64, Vec<(usize, Share)>)> {
    let at_most = basis.book.plant.coil_specifications.value;
    let sorts = sorts(basis.cut);
    let tables: Vec<SortTable> = sorts.iter().map(|sort| table(basis, sort)).collect();
    let problems: Vec<choose::Sort> = tables.iter().map(|table| table.problem.clone()).collect();
    let choice = choose::choose(&problems, at_most as usize, cancel)?;
    let mut used = Vec::new();
    for (table, widths) in tables.iter().zip(&choice.widths) {
        for (client, costs) in table.clients.iter().zip(&table.problem.cost) {
            let best = widths
                .iter()
                .min_by(|a, b| costs[**a].total_cmp(&costs[**b]))?;
            let spec = table.specs[*best];
            let on = on_coil(basis, &basis.clients[*client], &basis.specs[spec])?;
            used.extend(on.shares.into_iter().map(|share| (spec, share)));
        }
    }
    Some((choice.cost, used))
}

/// The widths and clients of a sort, and what they cost.
struct SortTable {
    /// By their places among all, widths rising.
    specs: Vec<usize>,
    clients: Vec<usize>,
    problem: choose::Sort,
}

fn table(basis: &Basis<'_, '_>, sort: &Sort) -> SortTable {
    let mut specs: Vec<usize> = (0..basis.specs.len())
        .filter(|s| basis.specs[*s].sort == *sort)
        .collect();
    specs.sort_by(|a, b| {
        basis.specs[*a]
            .width_mm
            .total_cmp(&basis.specs[*b].width_mm)
    });
    let clients: Vec<usize> = (0..basis.clients.len())
        .filter(|c| basis.cut[basis.clients[*c].parts[0]].sort() == *sort)
        .collect();
    let fixed = specs.iter().map(|s| {
        let cost = cost_of_holding(basis, &basis.specs[*s]).and_then(Result::ok);
        cost.map_or(0.0, |cost| cost.value.cost.0)
    });
    let row = |client: &usize| {
        let on = |s: &usize| on_coil(basis, &basis.clients[*client], &basis.specs[*s]);
        let costs = specs.iter().map(on);
        costs
            .map(|on| on.map_or(f64::INFINITY, |on| on.metal + on.changes))
            .collect()
    };
    let problem = choose::Sort {
        fixed: fixed.collect(),
        cost: clients.iter().map(row).collect(),
    };
    SortTable {
        specs,
        clients,
        problem,
    }
}

/// The chosen widths of a sort with their parts.
fn held(
    figures: &mut Figures,
    basis: &Basis<'_, '_>,
    table: &SortTable,
    widths: &[usize],
    then: &mut YearlyCost,
    to_cut_from: &mut [String],
) -> Vec<Held> {
    let mut chosen: Vec<Held> = Vec::new();
    for width in widths {
        let spec = &basis.specs[table.specs[*width]];
        let id = format!("hold.{}", spec.name);
        let place = spec.row.map_or(At::default(), |row| row.at);
        let cost = cost_of_holding(basis, spec).and_then(|made| {
            figures.add(
                &id,
                format!("yearly cost of holding {}", spec.name),
                place,
                made,
            )
        });
        let (stock, changes) = cost.map_or((0.0, 0.0), |cost| (cost.stock.0, cost.changes.0));
        then.add(0.0, stock, changes);
        let mut held = Held {
            coil: spec.name.clone(),
            material: spec.sort.0.clone(),
            gauge_mm: spec.gauge_mm,
            width_mm: spec.width_mm,
            mass_kg: spec.mass_kg,
            in_book: spec.row.is_some(),
            parts: Vec::new(),
            coils_a_week: 0.0,
            cost: stock + changes,
            figure: id,
        };
        for (row, client) in table.clients.iter().enumerate() {
            let costs = &table.problem.cost[row];
            let best = widths
                .iter()
                .min_by(|a, b| costs[**a].total_cmp(&costs[**b]));
            if best != Some(width) {
                continue;
            }
            let Some(on) = on_coil(basis, &basis.clients[*client], spec) else {
                continue;
            };
            then.add(on.metal, 0.0, on.changes);
            for share in &on.shares {
                held.parts.push(basis.cut[share.part].part.part.clone());
                held.coils_a_week += share.coils();
                to_cut_from[share.part].clone_from(&spec.name);
            }
        }
        chosen.push(held);
    }
    chosen
}

impl YearlyCost {
    fn add(&mut self, metal: f64, stock: f64, changes: f64) {
        self.metal += metal;
        self.stock += stock;
        self.changes += changes;
        self.all += metal + stock + changes;
    }
}

/// What the coils of the book cost a year, each part on its cheapest.
pub(super) fn as_things_are(basis: &Basis<'_, '_>, now: &[(usize, Share)]) -> YearlyCost {
    let mut cost = YearlyCost::default();
    let plant = &basis.book.plant;
    let weeks = plant.weeks_per_year.value;
    for (_, share) in now {
        let minutes = share.coils() * basis.cut[share.part].line.coil_change_min.0;
        let changes = minutes / 60.0 * plant.coil_change_cost_per_hour.value.0 * weeks;
        cost.add(share.cost() * weeks, 0.0, changes);
    }
    let used: BTreeSet<usize> = now.iter().map(|(spec, _)| *spec).collect();
    for spec in &used {
        if let Some(Ok(held)) = cost_of_holding(basis, &basis.specs[*spec]) {
            cost.add(0.0, held.value.stock.0, held.value.changes.0);
        }
    }
    cost.specifications = used.len() as u32;
    cost
}

/// Fewer specifications allowed than cover all parts.
fn too_few(basis: &Basis<'_, '_>, problems: &[choose::Sort], cancel: &AtomicBool) -> Problem {
    let setting = &basis.book.plant.coil_specifications;
    let fewest = choose::choose(problems, usize::MAX >> 1, cancel).map(|choice| choice.fewest);
    Problem {
        code: "plant/coil-specifications".to_owned(),
        severity: Severity::Error,
        table: Table::Plant.name().to_owned(),
        row: setting.at.map(|at| at.row),
        column: Some("value".to_owned()),
        found: format!("{} coil specifications", setting.value),
        expected: "as many as cover all parts".to_owned(),
        mend: match fewest {
            Some(fewest) => format!("allow {fewest} or more"),
            None => "allow more".to_owned(),
        },
        nearest: None,
    }
}
