//! How long today's stations take a car, by product and option.

use balance::line::post_ends;
use book::Task;

use super::Standing;
use crate::assembly::mix;
use crate::assembly::today_told::{OptionCycle, ProductCycle, StationCycle};
use crate::assembly::work::{seconds, ticks};

/// Shares are counted in so many parts of a tick.
const PARTS: f64 = 10_000.0;

impl Standing<'_> {
    pub(super) fn cycles(&self) -> Vec<StationCycle> {
        (0..self.stations.len()).map(|at| self.cycle(at)).collect()
    }

    fn cycle(&self, at: usize) -> StationCycle {
        let book = self.placing.book;
        let of_product = |name: &str| ProductCycle {
            product: name.to_owned(),
            mean_s: self.takes(at, &|task| mix::on_product(book, task, name)),
            plain_s: self.takes(at, &|task| has(task, name, None)),
        };
        let busy = self.stations[at].posts.iter();
        StationCycle {
            station: self.placing.places[at].clone(),
            mean_s: self.takes(at, &|task| mix::on_all(book, task)),
            people: busy.filter(|post| !post.work.is_empty()).count() as u32,
            robots: self.robots[at].len() as u32,
            by_product: book
                .products
                .iter()
                .map(|row| of_product(&row.product))
                .collect(),
            by_option: self.by_option(at),
        }
    }

    fn by_option(&self, at: usize) -> Vec<OptionCycle> {
        let book = self.placing.book;
        let mut options: Vec<&str> = self
            .by_hand(at)
            .iter()
            .filter_map(|task| self.placing.work.tasks[*task].option.as_deref())
            .collect();
        options.sort_unstable();
        options.dedup();
        let mut cycles = Vec::new();
        for option in options {
            for row in &book.products {
                let share = mix::option_row(book, option, &row.product);
                if share.is_some_and(|row| row.share.0 > 0.0) {
                    cycles.push(OptionCycle {
                        option: option.to_owned(),
                        product: row.product.clone(),
                        cycle_s: self.takes(at, &|task| has(task, &row.product, Some(option))),
                    });
                }
            }
        }
        cycles
    }

    /// Seconds until the last post is done with a car that has each task to a
    /// share.
    pub(super) fn takes(&self, at: usize, share: &dyn Fn(&Task) -> f64) -> f64 {
        let ends = self.ends(at, share);
        let robots = self.cells(at).map(|cell| cell.seconds);
        ends.into_iter().chain(robots).fold(0.0, f64::max)
    }

    /// The same by post of people.
    pub(super) fn ends(&self, at: usize, share: &dyn Fn(&Task) -> f64) -> Vec<f64> {
        let placing = self.placing;
        let time = |node: usize| {
            let tasks = placing.frame.tasks(node, placing.doing);
            let each = tasks.iter().map(|task| {
                let own = placing.doing[*task]
                    .way()
                    .map_or(0, |way| ticks(way.seconds));
                (f64::from(own) * share(placing.work.tasks[*task]) * PARTS).round() as u64
            });
            each.sum::<u64>()
        };
        let ends = post_ends(&placing.frame.line, &self.stations[at], &time);
        ends.into_iter().map(|end| seconds(end) / PARTS).collect()
    }
}

/// Whether a product's car with an option, or none, has a task.
fn has(task: &Task, product: &str, option: Option<&str>) -> f64 {
    let own = task.product.as_deref().is_none_or(|own| own == product);
    let with = task.option.is_none() || task.option.as_deref() == option;
    f64::from(u8::from(own && with))
}
