//! Walks a JSON value and collects every misfit with its path.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use units::nearest;

use crate::Problem;
use crate::json::{Json, shown};

/// The longest time a question may name: about thirty years. A longer time is
/// a slip of the pen.
pub const LONGEST_S: f64 = 1e9;

/// A value and where it stands.
#[derive(Clone)]
pub struct Spot<'a> {
    /// The path from the whole text: `stations[2].stops[0]`.
    pub path: String,
    /// What stands there.
    pub value: &'a Json,
}

/// The entries of an object whose keys have been checked.
pub struct Fields<'a> {
    path: String,
    entries: &'a [(String, Json)],
}

impl<'a> Fields<'a> {
    /// The value under a key, if it stands there.
    pub fn get(&self, key: &str) -> Option<Spot<'a>> {
        let (_, value) = self.entries.iter().find(|(found, _)| found == key)?;
        Some(Spot {
            path: self.path_of(key),
            value,
        })
    }

    /// The path that a key has or would have.
    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }
}

/// Numbers that a key may hold: what they count and the legal range.
pub struct Range {
    /// Names the number with its unit: `seconds`, `a share`.
    pub what: &'static str,
    /// The least legal number.
    pub least: f64,
    /// The largest legal number.
    pub most: f64,
}

impl Range {
    /// Seconds, none included.
    pub const SECONDS: Self = Self {
        what: "seconds",
        least: 0.0,
        most: LONGEST_S,
    };

    /// A time that must pass: a microsecond is the least that an integer clock
    /// tells apart with room to spare.
    pub const PASSING_SECONDS: Self = Self {
        what: "seconds",
        least: 1e-6,
        most: LONGEST_S,
    };

