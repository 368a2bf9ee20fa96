//! Asks the solvers and tells what they found.

use super::answer::PointAnswer;
use super::{Answer, Objective, Question, StationAnswer, Status, WorkAnswer};
use crate::cost::{Crewed, Equipped, Point, frontier, least_cost, least_takt_within};
use crate::fault::Fault;
use crate::line::{LineBalance, Post, Side, balance_line, least_takt_of_line};
use crate::watch::{Limits, Watch};

impl Question {
    /// The answer: proven, or the best that the watch let be found.
    pub fn solve(&self, limits: &Limits, watch: &Watch<'_>) -> Answer {
        if let Some(answer) = self.of_staffed_line(limits, watch) {
            return answer;
        }
        let answered = match self.objective {
            Objective::Stations { takt } => {
                balance_line(&self.line, takt, limits, watch).map(|found| {
                    let bound = found.bound as f64;
                    self.on_line(&found, takt, bound)
                })
            }
            Objective::Takt { stations } => least_takt_of_line(&self.line, stations, limits, watch)
                .map(|(found, takt)| {
                    let bound = self.seconds(found.bound);
                    self.on_line(&found, takt, bound)
                }),
            Objective::Budget { per_year } => least_takt_within(
                &self.shop, per_year, limits, watch,
            )
            .map(|(takt, least, found)| {
                let mut answer = self.crew(&found, takt);
                answer.lower_bound = self.seconds(least.into());
                answer.status = status(least >= takt);
                answer
            }),
            Objective::Cost { takt } => {
                least_cost(&self.shop, takt, limits, watch).map(|found| self.crew(&found, takt))
            }
            Objective::Frontier { takt } => {
                frontier(&self.shop, takt, limits, watch).map(|points| self.points(&points, takt))
            }
        };
        answered.unwrap_or_else(|faults| self.unable(&faults))
    }

    fn crew(&self, found: &Crewed, takt: u32) -> Answer {
        let stations = found.stations.iter().enumerate();
        let stations = stations.map(|(at, station)| self.crewed(at, station));
        let mut answer = self.summed(stations.collect(), found.stations.len(), takt);
        answer.lower_bound = found.bound as f64;
        answer.cost_per_year = Some(found.cost_per_year);
        answer.status = status(found.proven);
        answer
    }

    /// The cheapest of the points, with all of them.
    fn points(&self, points: &[Point], takt: u32) -> Answer {
        let cheapest = points.iter().min_by_key(|point| point.crewed.cost_per_year);
        let mut answer = cheapest.map_or_else(
            || self.summed(Vec::new(), 0, takt),
            |point| self.crew(&point.crewed, takt),
        );
        let of = |point: &Point| PointAnswer {
            stations: point.stations.into(),
            cost_per_year: point.crewed.cost_per_year,
            lower_bound: point.crewed.bound,
            proven: point.crewed.proven,
            by: point
                .crewed
                .stations
                .iter()
                .map(|station| self.kinds[station.kind].clone())
                .collect(),
        };
        answer.frontier = points.iter().map(of).collect();
        answer
    }

    pub(super) fn seconds(&self, ticks: u64) -> f64 {
        ticks as f64 / f64::from(self.per_second)
    }

    pub(super) fn unable(&self, faults: &[Fault]) -> Answer {
        let quoted = |task: usize| {
            let name = self.tasks.get(task);
            name.map_or(format!("task {}", task + 1), |name| format!("\"{name}\""))
        };
        let unit = match self.per_second {
            1 => String::new(),
            ticks => format!(" (times in 1/{ticks} s)"),
        };
        Answer {
            status: Status::Infeasible,
            stations: Vec::new(),
            count: 0,
            takt_s: match self.objective {
                Objective::Stations { takt }
                | Objective::Cost { takt }
                | Objective::Frontier { takt } => self.seconds(takt.into()),
                Objective::Takt { .. } | Objective::Budget { .. } => 0.0,
            },
            lower_bound: 0.0,
            smoothness: 0.0,
            efficiency: 0.0,
            cost_per_year: None,
            frontier: Vec::new(),
            why: faults
                .iter()
                .map(|fault| format!("{}{unit}", fault.told(&quoted)))
                .collect(),
        }
    }

