//! Lines of stations with few places between them, as exact Markov chains.
//!
//! Service times are exponential or Erlang; the first station is never short
//! of work and the last never blocked. Sources: Hunt, Operations Research 4
//! (1956) 674, for the exponential line; Hillier & Boling 1967 for the
//! numerical treatment (both from memory).

use super::chain::{Chain, Steady};
use super::{Refused, fits, positive};

/// When a station that has nowhere to put its job is blocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blocking {
    /// It works, then holds the finished job until a place is free. Places
    /// are those between the stations; the job in work is not counted.
    AfterService,
    /// It starts only when a place behind it is free. The place at which the
    /// station below works counts as one, so at least one is needed.
    BeforeService,
}

/// A station: Erlang service of `phases` phases (1 is exponential).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Service {
    /// Mean time of a job.
    pub mean: f64,
    /// Number of phases.
    pub phases: u16,
}

/// A line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The stations in order.
    pub services: Vec<Service>,
    /// Places behind each station but the last.
    pub places: Vec<u16>,
    /// When stations are blocked.
    pub blocking: Blocking,
}

/// Long-run figures of a line.
#[derive(Clone, Debug, PartialEq)]
pub struct LineFigures {
    /// Jobs out per unit of time.
    pub throughput: f64,
    /// Share of the time each station works.
    pub busy: Vec<f64>,
    /// Share of the time each station is blocked.
    pub blocked: Vec<f64>,
    /// Share of the time each station has nothing to do.
    pub starved: Vec<f64>,
    /// Mean jobs at the places between stations (with blocking before service
    /// the job in work below is among them).
    pub waiting: Vec<f64>,
    /// Mean jobs in the line, at stations and between. With blocking before
    /// service the first station's raw job is not counted.
    pub jobs: f64,
    /// States of the chain.
    pub states: usize,
}

/// Station states: nothing to do, or in phase 1 to k, or (above) blocked.
const STARVED: u16 = 0;

/// What each station does, then what waits between.
type State = Vec<u16>;