    /// A share from none to all.
    pub const SHARE: Self = Self {
        what: "a share",
        least: 0.0,
        most: 1.0,
    };

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
pub struct Cursor {
    /// What did not fit so far, in the order in which it was met.
    pub problems: Vec<Problem>,
}

impl Cursor {
    /// Notes a misfit.
    pub fn refuse(
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

    /// Notes that what stands at a spot is not what was expected.
    pub fn misfit(
        &mut self,
        spot: &Spot<'_>,
        expected: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.refuse(&spot.path, excerpt(spot.value), expected, mend);
    }

    /// An object with no keys but these.
    pub fn object<'a>(&mut self, spot: &Spot<'a>, keys: &[&str]) -> Option<Fields<'a>> {
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
    pub fn required<'a>(&mut self, fields: &Fields<'a>, key: &str) -> Option<Spot<'a>> {
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
    pub fn list<'a>(&mut self, spot: &Spot<'a>) -> Vec<Spot<'a>> {
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
    pub fn optional_list<'a>(&mut self, fields: &Fields<'a>, key: &str) -> Vec<Spot<'a>> {
        match fields.get(key) {
            Some(spot) => self.list(&spot),
            None => Vec::new(),
        }
    }

    /// A text that is not empty.
    pub fn text(&mut self, spot: &Spot<'_>) -> Option<String> {
        match spot.value {
            Json::Text(text) if !text.trim().is_empty() => Some(text.clone()),
            _ => {
                self.misfit(spot, "a name in quotes", "write a name");
                None
            }
        }
    }

    /// A number in a range.
    pub fn number(&mut self, spot: &Spot<'_>, range: &Range) -> Option<f64> {
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
    pub fn count(&mut self, spot: &Spot<'_>, range: &Range) -> Option<u64> {
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

    /// A number that may be left out.
    pub fn number_or(
        &mut self,
        fields: &Fields<'_>,
        key: &str,
        usual: f64,
        range: &Range,
    ) -> Option<f64> {
        match fields.get(key) {
            Some(spot) => self.number(&spot, range),
            None => Some(usual),
        }
    }

    /// A whole number that may be left out.
    pub fn count_or(
        &mut self,
        fields: &Fields<'_>,
        key: &str,
        usual: u32,
        legal: RangeInclusive<u32>,
    ) -> Option<u32> {
        let Some(spot) = fields.get(key) else {
            return Some(usual);
        };
        let range = Range {
            what: "a whole number",
            least: f64::from(*legal.start()),
            most: f64::from(*legal.end()),
        };
        self.count(&spot, &range)
            .and_then(|number| u32::try_from(number).ok())
    }

    /// Yes or no.
    pub fn flag(&mut self, spot: &Spot<'_>) -> Option<bool> {
        if let Json::Bool(yes) = spot.value {
            return Some(*yes);
        }
        self.misfit(spot, "true or false", "write true");
        None
    }

    /// Yes or no, no where it is left out.
    pub fn flag_or_no(&mut self, fields: &Fields<'_>, key: &str) -> Option<bool> {
        match fields.get(key) {
            Some(spot) => self.flag(&spot),
            None => Some(false),
        }
    }

    /// One of a few words, each with its meaning.
    pub fn word<T: Copy>(&mut self, spot: &Spot<'_>, words: &[(&str, T)]) -> Option<T> {
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

    /// The names of a list's entries with their positions; a name that stands
    /// twice is refused. `list` is the key of the list.
    pub fn own_names(&mut self, spots: &[Spot<'_>], list: &str) -> BTreeMap<String, u32> {
        let mut names = BTreeMap::new();
        for (at, spot) in (0_u32..).zip(spots) {
            let Json::Object(entries) = spot.value else {
                continue;
            };
            let Some((_, Json::Text(name))) = entries.iter().find(|(key, _)| key == "name") else {
                continue;
            };
            if let Some(first) = names.get(name) {
                self.refuse(
                    format!("{}.name", spot.path),
                    format!("{name:?}, the name of {list}[{first}] too"),
                    "a name of its own",
                    format!("write \"{name} 2\""),
                );
            } else {
                names.insert(name.clone(), at);
            }
        }
        names
    }

    /// The position of a name among names.
    pub fn named(
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
            None => format!("add {} of this name", with_article(kind)),
        };
        self.misfit(spot, format!("the name of {}", with_article(kind)), mend);
        None
    }
}

/// A value as text, cut where it grows long.
fn excerpt(value: &Json) -> String {
    let text = value.to_string();
    if text.chars().count() <= 60 {
        return text;
    }
    let head: String = text.chars().take(56).collect();
    format!("{head} ...")
}

/// A word with "a" or "an" before it, as its first letter sounds in the words
/// that things are called by here.
fn with_article(word: &str) -> String {
    let sounds = |letter: char| "aeio".contains(letter.to_ascii_lowercase());
    let article = if word.starts_with(sounds) { "an" } else { "a" };
    format!("{article} {word}")
}

fn listed(keys: &[&str]) -> String {
    let marked: Vec<String> = keys.iter().map(|key| format!("`{key}`")).collect();
    marked.join(", ")
}

fn quoted(words: &[&str]) -> String {
    let marked: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    marked.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(kind: &str) -> (String, String) {
        let value = Json::Text("sun roof".into());
        let spot = Spot {
            path: "rules[0].option".into(),
            value: &value,
        };
        let mut cursor = Cursor::default();
        assert_eq!(cursor.named(&spot, &BTreeMap::new(), kind), None);
        let problem = cursor.problems.swap_remove(0);
        (problem.expected, problem.mend)
    }

    #[test]
    fn what_is_named_wrongly_is_asked_for_with_its_right_article() {
        for (kind, called) in [
            ("option", "an option"),
            ("class", "a class"),
            ("unit", "a unit"),
            ("kind in `by`", "a kind in `by`"),
        ] {
            let (expected, mend) = refused(kind);
            assert_eq!(expected, format!("the name of {called}"));
            assert_eq!(mend, format!("add {called} of this name"));
        }
    }
}
