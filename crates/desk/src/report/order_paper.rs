//! The build order on paper: the strip car by car, then what it keeps and breaks.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::ops::Range;

use whole::order::{BuildOrder, OrderRule, PlacedCar};

use super::escaped;
use super::html::{STYLE, section};
use super::order::{blocks, costs, held, level, promises, rules, stations, store};

/// Cars in a row of the strip.
const A_ROW: usize = 50;
const CELL: f64 = 19.0;
const NAMES: f64 = 150.0;
const PLACES: f64 = 13.0;
const BAND: f64 = 17.0;
const LANE: f64 = 12.0;

/// Patterns that tell colours apart in black and white, by turns.
const PATTERNS: [&str; 8] = [
    "",
    "M0 6 6 0M-1 1 1-1M5 7 7 5",
    "M0 0 6 6M-1 5 1 7M5-1 7 1",
    "M0 3h6",
    "M3 0v6",
    "M0 0 6 6M0 6 6 0",
    "M2.4 3h1.2",
    "M0 3h6M3 0v6",
];

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// The build order as one HTML file without script, for A4: its strip, the
/// rules and where they break, blocks, promises, cars on hold, part use,
/// stations, the painted-body store, what rules cost. `of` says of which plant
/// and state of the book.
pub fn order_html(order: &BuildOrder, of: &str) -> String {
    let title = format!("{}: build order of week {}", order.plant, order.week);
    let title = escaped(&title);
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{title}</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n\
         <p class=\"of\">{}</p>\n",
        escaped(of)
    );
    order_sections(&mut page, order, 0);
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

/// The same as sections of a page, numbered from `first`.
pub(super) fn order_sections(page: &mut String, order: &BuildOrder, first: usize) {
    let _ = writeln!(
        page,
        "<section id=\"order\">\n<h2>Build order of week {}</h2>\n<p class=\"answer\">{}</p>\n\
         <p class=\"note\">{}</p>",
        order.week,
        escaped(&told(order)),
        escaped(&order.caution)
    );
    strip(page, order);
    page.push_str("</section>\n");
    let sheets = [
        rules(order),
        blocks(order),
        promises(order),
        held(order),
        level(order),
        stations(order),
        store(order),
        costs(order),
    ];
    let sheets = sheets.into_iter().filter(|sheet| !sheet.rows.is_empty());
    for (n, sheet) in sheets.enumerate() {
        section(page, first + n, &sheet);
    }
}

fn told(order: &BuildOrder) -> String {
    let things = |count: u64, one: &str, many: &str| match count {
        1 => format!("1 {one}"),
        _ => format!("{} {many}", units::grouped(count as usize)),
    };
    let promises = match u64::from(order.sums.late) {
        0 => "every promise is kept".to_owned(),
        late => format!("{} not kept", things(late, "promise is", "promises are")),
    };
    let holds = if order.holds {
        "All that must hold does.".to_owned()
    } else {
        format!("What must hold does not: {}.", order.broken.join("; "))
    };
    let by_hand = match order.by_hand {
        0 => String::new(),
        moves => format!(
            " {} by hand since it was planned.",
            things(moves.into(), "move", "moves")
        ),
    };
    format!(
        "{} with {} past a spacing rule and {}; {promises}. {holds}{by_hand}",
        things(order.places.len() as u64, "car", "cars"),
        things(order.sums.runs_past, "run of cars", "runs of cars"),
        things(
            order.colours.changes,
            "change of colour",
            "changes of colour"
        )
    )
}

/// An option that a rule looks at, with the places that lie in broken runs.
struct Lane<'a> {
    option: &'a str,
    broken: BTreeSet<u32>,
}

