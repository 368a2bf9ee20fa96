//! Numbers: counts, shares, quantities with their units.
//!
//! A comma is a decimal comma where the file says so (cells separated by
//! semicolons) or where the number allows no other reading. Groups of
//! thousands are refused: `1.234` and `1,234` mean two things in two offices.

use units::{
    Days, Dimension, Hours, Kilograms, Kilonewtons, Kilowatts, Megapascals, Metres, Millimetres,
    Minutes, Money, PerWeek, Quantity, Seconds, Share, Unit, UnitError,
};

use super::{Cell, Misfit, kind_words};
use crate::schema::{Column, Kind, Legal};

/// Above this a figure of a plant is a slip of the keyboard: a billion
/// seconds are 31 years, a billion kilograms a fleet of ships.
const HIGHEST: f64 = 1e9;

macro_rules! quantities {
    ($($name:ident)+) => {$(
        impl Cell for $name {
            const KIND: Kind = Kind::Number;
            const UNIT: &'static str = <$name as Quantity>::UNIT;
            const LEGAL: Option<Legal> = Some(Legal::between(0.0, HIGHEST));

            fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
                in_range(text, column, decimal_comma).map(Self)
            }
        }
    )+};
}

quantities! {
    Seconds Minutes Hours Days Millimetres Metres Kilograms Kilonewtons Megapascals Kilowatts
    Money PerWeek
}

impl Cell for f64 {
    const KIND: Kind = Kind::Number;
    const LEGAL: Option<Legal> = Some(Legal::between(0.0, HIGHEST));

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        in_range(text, column, decimal_comma)
    }
}

impl Cell for Share {
    const KIND: Kind = Kind::Share;
    const LEGAL: Option<Legal> = Some(Legal::between(0.0, 1.0));

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        in_range(text, column, decimal_comma).map(Self)
    }
}

impl Cell for u32 {
    const KIND: Kind = Kind::Count;
    const LEGAL: Option<Legal> = Some(Legal::between(0.0, HIGHEST));

    fn read(text: &str, column: &Column, decimal_comma: bool) -> Result<Self, Misfit> {
        let value = in_range(text, column, decimal_comma)?;
        if value.fract() != 0.0 {
            return Err(Misfit::new(
                "not-whole",
                "a whole number",
                "round it to a whole number",
            ));
        }
        // In range and whole: the legal range lies within u32.
        Ok(value as Self)
    }
}

fn in_range(text: &str, column: &Column, decimal_comma: bool) -> Result<f64, Misfit> {
    let value = number(text, column, decimal_comma)?;
    let Some(legal) = column.legal else {
        return Ok(value);
    };
    if legal.holds(value) {
        return Ok(value);
    }
    let mend = if column.kind == Kind::Share && value > 1.0 && value < 2.0 {
        format!("make it at most 1, or write {text} % if a percentage is meant")
    } else if column.kind == Kind::Share && value > 1.0 && value <= 100.0 {
        format!("write {text} % if a percentage is meant")
    } else if value < legal.from || (legal.above && value == legal.from) {
        let edge = if legal.above { "above" } else { "at least" };
        format!("make it {edge} {}", legal.from)
    } else {
        format!("make it at most {}", legal.to)
    };
    let expected = format!("{} {legal}", kind_words(column));
    Err(Misfit::new("out-of-range", expected, mend))
}

