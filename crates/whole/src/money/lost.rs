//! What a lost car and a lost minute cost, at the constraint and off it.

use book::Book;
use formulas::{Sourced, cost};
use units::{Money, PerWeek};

use super::Basis;
use super::model::{LostCar, LostMinute, Spare};
use super::stack::Stack;
use crate::findings::{Answer, Verdict};
use crate::plan::sheet::{Made, Sheet, cell};

/// The plan's weakest station, line or fleet.
pub(super) struct Weakest {
    pub(super) place: String,
    pub(super) shop: String,
    pub(super) cars: f64,
}

/// What a lost car costs; none where nothing tells what a car brings.
pub(super) fn lost(
    sheet: &mut Sheet,
    basis: &mut Basis<'_>,
    stack: &Stack,
    run: Option<&Answer>,
) -> Option<LostCar> {
    let margin = margin(sheet, basis, stack)?;
    let (minutes, short, made) = match run {
        Some(answer) => (
            of_run(sheet, basis, &margin, answer),
            answer.verdict == Verdict::Missed,
            Some(answer.made.mean),
        ),
        None => (
            of_plan(sheet, basis, &margin),
            !basis.plan.holds,
            basis.plan.capable.as_ref().map(|rate| rate.value),
        ),
    };
    let spare = made.zip(minutes.first()).and_then(|(made, first)| {
        let needed = basis.need.cars();
        (!short && made > needed).then(|| Spare {
            place: first.place.clone(),
            cars: made,
            minutes: (1.0 - needed / made) * basis.hours(&first.shop).value.0 * 60.0,
        })
    });
    Some(LostCar {
        at_constraint: margin.told(|money| money.0),
        off_constraint: 0.0,
        given: basis.book.plant.margin_per_car.value.is_some(),
        short,
        spare,
        minutes,
        by_run: run.is_some(),
    })
}

const TITLE: &str = "what a car lost at the constraint costs";

/// What the book says that a car brings.
pub(super) fn given(sheet: &mut Sheet, book: &Book) -> Option<Made<Money>> {
    let setting = &book.plant.margin_per_car;
    let (value, at) = (setting.value?, setting.at?);
    let made = cost::money_sum(vec![cell(value, at, "value")]);
    sheet.add("lost.car", TITLE, Some(at), made)
}

/// What a car brings: the book's own figure, else its price less what one more
/// costs.
pub(super) fn margin(
    sheet: &mut Sheet,
    basis: &mut Basis<'_>,
    stack: &Stack,
) -> Option<Made<Money>> {
    if basis.book.plant.margin_per_car.value.is_some() {
        return given(sheet, basis.book);
    }
    let unpriced = basis.book.products.iter().filter(|row| row.price.is_none());
    let unpriced: Vec<_> = unpriced.collect();
    for row in &unpriced {
        basis.lacking.cell(
            row.at,
            "price",
            &row.product,
            "what a lost car costs cannot be told; the setting margin_per_car would do too",
        );
    }
    if stack.variable.value <= 0.0 {
        basis.lacking.other(
            "parts",
            "price",
            "what one more car costs, what a car brings and what a lost one costs are not told: no \
             metal, bought part, joint, paint or energy is in the book",
            "give the tables parts with materials and coils, joins or coats, or energy_kw in \
             stations; the setting margin_per_car would do too"
                .to_owned(),
        );
        return None;
    }
    if !unpriced.is_empty() {
        return None;
    }
    let (shares, prices): (Vec<_>, Vec<_>) = basis
        .book
        .products
        .iter()
        .zip(&basis.mix)
        .filter_map(|(row, share)| {
            let price = row.price?;
            let share = cell(units::Count(*share), row.at, "cars_per_week");
            Some((share, cell(price, row.at, "price")))
        })
        .unzip();
    let made = cost::pieces_cost(shares, prices);
    let price = sheet.add("price.car", "price of a mean car", None, made)?;
    let variable = Sourced::figure(Money(stack.variable.value), stack.variable.figure.clone());
    let made = cost::lost_car(price.part(|price| *price), variable);
    sheet.add("lost.car", TITLE, None, made)
}

/// The weakest by the rate plan.
pub(super) fn weakest(basis: &Basis<'_>) -> Option<Weakest> {
    let stations = basis.plan.stations.iter();
    let stations = stations.filter_map(|row| {
        let alone = row.alone.as_ref()?;
        Some((&row.station, row.shop.clone(), alone.value))
    });
    let lines = basis.plan.press_lines.iter();
    let lines = lines.filter_map(|row| {
        let alone = row.alone.as_ref()?;
        Some((&row.press_line, row.shop.clone(), alone.value))
    });
    let fleets = basis.plan.carriers.iter();
    let fleets = fleets.filter_map(|row| {
        let alone = row.alone.as_ref()?;
        let fleet = basis
            .book
            .carriers
            .iter()
            .find(|fleet| fleet.at == row.at)?;
        Some((
            &row.carrier,
            basis.shop_of(Some(&fleet.taken_at)),
            alone.value,
        ))
    });
    let all = stations.chain(lines).chain(fleets);
    all.min_by(|a, b| a.2.total_cmp(&b.2))
        .map(|(place, shop, cars)| Weakest {
            place: place.clone(),
            shop,
            cars,
        })
}

fn of_plan(sheet: &mut Sheet, basis: &Basis<'_>, margin: &Made<Money>) -> Vec<LostMinute> {
    let Some(weakest) = weakest(basis) else {
        return Vec::new();
    };
    let cars = Sourced::figure(PerWeek(weakest.cars), "plant.rate");
    let place = (weakest.place, weakest.shop);
    minute(sheet, basis, margin, place, 1.0, cars)
        .into_iter()
        .collect()
}

fn of_run(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    margin: &Made<Money>,
    answer: &Answer,
) -> Vec<LostMinute> {
    let mut minutes = Vec::new();
    for suspect in &answer.constraint {
        let share = suspect.path.total();
        let line = basis.book.press_lines.iter();
        let shop = basis.station(&suspect.name).map_or_else(
            || {
                let mut line = line.filter(|row| suspect.name.starts_with(&row.press_line));
                line.next()
                    .map_or_else(|| super::PLANT.to_owned(), |row| row.shop.clone())
            },
            |i| basis.book.stations[i].shop.clone(),
        );
        let cars = Sourced::from(PerWeek(answer.made.mean * share));
        let place = (suspect.name.clone(), shop);
        minutes.extend(minute(sheet, basis, margin, place, share, cars));
    }
    minutes
}

fn minute(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    margin: &Made<Money>,
    (place, shop): (String, String),
    share: f64,
    cars: Sourced<PerWeek>,
) -> Option<LostMinute> {
    let made = cost::lost_minute(margin.part(|margin| *margin), cars, basis.hours(&shop));
    let title = format!("what a minute lost at {place} costs");
    let made = sheet.add(format!("lost.minute.{place}"), title, None, made)?;
    Some(LostMinute {
        minute: made.told(|money| money.0),
        place,
        shop,
        share,
    })
}
