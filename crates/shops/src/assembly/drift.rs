//! Heavy cars in a row at a post: how far past the station they end, and the
//! balance searched again where that is too far.

use balance::line::{Dense, Model, run_by_chance, worst_run};

use super::frame::{Frame, Node};
use super::mix;
use super::model::{AssemblyPost, AssemblyStation, Heavy, Stuck};
use super::place::Placing;
use super::work::{Doing, seconds, ticks};

/// Searches at most after the first, each with what ended too far made lighter.
const ROUNDS: usize = 4;

/// What a search found and which runs of it still end too far.
pub(super) struct Kept<T> {
    pub(super) found: T,
    pub(super) over: Vec<Stuck>,
}

/// Cars of a product, with an option or with none, as a post sees them.
#[derive(Clone, Debug, PartialEq)]
struct Run {
    product: usize,
    option: Option<String>,
    /// Seconds of such a car, and of one between them.
    with_s: f64,
    without_s: f64,
    /// As densely as they may come.
    at_most: u32,
    in_every: u32,
    /// Ticks from one car to the next at a unit.
    takt: u32,
}

/// The most ticks that cars of a product with an option may take at a post.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Limit {
    product: usize,
    option: Option<String>,
    ticks: u32,
    /// Whether it holds whatever the cars between take.
    surely: bool,
}

