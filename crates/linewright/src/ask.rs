//! One module a question; each reads, calls a floor below, and words the answer.

mod assembly;
mod body;
mod carts;
mod check;
mod coils;
mod convert;
mod cost;
mod day;
mod formula;
mod growth;
mod improve;
mod keep;
mod learn;
mod logged;
mod order;
mod outline;
mod paint;
mod plan;
mod plants;
mod press;
mod problems;
mod reach;
mod rehearse;
mod report;
mod run;
mod serve;
mod solve;
mod tables;

use serde_json::json;

use crate::arguments::{Arguments, Question};
use crate::demo;
use crate::outcome::{Answer, Failure};

/// Answers the question on the command line.
pub(crate) fn ask(arguments: &Arguments) -> Result<Answer, Failure> {
    let form = arguments.form();
    match &arguments.question {
        Question::Check(asked) => check::check(&asked.book, form),
        Question::Plan(asked) => plan::plan(asked, form),
        Question::Body(asked) => body::body(asked, form),
        Question::Assembly(asked) => assembly::assembly(asked, form),
        Question::Paint(asked) => paint::paint(asked, form),
        Question::Press(asked) => press::press(asked, form),
        Question::Order(asked) => order::order(asked, form),
        Question::Carts(asked) => carts::carts(asked, form),
        Question::Run(asked) => run::run(asked, form),
        Question::Improve(asked) => improve::improve(asked, form),
        Question::Reach(asked) => reach::reach(asked, form),
        Question::Cost(asked) => cost::cost(asked, form),
        Question::Growth(asked) => growth::growth(asked, form),
        Question::Day(asked) => day::day(asked, form),
        Question::Learn(asked) => learn::learn(asked, form),
        Question::Rehearse(asked) => rehearse::rehearse(asked, form),
        Question::Plants(asked) => plants::plants(asked, form),
        Question::Coils(asked) => coils::coils(asked, form),
        Question::Outline(asked) => outline::outline(asked, form),
        Question::Convert { book, out } => convert::convert(&book.book, out, form),
        Question::Demo { folder } => {
            demo::lay_out(folder)?;
            Answer::of(form, true, &json!({ "book": folder }), || {
                format!("The book of Merrow Quay is in {}.\n", folder.display())
            })
        }
        Question::Formula(asked) => formula::formula(asked, form),
        Question::Tables { markdown: true, .. } => Ok(Answer {
            text: book::schema_markdown(),
            holds: true,
        }),
        Question::Tables { table, .. } => tables::tables(table.as_deref(), form),
        Question::Serve(asked) => serve::serve(asked),
        Question::Report(asked) => report::report(asked, form),
        Question::Backup {
            store,
            out,
            without_logs,
        } => keep::backup(store, out, *without_logs, form),
        Question::Restore { backup, store } => keep::restore(backup, store, form),
        Question::Token { store } => keep::token(store, form),
        Question::Solve { solver } => solve::solve(solver),
    }
}