    fn on_line(&self, found: &LineBalance, takt: u32, bound: f64) -> Answer {
        // The mean over the mix is kept times the sum of shares.
        let shares: u64 = self
            .line
            .models
            .iter()
            .map(|model| u64::from(model.share))
            .sum();
        let scale = shares.max(1) as f64 * f64::from(self.per_second);
        let mut entries = Vec::new();
        for (at, station) in found.stations.iter().enumerate() {
            let empty = station.posts.iter().all(|post| post.work.is_empty());
            let told = station
                .posts
                .iter()
                .enumerate()
                .filter(|(first, post)| !post.work.is_empty() || empty && *first == 0);
            entries.extend(told.map(|(_, post)| self.post(at, post, scale)));
        }
        let mut answer = self.summed(entries, found.stations.len(), takt);
        answer.lower_bound = bound;
        answer.status = if found.stations.is_empty() {
            answer.why.push(
                "no balance was found before the search was ended; this does not say that \
                 there is none"
                    .to_owned(),
            );
            Status::Infeasible
        } else {
            status(found.proven)
        };
        answer
    }

    fn post(&self, station: usize, post: &Post, scale: f64) -> StationAnswer {
        let work: Vec<WorkAnswer> = post
            .work
            .iter()
            .map(|placed| WorkAnswer {
                task: self.tasks[placed.task].clone(),
                start_s: placed.start as f64 / scale,
                end_s: placed.end as f64 / scale,
                tool: None,
            })
            .collect();
        let load: u64 = post
            .work
            .iter()
            .map(|placed| placed.end - placed.start)
            .sum();
        StationAnswer {
            station: station as u64 + 1,
            tasks: work.iter().map(|work| work.task.clone()).collect(),
            load_s: load as f64 / scale,
            by: "person".to_owned(),
            side: match post.side {
                Side::Left => "left",
                Side::Right => "right",
                Side::Either => "either",
            },
            work,
            tools: Vec::new(),
            tool_changes: 0,
            cost_per_year: None,
        }
    }

    fn crewed(&self, at: usize, station: &Equipped) -> StationAnswer {
        let kind = &self.shop.kinds[station.kind];
        let tools = &self.tools[station.kind];
        let mut time = 0;
        let mut in_hand = None;
        let mut work = Vec::new();
        for (task, mode) in &station.work {
            let mode = &self.shop.modes[*task][*mode];
            if mode.tool.is_some() && in_hand.is_some() && in_hand != mode.tool {
                time += u64::from(kind.tool_change);
            }
            in_hand = mode.tool.or(in_hand);
            let start = time;
            time += u64::from(mode.ticks);
            work.push(WorkAnswer {
                task: self.tasks[*task].clone(),
                start_s: self.seconds(start),
                end_s: self.seconds(time),
                tool: mode.tool.map(|tool| tools[tool].clone()),
            });
        }
        StationAnswer {
            station: at as u64 + 1,
            tasks: work.iter().map(|work| work.task.clone()).collect(),
            load_s: self.seconds(station.ticks),
            by: self.kinds[station.kind].clone(),
            side: "either",
            work,
            tools: station
                .tools
                .iter()
                .map(|tool| tools[*tool].clone())
                .collect(),
            tool_changes: station.changes,
            cost_per_year: Some(station.cost_per_year),
        }
    }

    pub(super) fn summed(&self, stations: Vec<StationAnswer>, count: usize, takt: u32) -> Answer {
        let takt_s = self.seconds(takt.into());
        let loads: Vec<f64> = stations.iter().map(|station| station.load_s).collect();
        let fullest = loads.iter().copied().fold(0.0, f64::max);
        let squares: f64 = loads
            .iter()
            .map(|load| (fullest - load) * (fullest - load))
            .sum();
        let room = takt_s * loads.len() as f64;
        Answer {
            status: Status::Feasible,
            count: count as u64,
            takt_s,
            lower_bound: 0.0,
            smoothness: squares.sqrt(),
            efficiency: if room > 0.0 {
                loads.iter().sum::<f64>() / room
            } else {
                0.0
            },
            cost_per_year: None,
            frontier: Vec::new(),
            why: Vec::new(),
            stations,
        }
    }
}

pub(super) fn status(proven: bool) -> Status {
    if proven {
        Status::Optimal
    } else {
        Status::Feasible
    }
}
