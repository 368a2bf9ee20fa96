//! The cars of the mix as a line sees them.

use book::{Book, OptionRow, Task};

/// A kind of car: its share of all and the options it has.
pub(super) struct Car<'a> {
    pub(super) product: usize,
    pub(super) options: Vec<&'a str>,
    pub(super) share: f64,
}

/// Cars that together have every option as often as the book says.
///
/// Options stand each for itself, so no table of combinations is given. Each
/// product's options are laid one after the other around a circle of all its
/// cars: every option then has exactly its share, the mean over the mix is
/// exact, and a car has about as many options as the mean car does.
pub(super) fn cars<'a>(book: &'a Book, tasks: &[&'a Task]) -> Vec<Car<'a>> {
    let all: f64 = book.products.iter().map(|row| row.cars_per_week.0).sum();
    let mut named: Vec<&str> = tasks.iter().filter_map(|t| t.option.as_deref()).collect();
    named.sort_unstable();
    named.dedup();
    let mut cars = Vec::new();
    for (product, row) in book.products.iter().enumerate() {
        let mut at = 0.0;
        let mut arcs = Vec::new();
        let mut cuts = vec![0.0, 1.0];
        for option in &named {
            let share = share_of(book, option, &row.product);
            if share > 0.0 {
                let end = at + share;
                arcs.push((*option, at, end));
                cuts.extend([at, if end > 1.0 { end - 1.0 } else { end }]);
                at = if end >= 1.0 { end - 1.0 } else { end };
            }
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            if to - from < 1e-9 || all <= 0.0 {
                continue;
            }
            let middle = f64::midpoint(from, to);
            let covers = |start: f64, end: f64| {
                (start <= middle && middle < end) || (start <= middle + 1.0 && middle + 1.0 < end)
            };
            let options = arcs.iter().filter(|(_, start, end)| covers(*start, *end));
            cars.push(Car {
                product,
                options: options.map(|(option, _, _)| *option).collect(),
                share: (to - from) * row.cars_per_week.0 / all,
            });
        }
    }
    cars.retain(|car| car.share > 0.0);
    cars
}

/// Whether a car has a task.
pub(super) fn has(book: &Book, car: &Car<'_>, task: &Task) -> bool {
    let product = book.products[car.product].product.as_str();
    task.product.as_deref().is_none_or(|own| own == product)
        && task
            .option
            .as_deref()
            .is_none_or(|own| car.options.contains(&own))
}

/// The share of a product's cars that have a task.
pub(super) fn on_product(book: &Book, task: &Task, product: &str) -> f64 {
    if task.product.as_deref().is_some_and(|own| own != product) {
        return 0.0;
    }
    task.option
        .as_deref()
        .map_or(1.0, |option| share_of(book, option, product))
}

/// The share of all cars that have a task.
pub(super) fn on_all(book: &Book, task: &Task) -> f64 {
    let all: f64 = book.products.iter().map(|row| row.cars_per_week.0).sum();
    let with = book.products.iter();
    let with = with.map(|row| row.cars_per_week.0 * on_product(book, task, &row.product));
    if all > 0.0 {
        with.sum::<f64>() / all
    } else {
        0.0
    }
}

/// The row of an option that holds for a product: its own, else that of all.
pub(super) fn option_row<'a>(book: &'a Book, option: &str, product: &str) -> Option<&'a OptionRow> {
    let own = |row: &&OptionRow| row.option == option && row.product.as_deref() == Some(product);
    let any = |row: &&OptionRow| row.option == option && row.product.is_none();
    let rows = &book.options;
    rows.iter().find(own).or_else(|| rows.iter().find(any))
}

fn share_of(book: &Book, option: &str, product: &str) -> f64 {
    option_row(book, option, product).map_or(0.0, |row| row.share.0)
}
