//! OCEL 2.0: events and the objects they happen to, as JSON and as XML.

use book::Problem;
use quick_xml::events::BytesStart;
use serde::Deserialize;
use serde_json::Value;
use serde_json::error::Category;

use super::xml::{Elements, Part};
use super::{Event, EventLog, not_understood};
use crate::defects::shown;

#[derive(Default, Deserialize)]
struct Log {
    #[serde(default)]
    objects: Vec<Thing>,
    events: Vec<Thing>,
}

/// An object or an event.
#[derive(Default, Deserialize)]
struct Thing {
    #[serde(default)]
    id: String,
    #[serde(default, rename = "type")]
    kind: String,
    #[serde(default)]
    time: String,
    #[serde(default)]
    attributes: Vec<Attribute>,
    #[serde(default)]
    relationships: Vec<Relationship>,
}

#[derive(Deserialize)]
struct Attribute {
    name: String,
    value: Value,
}

#[derive(Deserialize)]
struct Relationship {
    #[serde(rename = "objectId")]
    object: String,
}

/// Reads OCEL 2.0 JSON; `file` is its name in messages.
///
/// # Errors
/// Where the text is no such log: line, object or event and its member, what was
/// found and expected, and what mends it.
pub fn json(file: &str, text: &str) -> Result<EventLog, Problem> {
    let log: Log = serde_json::from_str(text).map_err(|error| no_json(file, text, &error))?;
    Ok(of(&log))
}

/// Why a text is no log in JSON.
fn no_json(file: &str, text: &str, error: &serde_json::Error) -> Problem {
    let (expected, mend) = match error.classify() {
        Category::Eof => (
            "the rest of the file",
            "the file was cut off: copy it or export it again, whole",
        ),
        Category::Data => (
            "`events` and `objects`, each with `id`, `type`, `attributes` (`name`, `value`) and \
             `relationships` (`objectId`), events with `time`",
            "export the log as OCEL 2.0, or correct that place",
        ),
        Category::Syntax | Category::Io => (
            "sound JSON in UTF-8",
            "correct that line, or export the log with another writer of JSON",
        ),
    };
    // Only a reader that has failed looks for the thing it failed at.
    let place = misfit_of_thing(text).unwrap_or_else(|| error.to_string());
    Problem {
        row: u32::try_from(error.line()).ok().filter(|line| *line > 0),
        ..not_understood(file, &place, expected, mend)
    }
}

/// The first object or event that is none, and why.
fn misfit_of_thing(text: &str) -> Option<String> {
    let whole: Value = serde_json::from_str(text).ok()?;
    let lists = ["objects", "events"].into_iter();
    let things = lists.flat_map(|list| {
        let things = whole.get(list).and_then(Value::as_array).into_iter();
        things
            .flatten()
            .enumerate()
            .map(move |(n, thing)| (list, n, thing))
    });
    let mut misfits = things.filter_map(|(list, n, thing)| {
        let why = Thing::deserialize(thing).err()?;
        let id = thing.get("id").and_then(Value::as_str);
        let name = id.map_or_else(String::new, |id| format!(" `{}`", shown(id)));
        let within = ["attributes", "relationships"]
            .into_iter()
            .find_map(|member| {
                let parts = thing.get(member)?.as_array()?;
                let is_none = |part: &Value| match member {
                    "attributes" => Attribute::deserialize(part).is_err(),
                    _ => Relationship::deserialize(part).is_err(),
                };
                Some(format!(", {member}[{}]", parts.iter().position(is_none)?))
            });
        Some(format!(
            "{list}[{n}]{name}{}: {why}",
            within.unwrap_or_default()
        ))
    });
    misfits.next()
}

