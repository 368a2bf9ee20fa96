//! The coil shop's plan: the blanks that the build plan asks of each part, week
//! by week, given to the coil shop.

use book::{Book, Problem};
use shops::coil::{Coil, NoPlan, PartNeed, Shelf, Watch};
use units::PerWeek;

use crate::requirement::{no_products, requirement};

/// Weeks planned ahead: a quarter.
pub const WEEKS: u32 = 13;

/// Plans the coils of a checked book for the weeks of its build plan; a week or
/// product that the plan does not name is built at the product's cars a week.
///
/// # Errors
/// Everything wrong with what coils are planned from, or that it was cancelled.
pub fn coil(book: &Book, shelf: &Shelf, watch: &Watch<'_>) -> Result<Coil, NoPlan> {
    let needs = blanks(book, WEEKS).map_err(NoPlan::Problems)?;
    shops::coil::plan(book, &needs, shelf, watch)
}

/// Everything for which the coils of a checked book are not planned and that
/// shows without laying a blank: outlines that cross themselves, are open or have
/// a hole outside, a web wider than its part, scrap dearer than its metal, a gauge
/// without a coil, a part to be cut that has no outline. Nothing where the book
/// cuts no blanks; some milliseconds.
pub fn problems(book: &Book) -> Vec<Problem> {
    shops::coil::problems(book)
}

/// Blanks of each part in each week, the presses' scrap made up.
///
/// # Errors
/// Why the requirement has no answer.
pub fn blanks(book: &Book, weeks: u32) -> Result<Vec<PartNeed>, Vec<Problem>> {
    if book.products.is_empty() {
        return Err(vec![no_products()]);
    }
    let per_car = (0..book.products.len())
        .map(|product| pieces_of_a_car(book, product))
        .collect::<Result<Vec<_>, _>>()?;
    let built: Vec<Vec<f64>> = (1..=weeks).map(|week| cars(book, week)).collect();
    let needs = book.parts.iter().enumerate().map(|(p, part)| {
        let of_week = |cars: &Vec<f64>| -> f64 {
            cars.iter()
                .zip(&per_car)
                .map(|(cars, pieces)| cars * pieces[p])
                .sum()
        };
        PartNeed {
            part: part.part.clone(),
            blanks: built.iter().map(of_week).collect(),
        }
    });
    Ok(needs.collect())
}

/// Pieces begun of each part for one car of a product: the requirement is
/// proportional to the cars.
fn pieces_of_a_car(book: &Book, product: usize) -> Result<Vec<f64>, Vec<Problem>> {
    let mut one = book.clone();
    for (p, row) in one.products.iter_mut().enumerate() {
        row.cars_per_week = PerWeek(if p == product { 1.0 } else { 0.0 });
    }
    let need = requirement(&one)?;
    Ok(need.parts.iter().map(|part| part.begun).collect())
}

/// Cars of each product in a week.
fn cars(book: &Book, week: u32) -> Vec<f64> {
    let of = |product: &book::Product| {
        let row = book
            .builds
            .iter()
            .find(|row| row.week == week && row.product == product.product);
        row.map_or(product.cars_per_week.0, |row| row.cars)
    };
    book.products.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use book::{Build, Part, Product};

    use super::*;
    use crate::sample;

    #[test]
    fn a_week_of_more_cars_asks_for_more_blanks_and_the_others_for_the_usual() {
        let mut book = sample::book(sample::SMALL_PLANT);
        let product = book.products[0].clone();
        book.parts.push(Part {
            part: "roof".to_owned(),
            per_car: 2,
            scrap: units::Share(0.5),
            ..Part::default()
        });
        book.builds.push(Build {
            week: 2,
            product: product.product.clone(),
            cars: 2.0 * product.cars_per_week.0,
            ..Build::default()
        });
        let needs = blanks(&book, 3).unwrap();
        let roof = &needs.last().unwrap().blanks;
        let others: f64 = book.products[1..]
            .iter()
            .map(|p: &Product| p.cars_per_week.0)
            .sum();
        let usual = 4.0 * (product.cars_per_week.0 + others);
        assert!((roof[0] - usual).abs() < 1e-6 && (roof[2] - usual).abs() < 1e-6);
        assert!((roof[1] - usual - 4.0 * product.cars_per_week.0).abs() < 1e-6);
    }
}
