//! Tasks against takt: work that is not divided must be done between two cars.

use book::{Problem, Severity, Station, Task};

use super::{Basis, kinds};
use crate::assembly::{How, Refused, Screened};

/// A note for every task whose time, over the cars that have it, is longer
/// than the time between two cars at the place that does it. The stations'
/// cycles decide what the plan can do; such a task says that one of the two is
/// wrong.
pub(super) fn notes(basis: &Basis<'_>, screened: &[Screened]) -> Vec<Problem> {
    let refused = |task: &Task| {
        let own = screened.iter().find(|one| one.at == task.at);
        own.map_or(&[][..], |one| &one.refused)
    };
    let tasks = basis.book.tasks.iter();
    tasks
        .filter_map(|task| note(basis, task, refused(task)))
        .collect()
}

fn note(basis: &Basis<'_>, task: &Task, refused: &[Refused]) -> Option<Problem> {
    let (column, time) = quickest(task, refused)?;
    let (station, between) = roomiest(basis, task)?;
    let row = &basis.book.stations[station];
    let mean = time * share(basis, task, station);
    if !formulas::over(mean / between) {
        return None;
    }
    let table = task.at.table.name();
    let units = (mean / between * f64::from(row.units)).ceil();
    let name = &row.station;
    Some(Problem {
        code: format!("{table}/beyond-takt"),
        severity: Severity::Note,
        table: table.to_owned(),
        row: Some(task.at.row),
        column: Some(column.to_owned()),
        found: format!(
            "{mean:.1} s of undivided work for each car at `{name}`, where one comes every {between:.1} s"
        ),
        expected: "a task that fits between two cars".to_owned(),
        mend: format!(
            "divide it so that {:.1} s are done elsewhere, or give `{name}` {units:.0} units",
            mean - between
        ),
        nearest: None,
    })
}

/// The quickest of the ways that the screens leave, and its column.
fn quickest(task: &Task, refused: &[Refused]) -> Option<(&'static str, f64)> {
    let ways = [
        (How::Hand, "hand_s", task.hand_s),
        (How::Aided, "aid_s", task.aid_s),
        (How::Robot, "robot_s", task.robot_s),
    ];
    let left = ways.into_iter().filter_map(|(how, column, time)| {
        let may = refused.iter().all(|way| way.how != how);
        time.filter(|_| may).map(|time| (column, time.0))
    });
    left.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The station of the task, or of its line that has most time for a car, and
/// that time in seconds, its units counted.
fn roomiest(basis: &Basis<'_>, task: &Task) -> Option<(usize, f64)> {
    let can = |row: &Station| match &task.station {
        Some(name) => row.station == *name,
        None => row.shop == task.shop && (task.line.is_none() || row.line == task.line),
    };
    let stations = basis.book.stations.iter().enumerate();
    stations
        .filter(|(_, row)| can(row))
        .filter_map(|(station, row)| {
            let jobs = basis.need.visits(station);
            let net = basis.shops.get(&row.shop)?.net.value.seconds();
            (jobs > 0.0).then(|| (station, net.0 * f64::from(row.units) / jobs))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
}

/// The part of the station's jobs that have the task.
fn share(basis: &Basis<'_>, task: &Task, station: usize) -> f64 {
    let (mut with, mut all) = (0.0, 0.0);
    for (product, need) in basis.book.products.iter().zip(&basis.need.products) {
        let jobs = need.cars * need.per_car.visits[station];
        all += jobs;
        let name = product.product.as_str();
        if task.product.as_deref().is_none_or(|own| own == name) {
            with += jobs
                * task.option.as_deref().map_or(1.0, |option| {
                    kinds::option_of(basis.book, option, name).map_or(0.0, |row| row.share.0)
                });
        }
    }
    if all > 0.0 { with / all } else { 0.0 }
}
