//! The rules that today's stations break, each with the way out.

use balance::line::Side as Stand;
use book::{At, Side, Station};

use super::Standing;
use crate::assembly::mix::{self, Car};
use crate::assembly::model::{AssemblyPost, AssemblyStation, Bead, RobotCell};
use crate::assembly::today_told::{Broken, BrokenRule};
use crate::assembly::work::{PER_SECOND, elsewhere, ticks};

/// A time this little above its limit is rounding, in seconds.
const SLACK: f64 = 0.05;

impl Standing<'_> {
    /// Everything that is broken: tasks first, then station by station.
    pub(super) fn broken(&self, stations: &[AssemblyStation]) -> Vec<Broken> {
        let mut broken = Vec::new();
        broken.extend(self.without_station());
        broken.extend(self.elsewhere());
        broken.extend(self.out_of_order());
        broken.extend(self.company());
        for (at, station) in stations.iter().enumerate() {
            let sides = self.sides(at);
            // A side that has too much of its own work says all.
            let told: Vec<Stand> = sides.iter().map(|(side, _)| *side).collect();
            broken.extend(self.over_cycle(at, &told));
            broken.extend(sides.into_iter().map(|(_, side)| side));
            broken.extend(self.overload(at));
            broken.extend(station.posts.iter().filter_map(|post| self.run(at, post)));
            broken.extend(self.robots(at));
        }
        broken
    }

    fn name(&self, task: usize) -> String {
        format!("`{}`", self.placing.work.tasks[task].task)
    }

    /// Units of a station, which take its cars by turns.
    fn units(&self, at: usize) -> f64 {
        f64::from(crate::assembly::parallel::units(
            self.placing.book,
            Some(self.place(at)),
        ))
    }

    fn place(&self, at: usize) -> &str {
        &self.placing.places[at]
    }

    fn rows(&self, tasks: &[usize]) -> Vec<At> {
        tasks
            .iter()
            .map(|task| self.placing.work.at(*task))
            .collect()
    }

    fn without_station(&self) -> Option<Broken> {
        let none: Vec<usize> = (0..self.at.len())
            .filter(|t| self.at[*t].is_none() && self.foreign(*t).is_none())
            .collect();
        let first = none.first()?;
        let what = match none.len() {
            1 => format!("{} has no station", self.name(*first)),
            more => format!(
                "{more} tasks have no station, the first {}",
                self.name(*first)
            ),
        };
        Some(Broken {
            rule: BrokenRule::Unplaced,
            station: None,
            by_s: None,
            what,
            way_out: "give each a `station`, or take the plan's".into(),
            rows: self.rows(&none),
        })
    }

    /// The station of another line that a task names.
    fn foreign(&self, task: usize) -> Option<&Station> {
        elsewhere(self.placing.book, self.placing.work.tasks[task])
    }

    fn elsewhere(&self) -> Vec<Broken> {
        let mut broken = Vec::new();
        for task in 0..self.at.len() {
            let row = self.placing.work.tasks[task];
            let Some(station) = self.foreign(task) else {
                continue;
            };
            let line = station.line.as_deref().unwrap_or(&station.shop);
            broken.push(Broken {
                rule: BrokenRule::Elsewhere,
                station: Some(station.station.clone()),
                by_s: None,
                what: format!(
                    "{} is work of {} and stands at `{}` of {line}, so no station has its work",
                    self.name(task),
                    row.line.as_deref().unwrap_or(&row.shop),
                    station.station
                ),
                way_out: "give it a station of its own line, or give it the line of its station"
                    .into(),
                rows: self.rows(&[task]),
            });
        }
        broken
    }

    fn out_of_order(&self) -> Vec<Broken> {
        let work = self.placing.work;
        let mut broken = Vec::new();
        for task in 0..self.at.len() {
            for before in &work.after[task] {
                let Some((own, first)) = self.at[task].zip(self.at[*before]) else {
                    continue;
                };
                if first <= own {
                    continue;
                }
                broken.push(Broken {
                    rule: BrokenRule::Order,
                    station: Some(self.place(own).to_owned()),
                    by_s: None,
                    what: format!(
                        "{} at `{}` must follow {}, which is done later, at `{}`",
                        self.name(task),
                        self.place(own),
                        self.name(*before),
                        self.place(first)
                    ),
                    way_out: format!(
                        "move {} to `{}` or behind it, or {} to `{}` or before it",
                        self.name(task),
                        self.place(first),
                        self.name(*before),
                        self.place(own)
                    ),
                    rows: self.rows(&[task, *before]),
                });
            }
        }
        broken
    }

    /// Tasks that must, or must not, share a station.
    fn company(&self) -> Vec<Broken> {
        let tasks = &self.placing.work.tasks;
        let mut broken = Vec::new();
        for task in 0..tasks.len() {
            let mut pair = |names: &[String], together: bool| {
                for other in crate::assembly::work::Work::named(tasks, names) {
                    let Some((own, its)) = self.at[task].zip(self.at[other]) else {
                        continue;
                    };
                    if (own == its) == together || other == task {
                        continue;
                    }
                    broken.push(self.pair((task, own), (other, its), together));
                }
            };
            pair(&tasks[task].same_station, true);
            pair(&tasks[task].other_station, false);
        }
        broken
    }

    fn pair(
        &self,
        (task, own): (usize, usize),
        (other, its): (usize, usize),
        together: bool,
    ) -> Broken {
        let (one, two) = (self.name(task), self.name(other));
        let (rule, what, way_out) = if together {
            let what = format!(
                "{one} at `{}` must share the station of {two}, which is at `{}`",
                self.place(own),
                self.place(its)
            );
            let way_out = format!("move one to the other, or take {two} out of `same_station`");
            (BrokenRule::SameStation, what, way_out)
        } else {
            let what = format!(
                "{one} and {two} must not share a station and both are at `{}`",
                self.place(own)
            );
            let way_out = format!("move one of them, or take {two} out of `other_station`");
            (BrokenRule::OtherStation, what, way_out)
        };
        Broken {
            rule,
            station: Some(self.place(own).to_owned()),
            by_s: None,
            what,
            way_out,
            rows: self.rows(&[task, other]),
        }
    }

    /// A side with more work of its own than time, whatever the order.
    fn sides(&self, at: usize) -> Vec<(Stand, Broken)> {
        let placing = self.placing;
        let people = f64::from(placing.frame.line.people);
        let room = people * placing.work.cycle_s * self.units(at);
        let mut broken = Vec::new();
        let both = [
            (Side::Left, Stand::Left, "left"),
            (Side::Right, Stand::Right, "right"),
        ];
        for (side, stand, word) in both {
            let tasks: Vec<usize> = self
                .by_hand(at)
                .into_iter()
                .filter(|task| placing.work.tasks[*task].side == side)
                .collect();
            let load: f64 = tasks.iter().map(|task| self.mean_s(*task)).sum();
            if load <= room + SLACK {
                continue;
            }
            let told = Broken {
                rule: BrokenRule::Side,
                station: Some(self.place(at).to_owned()),
                by_s: Some(load - room),
                what: format!(
                    "the {word} of `{}` has {load:.1} s of work that only the {word} can do and \
                     {room:.1} s for it",
                    self.place(at)
                ),
                way_out: self.way_out(at, &tasks, load - room),
                rows: self.rows(&tasks),
            };
            broken.push((stand, told));
        }
        broken
    }

    fn mean_s(&self, task: usize) -> f64 {
        let way = self.placing.doing[task].way();
        way.map_or(0.0, |way| way.seconds) * self.placing.work.share[task]
    }

    /// Posts that end beyond the cycle on a mean car.
    fn over_cycle(&self, at: usize, told: &[Stand]) -> Vec<Broken> {
        let placing = self.placing;
        let cycle = placing.work.cycle_s * self.units(at);
        let ends = self.ends(at, &|task| mix::on_all(placing.book, task));
        let mut broken = Vec::new();
        for (post, end) in self.stations[at].posts.iter().zip(ends) {
            let tasks: Vec<usize> = post
                .work
                .iter()
                .flat_map(|placed| placing.frame.tasks(placed.task, placing.doing))
                .collect();
            let load: f64 = tasks.iter().map(|task| self.mean_s(*task)).sum();
            let over = end - cycle;
            if over <= SLACK || told.contains(&post.side) {
                continue;
            }
            let waits = if end - load > SLACK {
                format!(", {:.1} s of it waiting for other posts", end - load)
            } else {
                String::new()
            };
            broken.push(Broken {
                rule: BrokenRule::Cycle,
                station: Some(self.place(at).to_owned()),
                by_s: Some(over),
                what: format!(
                    "{} takes {end:.1} s on a mean car{waits}, {over:.1} s over the cycle of \
                     {cycle:.1} s",
                    self.post(at, post.side)
                ),
                way_out: self.way_out(at, &tasks, over),
                rows: self.rows(&tasks),
            });
        }
        broken
    }

    fn post(&self, at: usize, side: Stand) -> String {
        match side {
            Stand::Left => format!("the left of `{}`", self.place(at)),
            Stand::Right => format!("the right of `{}`", self.place(at)),
            Stand::Either => format!("`{}`", self.place(at)),
        }
    }

    /// The smallest task that is enough and may go to a neighbour with room.
    fn way_out(&self, at: usize, tasks: &[usize], over: f64) -> String {
        let placing = self.placing;
        let cycle = placing.work.cycle_s * self.units(at);
        let alone = tasks
            .iter()
            .find(|task| self.mean_s(**task) > cycle + SLACK);
        if let Some(task) = alone {
            let takt = self.mean_s(*task) / cycle * placing.work.takt_s;
            return format!(
                "{} alone is longer: divide it, let two stations in parallel do every other \
                 car, or give a takt of {takt:.1} s",
                self.name(*task)
            );
        }
        let mut enough: Vec<usize> = tasks.to_vec();
        enough.retain(|task| self.mean_s(*task) >= over);
        enough.sort_by(|a, b| self.mean_s(*a).total_cmp(&self.mean_s(*b)));
        let near = [
            at.checked_sub(1),
            Some(at + 1).filter(|n| *n < self.stations.len()),
        ];
        for task in enough {
            for to in near.into_iter().flatten() {
                if self.may_go(task, to) {
                    return format!("move {} to `{}`", self.name(task), self.place(to));
                }
            }
        }
        let takt = placing.work.takt_s * (cycle + over) / cycle;
        format!(
            "move at least {over:.1} s of its work to other stations; or give a takt of \
             {takt:.1} s"
        )
    }

    /// Whether a task may stand at a station and its people have time for it.
    fn may_go(&self, task: usize, to: usize) -> bool {
        let placing = self.placing;
        let work = placing.work;
        let row = work.tasks[task];
        let ruled = row.fixed || !row.same_station.is_empty() || !row.other_station.is_empty();
        let befores = work.after[task].iter();
        let in_order = befores
            .filter_map(|t| self.at[*t])
            .all(|station| station <= to)
            && (0..self.at.len())
                .filter(|other| work.after[*other].contains(&task))
                .filter_map(|other| self.at[other])
                .all(|station| station >= to);
        if ruled || !in_order || !self.robots[to].is_empty() {
            return false;
        }
        let here = self.by_hand(to);
        let time = |side: Option<Side>| -> f64 {
            let tasks = here.iter().chain([&task]);
            tasks
                .filter(|task| side.is_none_or(|side| work.tasks[**task].side == side))
                .map(|task| self.mean_s(*task))
                .sum()
        };
        let posts = placing.frame.line.posts().len() as f64;
        let people = f64::from(placing.frame.line.people);
        let fits = |side| time(Some(side)) <= people * work.cycle_s;
        // a station without work of people may be a machine's
        !here.is_empty()
            && time(None) <= posts * work.cycle_s
            && (!placing.frame.two_sided || fits(Side::Left) && fits(Side::Right))
    }

    /// The car of the mix that is furthest beyond what the plant allows.
    fn overload(&self, at: usize) -> Option<Broken> {
        let placing = self.placing;
        let book = placing.book;
        let share = book.plant.overload_share.value.0;
        let most = placing.work.cycle_s * self.units(at) * (1.0 + share);
        let cars = mix::cars(book, &placing.work.tasks);
        let on = |car: &Car<'_>| {
            self.ends(at, &|task| f64::from(u8::from(mix::has(book, car, task))))
                .into_iter()
                .fold(0.0, f64::max)
        };
        let worst = cars.iter().map(|car| (on(car), car));
        let (end, car) = worst.max_by(|a, b| a.0.total_cmp(&b.0))?;
        // whole ticks, as the balance counts them
        let over = end - f64::from(ticks(most)) / PER_SECOND;
        if over <= SLACK {
            return None;
        }
        let tasks: Vec<usize> = self.by_hand(at);
        let tasks: Vec<usize> = tasks
            .into_iter()
            .filter(|task| mix::has(book, car, placing.work.tasks[*task]))
            .collect();
        Some(Broken {
            rule: BrokenRule::Overload,
            station: Some(self.place(at).to_owned()),
            by_s: Some(over),
            what: format!(
                "{} takes {end:.1} s at `{}`, {over:.1} s more than the {most:.1} s that an \
                 overload of {:.0} % allows",
                self.car(car, &tasks),
                self.place(at),
                share * 100.0
            ),
            way_out: self.way_out(at, &tasks, over),
            rows: self.rows(&tasks),
        })
    }

    /// A car by its product and the options that have work here.
    fn car(&self, car: &Car<'_>, tasks: &[usize]) -> String {
        let product = &self.placing.book.products[car.product].product;
        let mut options: Vec<&str> = tasks
            .iter()
            .filter_map(|task| self.placing.work.tasks[*task].option.as_deref())
            .collect();
        options.sort_unstable();
        options.dedup();
        if options.is_empty() {
            product.clone()
        } else {
            format!("{product} with {}", options.join(" and "))
        }
    }

    /// Whether heavy cars are so by an option, which spacing rules can part.
    fn is_option(&self, cars: &str) -> bool {
        let mut products = self.placing.book.products.iter();
        !products.any(|row| row.product == cars)
    }

    fn run(&self, at: usize, post: &AssemblyPost) -> Option<Broken> {
        let room = self.placing.work.takt_s * self.units(at);
        let heavy = post.heavy.as_ref().filter(|heavy| !heavy.holds)?;
        if self.units(at) > 1.0 && heavy.seconds <= room {
            return None;
        }
        let plant = &self.placing.book.plant;
        Some(Broken {
            rule: BrokenRule::Run,
            station: Some(self.place(at).to_owned()),
            by_s: Some(heavy.past_s),
            what: format!(
                "{} takes {:.1} s at `{}`: the worst run of them ends {:.1} s past takt, {:.2} m \
                 beyond the station, where {:.2} m are allowed",
                heavy.cars,
                heavy.seconds,
                self.place(at),
                heavy.past_s,
                heavy.past_m,
                plant.drift_m.value.0
            ),
            way_out: if self.is_option(&heavy.cars) {
                "space them further apart in `options`, move some of their work, or allow more \
                 drift where the station is longer"
                    .into()
            } else {
                format!(
                    "move work of {} to another station, build them by turns with lighter \
                     products, or allow more drift where the station is longer",
                    heavy.cars
                )
            },
            rows: post.work.iter().map(|task| task.at).collect(),
        })
    }

    fn robots(&self, at: usize) -> Vec<Broken> {
        let mut broken = Vec::new();
        let people = self.by_hand(at);
        let of = |by_s, what, way_out: &str, rows| Broken {
            rule: BrokenRule::Robot,
            station: Some(self.place(at).to_owned()),
            by_s,
            what,
            way_out: way_out.to_owned(),
            rows,
        };
        let work = self.placing.work;
        for (cell, number) in self.cells(at).zip(&self.robots[at]) {
            let tasks: Vec<usize> = (0..self.at.len())
                .filter(|task| self.placing.doing[*task].cell() == Some(*number))
                .collect();
            if !people.is_empty() || self.robots[at].len() > 1 {
                let rows = self.rows(if people.is_empty() { &tasks } else { &people });
                broken.push(of(
                    None,
                    format!(
                        "{} does not have `{}` to itself",
                        cell.robot,
                        self.place(at)
                    ),
                    "a robot needs a station of its own: move the other work away",
                    rows,
                ));
            }
            if let Some(stuck) = &cell.stuck {
                let way = "change the order, the open times or the robot's work";
                broken.push(of(None, stuck.clone(), way, self.rows(&tasks)));
            } else if cell.seconds > work.cycle_s * self.units(at) + SLACK {
                broken.push(of(
                    Some(-cell.spare_s),
                    format!(
                        "{} takes {:.1} s, {:.1} s over the cycle of {:.1} s",
                        cell.robot, cell.seconds, -cell.spare_s, work.cycle_s
                    ),
                    &relief(cell, work.cycle_s * self.units(at)),
                    self.rows(&tasks),
                ));
            }
            // what makes the cell stuck has told of its beads
            let late = |bead: &&Bead| !bead.holds && cell.stuck.is_none();
            for bead in cell.beads.iter().filter(late) {
                broken.push(of(
                    None,
                    format!("{} bears a stop of {:.0} s only", bead.task, bead.margin_s),
                    "set its part sooner, or take an adhesive that stays open longer",
                    self.rows(&tasks),
                ));
            }
        }
        broken
    }
}

/// What helps a robot that has too much for the cycle.
fn relief(cell: &RobotCell, cycle_s: f64) -> String {
    let mut ways = Vec::new();
    let pairs = cell.pairs_save_s.map(|saved| cell.seconds - saved);
    if let Some(pairs) = pairs.filter(|pairs| *pairs < cell.seconds - SLACK) {
        let enough = if pairs <= cycle_s + SLACK {
            "fits".to_owned()
        } else {
            format!("is still {:.1} s too long", pairs - cycle_s)
        };
        ways.push(format!(
            "let it do two cars between returns to the first tool, with both in its reach, \
             which takes {pairs:.1} s a car and {enough}"
        ));
    }
    if cell.steps.len() > 1 {
        ways.push("give part of its work to a second robot at a station of its own".into());
    }
    ways.push("give a task of it to people at another station".into());
    ways.join("; or ")
}
