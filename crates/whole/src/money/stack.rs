//! The cost of a car, stacked from its kinds in its shops.

use book::Problem;
use formulas::{Sourced, cost};
use shops::carts::ShopValue;
use units::{Count, Money};

use super::model::{CostItem, CostKind, KindCost, ProductCost, ShopCost};
use super::pieces::Piece;
use super::yearly::{self, Machine};
use super::{Basis, PLANT};
use crate::findings::Answer;
use crate::plan::sheet::{Made, Sheet, cell};

/// The cost of a car by shop, kind and product.
pub(super) struct Stack {
    pub(super) total: ShopValue,
    pub(super) variable: ShopValue,
    /// What the yearly costs come to for a planned car.
    pub(super) fixed: Option<Made<Money>>,
    pub(super) shops: Vec<ShopCost>,
    pub(super) kinds: Vec<KindCost>,
    pub(super) products: Vec<ProductCost>,
}

/// An item with its typed figure.
struct Item {
    kind: CostKind,
    made: Made<Money>,
    by_product: Vec<f64>,
}

/// Stacks everything.
pub(super) fn build(
    sheet: &mut Sheet,
    basis: &mut Basis<'_>,
    pieces: &[Piece],
    machines: &[Machine],
) -> Result<Stack, Vec<Problem>> {
    let mut stacked = Vec::new();
    let mut names = crate::calendar::shops(basis.book);
    names.push(PLANT.to_owned());
    for shop in &names {
        let mut items = taken(sheet, basis, shop, pieces);
        if shop == PLANT {
            items.extend(overhead(sheet, basis));
        } else {
            yearly::lacking_stations(basis, shop);
            items.extend(kept(sheet, basis, shop, machines));
        }
        items.sort_by_key(|item| item.kind);
        if !items.is_empty() {
            stacked.push((shop.clone(), items));
        }
    }
    let variable = variable(sheet, &stacked);
    let fixed = fixed(sheet, &stacked);
    let shops: Vec<(Made<Money>, ShopCost)> = stacked
        .iter()
        .filter_map(|(shop, items)| shop_cost(sheet, shop, items))
        .collect();
    let parts: Vec<Sourced<Money>> = shops.iter().map(|(made, _)| made.part(|m| *m)).collect();
    let total = sheet.add("cost.car", "cost of a car", None, cost::money_sum(parts));
    let (Some(total), Some(variable)) = (total, variable) else {
        // Nothing was summed: the sheet holds why.
        return Ok(Stack {
            total: nothing(),
            variable: nothing(),
            fixed: None,
            shops: Vec::new(),
            kinds: Vec::new(),
            products: Vec::new(),
        });
    };
    let products = products(basis, &stacked);
    Ok(Stack {
        kinds: kinds(&stacked, total.value.0),
        total: total.told(|money| money.0),
        variable: variable.told(|money| money.0),
        fixed,
        shops: shops.into_iter().map(|(_, shop)| shop).collect(),
        products,
    })
}

fn nothing() -> ShopValue {
    ShopValue {
        value: 0.0,
        figure: String::new(),
    }
}

/// What cars take in a shop, a kind at a time.
fn taken(sheet: &mut Sheet, basis: &Basis<'_>, shop: &str, pieces: &[Piece]) -> Vec<Item> {
    let mut items = Vec::new();
    for kind in [
        CostKind::Metal,
        CostKind::BoughtParts,
        CostKind::Consumables,
    ] {
        let here = pieces
            .iter()
            .filter(|piece| piece.shop == shop && piece.kind == kind);
        let here: Vec<&Piece> = here.collect();
        if here.is_empty() {
            continue;
        }
        let mean = |piece: &Piece| -> f64 {
            let mix = basis.mix.iter().zip(&piece.per_car);
            mix.map(|(share, pieces)| share * pieces).sum()
        };
        let counts = here
            .iter()
            .map(|piece| cell(Count(mean(piece)), piece.counted, piece.column));
        let counts: Vec<_> = counts.collect();
        let prices: Vec<_> = here.iter().map(|piece| piece.price.clone()).collect();
        let id = format!("cost.{shop}.{}", kind.word());
        let title = format!("{} of a car in {shop}", kind.word());
        let made = sheet.add(id, title, None, cost::pieces_cost(counts, prices));
        let by_product = (0..basis.mix.len()).map(|product| {
            let each = here
                .iter()
                .map(|piece| piece.per_car[product] * piece.price.value.0);
            each.sum()
        });
        let by_product = by_product.collect();
        items.extend(made.map(|made| Item {
            kind,
            made,
            by_product,
        }));
    }
    items
}

/// What a shop costs whether it builds or not, and the energy.
fn kept(sheet: &mut Sheet, basis: &Basis<'_>, shop: &str, machines: &[Machine]) -> Vec<Item> {
    let here: Vec<&Machine> = machines
        .iter()
        .filter(|machine| machine.shop == shop)
        .collect();
    let id = |kind: CostKind| format!("year.{shop}.{}", kind.word());
    let yearly = [
        (
            CostKind::Energy,
            yearly::energy(sheet, basis, id(CostKind::Energy), shop, shop, &here),
        ),
        (CostKind::People, yearly::people(sheet, basis, shop)),
        (
            CostKind::Upkeep,
            yearly::upkeep(sheet, id(CostKind::Upkeep), shop, &here),
        ),
        (
            CostKind::Capital,
            yearly::capital(sheet, basis, id(CostKind::Capital), shop, &here),
        ),
    ];
    yearly
        .into_iter()
        .filter_map(|(kind, year)| {
            let (made, by_product) = yearly::of_a_car(sheet, basis, (shop, kind), &year?)?;
            Some(Item {
                kind,
                made,
                by_product,
            })
        })
        .collect()
}

