//! A robot for a person and back, and breaks that are covered.

use book::{At, Robot, RobotKind, Station, Task};
use units::Quantity;

use super::super::ideas::{IdeaKind, typed};
use super::{Finder, Told};

/// Work of a station that a robot or people can do.
struct Either<'a> {
    robot: &'a Robot,
    /// The tasks.
    tasks: Vec<&'a Task>,
    /// Seconds of them by hand and by robot, on a car that has them all.
    hand_s: f64,
    robot_s: f64,
}

impl<'a> Finder<'a> {
    /// A robot for a person at every station with work for both, and people for a
    /// robot.
    pub(super) fn who(&mut self) {
        for station in 0..self.shown.built.stations.len() {
            let origin = &self.shown.built.stations[station];
            let mut rows = self.shown.book.stations.iter();
            let Some(row) = rows.find(|row| row.at == origin.at) else {
                continue;
            };
            if self.path[station].total() <= 0.0 {
                continue;
            }
            let Some(either) = self.either(row) else {
                continue;
            };
            match row.cycle_s {
                Some(cycle) if row.robots == 0 => {
                    self.robot_for_person(station, row, &either, cycle.get());
                }
                Some(cycle) => self.people_for_robots(station, row, &either, cycle.get()),
                None => self.told_by_tasks(station, row, &either),
            }
        }
    }

