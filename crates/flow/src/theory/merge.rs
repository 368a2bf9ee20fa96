//! A merge: feeders that each make one kind of part, and an assembly that
//! needs one of each, as an exact Markov chain.
//!
//! Exponential times, feeders never short of work, blocking after service,
//! assembly never blocked.

use super::chain::Chain;
use super::{Refused, fits, positive};

/// How the assembly loads its parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loading {
    /// In one go, when all kinds are there.
    Together,
    /// The station holds a place for each kind and fills it as it arrives.
    AsTheyCome,
}

/// A merge.
#[derive(Clone, Debug, PartialEq)]
pub struct Merge {
    /// Rate of each feeder.
    pub feeders: Vec<f64>,
    /// Places between each feeder and the assembly.
    pub places: Vec<u16>,
    /// Rate of the assembly.
    pub assembly: f64,
    /// How it loads.
    pub loading: Loading,
}

/// Long-run figures of a merge.
#[derive(Clone, Debug, PartialEq)]
pub struct MergeFigures {
    /// Assemblies per unit of time.
    pub throughput: f64,
    /// Share of the time each feeder is blocked.
    pub blocked: Vec<f64>,
    /// Share of the time the assembly is idle and this kind is not there
    /// (others may be missing too).
    pub waits_for: Vec<f64>,
    /// States of the chain.
    pub states: usize,
}

/// Parts of each kind that have left the raw side: waiting, held by a blocked
/// feeder, or (loading as they come) in the assembly's own places; then, for
/// loading together, whether the assembly works.
type State = Vec<u16>;

impl Merge {
    /// Solves the chain.
    ///
    /// The merge with loading as they come has the throughput of a line
    /// feeder, assembly, feeder with blocking before service and two more
    /// places (Dallery, Liu & Towsley 1994 on equivalent fork-join networks,
    /// from memory); [`Loading::Together`] has no such twin.
    ///
    /// # Errors
    /// [`Refused`] when lists don't fit, a rate is not above 0, or the chain
    /// is too large.
    ///
    /// ```
    /// use flow::theory::merge::{Loading, Merge};
    /// let doors = Merge { feeders: vec![1.0, 1.0], places: vec![0, 0], assembly: 1.0, loading: Loading::Together };
    /// assert!((doors.figures()?.throughput - 6.0 / 11.0).abs() < 1e-15);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn figures(&self) -> Result<MergeFigures, Refused> {
        fits("places", self.places.len(), self.feeders.len())?;
        positive("feeders", self.feeders.len() as f64)?;
        positive("assembly rate", self.assembly)?;
        for &rate in &self.feeders {
            positive("feeder rate", rate)?;
        }
        let kinds = self.feeders.len();
        let empty = vec![0; kinds + 1];
        let steady = Chain::explore(empty, |s, moves| self.moves(s, moves))?.steady()?;
        let works = |s: &State| self.works(s);
        Ok(MergeFigures {
            throughput: self.assembly * steady.share(works),
            blocked: (0..kinds)
                .map(|k| steady.share(|s| s[k] == self.most(k)))
                .collect(),
            waits_for: (0..kinds)
                .map(|k| steady.share(|s| s[k] == 0 && !works(s)))
                .collect(),
            states: steady.states.len(),
        })
    }

    /// Content at which feeder `k` is blocked: all places and its own hands,
    /// and the assembly's place where it has one.
    fn most(&self, k: usize) -> u16 {
        self.places[k]
            + match self.loading {
                Loading::Together => 1,
                Loading::AsTheyCome => 2,
            }
    }

    fn works(&self, state: &State) -> bool {
        let kinds = self.feeders.len();
        match self.loading {
            Loading::Together => state[kinds] == 1,
            Loading::AsTheyCome => state[..kinds].iter().all(|&parts| parts > 0),
        }
    }

    fn moves(&self, state: &State, moves: &mut Vec<(State, f64)>) {
        let kinds = self.feeders.len();
        for (k, &rate) in self.feeders.iter().enumerate() {
            if state[k] < self.most(k) {
                let mut next = state.clone();
                next[k] += 1;
                moves.push((self.loaded(next), rate));
            }
        }
        if self.works(state) {
            let mut next = state.clone();
            match self.loading {
                Loading::Together => next[kinds] = 0,
                Loading::AsTheyCome => next[..kinds].iter_mut().for_each(|parts| *parts -= 1),
            }
            moves.push((self.loaded(next), self.assembly));
        }
    }

    /// Loading together: takes one of each as soon as it can.
    fn loaded(&self, mut state: State) -> State {
        let kinds = self.feeders.len();
        if self.loading == Loading::Together
            && state[kinds] == 0
            && state[..kinds].iter().all(|&parts| parts > 0)
        {
            state[..kinds].iter_mut().for_each(|parts| *parts -= 1);
            state[kinds] = 1;
        }
        state
    }
}
