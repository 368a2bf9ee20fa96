//! Rules of place and models.

use std::collections::BTreeMap;

use asked::{Cursor, Fields, Json, Range, Spot};

use super::ticks::ticks;
use crate::line::{Model, Rules};

const STATION: Range = Range {
    what: "a station, the first being 1,",
    least: 1.0,
    most: 10_000.0,
};

type Names = BTreeMap<String, u32>;

/// A model as it is written.
pub(super) struct ModelAsked {
    share: f64,
    pub(super) seconds: Vec<f64>,
}

impl ModelAsked {
    pub(super) fn in_ticks(&self, scale: u32) -> Model {
        Model {
            // Shares count in millionths, which is finer than any forecast.
            share: (self.share * 1e6).round() as u32,
            ticks: self
                .seconds
                .iter()
                .map(|seconds| ticks(*seconds, scale))
                .collect(),
        }
    }
}

pub(super) fn read(cursor: &mut Cursor, fields: &Fields<'_>, names: &Names) -> Rules {
    Rules {
        together: pairs(cursor, fields, "same_station", names),
        apart: pairs(cursor, fields, "not_same_station", names),
        fixed: fixed(cursor, fields, names),
        distance: distances(cursor, fields, names),
    }
}

fn pairs(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    key: &str,
    names: &Names,
) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for item in cursor.optional_list(fields, key) {
        let parts = cursor.list(&item);
        let [one, other] = parts.as_slice() else {
            cursor.misfit(&item, "two names", "write it as [\"a\", \"b\"]");
            continue;
        };
        let one = cursor.named(one, names, "task");
        let other = cursor.named(other, names, "task");
        match (one, other) {
            (Some(one), Some(other)) if one == other => {
                cursor.misfit(&item, "two different tasks", "name another task");
            }
            (Some(one), Some(other)) => pairs.push((one as usize, other as usize)),
            _ => {}
        }
    }
    pairs
}

fn fixed(cursor: &mut Cursor, fields: &Fields<'_>, names: &Names) -> Vec<(usize, usize)> {
    let Some(spot) = fields.get("fixed") else {
        return Vec::new();
    };
    let mut fixed = Vec::new();
    let mut note = |cursor: &mut Cursor, task: Option<u32>, station: &Spot<'_>| {
        let station = cursor.count(station, &STATION);
        if let (Some(task), Some(station)) = (task, station) {
            fixed.push((task as usize, station as usize - 1));
        }
    };
    if let Json::Object(entries) = spot.value {
        for (name, value) in entries {
            let path = format!("{}.{name}", spot.path);
            let key = Json::Text(name.clone());
            let named = Spot {
                path: path.clone(),
                value: &key,
            };
            let task = cursor.named(&named, names, "task");
            note(cursor, task, &Spot { path, value });
        }
        return fixed;
    }
    for item in cursor.list(&spot) {
        let parts = cursor.list(&item);
        let [task, station] = parts.as_slice() else {
            cursor.misfit(&item, "a name and a station", "write it as [\"a\", 3]");
            continue;
        };
        let task = cursor.named(task, names, "task");
        note(cursor, task, station);
    }
    fixed
}

fn distances(cursor: &mut Cursor, fields: &Fields<'_>, names: &Names) -> Vec<(usize, usize, u32)> {
    let mut distances = Vec::new();
    for item in cursor.optional_list(fields, "station_after") {
        let parts = cursor.list(&item);
        let [one, other, far] = parts.as_slice() else {
            cursor.misfit(
                &item,
                "two names and a number of stations",
                "write it as [\"a\", \"b\", 2], b at least two stations behind a",
            );
            continue;
        };
        let one = cursor.named(one, names, "task");
        let other = cursor.named(other, names, "task");
        let range = Range {
            what: "a number of stations",
            least: 0.0,
            most: 1_000.0,
        };
        let far = cursor.count(far, &range);
        match (one, other, far) {
            (Some(one), Some(other), Some(_)) if one == other => {
                cursor.misfit(&item, "two different tasks", "name another task");
            }
            (Some(one), Some(other), Some(far)) => {
                distances.push((one as usize, other as usize, far as u32));
            }
            _ => {}
        }
    }
    distances
}

pub(super) fn models(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    names: &Names,
    by_cost: bool,
) -> Vec<ModelAsked> {
    let keys: [&str; 3] = if by_cost {
        ["name", "share", "without"]
    } else {
        ["name", "share", "s"]
    };
    let mut models = Vec::new();
    let mut named = Vec::new();
    for item in cursor.optional_list(fields, "models") {
        let Some(object) = cursor.object(&item, &keys) else {
            continue;
        };
        let name = cursor.required(&object, "name");
        let path = name
            .as_ref()
            .map_or(String::new(), |spot| spot.path.clone());
        let name = name.and_then(|spot| cursor.text(&spot));
        named.push((name.unwrap_or_default(), path));
        let share = cursor.required(&object, "share");
        let share = share.and_then(|spot| cursor.number(&spot, &Range::SHARE));
        let seconds = if by_cost {
            has_task(cursor, &object, names)
        } else {
            times(cursor, &object, names)
        };
        let Some(seconds) = seconds else { continue };
        if let Some(share) = share {
            models.push(ModelAsked { share, seconds });
        }
    }
    super::read::unique(cursor, &named);
    let sum: f64 = models.iter().map(|model| model.share).sum();
    if !models.is_empty() && (sum - 1.0).abs() > 1e-3 {
        cursor.refuse(
            "models",
            format!("shares that add up to {}", asked::shown(sum)),
            "shares that add up to 1",
            "divide each share by their sum",
        );
    }
    models
}

/// A model's seconds by task; none where they are not given by task.
fn times(cursor: &mut Cursor, object: &Fields<'_>, names: &Names) -> Option<Vec<f64>> {
    let mut seconds = vec![0.0; names.len()];
    let Some(times) = cursor.required(object, "s") else {
        return Some(seconds);
    };
    let Json::Object(entries) = times.value else {
        cursor.misfit(&times, "seconds by task", "write it as {\"a\": 12}");
        return None;
    };
    for (task, value) in entries {
        let path = format!("{}.{task}", times.path);
        let key = Json::Text(task.clone());
        let named = Spot {
            path: path.clone(),
            value: &key,
        };
        let task = cursor.named(&named, names, "task");
        let time = cursor.number(&Spot { path, value }, &Range::SECONDS);
        if let (Some(task), Some(time)) = (task, time) {
            seconds[task as usize] = time;
        }
    }
    Some(seconds)
}

/// For a question of cost a second for each task that the model has: how long it
/// takes is its mode's.
fn has_task(cursor: &mut Cursor, object: &Fields<'_>, names: &Names) -> Option<Vec<f64>> {
    let mut has = vec![1.0; names.len()];
    for spot in cursor.optional_list(object, "without") {
        if let Some(task) = cursor.named(&spot, names, "task") {
            has[task as usize] = 0.0;
        }
    }
    Some(has)
}
