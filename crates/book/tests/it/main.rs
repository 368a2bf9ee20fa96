//! The plant book from outside: text in, problems or the same text out.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may fail by panicking"
)]

mod checks;
mod office;
mod reading;
mod round_trip;
mod schema_page;
mod small;