impl Line {
    /// Exponential line, blocking after service, from service rates.
    ///
    /// ```
    /// use flow::theory::line::Line;
    /// let line = Line::exponential(&[1.0, 1.0, 1.0], &[0, 0]);
    /// assert!((line.figures()?.throughput - 22.0 / 39.0).abs() < 1e-15);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn exponential(rates: &[f64], places: &[u16]) -> Self {
        Self::of_means(rates.iter().map(|rate| 1.0 / rate), 1, places)
    }

    /// Line of like Erlang services (phases 1: exponential) from mean times,
    /// blocking after service.
    pub fn of_means(means: impl IntoIterator<Item = f64>, phases: u16, places: &[u16]) -> Self {
        Self {
            services: means
                .into_iter()
                .map(|mean| Service { mean, phases })
                .collect(),
            places: places.to_vec(),
            blocking: Blocking::AfterService,
        }
    }

    /// The same line with blocking before service.
    pub fn blocked_before_service(mut self) -> Self {
        self.blocking = Blocking::BeforeService;
        self
    }

    /// The line walked from its end to its start. Its throughput is the same
    /// (Yamazaki & Sakasegawa 1975; Muth 1979, from memory).
    pub fn reversed(mut self) -> Self {
        self.services.reverse();
        self.places.reverse();
        self
    }

    /// Solves the chain.
    ///
    /// # Errors
    /// [`Refused`] when lists don't fit, a time is not above 0, a line blocked
    /// before service has no place, or the chain is too large.
    pub fn figures(&self) -> Result<LineFigures, Refused> {
        self.check()?;
        let n = self.services.len();
        let start = match self.blocking {
            Blocking::AfterService => {
                let mut state = vec![0; 2 * n - 1];
                state[0] = 1;
                state
            }
            Blocking::BeforeService => self.woken(vec![0; 2 * n - 1]),
        };
        let chain = Chain::explore(start, |state, moves| self.moves(state, moves))?;
        Ok(self.measure(&chain.steady()?))
    }

    /// Jobs out per unit of time.
    ///
    /// # Errors
    /// As [`Line::figures`].
    pub fn throughput(&self) -> Result<f64, Refused> {
        Ok(self.figures()?.throughput)
    }

    /// Derivative of the throughput with respect to each mean time, by central
    /// differences on the exact chain (right to about 1e-9).
    ///
    /// # Errors
    /// As [`Line::figures`].
    pub fn gradient(&self) -> Result<Vec<f64>, Refused> {
        let shifted = |i: usize, by: f64| {
            let mut line = self.clone();
            line.services[i].mean += by;
            line.throughput()
        };
        (0..self.services.len())
            .map(|i| {
                let step = 1e-5 * self.services[i].mean;
                Ok((shifted(i, step)? - shifted(i, -step)?) / (2.0 * step))
            })
            .collect()
    }

    /// Gain of throughput from one more place behind each station but the
    /// last.
    ///
    /// # Errors
    /// As [`Line::figures`].
    pub fn gain_of_places(&self) -> Result<Vec<f64>, Refused> {
        let now = self.throughput()?;
        (0..self.places.len())
            .map(|i| {
                let mut line = self.clone();
                line.places[i] += 1;
                Ok(line.throughput()? - now)
            })
            .collect()
    }

    fn check(&self) -> Result<(), Refused> {
        positive("stations", self.services.len() as f64)?;
        fits("places", self.places.len(), self.services.len() - 1)?;
        for service in &self.services {
            positive("mean time", service.mean)?;
            positive("phases", f64::from(service.phases))?;
        }
        if self.blocking == Blocking::BeforeService {
            for &places in &self.places {
                positive("places with blocking before service", f64::from(places))?;
            }
        }
        Ok(())
    }

    fn blocked_mark(&self, i: usize) -> u16 {
        self.services[i].phases + 1
    }

    fn moves(&self, state: &State, moves: &mut Vec<(State, f64)>) {
        for (i, service) in self.services.iter().enumerate() {
            let phase = state[i];
            if phase == STARVED || phase > service.phases {
                continue;
            }
            let mut next = state.clone();
            if phase < service.phases {
                next[i] = phase + 1;
            } else {
                next = match self.blocking {
                    Blocking::AfterService => {
                        self.finish(&mut next, i);
                        next
                    }
                    Blocking::BeforeService => self.hand_on(next, i),
                };
            }
            moves.push((next, f64::from(service.phases) / service.mean));
        }
    }

    /// Blocking after service: the job leaves if it can.
    fn finish(&self, state: &mut State, i: usize) {
        let n = self.services.len();
        if i + 1 == n {
            self.refill(state, i);
        } else if state[i + 1] == STARVED {
            state[i + 1] = 1;
            self.refill(state, i);
        } else if state[n + i] < self.places[i] {
            state[n + i] += 1;
            self.refill(state, i);
        } else {
            state[i] = self.blocked_mark(i);
        }
    }

    /// Station `i` has just become free: it takes the next job, and every
    /// station above that was blocked moves up at the same instant.
    fn refill(&self, state: &mut State, i: usize) {
        let n = self.services.len();
        if i == 0 {
            state[0] = 1;
            return;
        }
        let above_blocked = state[i - 1] == self.blocked_mark(i - 1);
        let waiting = n + i - 1;
        if state[waiting] == 0 && !above_blocked {
            state[i] = STARVED;
            return;
        }
        state[i] = 1;
        // The blocked job takes the place set free, or comes hand to hand.
        if above_blocked {
            self.refill(state, i - 1);
        } else {
            state[waiting] -= 1;
        }
    }

    /// Blocking before service: the job moves to its reserved place.
    fn hand_on(&self, mut state: State, i: usize) -> State {
        let n = self.services.len();
        state[i] = STARVED;
        if i > 0 {
            state[n + i - 1] -= 1;
        }
        if i + 1 < n {
            state[n + i] += 1;
        }
        self.woken(state)
    }

    /// Starts every station that has a job and a place for it.
    fn woken(&self, mut state: State) -> State {
        let n = self.services.len();
        for i in 0..n {
            let has_job = i == 0 || state[n + i - 1] > 0;
            let has_place = i + 1 == n || state[n + i] < self.places[i];
            if state[i] == STARVED && has_job && has_place {
                state[i] = 1;
            }
        }
        state
    }

    fn measure(&self, steady: &Steady<State>) -> LineFigures {
        let n = self.services.len();
        let works = |s: &State, i: usize| s[i] >= 1 && s[i] <= self.services[i].phases;
        let blocked = |s: &State, i: usize| match self.blocking {
            Blocking::AfterService => s[i] == self.blocked_mark(i),
            Blocking::BeforeService => s[i] == STARVED && (i == 0 || s[n + i - 1] > 0),
        };
        let shares = |fits: &dyn Fn(&State, usize) -> bool| -> Vec<f64> {
            (0..n).map(|i| steady.share(|s| fits(s, i))).collect()
        };
        let busy = shares(&works);
        let waiting: Vec<f64> = (n..2 * n - 1)
            .map(|k| steady.mean(|s| f64::from(s[k])))
            .collect();
        let at_stations = match self.blocking {
            Blocking::AfterService => (0..n).map(|i| steady.share(|s| s[i] != STARVED)).sum(),
            Blocking::BeforeService => 0.0,
        };
        LineFigures {
            throughput: self.out_rate(steady),
            blocked: shares(&blocked),
            starved: shares(&|s, i| !works(s, i) && !blocked(s, i)),
            jobs: at_stations + waiting.iter().sum::<f64>(),
            busy,
            waiting,
            states: steady.states.len(),
        }
    }

    fn out_rate(&self, steady: &Steady<State>) -> f64 {
        let Some((last, service)) = self.services.iter().enumerate().next_back() else {
            return 0.0;
        };
        let in_last_phase = steady.share(|s| s[last] == service.phases);
        in_last_phase * f64::from(service.phases) / service.mean
    }
}

