//! The two formats of the published sets.

use std::error::Error;
use std::path::Path;

use balance::Work;
use balance::cost::{Kind, Mode, Shop};
use balance::line::{Line, Side};

/// A count, a time a line, then pairs `before,after` up to `-1,-1` or the end.
pub(crate) fn graph(path: &Path) -> Result<Work, Box<dyn Error>> {
    let text = std::fs::read_to_string(path)?;
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let tasks: usize = lines.next().ok_or("an empty file")?.parse()?;
    let ticks = lines
        .by_ref()
        .take(tasks)
        .map(str::parse)
        .collect::<Result<Vec<u32>, _>>()?;
    let mut after = vec![Vec::new(); tasks];
    for line in lines {
        if line.starts_with('-') {
            break;
        }
        pair(line, &mut after)?;
    }
    Ok(Work { ticks, after })
}

/// Headings in angle brackets, each followed by its lines.
pub(crate) fn generated(path: &Path) -> Result<(Work, u32), Box<dyn Error>> {
    let text = std::fs::read_to_string(path)?;
    let mut ticks = Vec::new();
    let mut after = Vec::new();
    let mut takt = 0;
    let mut heading = "";
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        if line.starts_with('<') {
            heading = line;
            continue;
        }
        match heading {
            "<number of tasks>" => after = vec![Vec::new(); line.parse()?],
            "<cycle time>" => takt = line.parse()?,
            "<task times>" => {
                ticks.push(line.split_whitespace().nth(1).ok_or("no time")?.parse()?);
            }
            "<precedence relations>" => pair(line, &mut after)?,
            _ => {}
        }
    }
    Ok((Work { ticks, after }, takt))
}

/// Numbers count from 1.
pub(crate) fn pair(line: &str, after: &mut [Vec<usize>]) -> Result<(), Box<dyn Error>> {
    let (before, follower) = line.split_once(',').ok_or("no pair")?;
    let before: usize = before.trim().parse()?;
    let follower: usize = follower.trim().parse()?;
    after
        .get_mut(follower.wrapping_sub(1))
        .ok_or("no such task")?
        .push(before.wrapping_sub(1));
    Ok(())
}

/// As [`generated`], with a line `task L|R|E` each under `<task directions>`
/// and the first of several times a task.
pub(crate) fn two_sided(path: &Path) -> Result<Line, Box<dyn Error>> {
    let (work, _) = generated(path)?;
    let mut line = Line::plain(work);
    let text = std::fs::read_to_string(path)?;
    let directions = text
        .lines()
        .map(str::trim)
        .skip_while(|line| *line != "<task directions>")
        .skip(1)
        .take_while(|line| !line.starts_with('<'));
    for direction in directions {
        line.sides.push(match direction.split_whitespace().nth(1) {
            Some("L") => Side::Left,
            Some("R") => Side::Right,
            _ => Side::Either,
        });
    }
    Ok(line)
}

/// A count; a line of times for each task, one for each worker, `Inf` where the
/// worker cannot do it; then pairs `before after` up to `-1 -1` or the end.
pub(crate) fn workers(path: &Path) -> Result<Shop, Box<dyn Error>> {
    let text = std::fs::read_to_string(path)?;
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let tasks: usize = lines.next().ok_or("an empty file")?.parse()?;
    let mut modes: Vec<Vec<Mode>> = Vec::new();
    let mut kinds = 0;
    for line in lines.by_ref().take(tasks) {
        let times: Vec<&str> = line.split_whitespace().collect();
        kinds = times.len();
        let known = times.iter().enumerate().filter(|(_, time)| **time != "Inf");
        let of_task = known.map(|(kind, time)| {
            Ok(Mode {
                kind,
                ticks: time.parse()?,
                tool: None,
            })
        });
        modes.push(of_task.collect::<Result<_, Box<dyn Error>>>()?);
    }
    let mut after = vec![Vec::new(); tasks];
    for line in lines.take_while(|line| !line.starts_with('-')) {
        pair(&line.replace(' ', ","), &mut after)?;
    }
    let one = Kind {
        cost_per_year: 1,
        tool_change: 0,
        tools: Vec::new(),
    };
    Ok(Shop {
        after,
        modes,
        kinds: vec![one; kinds],
        station_per_year: 0,
    })
}
