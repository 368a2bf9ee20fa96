//! The report on paper: one HTML file that needs nothing else.

use std::fmt::Write as _;

use super::number::{number, percent};
use super::order_paper::order_sections;
use super::sheets::{Cell, Sheet, sheets};
use super::workings::{told, worked};
use super::{Report, escaped, strip, strip_of};

/// Summary and narrow tables on A4 upright, wide tables on A3 across; a browser
/// that knows no named pages prints them all on A4.
pub(crate) const STYLE: &str = "
:root { --ink: #1d1d1f; --rule: #c9cdd2; --needed: #1f4e9c; --short: #b3261e; }
* { box-sizing: border-box; }
body { font: 14px/1.45 system-ui, sans-serif; font-variant-numeric: tabular-nums;
  color: var(--ink); background: #fff; margin: 2rem auto; padding: 0 1.5rem; max-width: 90rem; }
h1 { font-size: 1.7rem; margin: 0 0 .3rem; } h2 { font-size: 1.15rem; margin: 2rem 0 .4rem; }
.answer { font-size: 1.25rem; max-width: 60rem; } .of, .note { color: #55595f; max-width: 60rem; }
svg { width: 100%; height: auto; max-width: 70rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: 13px; }
th, td { padding: .18rem .6rem; border-bottom: 1px solid var(--rule); text-align: left;
  vertical-align: top; }
th { border-bottom: 2px solid var(--ink); } .number { text-align: right; white-space: nowrap; }
.missed { color: var(--short); font-weight: 600; }
.workings td { font-size: 12px; } .source { color: #55595f; }
nav li { display: inline; margin-right: 1rem; } nav ul { padding: 0; }
@page { size: A4; margin: 14mm 12mm; }
@page wide { size: A3 landscape; margin: 12mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 10pt; } nav { display: none; }
  .scroll { overflow: visible; } table { font-size: 8.5pt; } h2 { break-after: avoid; }
  thead { display: table-header-group; } tr, svg { break-inside: avoid; }
  section.wide { page: wide; } section.wide table { font-size: 8pt; width: 100%; }
}
";

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// The report as one HTML file without script, with rules for A4 and A3.
pub fn html(report: &Report<'_>) -> String {
    let plant = escaped(&report.plan.plant);
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{plant}: report</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n<main>\n"
    );
    first_page(&mut page, report);
    let sheets = sheets(report);
    contents(&mut page, &sheets, report.order.is_some());
    for (n, sheet) in sheets.iter().enumerate() {
        section(&mut page, n, sheet);
    }
    if let Some(order) = report.order {
        order_sections(&mut page, order, sheets.len());
    }
    workings(&mut page, report);
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

fn first_page(page: &mut String, report: &Report<'_>) {
    let plan = report.plan;
    let _ = writeln!(page, "<h1>{}</h1>", escaped(&plan.plant));
    let _ = writeln!(page, "<p class=\"of\">{}</p>", escaped(report.of));
    if let Some(answer) = report.answer {
        let _ = writeln!(
            page,
            "<p class=\"answer\">{}.</p>",
            escaped(&capital(&answer.sentence))
        );
        let run = &answer.run;
        let _ = writeln!(
            page,
            "<p class=\"note\">Simulated: {} replications of {} weeks after {} h of warm-up, \
             seed {}; ± is the {} interval.</p>",
            run.replications,
            run.weeks,
            number(run.warm_up_h, 1),
            run.seed,
            percent(run.level, 0)
        );
        page.push_str(&strip::svg(&strip_of(plan, answer)));
    } else {
        page.push_str(
            "<p class=\"answer\">The plant was not run; these are planned figures.</p>\n",
        );
    }
    let capable = plan.capable.as_ref().map_or_else(
        || "the plan names no weakest shop".to_owned(),
        |capable| {
            format!(
                "the weakest shop or fleet alone would allow {} cars a week of {} planned",
                number(capable.value, 0),
                number(plan.cars, 0)
            )
        },
    );
    let _ = writeln!(page, "<p>{}.</p>", escaped(&capital(&capable)));
}

fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

fn contents(page: &mut String, sheets: &[Sheet], ordered: bool) {
    page.push_str("<nav aria-label=\"Contents\"><ul>\n");
    for (n, sheet) in sheets.iter().enumerate() {
        let _ = writeln!(page, "<li><a href=\"#s{n}\">{}</a></li>", sheet.title);
    }
    if ordered {
        page.push_str("<li><a href=\"#order\">Build order</a></li>\n");
    }
    page.push_str("<li><a href=\"#workings\">Workings</a></li>\n</ul></nav>\n");
}

pub(super) fn section(page: &mut String, n: usize, sheet: &Sheet) {
    let wide = if sheet.wide { " class=\"wide\"" } else { "" };
    let _ = writeln!(
        page,
        "<section id=\"s{n}\"{wide}>\n<h2>{}</h2>",
        sheet.title
    );
    if !sheet.note.is_empty() {
        let _ = writeln!(page, "<p class=\"note\">{}</p>", escaped(&sheet.note));
    }
    page.push_str(&sheet.picture);
    // A region that can be scrolled can be reached by keyboard.
    let _ = writeln!(
        page,
        "<div class=\"scroll\" role=\"region\" aria-labelledby=\"s{n}\" tabindex=\"0\">\
         <table>\n<thead><tr>"
    );
    for (place, column) in sheet.columns.iter().enumerate() {
        let numbers = sheet
            .rows
            .iter()
            .any(|row| row.get(place).is_some_and(is_number));
        let class = if numbers { " class=\"number\"" } else { "" };
        let _ = write!(page, "<th scope=\"col\"{class}>{}</th>", escaped(column));
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for row in &sheet.rows {
        page.push_str("<tr>");
        row.iter().for_each(|cell| cell_html(page, cell));
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody></table></div>\n</section>\n");
}

fn is_number(cell: &Cell) -> bool {
    !matches!(cell, Cell::Text(_) | Cell::Empty)
}

fn cell_html(page: &mut String, cell: &Cell) {
    let interval = |mean: String, half: Option<String>| match half {
        Some(half) => format!("{mean} ± {half}"),
        None => mean,
    };
    let shown = match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => {
            let class = if text == "not met" {
                " class=\"missed\""
            } else {
                ""
            };
            let _ = write!(page, "<td{class}>{}</td>", escaped(text));
            return;
        }
        Cell::Number(value, decimals) => number(*value, *decimals),
        Cell::Share(share) => percent(*share, 1),
        Cell::Interval(seen, decimals) => interval(
            number(seen.mean, *decimals),
            seen.half_width
                .is_finite()
                .then(|| number(seen.half_width, *decimals)),
        ),
        Cell::ShareInterval(seen) => interval(
            number(seen.mean * 100.0, 1),
            seen.half_width
                .is_finite()
                .then(|| percent(seen.half_width, 1)),
        ),
    };
    let _ = write!(page, "<td class=\"number\">{shown}</td>");
}

fn workings(page: &mut String, report: &Report<'_>) {
    page.push_str(
        "<section id=\"workings\" class=\"wide workings\">\n<h2>Workings</h2>\n\
         <p class=\"note\">The figures of plant, shops, lines and fleets and of what falls \
         short, with formula, values and where each came from; the workbook of figures has those \
         of all stations.</p>\n<div class=\"scroll\" role=\"region\" aria-labelledby=\"workings\" \
         tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">figure</th>\
         <th scope=\"col\">result</th><th scope=\"col\">formula</th>\
         <th scope=\"col\">values and where from</th></tr></thead>\n<tbody>\n",
    );
    for figure in told(report.plan) {
        let worked = worked(figure);
        let _ = writeln!(
            page,
            "<tr><td>{}</td><td>{}</td><td>{}<br><span class=\"source\">{}</span></td>\
             <td>{}</td></tr>",
            escaped(&worked.figure.title),
            escaped(&worked.results),
            escaped(&worked.figure.working.expression),
            escaped(&worked.figure.working.source),
            escaped(&worked.inputs)
        );
    }
    page.push_str("</tbody></table></div>\n</section>\n");
}