impl Placing<'_> {
    /// The option or product whose cars in a row end furthest past takt.
    pub(super) fn heavy(&self, tasks: &[usize]) -> Option<Heavy> {
        let mut worst: Option<Heavy> = None;
        for run in self.runs(tasks) {
            let heavy = self.told_run(&run);
            if worst.as_ref().is_none_or(|w| w.past_s < heavy.past_s) {
                worst = Some(heavy);
            }
        }
        worst
    }

    /// All cars that are heavier than takt at a post with these tasks.
    fn runs(&self, tasks: &[usize]) -> Vec<Run> {
        let units = tasks
            .iter()
            .filter_map(|t| self.work.parallel(*t, &self.doing[*t]));
        let takt = ticks(self.work.takt_s) * units.max().unwrap_or(1);
        let options = tasks
            .iter()
            .filter_map(|t| self.work.tasks[*t].option.as_deref())
            .map(Some);
        let mut options: Vec<Option<&str>> = options.chain([None]).collect();
        options.sort_unstable();
        options.dedup();
        let products = 0..self.book.products.len();
        let pairs = products.flat_map(|product| options.iter().map(move |o| (product, *o)));
        pairs
            .filter_map(|(product, option)| self.run(tasks, product, option, takt))
            .collect()
    }

    /// A product's cars with an option; none where they are no heavier than takt.
    fn run(&self, tasks: &[usize], product: usize, option: Option<&str>, takt: u32) -> Option<Run> {
        let time = |task: &usize| self.doing[*task].way().map_or(0.0, |way| way.seconds);
        let of = |with: Option<&str>| {
            let own = tasks.iter().filter(|t| self.on(**t, product, with));
            own.map(time).sum::<f64>()
        };
        let (with_s, without_s) = (of(option), of(None));
        if ticks(with_s) <= takt {
            return None;
        }
        let own = &self.book.products[product];
        let row = option.and_then(|option| mix::option_row(self.book, option, &own.product));
        if option.is_some() && row.is_none() {
            return None;
        }
        let products = self.book.products.iter();
        let all: f64 = products.map(|row| row.cars_per_week.0).sum();
        let share = own.cars_per_week.0 / all.max(1.0) * row.map_or(1.0, |row| row.share.0);
        let rule = row.and_then(|row| row.at_most.zip(row.in_every));
        let (at_most, in_every) = rule.unwrap_or_else(|| {
            let run = run_by_chance((share * 1_000.0).round() as u32, all as u64).clamp(1, 50);
            (run, 2 * run)
        });
        Some(Run {
            product,
            option: option.map(str::to_owned),
            with_s,
            without_s,
            at_most,
            in_every,
            takt,
        })
    }

    /// Whether a product's cars with an option have a task.
    fn on(&self, task: usize, product: usize, option: Option<&str>) -> bool {
        let row = self.work.tasks[task];
        let product = &self.book.products[product].product;
        row.product.as_ref().is_none_or(|own| own == product)
            && (row.option.is_none() || row.option.as_deref() == option)
    }

    /// Seconds past takt at which the worst run ends with so many ticks a car.
    fn past_s(&self, run: &Run, ticks_with: u32, between: u32) -> f64 {
        let dense = Dense {
            ticks: ticks_with,
            at_most: run.at_most,
            in_every: run.in_every,
        };
        // Two windows of the rule side by side show the worst start.
        let length = 2 * run.in_every as usize;
        seconds(worst_run(&[dense], between, run.takt, length).furthest)
    }

    fn past_m(&self, past_s: f64) -> f64 {
        past_s / self.work.takt_s * self.book.plant.pitch_m.value.0
    }

    fn holds(&self, past_s: f64) -> bool {
        self.past_m(past_s) <= self.book.plant.drift_m.value.0
    }

    fn told_run(&self, run: &Run) -> Heavy {
        let between = ticks(run.without_s).min(self.frame.cycle);
        let past_s = self.past_s(run, ticks(run.with_s), between);
        Heavy {
            cars: self.cars_of(run),
            seconds: run.with_s,
            past_s,
            past_m: self.past_m(past_s),
            holds: self.holds(past_s),
        }
    }

    fn cars_of(&self, run: &Run) -> String {
        let product = &self.book.products[run.product].product;
        match &run.option {
            Some(option) => format!("{product} with {option}"),
            None => product.clone(),
        }
    }

    /// What a search finds, searched again with the cars lighter that end too far
    /// past a station, until none do or nothing more can be made lighter. Where
    /// some always do, what had the fewest such posts, which are named.
    pub(super) fn within_drift<T>(
        &self,
        search: impl Fn(&Placing<'_>) -> Option<Result<T, Vec<Stuck>>>,
        stations: impl Fn(&T) -> &[AssemblyStation],
    ) -> Option<Result<Kept<T>, Vec<Stuck>>> {
        let first = match search(self)? {
            Ok(first) => first,
            Err(stuck) => return Some(Err(stuck)),
        };
        let mut over = self.too_far(stations(&first));
        let mut best = Kept {
            over: self.say(&over),
            found: first,
        };
        let mut limits: Vec<Limit> = Vec::new();
        for _ in 0..ROUNDS {
            if best.over.is_empty() || !self.tighten(&over, &mut limits) {
                break;
            }
            let frame = self.lighter(&limits);
            let lighter = Placing {
                frame: &frame,
                ..*self
            };
            let Some(Ok(next)) = search(&lighter) else {
                break;
            };
            if stations(&next).is_empty() {
                break;
            }
            over = self.too_far(stations(&next));
            if over.len() < best.over.len() {
                best = Kept {
                    over: self.say(&over),
                    found: next,
                };
            }
        }
        Some(Ok(best))
    }

    /// Posts of people whose worst run ends too far, with its tasks.
    fn too_far(&self, stations: &[AssemblyStation]) -> Vec<(String, Vec<usize>, Vec<Run>)> {
        let mut found = Vec::new();
        for station in stations {
            let far = |post: &&AssemblyPost| post.heavy.as_ref().is_some_and(|h| !h.holds);
            for post in station.posts.iter().filter(far) {
                let names = post.work.iter().map(|one| one.task.as_str());
                let place = |name| self.work.tasks.iter().position(|task| task.task == name);
                let tasks: Vec<usize> = names.filter_map(place).collect();
                let mut runs = self.runs(&tasks);
                runs.retain(|run| !self.told_run(run).holds);
                let name = station.station.clone();
                let name = name.unwrap_or_else(|| format!("station {}", station.number));
                found.push((name, tasks, runs));
            }
        }
        found
    }

    /// Gives the cars that end too far a limit, or a lower one; whether that
    /// changed any.
    fn tighten(&self, over: &[(String, Vec<usize>, Vec<Run>)], limits: &mut Vec<Limit>) -> bool {
        let mut changed = false;
        for run in over.iter().flat_map(|(.., runs)| runs) {
            let same =
                |limit: &&mut Limit| limit.product == run.product && limit.option == run.option;
            let known = limits.iter_mut().find(same);
            let surely = known.is_some();
            let between = if surely {
                self.frame.cycle
            } else {
                ticks(run.without_s).min(self.frame.cycle)
            };
            // At takt nothing drifts, so something below what they take holds.
            let (mut low, mut high) = (run.takt, ticks(run.with_s));
            while high - low > 1 {
                let middle = low.midpoint(high);
                if self.holds(self.past_s(run, middle, between)) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let one = Limit {
                product: run.product,
                option: run.option.clone(),
                // As one of several units sees it.
                ticks: (f64::from(low) * f64::from(ticks(self.work.takt_s)) / f64::from(run.takt))
                    as u32,
                surely,
            };
            match known {
                Some(known) if known.surely || known.ticks <= one.ticks => {}
                Some(known) => (*known, changed) = (one, true),
                None => {
                    limits.push(one);
                    changed = true;
                }
            }
        }
        changed
    }

    /// The line with each limit as a model of its own, which no car of the mix is:
    /// its times so much longer that a post within the overload keeps the limit.
    fn lighter(&self, limits: &[Limit]) -> Frame {
        let mut frame = self.frame.clone();
        let line = &mut frame.line;
        let most = u64::from(frame.cycle) * u64::from(1_000 + line.overload_per_mille) / 1_000;
        for limit in limits {
            let of = |(node, ticks): (&Node, &u32)| match node {
                Node::Task(task) if self.on(*task, limit.product, limit.option.as_deref()) => {
                    let longer = (u64::from(*ticks) * most).div_ceil(u64::from(limit.ticks.max(1)));
                    // What is too heavy by itself stands alone.
                    longer.min(most) as u32
                }
                _ => 0,
            };
            let nodes = frame.nodes.iter().zip(&line.work.ticks);
            line.models.push(Model {
                share: 0,
                ticks: nodes.map(of).collect(),
            });
        }
        frame
    }

    fn say(&self, over: &[(String, Vec<usize>, Vec<Run>)]) -> Vec<Stuck> {
        let drift = self.book.plant.drift_m.value.0;
        let post = |(station, tasks, runs): &(String, Vec<usize>, Vec<Run>)| {
            let worst = runs.iter().map(|run| (run, self.told_run(run)));
            let (run, heavy) = worst.max_by(|a, b| a.1.past_s.total_cmp(&b.1.past_s))?;
            let own = tasks
                .iter()
                .filter(|t| self.on(**t, run.product, run.option.as_deref()))
                .filter(|t| !matches!(self.doing[**t], Doing::Nobody));
            Some(Stuck {
                why: format!(
                    "no balance was found that keeps {} within the drift of {drift} m at \
                     {station}: they take {:.1} s, and the worst run of them ends {:.2} m past \
                     it; space them further apart in `options`, divide their work, or give a \
                     longer takt",
                    heavy.cars, heavy.seconds, heavy.past_m
                ),
                rows: own.map(|task| self.work.at(*task)).collect(),
            })
        };
        over.iter().filter_map(post).collect()
    }
}
