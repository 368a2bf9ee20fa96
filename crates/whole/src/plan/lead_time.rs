//! The planned time from coil to finished car: on the longest way, the worst
//! age of each stage, with every lot just begun and every place filled.

use std::collections::BTreeMap;

use book::Book;
use formulas::{Origin, Sourced, rate_plan, stock};
use units::{Count, Days, PerWeek};

use super::sheet::{Sheet, cell, setting};
use super::{Basis, LeadTime, LotRun, PressLinePlan, StageAge, carriers};

/// What the figure means, in the answer's words.
const MEANING: &str = "an upper estimate by Little's law with every place filled and every lot \
                       just begun; the run measures what cars really take";

/// A step of the longest way: where it stands, its stage, the cars it holds.
#[derive(Clone)]
struct Step {
    stage: String,
    content: f64,
    from: Origin,
}

/// The longest way to the end of a station from where cars or lots begin.
#[derive(Clone, Default)]
struct Reach {
    content: f64,
    /// The station before and the link between, if any.
    before: Option<(usize, usize)>,
}

/// What the stock of a part's blanks or panels is called as a stage.
pub(crate) fn stock_stage(part: &str, blanks: bool) -> String {
    format!("{} of {part}", if blanks { "blanks" } else { "panels" })
}

/// The planned coil-to-car time; none when nothing is planned.
pub(super) fn plan(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    lines: &[PressLinePlan],
) -> Option<LeadTime> {
    let cars = basis.need.cars();
    if cars <= 0.0 {
        return None;
    }
    let graph = Graph::of(basis);
    let lots = oldest_lots(basis.book, lines);
    let starts: BTreeMap<usize, f64> = lots
        .iter()
        .map(|(&station, lot)| (station, lot.days * cars / 7.0))
        .collect();
    let (first, steps) = graph.longest_way(&starts)?;
    let mut stages = Vec::new();
    if let Some(lot) = lots.get(&first) {
        stages.extend(lot.stages.iter().cloned());
    }
    stages.extend(ages(sheet, basis, &steps));
    let days = stages
        .iter()
        .map(|stage| Sourced::new(Days(stage.days.value), stage.days.from.clone()));
    let made = stock::lead_time_budget(
        days.collect::<Vec<_>>(),
        setting(
            &basis.book.plant.coil_to_car_target_days,
            "coil_to_car_target_days",
        ),
    );
    let total = sheet.add(
        "plant.coil_to_car",
        "coil to finished car, planned",
        None,
        made,
    )?;
    Some(LeadTime {
        total_days: total.planned(|budget| budget.total.0),
        target_days: basis.book.plant.coil_to_car_target_days.value.0,
        meaning: MEANING.to_owned(),
        stages,
    })
}

/// Sums the steps of each stage and ages it by Little's law.
fn ages(sheet: &mut Sheet, basis: &Basis<'_>, steps: &[Step]) -> Vec<StageAge> {
    let mut stages: Vec<(String, f64, Vec<Origin>)> = Vec::new();
    for step in steps.iter().filter(|step| step.content > 0.0) {
        let same = |stage: &&mut (String, f64, Vec<Origin>)| stage.0 == step.stage;
        match stages.iter_mut().find(same) {
            Some(stage) => {
                stage.1 += step.content;
                stage.2.push(step.from.clone());
            }
            None => stages.push((step.stage.clone(), step.content, vec![step.from.clone()])),
        }
    }
    let cells = basis
        .book
        .products
        .iter()
        .map(|row| cell(0.0, row.at, "cars_per_week").from);
    let rate = Sourced::new(PerWeek(basis.need.cars()), Origin::Several(cells.collect()));
    stages
        .into_iter()
        .filter_map(|(stage, content, from)| {
            let made = sheet.add(
                format!("stage.{stage}.age"),
                format!("days in {stage} with every place filled"),
                None,
                rate_plan::stage_age(Sourced::new(Count(content), Origin::Several(from)), &rate),
            )?;
            Some(StageAge {
                stage,
                days: made.planned(|age| age.0),
            })
        })
        .collect()
}

/// The oldest part that comes to a station.
struct OldestLot {
    days: f64,
    stages: Vec<StageAge>,
}

/// For each station that joins made parts, the one whose blanks and panels
/// are oldest.
fn oldest_lots(book: &Book, lines: &[PressLinePlan]) -> BTreeMap<usize, OldestLot> {
    let mut runs: BTreeMap<&str, Vec<&LotRun>> = BTreeMap::new();
    for run in lines.iter().flat_map(|line| &line.runs) {
        runs.entry(&run.part).or_default().push(run);
    }
    let mut oldest: BTreeMap<usize, OldestLot> = BTreeMap::new();
    for part in &book.parts {
        let to = book
            .stations
            .iter()
            .position(|row| part.to.as_ref() == Some(&row.station));
        let (Some(to), Some(runs)) = (to, runs.get_mut(part.part.as_str())) else {
            continue;
        };
        runs.sort_by_key(|run| !run.blanks);
        let days: f64 = runs.iter().map(|run| run.worst_age_days.value).sum();
        if oldest.get(&to).is_none_or(|before| days > before.days) {
            let stages = runs.iter().map(|run| StageAge {
                stage: stock_stage(&run.part, run.blanks),
                days: run.worst_age_days.clone(),
            });
            let stages = stages.collect();
            oldest.insert(to, OldestLot { days, stages });
        }
    }
    oldest
}

/// Stations and links without rework, each with the cars it holds. A link that
/// carries two pieces a car holds half a car in each.
struct Graph<'a> {
    basis: &'a Basis<'a>,
    /// From, to, row of the link.
    ways: Vec<(usize, usize, usize)>,
    /// Positions in `ways` that leave each station.
    out: Vec<Vec<usize>>,
}

