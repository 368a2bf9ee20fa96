//! Questions of cost on lines with sides, several people, models or rules.

use super::answer::PointAnswer;
use super::solve::status;
use super::{Answer, Objective, Question, StationAnswer, WorkAnswer};
use crate::cost::{
    Staffed, StaffedLine, StaffedPost, frontier_of_line, least_cost_of_line,
    least_takt_of_line_within,
};
use crate::line::Side;
use crate::watch::{Limits, Watch};

impl Question {
    /// The answer to a question of cost; none for other questions, and for lines
    /// that have one post a station and no rules, which are answered exactly.
    pub(super) fn of_staffed_line(&self, limits: &Limits, watch: &Watch<'_>) -> Option<Answer> {
        if self.line.is_plain() {
            return None;
        }
        let staffed = Staffed {
            line: self.line.clone(),
            modes: self.shop.modes.clone(),
            kinds: self.shop.kinds.clone(),
            people: self.people,
            station_per_year: self.shop.station_per_year,
        };
        let answered = match self.objective {
            Objective::Stations { .. } | Objective::Takt { .. } => return None,
            Objective::Budget { per_year } => least_takt_of_line_within(
                &staffed, per_year, limits, watch,
            )
            .map(|(takt, least, found)| {
                let mut answer = self.staffed(&found, takt);
                answer.lower_bound = self.seconds(least.into());
                answer.status = status(least >= takt);
                answer
            }),
            Objective::Cost { takt } => least_cost_of_line(&staffed, takt, limits, watch)
                .map(|found| self.staffed(&found, takt)),
            Objective::Frontier { takt } => frontier_of_line(&staffed, takt, limits, watch)
                .map(|points| self.staffed_points(&points, takt)),
        };
        Some(answered.unwrap_or_else(|faults| self.unable(&faults)))
    }

    fn staffed_points(&self, points: &[StaffedLine], takt: u32) -> Answer {
        let cheapest = points.iter().min_by_key(|point| point.cost_per_year);
        let mut answer = cheapest.map_or_else(
            || self.summed(Vec::new(), 0, takt),
            |point| self.staffed(point, takt),
        );
        let of = |point: &StaffedLine| PointAnswer {
            stations: point.stations.len() as u64,
            cost_per_year: point.cost_per_year,
            lower_bound: point.bound,
            proven: point.proven,
            by: point
                .stations
                .iter()
                .flatten()
                .map(|post| self.kinds[post.kind].clone())
                .collect(),
        };
        answer.frontier = points.iter().map(of).collect();
        answer
    }

    fn staffed(&self, found: &StaffedLine, takt: u32) -> Answer {
        let mut entries = Vec::new();
        for (at, posts) in found.stations.iter().enumerate() {
            for (n, post) in posts.iter().enumerate() {
                let mut entry = self.staffed_post(at, post);
                if n == 0 {
                    // The station itself is paid for once.
                    let own = post.cost_per_year + self.shop.station_per_year;
                    entry.cost_per_year = Some(own);
                }
                entries.push(entry);
            }
        }
        let mut answer = self.summed(entries, found.stations.len(), takt);
        answer.lower_bound = found.bound as f64;
        answer.cost_per_year = Some(found.cost_per_year);
        answer.status = status(found.proven);
        answer
    }

    fn staffed_post(&self, station: usize, post: &StaffedPost) -> StationAnswer {
        let shares: u64 = self
            .line
            .models
            .iter()
            .map(|model| u64::from(model.share))
            .sum();
        let scale = shares.max(1) as f64 * f64::from(self.per_second);
        let tool = |tool: usize| self.tools[post.kind][tool].clone();
        let work: Vec<WorkAnswer> = post
            .work
            .iter()
            .map(|(task, mode, start, end)| WorkAnswer {
                task: self.tasks[*task].clone(),
                start_s: *start as f64 / scale,
                end_s: *end as f64 / scale,
                tool: self.shop.modes[*task][*mode].tool.map(tool),
            })
            .collect();
        let own: f64 = work.iter().map(|work| work.end_s - work.start_s).sum();
        let change = self.seconds(self.shop.kinds[post.kind].tool_change.into());
        StationAnswer {
            station: station as u64 + 1,
            tasks: work.iter().map(|work| work.task.clone()).collect(),
            load_s: own + f64::from(post.changes) * change,
            by: self.kinds[post.kind].clone(),
            side: match post.side {
                Side::Left => "left",
                Side::Right => "right",
                Side::Either => "either",
            },
            work,
            tools: post.tools.iter().map(|own| tool(*own)).collect(),
            tool_changes: post.changes,
            cost_per_year: Some(post.cost_per_year),
        }
    }
}
