//! The run's time from coil to car, stage by stage.
//!
//! Little's law place by place (J. D. C. Little, Operations Research 9, 1961):
//! the mean days that a piece is at a station, on a link or in a stock are what
//! lies there over the pieces that pass it a day, the pieces that a car needs
//! there times the cars made. What lies there is counted by the calendar, nights
//! and weekends too, and from the opening of a lot's coil on, as a car's age is;
//! where as much comes in as goes out the stages so add up to that age exactly.
//! The stages on the way that takes longest add up to the time of a car that came
//! that way. What goes beside it (a door line, a pack line) runs meanwhile and
//! adds nothing.

use std::collections::BTreeSet;

use book::Book;
use flow::statistics::{Interval, mean};

use super::measure::Measured;
use crate::network::{Built, Stage, Way};
use crate::plan::lead_time::stock_stage;
use crate::plan::{RatePlan, StageAge, first_time};
use crate::requirement::{Requirement, requirement};

const DAYS_PER_WEEK: f64 = 7.0;

/// Days by stage.
pub(super) struct StageDays {
    /// In each stage of the plant; none in a stage beside the longest way.
    pub(super) seen: Vec<Option<Interval>>,
    /// Of all stages together.
    pub(super) all: Option<Interval>,
}

/// A place where pieces lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Station(usize),
    Link(usize),
}

struct Places<'a> {
    built: &'a Built,
    measured: &'a Measured,
    book: &'a Book,
    need: Requirement,
    /// Stations of the book that a car comes to only after a check it failed.
    benches: BTreeSet<usize>,
}

/// The mean days in each stage on the way that takes longest.
pub(super) fn days(book: &Book, built: &Built, measured: &Measured) -> StageDays {
    let none = StageDays {
        seen: vec![None; built.stages.len()],
        all: None,
    };
    let (Ok(need), Some(visits)) = (requirement(book), first_time::first_visits(book)) else {
        return none;
    };
    // what stands still for good is left by nothing
    if measured.stuck().is_some() || measured.cars.iter().any(|cars| *cars <= 0.0) {
        return none;
    }
    let places = Places {
        built,
        measured,
        book,
        need,
        benches: (0..visits.len()).filter(|&i| visits[i] <= 0.0).collect(),
    };
    let way = places.longest_way();
    let mut by_stage: Vec<Option<Vec<f64>>> = vec![None; built.stages.len()];
    let mut all = vec![0.0; measured.cars.len()];
    for (place, pieces) in places.with_rework(&way) {
        let stage = by_stage[places.stage(place)].get_or_insert_with(|| vec![0.0; all.len()]);
        for (r, days) in places.days(place, pieces).into_iter().enumerate() {
            stage[r] += days;
            all[r] += days;
        }
    }
    let level = measured.level();
    let interval = |days: &Vec<f64>| Interval::of(days, level);
    StageDays {
        seen: by_stage
            .iter()
            .map(|days| days.as_ref().map(interval))
            .collect(),
        all: (!way.is_empty()).then(|| interval(&all)),
    }
}

