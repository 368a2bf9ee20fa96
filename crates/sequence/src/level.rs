//! Level use of parts by itself: goal chasing, and better.
//!
//! What an order uses depends on how many cars of each product stand before a
//! place, not on their order. The least sum is therefore a shortest way through
//! the lattice of counts (Bautista, Companys & Corominas 1996, "Heuristics and
//! exact algorithms for solving the Monden problem", EJOR 88, 101-113).

use crate::Fault;
use crate::cost::Cost;
use crate::model::{Class, Level, Part, Problem};
use crate::search::search;
use crate::walker::Begin;
use crate::watch::{Settings, Watch};

/// Products with their demand, and the parts each uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demand {
    /// Cars of each product.
    pub cars: Vec<u32>,
    /// By product, how many of each part a car uses.
    pub uses: Vec<Vec<u32>>,
}

/// An order by goal chasing.
#[derive(Clone, Debug, PartialEq)]
pub struct Chased {
    /// Products, car by car.
    pub order: Vec<usize>,
    /// For each place and product the distance that was compared; none for
    /// products that are used up.
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

    fn part_totals(&self) -> Vec<i128> {
        let of = |part: usize| {
            let each = self.uses.iter().zip(&self.cars);
            each.map(|(uses, cars)| i128::from(uses[part]) * i128::from(*cars))
                .sum()
        };
        (0..self.parts()).map(of).collect()
    }