    /// The tasks of a station that people or one kind of robot can do: its own
    /// kind, else that with most of its work.
    fn either(&self, row: &Station) -> Option<Either<'a>> {
        let book = self.shown.book;
        let kinds = book.robots.iter();
        let kinds = kinds.filter(|kind| kind.kind == RobotKind::Robot);
        let own = |kind: &&Robot| row.robots == 0 || row.robot.as_ref() == Some(&kind.robot);
        let all = kinds.filter(own).filter_map(|robot| {
            let tasks = book.tasks.iter().filter(|task| {
                task.station.as_ref() == Some(&row.station)
                    && task.robot.as_ref() == Some(&robot.robot)
                    && task.hand_s.is_some()
                    && task.robot_s.is_some()
            });
            let tasks: Vec<&Task> = tasks.collect();
            let sum = |of: fn(&Task) -> Option<units::Seconds>| -> f64 {
                let each = tasks.iter().filter_map(|task| of(task));
                each.map(Quantity::get).sum()
            };
            let (hand_s, robot_s) = (sum(|task| task.hand_s), sum(|task| task.robot_s));
            (hand_s > 0.0 && robot_s > 0.0).then_some(Either {
                robot,
                tasks,
                hand_s,
                robot_s,
            })
        });
        all.max_by(|a, b| a.hand_s.total_cmp(&b.hand_s))
    }

    /// A robot takes what it can beside the people, whose cycle shrinks by their
    /// part of the work; whoever has nothing left goes.
    fn robot_for_person(&mut self, station: usize, row: &Station, either: &Either<'_>, cycle: f64) {
        let tasks = self.shown.book.tasks.iter();
        let here = tasks.filter(|task| task.station.as_ref() == Some(&row.station));
        let by_hand: f64 = here.filter_map(|task| task.hand_s).map(Quantity::get).sum();
        let part = (either.hand_s / by_hand).min(1.0);
        let then = (cycle * (1.0 - part)).max(either.robot_s);
        let people = row.people();
        let freed = (people * part).floor();
        if then >= cycle && freed <= 0.0 {
            return;
        }
        let mut changes = vec![
            (row.at, "robots", "1".to_owned()),
            (row.at, "robot", either.robot.robot.clone()),
        ];
        if then < cycle {
            changes.push((row.at, "cycle_s", typed(then, 1)));
        }
        if freed > 0.0 {
            changes.push((row.at, "heads", typed(people - freed, 2)));
        }
        let share = self.path[station].cycle * ((cycle - then) / cycle).max(0.0);
        let told = self.robot_money(either.robot, 1.0, -freed, &row.shop);
        let name = format!("a robot for a person at {}", row.station);
        self.add(IdeaKind::Robot, (name, &row.station), &changes, share, told);
    }

    /// As many people as robots do what these do, each in the time it takes by
    /// hand.
    fn people_for_robots(&mut self, station: usize, row: &Station, either: &Either<'_>, cycle: f64) {
        let then = cycle * either.hand_s / either.robot_s;
        let robots = f64::from(row.robots);
        let changes = [
            (row.at, "robots", "0".to_owned()),
            (row.at, "heads", typed(row.people() + robots, 2)),
            (row.at, "cycle_s", typed(then, 1)),
        ];
        let share = self.path[station].cycle * ((cycle - then) / cycle).max(0.0);
        let told = Told {
            investment: Some(0.0),
            ..self.robot_money(either.robot, -robots, robots, &row.shop)
        };
        let name = format!("people for the robots at {}", row.station);
        self.add(IdeaKind::Person, (name, &row.station), &changes, share, told);
    }

    /// Where tasks make the cycle, who does them is who can: the other way is taken
    /// out of their rows. What stands already changes nothing, and is not run.
    fn told_by_tasks(&mut self, station: usize, row: &Station, either: &Either<'_>) {
        let each = |columns: &[&'static str]| -> Vec<(At, &'static str, String)> {
            let rows = either.tasks.iter();
            rows.flat_map(|task| columns.iter().map(|column| (task.at, *column, String::new())))
                .collect()
        };
        let (by_robot, by_hand) = (each(&["hand_s"]), each(&["robot_s", "robot"]));
        let quicker = (either.hand_s - either.robot_s) / either.hand_s.max(either.robot_s);
        let path = self.path[station].cycle;
        let told = self.robot_money(either.robot, 1.0, -1.0, &row.shop);
        let name = format!("a robot for a person at {}", row.station);
        let gain = path * quicker.max(0.0);
        self.add(IdeaKind::Robot, (name, &row.station), &by_robot, gain, told);
        let told = Told {
            investment: Some(0.0),
            ..self.robot_money(either.robot, -1.0, 1.0, &row.shop)
        };
        let name = format!("a person for a robot at {}", row.station);
        let gain = path * (-quicker).max(0.0);
        self.add(IdeaKind::Person, (name, &row.station), &by_hand, gain, told);
    }

    /// Robots more and people more, with what they cost.
    fn robot_money(&self, robot: &Robot, robots: f64, people: f64, shop: &str) -> Told {
        let plant = &self.shown.book.plant;
        let hours = self.hours(shop) * plant.weeks_per_year.value;
        let energy = robot.energy_kw.get() * hours * plant.energy_cost_per_kwh.value.get();
        let running = energy + robot.upkeep_per_year.get();
        Told {
            investment: Some(robots * robot.investment.get()),
            cost_per_year: Some(robots * running + people * self.hour_cost(shop)),
            life_years: Some(robot.life_years),
        }
    }

    /// The planned stops of a shop covered in turn by people for the breaks.
    pub(super) fn breaks(&mut self, shop: &str, path: f64) {
        let shown = self.shown;
        let rows = shown.book.shifts.iter().filter(|row| row.shop == shop);
        let with = rows.filter(|row| row.planned_stops_min.get() > 0.0);
        let with: Vec<_> = with.collect();
        let net = self.hours(shop);
        // a week has five of each shift, as common practice
        let stops: f64 = with.iter().map(|row| row.planned_stops_min.get()).sum();
        let stops_h = 5.0 * stops / 60.0;
        if with.is_empty() || net <= 0.0 {
            return;
        }
        let mut changes = Vec::new();
        for row in &with {
            changes.push((row.at, "planned_stops_min", "0".to_owned()));
            if !row.breaks.is_empty() {
                changes.push((row.at, "breaks", String::new()));
            }
        }
        let people = self.people_of(shop);
        let plant = &shown.book.plant;
        let a_year = plant.weeks_per_year.value * plant.person_cost_per_hour.value.get();
        let told = Told {
            investment: Some(0.0),
            cost_per_year: people.map(|people| people * stops_h * a_year),
            life_years: None,
        };
        let name = format!("breaks of {shop} covered in turn");
        self.add(IdeaKind::Shift, (name, shop), &changes, path * stops_h / net, told);
    }
}
