//! From the text of a cell to the value it stands for.

mod number;
mod time;

use crate::{
    problem::{Problem, Problems},
    raw::RawRow,
    schema::{At, Column, Kind, Legal, Usual},
    tables::Plant,
    words::Word,
};

pub use time::{Break, ClockTime, Weekdays};

/// Why a cell's text is not what its column wants.
#[derive(Debug)]
pub(crate) struct Misfit {
    /// The second half of the problem's code.
    pub(crate) what: &'static str,
    pub(crate) expected: String,
    pub(crate) mend: String,
    pub(crate) nearest: Option<&'static str>,
}

impl Misfit {
    fn new(what: &'static str, expected: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            what,
            expected: expected.into(),
            mend: mend.into(),
            nearest: None,
        }
    }

    /// The misfit at its place in the book.
    pub(crate) fn problem(self, at: At, column: &str, text: &str) -> Problem {
        let found = if text.is_empty() {
            "an empty cell".to_owned()
        } else {
            format!("`{text}`")
        };
        Problem::error(at.table.name(), self.what)
            .row(at.row)
            .column(column)
            .found(found)
            .expected(self.expected)
            .mend(self.mend)
            .nearest(self.nearest)
    }
}

/// A value that a cell can hold.
pub(crate) trait Cell: Default {
    const KIND: Kind;
    const UNIT: &'static str = "";
    const EMPTY: Usual = Usual::Needed;
    const LEGAL: Option<Legal> = None;

    /// Reads text that is not blank and carries no outer blanks.
    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit>;
}

impl<T: Cell> Cell for Option<T> {
    const KIND: Kind = T::KIND;
    const UNIT: &'static str = T::UNIT;
    const EMPTY: Usual = Usual::None;
    const LEGAL: Option<Legal> = T::LEGAL;

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        T::read(text, column, decimal_comma).map(Some)
    }
}

impl Cell for String {
    const KIND: Kind = Kind::Text;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        Ok(text.to_owned())
    }
}

impl Cell for Vec<String> {
    const KIND: Kind = Kind::List;
    const EMPTY: Usual = Usual::None;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        Ok(items(text).map(str::to_owned).collect())
    }
}

impl<T: Word> Cell for Vec<T> {
    const KIND: Kind = Kind::List;
    const EMPTY: Usual = Usual::None;

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        let read = |item| T::read(item, column, decimal_comma);
        let listed: Result<Self, Misfit> = items(text).map(read).collect();
        listed.map_err(|misfit| Misfit {
            expected: format!("words of {}, separated by `;`", T::WORDS.join(", ")),
            ..misfit
        })
    }
}

/// The items of a list cell; blanks around them and empty items do not count.
pub(crate) fn items(text: &str) -> impl Iterator<Item = &str> {
    text.split(';')
        .map(str::trim)
        .filter(|item| !item.is_empty())
}

impl Cell for bool {
    const KIND: Kind = Kind::YesNo;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        match text.to_lowercase().as_str() {
            "yes" | "y" | "true" => Ok(true),
            "no" | "n" | "false" => Ok(false),
            _ => Err(Misfit::new(
                "not-yes-or-no",
                "`yes` or `no`",
                "write `yes` or `no`",
            )),
        }
    }
}

impl<T: Word> Cell for T {
    const KIND: Kind = Kind::Word(T::WORDS);

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        let lower = text.to_lowercase();
        T::find(&lower).ok_or_else(|| Misfit {
            nearest: units::nearest(&lower, T::WORDS.iter().copied()),
            ..Misfit::new(
                "unknown-word",
                format!("one of {}", T::WORDS.join(", ")),
                "write one of these words",
            )
        })
    }
}

/// How many places a link has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Holds {
    /// So many; 0 means hand to hand, without a place in between.
    Places(u32),
    /// As many as come.
    Unlimited,
}

impl Default for Holds {
    fn default() -> Self {
        Self::Places(1)
    }
}

impl Cell for Holds {
    const KIND: Kind = Kind::Places;
    const LEGAL: Option<Legal> = <u32 as Cell>::LEGAL;

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        if text.eq_ignore_ascii_case("unlimited") {
            return Ok(Self::Unlimited);
        }
        match u32::read(text, column, decimal_comma) {
            Ok(places) => Ok(Self::Places(places)),
            Err(misfit) => {
                let range = column
                    .legal
                    .map_or_else(String::new, |legal| format!(" {legal}"));
                Err(Misfit {
                    expected: format!("a whole number of places{range}, or `unlimited`"),
                    ..misfit
                })
            }
        }
    }
}

/// What a spreadsheet shows where a formula failed.
const SPREADSHEET_ERRORS: [&str; 8] = [
    "#REF!", "#N/A", "#NAME?", "#DIV/0!", "#VALUE!", "#NUM!", "#NULL!", "#SPILL!",
];

