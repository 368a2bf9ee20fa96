//! Reads a question.

use std::collections::BTreeMap;

use asked::{Cursor, Fields, Json, Range, Spot};

use super::{Policy, Question};
use crate::model::{Item, Line, LineIdx, Problem, Way};

const ITEM_KEYS: [&str; 9] = [
    "name",
    "rate_per_day",
    "make_per_day",
    "changeover_days",
    "changeover_cost",
    "hold_cost_per_day",
    "max_cover_days",
    "max_stock",
    "lines",
];

const WAY_KEYS: [&str; 4] = ["line", "make_per_day", "changeover_days", "changeover_cost"];

/// The numbers a question may hold: wide enough for any trade, narrow enough
/// that no product of them leaves what an f64 can hold.
const PIECES: Range = Range {
    what: "pieces a day",
    least: 1e-9,
    most: 1e12,
};
const STOCK: Range = Range {
    what: "pieces",
    least: 1e-9,
    most: 1e15,
};
const DAYS: Range = Range {
    what: "days",
    least: 0.0,
    most: 36_500.0,
};
const LIMIT: Range = Range {
    what: "days",
    least: 1e-6,
    most: 36_500.0,
};
const MONEY: Range = Range {
    what: "money",
    least: 0.0,
    most: 1e12,
};
const AVAILABLE: Range = Range {
    what: "a share of the time",
    least: 1e-6,
    most: 1.0,
};
const SEED: Range = Range {
    what: "a seed",
    least: 0.0,
    // The largest f64 below 2^64.
    most: 18_446_744_073_709_549_568.0,
};
const HOURS: Range = Range {
    what: "hours",
    least: 0.01,
    most: 24.0,
};
const WEEK: Range = Range {
    what: "days",
    least: 0.01,
    most: 7.0,
};

pub(super) fn read(cursor: &mut Cursor, whole: &Spot<'_>) -> Option<Question> {
    let keys = [
        "items",
        "lines",
        "policy",
        "seed",
        "hours_per_day",
        "days_per_week",
        "halved",
    ];
    let fields = cursor.object(whole, &keys)?;
    let lines = rows(cursor, &fields, "lines", "line");
    let line_names = cursor.own_names(&lines, "lines");
    let items = rows(cursor, &fields, "items", "item");
    cursor.own_names(&items, "items");
    let items: Vec<Option<Item>> = items
        .iter()
        .map(|spot| read_item(cursor, spot, &line_names, lines.len()))
        .collect();
    let lines: Vec<Option<Line>> = lines.iter().map(|spot| read_line(cursor, spot)).collect();
    let policies = read_policies(cursor, &fields);
    let seed = match fields.get("seed") {
        Some(spot) => cursor.count(&spot, &SEED),
        None => Some(1),
    };
    let hours_per_day = cursor.number_or(&fields, "hours_per_day", 24.0, &HOURS);
    let days_per_week = cursor.number_or(&fields, "days_per_week", 7.0, &WEEK);
    let halved = cursor.flag_or_no(&fields, "halved");
    let problem = Problem {
        items: items.into_iter().collect::<Option<_>>()?,
        lines: lines.into_iter().collect::<Option<_>>()?,
    };
    if !cursor.problems.is_empty() {
        return None;
    }
    let checked = problem.check().map_err(|faults| {
        for fault in faults {
            cursor.refuse(fault.place, fault.found, fault.expected, fault.mend);
        }
    });
    Some(Question {
        checked: checked.ok()?,
        policies: policies?,
        seed: seed?,
        hours_per_day: hours_per_day?,
        days_per_week: days_per_week?,
        halved: halved?,
    })
}

fn rows<'a>(cursor: &mut Cursor, fields: &Fields<'a>, key: &str, kind: &str) -> Vec<Spot<'a>> {
    let Some(spot) = cursor.required(fields, key) else {
        return Vec::new();
    };
    let rows = cursor.list(&spot);
    if rows.is_empty() && matches!(spot.value, Json::List(_)) {
        cursor.refuse(
            key,
            format!("no {kind}"),
            format!("a list of {key}"),
            "add one",
        );
    }
    rows
}

fn read_line(cursor: &mut Cursor, spot: &Spot<'_>) -> Option<Line> {
    let fields = cursor.object(spot, &["name", "available"])?;
    let name = cursor.required(&fields, "name");
    let name = name.and_then(|spot| cursor.text(&spot));
    let available = cursor.number_or(&fields, "available", 1.0, &AVAILABLE);
    Some(Line {
        name: name?,
        available: available?,
    })
}