impl<'a> Graph<'a> {
    fn of(basis: &'a Basis<'a>) -> Self {
        let book = basis.book;
        let index: BTreeMap<&str, usize> = book
            .stations
            .iter()
            .enumerate()
            .map(|(i, row)| (row.station.as_str(), i))
            .collect();
        let mut ways = Vec::new();
        let mut out = vec![Vec::new(); book.stations.len()];
        for (l, link) in book.links.iter().enumerate() {
            let ends = (index.get(link.from.as_str()), index.get(link.to.as_str()));
            let (Some(&from), Some(&to)) = ends else {
                continue;
            };
            let rework = book.stations[from].rework_to.as_ref() == Some(&link.to);
            if !rework && basis.need.over_link(l) > 0.0 {
                out[from].push(ways.len());
                ways.push((from, to, l));
            }
        }
        Self { basis, ways, out }
    }

    fn station(&self, i: usize) -> Step {
        let row = &self.basis.book.stations[i];
        Step {
            stage: row.stage.clone().unwrap_or_else(|| row.shop.clone()),
            content: f64::from(row.units) * self.per_piece(self.basis.need.good(i)),
            from: cell((), row.at, "units").from,
        }
    }

    fn link(&self, l: usize) -> Step {
        let row = &self.basis.book.links[l];
        let pieces = self.basis.need.over_link(l);
        let moving = row.move_s.0 * pieces / crate::calendar::WEEK.0;
        let (content, column) = match carriers::places(row.holds) {
            Some(places) if places >= moving => (places, "holds"),
            _ => (moving, "move_s"),
        };
        let mut stations = self.basis.book.stations.iter();
        let from = stations.find(|station| station.station == row.from);
        Step {
            // as in the run, what waits behind a stage is still in it
            stage: from.map_or_else(String::new, |from| {
                from.stage.clone().unwrap_or_else(|| from.shop.clone())
            }),
            content: content * self.per_piece(pieces),
            from: cell((), row.at, column).from,
        }
    }

    /// Cars that a piece stands for where so many pieces a week pass.
    fn per_piece(&self, pieces: f64) -> f64 {
        if pieces > 0.0 {
            self.basis.need.cars() / pieces
        } else {
            0.0
        }
    }

    /// The station where the longest way of all begins, and its steps.
    fn longest_way(&self, starts: &BTreeMap<usize, f64>) -> Option<(usize, Vec<Step>)> {
        let reach = self.longest(starts);
        let ends = reach.iter().enumerate().filter_map(|(i, reach)| {
            let content = reach.as_ref()?.content;
            (self.out[i].is_empty() && self.basis.need.good(i) > 0.0).then_some((i, content))
        });
        let longest = ends.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        let mut first = longest?.0;
        let mut steps = vec![self.station(first)];
        while let Some((before, link)) = reach[first].as_ref().and_then(|reach| reach.before) {
            steps.push(self.link(link));
            steps.push(self.station(before));
            first = before;
        }
        steps.reverse();
        Some((first, steps))
    }

    /// The longest way to the end of every station, by cars held before it. It
    /// begins where cars are released or lots arrive; what only rework reaches
    /// has none.
    fn longest(&self, starts: &BTreeMap<usize, f64>) -> Vec<Option<Reach>> {
        let begins = |i: usize| starts.contains_key(&i) || self.basis.need.released(i) > 0.0;
        let mut reach: Vec<Option<Reach>> = (0..self.out.len())
            .map(|i| {
                begins(i).then(|| Reach {
                    content: self.station(i).content + starts.get(&i).copied().unwrap_or(0.0),
                    before: None,
                })
            })
            .collect();
        let order = self.order();
        let mut turn = vec![0; self.out.len()];
        for (n, &station) in order.iter().enumerate() {
            turn[station] = n;
        }
        for from in order {
            let Some(content) = reach[from].as_ref().map(|reach| reach.content) else {
                continue;
            };
            for &way in &self.out[from] {
                let (_, to, link) = self.ways[way];
                let content = content + self.link(link).content + self.station(to).content;
                let longer = reach[to].as_ref().is_none_or(|to| content > to.content);
                if longer && turn[to] > turn[from] {
                    reach[to] = Some(Reach {
                        content,
                        before: Some((from, link)),
                    });
                }
            }
        }
        reach
    }

    /// All stations in the order of the flow. Where links go round without
    /// being rework, the circle is entered at the first of its stations that
    /// something before it feeds, and the link that closes it is not followed.
    fn order(&self) -> Vec<usize> {
        let mut waits = vec![0usize; self.out.len()];
        for &(_, to, _) in &self.ways {
            waits[to] += 1;
        }
        let mut fed = vec![false; waits.len()];
        let mut placed: Vec<bool> = waits.iter().map(|waits| *waits == 0).collect();
        let mut ready: Vec<usize> = (0..waits.len()).filter(|&i| placed[i]).collect();
        let mut next = 0;
        loop {
            while let Some(&from) = ready.get(next) {
                next += 1;
                for &way in &self.out[from] {
                    let to = self.ways[way].1;
                    waits[to] -= 1;
                    fed[to] = true;
                    if waits[to] == 0 && !placed[to] {
                        placed[to] = true;
                        ready.push(to);
                    }
                }
            }
            let left = || (0..placed.len()).filter(|&i| !placed[i]);
            let Some(enter) = left().find(|&i| fed[i]).or_else(|| left().next()) else {
                return ready;
            };
            placed[enter] = true;
            ready.push(enter);
        }
    }
}