/// Reads one row cell by cell, in the order of the schema's columns.
pub(crate) struct Line<'a> {
    pub(crate) at: At,
    pub(crate) row: &'a RawRow,
    /// For each of the schema's columns the place of its cell in the row.
    pub(crate) places: &'a [Option<usize>],
    pub(crate) columns: &'static [Column],
    pub(crate) decimal_comma: bool,
    pub(crate) problems: &'a mut Problems,
    pub(crate) next: usize,
}

impl Line<'_> {
    /// The next column's value. A cell that cannot be read is reported and
    /// stands in the row as its usual or empty value.
    pub(crate) fn cell<T: Cell>(&mut self) -> T {
        let index = self.next;
        self.next += 1;
        let Some(column) = self.columns.get(index) else {
            return T::default();
        };
        let place = self.places.get(index).copied().flatten();
        let text = place
            .and_then(|place| self.row.cells.get(place))
            .map_or("", |cell| cell.trim());
        if text.is_empty() {
            return self.empty(column, place.is_some());
        }
        if SPREADSHEET_ERRORS.contains(&text) {
            self.report(
                column,
                text,
                Misfit::new(
                    "spreadsheet-error",
                    "a value",
                    "mend the formula in the spreadsheet, or write the value",
                ),
            );
            return usual(column);
        }
        T::read(text, column, self.decimal_comma).unwrap_or_else(|misfit| {
            self.report(column, text, misfit);
            usual(column)
        })
    }

    fn empty<T: Cell>(&mut self, column: &Column, has_column: bool) -> T {
        // A column that is missing altogether is reported once for the table.
        if column.usual == Usual::Needed && has_column {
            let misfit = Misfit::new("empty-cell", kind_words(column), "fill the cell");
            self.report(column, "", misfit);
        }
        usual(column)
    }

    fn report(&mut self, column: &Column, text: &str, misfit: Misfit) {
        self.problems
            .push(misfit.problem(self.at, column.name, text));
    }
}

fn usual<T: Cell>(column: &Column) -> T {
    match column.usual {
        Usual::Value(text) => T::read(text, column, false).unwrap_or_default(),
        Usual::Needed | Usual::None => T::default(),
    }
}

/// The usual value of a setting of the plant.
pub(crate) fn usual_setting<T: Cell>(name: &str) -> T {
    Plant::SETTINGS
        .iter()
        .find(|setting| setting.name == name)
        .map_or_else(T::default, usual)
}

/// A column's kind in words, for messages and the generated page.
pub(crate) fn kind_words(column: &Column) -> String {
    match column.kind {
        Kind::Text => "text".into(),
        Kind::Ref(table) => format!("a name from {}", table.name()),
        Kind::Refs(table) => format!("names from {}, separated by `;`", table.name()),
        Kind::List => "names separated by `;`".into(),
        Kind::Number if column.unit.is_empty() => "a number".into(),
        Kind::Number if column.unit == "cur" => "an amount of money".into(),
        Kind::Number => number_words(column.unit),
        Kind::Count => "a whole number".into(),
        Kind::Share => "a share".into(),
        Kind::YesNo => "`yes` or `no`".into(),
        Kind::Word(words) => format!("one of {}", words.join(", ")),
        Kind::Clock => "a time of day, `hh:mm`".into(),
        Kind::Weekdays => "days such as `mon-fri`, `mon;wed;sat` or `all`".into(),
        Kind::Breaks => "breaks such as `09:00+15;12:00+30`".into(),
        Kind::Places => "a number of places, or `unlimited`".into(),
    }
}

fn number_words(unit: &str) -> String {
    let unit = match unit {
        "1/week" => return "a number a week".into(),
        "1/min" => return "a number a minute".into(),
        "1/h" => return "a number an hour".into(),
        "m/min" => return "a speed in metres a minute".into(),
        "s" => "seconds",
        "min" => "minutes",
        "h" => "hours",
        "d" => "days",
        "mm" => "millimetres",
        "um" => "micrometres",
        "m" => "metres",
        "m2" => "square metres",
        "l" => "litres",
        "kg" => "kilograms",
        "deg" => "degrees",
        symbol => symbol,
    };
    format!("a number of {unit}")
}

/// What an empty cell means and which numbers are legal, in words.
pub(crate) fn about(column: &Column, kind: &str) -> String {
    let empty = match column.usual {
        Usual::Needed => "needed".to_owned(),
        Usual::None => "may be empty".to_owned(),
        Usual::Value(text) => format!("empty means {text}"),
    };
    match column.legal {
        Some(legal) => format!("{kind}, {legal}; {empty}."),
        None => format!("{kind}; {empty}."),
    }
}
