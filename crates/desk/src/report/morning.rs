//! The morning report: a day on one page of A4.

use std::fmt::Write as _;

use evidence::day::{Day, HourRow, Loss, LossKind};
use evidence::figures::{CauseRow, Figures};
use flow::statistics::Interval;

use super::{escaped, number, percent};

/// Losses and causes that fit on the page.
const LOSSES: usize = 10;
const CAUSES: usize = 5;

/// One page upright, black on white; patterns and words beside every colour.
pub(crate) const MORNING_STYLE: &str = "
* { box-sizing: border-box; }
body { font: 13px/1.35 system-ui, sans-serif; font-variant-numeric: tabular-nums; color: #1d1d1f;
  background: #fff; margin: 1.2rem auto; padding: 0 1.2rem; max-width: 50rem; }
h1 { font-size: 1.35rem; margin: 0; } h2 { font-size: 1rem; margin: .8rem 0 .2rem; }
.answer { font-size: 1.1rem; margin: .3rem 0; } .of { color: #55595f; margin: 0 0 .3rem; }
table { border-collapse: collapse; width: 100%; font-size: 12px; }
th, td { padding: .1rem .45rem; border-bottom: 1px solid #c9cdd2; text-align: left; }
th { border-bottom: 2px solid #1d1d1f; } .number { text-align: right; white-space: nowrap; }
.short { font-weight: 700; } svg { width: 100%; height: auto; display: block;
  margin-bottom: .5rem; }
.notes td { height: 1.5rem; }
@page { size: A4; margin: 12mm; }
@media print { body { margin: 0; padding: 0; max-width: none; font-size: 9pt; line-height: 1.2; }
  h1 { font-size: 13pt; } h2 { font-size: 10pt; margin: 5pt 0 2pt; } p { margin: 3pt 0; }
  table { font-size: 8pt; } th, td { padding: .5pt 4pt; } svg { max-height: 30mm; }
  .notes td { height: 14pt; } tr, svg { break-inside: avoid; } }
";

/// What the page shows.
pub struct Morning<'a> {
    /// The plant.
    pub plant: &'a str,
    /// The day.
    pub day: &'a Day,
    /// The day's figures by shop, in the order from coil to car.
    pub shops: &'a [(String, Figures)],
    /// The day's stops by cause.
    pub causes: &'a [CauseRow],
    /// Rows of the log with a defect, and rows in all.
    pub defects: (u64, u64),
    /// What was noted to be done.
    pub actions: &'a [Action],
}

/// What is done about a loss.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Action {
    /// The loss.
    pub of: String,
    /// What is done.
    pub what: String,
    /// Who does it.
    pub who: String,
    /// Until when.
    pub until: String,
}

/// Actions that fit on the page with empty lines for further ones.
const ACTIONS: usize = 5;
/// Empty lines at least.
const LINES: usize = 1;

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// The page as one HTML file without script.
pub fn morning_html(morning: &Morning<'_>) -> String {
    let day = morning.day;
    let title = format!("{}, {}", escaped(morning.plant), escaped(&day.date));
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{title}</title>\n\
         <style>{MORNING_STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
    );
    let _ = writeln!(page, "<p class=\"answer\">{}</p>", escaped(&sentence(day)));
    let (bad, rows) = morning.defects;
    let _ = writeln!(
        page,
        "<p class=\"of\">Cars of losses by {} replays of the day; ± is the 95 % interval. \
         {} of {} rows of the log have a defect.</p>",
        day.replications,
        number(bad as f64, 0),
        number(rows as f64, 0)
    );
    hours(&mut page, day);
    losses(&mut page, day);
    bridge(&mut page, day);
    shops(&mut page, morning.shops);
    causes(&mut page, morning.causes);
    actions(&mut page, morning.actions);
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

/// What was noted, and lines for what is said in the meeting.
fn actions(page: &mut String, noted: &[Action]) {
    page.push_str(
        "<h2>Actions</h2>\n<table class=\"notes\"><tr><th>loss</th><th>what</th><th>who</th>\
         <th>until</th></tr>",
    );
    for action in noted.iter().take(ACTIONS) {
        let cells = [&action.of, &action.what, &action.who, &action.until];
        let cells = cells.map(|cell| format!("<td>{}</td>", escaped(cell)));
        let _ = write!(page, "<tr>{}</tr>", cells.concat());
    }
    let empty = LINES.max(3_usize.saturating_sub(noted.len()));
    page.push_str(&"<tr><td></td><td></td><td></td><td></td></tr>".repeat(empty));
    page.push_str("</table>\n");
    if noted.len() > ACTIONS {
        let more = noted.len() - ACTIONS;
        let _ = writeln!(
            page,
            "<p>{more} more are noted on the page and in the workbook.</p>"
        );
    }
}

/// The day in a sentence.
pub fn sentence(day: &Day) -> String {
    let of = format!(
        "{} cars made of {} planned",
        number(day.made, 0),
        number(day.plan, 0)
    );
    let dearest = day
        .losses
        .iter()
        .find(|loss| loss.kind != LossKind::Others && loss.cars.mean > 0.0);
    match dearest {
        Some(loss) => format!(
            "{of}; the dearest loss is {} at {}: {} cars.",
            loss_name(loss),
            loss.station,
            with_interval(loss.cars)
        ),
        None => format!("{of}; no single loss cost a car."),
    }
}

/// A loss in words.
pub fn loss_name(loss: &Loss) -> String {
    kind_words(loss.kind, &loss.cause)
}

/// A loss with its station in words.
pub(crate) fn loss_words(station: &str, kind: LossKind, cause: &str) -> String {
    if station.is_empty() {
        return kind_words(kind, cause);
    }
    format!("{station}: {}", kind_words(kind, cause))
}

fn kind_words(kind: LossKind, cause: &str) -> String {
    let kind = match kind {
        LossKind::Stop => "stop",
        LossKind::Slow => "slow cycles",
        LossKind::Starved => "starved time",
        LossKind::Blocked => "blocked time",
        LossKind::Reject => "work not right",
        LossKind::Others => "all smaller losses",
    };
    match cause {
        "" | "stop" => kind.to_owned(),
        cause => format!("{kind}, {cause}"),
    }
}

/// A mean with its interval.
pub fn with_interval(cars: Interval) -> String {
    // A five in the next digit goes up, as on the page: 1.15 is 1.2 on both.
    let tenths = |cars: f64| number((cars * 10.0).round() / 10.0, 1);
    if cars.half_width.is_finite() {
        format!("{} ± {}", tenths(cars.mean), tenths(cars.half_width))
    } else {
        tenths(cars.mean)
    }
}

/// Made against plan hour by hour of the last shop, as bars, and the shops'
/// sums as a table.
fn hours(page: &mut String, day: &Day) {
    let mut shops: Vec<&str> = Vec::new();
    for row in &day.hours {
        if !shops.contains(&row.shop.as_str()) {
            shops.push(&row.shop);
        }
    }
    let of =
        |shop: &str| -> Vec<&HourRow> { day.hours.iter().filter(|row| row.shop == shop).collect() };
    if let Some(last) = shops.last() {
        let _ = writeln!(
            page,
            "<h2>Cars out of {} by hour, made and planned</h2>",
            escaped(last)
        );
        bars(page, &of(last));
    }
    page.push_str("<table><tr><th>shop</th><th class=\"number\">planned</th><th class=\"number\">made</th><th class=\"number\">worst hour</th></tr>");
    for shop in shops {
        let rows = of(shop);
        let plan: f64 = rows.iter().map(|row| row.plan).sum();
        let made: u64 = rows.iter().map(|row| row.made).sum();
        let short = |row: &HourRow| row.plan - row.made as f64;
        let worst = rows.iter().max_by(|a, b| short(a).total_cmp(&short(b)));
        let worst = worst.map_or_else(String::new, |row| {
            format!(
                "{:02}:00, {} of {}",
                row.hour,
                row.made,
                number(row.plan, 0)
            )
        });
        let class = if (made as f64) < plan - 0.5 {
            " short"
        } else {
            ""
        };
        let _ = write!(
            page,
            "<tr><td>{}</td><td class=\"number\">{}</td><td class=\"number{class}\">{made}</td><td class=\"number\">{worst}</td></tr>",
            escaped(shop),
            number(plan, 0)
        );
    }
    page.push_str("</table>\n");
}

fn bars(page: &mut String, rows: &[&HourRow]) {
    let most = rows
        .iter()
        .map(|row| row.plan.max(row.made as f64))
        .fold(1.0, f64::max);
    let (width, height) = (720.0, 110.0);
    let _ = write!(
        page,
        "<svg viewBox=\"0 0 {width} {}\" role=\"img\" aria-label=\"cars made by hour against plan\">",
        height + 16.0
    );
    let step = width / rows.len().max(1) as f64;
    for (n, row) in rows.iter().enumerate() {
        let x = n as f64 * step;
        let tall = |cars: f64| cars / most * (height - 14.0);
        let (made, plan) = (tall(row.made as f64), height - tall(row.plan));
        let _ = write!(
            page,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{made:.1}\" fill=\"#9db4d6\" stroke=\"#1f4e9c\"/>\
             <line x1=\"{x:.1}\" x2=\"{:.1}\" y1=\"{plan:.1}\" y2=\"{plan:.1}\" stroke=\"#1d1d1f\" stroke-width=\"2\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" font-size=\"9\" text-anchor=\"middle\">{}</text>\
             <text x=\"{:.1}\" y=\"{:.1}\" font-size=\"9\" text-anchor=\"middle\">{:02}</text>",
            x + step * 0.15,
            height - made,
            step * 0.7,
            x + step,
            x + step / 2.0,
            (height - made - 3.0).max(9.0),
            row.made,
            x + step / 2.0,
            height + 12.0,
            row.hour
        );
    }
    page.push_str("</svg>\n");
}

/// A row of the losses.
struct LossRow<'d> {
    station: &'d str,
    what: String,
    events: u64,
    minutes: f64,
    cars: Cars,
}

enum Cars {
    /// Of a loss that was replayed without.
    Known(Interval),
    /// Of several added up: how their luck goes together is not known.
    Sum(f64),
}

/// The dearest losses, and what is left in one row, so that the rows add up.
fn shown(day: &Day) -> Vec<LossRow<'_>> {
    let fits = day.losses.len() <= LOSSES;
    let apart = if fits { LOSSES } else { LOSSES - 1 };
    let mut rows: Vec<LossRow<'_>> = day
        .losses
        .iter()
        .take(apart)
        .map(|loss| LossRow {
            station: &loss.station,
            what: loss_name(loss),
            events: loss.events,
            minutes: loss.minutes,
            cars: Cars::Known(loss.cars),
        })
        .collect();
    let left = day.losses.get(apart..).unwrap_or_default();
    if !left.is_empty() {
        rows.push(LossRow {
            station: "",
            what: kind_words(LossKind::Others, ""),
            events: left.iter().map(|loss| loss.events).sum(),
            minutes: left.iter().map(|loss| loss.minutes).sum(),
            cars: Cars::Sum(left.iter().map(|loss| loss.cars.mean).sum()),
        });
    }
    rows
}

fn losses(page: &mut String, day: &Day) {
    page.push_str(
        "<h2>What it cost, in cars not made</h2>\n<table><tr><th>station</th><th>loss</th>\
         <th class=\"number\">times</th><th class=\"number\">minutes</th><th class=\"number\">cars</th></tr>",
    );
    for loss in shown(day) {
        let cars = match loss.cars {
            Cars::Known(cars) => with_interval(cars),
            Cars::Sum(cars) => number(cars, 1),
        };
        let _ = write!(
            page,
            "<tr><td>{}</td><td>{}</td><td class=\"number\">{}</td><td class=\"number\">{}</td><td class=\"number\">{cars}</td></tr>",
            escaped(loss.station),
            escaped(&loss.what),
            number(loss.events as f64, 0),
            minutes(loss.minutes),
        );
    }
    page.push_str("</table>\n");
}

/// Minutes of a loss; a dash where it takes no time of its station, as work that is
/// not right, which is mended elsewhere.
pub fn minutes(of: f64) -> String {
    if of > 0.0 {
        number(of, 0)
    } else {
        "-".to_owned()
    }
}

/// From planned to made.
fn bridge(page: &mut String, day: &Day) {
    let (short, way) = if day.shortfall < 0.0 {
        (-day.shortfall, "more than planned")
    } else {
        (day.shortfall, "fewer than planned")
    };
    let plant = if day.beyond.mean > 0.0 {
        ("the plan asks for", day.beyond, "more than the plant makes")
    } else {
        let could = Interval {
            mean: -day.beyond.mean,
            ..day.beyond
        };
        ("the plant could make", could, "more than planned")
    };
    let _ = writeln!(
        page,
        "<p>{} cars {way}: without any loss {} {} {}; losses cost {}; {} {} are not explained \
         by the model.</p>",
        number(short, 0),
        plant.0,
        with_interval(plant.1),
        plant.2,
        with_interval(day.lost),
        with_interval(Interval {
            mean: day.unexplained.mean.abs(),
            ..day.unexplained
        }),
        if day.unexplained.mean < 0.0 {
            "more"
        } else {
            "fewer"
        }
    );
}

fn shops(page: &mut String, shops: &[(String, Figures)]) {
    page.push_str(
        "<h2>Shops (ISO 22400-2)</h2>\n<table><tr><th>shop</th><th class=\"number\">availability</th>\
         <th class=\"number\">effectiveness</th><th class=\"number\">quality</th><th class=\"number\">OEE</th>\
         <th class=\"number\">starved</th><th class=\"number\">blocked</th><th class=\"number\">first pass</th></tr>",
    );
    let ratio =
        |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| percent(value, 1));
    for (shop, figures) in shops {
        let r = &figures.ratios;
        let share = |s: f64| ratio((figures.pbt_s > 0.0).then(|| s / figures.pbt_s));
        let _ = write!(page, "<tr><td>{}</td>", escaped(shop));
        for cell in [
            ratio(r.availability),
            ratio(r.effectiveness),
            ratio(r.quality_ratio),
            ratio(r.oee),
            share(figures.starved_s),
            share(figures.blocked_s),
            ratio(r.first_pass_yield),
        ] {
            let _ = write!(page, "<td class=\"number\">{cell}</td>");
        }
        page.push_str("</tr>");
    }
    page.push_str("</table>\n");
}

fn causes(page: &mut String, causes: &[CauseRow]) {
    page.push_str(
        "<h2>Most time down</h2>\n<table><tr><th>station</th><th>cause</th><th class=\"number\">stops</th>\
         <th class=\"number\">minutes</th><th class=\"number\">share</th></tr>",
    );
    for row in causes.iter().take(CAUSES) {
        let _ = write!(
            page,
            "<tr><td>{}</td><td>{}</td><td class=\"number\">{}</td><td class=\"number\">{}</td><td class=\"number\">{}</td></tr>",
            escaped(&row.station),
            escaped(&row.cause),
            number(row.stops as f64, 0),
            number(row.down_s / 60.0, 0),
            percent(row.share, 0)
        );
    }
    page.push_str("</table>\n");
}

#[cfg(test)]
mod tests {
    use super::minutes;

    #[test]
    fn a_loss_that_takes_no_time_of_its_station_has_a_dash_for_minutes() {
        assert_eq!(minutes(0.0), "-");
        assert_eq!(minutes(2_022.4), "2,022");
    }
}
