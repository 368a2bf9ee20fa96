//! The classes of car that the flow tells apart: a product with those of its
//! options that change a cycle somewhere.

use std::collections::{BTreeMap, BTreeSet};

use book::{Book, Problem};
use flow::model::ClassIdx;
use serde::Serialize;
use units::{Quantity, Seconds, Share};

use super::order::{self, Kind, Order, Spacing};
use super::problem;
use crate::order::{BuildOrder, OrderRule, PlacedCar, RuleFrom};
use crate::requirement::no_products;

/// More classes than this are refused: a plant whose options double them that
/// often is better described by fewer, typical options.
pub const MOST_CLASSES: usize = 4_096;

/// A class of car.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CarClass {
    /// Product and options, e.g. `long-van+high-roof`.
    pub name: String,
    /// The product.
    pub product: String,
    /// Its options, in the order of the table.
    pub options: Vec<String>,
    /// Its share of all cars.
    pub share: Share,
}

/// All classes of a book, and the order in which they are released.
#[derive(Clone, Debug)]
pub(super) struct Classes {
    pub(super) list: Vec<CarClass>,
    /// Products that are made, in the order of the table.
    pub(super) products: Vec<String>,
    /// For each class the position of its product.
    pub(super) product_of: Vec<usize>,
    pub(super) order: Order,
}

impl Classes {
    /// The classes of the products in a list, whose empty list means all.
    /// All classes give the empty vector, which the flow reads as all.
    pub(super) fn of_products(&self, products: &[String]) -> Vec<ClassIdx> {
        let chosen: Vec<ClassIdx> = (0u32..)
            .zip(&self.list)
            .filter(|(_, class)| products.is_empty() || products.contains(&class.product))
            .map(|(i, _)| ClassIdx(i))
            .collect();
        if chosen.len() == self.list.len() {
            Vec::new()
        } else {
            chosen
        }
    }
}

/// An option of one product, as the classes need it.
struct Choice<'a> {
    name: &'a str,
    share: f64,
}

/// Lists the classes of a book with their shares and their order.
pub(super) fn list(
    book: &Book,
    planned: Option<&BuildOrder>,
    problems: &mut Vec<Problem>,
) -> Option<Classes> {
    let made: Vec<_> = book
        .products
        .iter()
        .filter(|product| product.cars_per_week.get() > 0.0)
        .collect();
    let total: f64 = made.iter().map(|p| p.cars_per_week.get()).sum();
    if book.products.is_empty() {
        problems.push(no_products());
        return None;
    }
    if made.is_empty() || !total.is_finite() {
        problems.push(Problem {
            found: "no product with cars to make".into(),
            expected: "at least one product with cars_per_week above 0".into(),
            mend: "give the cars a week of a product".into(),
            ..problem("products", "nothing-to-make", None, "cars_per_week")
        });
        return None;
    }
    let choices: Vec<Vec<Choice>> = made.iter().map(|p| choices(book, &p.product)).collect();
    let count = choices.iter().fold(0usize, |sum, c| {
        sum.saturating_add(1usize.checked_shl(c.len() as u32).unwrap_or(usize::MAX))
    });
    if count > MOST_CLASSES {
        problems.push(too_many(book, count));
        return None;
    }
    let mut classes = Vec::with_capacity(count);
    let mut product_of = Vec::with_capacity(count);
    for (position, (product, choices)) in made.iter().zip(&choices).enumerate() {
        let share = product.cars_per_week.get() / total;
        for pick in 0..1usize << choices.len() {
            let class = class(&product.product, share, choices, pick);
            // an option on every car or on none halves the classes
            if class.share.get() > 0.0 {
                classes.push(class);
                product_of.push(position);
            }
        }
    }
    let planned = planned.and_then(|order| planned_order(&classes, order));
    let order = planned.unwrap_or_else(|| {
        let order = released(book, &classes, &product_of);
        if order.spacing_broken > 0 {
            problems.push(tight(book, &order));
        }
        order
    });
    Some(Classes {
        products: made.iter().map(|p| p.product.clone()).collect(),
        list: classes,
        product_of,
        order,
    })
}

/// The options of a product that change a cycle. A row for the product counts before a row for all.
fn choices<'a>(book: &'a Book, product: &str) -> Vec<Choice<'a>> {
    let changes: BTreeSet<&str> = book
        .cycles
        .iter()
        .filter(|row| row.product.as_deref().is_none_or(|p| p == product))
        .filter_map(|row| row.option.as_deref())
        .collect();
    let mut found: Vec<(Choice, bool)> = Vec::new();
    for row in &book.options {
        let own = row.product.is_some();
        if row.product.as_deref().is_some_and(|p| p != product)
            || !changes.contains(row.option.as_str())
        {
            continue;
        }
        let choice = Choice {
            name: &row.option,
            share: row.share.get(),
        };
        match found.iter_mut().find(|(c, _)| c.name == row.option) {
            Some(before) if own && !before.1 => *before = (choice, own),
            Some(_) => {}
            None => found.push((choice, own)),
        }
    }
    found.into_iter().map(|(choice, _)| choice).collect()
}

