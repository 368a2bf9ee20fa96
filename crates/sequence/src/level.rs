//! Level use of parts by itself: goal chasing, and better.
//!
//! What an order uses depends on how many cars of each product stand before a
//! place, not on their order. The least sum is therefore a shortest way through
//! the lattice of counts (Bautista, Companys & Corominas 1996, "Heuristics and
//! exact algorithms for solving the Monden problem", EJOR 88, 101-113).

use crate::Fault;
use crate::bound::bound;
use crate::model::{Class, Level, Part, Problem};
use crate::search::search;
use crate::told::some;
use crate::walker::Begin;
use crate::watch::{Settings, Watch};

/// Products with their demand, and the parts each uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demand {
    /// Cars of each product.
    pub cars: Vec<u32>,
    /// By product, how many of each part a car uses.
    pub uses: Vec<Vec<u32>>,
    /// Products of the first cars, which stay where they are.
    pub first: Vec<usize>,
}

/// A demand that makes sense.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckedDemand {
    demand: Demand,
    total: i128,
    part_totals: Vec<i128>,
}

/// An order by goal chasing.
#[derive(Clone, Debug, PartialEq)]
pub struct Chased {
    /// Products, car by car.
    pub order: Vec<usize>,
    /// For each place and product the distance that was compared; none for
    /// products that are used up, or where a car stays.
    pub distances: Vec<Vec<Option<f64>>>,
    /// The sum of squared distances of the products taken.
    pub sum: f64,
}

/// A level order.
#[derive(Clone, Debug, PartialEq)]
pub struct Levelled {
    /// Products, car by car.
    pub order: Vec<usize>,
    /// The sum of squared distances from the level line.
    pub sum: f64,
    /// Whether no order has less.
    pub proven: bool,
}

/// Counts of products that the lattice may have.
const MOST_COUNTS: usize = 3_000_000;

impl Demand {
    fn total(&self) -> i128 {
        self.cars.iter().map(|cars| i128::from(*cars)).sum()
    }

    fn parts(&self) -> usize {
        self.uses.iter().map(Vec::len).max().unwrap_or(0)
    }

    /// Makes the demand ready to be levelled.
    ///
    /// # Errors
    ///
    /// Everything that makes no sense; never an empty list.
    pub fn check(self) -> Result<CheckedDemand, Vec<Fault>> {
        let faults = self.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let of = |part: usize| {
            let each = self.uses.iter().zip(&self.cars);
            each.map(|(uses, cars)| i128::from(uses[part]) * i128::from(*cars))
                .sum()
        };
        let part_totals: Vec<i128> = (0..self.parts()).map(of).collect();
        let total = self.total();
        if most_sum(total, &part_totals).is_none() {
            return Err(vec![Fault::new(
                "uses",
                format!("{} of so much", some(part_totals.len(), "part")),
                "a sum of squares that a whole number of 128 bits holds",
                "count what a car uses in larger units",
            )]);
        }
        Ok(CheckedDemand {
            demand: self,
            total,
            part_totals,
        })
    }

    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let products = self.cars.len();
        if self.uses.len() != products {
            faults.push(Fault::new(
                "uses",
                some(self.uses.len(), "product"),
                format!("one for each of the demand's: {products}"),
                "add or drop products",
            ));
        }
        if products > usize::from(u16::MAX) {
            faults.push(Fault::new(
                "cars",
                some(products, "product"),
                format!("at most {}", u16::MAX),
                "join products that use the same",
            ));
        }
        let parts = self.parts();
        for (at, uses) in self.uses.iter().enumerate() {
            if uses.len() != parts {
                faults.push(Fault::new(
                    format!("uses[{at}]"),
                    some(uses.len(), "part"),
                    some(parts, "part"),
                    "write 0 for parts that the product does not use",
                ));
            }
        }
        if self.total() > crate::model::MOST_CARS as i128 {
            faults.push(Fault::new(
                "cars",
                some(self.total() as usize, "car"),
                format!("at most {}", crate::model::MOST_CARS),
                "order one day or week at a time",
            ));
        }
        let mut left = self.cars.clone();
        for (at, product) in self.first.iter().enumerate() {
            faults.extend(take(&mut left, "first", at, *product));
        }
        faults
    }
}

