//! OCEL 2.0: events and the objects they happen to, as JSON and as XML.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event as Xml};
use serde::Deserialize;

use super::xes::attribute;
use super::{Event, EventLog};

#[derive(Deserialize)]
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
    value: serde_json::Value,
}

#[derive(Deserialize)]
struct Relationship {
    #[serde(rename = "objectId")]
    object: String,
}

/// Reads OCEL 2.0 JSON.
///
/// # Errors
/// Why the text is no such log.
pub fn json(text: &str) -> Result<EventLog, String> {
    let log: Log = serde_json::from_str(text).map_err(|error| error.to_string())?;
    Ok(of(&log))
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

/// Reads OCEL 2.0 XML.
///
/// # Errors
/// Why the text is no such log.
pub fn xml(text: &str) -> Result<EventLog, String> {
    let mut reader = Reader::from_str(text);
    let mut log = Log {
        objects: Vec::new(),
        events: Vec::new(),
    };
    let mut thing: Option<Thing> = None;
    let mut name: Option<String> = None;
    let mut seen = false;
    loop {
        let xml = reader
            .read_event()
            .map_err(|error| format!("{error} at byte {}", reader.error_position()))?;
        match &xml {
            Xml::Eof => break,
            Xml::Start(element) | Xml::Empty(element) => {
                let empty = matches!(xml, Xml::Empty(_));
                match element.name().0 {
                    "log" => seen = true,
                    "object" | "event" => {
                        let found = Thing::of(element)?;
                        if empty {
                            put(&mut log, element.name().0, found);
                        } else {
                            thing = Some(found);
                        }
                    }
                    "relationship" => {
                        if let (Some(thing), Some(object)) =
                            (&mut thing, attribute(element, "object-id")?)
                        {
                            thing.relationships.push(Relationship { object });
                        }
                    }
                    "attribute" => name = attribute(element, "name")?.filter(|_| !empty),
                    _ => {}
                }
            }
            Xml::Text(text) => {
                if let (Some(name), Some(thing)) = (&name, &mut thing) {
                    thing.says(name, text.xml10_content().trim());
                }
            }
            Xml::End(element) => match element.name().0 {
                kind @ ("object" | "event") => {
                    if let Some(found) = thing.take() {
                        put(&mut log, kind, found);
                    }
                }
                "attribute" => name = None,
                _ => {}
            },
            _ => {}
        }
    }
    if !seen {
        return Err("no element `log`".to_owned());
    }
    Ok(of(&log))
}

impl Thing {
    /// Of its element; what stands within comes later.
    fn of(element: &BytesStart<'_>) -> Result<Self, String> {
        let text = |name: &str| attribute(element, name).map(Option::unwrap_or_default);
        Ok(Self {
            id: text("id")?,
            kind: text("type")?,
            time: text("time")?,
            ..Self::default()
        })
    }

    fn says(&mut self, name: &str, value: &str) {
        self.attributes.push(Attribute {
            name: name.to_owned(),
            value: serde_json::Value::String(value.to_owned()),
        });
    }
}

fn put(log: &mut Log, kind: &str, thing: Thing) {
    // Types are declared by elements of other names, so an object is an object.
    if kind == "event" {
        log.events.push(thing);
    } else {
        log.objects.push(thing);
    }
}
