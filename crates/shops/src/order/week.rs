//! The cars of a week: those ordered, and the rest by the shares.

use book::{Book, OptionRow, OrderRow, Problem};

use super::wrong;
use crate::sheet::problem;

/// A car to be built.
#[derive(Clone, Debug)]
pub(super) struct Car {
    /// Position of its order; none for a car that the shares fill in.
    pub(super) order: Option<usize>,
    /// Position of its product.
    pub(super) product: usize,
    pub(super) options: Vec<String>,
    /// Position of its colour.
    pub(super) colour: Option<usize>,
    /// Promised among the first so many.
    pub(super) due: Option<u32>,
    pub(super) must: bool,
    pub(super) frozen: Option<u32>,
    /// Back from hold, not before this place.
    pub(super) back: Option<u32>,
}

impl Car {
    /// The promise of a car whose frozen place lies behind it: whatever is
    /// built around it, it comes late.
    pub(super) fn lost(&self) -> Option<(u32, u32)> {
        let (frozen, due) = self.frozen.zip(self.due)?;
        (frozen > due).then_some((frozen, due))
    }
}

/// An order that stays on hold all week.
#[derive(Clone, Copy, Debug)]
pub(super) struct OnHold {
    /// Its position.
    pub(super) order: usize,
    /// Promised among the first so many.
    pub(super) due: Option<u32>,
}

/// The week's cars.
#[derive(Clone)]
pub(super) struct Week {
    pub(super) cars: Vec<Car>,
    /// Orders that stay on hold.
    pub(super) held: Vec<OnHold>,
    /// Cars built at the end of the week before, the last one last.
    pub(super) before: Vec<Car>,
}

impl Week {
    /// The cars of a week, or what is wrong with its orders.
    pub(super) fn of(book: &Book, week: u32, days: u32) -> Result<Self, Vec<Problem>> {
        let counts = counts(book, week);
        let total: u32 = counts.iter().sum();
        let mut this = Self {
            cars: Vec::new(),
            held: Vec::new(),
            before: Vec::new(),
        };
        let mut before: Vec<(u32, Car)> = Vec::new();
        let mut problems = Vec::new();
        let mut ordered = vec![0_u32; counts.len()];
        let of_week = |(_, row): &(usize, &OrderRow)| row.week == week;
        for (at, row) in book.orders.iter().enumerate().filter(of_week) {
            if stays(row, days) {
                let due = due(row, (total, days));
                problems.extend(wrong::held_and_promised(row, (total, days)));
                this.held.push(OnHold { order: at, due });
                continue;
            }
            let named = |product: &book::Product| product.product == row.product;
            let Some(product) = book.products.iter().position(named) else {
                continue;
            };
            if let Some(place) = row.built_before {
                before.push((place, of_order(book, (at, row), product, (total, days))));
                continue;
            }
            ordered[product] += 1;
            if ordered[product] == counts[product] + 1 {
                problems.push(too_many(book, row, counts[product], (week, days)));
            }
            let car = of_order(book, (at, row), product, (total, days));
            problems.extend(wrong::promised_before_back(row, &car, (total, days)));
            problems.extend(wrong::frozen_past_due(row, &car));
            this.cars.push(car);
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        before.sort_by_key(|(place, _)| std::cmp::Reverse(*place));
        this.before = before.into_iter().map(|(_, car)| car).collect();
        for (product, count) in counts.iter().enumerate() {
            this.fill(book, product, *count, ordered[product]);
        }
        this.paint(book);
        Ok(this)
    }

    /// All cars, in the book's order.
    pub(super) fn row(&self) -> Vec<&Car> {
        self.cars.iter().collect()
    }

    /// Cars of a product that nobody ordered by name: each option on as many
    /// cars as its share says, whole, dealt without regard to other options.
    fn fill(&mut self, book: &Book, product: usize, count: u32, ordered: u32) {
        let first = self.cars.len();
        let open = (count - ordered) as usize;
        self.cars.extend((0..open).map(|_| Car {
            order: None,
            product,
            options: Vec::new(),
            colour: None,
            due: None,
            must: false,
            frozen: None,
            back: None,
        }));
        let name = &book.products[product].product;
        for row in options_of(book, name) {
            let has = |car: &&Car| car.product == product && car.options.contains(&row.option);
            let there = self.cars[..first].iter().filter(has).count();
            let wanted = (row.share.0 * f64::from(count)).round() as usize;
            let give = wanted.saturating_sub(there).min(open);
            for at in dealt(&format!("{name}/{}", row.option), open)
                .into_iter()
                .take(give)
            {
                self.cars[first + at].options.push(row.option.clone());
            }
        }
    }

    /// Colours for the cars whose order names none, so that the whole week has
    /// them by their shares.
    fn paint(&mut self, book: &Book) {
        let shares: Vec<f64> = book.colours.iter().map(|row| row.share.0).collect();
        let target = apportioned(&shares, self.cars.len());
        let bare: Vec<usize> = (0..self.cars.len())
            .filter(|car| self.cars[*car].colour.is_none())
            .collect();
        let painted = |colour: usize| {
            let cars = self.cars.iter();
            cars.filter(|car| car.colour == Some(colour)).count()
        };
        let missing: Vec<f64> = target
            .iter()
            .enumerate()
            .map(|(colour, wanted)| wanted.saturating_sub(painted(colour)) as f64)
            .collect();
        let counts = apportioned(&missing, bare.len());
        let colours = counts
            .iter()
            .enumerate()
            .flat_map(|(colour, cars)| std::iter::repeat_n(colour, *cars));
        for (at, colour) in dealt("colours", bare.len()).into_iter().zip(colours) {
            self.cars[bare[at]].colour = Some(colour);
        }
    }
}

/// Whole cars of each product in a week.
pub(super) fn counts(book: &Book, week: u32) -> Vec<u32> {
    let of = |row: &book::Product| {
        let own = |build: &&book::Build| build.week == week && build.product == row.product;
        let built = book.builds.iter().find(own).map(|build| build.cars);
        // a week builds a million cars at most
        built.unwrap_or(row.cars_per_week.0).round().max(0.0) as u32
    };
    book.products.iter().map(of).collect()
}

/// The options of a product, a row of its own before one for all.
pub(super) fn options_of<'a>(book: &'a Book, product: &str) -> Vec<&'a OptionRow> {
    let mut found: Vec<&OptionRow> = Vec::new();
    for row in &book.options {
        if row.product.as_deref().is_some_and(|own| own != product) {
            continue;
        }
        match found.iter_mut().find(|other| other.option == row.option) {
            Some(other) if row.product.is_some() => *other = row,
            Some(_) => {}
            None => found.push(row),
        }
    }
    found
}