fn lanes(rules: &[OrderRule]) -> Vec<Lane<'_>> {
    let mut lanes: Vec<Lane<'_>> = Vec::new();
    for rule in rules {
        let runs = rule.broken_at.iter();
        let places = runs.flat_map(|from| *from..from + rule.in_every);
        match lanes.iter_mut().find(|lane| lane.option == rule.option) {
            Some(lane) => lane.broken.extend(places),
            None => lanes.push(Lane {
                option: &rule.option,
                broken: places.collect(),
            }),
        }
    }
    lanes
}

fn strip(page: &mut String, order: &BuildOrder) {
    let colours: BTreeSet<&str> = order.places.iter().filter_map(colour).collect();
    let numbers: BTreeMap<&str, usize> = colours.iter().copied().zip(0..).collect();
    page.push_str(
        "<p class=\"note\">Each column is a car. Above, its colour, a block at a time; a filled \
         box, a car with the option; hatched red, cars in a run that breaks a rule of the option; \
         \u{2016} frozen, \u{25c6} promise kept, \u{25c7} promise not kept.</p>\n",
    );
    let promised: BTreeMap<u32, bool> = order
        .promises
        .iter()
        .filter_map(|promise| Some((promise.place?, promise.kept)))
        .collect();
    let lanes = lanes(&order.rules);
    for from in (0..order.places.len()).step_by(A_ROW) {
        let row = from..order.places.len().min(from + A_ROW);
        strip_row(page, order, row, &lanes, (&numbers, &promised));
    }
}

fn colour(car: &PlacedCar) -> Option<&str> {
    car.colour.as_deref()
}

fn patterns(page: &mut String) {
    page.push_str("<defs>");
    for (n, line) in PATTERNS.iter().enumerate() {
        let _ = write!(
            page,
            "<pattern id=\"c{n}\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\">\
             <rect width=\"6\" height=\"6\" fill=\"#fff\"/><path d=\"{line}\" stroke=\"#56616b\" \
             stroke-width=\"0.8\" fill=\"none\"/></pattern>"
        );
    }
    page.push_str(
        "<pattern id=\"broken\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\">\
         <path d=\"M0 6 6 0\" stroke=\"#b3261e\" fill=\"none\"/></pattern></defs>\n",
    );
}

type Marks<'a> = (&'a BTreeMap<&'a str, usize>, &'a BTreeMap<u32, bool>);

