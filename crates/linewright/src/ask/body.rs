//! `linewright body`: which joint where, by which robot, in what seconds.

use std::fmt::Write as _;

use desk::report;
use units::{PerWeek, Seconds, nearest};
use whole::body::{Aim, Asked, Body, BodyStation, JoinGroup, MethodWay, Watch};

use super::check::{refused, sound};
use crate::arguments::BodyArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Plans the body shop and writes what is asked for.
pub(crate) fn body(asked: &BodyArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    let wanted = wanted(asked)?;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    let book = sound(path, form)?;
    if book.joins.is_empty() {
        return Err(Failure::usage(format!(
            "{}: the book has no joins, so there is nothing to join; give it a joins table",
            path.display()
        )));
    }
    let progress = crew::planning();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let planned = whole::body::body(&book, wanted, &watch);
    crew::wipe();
    let plan = planned.map_err(|problems| refused(&problems, path, form))?;
    let shown = shown(asked, &plan)?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &report::body_xlsx(&plan)?)?;
    }
    Answer::of(form, plan.holds, &plan, || {
        let mut text = shown;
        if let Some(file) = &asked.xlsx {
            let _ = write!(text, "\nWritten: {}\n", file.display());
        }
        text
    })
}

fn wanted(asked: &BodyArguments) -> Result<Asked, Failure> {
    let more_than_0 = |option: &str, value: Option<f64>, what: &str| match value {
        Some(value) if !(value > 0.0 && value.is_finite()) => Err(Failure::usage(format!(
            "{option}: found {value}, expected more than 0 {what}"
        ))),
        value => Ok(value),
    };
    Ok(Asked {
        rate: more_than_0("--cars", asked.cars, "cars a week")?.map(PerWeek),
        takt: more_than_0("--takt", asked.takt, "seconds")?.map(Seconds),
        aim: if asked.cost {
            Aim::LeastCost
        } else {
            Aim::FewestRobots
        },
    })
}

/// One group, one station, or the whole.
fn shown(asked: &BodyArguments, plan: &Body) -> Result<String, Failure> {
    let mut text = String::new();
    if let Some(name) = &asked.join {
        let found = plan.groups.iter().find(|group| group.join == *name);
        let group = found.ok_or_else(|| {
            unknown(
                "--join",
                name,
                plan.groups.iter().map(|group| group.join.as_str()),
            )
        })?;
        text.push_str(&of_group(plan, group));
    }
    if let Some(name) = &asked.station {
        let found = plan
            .stations
            .iter()
            .find(|station| station.station == *name);
        let station = found.ok_or_else(|| {
            unknown(
                "--station",
                name,
                plan.stations.iter().map(|row| row.station.as_str()),
            )
        })?;
        text.push_str(&of_station(station));
    }
    if text.is_empty() {
        text = whole(plan, asked.all);
    } else {
        cautions(&mut text, plan);
    }
    Ok(text)
}

fn unknown<'n>(option: &str, name: &str, names: impl Iterator<Item = &'n str>) -> Failure {
    let near = nearest(name, names);
    let near = near.map_or_else(String::new, |near| format!("; nearest is `{near}`"));
    Failure::usage(format!(
        "{option}: found `{name}`, which joins nothing in the plan{near}"
    ))
}

fn whole(plan: &Body, all: bool) -> String {
    let mut text = format!("{}\n", sentence(plan));
    for stuck in &plan.stuck {
        let _ = writeln!(
            text,
            "\n  {} ({}): {}\n    {}",
            stuck.join, stuck.at, stuck.why, stuck.mend
        );
    }
    section(&mut text, "Methods", &by_method(plan));
    section(&mut text, "Lines", &lines(plan));
    section(&mut text, "Stations against takt", &stations(plan));
    section(&mut text, "Consumables", &consumables(plan));
    section(&mut text, "What a second of takt does", &takts(plan));
    one_less(&mut text, plan);
    if all {
        section(&mut text, "Joint groups", &groups(plan));
        section(&mut text, "Methods refused", &refusals(plan));
        for station in &plan.stations {
            if !station.robots.is_empty() {
                let _ = write!(text, "\n{}", of_station(station));
            }
        }
        section(&mut text, "Stops for consumables", &stops(plan));
        section(&mut text, "Limits in force", &limits(plan));
    } else {
        text.push_str(
            "\n--all shows every group, refusal, robot, stop and limit; --join and --station one \
             of them.\n",
        );
    }
    cautions(&mut text, plan);
    if !plan.notes.is_empty() {
        let notes = things(plan.notes.len(), "note", "notes");
        let _ = write!(text, "\n{notes}\n");
        for note in &plan.notes {
            let _ = writeln!(text, "  {note}");
        }
    }
    text
}