fn needed(cursor: &mut Cursor, fields: &Fields<'_>, key: &str, range: &Range) -> Option<f64> {
    let spot = cursor.required(fields, key)?;
    cursor.number(&spot, range)
}

/// A number that may be null or left out; the outer none is a misfit.
fn limit(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    key: &str,
    range: &Range,
) -> Option<Option<f64>> {
    match fields.get(key).filter(|spot| *spot.value != Json::Null) {
        Some(spot) => cursor.number(&spot, range).map(Some),
        None => Some(None),
    }
}

/// What an item takes on a line.
#[derive(Clone, Copy)]
struct Takes {
    make_per_day: f64,
    changeover_days: f64,
    changeover_cost: f64,
}

impl Takes {
    const fn on(self, line: u32) -> Way {
        Way {
            line: LineIdx(line),
            make_per_day: self.make_per_day,
            changeover_days: self.changeover_days,
            changeover_cost: self.changeover_cost,
        }
    }
}

fn read_item(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    line_names: &BTreeMap<String, u32>,
    lines: usize,
) -> Option<Item> {
    let fields = cursor.object(spot, &ITEM_KEYS)?;
    let name = cursor.required(&fields, "name");
    let name = name.and_then(|spot| cursor.text(&spot));
    let rate_per_day = needed(cursor, &fields, "rate_per_day", &PIECES);
    let make = needed(cursor, &fields, "make_per_day", &PIECES);
    let days = needed(cursor, &fields, "changeover_days", &DAYS);
    let cost = needed(cursor, &fields, "changeover_cost", &MONEY);
    let hold_cost_per_day = needed(cursor, &fields, "hold_cost_per_day", &MONEY);
    let max_cover_days = limit(cursor, &fields, "max_cover_days", &LIMIT);
    let max_stock = limit(cursor, &fields, "max_stock", &STOCK);
    let usual = Takes {
        make_per_day: make?,
        changeover_days: days?,
        changeover_cost: cost?,
    };
    let ways = match fields.get("lines") {
        None => (0..lines as u32).map(|line| usual.on(line)).collect(),
        Some(spot) => {
            let ways: Vec<Option<Way>> = cursor
                .list(&spot)
                .iter()
                .map(|spot| read_way(cursor, spot, line_names, usual))
                .collect();
            ways.into_iter().collect::<Option<Vec<_>>>()?
        }
    };
    Some(Item {
        name: name?,
        rate_per_day: rate_per_day?,
        hold_cost_per_day: hold_cost_per_day?,
        max_cover_days: max_cover_days?,
        max_stock: max_stock?,
        ways,
    })
}

fn read_way(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    line_names: &BTreeMap<String, u32>,
    usual: Takes,
) -> Option<Way> {
    if let Json::Text(_) = spot.value {
        return cursor
            .named(spot, line_names, "line")
            .map(|line| usual.on(line));
    }
    let fields = cursor.object(spot, &WAY_KEYS)?;
    let line = cursor.required(&fields, "line");
    let line = line.and_then(|spot| cursor.named(&spot, line_names, "line"));
    let make = cursor.number_or(&fields, "make_per_day", usual.make_per_day, &PIECES);
    let days = cursor.number_or(&fields, "changeover_days", usual.changeover_days, &DAYS);
    let cost = cursor.number_or(&fields, "changeover_cost", usual.changeover_cost, &MONEY);
    let takes = Takes {
        make_per_day: make?,
        changeover_days: days?,
        changeover_cost: cost?,
    };
    Some(takes.on(line?))
}

fn read_policies(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Vec<Policy>> {
    let words = [
        (Policy::CommonCycle.word(), Policy::CommonCycle),
        (Policy::Best.word(), Policy::Best),
    ];
    let Some(spot) = fields.get("policy") else {
        return Some(vec![Policy::CommonCycle, Policy::Best]);
    };
    let mut policies = Vec::new();
    for spot in cursor.list(&spot) {
        let policy = cursor.word(&spot, &words)?;
        if policies.contains(&policy) {
            cursor.misfit(&spot, "each policy once", "leave one out");
        }
        policies.push(policy);
    }
    if policies.is_empty() {
        cursor.misfit(
            &spot,
            "one policy or both",
            "write [\"common_cycle\", \"best\"]",
        );
    }
    Some(policies)
}
