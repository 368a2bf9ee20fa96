//! The allocation as stations, robots and steps.

use std::collections::BTreeMap;

use balance::robots::{Plan, Robot};
use book::At;
use formulas::joining;
use units::{Count, Seconds};

use super::choose::Choices;
use super::kinds::JoiningKind;
use super::model::{BodyRobot, BodyStation, RefillStop, RobotStep};
use super::place::{ROBOTS_MOST, TICKS};
use super::stack::{Floor, Stack};
use crate::sheet::{Sheet, ShopValue};

/// What is known of each station before its robots.
pub(super) struct Times {
    pub(super) takt_s: f64,
    pub(super) index_s: f64,
    pub(super) net_s: ShopValue,
}

/// What the charts are made from.
pub(super) struct Charts<'a, 'b> {
    pub(super) floor: &'a Floor<'b>,
    pub(super) stacks: &'a [Stack<'b>],
    pub(super) choices: &'a [Choices],
    pub(super) kinds: &'a [JoiningKind],
    pub(super) times: &'a [Times],
}

impl Charts<'_, '_> {
    pub(super) fn stations(
        &self,
        sheet: &mut Sheet,
        plan: &Plan,
        one_less: &[Option<f64>],
    ) -> Vec<BodyStation> {
        let rows = plan.stations.iter().enumerate();
        rows.map(|(at, robots)| self.station(sheet, at, robots, one_less[at]))
            .collect()
    }

    fn station(
        &self,
        sheet: &mut Sheet,
        at: usize,
        robots: &[Robot],
        one_less: Option<f64>,
    ) -> BodyStation {
        let row = self.floor.stations[at];
        let times = &self.times[at];
        let last = robots.iter().map(|robot| robot.end).max().unwrap_or(0);
        let cycle_s = times.index_s + f64::from(last) / TICKS;
        let mut counts: BTreeMap<usize, u32> = BTreeMap::new();
        let named: Vec<BodyRobot> = robots
            .iter()
            .map(|robot| {
                let count = counts.entry(robot.kind).or_default();
                *count += 1;
                self.robot(times.index_s, robot, *count)
            })
            .collect();
        let running = row.cycle_s.map_or(cycle_s, |measured| measured.0);
        BodyStation {
            station: row.station.clone(),
            at: row.at,
            line: self.floor.line(at).to_owned(),
            takt_s: times.takt_s,
            net_s: times.net_s.clone(),
            index_s: times.index_s,
            robots_most: row.robots_most.unwrap_or(ROBOTS_MOST),
            joints: named.iter().map(|robot| robot.joints).sum(),
            robots: named,
            cycle_s,
            measured_s: row.cycle_s.map(|cycle| cycle.0),
            stops: self.stops(sheet, (&row.station, row.at), robots, running),
            one_less_s: one_less,
        }
    }

    fn robot(&self, index_s: f64, robot: &Robot, number: u32) -> BodyRobot {
        let kind = &self.kinds[robot.kind];
        let mut tools: Vec<String> = Vec::new();
        let steps: Vec<RobotStep> = robot
            .steps
            .iter()
            .map(|step| {
                let option = self.choices[step.group].chosen();
                let row = self.stacks[step.group].row;
                if !tools.contains(&option.making.variant) {
                    tools.push(option.making.variant.clone());
                }
                RobotStep {
                    join: row.join.clone(),
                    method: option.method,
                    variant: option.making.variant.clone(),
                    zone: row.zone.clone(),
                    joints: step.joints,
                    start_s: index_s + f64::from(step.start) / TICKS,
                    end_s: index_s + f64::from(step.end) / TICKS,
                    changed: step.changed,
                }
            })
            .collect();
        let work: u32 = robot.steps.iter().map(|step| step.end - step.start).sum();
        let work_s = f64::from(work) / TICKS;
        let change_s = f64::from(robot.changes) * kind.change_s;
        let end = f64::from(robot.end) / TICKS;
        BodyRobot {
            robot: format!("{} {number}", kind.name),
            kind: kind.name.clone(),
            tools,
            joints: steps.iter().map(|step| step.joints).sum(),
            steps,
            work_s,
            change_s,
            wait_s: (end - work_s - change_s).max(0.0),
            end_s: index_s + end,
        }
    }

    /// Stops of all the station's robots together, cause by cause.
    fn stops(
        &self,
        sheet: &mut Sheet,
        (station, at): (&str, At),
        robots: &[Robot],
        cycle_s: f64,
    ) -> Vec<RefillStop> {
        // By cause: stops on a car, and their seconds.
        let mut causes: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
        for step in robots.iter().flat_map(|robot| &robot.steps) {
            for refill in &self.choices[step.group].chosen().making.refills {
                let each = f64::from(step.joints) / refill.every;
                let (stops, seconds) = causes.entry(refill.cause).or_default();
                *stops += each;
                *seconds += each * refill.seconds;
            }
        }
        let mut told = Vec::new();
        for (cause, (stops, seconds)) in causes {
            if stops <= 0.0 || seconds <= 0.0 || cycle_s <= 0.0 {
                continue;
            }
            let made = joining::refill_interval(Count(1.0 / stops), Count(1.0), Seconds(cycle_s));
            let id = format!("station.{station}.{}", cause.replace(' ', "_"));
            let title = format!("time between stops of {station} for {cause}");
            if let Some(made) = sheet.add(id.clone(), title, at, made) {
                told.push(RefillStop {
                    cause: cause.to_owned(),
                    between_min: made.value.0,
                    minutes: seconds / stops / 60.0,
                    figure: id,
                });
            }
        }
        told
    }
}
