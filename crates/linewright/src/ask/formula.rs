//! `linewright formula`: the formula sheet at the prompt.

use std::fmt::Write as _;

use formulas::Formula;
use serde_json::json;

use crate::arguments::FormulaArguments;
use crate::grid::{Grid, Side};
use crate::outcome::{Answer, Failure, Form};

/// Lists, explains or computes.
pub(crate) fn formula(arguments: &FormulaArguments, form: Form) -> Result<Answer, Failure> {
    if arguments.markdown {
        return Ok(Answer {
            text: formulas::formula_sheet_markdown(),
            holds: true,
        });
    }
    if arguments.name == "list" && arguments.pairs.is_empty() {
        return list(form);
    }
    let formula = formulas::find(&arguments.name).map_err(|refusal| {
        Failure::usage(format!(
            "{refusal}; `linewright formula list` names them all"
        ))
    })?;
    if arguments.pairs.is_empty() {
        return Answer::of(form, true, formula, || explained(formula));
    }
    compute(formula, &arguments.pairs, form)
}

fn list(form: Form) -> Result<Answer, Failure> {
    let all: Vec<&Formula> = formulas::all().collect();
    Answer::of(form, true, &json!({ "formulas": all }), || {
        let mut grid = Grid::new([
            ("formula", Side::Left),
            ("shop", Side::Left),
            ("what it gives", Side::Left),
        ]);
        for formula in &all {
            grid.row([
                formula.name.to_owned(),
                formula.shop.to_owned(),
                formula.title.to_owned(),
            ]);
        }
        format!(
            "The sheet holds {} formulas; `linewright formula NAME` explains one.\n\n{grid}",
            all.len()
        )
    })
}

fn explained(formula: &Formula) -> String {
    let mut text = format!("{}: {}\n\n", formula.name, formula.title);
    for paragraph in formula.about.trim().split("\n\n") {
        text.push_str(&paragraph.replace('\n', " "));
        text.push('\n');
    }
    text.push('\n');
    for line in formula.expression.split("; ") {
        text.push_str("  ");
        text.push_str(line);
        text.push('\n');
    }
    text.push('\n');
    let mut grid = Grid::new([
        ("symbol", Side::Left),
        ("unit", Side::Left),
        ("legal", Side::Left),
        ("meaning", Side::Left),
    ]);
    let inputs = formula.symbols.iter().map(|symbol| (symbol, true));
    let results = formula.results.iter().map(|symbol| (symbol, false));
    for (symbol, is_input) in inputs.chain(results) {
        let legal = match (is_input, symbol.list) {
            (false, _) => "result".to_owned(),
            (true, false) => symbol.range.to_string(),
            (true, true) => format!("list, each {}", symbol.range),
        };
        grid.row([
            symbol.name.to_owned(),
            symbol.unit.to_owned(),
            legal,
            symbol.meaning.to_owned(),
        ]);
    }
    // Writing to a `String` cannot fail.
    let _ = write!(text, "{grid}");
    for need in formula.needs {
        let _ = write!(text, "\nneeds: {need}");
    }
    let _ = writeln!(text, "\nsource: {}", formula.source);
    if let Some(caution) = formula.caution {
        let _ = writeln!(text, "caution: {caution}");
    }
    let symbols: Vec<String> = formula
        .symbols
        .iter()
        .map(|symbol| format!("{}=...", symbol.name))
        .collect();
    let _ = writeln!(
        text,
        "\ncompute it: linewright formula {} {}",
        formula.name,
        symbols.join(" ")
    );
    text
}

fn compute(formula: &Formula, pairs: &[String], form: Form) -> Result<Answer, Failure> {
    let mut split = Vec::with_capacity(pairs.len());
    for pair in pairs {
        let Some((symbol, value)) = pair.split_once('=') else {
            return Err(Failure::usage(format!(
                "`{pair}` is no pair; write symbol=value, e.g. {}=1",
                formula.symbols.first().map_or("x", |symbol| symbol.name)
            )));
        };
        split.push((symbol, value));
    }
    let working = formula.compute(&split).map_err(|refusal| {
        let mut message = format!("{} cannot be computed", formula.name);
        for fault in &refusal.faults {
            let _ = write!(message, "\n  {fault}");
        }
        Failure::usage(message)
    })?;
    Answer::of(form, true, &working, || format!("{working}\n"))
}
