//! The corridor in which rate and time lie for a given number of jobs.
//!
//! Source: Hopp & Spearman, *Factory Physics*, chapter 7 (from memory).

use super::{Refused, positive};

/// A line seen from far away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corridor {
    /// Rate of the slowest station (all its units together).
    pub bottleneck_rate: f64,
    /// Time of a job through the empty line.
    pub raw_time: f64,
}

/// Rate and time of a line with a given number of jobs in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Jobs out per unit of time.
    pub throughput: f64,
    /// Time a job spends in the line.
    pub time: f64,
}

impl Corridor {
    /// A line with this bottleneck rate and this raw time.
    ///
    /// # Errors
    /// [`Refused`] when a number is not above 0.
    ///
    /// ```
    /// use flow::theory::factory::Corridor;
    /// let line = Corridor::new(0.4, 20.0)?;
    /// assert_eq!(line.critical_jobs(), 8.0);
    /// assert_eq!(line.best(5.0).throughput, 0.25);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn new(bottleneck_rate: f64, raw_time: f64) -> Result<Self, Refused> {
        Ok(Self {
            bottleneck_rate: positive("bottleneck rate", bottleneck_rate)?,
            raw_time: positive("raw time", raw_time)?,
        })
    }

    /// Jobs with which a line without variation just reaches its full rate.
    pub fn critical_jobs(&self) -> f64 {
        self.bottleneck_rate * self.raw_time
    }

    /// No variation: the most the line can do with `jobs` jobs in it.
    pub fn best(&self, jobs: f64) -> Pace {
        self.pace((jobs / self.raw_time).min(self.bottleneck_rate), jobs)
    }

    /// All jobs move as one batch: the least it can do.
    pub fn worst(&self, jobs: f64) -> Pace {
        self.pace(1.0 / self.raw_time, jobs)
    }

    /// Balanced line of single exponential stations: the worst that chance
    /// alone does to a line.
    pub fn practical_worst(&self, jobs: f64) -> Pace {
        let share = jobs / (self.critical_jobs() + jobs - 1.0);
        self.pace(share * self.bottleneck_rate, jobs)
    }

    fn pace(&self, throughput: f64, jobs: f64) -> Pace {
        Pace {
            throughput,
            time: jobs / throughput,
        }
    }
}
