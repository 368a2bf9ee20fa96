//! XES (IEEE 1849-2016): traces of events with typed attributes.

use quick_xml::events::{BytesStart, Event as Xml};
use quick_xml::{Reader, XmlVersion};

use super::{Event, EventLog};

/// An attribute of an XML element; none where it has no such.
pub(super) fn attribute(element: &BytesStart<'_>, name: &str) -> Result<Option<String>, String> {
    for attribute in element.attributes() {
        let attribute = attribute.map_err(|error| error.to_string())?;
        if attribute.key.0 == name {
            let value = attribute
                .normalized_value(XmlVersion::Implicit1_0)
                .map_err(|error| error.to_string())?;
            return Ok(Some(value.into_owned()));
        }
    }
    Ok(None)
}

/// Reads an XES log.
///
/// # Errors
/// Why the text is no such log.
pub fn xes(text: &str) -> Result<EventLog, String> {
    let mut reader = Reader::from_str(text);
    let mut log = EventLog::default();
    let mut trace = Event::default();
    let mut finished = None;
    let mut event: Option<Event> = None;
    let mut inside = 0;
    let mut seen = false;
    loop {
        let xml = reader
            .read_event()
            .map_err(|error| format!("{error} at byte {}", reader.error_position()))?;
        let (element, empty) = match &xml {
            Xml::Start(element) => (element, false),
            Xml::Empty(element) => (element, true),
            Xml::End(element) => {
                match element.name().0 {
                    "event" => log.events.extend(event.take()),
                    "trace" => {
                        let item = trace.items.pop().unwrap_or_default();
                        log.finished.extend(finished.take().map(|at| (item, at)));
                        trace = Event::default();
                    }
                    "string" | "date" | "int" | "float" | "boolean" | "id" | "list" => inside -= 1,
                    _ => {}
                }
                continue;
            }
            Xml::Eof => break,
            _ => continue,
        };
        match element.name().0 {
            "log" => seen = true,
            "trace" => trace = Event::default(),
            "event" => {
                let number = log.events.len() as u64 + 1;
                let items = trace.items.clone();
                event = Some(Event {
                    number,
                    items,
                    product: trace.product.clone(),
                    ..Event::default()
                });
            }
            "string" | "date" | "int" | "float" | "boolean" | "id" | "list" => {
                // Attributes of attributes say nothing of the event.
                if inside == 0 {
                    let key = attribute(element, "key")?.unwrap_or_default();
                    let value = attribute(element, "value")?.unwrap_or_default();
                    match &mut event {
                        Some(event) => of_event(event, &key, value),
                        None if key == "finished" => finished = Some(value),
                        None => of_trace(&mut trace, &key, value),
                    }
                }
                inside += i32::from(!empty);
            }
            _ => {}
        }
    }
    if !seen {
        return Err("no element `log`".to_owned());
    }
    Ok(log)
}

fn of_trace(trace: &mut Event, key: &str, value: String) {
    match key {
        "concept:name" => trace.items = vec![value],
        "product" => trace.product = value,
        _ => {}
    }
}

fn of_event(event: &mut Event, key: &str, value: String) {
    let [station, resource, name] = &mut event.stations;
    match key {
        "time:timestamp" => event.time = value,
        "lifecycle:transition" => event.lifecycle = value,
        "station" => *station = value,
        "org:resource" | "resource" => *resource = value,
        "concept:name" => *name = value,
        "unit" => event.unit = value,
        "product" => event.product = value,
        _ => {}
    }
}
