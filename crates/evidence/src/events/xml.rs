//! The elements of an XML text one after the other, each misfit with its line.

use book::Problem;
use quick_xml::events::{BytesStart, Event as Xml};
use quick_xml::{Reader, XmlVersion};

use super::not_understood;
use crate::defects::shown;

/// A part of an XML text.
pub(super) enum Part<'a> {
    /// An element begins.
    Begin(BytesStart<'a>),
    /// An element that holds nothing.
    Empty(BytesStart<'a>),
    /// The element of this name ends.
    End(String),
    /// Text; one text may come in several parts.
    Text(String),
}

/// The elements of an XML text.
pub(super) struct Elements<'a> {
    file: &'a str,
    text: &'a str,
    reader: Reader<&'a [u8]>,
    /// Begun and not ended.
    open: Vec<String>,
}

impl<'a> Elements<'a> {
    pub(super) fn new(file: &'a str, text: &'a str) -> Self {
        Self {
            file,
            text,
            reader: Reader::from_str(text),
            open: Vec::new(),
        }
    }

    /// The next part; none at the end of the text.
    pub(super) fn next(&mut self) -> Result<Option<Part<'a>>, Problem> {
        loop {
            let xml = self.reader.read_event();
            let xml = xml.map_err(|error| self.broken(&error.to_string()))?;
            return Ok(Some(match xml {
                Xml::Start(element) => {
                    self.open.push(element.name().0.to_owned());
                    Part::Begin(element)
                }
                Xml::Empty(element) => Part::Empty(element),
                Xml::End(element) => {
                    self.open.pop();
                    Part::End(element.name().0.to_owned())
                }
                Xml::Text(text) => Part::Text(text.xml10_content().into_owned()),
                Xml::CData(text) => Part::Text(text.xml10_content().into_owned()),
                Xml::GeneralRef(name) => {
                    let letter = name.resolve_char_ref();
                    let letter = letter.map_err(|error| self.broken(&error.to_string()))?;
                    let name = name.xml10_content();
                    let known = quick_xml::escape::resolve_predefined_entity(&name);
                    match (letter, known) {
                        (Some(letter), _) => Part::Text(letter.to_string()),
                        (None, Some(known)) => Part::Text(known.to_owned()),
                        (None, None) => {
                            return Err(self.broken(&format!("`&{};`", shown(&name))));
                        }
                    }
                }
                Xml::Eof => return self.end().map(|()| None),
                _ => continue,
            }));
        }
    }

    /// An attribute of an element; none where it has no such.
    pub(super) fn attribute(
        &self,
        element: &BytesStart<'_>,
        name: &str,
    ) -> Result<Option<String>, Problem> {
        for attribute in element.attributes() {
            let attribute =
                attribute.map_err(|error| self.broken_in(element, None, &error.to_string()))?;
            if attribute.key.0 == name {
                let value = attribute
                    .normalized_value(XmlVersion::Implicit1_0)
                    .map_err(|error| self.broken_in(element, Some(name), &error.to_string()))?;
                return Ok(Some(value.into_owned()));
            }
        }
        Ok(None)
    }

    /// The text is over.
    fn end(&self) -> Result<(), Problem> {
        let Some(open) = self.open.last() else {
            return Ok(());
        };
        Err(Problem {
            row: line_at(self.text, self.text.len()),
            ..not_understood(
                self.file,
                &format!("the file ends within an element `{}`", shown(open)),
                &format!("`</{}>` and the rest of the file", shown(open)),
                "the file was cut off: copy it or export it again, whole",
            )
        })
    }

    fn broken(&self, why: &str) -> Problem {
        let at = usize::try_from(self.reader.error_position()).unwrap_or(usize::MAX);
        if at >= self.text.len() && !self.open.is_empty() {
            return match self.end() {
                Err(problem) => problem,
                Ok(()) => self.misfit(at, why),
            };
        }
        self.misfit(at, why)
    }

    fn misfit(&self, at: usize, why: &str) -> Problem {
        let within = self.open.last().map_or_else(String::new, |element| {
            format!(" within element `{}`", shown(element))
        });
        Problem {
            row: line_at(self.text, at),
            ..not_understood(
                self.file,
                &format!("byte {at}{within}: {why}"),
                "sound XML: each element ended, `<` and `&` in texts as `&lt;` and `&amp;`",
                "correct that line, or export the log with another writer of XML",
            )
        }
    }

    /// An attribute that cannot be read, and its name where that much is known.
    fn broken_in(&self, element: &BytesStart<'_>, attribute: Option<&str>, why: &str) -> Problem {
        let at = usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX);
        Problem {
            row: line_at(self.text, at),
            column: attribute.map(str::to_owned),
            ..not_understood(
                self.file,
                &format!(
                    "element `{}`, which ends at byte {at}: {why}",
                    shown(element.name().0)
                ),
                "attributes as name=\"value\", each once, `<` and `&` as `&lt;` and `&amp;`",
                "correct that element",
            )
        }
    }
}

/// The line of a byte, from 1.
pub(super) fn line_at(text: &str, at: usize) -> Option<u32> {
    let before = text.as_bytes().get(..at).unwrap_or(text.as_bytes());
    u32::try_from(memchr::memchr_iter(b'\n', before).count() + 1).ok()
}
