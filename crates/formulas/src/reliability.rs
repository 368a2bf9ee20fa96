//! Stops, repairs and what they leave of a line.

use units::{Count, Hours, Minutes, Seconds, Share};

use crate::declare::sheet;
use crate::range::{NOT_NEGATIVE, POSITIVE};

sheet! {
    shop "Reliability";

    /// Mean running time between failures as maximum likelihood estimates it. ISO 22400-2
    /// divides by failures plus one instead; say which one a figure is. Count running time
    /// only, not the calendar, where a unit fails only while it runs.
    fn mtbf_estimate "MTBF by maximum likelihood" (
        running_time: Hours, POSITIVE, "total running time";
        failures: Count, POSITIVE, "failures in it";
    ) -> { mtbf: Hours, "mean time between failures"; }
    is "mtbf = running_time / failures";
    source "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1 (exponential model)";
    { running_time / failures.0 }

    /// Mean time to repair as maximum likelihood estimates it.
    fn mttr_estimate "MTTR by maximum likelihood" (
        down_time: Hours, NOT_NEGATIVE, "total time down";
        failures: Count, POSITIVE, "repairs in it";
    ) -> { mttr: Hours, "mean time to repair"; }
    is "mttr = down_time / failures";
    source "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1 (exponential model)";
    { down_time / failures.0 }

    /// The exponential model fitted to running times of which some were cut off before a
    /// failure came. The cut-off ones count in time and not in failures.
    fn exponential_mtbf "MTBF with cut-off times" (
        failed: Vec<Hours>, POSITIVE, "running times that ended in a failure";
        censored: Vec<Hours>, NOT_NEGATIVE, "running times that ended otherwise";
    ) -> struct ExponentialMtbf {
        total_time: Hours, "all running time";
        mtbf: Hours, "mean time between failures";
    }
    is "total_time = sum(failed) + sum(censored); mtbf = total_time / count(failed)";
    source "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.2 and 8.4.5.1";
    {
        let total: Hours = failed.iter().chain(&censored).copied().sum();
        ExponentialMtbf {
            total_time: total,
            mtbf: total / failed.len() as f64,
        }
    }

    /// The share of time a unit can work when it fails and is repaired in turn.
    fn availability_from_mtbf "Availability from MTBF and MTTR" (
        mtbf: Minutes, POSITIVE, "mean time between failures";
        mttr: Minutes, NOT_NEGATIVE, "mean time to repair";
    ) -> { availability: Share, "share of time up"; }
    is "availability = mtbf / (mtbf + mttr)";
    source "Buzacott and Shanthikumar, Stochastic Models of Manufacturing Systems, 1993";
    { Share(mtbf / (mtbf + mttr)) }

    /// The availability of stations in a row without any buffer, by both assumptions. They
    /// are often mixed up, and part with the number of stations.
    fn line_availability "Availability of a line without buffers" (
        mtbf: Vec<Minutes>, POSITIVE, "mean time between failures of each station";
        mttr: Vec<Minutes>, NOT_NEGATIVE, "mean time to repair of each station";
    ) -> struct LineAvailability {
        fail_while_stopped: Share, "if stations fail by the clock, also while they stand";
        fail_while_working: Share, "if stations fail only while they work";
    }
    is "fail_while_stopped = product(mtbf / (mtbf + mttr)); \
        fail_while_working = 1 / (1 + sum(mttr / mtbf))";
    source "Buzacott, International Journal of Production Research 5, 1967; Gershwin, \
            Manufacturing Systems Engineering, 1994";
    needs "`mtbf` and `mttr` are of one length", mtbf.len() == mttr.len();
    {
        let pairs = || mtbf.iter().copied().zip(mttr.iter().copied());
        LineAvailability {
            fail_while_stopped: Share(pairs().map(|(up, down)| up / (up + down)).product()),
            fail_while_working: Share(
                1.0 / (1.0 + pairs().map(|(up, down)| down / up).sum::<f64>()),
            ),
        }
    }

    /// A cycle with its stops spread over the cars: what the station takes a car in the long
    /// run, if it fails only while it works.
    fn cycle_with_stops "Cycle with stops" (
        cycle: Seconds, POSITIVE, "cycle while running";
        mtbf: Minutes, POSITIVE, "mean running time between failures";
        mttr: Minutes, NOT_NEGATIVE, "mean time to repair";
    ) -> { cycle_with_stops: Seconds, "mean time a car, stops included"; }
    is "cycle_with_stops = cycle * (1 + mttr / mtbf)";
    source "Hopp and Spearman, Factory Physics, 1996 (effective process time)";
    { cycle * (1.0 + mttr / mtbf) }
}