/// Takes a car of a product from those that are left; a fault where there is
/// none.
fn take(left: &mut [u32], list: &str, at: usize, product: usize) -> Option<Fault> {
    let products = left.len();
    let place = format!("{list}[{at}]");
    match left.get_mut(product) {
        Some(0) => Some(Fault::new(
            place,
            format!("one more car of product {product}"),
            "no more than its demand",
            "take the car out, or raise the demand",
        )),
        Some(left) => {
            *left -= 1;
            None
        }
        None => Some(Fault::new(
            place,
            format!("product {product}"),
            format!("one of {}, counted from 0", some(products, "product")),
            "add the product",
        )),
    }
}

/// More than the distances of any order add up to, as a multiple of 1 / cars^2;
/// none where 128 bits do not hold it.
fn most_sum(cars: i128, part_totals: &[i128]) -> Option<i128> {
    let mut sum: i128 = 0;
    for total in part_totals {
        let far = cars.checked_mul(*total)?;
        sum = sum.checked_add(far.checked_mul(far)?)?;
    }
    sum.checked_mul(cars)
}

impl CheckedDemand {
    /// The demand as it was given.
    pub const fn demand(&self) -> &Demand {
        &self.demand
    }

    /// Cars of each product behind the first ones.
    fn left(&self) -> Vec<u32> {
        let mut left = self.demand.cars.clone();
        for product in &self.demand.first {
            left[*product] -= 1;
        }
        left
    }

    fn add(&self, used: &mut [i128], product: usize) {
        for (used, each) in used.iter_mut().zip(&self.demand.uses[product]) {
            *used += i128::from(*each);
        }
    }

    /// Squared distance from the level line after `place` cars that used
    /// `used`, as a multiple of 1 / cars^2.
    fn distance(&self, place: i128, used: &[i128]) -> i128 {
        let of = |(used, total): (&i128, &i128)| {
            let far = self.total * used - place * total;
            far * far
        };
        used.iter().zip(&self.part_totals).map(of).sum()
    }

    fn per_square(&self, sum: i128) -> f64 {
        let cars = self.total.max(1) as f64;
        sum as f64 / (cars * cars)
    }

    /// The sum of squared distances of an order of these cars.
    ///
    /// # Errors
    ///
    /// The first car that is none of the demand, or that there are none of the
    /// demand left, or that some are missing.
    pub fn sum_of(&self, order: &[usize]) -> Result<f64, Fault> {
        let mut left = self.demand.cars.clone();
        let taken = order.iter().enumerate();
        let fault = taken.fold(None, |fault: Option<Fault>, (at, product)| {
            fault.or_else(|| take(&mut left, "order", at, *product))
        });
        if let Some(fault) = fault {
            return Err(fault);
        }
        let missing: usize = left.iter().map(|left| *left as usize).sum();
        if missing > 0 {
            return Err(Fault::new(
                "order",
                some(order.len(), "car"),
                format!("all {} of the demand", self.total),
                format!("add {}", some(missing, "car")),
            ));
        }
        Ok(self.summed(order))
    }

    /// The same of an order that is known to be one.
    fn summed(&self, order: &[usize]) -> f64 {
        let mut used = vec![0; self.part_totals.len()];
        let mut sum = 0;
        for (product, place) in order.iter().zip(1..) {
            self.add(&mut used, *product);
            sum += self.distance(place, &used);
        }
        self.per_square(sum)
    }
}

/// Goal chasing: each place gets the product that leaves the use of parts
/// nearest to the level line (Monden, Toyota Production System, appendix on the
/// sequencing method). Of products equally near, the one listed first. The first
/// cars that stay where they are come before, and count.
///
/// ```
/// use sequence::level::{Demand, goal_chasing};
///
/// // Monden's example: products A, B, C, parts a1 to a4.
/// let demand = Demand {
///     cars: vec![2, 3, 5],
///     uses: vec![vec![1, 0, 1, 1], vec![1, 1, 0, 1], vec![0, 1, 1, 0]],
///     first: Vec::new(),
/// };
/// let chased = goal_chasing(&demand.check().map_err(|faults| faults[0].to_string())?);
/// let letters: String = chased.order.iter().map(|product| ['A', 'B', 'C'][*product]).collect();
/// assert_eq!(letters, "CBACBCCABC");
/// assert!((chased.sum - 4.15).abs() < 1e-9);
/// # Ok::<(), String>(())
/// ```
pub fn goal_chasing(checked: &CheckedDemand) -> Chased {
    let mut distances = Vec::new();
    let (order, sum) = chase(checked, &mut |all| {
        let told = |far: &Option<i128>| far.map(|far| checked.per_square(far).sqrt());
        distances.push(all.iter().map(told).collect());
    });
    Chased {
        order,
        distances,
        sum: checked.per_square(sum),
    }
}

