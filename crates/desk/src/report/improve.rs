//! Ideas, ways to a rate and banks as workbooks.

use flow::statistics::Interval;
use whole::improve::buffers::{Banks, Trimmed};
use whole::improve::{Improve, Reach, Unrun, WayPoint};

use super::sheets::{Cell, Sheet, number, number_if_any, text, verdict};
use super::xlsx::{self, WorkbookError};

fn yes(value: bool) -> Cell {
    text(if value { "yes" } else { "no" })
}

/// A mean and its half-width.
fn pair(of: Interval, decimals: usize) -> [Cell; 2] {
    [number(of.mean, decimals), number(of.half_width, decimals)]
}

/// Ranked ideas as the bytes of an .xlsx file: the ranking, the cells that each
/// would change, and the ideas that were not run.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn improve_xlsx(found: &Improve) -> Result<Vec<u8>, WorkbookError> {
    xlsx::of_sheets(&[ranking(found), cells(found), savings(found), unrun(found)])
}

fn savings(found: &Improve) -> Sheet {
    let rows = found.savings.iter().map(|saving| {
        let (name, place) = (text(&saving.name), text(&saving.place));
        vec![name, place, number(saving.a_year, 0)]
    });
    Sheet::new(
        "Savings",
        &["what", "place", "saves a year"],
        rows.collect(),
    )
}

fn ranking(found: &Improve) -> Sheet {
    let rows = found.ideas.iter().map(|ranked| {
        let mut row = vec![
            number(f64::from(ranked.rank), 0),
            text(&ranked.idea.name),
            text(&ranked.idea.place),
        ];
        row.extend(pair(ranked.cars, 2));
        row.push(yes(ranked.shown));
        row.extend(pair(ranked.days, 3));
        row.push(yes(ranked.days_shown));
        row.extend([
            number_if_any(ranked.idea.investment, 0),
            number_if_any(ranked.idea.cost_per_year, 0),
            number_if_any(ranked.yearly, 0),
            number_if_any(ranked.per_car, 0),
            number_if_any(ranked.worth.map(|worth| worth.mean), 0),
            number_if_any(ranked.worth.map(|worth| worth.half_width), 0),
            number_if_any(ranked.idea.weeks, 0),
            number(f64::from(ranked.runs), 0),
        ]);
        row
    });
    let columns = [
        "rank",
        "idea",
        "place",
        "cars a week more",
        "±",
        "shown",
        "days more",
        "± days",
        "days shown",
        "investment",
        "cost a year",
        "a year with capital",
        "cost per car gained",
        "worth a year",
        "± worth",
        "weeks to do",
        "runs",
    ];
    Sheet::new("Ideas", &columns, rows.collect()).note(format!(
        "No idea is better than the first by more than {:.1} cars a week with a probability of at least {:.2}.",
        found.indifferent, found.first_is_good
    ))
}

fn cells(found: &Improve) -> Sheet {
    let rows = found.ideas.iter().flat_map(|ranked| {
        ranked.idea.changes.iter().map(|change| {
            vec![
                text(&ranked.idea.name),
                text(change.at.table.name()),
                text(&change.row),
                text(&change.column),
                text(&change.from),
                text(&change.to),
            ]
        })
    });
    let columns = ["idea", "table", "row", "column", "from", "to"];
    Sheet::new("Cells", &columns, rows.collect())
}

fn unrun(found: &Improve) -> Sheet {
    let rows = found.unrun.iter().map(|idea| {
        let (why, promise) = match &idea.why {
            Unrun::Stands => ("the cells hold this already".to_owned(), None),
            Unrun::Unseen => ("the run does not see it".to_owned(), None),
            Unrun::Same { other } => (format!("does what `{other}` does"), None),
            Unrun::Little { promise } => ("promises little".to_owned(), Some(*promise)),
            Unrun::Many { promise } => ("others promise more".to_owned(), Some(*promise)),
            Unrun::Worse { cars, .. } => {
                let harm = format!(
                    "does harm, alone or beside others: {:+.1} cars a week",
                    cars.mean
                );
                (harm, None)
            }
            Unrun::Refused { problems } => {
                let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                (lines.join("; "), None)
            }
        };
        vec![text(&idea.idea.name), text(why), number_if_any(promise, 2)]
    });
    let columns = ["idea", "why not run", "cars a week at most"];
    Sheet::new("Not run", &columns, rows.collect())
}

/// The way to a rate as the bytes of an .xlsx file: the set and its steps, money
/// against cars, and the ideas considered.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn reach_xlsx(found: &Reach) -> Result<Vec<u8>, WorkbookError> {
    xlsx::of_sheets(&[steps(found), curve(found), considered(found)])
}

