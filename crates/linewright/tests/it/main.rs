//! The command line as somebody types it: what it answers, on which stream,
//! what it writes, and with which exit code.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test that cannot go on stops where it stands, and runs a program on files"
)]

mod assembly;
mod body;
mod book;
mod carts;
mod check;
mod coils;
mod evidence;
mod formula;
mod improve;
mod keep;
mod money;
mod order;
mod outline;
mod paint;
mod plan;
mod press;
mod run;
mod solve_balance;
mod solve_flow;
mod solve_sequence;
mod support;
mod usage;
mod writes;