/// Order and sum of goal chasing alone.
pub(crate) fn chased(checked: &CheckedDemand) -> (Vec<usize>, f64) {
    let (order, sum) = chase(checked, &mut |_| {});
    (order, checked.per_square(sum))
}

/// Goal chasing; `seen` is called with what was compared in each place.
fn chase(checked: &CheckedDemand, seen: &mut dyn FnMut(&[Option<i128>])) -> (Vec<usize>, i128) {
    let first = &checked.demand.first;
    let mut left = checked.demand.cars.clone();
    let mut used = vec![0; checked.part_totals.len()];
    let (mut order, mut sum) = (Vec::new(), 0);
    for place in 1..=checked.total {
        let distance = |product: usize| {
            let mut with = used.clone();
            checked.add(&mut with, product);
            checked.distance(place, &with)
        };
        let stays = first.get(order.len()).copied();
        let open = |product: usize| left[product] > 0 && stays.is_none_or(|stays| stays == product);
        let all: Vec<Option<i128>> = (0..left.len())
            .map(|product| open(product).then(|| distance(product)))
            .collect();
        let open = all.iter().enumerate();
        let nearest = open.filter_map(|(at, far)| far.map(|far| (far, at))).min();
        let Some((far, product)) = nearest else {
            break;
        };
        seen(&all);
        sum += far;
        left[product] -= 1;
        checked.add(&mut used, product);
        order.push(product);
    }
    (order, sum)
}

/// The best order: the shortest way through the counts where they are few
/// enough, else goal chasing bettered by small changes. Never worse than goal
/// chasing.
///
/// ```
/// use sequence::level::{Demand, level};
/// use sequence::{Settings, Watch};
///
/// // Monden's example: goal chasing comes to 4.15, which nothing is below.
/// let demand = Demand {
///     cars: vec![2, 3, 5],
///     uses: vec![vec![1, 0, 1, 1], vec![1, 1, 0, 1], vec![0, 1, 1, 0]],
///     first: Vec::new(),
/// };
/// let checked = demand.check().map_err(|faults| faults[0].to_string())?;
/// let best = level(&checked, &Settings::quick(1), &Watch::none());
/// assert!(best.proven && (best.sum - 4.15).abs() < 1e-9);
/// # Ok::<(), String>(())
/// ```
pub fn level(checked: &CheckedDemand, settings: &Settings, watch: &Watch<'_>) -> Levelled {
    if let Some(order) = shortest_way(checked, watch) {
        return Levelled {
            sum: checked.summed(&order),
            order,
            proven: true,
        };
    }
    let chased = goal_chasing(checked);
    let bettered = bettered(&checked.demand, &chased.order, settings, watch);
    let order = match bettered {
        Some(order) if checked.summed(&order) < chased.sum => order,
        _ => chased.order,
    };
    Levelled {
        sum: checked.summed(&order),
        order,
        proven: false,
    }
}

/// The lattice of counts behind the first cars: as many ways lead to a count as
/// there are orders of the cars up to it, and all of them use the same.
fn shortest_way(checked: &CheckedDemand, watch: &Watch<'_>) -> Option<Vec<usize>> {
    let Demand { uses, first, .. } = &checked.demand;
    let left = checked.left();
    let mut strides = Vec::new();
    let mut size: usize = 1;
    for cars in &left {
        strides.push(size);
        size = size.checked_mul(*cars as usize + 1)?;
        if size > MOST_COUNTS {
            return None;
        }
    }
    let mut used_before = vec![0; checked.part_totals.len()];
    for product in first {
        checked.add(&mut used_before, *product);
    }
    let mut least = vec![i128::MAX; size];
    // By counts the product that was added last.
    let mut last = vec![0_u16; size];
    least[0] = 0;
    let mut counts = vec![0_u32; strides.len()];
    let mut used = used_before.clone();
    // Counts in rising order: all with one car less come first.
    for at in 1..size {
        if at % 65_536 == 0 && watch.cancelled() {
            return None;
        }
        advance(&mut counts, &left);
        let mut place = first.len() as i128;
        used.clone_from(&used_before);
        for (count, uses) in counts.iter().zip(uses) {
            place += i128::from(*count);
            for (used, each) in used.iter_mut().zip(uses) {
                *used += i128::from(*count) * i128::from(*each);
            }
        }
        let before = (0..strides.len())
            .filter(|product| counts[*product] > 0)
            .map(|product| (least[at - strides[product]], product));
        let (so_far, product) = before.min()?;
        least[at] = so_far + checked.distance(place, &used);
        last[at] = product as u16;
    }
    let mut order = Vec::new();
    let mut at = size - 1;
    while at > 0 {
        let product = usize::from(last[at]);
        order.push(product);
        at -= strides[product];
    }
    order.extend(first.iter().rev());
    order.reverse();
    Some(order)
}

