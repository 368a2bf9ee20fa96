//! Stations whose units take cars by turns: n of them have n times the cycle for
//! each car, as in the flow.

use book::{Book, Side, Task};

use super::choose::Chosen;
use super::frame::{Frame, Node};
use super::model::{How, Way};
use super::work::{Doing, Work};

/// Units of a station that work on cars side by side.
pub(super) fn units(book: &Book, station: Option<&str>) -> u32 {
    let row = book
        .stations
        .iter()
        .find(|row| Some(row.station.as_str()) == station);
    row.map_or(1, |row| row.units.max(1))
}

/// For each task the units of its station that do it by turns, 1 where it may go
/// elsewhere: what people do today at a station of several units stays there as
/// long as these have the time, tasks longer than the cycle first, since nobody
/// else can do them.
pub(super) fn by_turns(
    book: &Book,
    (tasks, ways, share): (&[&Task], &[Vec<Way>], &[f64]),
    station: &[Option<&str>],
    cycle_s: f64,
) -> Vec<u32> {
    let mut turns = vec![1; tasks.len()];
    for row in book.stations.iter().filter(|row| row.units > 1) {
        let units = row.units;
        let room = cycle_s * f64::from(units);
        let time = |task: usize| {
            let by_hand = ways[task]
                .iter()
                .filter(|way| way.how != How::Robot && way.refused.is_none());
            by_hand.map(|way| way.seconds).reduce(f64::max)
        };
        let here = (0..tasks.len()).filter(|t| station[*t] == Some(row.station.as_str()));
        let timed = here.filter_map(|task| Some((task, time(task)?)));
        let (long, short): (Vec<_>, Vec<_>) = timed
            .filter(|(_, s)| *s <= room)
            .partition(|(_, s)| *s > cycle_s);
        // A person on the left and one on the right where the work has sides.
        let mut sides = [(0.0, 0.0); 2];
        let heaviest = room * (1.0 + book.plant.overload_share.value.0);
        for (task, seconds) in long.into_iter().chain(short) {
            let side = match tasks[task].side {
                Side::Left => 0,
                Side::Right => 1,
                Side::Either if tasks.iter().all(|task| task.side == Side::Either) => 0,
                Side::Either => usize::from(sides[1].0 < sides[0].0),
            };
            // On a mean car, and on one that has all of them.
            let (mean, all) = (
                sides[side].0 + seconds * share[task],
                sides[side].1 + seconds,
            );
            if mean <= room && all <= heaviest {
                sides[side] = (mean, all);
                turns[task] = units;
            }
        }
    }
    turns
}

/// Tasks that the units of a station do by turns take each of its cars so much
/// less, and stay there.
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
                "{}; it stays at `{}`, whose {units} units take cars by turns",
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