impl Places<'_> {
    fn stage(&self, place: Place) -> usize {
        let station = match place {
            Place::Station(station) => station,
            Place::Link(link) => self.built.network.links[link].from.at(),
        };
        self.built.stations[station].stage
    }

    /// Pieces that a car needs at a place.
    fn pieces(&self, place: Place) -> f64 {
        let of_part = |name: &str, blanks: bool| {
            let part = self.book.parts.iter().position(|part| part.part == name);
            part.map_or(0.0, |part| {
                let need = &self.need.parts[part];
                if blanks { need.begun } else { need.good }
            })
        };
        let a_week = match place {
            Place::Station(station) => match &self.built.network.stations[station].work {
                flow::model::Work::Lots(lots) => {
                    let items = lots.items.iter();
                    items.map(|item| of_part(&item.name, true)).sum()
                }
                flow::model::Work::Cycle(_) => self.need.good(station),
            },
            Place::Link(link) => match &self.built.links[link].way {
                Way::Blanks(part) => of_part(part, true),
                Way::Panels(part) => of_part(part, false),
                Way::Onward | Way::Rework => {
                    let row = self.built.links[link].at;
                    let links = &self.book.links;
                    let row = links.iter().position(|link| link.at == row);
                    row.map_or(0.0, |row| self.need.over_link(row))
                }
            },
        };
        a_week / self.need.cars()
    }

    /// Days at a place, by replication, where so many pieces a car pass.
    fn days(&self, place: Place, pieces: f64) -> Vec<f64> {
        let cars = self.measured.cars.iter().enumerate();
        cars.map(|(r, cars)| self.content(place, r) / (cars / DAYS_PER_WEEK * pieces))
            .collect()
    }

    /// Pieces that lie at a place in a replication.
    fn content(&self, place: Place, replication: usize) -> f64 {
        match place {
            Place::Station(station) => {
                self.measured.outcome.stations[station].held.each[replication]
            }
            Place::Link(link) => self.measured.outcome.links[link].content.each[replication],
        }
    }

    fn mean_days(&self, place: Place) -> Option<f64> {
        let pieces = self.pieces(place);
        (pieces > 0.0).then(|| mean(&self.days(place, pieces)))
    }

    /// Links that bring cars and parts on, with their ends.
    fn onward(&self) -> Vec<(usize, usize, usize)> {
        let links = self.built.network.links.iter().enumerate();
        links
            .map(|(l, link)| (l, link.from.at(), link.to.at()))
            .filter(|&(l, from, to)| {
                self.built.links[l].way != Way::Rework
                    && !self.benches.contains(&from)
                    && !self.benches.contains(&to)
                    && self.pieces(Place::Link(l)) > 0.0
            })
            .collect()
    }

    /// The places on the way that takes longest, from its end back.
    fn longest_way(&self) -> Vec<Place> {
        let stations = self.built.stations.len();
        let ways = self.onward();
        let mut out: Vec<Vec<usize>> = vec![Vec::new(); stations];
        for (way, &(_, from, _)) in ways.iter().enumerate() {
            out[from].push(way);
        }
        let order = order(&out, &ways);
        let mut turn = vec![0; stations];
        for (n, &station) in order.iter().enumerate() {
            turn[station] = n;
        }
        let here = |station: usize| self.mean_days(Place::Station(station)).unwrap_or(0.0);
        let mut reach: Vec<(f64, Option<usize>)> =
            (0..stations).map(|station| (here(station), None)).collect();
        for &from in &order {
            for &way in &out[from] {
                let (link, _, to) = ways[way];
                // a link that closes a circle is not followed
                if turn[to] <= turn[from] {
                    continue;
                }
                let on_link = self.mean_days(Place::Link(link)).unwrap_or(0.0);
                let days = reach[from].0 + on_link + here(to);
                if reach[to].1.is_none() || days > reach[to].0 {
                    reach[to] = (days, Some(way));
                }
            }
        }
        let ends = (0..stations)
            .filter(|&at| out[at].is_empty() && self.mean_days(Place::Station(at)).is_some());
        let last = ends.filter(|at| !self.benches.contains(at));
        let Some(mut at) = last.max_by(|a, b| reach[*a].0.total_cmp(&reach[*b].0)) else {
            return Vec::new();
        };
        let mut places = vec![Place::Station(at)];
        while let Some(way) = reach[at].1 {
            let (link, from, _) = ways[way];
            places.extend([Place::Link(link), Place::Station(from)]);
            at = from;
        }
        places
    }

    /// The places of a way and of the rework beside it, each with the pieces by
    /// which its days are told: those of the place itself, and on the rework,
    /// which only some cars go through, those of the check that sends them.
    fn with_rework(&self, way: &[Place]) -> Vec<(Place, f64)> {
        let mut told: Vec<(Place, f64)> = way
            .iter()
            .map(|&place| (place, self.pieces(place)))
            .filter(|(_, pieces)| *pieces > 0.0)
            .collect();
        let mut seen: BTreeSet<Place> = way.iter().copied().collect();
        for (check, pieces) in told.clone() {
            let Place::Station(check) = check else {
                continue;
            };
            let mut todo = vec![check];
            while let Some(from) = todo.pop() {
                for (l, link) in self.built.network.links.iter().enumerate() {
                    let to = link.to.at();
                    let back = self.built.links[l].way == Way::Rework || from != check;
                    if link.from.at() != from || !back || !seen.insert(Place::Link(l)) {
                        continue;
                    }
                    told.push((Place::Link(l), pieces));
                    if self.benches.contains(&to) && seen.insert(Place::Station(to)) {
                        told.push((Place::Station(to), pieces));
                        todo.push(to);
                    }
                }
            }
        }
        told
    }
}

