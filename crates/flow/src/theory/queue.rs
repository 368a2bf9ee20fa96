//! One station fed by chance, and open networks of such stations.
//!
//! Arrivals are Poisson (single or in batches), the queue is served first come
//! first served and has no limit.

use super::linear::solve;
use super::{Refused, fits, positive, probability};

/// Long-run figures of a queue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Queue {
    /// Work offered per unit of capacity.
    pub load: f64,
    /// Share of arrivals that must wait.
    pub must_wait: f64,
    /// Mean jobs waiting (Lq).
    pub waiting: f64,
    /// Mean jobs waiting or in work (L).
    pub jobs: f64,
    /// Mean time waiting (Wq).
    pub wait: f64,
    /// Mean time waiting and in work (W).
    pub time: f64,
}

/// M/M/1: exponential services at `service_rate`.
///
/// Source: Erlang 1917; Kleinrock, *Queueing Systems* I, 1975 (from memory).
///
/// # Errors
/// [`Refused`] when a rate is not above 0 or the load is 1 or more.
///
/// ```
/// let queue = flow::theory::queue::mm1(0.5, 1.0)?;
/// assert_eq!((queue.jobs, queue.time), (1.0, 2.0));
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn mm1(arrival_rate: f64, service_rate: f64) -> Result<Queue, Refused> {
    mmc(arrival_rate, service_rate, 1)
}

/// Share of jobs whose time in an M/M/1 station is longer than `t`.
///
/// The time is exponential with rate `service_rate - arrival_rate`. Source:
/// Kleinrock 1975 (from memory).
///
/// # Errors
/// As [`mm1`].
pub fn mm1_longer_than(arrival_rate: f64, service_rate: f64, t: f64) -> Result<f64, Refused> {
    mm1(arrival_rate, service_rate)?;
    Ok(libm::exp(-(service_rate - arrival_rate) * t))
}

/// M/M/c: `units` like units side by side (Erlang C).
///
/// Source: Erlang 1917 (from memory).
///
/// # Errors
/// [`Refused`] when a rate is not above 0, there is no unit, or the load is 1
/// or more.
///
/// ```
/// let queue = flow::theory::queue::mmc(2.0, 3.0, 2)?;
/// assert!((queue.must_wait - 1.0 / 6.0).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn mmc(arrival_rate: f64, service_rate: f64, units: u32) -> Result<Queue, Refused> {
    positive("arrival rate", arrival_rate)?;
    positive("service rate", service_rate)?;
    positive("units", f64::from(units))?;
    let offered = arrival_rate / service_rate;
    let load = below_one(offered / f64::from(units))?;
    let must_wait = erlang_c(units, offered);
    let waiting = must_wait * load / (1.0 - load);
    let wait = waiting / arrival_rate;
    Ok(Queue {
        load,
        must_wait,
        waiting,
        jobs: waiting + offered,
        wait,
        time: wait + 1.0 / service_rate,
    })
}

/// Share of arrivals that must wait where `offered` units of work a unit of
/// time meet `units` units (Erlang C); 1 where the load is 1 or more.
///
/// By the recursion of Erlang's loss formula, which never overflows.
pub fn erlang_c(units: u32, offered: f64) -> f64 {
    let load = offered / f64::from(units);
    if load >= 1.0 {
        return 1.0;
    }
    let mut loss = 1.0;
    for k in 1..=units {
        loss = offered * loss / (f64::from(k) + offered * loss);
    }
    loss / (1.0 - load * (1.0 - loss))
}

/// M/D/1: every service lasts `service`.
///
/// # Errors
/// As [`mg1`].
pub fn md1(arrival_rate: f64, service: f64) -> Result<Queue, Refused> {
    mg1(arrival_rate, service, 0.0)
}

/// M/G/1: services of mean `service` and squared coefficient of variation
/// `scv`.
///
/// Source: Pollaczek 1930, Khinchine 1932 (from memory).
///
/// # Errors
/// [`Refused`] when a number is not above 0 or the load is 1 or more.
///
/// ```
/// // Uniform between 0.5 and 1.5 at load 0.8.
/// let queue = flow::theory::queue::mg1(0.8, 1.0, 1.0 / 12.0)?;
/// assert!((queue.wait - 13.0 / 6.0).abs() < 1e-14);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn mg1(arrival_rate: f64, service: f64, scv: f64) -> Result<Queue, Refused> {
    positive("arrival rate", arrival_rate)?;
    positive("mean service", service)?;
    super::within(
        "squared coefficient of variation",
        scv,
        scv >= 0.0,
        "0 or more",
    )?;
    let load = below_one(arrival_rate * service)?;
    let wait = load * service * (1.0 + scv) / (2.0 * (1.0 - load));
    Ok(Queue {
        load,
        must_wait: load,
        waiting: arrival_rate * wait,
        jobs: arrival_rate * wait + load,
        wait,
        time: wait + service,
    })
}

