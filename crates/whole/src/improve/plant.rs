//! Variants of a plant, each run with the same luck and never twice.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};

use book::raw::Workbook;
use book::{Idea, Problem};
use flow::model::Network;
use flow::{Plan, Progress, Settings, WarmUp, Watch};
use serde::{Deserialize, Serialize};

use crate::calendar::WEEK;
use crate::change::carried_out;
use crate::findings::measure::Stopped;
use crate::network::{self, Built};

/// What a variant made in a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Seen {
    /// Cars a week.
    pub cars: f64,
    /// Days from coil to car that nine cars in ten keep.
    pub days: f64,
    /// Whether it locked itself up.
    pub locked: bool,
}

/// The runs of one variant by number.
type OfVariant = BTreeMap<u32, Seen>;

/// All runs made so far, by what was run: a question asked again, or another
/// about the same variants, goes on from there. Holds across books, since a
/// variant is known by its network.
#[derive(Debug, Default)]
pub struct Memory {
    runs: Mutex<BTreeMap<u64, OfVariant>>,
    /// Nothing more is run.
    closed: bool,
}

impl Memory {
    /// The runs as JSON, for a file.
    ///
    /// # Errors
    /// None in practice: plain numbers can be written.
    pub fn to_json(&self) -> serde_json::Result<String> {
        serde_json::to_string(&*self.held())
    }

    /// Runs that [`Memory::to_json`] wrote.
    ///
    /// # Errors
    /// When the text is something else.
    pub fn from_json(text: &str) -> serde_json::Result<Self> {
        Ok(Self {
            runs: Mutex::new(serde_json::from_str(text)?),
            closed: false,
        })
    }

    /// The same runs and no more: a question that needs another stops, as if it were
    /// cancelled.
    #[must_use]
    pub fn closed(self) -> Self {
        Self {
            closed: true,
            ..self
        }
    }

    fn held(&self) -> std::sync::MutexGuard<'_, BTreeMap<u64, OfVariant>> {
        // what a thread that broke off has left is whole runs
        self.runs
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn get(&self, key: u64, run: u32) -> Option<Seen> {
        self.held().get(&key)?.get(&run).copied()
    }

    fn put(&self, key: u64, run: u32, seen: Seen) {
        let mut runs = self.held();
        if runs.len() >= MOST_VARIANTS && !runs.contains_key(&key) {
            runs.clear();
        }
        runs.entry(key).or_default().insert(run, seen);
    }
}

/// Variants remembered; beyond them all are forgotten.
const MOST_VARIANTS: usize = 20_000;

/// How variants are run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Terms {
    pub(super) seed: u64,
    /// Weeks measured in a run.
    pub(super) weeks: u32,
    pub(super) warm_up_s: f64,
}

/// A variant that can be run.
pub(super) struct Variant {
    plan: Plan,
    key: u64,
}

impl Variant {
    /// # Errors
    /// Faults of the network.
    pub(super) fn of(network: &Network, terms: &Terms) -> Result<Self, Stopped> {
        let plan = Plan::compile(network).map_err(Stopped::Faults)?;
        Ok(Self {
            plan,
            key: print_of(network, terms),
        })
    }

    /// Whether another runs the same network.
    pub(super) fn is(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

/// A hash of everything that a run depends on (FNV-1a over its text).
fn print_of(network: &Network, terms: &Terms) -> u64 {
    struct Hash(u64);
    impl std::fmt::Write for Hash {
        fn write_str(&mut self, text: &str) -> std::fmt::Result {
            for byte in text.bytes() {
                self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
            }
            Ok(())
        }
    }
    let mut hash = Hash(0xCBF2_9CE4_8422_2325);
    // hashing cannot fail
    let _ = write!(hash, "{terms:?} {network:?}");
    hash.0
}

/// Runs variants, remembers what they made, and counts.
pub(super) struct Runner<'a> {
    pub(super) terms: Terms,
    memory: &'a Memory,
    watch: &'a Watch<'a>,
    done: AtomicU32,
    /// Runs expected in all.
    of: AtomicU32,
}

impl<'a> Runner<'a> {
    pub(super) fn new(terms: Terms, memory: &'a Memory, watch: &'a Watch<'a>) -> Self {
        Self {
            terms,
            memory,
            watch,
            done: AtomicU32::new(0),
            of: AtomicU32::new(0),
        }
    }

    /// More runs are expected.
    pub(super) fn expect(&self, runs: u32) {
        self.of.fetch_add(runs, Ordering::Relaxed);
    }

    pub(super) fn cancelled(&self) -> bool {
        self.watch.cancel.load(Ordering::Relaxed)
    }

    /// Runs made or remembered.
    pub(super) fn done(&self) -> u32 {
        self.done.load(Ordering::Relaxed)
    }

    /// What a variant makes in a run; none where the watch says stop. The same
    /// whenever and wherever it is run.
    pub(super) fn run(&self, variant: &Variant, run: u32) -> Option<Seen> {
        if self.cancelled() {
            return None;
        }
        let seen = match self.memory.get(variant.key, run) {
            Some(seen) => seen,
            None if self.memory.closed => return None,
            None => {
                let seen = self.simulate(variant, run)?;
                self.memory.put(variant.key, run, seen);
                seen
            }
        };
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let of = self.of.load(Ordering::Relaxed).max(done);
        (self.watch.progress)(Progress { done, of });
        Some(seen)
    }

    fn simulate(&self, variant: &Variant, run: u32) -> Option<Seen> {
        let how = Settings {
            seed: seed_of(self.terms.seed, run),
            replications: 1,
            warm_up: WarmUp::Fixed(self.terms.warm_up_s),
            length_s: f64::from(self.terms.weeks) * WEEK.0,
            slabs: 1,
            precise: None,
            elasticities: false,
            banks: false,
            states: false,
        };
        let quiet = Watch {
            cancel: self.watch.cancel,
            progress: &|_| {},
        };
        // the settings are sound, so that only the flag ends it
        let outcome = flow::run(&variant.plan, &how, &quiet).ok()?;
        let first = |estimate: &flow::Estimate| estimate.each.first().copied().unwrap_or(0.0);
        Some(Seen {
            cars: first(&outcome.rate_per_h) * HOURS_PER_WEEK,
            days: first(&outcome.time_in_plant_s.p90) / DAY_S,
            locked: outcome.stuck.is_some(),
        })
    }
}

const HOURS_PER_WEEK: f64 = 168.0;
const DAY_S: f64 = 86_400.0;

/// A seed of its own for each run, the first being the user's.
fn seed_of(seed: u64, run: u32) -> u64 {
    seed.wrapping_add(u64::from(run).wrapping_mul(0x9E37_79B9_7F4A_7C15))
}

/// The network of a book with some ideas carried out.
///
/// # Errors
/// The errors of the changed book.
pub(super) fn with(workbook: &Workbook, ideas: &[&Idea]) -> Result<Built, Vec<Problem>> {
    let (_, book) = carried_out(workbook, ideas)?;
    network::build(&book)
}
