//! Work lists for the line's board: one station a page.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use whole::assembly::{Assembly, AssemblyLine, AssemblyPost, AssemblyStation, Way};

use super::assembly::{Balance, line_name, station_name, ways};
use super::{escaped, number};

/// A station a page of A4, black on white.
pub(crate) const WORK_STYLE: &str = "
* { box-sizing: border-box; }
body { font: 14px/1.45 system-ui, sans-serif; font-variant-numeric: tabular-nums; color: #1d1d1f;
  background: #fff; margin: 2rem auto; padding: 0 1.5rem; max-width: 64rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; } h2 { font-size: 1.4rem; margin: 0 0 .2rem; }
h3 { font-size: 1.05rem; margin: 1.1rem 0 .2rem; } .of { color: #55595f; margin: 0 0 .6rem; }
section { border-top: 3px solid #1d1d1f; margin-top: 2.5rem; padding-top: .6rem; }
table { border-collapse: collapse; width: 100%; }
th, td { padding: .3rem .6rem; border-bottom: 1px solid #c9cdd2; text-align: left;
  vertical-align: top; } th { border-bottom: 2px solid #1d1d1f; }
.caution { border: 2px solid #1d1d1f; padding: .4rem .7rem; }
.number { text-align: right; white-space: nowrap; } .over { font-weight: 700; }
@page { size: A4; margin: 14mm 12mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 11pt; } nav { display: none; }
  section { break-before: page; border-top: 0; margin: 0; padding: 0; }
  thead { display: table-header-group; } tr { break-inside: avoid; }
}
";

// Writing to a `String` cannot fail, so the results of `write!` are dropped
// throughout.

/// The work list of every station as one HTML file without script; printed, each
/// station begins a page. `of` says of which plant and state of the book.
pub fn work_lists_html(plan: &Assembly, balance: Balance, of: &str) -> String {
    let title = format!("Work lists, {}", balance.about());
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{title}</title>\n\
         <style>{WORK_STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n\
         <p class=\"of\">{}. Times are seconds after a mean car arrives; the last column is the \
         time on a car that has the work.</p>\n\
         <p class=\"caution\"><b>Caution:</b> before anybody works on a machine, lifting aid or \
         driven conveyor itself, it is isolated and locked out by the local procedure and local \
         codes.</p>\n",
        escaped(of)
    );
    let ways = ways(plan);
    let mut stations = 0;
    for line in &plan.lines {
        let at_work = balance.stations(line).iter();
        for station in at_work.filter(|station| !station.posts.is_empty()) {
            section(&mut page, plan, line, station, &ways);
            stations += 1;
        }
    }
    if stations == 0 {
        page.push_str("<p>No line has such a balance, so there is no work to list.</p>\n");
    }
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

/// What stands on every list of a robot's station.
const CAUTION: &str = "a robot works here. Nobody enters its place before it is isolated, locked \
    out and proved dead by the local procedure; work by hand while it is down needs the same. \
    Guards and safe distances are those of the local risk assessment, not of this list.";

/// Whether a robot works at a station.
fn has_robot(plan: &Assembly, station: &AssemblyStation) -> bool {
    let robots = || plan.cells.iter().map(|cell| &cell.robot);
    station
        .posts
        .iter()
        .any(|post| robots().any(|robot| *robot == post.by))
}

fn section(
    page: &mut String,
    plan: &Assembly,
    line: &AssemblyLine,
    station: &AssemblyStation,
    ways: &BTreeMap<u32, &Way>,
) {
    let tools: Vec<&str> = {
        let mut tools: Vec<&str> = station
            .posts
            .iter()
            .flat_map(|post| post.tools.iter().map(String::as_str))
            .collect();
        tools.sort_unstable();
        tools.dedup();
        tools
    };
    let _ = writeln!(
        page,
        "<section>\n<h2>{}</h2>\n<p class=\"of\">{}, place {}. A car every {} s; work may fill {} s \
         of them. Tools and aids: {}.</p>",
        escaped(&station_name(station)),
        escaped(line_name(line)),
        station.number,
        number(line.takt_s.value, 1),
        number(line.cycle_s.value, 1),
        if tools.is_empty() {
            "none".to_owned()
        } else {
            escaped(&tools.join(", "))
        },
    );
    if has_robot(plan, station) {
        let _ = writeln!(page, "<p class=\"caution\"><b>Caution:</b> {CAUTION}</p>");
    }
    for post in &station.posts {
        table(page, line, post, ways);
    }
    page.push_str("</section>\n");
}

fn table(page: &mut String, line: &AssemblyLine, post: &AssemblyPost, ways: &BTreeMap<u32, &Way>) {
    let over = post.load_s - line.cycle_s.value;
    let told = if over > 1e-6 {
        format!(
            "<span class=\"over\">{} s on a mean car, {} s too long</span>",
            number(post.load_s, 1),
            number(over, 1)
        )
    } else {
        format!(
            "{} s on a mean car, {} s left",
            number(post.load_s, 1),
            number(-over, 1)
        )
    };
    let _ = writeln!(
        page,
        "<h3>{} side, {}: {told}</h3>\n<table>\n<thead><tr><th class=\"number\">no.</th>\
         <th>work</th><th>tool or aid</th><th class=\"number\">from s</th>\
         <th class=\"number\">to s</th><th class=\"number\">s</th></tr></thead>\n<tbody>",
        escaped(post.side.word()),
        escaped(&post.by),
    );
    for (n, task) in (1..).zip(&post.work) {
        let tool = ways
            .get(&task.at.row)
            .and_then(|way| way.tool.as_deref())
            .unwrap_or("");
        let _ = writeln!(
            page,
            "<tr><td class=\"number\">{n}</td><td>{}</td><td>{}</td><td class=\"number\">{}</td>\
             <td class=\"number\">{}</td><td class=\"number\">{}</td></tr>",
            escaped(&task.task),
            escaped(tool),
            number(task.start_s, 1),
            number(task.end_s, 1),
            number(task.seconds, 1),
        );
    }
    page.push_str("</tbody>\n</table>\n");
}