/// Whether this is how a reader shows a spreadsheet's date: `2023-03-15`.
fn is_date(text: &str) -> bool {
    let digits = |part: &str, count: usize| {
        part.len() == count && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    let day = text.split([' ', 'T']).next().unwrap_or("");
    let mut parts = day.split('-');
    let [year, month, day] =
        [parts.next(), parts.next(), parts.next()].map(|part| part.unwrap_or(""));
    digits(year, 4) && digits(month, 2) && digits(day, 2) && parts.next().is_none()
}

fn number(text: &str, column: &Column, decimal_comma: bool) -> Result<f64, Misfit> {
    if is_date(text) {
        return Err(Misfit::new(
            "date",
            kind_words(column),
            "the spreadsheet took the number for a date; write it anew in a cell whose format is a number",
        ));
    }
    let plain = with_point(text, column, decimal_comma)?;
    let unit = Unit::find(column.unit)
        .or_else(|| Unit::find(""))
        .ok_or_else(|| no_number(column))?;
    if unit.dimension == Dimension::Number && unit.symbol.is_empty() {
        // A hundredth is no binary number: 95 times it is not 0.95, 95 / 100 is.
        if let Some(percent) = plain.trim_end().strip_suffix('%') {
            let hundredths = unit.parse(percent.trim_end());
            return hundredths
                .map(|value| value / 100.0)
                .map_err(|_| no_number(column));
        }
    }
    unit.parse(&plain).map_err(|error| match error {
        UnitError::NotANumber(_) => no_number(column),
        UnitError::NotFinite(_) => Misfit::new(
            "not-finite",
            kind_words(column),
            "write a number of ordinary size",
        ),
        UnitError::UnknownUnit(symbol) => Misfit::new(
            "unknown-unit",
            kind_words(column),
            format!("write the number without `{symbol}`, or with a known unit"),
        ),
        UnitError::WrongDimension { found, wanted } => Misfit::new(
            "wrong-unit",
            kind_words(column),
            if wanted.is_empty() {
                format!("write a plain number without `{found}`")
            } else {
                format!("write it in {wanted}; `{found}` measures something else")
            },
        ),
    })
}

fn no_number(column: &Column) -> Misfit {
    Misfit::new("not-a-number", kind_words(column), "write digits")
}

/// The text with a decimal point, or why its marks can't be understood.
fn with_point(text: &str, column: &Column, decimal_comma: bool) -> Result<String, Misfit> {
    let end = marks_end(text);
    let (head, tail) = text.split_at(end);
    let points = head.matches('.').count();
    let commas = head.matches(',').count();
    let grouped = head
        .trim_end()
        .contains(|c: char| c.is_whitespace() || c == '\'' || c == '’');
    if grouped || points + commas > 1 {
        return Err(Misfit::new(
            "thousands-group",
            kind_words(column),
            "write the number without thousands groups",
        ));
    }
    let three_behind = |mark| could_be_thousands(head, mark);
    let two_readings = |mark| {
        Misfit::new(
            "two-readings",
            kind_words(column),
            format!(
                "`{mark}` may part thousands or decimals here: write `{}` or `{}`",
                head.trim().replace(mark, ""),
                head.trim().replace(mark, ".") + "0"
            ),
        )
    };
    match (points, commas) {
        (0, 1) if decimal_comma || !three_behind(',') => Ok(head.replace(',', ".") + tail),
        (0, 1) => Err(two_readings(',')),
        (1, 0) if decimal_comma && three_behind('.') => Err(two_readings('.')),
        _ => Ok(text.to_owned()),
    }
}

/// Where the digits and marks at the start of the text end; a blank belongs
/// to them only between digits.
fn marks_end(text: &str) -> usize {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next_is_digit = chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
        let part = c.is_ascii_digit()
            || matches!(c, '.' | ',')
            || (at == 0 && matches!(c, '+' | '-'))
            || (at > 0 && next_is_digit && (c.is_whitespace() || matches!(c, '\'' | '’')));
        if !part {
            break;
        }
        end = at + c.len_utf8();
    }
    end
}

/// Whether `1,234`: one to three digits, the first not 0, and three behind.
fn could_be_thousands(head: &str, mark: char) -> bool {
    let digits = head.trim().trim_start_matches(['+', '-']);
    digits.split_once(mark).is_some_and(|(before, behind)| {
        (1..=3).contains(&before.len()) && !before.starts_with('0') && behind.len() == 3
    })
}