    /// # Errors
    ///
    /// What makes no sense; never an empty list.
    pub fn check(&self) -> Result<(), Vec<Fault>> {
        let mut faults = Vec::new();
        if self.uses.len() != self.cars.len() {
            faults.push(Fault::new(
                "uses",
                format!("{} products", self.uses.len()),
                format!("the {} products of the demand", self.cars.len()),
                "add or drop products",
            ));
        }
        let parts = self.parts();
        for (at, uses) in self.uses.iter().enumerate() {
            if uses.len() != parts {
                faults.push(Fault::new(
                    format!("uses[{at}]"),
                    format!("{} parts", uses.len()),
                    format!("{parts} parts"),
                    "write 0 for parts that the product does not use",
                ));
            }
        }
        if self.total() > crate::model::MOST_CARS as i128 {
            faults.push(Fault::new(
                "cars",
                format!("{} cars", self.total()),
                format!("at most {}", crate::model::MOST_CARS),
                "order one day or week at a time",
            ));
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    /// Squared distance from the level line after `place` cars that used
    /// `used`, as a multiple of 1 / cars^2.
    fn distance(&self, place: i128, used: &[i128], totals: &[i128]) -> i128 {
        let cars = self.total();
        let of = |(used, total): (&i128, &i128)| {
            let far = cars * used - place * total;
            far * far
        };
        used.iter().zip(totals).map(of).sum()
    }

    fn per_square(&self, sum: i128) -> f64 {
        let cars = self.total().max(1) as f64;
        sum as f64 / (cars * cars)
    }

    /// The sum of squared distances of an order.
    pub fn sum_of(&self, order: &[usize]) -> f64 {
        let totals = self.part_totals();
        let mut used = vec![0; totals.len()];
        let mut sum = 0;
        for (at, product) in order.iter().enumerate() {
            for (used, each) in used.iter_mut().zip(&self.uses[*product]) {
                *used += i128::from(*each);
            }
            sum += self.distance(at as i128 + 1, &used, &totals);
        }
        self.per_square(sum)
    }
}

/// Goal chasing: each place gets the product that leaves the use of parts
/// nearest to the level line (Monden, Toyota Production System, appendix on the
/// sequencing method). Of products equally near, the one listed first.
///
/// ```
/// use sequence::level::{Demand, goal_chasing};
///
/// // Monden's example: products A, B, C, parts a1 to a4.
/// let demand = Demand {
///     cars: vec![2, 3, 5],
///     uses: vec![vec![1, 0, 1, 1], vec![1, 1, 0, 1], vec![0, 1, 1, 0]],
/// };
/// let chased = goal_chasing(&demand);
/// let letters: String = chased.order.iter().map(|product| ['A', 'B', 'C'][*product]).collect();
/// assert_eq!(letters, "CBACBCCABC");
/// assert!((chased.sum - 4.15).abs() < 1e-9);
/// ```
pub fn goal_chasing(demand: &Demand) -> Chased {
    let totals = demand.part_totals();
    let mut left = demand.cars.clone();
    let mut used = vec![0; totals.len()];
    let mut chased = Chased {
        order: Vec::new(),
        distances: Vec::new(),
        sum: 0.0,
    };
    let mut sum = 0;
    for place in 1..=demand.total() {
        let distance = |product: usize| {
            let with = used.iter().zip(&demand.uses[product]);
            let with: Vec<i128> = with.map(|(used, each)| used + i128::from(*each)).collect();
            demand.distance(place, &with, &totals)
        };
        let all: Vec<Option<i128>> = (0..left.len())
            .map(|product| (left[product] > 0).then(|| distance(product)))
            .collect();
        let open = all.iter().enumerate();
        let nearest = open.filter_map(|(at, far)| far.map(|far| (far, at))).min();
        let Some((far, product)) = nearest else {
            break;
        };
        sum += far;
        left[product] -= 1;
        for (used, each) in used.iter_mut().zip(&demand.uses[product]) {
            *used += i128::from(*each);
        }
        chased.order.push(product);
        let told = |far: &Option<i128>| far.map(|far| demand.per_square(far).sqrt());
        chased.distances.push(all.iter().map(told).collect());
    }
    chased.sum = demand.per_square(sum);
    chased
}

/// The best order: the shortest way through the counts where they are few
/// enough, else goal chasing bettered by small changes. Never worse than goal
/// chasing.
pub fn level(demand: &Demand, settings: &Settings, watch: &Watch<'_>) -> Levelled {
    if let Some(order) = shortest_way(demand, watch) {
        return Levelled {
            sum: demand.sum_of(&order),
            order,
            proven: true,
        };
    }
    let chased = goal_chasing(demand);
    let bettered = bettered(demand, &chased.order, settings, watch);
    let order = match bettered {
        Some(order) if demand.sum_of(&order) < chased.sum => order,
        _ => chased.order,
    };
    Levelled {
        sum: demand.sum_of(&order),
        order,
        proven: false,
    }
}

fn shortest_way(demand: &Demand, watch: &Watch<'_>) -> Option<Vec<usize>> {
    let mut strides = Vec::new();
    let mut size: usize = 1;
    for cars in &demand.cars {
        strides.push(size);
        size = size.checked_mul(*cars as usize + 1)?;
        if size > MOST_COUNTS {
            return None;
        }
    }
    let totals = demand.part_totals();
    let mut least = vec![i128::MAX; size];
    // By counts the product that was added last.
    let mut last = vec![0_u16; size];
    least[0] = 0;
    let mut counts = vec![0_u32; strides.len()];
    // Counts in rising order: all with one car less come first.
    for at in 1..size {
        if at % 65_536 == 0 && watch.cancelled() {
            return None;
        }
        advance(&mut counts, &demand.cars);
        let mut place = 0;
        let mut used = vec![0; totals.len()];
        for (count, uses) in counts.iter().zip(&demand.uses) {
            place += i128::from(*count);
            for (used, each) in used.iter_mut().zip(uses) {
                *used += i128::from(*count) * i128::from(*each);
            }
        }
        let before = (0..strides.len())
            .filter(|product| counts[*product] > 0)
            .map(|product| (least[at - strides[product]], product));
        let (so_far, product) = before.min()?;
        least[at] = so_far + demand.distance(place, &used, &totals);
        last[at] = product as u16;
    }
    let mut order = Vec::new();
    let mut at = size - 1;
    while at > 0 {
        let product = usize::from(last[at]);
        order.push(product);
        at -= strides[product];
    }
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
        ..Problem::empty()
    };
    let checked = problem.check().ok()?;
    let row: Vec<u16> = order.iter().map(|product| *product as u16).collect();
    let found = search(&checked, settings, Begin::Good(&row), &Cost::ZERO, watch);
    Some(
        found
            .row
            .iter()
            .map(|product| usize::from(*product))
            .collect(),
    )
}