/// Throughput of two exponential stations with `places` between them, blocking
/// after service, in closed form: an M/M/1 queue cut off at places + 2.
///
/// Source: Hunt 1956 (from memory).
///
/// # Errors
/// [`Refused`] when a rate is not above 0.
///
/// ```
/// let out = flow::theory::line::two_stations(2.0, 1.0, 3)?;
/// assert!((out - 62.0 / 63.0).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn two_stations(first: f64, second: f64, places: u16) -> Result<f64, Refused> {
    let ratio = positive("first rate", first)? / positive("second rate", second)?;
    let mut weight = 1.0;
    let mut total = 1.0;
    for _ in 0..places + 2 {
        weight *= ratio;
        total += weight;
    }
    Ok(second * (1.0 - 1.0 / total))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_and_chain_agree() {
        for (a, b, places) in [(1.0, 2.0, 0), (2.0, 1.0, 3), (1.0, 1.25, 4), (1.0, 1.0, 1)] {
            let chain = Line::exponential(&[a, b], &[places]).throughput().unwrap();
            assert!((chain - two_stations(a, b, places).unwrap()).abs() < 1e-14);
        }
    }

    #[test]
    fn a_line_without_places_blocked_before_service_is_refused() {
        let line = Line::exponential(&[1.0, 1.0], &[0]).blocked_before_service();
        assert!(matches!(line.figures(), Err(Refused::OutOfRange { .. })));
    }

    #[test]
    fn lists_that_do_not_fit_are_refused() {
        let line = Line::exponential(&[1.0, 1.0], &[]);
        assert!(matches!(line.figures(), Err(Refused::Mismatch { .. })));
        let line = Line::exponential(&[], &[]);
        assert!(line.figures().is_err());
    }

    fn lines() -> impl Strategy<Value = Line> {
        (2..5_usize, 1..3_u16)
            .prop_flat_map(|(n, phases)| {
                (
                    prop::collection::vec(0.3..3.0_f64, n),
                    prop::collection::vec(0..3_u16, n - 1),
                    Just(phases),
                )
            })
            .prop_map(|(means, places, phases)| Line::of_means(means, phases, &places))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        #[test]
        fn a_reversed_line_has_the_same_throughput(line in lines()) {
            let there = line.throughput().unwrap();
            let back = line.reversed().throughput().unwrap();
            prop_assert!((there - back).abs() < 1e-12 * there, "{there} {back}");
        }

        #[test]
        fn one_more_place_never_lowers_the_throughput(line in lines()) {
            for gain in line.gain_of_places().unwrap() {
                prop_assert!(gain >= -1e-13, "{gain}");
            }
        }

        #[test]
        fn station_shares_add_to_one_and_rates_agree(line in lines()) {
            let figures = line.figures().unwrap();
            for (i, service) in line.services.iter().enumerate() {
                let sum = figures.busy[i] + figures.blocked[i] + figures.starved[i];
                prop_assert!((sum - 1.0).abs() < 1e-12);
                let rate = figures.busy[i] / service.mean;
                prop_assert!((rate - figures.throughput).abs() < 1e-12);
            }
        }

        #[test]
        fn the_line_is_slower_than_its_slowest_station(line in lines()) {
            let slowest = line.services.iter().map(|s| s.mean).fold(0.0, f64::max);
            prop_assert!(line.throughput().unwrap() < 1.0 / slowest);
        }
    }
}
