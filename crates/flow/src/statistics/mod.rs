//! Statistics of runs: intervals, warm-up, batch means, streaming quantiles.
//!
//! Plain functions on plain numbers; no knowledge of stations. What each
//! computes, and who published it, stands with the function.

mod histogram;
mod interval;
mod quantile;
mod renewal;
mod series;
mod warm_up;

pub use histogram::{Histogram, RELATIVE_ERROR};
pub use interval::{
    Coverage, Interval, coverage, half_width, mean, most_outside, paired_difference, variance,
};
pub use quantile::{chi_square_quantile, normal_quantile, student_t_quantile};
pub use renewal::{UpAndDown, output_sd, output_variance_rate};
pub use series::{BatchMeans, ar1_variance_of_mean, autocorrelation, batch_means};
pub use warm_up::{Truncation, mser, mser5};
