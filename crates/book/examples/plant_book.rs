//! Prints the plant book's reference page, for `docs/plant-book.md`.

#![allow(clippy::print_stdout, reason = "the page is the output")]

fn main() {
    print!("{}", book::schema_markdown());
}