fn of(log: &Log) -> EventLog {
    let event = |(thing, number): (&Thing, u64)| {
        let text = |name: &str| thing.text(name).unwrap_or_default();
        let lifecycle = thing.text("lifecycle");
        Event {
            number,
            items: thing.objects().collect(),
            stations: [
                text("station"),
                thing
                    .text("resource")
                    .unwrap_or_else(|| text("org:resource")),
                thing.kind.clone(),
            ],
            unit: text("unit"),
            time: thing.time.clone(),
            lifecycle: lifecycle.unwrap_or_else(|| text("lifecycle:transition")),
            product: text("product"),
        }
    };
    let parts = log.objects.iter().flat_map(|object| {
        let parts = object.objects();
        parts.map(|part| (object.id.clone(), part))
    });
    let kind = |object: &Thing| {
        let product = object.text("product");
        (
            object.id.clone(),
            product.unwrap_or_else(|| object.kind.clone()),
        )
    };
    let finished = |object: &Thing| Some((object.id.clone(), object.text("finished")?));
    EventLog {
        events: log.events.iter().zip(1..).map(event).collect(),
        parts: parts.collect(),
        kinds: log.objects.iter().map(kind).collect(),
        finished: log.objects.iter().filter_map(finished).collect(),
    }
}

impl Thing {
    /// The last value of an attribute: those of objects change with time.
    fn text(&self, name: &str) -> Option<String> {
        let found = self.attributes.iter().rfind(|a| a.name == name)?;
        let text = found.value.as_str();
        Some(text.map_or_else(|| found.value.to_string(), str::to_owned))
    }

    fn objects(&self) -> impl Iterator<Item = String> {
        self.relationships.iter().map(|r| r.object.clone())
    }
}

/// Reads OCEL 2.0 XML; `file` is its name in messages.
///
/// # Errors
/// Where the text is no such log: line and byte, element and attribute, what was
/// found and expected, and what mends it.
pub fn xml(file: &str, text: &str) -> Result<EventLog, Problem> {
    let mut elements = Elements::new(file, text);
    let mut reading = Reading::default();
    while let Some(part) = elements.next()? {
        match part {
            Part::Begin(element) => reading.begin(&elements, &element)?,
            Part::Empty(element) => {
                reading.begin(&elements, &element)?;
                reading.end(element.name().0);
            }
            Part::End(name) => reading.end(&name),
            Part::Text(text) => {
                if let Some((_, value)) = &mut reading.attribute {
                    *value += &text;
                }
            }
        }
    }
    if !reading.seen {
        return Err(not_understood(
            file,
            "no element `log`",
            "`<log>` with `<objects>` and `<events>`",
            "export the log as OCEL 2.0; name one in XES .xes instead",
        ));
    }
    Ok(of(&reading.log))
}

/// What was read, and what is being read.
#[derive(Default)]
struct Reading {
    log: Log,
    thing: Option<Thing>,
    /// Its attribute's name, and the text so far.
    attribute: Option<(String, String)>,
    seen: bool,
}

impl Reading {
    fn begin(&mut self, elements: &Elements<'_>, element: &BytesStart<'_>) -> Result<(), Problem> {
        match element.name().0 {
            "log" => self.seen = true,
            "object" | "event" => {
                let text = |name: &str| {
                    let found = elements.attribute(element, name);
                    found.map(Option::unwrap_or_default)
                };
                self.thing = Some(Thing {
                    id: text("id")?,
                    kind: text("type")?,
                    time: text("time")?,
                    ..Thing::default()
                });
            }
            "relationship" => {
                let object = elements.attribute(element, "object-id")?;
                if let (Some(thing), Some(object)) = (&mut self.thing, object) {
                    thing.relationships.push(Relationship { object });
                }
            }
            "attribute" => {
                let name = elements.attribute(element, "name")?;
                self.attribute = name.map(|name| (name, String::new()));
            }
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str) {
        match name {
            // Types are declared by elements of other names, so an object is an object.
            "object" => self.log.objects.extend(self.thing.take()),
            "event" => self.log.events.extend(self.thing.take()),
            "attribute" => {
                let told = self.attribute.take();
                if let (Some((name, value)), Some(thing)) = (told, &mut self.thing)
                    && !value.trim().is_empty()
                {
                    thing.says(&name, value.trim());
                }
            }
            _ => {}
        }
    }
}

impl Thing {
    fn says(&mut self, name: &str, value: &str) {
        self.attributes.push(Attribute {
            name: name.to_owned(),
            value: Value::String(value.to_owned()),
        });
    }
}
