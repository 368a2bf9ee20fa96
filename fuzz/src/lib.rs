//! What several targets stand on: a small plant, and small numbers out of bytes.

use std::sync::OnceLock;

use book::raw::{RawRow, RawTable, Workbook};
use evidence::gather::Rules;
use evidence::map::LogMap;
use evidence::roster::Roster;
use evidence::time::Zone;

/// Two stations in a row.
pub fn roster() -> &'static Roster {
    static ROSTER: OnceLock<Roster> = OnceLock::new();
    ROSTER.get_or_init(|| {
        let table = |name: &str, columns: &[&str], rows: &[&[&str]]| RawTable {
            name: name.into(),
            columns: columns.iter().map(|c| (*c).to_owned()).collect(),
            rows: rows
                .iter()
                .zip(2..)
                .map(|(cells, line)| RawRow {
                    line,
                    cells: cells.iter().map(|c| (*c).to_owned()).collect(),
                })
                .collect(),
            ..RawTable::default()
        };
        let workbook = Workbook {
            tables: vec![
                table(
                    "products",
                    &["product", "cars_per_week"],
                    &[&["van", "700"]],
                ),
                table(
                    "stations",
                    &["station", "shop", "units", "cycle_s"],
                    &[&["weld", "body", "1", "60"], &["trim", "body", "2", "100"]],
                ),
                table("links", &["from", "to"], &[&["weld", "trim"]]),
            ],
            ..Workbook::default()
        };
        let book = book::check(&workbook).book;
        let built = whole::network::build(&book).expect("a network");
        let zone = Zone::parse("+01:00 eu").expect("a zone");
        Roster::of(
            &book,
            &built,
            LogMap {
                zone,
                ..LogMap::default()
            },
        )
    })
}

/// How a log's rows are judged; some days of March 2026 are kept for a replay.
pub const RULES: Rules = Rules {
    merge: 60_000_000,
    short: 120_000_000,
    keep: Some((1_772_000_000_000_000, 1_773_000_000_000_000)),
};

/// A refusal says what is wrong, what was expected and what mends it.
pub fn reasons(problems: &[asked::Problem]) {
    assert!(!problems.is_empty());
    for problem in problems {
        assert!(!problem.found.is_empty(), "{problem:?}");
        assert!(!problem.expected.is_empty(), "{problem:?}");
        assert!(!problem.mend.is_empty(), "{problem:?}");
    }
}

/// A refusal of a log says the same.
pub fn refused(problems: &[book::Problem]) {
    assert!(!problems.is_empty());
    for problem in problems {
        assert!(!problem.expected.is_empty(), "{problem:?}");
        assert!(!problem.mend.is_empty(), "{problem:?}");
    }
}

/// Small numbers, one byte each; noughts where there are no more bytes.
pub struct Draws<'a>(pub &'a [u8]);

impl Draws<'_> {
    /// The next number, from 0 to below `end`.
    pub fn below(&mut self, end: u8) -> u8 {
        let (byte, rest) = self.0.split_first().unwrap_or((&0, &[]));
        self.0 = rest;
        byte % end
    }

    /// Yes or no.
    pub fn flip(&mut self) -> bool {
        self.below(2) == 1
    }

    /// So many texts, each made of further draws, as a JSON list.
    pub fn list(&mut self, count: u8, mut text: impl FnMut(&mut Self, u8) -> String) -> String {
        let texts: Vec<String> = (0..count).map(|n| text(self, n)).collect();
        format!("[{}]", texts.join(", "))
    }
}
