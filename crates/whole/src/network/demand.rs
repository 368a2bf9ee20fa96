//! Which cars each source releases.
//!
//! Worked backwards from the ends: a station serves a product when a link
//! that is open to the product leads to a station that does; and it makes as
//! many pieces a car as the merges below need.

use book::Problem;
use flow::model::{ClassIdx, Release};

use super::{Draft, Way, problem};

/// More pieces a car than this is a loop of links, not a plant.
const MOST_PIECES: u32 = 10_000;

impl Draft<'_> {
    pub(super) fn release_cars(&mut self) {
        let pieces = self.pieces_per_car();
        let mut served = vec![false; self.classes.products.len()];
        let reaches = self.reaches_an_end();
        for station in 0..self.book.stations.len() {
            if !self.releases(station) {
                continue;
            }
            let order = self.order_at(&pieces[station]);
            if order.is_empty() {
                let row = &self.book.stations[station];
                self.problems.push(Problem {
                    found: format!("no product passes from {} to an end", row.station),
                    expected: "a way to the last station for at least one product".into(),
                    mend: "add a link behind it, or widen the products of its links".into(),
                    ..problem("stations", "no-way-out", Some(row.at), "station")
                });
            }
            for (served, reaches) in served.iter_mut().zip(&reaches[station]) {
                *served |= *reaches;
            }
            self.network.stations[station].release = Some(Release::Order(order));
        }
        self.check_products(&served);
        self.check_dead_ends(&pieces);
    }

    /// The released classes: the plant's order without the products that the
    /// station does not serve, each as often as its pieces are needed.
    fn order_at(&self, pieces: &[u32]) -> Vec<ClassIdx> {
        let classes = &self.classes;
        let times = |class: &ClassIdx| pieces[classes.product_of[class.at()]] as usize;
        let places = classes.order.places.iter();
        places
            .flat_map(|class| std::iter::repeat_n(*class, times(class)))
            .collect()
    }

    /// For each station and product the pieces that a car needs from there; 0
    /// when the product does not pass.
    fn pieces_per_car(&self) -> Vec<Vec<u32>> {
        self.backwards(1, |link, pieces| {
            let needs = if self.joined[link] {
                self.network.links[link].needs
            } else {
                1
            };
            Some(pieces.saturating_mul(needs).min(MOST_PIECES))
        })
    }

    /// For each station and product whether it leaves the plant as a car, not
    /// as something joined to one.
    fn reaches_an_end(&self) -> Vec<Vec<bool>> {
        self.backwards(true, |link, reaches| {
            (!self.joined[link]).then_some(reaches)
        })
    }

    /// Works from the ends upwards: what a station has for a product is the
    /// most that `through` makes of what the stations below it have.
    fn backwards<T: Copy + Default + PartialOrd>(
        &self,
        end: T,
        through: impl Fn(usize, T) -> Option<T>,
    ) -> Vec<Vec<T>> {
        let products = self.classes.products.len();
        let stations = self.network.stations.len();
        let onward: Vec<usize> = (0..self.links.len())
            .filter(|&l| self.links[l].way != Way::Rework)
            .collect();
        let mut found = vec![vec![end; products]; stations];
        for &l in &onward {
            found[self.network.links[l].from.at()].fill(T::default());
        }
        // one pass a station reaches every source of a plant without loops
        for _ in 0..stations {
            let mut changed = false;
            for &l in onward.iter().rev() {
                let (from, to) = (
                    self.network.links[l].from.at(),
                    self.network.links[l].to.at(),
                );
                let below = found[to].clone();
                let above = found[from].iter_mut().zip(below);
                for (product, (above, below)) in self.classes.products.iter().zip(above) {
                    if below == T::default() || !self.serves(l, product) {
                        continue;
                    }
                    if let Some(value) = through(l, below)
                        && value > *above
                    {
                        *above = value;
                        changed = true;
                    }
                }
            }
            if !changed {
                break;
            }
        }
        found
    }

    fn check_products(&mut self, served: &[bool]) {
        for (product, _) in self
            .classes
            .products
            .iter()
            .zip(served)
            .filter(|(_, s)| !**s)
        {
            let at = self
                .book
                .products
                .iter()
                .find(|row| row.product == *product);
            self.problems.push(Problem {
                found: format!("no way through the plant for {product}"),
                expected: "links open to it from a source to an end".into(),
                mend: format!("add {product} to the products of the links it should take"),
                ..problem("products", "no-route", at.map(|row| row.at), "product")
            });
        }
    }

    /// A product must not be led where it cannot go on.
    fn check_dead_ends(&mut self, pieces: &[Vec<u32>]) {
        for l in 0..self.links.len() {
            let link = &self.network.links[l];
            let (from, to) = (link.from.at(), link.to.at());
            let stuck = (0..self.classes.products.len()).find(|&p| {
                let open = self.serves(l, &self.classes.products[p]);
                let goes = self.links[l].way == Way::Onward || self.links[l].way == Way::Rework;
                goes && open && pieces[from][p] > 0 && pieces[to][p] == 0
            });
            if let Some(product) = stuck {
                let product = &self.classes.products[product];
                let (at, below) = (self.links[l].at, &self.stations[to].name);
                self.problems.push(Problem {
                    found: format!("{product} is led to {below} and cannot leave it"),
                    expected: format!("a way on from {below} for {product}"),
                    mend: format!("open a link from {below} to {product}, or close this one to it"),
                    ..problem(at.table.name(), "dead-end", Some(at), "products")
                });
            }
        }
    }
}