fn cautions(text: &mut String, plan: &Body) {
    text.push('\n');
    for caution in &plan.cautions {
        let _ = writeln!(text, "{caution}");
    }
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn sentence(plan: &Body) -> String {
    let joints = things(plan.joints as usize, "joint", "joints");
    let groups = things(plan.groups.len(), "group", "groups");
    let robots = things(plan.robots as usize, "robot", "robots");
    let cut = if plan.complete {
        ""
    } else {
        "; the search was cut short"
    };
    if !plan.holds {
        let left: u32 = plan.stuck.iter().map(|stuck| stuck.joints).sum();
        return format!(
            "{}: {left} of {joints} a car find no robot within the cycle; the others take \
             {robots}{cut}.",
            plan.plant
        );
    }
    let least = match plan.aim {
        Aim::FewestRobots => format!("no allocation has fewer than {}", plan.robots_bound),
        Aim::LeastCost => format!(
            "no allocation costs less than {} {} a year",
            number(plan.cost_bound_per_year, 0),
            plan.currency
        ),
    };
    format!(
        "{}: {joints} a car in {groups} by {robots}, {} {} a year; {least} (at most {} above the \
         least there can be){cut}.",
        plan.plant,
        number(plan.robots_cost_per_year, 0),
        plan.currency,
        percent(plan.gap, 1)
    )
}

fn by_method(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("method", Side::Left),
        ("groups", Side::Right),
        ("joints a car", Side::Right),
        ("s in the cycle", Side::Right),
        ("s with stops", Side::Right),
        ("refused for", Side::Right),
    ]);
    let Some(first) = plan.groups.first() else {
        return grid;
    };
    for way in &first.ways {
        let own = || {
            plan.groups
                .iter()
                .filter(|group| group.method == way.method)
        };
        let joints: u32 = own().map(|group| group.joints).sum();
        let mean = |seconds: fn(&JoinGroup) -> f64| {
            let sum: f64 = own().map(|g| seconds(g) * f64::from(g.joints)).sum();
            if joints == 0 {
                "-".to_owned()
            } else {
                number(sum / f64::from(joints), 2)
            }
        };
        let refuses = |group: &&JoinGroup| {
            group
                .ways
                .iter()
                .any(|other| other.method == way.method && !other.refused.is_empty())
        };
        grid.row([
            way.method.word().to_owned(),
            own().count().to_string(),
            joints.to_string(),
            mean(|group| group.in_cycle_s),
            mean(|group| group.effective_s.value),
            things(
                plan.groups.iter().filter(refuses).count(),
                "group",
                "groups",
            ),
        ]);
    }
    grid
}

fn lines(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("takt, s", Side::Right),
        ("cycle, s", Side::Right),
        ("joints", Side::Right),
        ("robots", Side::Right),
    ]);
    for line in &plan.lines {
        grid.row([
            line.line.clone(),
            number(line.takt_s.value, 1),
            number(line.cycle_s.value, 1),
            line.joints.to_string(),
            line.robots.to_string(),
        ]);
    }
    grid
}

fn stations(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("joints", Side::Right),
        ("robots", Side::Right),
        ("at most", Side::Right),
        ("joining, s", Side::Right),
        ("waiting", Side::Right),
        ("changing", Side::Right),
        ("cycle, s", Side::Right),
        ("measured", Side::Right),
        ("takt, s", Side::Right),
        ("one less, s", Side::Right),
    ]);
    let seconds = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |s| number(s, 1));
    for row in &plan.stations {
        let sum = |of: fn(&whole::body::BodyRobot) -> f64| {
            number(row.robots.iter().map(of).sum::<f64>(), 1)
        };
        grid.row([
            row.station.clone(),
            row.joints.to_string(),
            row.robots.len().to_string(),
            row.robots_most.to_string(),
            sum(|robot| robot.work_s),
            sum(|robot| robot.wait_s),
            sum(|robot| robot.change_s),
            number(row.cycle_s, 1),
            seconds(row.measured_s),
            number(row.takt_s, 1),
            seconds(row.one_less_s),
        ]);
    }
    grid
}

fn consumables(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("method", Side::Left),
        ("what", Side::Left),
        ("unit", Side::Left),
        ("a car", Side::Right),
        ("a week", Side::Right),
        ("cost a year", Side::Right),
    ]);
    for row in &plan.consumables {
        grid.row([
            row.method.word().to_owned(),
            row.item.clone(),
            row.unit.clone(),
            number(row.per_car, 3),
            number(row.per_week, 1),
            number(row.cost_per_year, 0),
        ]);
    }
    grid
}

fn takts(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("takt, s more", Side::Right),
        ("cars a week", Side::Right),
        ("robots", Side::Right),
        ("robots a year", Side::Right),
    ]);
    for row in &plan.takts {
        grid.row([
            number(row.more_s, 0),
            number(row.cars_per_week, 0),
            row.robots
                .map_or_else(|| "-".to_owned(), |robots| robots.to_string()),
            row.robots_cost_per_year
                .map_or_else(|| "-".to_owned(), |cost| number(cost, 0)),
        ]);
    }
    grid
}

