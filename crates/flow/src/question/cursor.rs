//! Walks a JSON value and collects every misfit with its path.

use std::collections::BTreeMap;

use super::Problem;
use super::json::{Json, shown};

/// A value and where it stands.
#[derive(Clone)]
pub(super) struct Spot<'a> {
    pub(super) path: String,
    pub(super) value: &'a Json,
}

/// The entries of an object whose keys have been checked.
pub(super) struct Fields<'a> {
    path: String,
    entries: &'a [(String, Json)],
}

impl<'a> Fields<'a> {
    /// The value under a key, if it stands there.
    pub(super) fn get(&self, key: &str) -> Option<Spot<'a>> {
        let (_, value) = self.entries.iter().find(|(found, _)| found == key)?;
        Some(Spot {
            path: self.path_of(key),
            value,
        })
    }

    /// The path that a key has or would have.
    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }
}

/// Numbers that a key may hold: what they count and the legal range.
pub(super) struct Range {
    /// Names the number with its unit: `seconds`, `a share`.
    pub(super) what: &'static str,
    /// The least legal number.
    pub(super) least: f64,
    /// The largest legal number.
    pub(super) most: f64,
}

impl Range {
    fn expected(&self) -> String {
        format!(
            "{} from {} to {}",
            self.what,
            shown(self.least),
            shown(self.most)
        )
    }
}

/// Reads values and keeps the list of what did not fit.
#[derive(Default)]
pub(super) struct Cursor {
    pub(super) problems: Vec<Problem>,
}

impl Cursor {
    /// Notes a misfit.
    pub(super) fn refuse(
        &mut self,
        path: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.problems.push(Problem {
            path: path.into(),
            found: found.into(),
            expected: expected.into(),
            mend: mend.into(),
        });
    }

    fn misfit(&mut self, spot: &Spot<'_>, expected: impl Into<String>, mend: impl Into<String>) {
        self.refuse(&spot.path, excerpt(spot.value), expected, mend);
    }

