//! The first line of a log: which column is what.

use book::Problem;

use crate::defects::refusal;
use crate::map::LogMap;

/// What stands between two cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Separator(pub u8);

/// Columns that a state log must have.
const NEEDED: [&str; 3] = ["station", "from", "state"];
/// Columns that it may have.
const KNOWN: [&str; 8] = [
    "station", "unit", "from", "to", "state", "cause", "product", "item",
];

/// Where the columns stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Between cells.
    pub separator: Separator,
    /// Cells of a row.
    pub cells: usize,
    /// For each cell which of the known columns it is.
    pub role: Vec<Option<usize>>,
}

impl Header {
    /// Position of `station` among the roles.
    pub const STATION: usize = 0;
    /// Of `unit`.
    pub const UNIT: usize = 1;
    /// Of `from`.
    pub const FROM: usize = 2;
    /// Of `to`.
    pub const TO: usize = 3;
    /// Of `state`.
    pub const STATE: usize = 4;
    /// Of `cause`.
    pub const CAUSE: usize = 5;
    /// Of `product`.
    pub const PRODUCT: usize = 6;
    /// Of `item`.
    pub const ITEM: usize = 7;
    /// How many there are.
    pub const ROLES: usize = 8;

    /// The columns of a header line as they stand there, and what parts them.
    ///
    /// ```
    /// use evidence::scan::{Header, Separator};
    /// let (separator, names) = Header::names(b"Maschine;\"Beginn\"\r\n");
    /// assert_eq!((separator, names.len()), (Separator(b';'), 2));
    /// assert_eq!(names[1], "Beginn");
    /// ```
    pub fn names(line: &[u8]) -> (Separator, Vec<String>) {
        let line = line.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(line);
        let text = String::from_utf8_lossy(line);
        let text = text.trim_end_matches(['\r', '\n']);
        let separator = [b',', b';', b'\t']
            .into_iter()
            .max_by_key(|sep| text.bytes().filter(|byte| byte == sep).count())
            .unwrap_or(b',');
        let cells = text.split(char::from(separator));
        let names = cells.map(|cell| cell.trim().trim_matches('"').to_owned());
        (Separator(separator), names.collect())
    }

    /// Reads the header line. Columns that are neither known nor mapped are
    /// left alone.
    ///
    /// # Errors
    /// The needed columns that are missing, with the nearest that are there.
    pub fn read(file: &str, line: &[u8], map: &LogMap) -> Result<Self, Vec<Problem>> {
        if let Some(problem) = no_lines(file, line) {
            return Err(vec![problem]);
        }
        let (separator, names) = Self::names(line);
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        Self::of(file, &names, separator, map)
    }

    /// From the names of the columns.
    ///
    /// # Errors
    /// As [`Header::read`].
    pub fn of(
        file: &str,
        names: &[&str],
        separator: Separator,
        map: &LogMap,
    ) -> Result<Self, Vec<Problem>> {
        let columns = columns(file, names, &KNOWN, map)?;
        let mut problems = Vec::new();
        for needed in NEEDED {
            let at = KNOWN.iter().position(|known| *known == needed);
            if at.is_some_and(|at| columns[at].is_some()) {
                continue;
            }
            let mut problem = refusal(
                file,
                "missing-column",
                &format!("the columns {}", names.join(", ")),
                &format!("a column `{needed}`"),
                &format!("name it so, or map it in log_map.csv: column,theirs,{needed}"),
            );
            problem.row = Some(1);
            problem.column = Some(needed.to_owned());
            problem.nearest = units::nearest(needed, names.iter().copied()).map(str::to_owned);
            problems.push(problem);
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let role = |column: usize| columns.iter().position(|at| *at == Some(column));
        Ok(Self {
            separator,
            cells: names.len(),
            role: (0..names.len()).map(role).collect(),
        })
    }
}

/// Where the wanted columns stand among the names of a header. One that
/// `log_map.csv` names goes before one that is called so by itself.
///
/// # Errors
/// Columns that stand there twice.
pub(crate) fn columns(
    file: &str,
    names: &[&str],
    wanted: &[&str],
    map: &LogMap,
) -> Result<Vec<Option<usize>>, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut found = Vec::new();
    for wanted in wanted {
        let all = (0..names.len()).filter(|at| map.column(names[*at]) == *wanted);
        let all: Vec<usize> = all.collect();
        let mapped = all
            .iter()
            .filter(|at| map.columns.contains_key(names[**at]));
        let mapped: Vec<usize> = mapped.copied().collect();
        found.push(match (all.as_slice(), mapped.as_slice()) {
            ([], _) => None,
            ([one], _) | (_, [one]) => Some(*one),
            _ => {
                let told: Vec<&str> = all.iter().map(|at| names[*at]).collect();
                let mut problem = refusal(
                    file,
                    "column-twice",
                    &format!("{} columns for `{wanted}`: {}", told.len(), told.join(", ")),
                    &format!("one column `{wanted}`"),
                    "take the others out of the file, or rename them",
                );
                problem.row = Some(1);
                problem.column = Some((*wanted).to_owned());
                problems.push(problem);
                None
            }
        });
    }
    if problems.is_empty() {
        Ok(found)
    } else {
        Err(problems)
    }
}

