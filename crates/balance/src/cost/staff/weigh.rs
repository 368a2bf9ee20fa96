//! What a choice comes to once its line is balanced.

use super::frame::{Choice, Frame, Node};
use super::{Staffed, StaffedLine, StaffedPost};
use crate::line::{Post, Side, Station, with_fewest_posts};

/// The stations of a balanced frame with as few people as do their work.
pub(super) fn staffed(
    of: &Staffed,
    takt: u32,
    choice: &Choice,
    frame: &Frame,
    stations: &[Station],
) -> StaffedLine {
    let mut told = Vec::new();
    for station in stations {
        let alone = station
            .tasks()
            .into_iter()
            .find_map(|node| match frame.nodes[node] {
                Node::Alone { cell, .. } => Some(cell),
                Node::Task(_) => None,
            });
        told.push(match alone {
            Some(cell) => vec![robot(of, takt, choice, frame, cell)],
            None => people(of, takt, choice, frame, station),
        });
    }
    let stations = told.iter().filter(|posts| !posts.is_empty()).count() as u64;
    let posts = told.iter().flatten().map(|post| post.cost_per_year);
    StaffedLine {
        cost_per_year: posts.sum::<u64>() + stations * of.station_per_year,
        stations: told,
        modes: choice.modes.clone(),
        alone: frame.cells.iter().map(|(tasks, _)| tasks.clone()).collect(),
        bound: 0,
        proven: false,
    }
}

fn robot(of: &Staffed, takt: u32, choice: &Choice, frame: &Frame, cell: usize) -> StaffedPost {
    let made = &frame.cells[cell].1;
    let kind = &of.kinds[made.kind];
    // The first measure weighs by the sum of shares.
    let scale = frame.line.measures(takt)[0].room / u64::from(takt.max(1));
    let (mut time, mut in_hand) = (0_u64, None);
    let work = made.work.iter().map(|(task, mode)| {
        let own = &of.modes[*task][*mode];
        if own.tool.is_some() && in_hand.is_some() && in_hand != own.tool {
            time += u64::from(kind.tool_change);
        }
        in_hand = own.tool.or(in_hand);
        let start = time;
        time += u64::from(own.ticks);
        (*task, choice.modes[*task], start * scale, time * scale)
    });
    StaffedPost {
        side: Side::Either,
        kind: made.kind,
        work: work.collect(),
        changes: made.changes,
        cost_per_year: kind.cost_per_year
            + made.tools.iter().map(|tool| kind.tools[*tool]).sum::<u64>(),
        tools: made.tools.clone(),
    }
}

fn people(
    of: &Staffed,
    takt: u32,
    choice: &Choice,
    frame: &Frame,
    station: &Station,
) -> Vec<StaffedPost> {
    let few = with_fewest_posts(&frame.line, takt, station);
    posts(of, choice, frame, &few)
}

fn posts(of: &Staffed, choice: &Choice, frame: &Frame, station: &Station) -> Vec<StaffedPost> {
    let busy = station.posts.iter().filter(|post| !post.work.is_empty());
    busy.map(|post| post_of(of, choice, frame, post)).collect()
}

fn post_of(of: &Staffed, choice: &Choice, frame: &Frame, post: &Post) -> StaffedPost {
    let placed = post
        .work
        .iter()
        .filter_map(|placed| match frame.nodes[placed.task] {
            Node::Task(task) => Some((task, choice.modes[task], placed.start, placed.end)),
            Node::Alone { .. } => None,
        });
    let work: Vec<(usize, usize, u64, u64)> = placed.collect();
    let of_mode = |(task, mode, ..): &(usize, usize, u64, u64)| of.modes[*task][*mode];
    let mut tools: Vec<usize> = work.iter().filter_map(|own| of_mode(own).tool).collect();
    tools.sort_unstable();
    tools.dedup();
    // All who share a station are of one kind.
    let kind = work.first().map_or(0, |own| of_mode(own).kind);
    let own = &of.kinds[kind];
    StaffedPost {
        side: post.side,
        kind,
        changes: 0,
        cost_per_year: own.cost_per_year + tools.iter().map(|tool| own.tools[*tool]).sum::<u64>(),
        tools,
        work,
    }
}
