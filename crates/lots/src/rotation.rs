//! Lots in closed form: one item alone, and the rotation cycle, in which every
//! item of a line is made once.

use crate::model::Job;
use crate::programme::Lengths;

/// A lot of one item that has its line to itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EconomicLot {
    /// Pieces in a lot.
    pub lot: f64,
    /// Days between the starts of lots.
    pub every_days: f64,
    /// Days that a lot runs.
    pub run_days: f64,
    /// Most pieces in stock.
    pub peak_stock: f64,
    /// Money a day for changeovers and keeping.
    pub cost_per_day: f64,
}

/// The economic lot of one item alone: Harris (1913) for a lot that arrives at
/// once, Taft (1918) for one that is made at `make_per_day` while it is used at
/// `rate_per_day`:
///
/// ```text
/// lot = sqrt(2 changeover_cost rate / (hold (1 - rate / make)))
/// ```
///
/// A published exercise (University of Southampton, operational research,
/// 10,000 ball bearings a day of 25,000 made, 0.02 a year of 365 days to hold
/// one, 18 to set up) gives 104,642 bearings every 10.46 days:
///
/// ```
/// let lot = lots::economic_lot(10_000.0, Some(25_000.0), 18.0, 0.02 / 365.0);
/// let lot = lot.ok_or("no lot")?;
/// assert_eq!(lot.lot.round(), 104_642.0);
/// assert!((lot.every_days - 10.464).abs() < 5e-4);
/// # Ok::<(), &str>(())
/// ```
///
/// None unless all figures are above 0 and `make_per_day`, where given, is
/// above `rate_per_day`.
pub fn economic_lot(
    rate_per_day: f64,
    make_per_day: Option<f64>,
    changeover_cost: f64,
    hold_cost_per_day: f64,
) -> Option<EconomicLot> {
    let load = make_per_day.map_or(0.0, |make| rate_per_day / make);
    let sound = |value: f64| value > 0.0 && value.is_finite();
    let all = [rate_per_day, changeover_cost, hold_cost_per_day];
    if !all.into_iter().all(sound) || !(0.0..1.0).contains(&load) {
        return None;
    }
    let hold = hold_cost_per_day * (1.0 - load);
    let lot = (2.0 * changeover_cost * rate_per_day / hold).sqrt();
    Some(EconomicLot {
        lot,
        every_days: lot / rate_per_day,
        run_days: lot / rate_per_day * load,
        peak_stock: lot * (1.0 - load),
        cost_per_day: (2.0 * changeover_cost * rate_per_day * hold).sqrt(),
    })
}

/// The rotation cycle of one line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rotation {
    pub(crate) days: f64,
    pub(crate) cost: f64,
}

/// A rotation cycle that its limits on cover forbid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Floor {
    /// Days of the shortest cycle that changeovers and runs fit into; infinite
    /// when the runs alone fill the line.
    pub(crate) least_days: f64,
    /// Days of the longest cycle that keeps every limit.
    pub(crate) most_days: f64,
    /// The position of the job with the tightest limit.
    pub(crate) tightest: usize,
}

/// Days of the shortest cycle that holds every changeover and every run.
pub(crate) fn least_days(jobs: &[Job]) -> f64 {
    let load: f64 = jobs.iter().map(|job| job.load).sum();
    let changeovers: f64 = jobs.iter().map(|job| job.changeover).sum();
    if load < 1.0 {
        changeovers / (1.0 - load)
    } else {
        f64::INFINITY
    }
}

/// `T = sqrt(sum of costs / sum of carry)`, not below what the changeovers need
/// (Hanssmann 1962; Elmaghraby 1978) nor above the tightest limit on cover.
pub(crate) fn of(jobs: &[Job]) -> Result<Rotation, Floor> {
    let cost: f64 = jobs.iter().map(|job| job.cost).sum();
    let carry: f64 = jobs.iter().map(|job| job.carry).sum();
    let least = least_days(jobs);
    let tightest = (0..jobs.len())
        .min_by(|a, b| jobs[*a].most.total_cmp(&jobs[*b].most))
        .unwrap_or(0);
    let most = jobs.get(tightest).map_or(f64::INFINITY, |job| job.most);
    if least > most {
        return Err(Floor {
            least_days: least,
            most_days: most,
            tightest,
        });
    }
    let best = if carry > 0.0 {
        (cost / carry).sqrt()
    } else {
        most
    };
    let days = best.clamp(least, most);
    Ok(Rotation {
        days,
        cost: cost / days + carry * days,
    })
}

/// Starts of the runs in a sequence that names each job once; what time is left
/// is shared out between the lots, so that rounding finds room. None when the cycle does not fit with `margin` added to each
/// changeover and taken off each limit.
pub(crate) fn lengths(jobs: &[Job], sequence: &[u16], margin: f64) -> Option<Lengths> {
    let shifted = |job: &Job| Job {
        changeover: job.changeover + margin,
        most: job.most - margin,
        ..*job
    };
    let jobs: Vec<Job> = jobs.iter().map(shifted).collect();
    let rotation = of(&jobs).ok()?;
    let busy: f64 = jobs
        .iter()
        .map(|job| job.load * rotation.days + job.changeover)
        .sum();
    let pause = (rotation.days - busy).max(0.0) / jobs.len() as f64;
    let mut starts = Vec::with_capacity(sequence.len());
    let mut at = 0.0;
    for (n, item) in sequence.iter().enumerate() {
        let job = &jobs[usize::from(*item)];
        at += if n > 0 { job.changeover } else { 0.0 };
        starts.push(at);
        at += job.load * rotation.days + pause;
    }
    Some(Lengths {
        starts,
        cycle: rotation.days,
        cost: rotation.cost,
        over: 0.0,
    })
}