fn name(found: &Reach, id: u32) -> String {
    let idea = found.ideas.iter().find(|idea| idea.id == id);
    idea.map_or_else(String::new, |idea| idea.name.clone())
}

fn steps(found: &Reach) -> Sheet {
    let steps = found.cheapest.iter().flat_map(|way| &way.steps);
    let rows = steps.map(|step| {
        let mut row = vec![text(name(found, step.idea))];
        row.extend(pair(step.cars, 2));
        row.push(yes(step.shown));
        row.extend(pair(step.days, 3));
        row.push(yes(step.days_shown));
        row.push(text(step.constraint.as_ref().map_or("", |(name, _)| name)));
        row
    });
    let columns = [
        "idea",
        "cars a week more",
        "±",
        "shown",
        "days more",
        "± days",
        "days shown",
        "then holds back",
    ];
    Sheet::new("Cheapest way", &columns, rows.collect()).note(match &found.cheapest {
        Some(way) if way.proved => "Every cheaper set was ruled out by runs.",
        Some(_) => "Not every cheaper set was ruled out by runs.",
        None => "No set was found that reaches the goal with its whole interval.",
    })
}

fn curve(found: &Reach) -> Sheet {
    let perhaps = found.perhaps.iter();
    let rows = found.curve.iter().chain(perhaps);
    let rows = rows.map(|point| point_row(found, point));
    let columns = [
        "ideas",
        "investment",
        "a year with capital",
        "cars a week",
        "±",
        "days",
        "± days",
        "goal",
        "then holds back",
        "runs",
    ];
    Sheet::new("Money against cars", &columns, rows.collect())
}

fn point_row(found: &Reach, point: &WayPoint) -> Vec<Cell> {
    let names: Vec<String> = point.ideas.iter().map(|id| name(found, *id)).collect();
    let mut row = vec![
        text(names.join(" + ")),
        number(point.investment, 0),
        number(point.yearly, 0),
    ];
    row.extend(pair(point.made, 1));
    row.extend(pair(point.days, 3));
    row.extend([
        text(verdict(point.verdict)),
        text(point.constraint.as_ref().map_or("", |(name, _)| name)),
        number(f64::from(point.runs), 0),
    ]);
    row
}

fn considered(found: &Reach) -> Sheet {
    let rate = found.as_it_is.hurdle_rate;
    let rows = found.ideas.iter().map(|idea| {
        vec![
            text(&idea.name),
            text(&idea.place),
            number_if_any(idea.investment, 0),
            number_if_any(idea.cost_per_year, 0),
            number_if_any(idea.yearly(rate), 0),
        ]
    });
    let columns = [
        "idea",
        "place",
        "investment",
        "cost a year",
        "a year with capital",
    ];
    Sheet::new("Ideas", &columns, rows.collect())
}

/// Banks priced both ways as the bytes of an .xlsx file.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn banks_xlsx(found: &Banks) -> Result<Vec<u8>, WorkbookError> {
    let rows = found.banks.iter().map(|bank| {
        let mut row = vec![
            text(&bank.from),
            text(&bank.to),
            number(f64::from(bank.places), 0),
            number(bank.content, 2),
        ];
        for side in [&bank.fewer, &bank.more] {
            row.push(number(f64::from(side.places), 0));
            row.extend(pair(side.cars, 2));
            row.extend(pair(side.days, 3));
        }
        row
    });
    let columns = [
        "from",
        "to",
        "places",
        "holds",
        "fewer",
        "cars a week",
        "±",
        "days",
        "± days",
        "more",
        "cars a week",
        "±",
        "days",
        "± days",
    ];
    let banks = Sheet::new("Banks", &columns, rows.collect());
    let fewest = found.fewest.as_ref().map(|t| trimmed("Fewest places", t));
    let split = found.split.as_ref().map(|t| trimmed("Better split", t));
    let sheets: Vec<Sheet> = [Some(banks), fewest, split].into_iter().flatten().collect();
    xlsx::of_sheets(&sheets)
}

fn trimmed(title: &'static str, trimmed: &Trimmed) -> Sheet {
    let rows = trimmed.places.iter();
    let rows = rows.map(|(row, places)| vec![text(row), number(f64::from(*places), 0)]);
    Sheet::new(title, &["link", "places"], rows.collect()).note(format!(
        "{:+} places: {:+.1} ± {:.1} cars a week, {:+.2} ± {:.2} days.",
        trimmed.more,
        trimmed.cars.mean,
        trimmed.cars.half_width,
        trimmed.days.mean,
        trimmed.days.half_width
    ))
}
