//! What a yearly budget buys, in words.

use book::{Book, Problem};
use units::PerWeek;
use whole::assembly::{Assembly, Budgeted, Watch};

use crate::figure::number;

/// The most cars that a budget buys, with their plan; that of the book's cars
/// where it buys none.
pub(super) fn bought(
    book: &Book,
    budget: f64,
    watch: &Watch<'_>,
) -> Result<(Assembly, Option<Budgeted>), Vec<Problem>> {
    let found = whole::assembly::within_budget(book, budget, watch.cancel, &|_| {})?;
    let plan = whole::assembly::assembly_at(book, found.cars.map(PerWeek), watch)?;
    Ok((plan, Some(found)))
}

/// What a budget buys, in a sentence or two.
pub(super) fn in_words(found: &Budgeted) -> String {
    let budget = number(found.budget_per_year, 0);
    let asked = found.asked.cost_per_year.map_or_else(String::new, |cost| {
        format!(
            " The book's {} cost {} a year.",
            number(found.asked.cars, 0),
            number(cost, 0)
        )
    });
    let none = found.none_from.map_or_else(String::new, |cars| {
        format!(
            " No way to man them costs so little from {} cars on.",
            number(cars, 0)
        )
    });
    match found.cars {
        Some(cars) => format!(
            "{budget} a year man the lines for {} cars a week, at {} a year.{none}{asked}\n\n",
            number(cars, 0),
            number(found.cost_per_year, 0)
        ),
        None => format!(
            "{budget} a year man the lines at no rate looked at; {} cars a week cost at least {} \
             a year. Give more, or have less work done here.{asked}\n\n",
            number(found.fewest.cars, 0),
            number(found.fewest.bound_per_year, 0)
        ),
    }
}
