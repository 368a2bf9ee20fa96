//! CSV after RFC 4180, with what spreadsheets in other languages write.
//!
//! Our own small reader, since a row's number must be the one a spreadsheet
//! shows: empty rows count, line breaks inside quotes do not.

use std::borrow::Cow;

use super::{
    builder::{Budget, Builder},
    caps,
};
use crate::{Problem, raw::RawTable};

pub(super) fn read(
    file: &str,
    bytes: &[u8],
    budget: &mut Budget,
) -> Result<RawTable, Box<Problem>> {
    let name = table_name(file);
    let text = decode(name, bytes)?;
    let (separator, text) = match named_separator(text) {
        Some((separator, rest)) => (Some(separator), rest),
        None => (sniff(text), text),
    };
    let mut builder = Builder::new(name);
    let mut records = Records {
        rest: text,
        separator,
        line: 0,
    };
    while let Some(record) = records.next_record() {
        let line = records.line;
        let cells = record.map_err(|Unclosed| unclosed(name, line))?;
        for (column, cell) in cells.into_iter().enumerate() {
            builder.cell(line, column, cell.into_owned(), budget)?;
        }
    }
    builder.finish(file, separator == Some(';'), budget)
}

fn table_name(file: &str) -> &str {
    let lower = file.to_ascii_lowercase();
    match [".csv", ".tsv"]
        .iter()
        .find(|ending| lower.ends_with(**ending))
    {
        Some(ending) => &file[..file.len() - ending.len()],
        None => file,
    }
}

fn decode<'a>(name: &str, bytes: &'a [u8]) -> Result<&'a str, Box<Problem>> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
        Problem::error(name, "not-utf8")
            .row(u32::try_from(line).unwrap_or(u32::MAX))
            .found(format!("the byte {:#04x}", bytes[error.valid_up_to()]))
            .expected("text in UTF-8")
            .mend("save it again as `CSV UTF-8`")
            .boxed()
    })
}

/// Spreadsheets may name the separator in a first line that is no row.
fn named_separator(text: &str) -> Option<(char, &str)> {
    let rest = text.strip_prefix("sep=")?;
    let separator = rest.chars().next().filter(|c| SEPARATORS.contains(c))?;
    let rest = &rest[separator.len_utf8()..];
    let rest = rest
        .strip_prefix("\r\n")
        .or_else(|| rest.strip_prefix(['\n', '\r']))?;
    Some((separator, rest))
}

/// What may stand between the cells of a row.
pub(crate) const SEPARATORS: [char; 3] = [',', ';', '\t'];

/// The separator that the header uses most; none if it uses none, and then the
/// table has one column.
fn sniff(text: &str) -> Option<char> {
    let mut counts = [0_u32; SEPARATORS.len()];
    let mut quoted = false;
    let mut seen = false;
    for c in text.chars().take(caps::COLUMNS * caps::CELL_CHARS) {
        match c {
            '"' => quoted = !quoted,
            '\n' | '\r' if !quoted && seen => break,
            _ if quoted => {}
            _ => {
                if let Some(index) = SEPARATORS.iter().position(|separator| *separator == c) {
                    counts[index] += 1;
                }
            }
        }
        // Empty rows, and rows of separators alone, may stand before it.
        seen |= !matches!(c, '\n' | '\r') && !SEPARATORS.contains(&c);
        if matches!(c, '\n' | '\r') && !seen {
            counts = [0; SEPARATORS.len()];
        }
    }
    let most = counts.iter().copied().max().filter(|most| *most > 0)?;
    let index = counts.iter().position(|count| *count == most)?;
    Some(SEPARATORS[index])
}

/// A quoted cell that does not end.
struct Unclosed;

fn unclosed(name: &str, line: u32) -> Box<Problem> {
    Problem::error(name, "open-quote")
        .row(line)
        .found("a quoted cell that does not end")
        .expected("a closing `\"`")
        .mend("close the quote; a `\"` inside a quoted cell is written twice")
        .boxed()
}

/// Cuts the text into rows of cells.
struct Records<'a> {
    rest: &'a str,
    separator: Option<char>,
    /// The number of the row cut last.
    line: u32,
}

impl<'a> Records<'a> {
    fn next_record(&mut self) -> Option<Result<Vec<Cow<'a, str>>, Unclosed>> {
        if self.rest.is_empty() {
            return None;
        }
        self.line += 1;
        let mut cells = Vec::new();
        loop {
            let Some(cell) = self.cell() else {
                return Some(Err(Unclosed));
            };
            // One more than allowed is enough for the complaint.
            if cells.len() <= caps::COLUMNS || !cell.is_empty() {
                cells.push(cell);
            }
            let mut after = self.rest.chars();
            match after.next() {
                Some(c) if Some(c) == self.separator => self.rest = after.as_str(),
                Some('\r') => {
                    let rest = after.as_str();
                    self.rest = rest.strip_prefix('\n').unwrap_or(rest);
                    return Some(Ok(cells));
                }
                _ => {
                    self.rest = after.as_str();
                    return Some(Ok(cells));
                }
            }
        }
    }

    /// One cell; the rest then starts with what ended it. None if it is quoted
    /// and does not end.
    fn cell(&mut self) -> Option<Cow<'a, str>> {
        let Some(quoted) = self.rest.strip_prefix('"') else {
            return Some(Cow::Borrowed(self.plain()));
        };
        let mut rest = quoted;
        let mut text = Cow::Borrowed("");
        loop {
            let end = rest.find('"')?;
            append(&mut text, &rest[..end]);
            rest = &rest[end + 1..];
            match rest.strip_prefix('"') {
                Some(more) => {
                    append(&mut text, "\"");
                    rest = more;
                }
                None => break,
            }
        }
        self.rest = rest;
        // `"a"b` is no CSV; spreadsheets read it as `ab`, and so do we.
        append(&mut text, self.plain());
        Some(text)
    }

    fn plain(&mut self) -> &'a str {
        let separator = self.separator;
        let ends = |c| c == '\n' || c == '\r' || Some(c) == separator;
        let end = self.rest.find(ends).unwrap_or(self.rest.len());
        let (cell, rest) = self.rest.split_at(end);
        self.rest = rest;
        cell
    }
}

fn append<'a>(text: &mut Cow<'a, str>, more: &'a str) {
    if text.is_empty() {
        *text = Cow::Borrowed(more);
    } else if !more.is_empty() {
        text.to_mut().push_str(more);
    }
}
