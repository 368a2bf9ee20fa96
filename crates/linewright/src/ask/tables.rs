//! `linewright tables`: what the plant book may say.

use book::{Column, Kind, TableSchema, Usual};
use serde_json::json;

use crate::figure::things;
use crate::grid::{Grid, Side};
use crate::outcome::{Answer, Failure, Form};

/// Lists the tables or explains one.
pub(crate) fn tables(name: Option<&str>, form: Form) -> Result<Answer, Failure> {
    let schema: Vec<&TableSchema> = book::schema().collect();
    let Some(name) = name else {
        return Answer::of(form, true, &json!({ "tables": schema }), || listed(&schema));
    };
    let Some(table) = schema.iter().find(|table| table.name == name) else {
        let names = schema.iter().map(|table| table.name);
        let hint = match book::nearest(name, names) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "`linewright tables` names them all".to_owned(),
        };
        return Err(Failure::usage(format!(
            "the plant book has no table `{name}`; {hint}"
        )));
    };
    Answer::of(form, true, table, || explained(table))
}

fn listed(schema: &[&TableSchema]) -> String {
    let mut grid = Grid::new([
        ("table", Side::Left),
        ("columns", Side::Right),
        ("a row is", Side::Left),
    ]);
    for table in schema {
        grid.row([
            table.name.to_owned(),
            table.columns.len().to_string(),
            table.doc.trim().to_owned(),
        ]);
    }
    format!(
        "A plant book holds up to {}; `linewright tables NAME` explains one.\n\n{grid}",
        things(schema.len(), "table", "tables")
    )
}

fn explained(table: &TableSchema) -> String {
    let mut grid = Grid::new([
        ("column", Side::Left),
        ("holds", Side::Left),
        ("empty means", Side::Left),
        ("legal", Side::Left),
        ("meaning", Side::Left),
    ]);
    for column in table.columns {
        grid.row(cells(column));
    }
    format!(
        "{}: {}\nRows are told apart by {}.\n\n{grid}",
        table.name,
        table.doc.trim(),
        table.key.join(", ")
    )
}

fn cells(column: &Column) -> [String; 5] {
    [
        column.name.to_owned(),
        holds(column),
        match column.usual {
            Usual::Needed => "not allowed".to_owned(),
            Usual::None => "none".to_owned(),
            Usual::Value(text) => text.to_owned(),
        },
        column
            .legal
            .map(|legal| legal.to_string())
            .unwrap_or_default(),
        column.doc.replace('\n', " "),
    ]
}

fn holds(column: &Column) -> String {
    let kind = match column.kind {
        Kind::Text => "text".to_owned(),
        Kind::Ref(table) => format!("a name of {}", table.name()),
        Kind::Refs(table) => format!("names of {}, `;` between", table.name()),
        Kind::List => "names, `;` between".to_owned(),
        Kind::Number => "number".to_owned(),
        Kind::Count => "whole number".to_owned(),
        Kind::Share => "share or %".to_owned(),
        Kind::YesNo => "yes or no".to_owned(),
        Kind::Word(words) => words.join(" | "),
        Kind::Clock => "hh:mm".to_owned(),
        Kind::Weekdays => "days, e.g. mon-fri".to_owned(),
        Kind::Breaks => "hh:mm+minutes, `;` between".to_owned(),
        Kind::Places => "places or unlimited".to_owned(),
    };
    if column.unit.is_empty() {
        kind
    } else {
        format!("{kind}, {}", column.unit)
    }
}