/// M^\[b\]/M/1: batches of `batch` jobs arrive at `batch_rate`, jobs are served
/// one by one at `service_rate`.
///
/// `must_wait` counts jobs, those behind others of their own batch included.
/// Source: Gross & Harris, *Fundamentals of Queueing Theory*, bulk input (from
/// memory).
///
/// # Errors
/// [`Refused`] when a number is not above 0 or the load is 1 or more.
///
/// ```
/// let queue = flow::theory::queue::batch_arrivals(5, 0.16, 1.0)?;
/// assert!((queue.jobs - 12.0).abs() < 1e-13);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn batch_arrivals(batch: u32, batch_rate: f64, service_rate: f64) -> Result<Queue, Refused> {
    positive("batch", f64::from(batch))?;
    positive("batch rate", batch_rate)?;
    positive("service rate", service_rate)?;
    let size = f64::from(batch);
    let job_rate = batch_rate * size;
    let load = below_one(job_rate / service_rate)?;
    let jobs = load * (size + 1.0) / (2.0 * (1.0 - load));
    Ok(Queue {
        load,
        // Only the first of a batch, finding the station free, starts at once.
        must_wait: 1.0 - (1.0 - load) / size,
        waiting: jobs - load,
        jobs,
        wait: (jobs - load) / job_rate,
        time: jobs / job_rate,
    })
}

/// A station of an open network.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenStation {
    /// Rate of arrivals from outside.
    pub from_outside: f64,
    /// Rate of exponential services of one unit.
    pub service_rate: f64,
    /// Units side by side.
    pub units: u32,
    /// Probability that a finished job goes to each station of the network;
    /// the rest leaves.
    pub goes_to: Vec<f64>,
}

/// An open network in steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenNetwork {
    /// Rate of visits to each station.
    pub rates: Vec<f64>,
    /// Each station as a queue of its own; times are those of one visit.
    pub stations: Vec<Queue>,
    /// Mean jobs in the network.
    pub jobs: f64,
    /// Mean time from entering the network to leaving it, over all visits.
    pub time: f64,
}

/// Open network with Poisson arrivals from outside, exponential services and
/// routing by chance: each station behaves as if alone.
///
/// Source: Jackson, Operations Research 5 (1957) 518 (from memory). A job that
/// returns at once to the queue it has left is a station that goes to itself
/// (M/M/1 with instantaneous feedback: Takacs 1963, from memory).
///
/// # Errors
/// [`Refused`] when lists don't fit, a number is out of range, a job can never
/// leave, or a station is overloaded.
///
/// ```
/// use flow::theory::queue::{OpenStation, open_network};
/// // One job in four fails at the main station and is repaired.
/// let main = OpenStation { from_outside: 0.6, service_rate: 1.0, units: 1, goes_to: vec![0.0, 0.25] };
/// let repair = OpenStation { from_outside: 0.0, service_rate: 0.3, units: 1, goes_to: vec![1.0, 0.0] };
/// let loop_ = open_network(&[main, repair])?;
/// assert!((loop_.time - 10.0).abs() < 1e-12);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn open_network(stations: &[OpenStation]) -> Result<OpenNetwork, Refused> {
    let n = stations.len();
    for station in stations {
        fits("routing row", station.goes_to.len(), n)?;
        for &share in &station.goes_to {
            probability("routing probability", share)?;
        }
        probability("sum of a routing row", station.goes_to.iter().sum())?;
    }
    // rate_i - sum over j of rate_j P_ji = arrivals from outside at i.
    let equations = (0..n)
        .map(|i| {
            let mut row: Vec<f64> = stations.iter().map(|from| -from.goes_to[i]).collect();
            row[i] += 1.0;
            row.push(stations[i].from_outside);
            row
        })
        .collect();
    let rates = solve(equations)?;
    let queues: Vec<Queue> = stations
        .iter()
        .zip(&rates)
        .map(|(station, &rate)| mmc(rate, station.service_rate, station.units))
        .collect::<Result<_, _>>()?;
    let entering: f64 = stations.iter().map(|s| s.from_outside).sum();
    let jobs = queues.iter().map(|q| q.jobs).sum();
    Ok(OpenNetwork {
        rates,
        stations: queues,
        jobs,
        time: jobs / positive("arrivals from outside", entering)?,
    })
}

fn below_one(load: f64) -> Result<f64, Refused> {
    if load < 1.0 {
        Ok(load)
    } else {
        Err(Refused::Overloaded { load })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_full_station_is_refused_with_its_load() {
        assert_eq!(mm1(2.0, 1.0), Err(Refused::Overloaded { load: 2.0 }));
        assert!(mg1(0.5, 1.0, -1.0).is_err());
    }

    #[test]
    fn a_batch_of_one_is_the_plain_queue() {
        let (one, plain) = (batch_arrivals(1, 0.8, 1.0).unwrap(), mm1(0.8, 1.0).unwrap());
        assert!((one.jobs - plain.jobs).abs() < 1e-12);
        assert!((one.must_wait - plain.must_wait).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn more_units_wait_less_and_more_work_waits_more(units in 1..60_u32, load in 0.01..0.98_f64) {
            let offered = load * f64::from(units);
            prop_assert!(erlang_c(units + 1, offered) < erlang_c(units, offered));
            prop_assert!(erlang_c(units, offered * 1.01) > erlang_c(units, offered));
        }

        #[test]
        fn littles_law_ties_counts_to_times(rate in 0.05..0.95_f64, scv in 0.0..4.0_f64) {
            let queue = mg1(rate, 1.0, scv).unwrap();
            prop_assert!((queue.jobs - rate * queue.time).abs() < 1e-12 * queue.jobs);
        }
    }
}
