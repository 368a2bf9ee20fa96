//! Stations whose units take cars by turns, so that a task may be longer than
//! the cycle.

use book::Book;

use super::choose::Chosen;
use super::frame::{Frame, Node};
use super::work::{Doing, Work};

/// Units of a station that work on cars side by side.
pub(super) fn units(book: &Book, station: Option<&str>) -> u32 {
    let row = book
        .stations
        .iter()
        .find(|row| Some(row.station.as_str()) == station);
    row.map_or(1, |row| row.units.max(1))
}

/// Tasks longer than the cycle whose station has enough units take each of its
/// cars so much less, and stay there.
pub(super) fn side_by_side(
    book: &Book,
    work: &Work<'_>,
    chosen: &mut Chosen,
    places: &[String],
) -> Frame {
    let mut doing = chosen.doing.clone();
    let mut stay = Vec::new();
    for (task, own) in doing.iter_mut().enumerate() {
        let units = work.parallel(task, own);
        let place = work.station[task].and_then(|name| places.iter().position(|p| p == name));
        let (Some((units, place)), Doing::Person(way)) = (units.zip(place), own) else {
            continue;
        };
        way.seconds /= f64::from(units);
        stay.push((task, place));
        let name = work.tasks[task].task.as_str();
        for choice in chosen
            .choices
            .iter_mut()
            .filter(|choice| choice.task == name)
        {
            choice.reason = format!(
                "{}; longer than the cycle, it stays at `{}`, whose {units} units take cars by \
                 turns",
                choice.reason, places[place]
            );
        }
    }
    let mut frame = Frame::of(book, work, &doing, places);
    for (task, place) in stay {
        let node = frame
            .nodes
            .iter()
            .position(|node| *node == Node::Task(task));
        let fixed = node
            .map(|node| (node, place))
            .filter(|one| !frame.line.rules.fixed.contains(one));
        frame.line.rules.fixed.extend(fixed);
    }
    frame
}
