//! Stations whose robots end as early as they can.

use super::Robot;
use super::frame::Frame;
use super::hands::{Rule, Station, stirred};

/// So many orders are tried for each limit.
const ORDERS: u64 = 12;

/// The same joints at the station by the same robots, all ended at the earliest
/// that a few orders find.
pub(super) fn levelled(frame: &Frame<'_>, at: usize, robots: Vec<Robot>, limit: u32) -> Vec<Robot> {
    let kinds: Vec<usize> = robots.iter().map(|robot| robot.kind).collect();
    let mut joints = vec![0; frame.groups.len()];
    for step in robots.iter().flat_map(|robot| &robot.steps) {
        if let Ok(local) = frame.groups.binary_search(&step.group) {
            joints[local] += step.joints;
        }
    }
    let must: Vec<bool> = joints.iter().map(|joints| *joints > 0).collect();
    let within = |limit: u32| {
        (0..ORDERS).find_map(|order| {
            let rule = match order {
                0 => Rule::PLAIN,
                _ => Rule::by(stirred(order, at)),
            };
            let station = Station {
                frame,
                at,
                limit,
                rule,
            };
            let mut left = joints.clone();
            let robots = station.fill(&kinds, &mut left, &must);
            left.iter().all(|left| *left == 0).then_some(robots)
        })
    };
    let ends = |robots: &[Robot]| robots.iter().map(|robot| robot.end).max().unwrap_or(0);
    let work: u64 = robots
        .iter()
        .flat_map(|robot| &robot.steps)
        .map(|step| u64::from(step.end - step.start))
        .sum();
    let least = (work / kinds.len().max(1) as u64) as u32;
    let mut best = robots;
    let mut high = ends(&best).min(limit);
    let mut low = least.min(high);
    while low < high {
        let middle = low + (high - low) / 2;
        match within(middle) {
            Some(robots) => {
                high = ends(&robots).min(middle);
                best = robots;
            }
            None => low = middle + 1,
        }
    }
    best
}