/// All stations in the order of the flow; what goes round is entered where it is
/// first met.
fn order(out: &[Vec<usize>], ways: &[(usize, usize, usize)]) -> Vec<usize> {
    let mut fed = vec![false; out.len()];
    for &(_, _, to) in ways {
        fed[to] = true;
    }
    let mut seen = vec![false; out.len()];
    let mut done = Vec::with_capacity(out.len());
    let starts = (0..out.len()).filter(|&i| !fed[i]);
    for start in starts.chain(0..out.len()) {
        // a station is done when all that it feeds is
        let mut stack = vec![(start, 0)];
        while let Some((at, next)) = stack.pop() {
            if next == 0 && std::mem::replace(&mut seen[at], true) {
                continue;
            }
            match out[at].get(next) {
                Some(&way) => {
                    stack.push((at, next + 1));
                    let to = ways[way].2;
                    if !seen[to] {
                        stack.push((to, 0));
                    }
                }
                None => done.push(at),
            }
        }
    }
    done.reverse();
    done
}

/// Days in a stage by plan, with every place filled and every lot just begun;
/// none where the plan's longest way does not touch it.
pub(super) fn planned(plan: Option<&RatePlan>, stage: &Stage) -> Option<f64> {
    let plan = plan?;
    let lots = plan
        .press_lines
        .iter()
        .filter(|line| line.shop == stage.name);
    let stocks: BTreeSet<String> = lots
        .flat_map(|line| &line.runs)
        .map(|run| stock_stage(&run.part, run.blanks))
        .collect();
    let here = |age: &&StageAge| {
        if age.of_cars() {
            age.stage == stage.name
        } else {
            stocks.contains(&age.stage)
        }
    };
    let days = plan.lead_time.iter().flat_map(|lead| &lead.stages);
    let days: Vec<f64> = days.filter(here).map(|age| age.days.value).collect();
    (!days.is_empty()).then(|| days.iter().sum())
}

#[cfg(test)]
mod tests {
    use flow::Watch;

    use crate::findings::{Answer, RunSettings, find};
    use crate::sample::{SMALL_PLANT, book};

    fn answer(text: &str) -> Answer {
        let settings = RunSettings {
            replications: 4,
            weeks: 4,
            trials: 0,
            ..RunSettings::USUAL
        };
        find(&book(text), &settings, &Watch::none()).expect("an answer")
    }

    /// Days of the stages, those of all, and the mean car's.
    fn days(answer: &Answer) -> (Vec<(&str, Option<f64>)>, f64, f64) {
        let stages = answer.stages.iter();
        let stages = stages.map(|s| (s.stage.as_str(), s.days.map(|days| days.mean)));
        let time = &answer.coil_to_car;
        (
            stages.collect(),
            time.by_stage.expect("a way").mean,
            time.spread.mean_days.expect("cars"),
        )
    }

    #[test]
    fn the_stages_of_a_line_with_a_mend_bay_add_up_to_the_time_of_its_cars() {
        let seen = answer(
            "[products]
            product,cars_per_week
            van,2000
            [stations]
            station,shop,cycle_s,first_time_ok,rework_to,stage
            floor,body,200,0.95,floor,
            weld,body,190,,,
            test,trim,150,0.8,mend,
            mend,trim,700,,,bay
            [links]
            from,to,holds,move_s
            floor,weld,20,60
            floor,floor,2,
            weld,test,40,600
            test,mend,40,
            mend,test,40,300",
        );
        let (stages, all, mean) = days(&seen);
        let sum: f64 = stages.iter().filter_map(|(_, days)| *days).sum();
        assert!((sum - all).abs() < 1e-9, "{stages:?}");
        assert!((all / mean - 1.0).abs() < 0.02, "{all} of {mean}");
        assert!(stages.iter().all(|(_, days)| days.is_some()), "{stages:?}");
    }

    /// A plant without luck: roofs cut in lots of 21 at 6 s each as soon as 5 are
    /// left, a car at framing every 300 s, and a test.
    const CLOCKWORK: &str = "
        [products]
        product,cars_per_week
        van,2016
        [press_lines]
        press_line,shop,kind,change_min
        cutter,press,blanking,0
        [parts]
        part,blank_line,blanks_per_min,per_car,blank_lot,blank_stock,start_below,to
        roof,cutter,10,1,21,40,5,framing
        [stations]
        station,shop,cycle_s,takes,source
        floor,floors,100,any,yes
        framing,body,300,one_of_each,
        test,trim,200,any,
        [links]
        from,to,holds,move_s
        floor,framing,2,
        framing,test,2,60";

