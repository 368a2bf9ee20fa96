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
        let ours: Vec<&str> = names.iter().map(|name| map.column(name)).collect();
        let mut problems = Vec::new();
        for needed in NEEDED {
            if ours.contains(&needed) {
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
        Ok(Self {
            separator,
            cells: names.len(),
            role: ours
                .iter()
                .map(|name| KNOWN.iter().position(|known| known == name))
                .collect(),
        })
    }
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
}
