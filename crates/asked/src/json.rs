//! JSON with nothing lost: order kept, repeated keys refused, places known.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};

use crate::Problem;

/// A JSON value. `serde_json::Value` would keep the last of two equal keys
/// without a word and forget where a syntax error stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Json {
    /// Nothing.
    Null,
    /// True or false.
    Bool(bool),
    /// A number without a fraction.
    Whole(i128),
    /// Any other number.
    Number(f64),
    /// Words in quotes.
    Text(String),
    /// Values in order.
    List(Vec<Json>),
    /// Values by key, in the order written.
    Object(Vec<(String, Json)>),
}

impl fmt::Display for Json {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Null => f.write_str("null"),
            Self::Bool(yes) => write!(f, "{yes}"),
            Self::Whole(number) => write!(f, "{number}"),
            Self::Number(number) => f.write_str(&shown(*number)),
            Self::Text(text) => write!(f, "{text:?}"),
            Self::List(items) => {
                f.write_str("[")?;
                for (n, item) in items.iter().enumerate() {
                    write!(f, "{}{item}", if n > 0 { ", " } else { "" })?;
                }
                f.write_str("]")
            }
            Self::Object(entries) => {
                f.write_str("{")?;
                for (n, (key, value)) in entries.iter().enumerate() {
                    write!(f, "{}{key:?}: {value}", if n > 0 { ", " } else { "" })?;
                }
                f.write_str("}")
            }
        }
    }
}

/// A number as a person would type it: no row of three hundred zeros.
pub fn shown(number: f64) -> String {
    let size = number.abs();
    if size != 0.0 && !(1e-6..1e15).contains(&size) {
        format!("{number:e}")
    } else {
        format!("{number}")
    }
}

/// Reads a text; an error says the path at which the reading stopped.
pub(crate) fn parse(text: &str) -> Result<Json, Problem> {
    let path = RefCell::new(Vec::new());
    let mut reader = serde_json::Deserializer::from_str(text);
    Node { path: &path }
        .deserialize(&mut reader)
        .and_then(|value| reader.end().map(|()| value))
        .map_err(|error| syntax(text, &path.borrow(), &error))
}

fn syntax(text: &str, path: &[Step], error: &serde_json::Error) -> Problem {
    let mut place = String::new();
    for step in path {
        match step {
            Step::Key(key) if place.is_empty() => place.push_str(key),
            Step::Key(key) => {
                place.push('.');
                place.push_str(key);
            }
            Step::Item(n) => place.push_str(&format!("[{n}]")),
        }
    }
    if error.is_data() {
        return Problem {
            path: place,
            found: format!("this key twice, again in line {}", error.line()),
            expected: "each key once".to_owned(),
            mend: "leave one out".to_owned(),
        };
    }
    let line = text
        .lines()
        .nth(error.line().saturating_sub(1))
        .unwrap_or("");
    // The column counts bytes up to and with the one that did not fit.
    let from = (0..=error.column().saturating_sub(1).min(line.len()))
        .rev()
        .find(|at| line.is_char_boundary(*at))
        .unwrap_or(0);
    let rest: String = line[from..].chars().take(24).collect();
    Problem {
        path: place,
        found: if rest.trim().is_empty() {
            "the end of the line".to_owned()
        } else {
            format!("`{}`", rest.trim())
        },
        expected: "JSON".to_owned(),
        mend: error.to_string(),
    }
}

enum Step {
    Key(String),
    Item(usize),
}

/// Reads one value; the shared path is left as it stands when reading fails.
struct Node<'p> {
    path: &'p RefCell<Vec<Step>>,
}

impl Node<'_> {
    fn inside(&self) -> Node<'_> {
        Node { path: self.path }
    }
}

impl<'de> DeserializeSeed<'de> for Node<'_> {
    type Value = Json;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Json, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Node<'_> {
    type Value = Json;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Null)
    }

    fn visit_bool<E>(self, yes: bool) -> Result<Json, E> {
        Ok(Json::Bool(yes))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Json, E> {
        Ok(Json::Whole(number.into()))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Json, E> {
        Ok(Json::Whole(number.into()))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Json, E> {
        Ok(Json::Number(number))
    }

    fn visit_str<E>(self, text: &str) -> Result<Json, E> {
        Ok(Json::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Json, A::Error> {
        let mut items = Vec::new();
        loop {
            self.path.borrow_mut().push(Step::Item(items.len()));
            let item = from.next_element_seed(self.inside())?;
            self.path.borrow_mut().pop();
            match item {
                Some(item) => items.push(item),
                None => return Ok(Json::List(items)),
            }
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Json, A::Error> {
        let mut entries = Vec::new();
        let mut seen = BTreeSet::new();
        while let Some(key) = from.next_key::<String>()? {
            self.path.borrow_mut().push(Step::Key(key.clone()));
            if !seen.insert(key.clone()) {
                return Err(A::Error::custom("a key stands twice"));
            }
            let value = from.next_value_seed(self.inside())?;
            self.path.borrow_mut().pop();
            entries.push((key, value));
        }
        Ok(Json::Object(entries))
    }
}