    #[test]
    fn the_stages_of_a_plant_without_luck_are_those_that_a_pencil_works_out() {
        let seen = answer(CLOCKWORK);
        let (stages, all, mean) = days(&seen);
        // A lot is cut when 5 roofs are left. Of its 21 the first is the sixth to be
        // taken from then on, the last the twenty-sixth: 300 s * (6 + 26) / 2 from
        // its coil's opening to framing.
        let by_hand = [
            ("press", Some(4_800.0)),
            ("floors", None),
            // at framing, and on the way to the test
            ("body", Some(300.0 + 60.0)),
            ("trim", Some(200.0)),
        ];
        for (stage, seconds) in by_hand {
            let found = stages.iter().find(|(name, _)| *name == stage);
            let found = found.unwrap_or_else(|| panic!("{stage} in {stages:?}")).1;
            let wanted = seconds.map(|seconds| seconds / 86_400.0);
            let same = match (found, wanted) {
                (Some(found), Some(wanted)) => (found / wanted - 1.0).abs() < 1e-9,
                (found, wanted) => found == wanted,
            };
            assert!(same, "{stage}: {found:?}, by hand {wanted:?}");
        }
        let by_hand = 5_360.0 / 86_400.0;
        assert!((all / by_hand - 1.0).abs() < 1e-9, "{all}");
        assert!((mean / by_hand - 1.0).abs() < 1e-9, "{mean}");
    }

    #[test]
    fn the_stages_add_up_to_the_age_of_the_cars_where_shops_close_and_a_press_follows() {
        // pressed too, in lots of their own; the shops close at night and at weekends
        let closed = CLOCKWORK
            .replace(
                "cutter,press,blanking,0",
                "cutter,press,blanking,3
        stamp,press,press,10",
            )
            .replace(
                "part,blank_line,blanks_per_min,per_car,blank_lot,blank_stock,start_below,to",
                "part,press_line,strokes_per_min,lot,stock,start_below,blank_line,\
                 blanks_per_min,per_car,blank_lot,blank_stock,to",
            )
            .replace(
                "roof,cutter,10,1,21,40,5,framing",
                "roof,stamp,6,30,60,20,cutter,10,1,60,120,framing",
            )
            .replace("van,2016", "van,960");
        let closed = format!(
            "{closed}
        [shifts]
        shop,shift,days,start,end
        press,day,mon-fri,06:00,22:00
        floors,day,mon-fri,06:00,22:00
        body,day,mon-fri,06:00,22:00
        trim,day,mon-fri,06:00,23:00"
        );
        let seen = answer(&closed);
        let (stages, all, mean) = days(&seen);
        assert!(mean > 0.5, "{mean} days, {stages:?}");
        assert!(
            (all / mean - 1.0).abs() < 1e-6,
            "{all} of {mean}: {stages:?}"
        );
    }

    #[test]
    fn the_stages_of_a_plant_that_begins_at_the_coil_follow_the_parts_that_take_longest() {
        // doors for one product must not stand in the way of those for another
        let roomy = SMALL_PLANT.replace("doors on,12,30", "doors on,400,30");
        let roomy = roomy.replace("doors on,6,30", "doors on,400,30");
        let seen = answer(&roomy);
        assert_eq!(seen.deadlock, None);
        let (stages, all, mean) = days(&seen);
        let of = |name: &str| stages.iter().find(|(stage, _)| *stage == name).map(|s| s.1);
        assert!(
            of("press").flatten().is_some_and(|days| days > 0.1),
            "{stages:?}"
        );
        // the doors are what takes longest; their store fills while the run lasts, so
        // that what lies there says somewhat more than what a car has waited
        assert!(of("doors").flatten().is_some_and(|days| days > 1.0));
        assert_eq!(of("body"), Some(None), "beside the longest way");
        assert!(
            all < 1.2 * mean && all > 0.8 * mean,
            "{all} of {mean}: {stages:?}"
        );
        let planned = seen.stages.iter().filter_map(|s| s.planned_days);
        let planned: f64 = planned.sum();
        assert!((planned - seen.coil_to_car.planned_days.expect("a plan")).abs() < 1e-9);
    }
}