/// The last place of a working day.
pub(super) fn last_place(cars: u32, days: u32, day: u32) -> u32 {
    let day = u64::from(day.min(days));
    (u64::from(cars) * day / u64::from(days.max(1))) as u32
}

/// Whether an order stays on hold all week: where it comes back on no day of it.
fn stays(row: &OrderRow, days: u32) -> bool {
    row.on_hold && row.back_day.is_none_or(|day| day > days)
}

/// The place by which an order is promised: the sooner one where a day and a
/// place are.
pub(super) fn due(row: &OrderRow, (cars, days): (u32, u32)) -> Option<u32> {
    let by_day = row.due_day.map(|day| last_place(cars, days, day));
    match (by_day, row.due_place) {
        (Some(day), Some(place)) => Some(day.min(place)),
        (day, place) => day.or(place),
    }
}

fn of_order(
    book: &Book,
    (at, row): (usize, &OrderRow),
    product: usize,
    (cars, days): (u32, u32),
) -> Car {
    let colour = row.colour.as_ref();
    Car {
        order: Some(at),
        product,
        options: row.options.clone(),
        colour: colour.and_then(|name| book.colours.iter().position(|row| row.colour == *name)),
        due: due(row, (cars, days)),
        must: row.must,
        frozen: row.frozen_place,
        back: row
            .back_day
            .filter(|_| row.on_hold)
            .map(|day| last_place(cars, days, day.saturating_sub(1)) + 1),
    }
}

fn too_many(book: &Book, row: &OrderRow, cars: u32, (week, days): (u32, u32)) -> Problem {
    let open = |other: &&OrderRow| {
        let built = other.week == week && other.built_before.is_none();
        built && other.product == row.product && !stays(other, days)
    };
    let orders = book.orders.iter().filter(open).count();
    Problem {
        found: format!(
            "{orders} orders of {} where week {week} builds {cars}",
            row.product
        ),
        expected: "no more orders than cars to be built".into(),
        mend: format!(
            "build {orders} in that week, or put {} of them on hold",
            orders - cars as usize
        ),
        ..problem("more-than-built", row.at, Some("product"))
    }
}

/// Whole numbers that add to `total`, by share, the largest remainders rounded
/// up.
pub(super) fn apportioned(shares: &[f64], total: usize) -> Vec<usize> {
    let sum: f64 = shares.iter().sum();
    if sum <= 0.0 {
        return vec![0; shares.len()];
    }
    let exact: Vec<f64> = shares
        .iter()
        .map(|share| share / sum * total as f64)
        .collect();
    let mut whole: Vec<usize> = exact.iter().map(|share| share.floor() as usize).collect();
    let mut by_remainder: Vec<usize> = (0..shares.len()).collect();
    by_remainder.sort_by(|a, b| {
        (exact[*b] - exact[*b].floor()).total_cmp(&(exact[*a] - exact[*a].floor()))
    });
    let missing = total.saturating_sub(whole.iter().sum());
    for at in by_remainder.into_iter().take(missing) {
        whole[at] += 1;
    }
    whole
}

/// Positions 0 to `count` in an order that belongs to a name, so that a change
/// of one option's share deals no other option anew.
fn dealt(name: &str, count: usize) -> Vec<usize> {
    let seed = super::luck::of_name(name);
    let mut keyed: Vec<(u64, usize)> = (0..count)
        .map(|at| (super::luck::mixed(seed.wrapping_add(at as u64)), at))
        .collect();
    keyed.sort_unstable();
    keyed.into_iter().map(|(_, at)| at).collect()
}