fn overhead(sheet: &mut Sheet, basis: &mut Basis<'_>) -> Option<Item> {
    let setting = &basis.book.plant.overhead_per_year;
    let (Some(value), Some(at)) = (setting.value, setting.at) else {
        let what = "the cost of buildings, planning and the like is left out";
        basis.lacking.setting("overhead_per_year", what);
        return None;
    };
    let given = cost::money_sum(vec![cell(value, at, "value")]);
    let id = format!("year.{PLANT}.overhead");
    let year = sheet.add(id, "overhead a year", Some(at), given)?;
    let kind = CostKind::Overhead;
    let (made, by_product) = yearly::of_a_car(sheet, basis, (PLANT, kind), &year)?;
    Some(Item {
        kind,
        made,
        by_product,
    })
}

fn shop_cost(sheet: &mut Sheet, shop: &str, items: &[Item]) -> Option<(Made<Money>, ShopCost)> {
    let parts: Vec<_> = items
        .iter()
        .map(|item| item.made.part(|money| *money))
        .collect();
    let title = format!("cost of a car in {shop}");
    let made = sheet.add(format!("cost.{shop}"), title, None, cost::money_sum(parts))?;
    let told = items.iter().map(|item| CostItem {
        kind: item.kind,
        cost: item.made.told(|money| money.0),
        by_product: item.by_product.clone(),
    });
    let shop = ShopCost {
        shop: shop.to_owned(),
        cost: made.told(|money| money.0),
        items: told.collect(),
    };
    Some((made, shop))
}

/// What one more car costs.
fn variable(sheet: &mut Sheet, stacked: &[(String, Vec<Item>)]) -> Option<Made<Money>> {
    let items = stacked.iter().flat_map(|(_, items)| items);
    let varying = items.filter(|item| item.kind.variable());
    let mut parts: Vec<_> = varying.map(|item| item.made.part(|money| *money)).collect();
    if parts.is_empty() {
        parts.push(Sourced::from(Money(0.0)));
    }
    let made = cost::money_sum(parts);
    sheet.add("cost.variable", "what one more car costs", None, made)
}

/// What does not grow with one more car, spread over the planned ones.
fn fixed(sheet: &mut Sheet, stacked: &[(String, Vec<Item>)]) -> Option<Made<Money>> {
    let items = stacked.iter().flat_map(|(_, items)| items);
    let kept = items.filter(|item| !item.kind.variable());
    let parts: Vec<_> = kept.map(|item| item.made.part(|money| *money)).collect();
    if parts.is_empty() {
        return None;
    }
    let title = "yearly costs of a planned car";
    sheet.add("cost.fixed", title, None, cost::money_sum(parts))
}

/// The cost of a car with the yearly costs spread over the cars that a run makes.
pub(super) fn at_made(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    stack: &Stack,
    run: &Answer,
) -> Option<ShopValue> {
    let fixed = stack.fixed.as_ref()?;
    let made = run.made.mean;
    if made <= 0.0 {
        return None;
    }
    let counts = vec![
        Sourced::from(Count(1.0)),
        basis.cars_a_week().map(|planned| Count(planned.0 / made)),
    ];
    let variable = Sourced::figure(Money(stack.variable.value), stack.variable.figure.clone());
    let prices = vec![variable, fixed.part(|money| *money)];
    let title = "cost of a car over the cars that the run makes: planned cars / made cars times \
                 the yearly costs of a planned car, and what one more costs";
    let made = cost::pieces_cost(counts, prices);
    let made = sheet.add("cost.car.made", title, None, made)?;
    Some(made.told(|money| money.0))
}

fn kinds(stacked: &[(String, Vec<Item>)], total: f64) -> Vec<KindCost> {
    let of = |kind: CostKind| {
        let items = stacked.iter().flat_map(|(_, items)| items);
        let cost: f64 = items
            .filter(|item| item.kind == kind)
            .map(|item| item.made.value.0)
            .sum();
        KindCost {
            kind,
            cost,
            share: if total > 0.0 { cost / total } else { 0.0 },
            variable: kind.variable(),
        }
    };
    CostKind::ALL.into_iter().map(of).collect()
}

fn products(basis: &Basis<'_>, stacked: &[(String, Vec<Item>)]) -> Vec<ProductCost> {
    let rows = basis.book.products.iter().enumerate();
    rows.map(|(product, row)| {
        let sum = |keep: fn(CostKind) -> bool| -> f64 {
            let items = stacked.iter().flat_map(|(_, items)| items);
            items
                .filter(|item| keep(item.kind))
                .map(|item| item.by_product[product])
                .sum()
        };
        let (cost, variable) = (sum(|_| true), sum(CostKind::variable));
        let price = row.price.map(|price| price.0);
        ProductCost {
            product: row.product.clone(),
            at: row.at,
            cars: row.cars_per_week.0,
            cost,
            variable,
            price,
            // With nothing that grows with a car the whole price would seem a margin.
            margin: price
                .filter(|_| variable > 0.0)
                .map(|price| price - variable),
            profit: price.map(|price| price - cost),
        }
    })
    .collect()
}
