use std::fmt::Write as _;

use crate::catalogue::all;
use crate::formula::{Formula, Symbol};

const PREFACE: &str = "# Formula sheet

Every formula Linewright computes with, as the code declares it. Each figure of
a plan shows its working with these names and symbols. A symbol without a unit
is a plain number or a share (`0.95` or `95 %`). Cautions name what a figure
cannot tell; local codes, the standard's own text and licensed practice go
before anything written here.
";

/// The handbook: every formula with its symbols, ranges, source and caution,
/// as Markdown.
pub fn formula_sheet_markdown() -> String {
    let mut page = PREFACE.to_owned();
    let mut shop = "";
    for formula in all() {
        if formula.shop != shop {
            shop = formula.shop;
            page.push_str("\n## ");
            page.push_str(shop);
            page.push('\n');
        }
        entry(&mut page, formula);
    }
    page
}

/// Writing to a `String` cannot fail, so the results of `write!` are dropped.
fn entry(page: &mut String, formula: &Formula) {
    let _ = write!(
        page,
        "\n### `{}`: {}\n\n{}\n\n```text\n{}\n```\n\n",
        formula.name,
        formula.title,
        formula.about.trim(),
        formula.expression.replace("; ", "\n"),
    );
    page.push_str("| symbol | meaning | unit | legal values |\n|---|---|---|---|\n");
    for symbol in formula.symbols {
        let range = symbol.range.to_string();
        row(page, symbol, if symbol.list { "each " } else { "" }, &range);
    }
    for symbol in formula.results {
        row(page, symbol, "", "result");
    }
    page.push('\n');
    for need in formula.needs {
        let _ = writeln!(page, "Needs: {need}.\n");
    }
    let _ = writeln!(page, "Source: {}.", formula.source);
    if let Some(caution) = formula.caution {
        let _ = writeln!(page, "\n**Caution:** {caution}.");
    }
}

fn row(page: &mut String, symbol: &Symbol, each: &str, range: &str) {
    let list = if symbol.list { " (list)" } else { "" };
    let _ = writeln!(
        page,
        "| `{}`{list} | {} | {} | {each}{range} |",
        symbol.name, symbol.meaning, symbol.unit
    );
}
