//! `linewright plants`: the logs of many plants, asked in SQL.

use crate::arguments::PlantsArguments;
use crate::outcome::{Answer, Failure, Form};

#[cfg(feature = "plants")]
pub(crate) use engine::plants;

/// Without the engine there is only the way to get it.
#[cfg(not(feature = "plants"))]
pub(crate) fn plants(_: &PlantsArguments, _: Form) -> Result<Answer, Failure> {
    Err(Failure::usage(
        "this build has no engine for SQL; build one with: cargo build --release -p linewright \
         --features plants (it takes many times as long as the tool alone)",
    ))
}

#[cfg(feature = "plants")]
mod engine {
    use std::path::Path;
    use std::time::Instant;

    use plants::{Cell, Engine, Fault};
    use serde_json::{Value, json};

    use super::{Answer, Failure, Form, PlantsArguments};
    use crate::csv::cell as cell_of;
    use crate::figure::{number, things};
    use crate::folder;
    use crate::grid::{Grid, Side};
    use crate::interrupt;

    /// Puts the question to the folder's plants.
    #[allow(
        clippy::disallowed_methods,
        reason = "a face measures how long it took"
    )]
    pub(crate) fn plants(asked: &PlantsArguments, form: Form) -> Result<Answer, Failure> {
        let sql = question(&asked.question)?;
        folder::must_be_new_and_end(&asked.csv, "csv")?;
        let began = Instant::now();
        let found = plants::find(&asked.folder).map_err(failure)?;
        let engine = Engine::open(&found, asked.threads.map(usize::from)).map_err(failure)?;
        let answer = engine.ask(&sql, interrupt::flag()).map_err(failure)?;
        let seconds = began.elapsed().as_secs_f64();
        if let Some(file) = &asked.csv {
            folder::write(file, csv(&answer).as_bytes())?;
        }
        let names: Vec<&str> = found.iter().map(|plant| plant.name.as_str()).collect();
        let rows: Vec<Value> = answer.rows.iter().map(|row| object(&answer, row)).collect();
        let json = json!({ "plants": names, "rows": rows, "seconds": seconds });
        Answer::of(form, true, &json, || {
            let mut text = table(&answer, asked.rows);
            text.push_str(&format!(
                "{} of {} in {} s",
                things(answer.rows.len(), "row", "rows"),
                things(found.len(), "plant", "plants"),
                number(seconds, 1),
            ));
            if let Some(file) = &asked.csv {
                text.push_str(&format!("; all rows are in {}", file.display()));
            }
            text.push_str(".\n");
            text
        })
    }

    fn failure(fault: Fault) -> Failure {
        match fault {
            Fault::Cancelled => Failure::cancelled(Fault::Cancelled.to_string()),
            fault => Failure::usage(fault.to_string()),
        }
    }

    #[allow(
        clippy::disallowed_methods,
        reason = "a question of one's own is a file"
    )]
    fn question(asked: &str) -> Result<String, Failure> {
        match asked {
            "figures" => Ok(plants::FIGURES.to_owned()),
            "stops" => Ok(plants::STOPS.to_owned()),
            "cycles" => Ok(plants::CYCLES.to_owned()),
            file if file.ends_with(".sql") => std::fs::read_to_string(file)
                .map_err(|error| Failure::file("read", Path::new(file), error)),
            other => Err(Failure::usage(format!(
                "`{other}` is no question; ask figures, stops, cycles, or name a file that ends \
                 in .sql"
            ))),
        }
    }

    fn object(answer: &plants::Answer, row: &[Cell]) -> Value {
        let value = |cell: &Cell| match cell {
            Cell::Empty => Value::Null,
            Cell::Word(word) => json!(word),
            Cell::Whole(whole) => json!(whole),
            Cell::Number(number) => json!(number),
        };
        let pairs = answer.columns.iter().zip(row);
        pairs
            .map(|(name, cell)| (name.clone(), value(cell)))
            .collect()
    }

    /// The first rows, for the eye: four digits of what is below a hundred.
    fn table(answer: &plants::Answer, most: usize) -> String {
        let most = if most == 0 { usize::MAX } else { most };
        let is_word = |column: usize| {
            let mut cells = answer.rows.iter().map(|row| &row[column]);
            cells.any(|cell| matches!(cell, Cell::Word(_)))
        };
        let columns: Vec<(&str, Side)> = answer
            .columns
            .iter()
            .enumerate()
            .map(|(n, name)| {
                (
                    name.as_str(),
                    if is_word(n) { Side::Left } else { Side::Right },
                )
            })
            .collect();
        let mut grid = Grid::of(&columns);
        for row in answer.rows.iter().take(most) {
            grid.cells(row.iter().map(shown).collect());
        }
        let mut text = grid.to_string();
        if answer.rows.len() > most {
            text.push_str(&format!(
                "  and {} more; --rows 0 shows all, --csv FILE writes them\n",
                answer.rows.len() - most
            ));
        }
        text
    }

    fn shown(cell: &Cell) -> String {
        match cell {
            Cell::Empty => "-".to_owned(),
            Cell::Word(word) => word.clone(),
            Cell::Whole(whole) => number(*whole as f64, 0),
            Cell::Number(value) if value.abs() < 100.0 => number(*value, 4),
            Cell::Number(value) => number(*value, 0),
        }
    }

    /// All rows with all digits.
    fn csv(answer: &plants::Answer) -> String {
        let written = |cell: &Cell| match cell {
            Cell::Empty => String::new(),
            Cell::Word(text) => cell_of(text),
            Cell::Whole(whole) => whole.to_string(),
            Cell::Number(number) => number.to_string(),
        };
        let mut text = String::new();
        let names: Vec<String> = answer.columns.iter().map(|name| cell_of(name)).collect();
        text.push_str(&names.join(","));
        text.push('\n');
        for row in &answer.rows {
            let cells: Vec<String> = row.iter().map(written).collect();
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        text
    }
}