    /// An object with no keys but these.
    pub(super) fn object<'a>(&mut self, spot: &Spot<'a>, keys: &[&str]) -> Option<Fields<'a>> {
        let Json::Object(entries) = spot.value else {
            self.misfit(
                spot,
                format!("an object with keys {}", listed(keys)),
                "write it as {...}",
            );
            return None;
        };
        let fields = Fields {
            path: spot.path.clone(),
            entries,
        };
        for (key, _) in entries {
            if !keys.contains(&key.as_str()) {
                let mend = match nearest(key, keys.iter().copied()) {
                    Some(name) => format!("did you mean `{name}`?"),
                    None => "leave it out".to_owned(),
                };
                self.refuse(
                    fields.path_of(key),
                    format!("an unknown key `{key}`"),
                    format!("one of {}", listed(keys)),
                    mend,
                );
            }
        }
        Some(fields)
    }

    /// The value under a key that must be there.
    pub(super) fn required<'a>(&mut self, fields: &Fields<'a>, key: &str) -> Option<Spot<'a>> {
        let spot = fields.get(key);
        if spot.is_none() {
            self.refuse(
                fields.path_of(key),
                "nothing",
                format!("the key `{key}`"),
                format!("add `{key}`"),
            );
        }
        spot
    }

    /// The items of a list.
    pub(super) fn list<'a>(&mut self, spot: &Spot<'a>) -> Vec<Spot<'a>> {
        let Json::List(items) = spot.value else {
            self.misfit(spot, "a list", "write it as [...]");
            return Vec::new();
        };
        items
            .iter()
            .enumerate()
            .map(|(n, value)| Spot {
                path: format!("{}[{n}]", spot.path),
                value,
            })
            .collect()
    }

    /// The items of a list that may be left out.
    pub(super) fn optional_list<'a>(&mut self, fields: &Fields<'a>, key: &str) -> Vec<Spot<'a>> {
        match fields.get(key) {
            Some(spot) => self.list(&spot),
            None => Vec::new(),
        }
    }

    /// A text that is not empty.
    pub(super) fn text(&mut self, spot: &Spot<'_>) -> Option<String> {
        match spot.value {
            Json::Text(text) if !text.trim().is_empty() => Some(text.clone()),
            _ => {
                self.misfit(spot, "a name in quotes", "write a name");
                None
            }
        }
    }

    /// A number in a range.
    pub(super) fn number(&mut self, spot: &Spot<'_>, range: &Range) -> Option<f64> {
        let number = match spot.value {
            // Beyond 2^53 the nearest f64 decides on which side of a limit it is.
            Json::Whole(number) => *number as f64,
            Json::Number(number) => *number,
            _ => {
                self.misfit(spot, range.expected(), "write a number");
                return None;
            }
        };
        let mend = if number < range.least {
            format!("raise it to {} or more", shown(range.least))
        } else if number > range.most {
            format!("lower it to {} or less", shown(range.most))
        } else {
            return Some(number);
        };
        self.misfit(spot, range.expected(), mend);
        None
    }

    /// A whole number in a range.
    pub(super) fn count(&mut self, spot: &Spot<'_>, range: &Range) -> Option<u64> {
        let number = self.number(spot, range)?;
        match spot.value {
            Json::Whole(number) => u64::try_from(*number).ok(),
            _ if number.fract() == 0.0 => Some(number as u64),
            _ => {
                let mend = format!("round it to {}", shown(number.round()));
                self.misfit(
                    spot,
                    format!("{} without a fraction", range.expected()),
                    mend,
                );
                None
            }
        }
    }

    /// One of a few words, each with its meaning.
    pub(super) fn word<T: Copy>(&mut self, spot: &Spot<'_>, words: &[(&str, T)]) -> Option<T> {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        if let Json::Text(text) = spot.value {
            if let Some((_, value)) = words.iter().find(|(name, _)| name == text) {
                return Some(*value);
            }
            let mend = match nearest(text, names.iter().copied()) {
                Some(name) => format!("did you mean \"{name}\"?"),
                None => format!("write \"{}\", the usual", names.first().unwrap_or(&"")),
            };
            self.misfit(spot, format!("one of {}", quoted(&names)), mend);
        } else {
            self.misfit(
                spot,
                format!("one of {}", quoted(&names)),
                "write the word in quotes",
            );
        }
        None
    }

    /// The position of a name among names.
    pub(super) fn named(
        &mut self,
        spot: &Spot<'_>,
        names: &BTreeMap<String, u32>,
        kind: &str,
    ) -> Option<u32> {
        let name = self.text(spot)?;
        if let Some(at) = names.get(&name) {
            return Some(*at);
        }
        // After so many misfits nobody reads the near names, which cost a walk
        // over all names each.
        let near = if self.problems.len() < 100 {
            nearest(&name, names.keys().map(String::as_str))
        } else {
            None
        };
        let mend = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("add a {kind} of this name"),
        };
        self.misfit(spot, format!("the name of a {kind}"), mend);
        None
    }
}

/// A value as text, cut where it grows long.
pub(super) fn excerpt(value: &Json) -> String {
    let text = value.to_string();
    if text.chars().count() <= 60 {
        return text;
    }
    let head: String = text.chars().take(56).collect();
    format!("{head} ...")
}

fn listed(keys: &[&str]) -> String {
    let marked: Vec<String> = keys.iter().map(|key| format!("`{key}`")).collect();
    marked.join(", ")
}

fn quoted(words: &[&str]) -> String {
    let marked: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    marked.join(", ")
}

/// The known name that fewest letters part from a misspelt one, if it is near
/// enough to be meant. A solver uses no room of the house, so this one has its
/// own.
pub(super) fn nearest<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let limit = (name.chars().count() / 3).max(1);
    known
        .map(|candidate| (letters_between(name, candidate), candidate))
        .filter(|(apart, _)| *apart <= limit)
        .min_by_key(|(apart, _)| *apart)
        .map(|(_, candidate)| candidate)
}

/// Letters to change, add, drop or swap with their neighbour to get from one
/// word to the other, capitals aside (Damerau 1964, Levenshtein 1966, row by
/// row).
fn letters_between(one: &str, other: &str) -> usize {
    let one: Vec<char> = one.to_lowercase().chars().collect();
    let other: Vec<char> = other.to_lowercase().chars().collect();
    let mut before = Vec::new();
    let mut above: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in other.iter().enumerate() {
            let changed = above[j] + usize::from(a != b);
            let mut fewest = changed.min(above[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == other[j - 1] && one[i - 1] == *b {
                let swapped: usize = before[j - 1];
                fewest = fewest.min(swapped + 1);
            }
            row.push(fewest);
        }
        before = std::mem::replace(&mut above, row);
    }
    above.last().copied().unwrap_or(0)
}
