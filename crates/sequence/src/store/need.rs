//! What it takes to restore the wanted order, and how much to hold back.

use super::{Disorder, RuleIn, RuleOut, Store, disorder, run};

/// What it takes to restore the wanted order in full.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// Lanes; with fewer no rule restores it.
    pub lanes: usize,
    /// Bodies to hold back before the first leaves: the longest wait for a body
    /// that is late. With fewer some body leaves before one that is wanted
    /// before it; each one more takes a place and gives nothing.
    pub hold: usize,
    /// Bodies in the store at once, whatever the lanes: those held back, and
    /// the one that arrives.
    pub bodies: usize,
    /// Places that the fullest of so many lanes takes, however long they are,
    /// when so many bodies are held back and go in by [`RuleIn::InOrder`] and out by [`RuleOut::NextWanted`].
    pub lane_places: usize,
}

/// Least lanes and places that restore the wanted order.
///
/// Two bodies the wrong way round can never share a lane, and the later one
/// arrives before the earlier may leave: as many lanes are needed as the
/// longest chain of bodies of which each is wanted before the one in front of
/// it, and so many are enough (Even & Itai 1971, "Queues, stacks, and graphs").
///
/// ```
/// let need = sequence::store::need(&[2, 0, 1, 3]);
/// assert_eq!((need.lanes, need.hold, need.bodies), (2, 1, 2));
/// ```
pub fn need(arriving: &[usize]) -> Need {
    let (lanes, hold) = (chain(arriving), longest_wait(arriving));
    let bodies = if arriving.is_empty() { 0 } else { hold + 1 };
    Need {
        lanes,
        hold,
        bodies,
        lane_places: longest_lane(arriving, lanes, hold),
    }
}

impl Need {
    /// The fewest lanes of so many places each that restore the wanted order,
    /// with so many bodies held back as are needed.
    ///
    /// ```
    /// use sequence::store::need;
    ///
    /// // One body late by four: its followers wait in a lane of their own.
    /// let arriving = [1, 2, 3, 4, 0, 5];
    /// let need = need(&arriving);
    /// assert_eq!((need.lanes, need.lane_places), (2, 5));
    /// assert_eq!(need.lanes_of(&arriving, 2), 3);
    /// ```
    pub fn lanes_of(&self, arriving: &[usize], places: usize) -> usize {
        let restores = |lanes: &usize| self.restores(arriving, *lanes, places);
        // A lane for each body that is there at once is always enough.
        let mut lanes = self.lanes..self.bodies;
        lanes.find(restores).unwrap_or(self.bodies)
    }

    /// The fewest lanes that restore the wanted order, and the fewest places in
    /// each with which they still do by these rules.
    ///
    /// ```
    /// let arriving = [1, 2, 3, 4, 0, 5];
    /// let need = sequence::store::need(&arriving);
    /// assert_eq!(need.smallest(&arriving), (2, 4));
    /// ```
    pub fn smallest(&self, arriving: &[usize]) -> (usize, usize) {
        let least = self.bodies.div_ceil(self.lanes.max(1));
        let mut places = least..self.lane_places;
        let restores = |places: &usize| self.restores(arriving, self.lanes, *places);
        let places = places.find(restores).unwrap_or(self.lane_places);
        (self.lanes, places)
    }

    fn restores(&self, arriving: &[usize], lanes: usize, places: usize) -> bool {
        let store = Store {
            lanes,
            places,
            hold: self.hold,
        };
        let run = run(&store, arriving, RuleIn::InOrder, RuleOut::NextWanted);
        run.is_ok_and(|run| run.disorder.pairs == 0)
    }
}

/// The longest chain of bodies of which each is wanted before the one in front
/// of it, found by laying bodies into as few lanes as can be.
fn chain(arriving: &[usize]) -> usize {
    // The last body of each lane.
    let mut tails: Vec<usize> = Vec::new();
    for body in arriving {
        let behind = (0..tails.len()).filter(|lane| tails[*lane] < *body);
        match behind.max_by_key(|lane| tails[*lane]) {
            Some(lane) => tails[lane] = *body,
            None => tails.push(*body),
        }
    }
    tails.len()
}

/// How many bodies come before a late one beyond those wanted before it, at the
/// most.
fn longest_wait(arriving: &[usize]) -> usize {
    let mut came = vec![0; arriving.len()];
    for (beat, body) in arriving.iter().enumerate() {
        if let Some(came) = came.get_mut(*body) {
            *came = beat;
        }
    }
    let (mut latest, mut wait) = (0, 0);
    for (body, came) in came.iter().enumerate() {
        latest = latest.max(*came);
        wait = wait.max(latest.saturating_sub(body));
    }
    wait
}

/// Places that the fullest of so many lanes takes, however long they may be.
fn longest_lane(arriving: &[usize], lanes: usize, hold: usize) -> usize {
    let store = Store {
        lanes,
        places: arriving.len(),
        hold,
    };
    let run = run(&store, arriving, RuleIn::InOrder, RuleOut::NextWanted);
    run.map_or(0, |run| run.longest_lane)
}

/// How many bodies a store of so many lanes and places should hold back: the
/// fewest with which the least disorder is left, and what is left. Too few held
/// back let bodies go before one that is wanted before them; too many fill the
/// lanes, so that bodies go in behind others that are wanted after them.
///
/// ```
/// use sequence::store::{least_disorder, need};
///
/// let arriving = [1, 2, 3, 4, 0, 5, 6, 7, 9, 8];
/// let (hold, left) = least_disorder(2, 4, &arriving);
/// assert_eq!((hold, left.pairs), (need(&arriving).hold, 0));
/// ```
pub fn least_disorder(lanes: usize, places: usize, arriving: &[usize]) -> (usize, Disorder) {
    let mut best = (0, disorder(arriving));
    for hold in 0..(lanes * places).min(arriving.len().max(1)) {
        let store = Store {
            lanes,
            places,
            hold,
        };
        let run = run(&store, arriving, RuleIn::InOrder, RuleOut::NextWanted);
        let Ok(run) = run else {
            continue;
        };
        if run.disorder.pairs < best.1.pairs {
            best = (hold, run.disorder);
        }
    }
    best
}
