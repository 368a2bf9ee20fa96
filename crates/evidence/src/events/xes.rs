//! XES (IEEE 1849-2016): traces of events with typed attributes.

use book::Problem;
use quick_xml::events::BytesStart;

use super::xml::{Elements, Part};
use super::{Event, EventLog, not_understood};

/// Reads an XES log; `file` is its name in messages.
///
/// # Errors
/// Where the text is no such log: line and byte, element and attribute, what was
/// found and expected, and what mends it.
pub fn xes(file: &str, text: &str) -> Result<EventLog, Problem> {
    let mut elements = Elements::new(file, text);
    let mut reading = Reading::default();
    while let Some(part) = elements.next()? {
        match part {
            Part::Begin(element) => reading.begin(&elements, &element, false)?,
            Part::Empty(element) => reading.begin(&elements, &element, true)?,
            Part::End(name) => reading.end(&name),
            Part::Text(_) => {}
        }
    }
    if !reading.seen {
        return Err(not_understood(
            file,
            "no element `log`",
            "`<log>` with a `<trace>` for each item and an `<event>` for each step",
            "export the log as XES; name one in OCEL 2.0 .json or .xml instead",
        ));
    }
    Ok(reading.log)
}

/// What was read, and what is being read.
#[derive(Default)]
struct Reading {
    log: EventLog,
    trace: Event,
    finished: Option<String>,
    event: Option<Event>,
    /// Attributes around the place: those within say nothing of the event.
    inside: u32,
    seen: bool,
}

impl Reading {
    fn begin(
        &mut self,
        elements: &Elements<'_>,
        element: &BytesStart<'_>,
        empty: bool,
    ) -> Result<(), Problem> {
        match element.name().0 {
            "log" => self.seen = true,
            "trace" => self.trace = Event::default(),
            "event" => {
                self.event = Some(Event {
                    number: self.log.events.len() as u64 + 1,
                    items: self.trace.items.clone(),
                    product: self.trace.product.clone(),
                    ..Event::default()
                });
                if empty {
                    self.end("event");
                }
            }
            name if is_attribute(name) => {
                if self.inside == 0 {
                    let key = elements.attribute(element, "key")?.unwrap_or_default();
                    let value = elements.attribute(element, "value")?.unwrap_or_default();
                    match &mut self.event {
                        Some(event) => of_event(event, &key, value),
                        None if key == "finished" => self.finished = Some(value),
                        None => of_trace(&mut self.trace, &key, value),
                    }
                }
                self.inside += u32::from(!empty);
            }
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str) {
        match name {
            "event" => self.log.events.extend(self.event.take()),
            "trace" => {
                let item = self.trace.items.pop().unwrap_or_default();
                let finished = self.finished.take().map(|at| (item, at));
                self.log.finished.extend(finished);
                self.trace = Event::default();
            }
            name if is_attribute(name) => self.inside = self.inside.saturating_sub(1),
            _ => {}
        }
    }
}

fn is_attribute(name: &str) -> bool {
    matches!(
        name,
        "string" | "date" | "int" | "float" | "boolean" | "id" | "list"
    )
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
