//! The order walked through a station: what each car leaves behind.
//!
//! A car whose work takes longer than takt leaves the rest to be caught up on
//! the next ones. Work may drift past the station's end by so much; where it
//! drifts farther the line stops or a helper ends it, and the next car starts
//! at that limit (Scholl, Balancing and Sequencing of Assembly Lines, 1999: the
//! open station with work carried over, from memory). After a stop of the line
//! the station starts again at the limit, which is the worst that it can be.

use book::At;
use serde::{Deserialize, Serialize};

/// A station through which the order was walked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StationDrift {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Its shop.
    pub shop: String,
    /// Seconds from car to car.
    pub takt_s: f64,
    /// Seconds that work may drift past its end.
    pub drift_s: f64,
    /// Cars whose work exceeds takt.
    pub heavy_cars: u32,
    /// Places of the cars that end past the drift allowed.
    pub past: Vec<u32>,
    /// The farthest that a car ends past the station's end, seconds.
    pub worst_s: f64,
    /// The same in metres.
    pub worst_m: f64,
    /// The place of that car; 0 where none ends late.
    pub worst_place: u32,
    /// Most cars in a row that start late.
    pub longest_behind: u32,
    /// The place at which a restart after a stop is worst; 0 where none is.
    pub restart_place: u32,
    /// Cars past the drift allowed after a restart there, until it has caught
    /// up.
    pub restart_past: u32,
    /// Most cars that a restart takes to catch up, wherever it is.
    pub restart_cars: u32,
    /// The same cars as they reach the line after repairs in paint.
    pub on_line: DriftOnLine,
}

/// A walk through a station in the order that reaches the line. Places are
/// those on the line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DriftOnLine {
    /// Places of the cars that end past the drift allowed.
    pub past: Vec<u32>,
    /// The farthest that a car ends past the station's end, seconds.
    pub worst_s: f64,
    /// The place of that car; 0 where none ends late.
    pub worst_place: u32,
    /// Most cars in a row that start late.
    pub longest_behind: u32,
}

/// A station's times by place.
pub(super) struct Walked<'a> {
    /// Of the cars before the first place.
    pub(super) before: &'a [f64],
    pub(super) times: &'a [f64],
    pub(super) takt: f64,
    /// Seconds of drift allowed.
    pub(super) most: f64,
}

/// What a walk found.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Walk {
    pub(super) past: Vec<u32>,
    pub(super) worst: (f64, u32),
    pub(super) longest_behind: u32,
    /// Restart: place, cars past the limit, most cars to catch up.
    pub(super) restart: (u32, u32, u32),
}

impl Walked<'_> {
    pub(super) fn walk(&self) -> Walk {
        let mut walk = Walk::default();
        let mut behind = 0.0;
        for seconds in self.before {
            behind = self.after(behind, *seconds).min(self.most);
        }
        let mut late = 0;
        for (place, seconds) in (1..).zip(self.times) {
            late = if behind > 0.0 { late + 1 } else { 0 };
            walk.longest_behind = walk.longest_behind.max(late);
            let ends = self.after(behind, *seconds);
            if ends > walk.worst.0 {
                walk.worst = (ends, place);
            }
            if ends > self.most + SLACK {
                walk.past.push(place);
            }
            behind = ends.min(self.most);
        }
        for start in 0..self.times.len() {
            let (cars, past) = self.restarted(start);
            if past > walk.restart.1 || (walk.restart.0 == 0 && past > 0) {
                walk.restart = (start as u32 + 1, past, walk.restart.2);
            }
            walk.restart.2 = walk.restart.2.max(cars);
        }
        walk
    }

    fn after(&self, behind: f64, seconds: f64) -> f64 {
        (behind + seconds - self.takt).max(0.0)
    }

    /// Cars until a station that starts at its limit has caught up, and those
    /// past the limit among them.
    fn restarted(&self, start: usize) -> (u32, u32) {
        let (mut behind, mut cars, mut past) = (self.most, 0, 0);
        for seconds in &self.times[start..] {
            if behind <= 0.0 || cars >= LONGEST {
                break;
            }
            cars += 1;
            let ends = self.after(behind, *seconds);
            past += u32::from(ends > self.most + SLACK);
            behind = ends.min(self.most);
        }
        (cars, past)
    }
}

/// Rounding of sums of seconds.
const SLACK: f64 = 1e-9;

/// Cars after which a station that has not caught up is not followed further.
const LONGEST: u32 = 200;

#[cfg(test)]
mod tests {
    use super::*;

    fn walk(times: &[f64], most: f64) -> Walk {
        let walked = Walked {
            before: &[],
            times,
            takt: 100.0,
            most,
        };
        walked.walk()
    }

    #[test]
    fn two_heavy_cars_in_a_row_drift_twice_as_far_and_light_ones_catch_up() {
        // 20 s behind, then 40, then 30, 20, 10, 0 (computed by hand)
        let found = walk(&[120.0, 120.0, 90.0, 90.0, 90.0, 90.0, 90.0], 50.0);
        assert_eq!(found.worst, (40.0, 2));
        assert_eq!(found.past, Vec::<u32>::new());
        assert_eq!(found.longest_behind, 5, "the second car to the sixth");
    }

    #[test]
    fn the_same_cars_apart_stay_within_the_drift() {
        let found = walk(&[120.0, 90.0, 90.0, 120.0, 90.0, 90.0], 30.0);
        assert_eq!(found.worst, (20.0, 1));
        assert!(found.past.is_empty());
        let found = walk(&[120.0, 120.0, 90.0, 90.0, 90.0, 90.0], 30.0);
        assert_eq!(found.past, [2]);
    }

    #[test]
    fn what_a_helper_ends_is_not_carried_over() {
        // every car ends 60 s late and is helped down to 10
        let found = walk(&[160.0, 100.0, 100.0], 10.0);
        assert_eq!(found.past, [1]);
        assert_eq!(found.worst, (60.0, 1));
    }

    #[test]
    fn after_a_stop_the_heavy_car_next_in_line_is_past_the_drift() {
        let found = walk(&[90.0, 90.0, 115.0, 90.0, 90.0], 20.0);
        assert!(found.past.is_empty());
        // starting 20 s late at the first: 10, 0; at the second: 10, then 25 is too far
        assert_eq!(found.restart.0, 2);
        assert_eq!(found.restart.1, 1);
    }
}