fn one_less(text: &mut String, plan: &Body) {
    if let Some(less) = &plan.one_less {
        let _ = writeln!(
            text,
            "\nOne robot less ({}) suffices at {} s of takt more: {} cars a week.",
            less.robots,
            number(less.more_s, 0),
            number(less.cars_per_week, 0)
        );
    }
}

fn groups(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("join", Side::Left),
        ("method", Side::Left),
        ("joints", Side::Right),
        ("s a joint", Side::Right),
        ("a year", Side::Right),
        ("runner-up", Side::Left),
        ("dearer", Side::Right),
        ("why", Side::Left),
    ]);
    for row in &plan.groups {
        let cost = row.cost_per_year.as_ref();
        grid.row([
            row.join.clone(),
            row.method.word().to_owned(),
            row.joints.to_string(),
            number(row.effective_s.value, 2),
            cost.map_or_else(String::new, |cost| number(cost.value, 0)),
            row.runner_up.map_or("-", book::JoinMethod::word).to_owned(),
            row.runner_up_dearer
                .map_or_else(String::new, |more| number(more, 0)),
            row.reason.clone(),
        ]);
    }
    grid
}

fn refusals(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("join", Side::Left),
        ("method", Side::Left),
        ("why not", Side::Left),
    ]);
    for group in &plan.groups {
        for way in group.ways.iter().filter(|way| !way.refused.is_empty()) {
            grid.row([
                group.join.clone(),
                way.method.word().to_owned(),
                why_not(way),
            ]);
        }
    }
    grid
}

fn why_not(way: &MethodWay) -> String {
    let rules: Vec<&str> = way.refused.iter().map(|rule| rule.told.as_str()).collect();
    rules.join("; ")
}

fn of_group(plan: &Body, group: &JoinGroup) -> String {
    let mut text = format!(
        "{} ({}): {} of {}, {}: {}.\n",
        group.join,
        group.at,
        things(group.joints as usize, "joint", "joints"),
        group.stack,
        group.method.word(),
        group.reason
    );
    let mut grid = Grid::new([
        ("method", Side::Left),
        ("s a joint", Side::Right),
        ("consumables", Side::Right),
        ("cost a year", Side::Right),
        ("why not", Side::Left),
        ("limit from", Side::Left),
        ("what would free it", Side::Left),
    ]);
    let shown = |value: Option<f64>, decimals| {
        value.map_or_else(|| "-".to_owned(), |value| number(value, decimals))
    };
    for way in &group.ways {
        let each = |of: fn(&whole::body::BrokenLimit) -> &String| {
            let all: Vec<&str> = way.refused.iter().map(|rule| of(rule).as_str()).collect();
            all.join("; ")
        };
        grid.row([
            way.method.word().to_owned(),
            shown(way.effective_s, 2),
            shown(way.consumables, 4),
            shown(way.cost_per_year, 0),
            why_not(way),
            each(|rule| &rule.source),
            each(|rule| &rule.mend),
        ]);
    }
    let _ = write!(text, "\n{grid}");
    if let Some(figure) = plan.figures.get(&group.effective_s.figure) {
        let _ = write!(text, "\n{}\n", figure.working);
    }
    text
}

fn of_station(station: &BodyStation) -> String {
    let mut text = format!(
        "{} ({}): cycle {} s, takt {} s.\n",
        station.station,
        station.at,
        number(station.cycle_s, 1),
        number(station.takt_s, 1)
    );
    let mut grid = Grid::new([
        ("robot", Side::Left),
        ("from, s", Side::Right),
        ("to, s", Side::Right),
        ("joints", Side::Right),
        ("join", Side::Left),
        ("with", Side::Left),
        ("zone", Side::Left),
    ]);
    for robot in &station.robots {
        for step in &robot.steps {
            let tool = if step.changed {
                format!("{} (changed)", step.variant)
            } else {
                step.variant.clone()
            };
            grid.row([
                robot.robot.clone(),
                number(step.start_s, 1),
                number(step.end_s, 1),
                step.joints.to_string(),
                step.join.clone(),
                tool,
                step.zone.clone().unwrap_or_default(),
            ]);
        }
    }
    let _ = write!(text, "\n{grid}");
    text
}

fn stops(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("stop", Side::Left),
        ("every, min", Side::Right),
        ("min", Side::Right),
    ]);
    for station in &plan.stations {
        for stop in &station.stops {
            grid.row([
                station.station.clone(),
                stop.cause.clone(),
                number(stop.between_min, 0),
                number(stop.minutes, 1),
            ]);
        }
    }
    grid
}

fn limits(plan: &Body) -> Grid {
    let mut grid = Grid::new([
        ("method", Side::Left),
        ("rule", Side::Left),
        ("limit", Side::Right),
        ("from", Side::Left),
    ]);
    for row in &plan.limits {
        grid.row([
            row.method.word().to_owned(),
            row.rule.clone(),
            number(row.limit, 2),
            row.source.clone(),
        ]);
    }
    grid
}
