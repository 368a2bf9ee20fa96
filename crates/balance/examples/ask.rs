//! Answers one JSON question under a limit of time and prints how good the
//! answer is: `cargo run --release -p linewright-balance --example ask -- FILE [SECONDS]`
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a runner at the rim: it reads a file, measures and prints"
)]

#[path = "records/timed.rs"]
mod timed;

use std::error::Error;

use balance::{Limits, Watch, question};

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let file = words.next().ok_or("name the question's file")?;
    let limit = words
        .next()
        .map_or(Ok(timed::Limit::Wall(10.0)), |text| text.parse())?;
    let asked = question::parse(&std::fs::read_to_string(file)?);
    let asked = asked.map_err(|problems| problems[0].to_string())?;
    let limits = Limits {
        memory_mb: 1_000,
        steps: None,
    };
    let (answer, wall_s, cpu_s) = timed::timed(limit, |cancel| {
        let watch = Watch {
            cancel,
            progress: &|_| {},
        };
        asked.solve(&limits, &watch)
    });
    println!(
        "{:?}: {} stations, takt {} s, bound {}, cost {:?}, efficiency {:.3}, {wall_s:.2} s, \
         {cpu_s:.2} cpu {:?}",
        answer.status,
        answer.count,
        answer.takt_s,
        answer.lower_bound,
        answer.cost_per_year,
        answer.efficiency,
        answer.why
    );
    Ok(())
}