fn strip_row(
    page: &mut String,
    order: &BuildOrder,
    row: Range<usize>,
    lanes: &[Lane<'_>],
    (numbers, promised): Marks<'_>,
) {
    let width = NAMES + CELL * A_ROW as f64;
    let lanes_at = 2.0 * PLACES + BAND + 2.0;
    let height = lanes_at + LANE * lanes.len() as f64 + 6.0;
    let x = |place: usize| NAMES + CELL * (place - row.start) as f64;
    let _ = writeln!(
        page,
        "<svg viewBox=\"0 0 {width} {height}\" font-family=\"system-ui, sans-serif\" \
         font-size=\"10\" role=\"img\" aria-label=\"places {} to {}\">",
        row.start + 1,
        row.end
    );
    if row.start == 0 {
        patterns(page);
    }
    for (at, car) in row.clone().zip(&order.places[row.clone()]) {
        if at == row.start || car.place % 10 == 0 {
            let _ = write!(
                page,
                "<text x=\"{:.1}\" y=\"10\" text-anchor=\"middle\">{}</text>",
                x(at) + CELL / 2.0,
                car.place
            );
        }
        let promise = promised.get(&car.place);
        let mark = match promise {
            Some(true) => "\u{25c6}",
            Some(false) => "\u{25c7}",
            None => "",
        };
        let frozen = if car.frozen { "\u{2016}" } else { "" };
        if !mark.is_empty() || car.frozen {
            let _ = write!(
                page,
                "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{frozen}{mark}</text>",
                x(at) + CELL / 2.0,
                2.0 * PLACES + BAND - 2.0
            );
        }
    }
    blocks_of(page, order, &row, numbers);
    for (n, lane) in lanes.iter().enumerate() {
        let y = lanes_at + LANE * n as f64;
        lane_of(page, order, &row, lane, y);
    }
    page.push_str("</svg>\n");
}

/// The blocks of colour in a row, cut where the row ends.
fn blocks_of(
    page: &mut String,
    order: &BuildOrder,
    row: &Range<usize>,
    numbers: &BTreeMap<&str, usize>,
) {
    let mut from = row.start;
    while from < row.end {
        let name = colour(&order.places[from]);
        let same = order.places[from..row.end].iter();
        let cars = same.take_while(|car| colour(car) == name).count();
        let width = CELL * cars as f64;
        let x = NAMES + CELL * (from - row.start) as f64;
        let pattern = name.and_then(|name| numbers.get(name)).copied();
        let told = format!("{} {cars}", name.unwrap_or("no colour"));
        // A letter of this size is a little over half as wide as it is high.
        let told = match 5.8 * told.chars().count() as f64 {
            wide if wide < width => told,
            _ => told.chars().take((width / 6.5) as usize).collect(),
        };
        let _ = write!(
            page,
            "<rect x=\"{x:.1}\" y=\"{PLACES}\" width=\"{width:.1}\" height=\"{BAND}\" \
             fill=\"url(#c{})\" stroke=\"#1d1d1f\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" stroke=\"#fff\" stroke-width=\"3\" \
             paint-order=\"stroke\">{}</text>",
            pattern.unwrap_or(0) % PATTERNS.len(),
            x + 3.0,
            PLACES + 12.0,
            escaped(&told)
        );
        from += cars;
    }
}

fn lane_of(page: &mut String, order: &BuildOrder, row: &Range<usize>, lane: &Lane<'_>, y: f64) {
    let _ = write!(
        page,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
        NAMES - 5.0,
        y + 9.5,
        escaped(lane.option)
    );
    let (mut boxes, mut broken) = (String::new(), String::new());
    for (n, car) in order.places[row.clone()].iter().enumerate() {
        let x = NAMES + CELL * n as f64;
        if car.product == lane.option || car.options.iter().any(|option| option == lane.option) {
            let _ = write!(
                boxes,
                "M{:.1} {:.1}h{:.1}v8h-{3:.1}z",
                x + 2.0,
                y + 2.0,
                CELL - 4.0,
                CELL - 4.0
            );
        }
        if lane.broken.contains(&car.place) {
            let _ = write!(broken, "M{x:.1} {y:.1}h{CELL:.1}v{LANE}h-{CELL:.1}z");
        }
    }
    let line = NAMES + CELL * row.len() as f64;
    let _ = write!(
        page,
        "<path d=\"{broken}\" fill=\"url(#broken)\"/><path d=\"{boxes}\" fill=\"#39434b\"/>\
         <path d=\"M{NAMES} {0:.1}H{line:.1}\" stroke=\"#c9cdd2\"/>",
        y + LANE
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(option: &str, broken_at: &[u32]) -> OrderRule {
        let at = book::At {
            table: book::Table::Options,
            row: 1,
        };
        OrderRule {
            option: option.to_owned(),
            product: None,
            at_most: 1,
            in_every: 3,
            weight: Some(10),
            from: whole::order::RuleFrom::Given { at },
            weighed: true,
            cars: 2,
            broken_at: broken_at.to_vec(),
            broken_before: 0,
            at_least: 0,
            broken_on_line: 0,
        }
    }

    #[test]
    fn rules_of_one_option_share_a_lane_and_mark_every_car_of_a_broken_run() {
        let rules = [
            rule("tow bar", &[4]),
            rule("rails", &[]),
            rule("tow bar", &[6]),
        ];
        let lanes = lanes(&rules);
        assert_eq!(lanes.len(), 2);
        let marked: Vec<u32> = lanes[0].broken.iter().copied().collect();
        assert_eq!(marked, [4, 5, 6, 7, 8]);
        assert!(lanes[1].broken.is_empty());
    }
}