/// One of the classes of a product; bit `i` of `pick` takes choice `i`.
fn class(product: &str, share: f64, choices: &[Choice], pick: usize) -> CarClass {
    let mut class = CarClass {
        name: product.to_owned(),
        product: product.to_owned(),
        options: Vec::new(),
        share: Share(share),
    };
    for (i, choice) in choices.iter().enumerate() {
        if pick >> i & 1 == 1 {
            class.share = class.share * choice.share;
            class.name.push('+');
            class.name.push_str(choice.name);
            class.options.push(choice.name.to_owned());
        } else {
            class.share = class.share * (1.0 - choice.share);
        }
    }
    class
}

/// The order in which the classes are released, levelled.
fn released(book: &Book, classes: &[CarClass], product_of: &[usize]) -> Order {
    let mut names: Vec<&str> = Vec::new();
    for class in classes {
        for option in &class.options {
            if !names.contains(&option.as_str()) {
                names.push(option);
            }
        }
    }
    let position: BTreeMap<&str, usize> = names
        .iter()
        .enumerate()
        .map(|(i, name)| (*name, i))
        .collect();
    let kinds: Vec<Kind> = classes
        .iter()
        .zip(product_of)
        .map(|(class, &product)| Kind {
            product,
            options: class
                .options
                .iter()
                .filter_map(|o| position.get(o.as_str()).copied())
                .collect(),
            share: class.share.get(),
        })
        .collect();
    let spacing: Vec<Option<Spacing>> = names.iter().map(|name| spacing(book, name)).collect();
    order::level(&kinds, &spacing)
}

/// The spacing rule of an option: the first row that gives one.
fn spacing(book: &Book, option: &str) -> Option<Spacing> {
    book.options
        .iter()
        .filter(|row| row.option == option)
        .find_map(|row| {
            Some(Spacing {
                at_most: row.at_most?,
                in_every: row.in_every?,
            })
        })
}

/// The planned build order as classes of the flow, which see fewer options;
/// none where it has a car of no class.
fn planned_order(classes: &[CarClass], order: &BuildOrder) -> Option<Order> {
    let told = |product: &str, option: &String| {
        let own = classes.iter().filter(|class| class.product == product);
        own.into_iter().any(|class| class.options.contains(option))
    };
    let class = |car: &PlacedCar| {
        let seen = car
            .options
            .iter()
            .filter(|option| told(&car.product, option));
        let seen: BTreeSet<&String> = seen.collect();
        let same = |class: &CarClass| {
            class.product == car.product && class.options.iter().collect::<BTreeSet<_>>() == seen
        };
        let at = classes.iter().position(same)?;
        Some(ClassIdx(super::idx(at)))
    };
    let places: Option<Vec<ClassIdx>> = order.places.iter().map(class).collect();
    let given = order
        .rules
        .iter()
        .filter(|rule| matches!(rule.from, RuleFrom::Given { .. }));
    let broken: usize = given.map(OrderRule::runs_broken).sum();
    Some(Order {
        places: places.filter(|places| !places.is_empty())?,
        spacing_broken: super::idx(broken),
    })
}

/// The cycle of a class at a station.
pub(super) fn cycle(own: Seconds, rows: &[&book::Cycle], class: &CarClass) -> Seconds {
    shops::order::cycle_of(own, rows, &class.product, &class.options)
}

fn too_many(book: &Book, count: usize) -> Problem {
    let at = book.options.first().map(|row| row.at);
    Problem {
        found: format!("{count} classes of car"),
        expected: format!("at most {MOST_CLASSES} products and options that change a cycle"),
        mend: "name fewer options in the cycles table, or join options that come together".into(),
        ..problem("options", "too-many-classes", at, "option")
    }
}

fn tight(book: &Book, order: &Order) -> Problem {
    let at = book
        .options
        .iter()
        .find(|o| o.at_most.is_some())
        .map(|row| row.at);
    Problem {
        severity: book::Severity::Note,
        found: format!(
            "{} of {} places in the release order break a spacing rule",
            order.spacing_broken,
            order.places.len()
        ),
        expected: "shares that leave room for at_most in in_every".into(),
        mend: "raise at_most or in_every of the option, or lower its share".into(),
        ..problem("options", "spacing-too-tight", at, "at_most")
    }
}