/// Why the first line of a file is no line of text, if it is none.
pub(crate) fn no_lines(file: &str, line: &[u8]) -> Option<Problem> {
    let utf_16 = line.starts_with(b"\xFF\xFE") || line.starts_with(b"\xFE\xFF");
    if utf_16 || line.contains(&0) {
        return Some(refusal(
            file,
            "not-utf-8",
            if utf_16 {
                "UTF-16 text"
            } else {
                "bytes of the value 0 in the header"
            },
            "text in UTF-8",
            "export the log as CSV in UTF-8",
        ));
    }
    let text = line.strip_suffix(b"\n").unwrap_or(line);
    let text = text.strip_suffix(b"\r").unwrap_or(text);
    text.contains(&b'\r').then(|| {
        refusal(
            file,
            "carriage-returns",
            "lines that end in a carriage return alone",
            "lines that end in a line feed, with or without a carriage return before it",
            "export the log with such line ends",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_is_read_with_the_words_of_the_map() {
        let mut map = LogMap::default();
        map.columns.insert("Maschine".into(), "station".into());
        let header = Header::read("a.csv", b"Maschine;from;x;state\r\n", &map).unwrap();
        assert_eq!(header.separator, Separator(b';'));
        assert_eq!(header.role, [Some(0), Some(2), None, Some(4)]);
    }

    #[test]
    fn a_missing_column_is_named_with_the_nearest_there_is() {
        let problems =
            Header::read("a.csv", b"stations,from,to\n", &LogMap::default()).unwrap_err();
        assert_eq!(problems.len(), 2);
        assert_eq!(problems[0].nearest.as_deref(), Some("stations"));
    }

    #[test]
    fn a_column_that_stands_there_twice_is_refused_unless_the_map_says_which() {
        let line = b"station,from,state,state,Zustand\n";
        let problems = Header::read("a.csv", line, &LogMap::default()).unwrap_err();
        assert_eq!(problems[0].code, "log/column-twice");
        assert_eq!(problems[0].found, "2 columns for `state`: state, state");
        let mut map = LogMap::default();
        map.columns.insert("Zustand".into(), "state".into());
        let header = Header::read("a.csv", line, &map).unwrap();
        assert_eq!(header.role, [Some(0), Some(2), None, None, Some(4)]);
    }

    #[test]
    fn text_of_another_kind_is_told_as_such() {
        let code = |line: &[u8]| {
            let problems = Header::read("a.csv", line, &LogMap::default()).unwrap_err();
            problems[0].code.clone()
        };
        let utf_16: Vec<u8> = "\u{feff}station,from\n"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        assert_eq!(code(&utf_16), "log/not-utf-8");
        assert_eq!(code(&utf_16[2..]), "log/not-utf-8");
        assert_eq!(
            code(b"station,from,state\rweld,x,y\r"),
            "log/carriage-returns"
        );
    }
}
