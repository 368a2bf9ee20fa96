//! Carts that can do what they are to do.
//!
//! # Checks
//! No cart is to carry more than it may; a supply run says how many loads an
//! hour it brings, in one way only; a way under the cars and a way back have a
//! length and a speed above 0.
//!
//! # Why it hurts
//! An overloaded cart brakes late and tips; a run without loads needs no carts.
//!
//! # Example
//! A supply with `load_kg` 900 on carts with `payload_kg` 750.
//!
//! # Mended
//! The load is split in two, so that `loads_per_hour` doubles and `load_kg` is
//! 450.

use units::Kilograms;

use crate::{
    At, Book, Supply,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    for row in &book.carriers {
        payload(row.at, row.load_kg, row.payload_kg, problems);
    }
    for row in &book.supplies {
        payload(row.at, row.load_kg, row.payload_kg, problems);
        loads(row, problems);
    }
}

fn payload(at: At, load: Option<Kilograms>, most: Option<Kilograms>, problems: &mut Problems) {
    let Some((load, most)) = load.zip(most).filter(|(load, most)| load > most) else {
        return;
    };
    problems.push(
        Problem::at(at, "beyond-payload")
            .column("load_kg")
            .found(format!("{} kg on a cart for {} kg", load.0, most.0))
            .expected("a load that the cart may carry")
            .mend("carry less at a time, more often, or take carts for a higher payload"),
    );
}

fn loads(row: &Supply, problems: &mut Problems) {
    let found = match (row.loads_per_hour, row.cars_per_load) {
        (None, None) => "neither loads_per_hour nor cars_per_load",
        (Some(_), Some(_)) => "both loads_per_hour and cars_per_load",
        (None, Some(_)) if row.station.is_none() => "cars_per_load without a station",
        _ => return,
    };
    problems.push(
        Problem::at(row.at, "loads-unclear")
            .column("loads_per_hour")
            .found(found)
            .expected("the loads an hour, or how many cars of a station a load lasts")
            .mend("write loads_per_hour, or cars_per_load and station"),
    );
}