/// The next counts, the first product turning fastest.
fn advance(counts: &mut [u32], most: &[u32]) {
    for (count, most) in counts.iter_mut().zip(most) {
        if *count < *most {
            *count += 1;
            return;
        }
        *count = 0;
    }
}

fn bettered(
    demand: &Demand,
    order: &[usize],
    settings: &Settings,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let problem = Problem {
        classes: demand
            .cars
            .iter()
            .enumerate()
            .map(|(at, cars)| Class {
                name: at.to_string(),
                count: *cars,
                options: Vec::new(),
                colour: None,
            })
            .collect(),
        level: Level {
            weight: 1,
            parts: (0..demand.parts())
                .map(|part| Part {
                    name: part.to_string(),
                    per_car: demand.uses.iter().map(|uses| uses[part]).collect(),
                })
                .collect(),
        },
        frozen: demand.first.clone(),
        ..Problem::empty()
    };
    let checked = problem.check().ok()?;
    let row: Vec<u16> = order.iter().map(|product| *product as u16).collect();
    let found = search(
        &checked,
        settings,
        Begin::Good(&row),
        &bound(&checked),
        watch,
    );
    Some(
        found
            .row
            .iter()
            .map(|product| usize::from(*product))
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three products, each a part of its own.
    fn demand() -> Demand {
        Demand {
            cars: vec![2, 3, 5],
            uses: vec![vec![1, 0, 0], vec![0, 1, 0], vec![0, 0, 1]],
            first: Vec::new(),
        }
    }

    #[test]
    fn cars_that_stay_come_first_and_the_rest_is_chased_behind_them() {
        let held = Demand {
            first: vec![0, 0],
            ..demand()
        };
        let held = held.check().unwrap();
        let chased = goal_chasing(&held);
        assert_eq!(chased.order[..2], [0, 0]);
        assert!(!chased.order[2..].contains(&0));
        assert_eq!(held.sum_of(&chased.order), Ok(chased.sum));
        let best = level(&held, &Settings::quick(1), &Watch::none());
        assert_eq!(best.order[..2], [0, 0]);
        assert!(best.proven && best.sum <= chased.sum);
        let free = level(
            &demand().check().unwrap(),
            &Settings::quick(1),
            &Watch::none(),
        );
        assert!(free.sum < best.sum);
    }

    #[test]
    fn a_demand_that_makes_no_sense_is_refused_and_never_levelled() {
        let refused = |change: &dyn Fn(&mut Demand)| {
            let mut demand = demand();
            change(&mut demand);
            demand.check().unwrap_err()[0].place.clone()
        };
        assert_eq!(refused(&|demand| demand.uses[1] = vec![1]), "uses[1]");
        assert_eq!(refused(&|demand| drop(demand.uses.pop())), "uses");
        assert_eq!(refused(&|demand| demand.first = vec![1, 3]), "first[1]");
        assert_eq!(refused(&|demand| demand.first = vec![0, 0, 0]), "first[2]");
        assert_eq!(refused(&|demand| demand.cars[0] = 20_000), "cars");
        let heavy = |demand: &mut Demand| {
            demand.cars[0] = 9_000;
            demand.uses[0][0] = u32::MAX;
            demand.uses[1][0] = u32::MAX;
        };
        assert!(
            demand().check().is_ok() && refused(&heavy) == "uses",
            "sums past 128 bits"
        );
    }

    #[test]
    fn an_order_of_other_cars_has_no_sum() {
        let demand = demand().check().unwrap();
        let place = |order: &[usize]| demand.sum_of(order).unwrap_err().place;
        assert_eq!(place(&[0, 1, 7]), "order[2]");
        assert_eq!(place(&[0, 0, 0]), "order[2]");
        assert_eq!(place(&[0, 1, 2]), "order");
    }
}
