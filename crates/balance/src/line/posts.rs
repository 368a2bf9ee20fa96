//! Stations on as few posts as do their work.

use super::given::{given, post_ends};
use super::model::{Line, Side, Station};

/// The same tasks on as few busy posts as do them within takt: fewer people on a
/// side, and one side only where the other has no work of its own. The station
/// itself where no fewer do.
pub fn with_fewest_posts(line: &Line, takt: u32, station: &Station) -> Station {
    let tasks = station.tasks();
    let busy = |station: &Station| station.posts.iter().filter(|p| !p.work.is_empty()).count();
    let mut best = station.clone();
    let least = |line: &Line| {
        let measure = &line.measures(takt)[0];
        let work: u64 = tasks.iter().map(|task| measure.ticks[*task]).sum();
        work.div_ceil(measure.room.max(1)) as usize
    };
    for fewer in fewer(line, &tasks) {
        if busy(&best) <= least(line) || fewer.posts().len() < least(line) {
            continue;
        }
        let (other, _) = given(&fewer, takt, &tasks);
        let holds = fewer.measures(takt).iter().all(|measure| {
            let ends = post_ends(&fewer, &other, &|task| measure.ticks[task]);
            ends.into_iter().all(|end| end <= measure.room)
        });
        if holds && busy(&other) < busy(&best) {
            best = other;
        }
    }
    best
}

/// The line with fewer posts a station.
fn fewer(line: &Line, tasks: &[usize]) -> Vec<Line> {
    let with = |people: u32| Line {
        people,
        ..line.clone()
    };
    let mut fewer: Vec<Line> = (1..line.people).map(with).collect();
    if line.sides.is_empty() {
        return fewer;
    }
    for (own, other) in [(Side::Left, Side::Right), (Side::Right, Side::Left)] {
        if tasks.iter().any(|task| line.side(*task) == other) {
            continue;
        }
        for people in 1..=line.people {
            let mut one_sided = with(people);
            for task in tasks {
                one_sided.sides[*task] = own;
            }
            fewer.push(one_sided);
        }
    }
    fewer
}
