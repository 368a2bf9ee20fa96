//! Requests made from the interface's own description, right and wrong ones:
//! whatever is asked, the desk answers in words and never breaks off.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

mod support;

use serde_json::{Map, Value, json};
use support::Served;

const REQUESTS: usize = 600;

/// Luck of its own: the same requests every time (xorshift64, Marsaglia,
/// Journal of Statistical Software 8, 2003).
struct Luck(u64);

impl Luck {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most as u64) as usize
    }

    fn one<'t, T>(&mut self, of: &'t [T]) -> &'t T {
        &of[self.below(of.len())]
    }

    fn text(&mut self) -> String {
        let words = [
            "", "stations", "cycle_s", "1", "60,5", "framing", "2.1", "\u{0}", "..", "ä\n\"",
            "a b", "=1+1", "<script>", "nan", "-1", "preview", "😀",
        ];
        match self.below(20) {
            0 => "x".repeat(40_000),
            _ => (*self.one(&words)).to_owned(),
        }
    }

    fn anything(&mut self, depth: usize) -> Value {
        match self.below(if depth == 0 { 5 } else { 7 }) {
            0 => Value::Null,
            1 => json!(self.below(2) == 0),
            2 => self
                .one(&[
                    json!(0),
                    json!(-1),
                    json!(1e300),
                    json!(1.5),
                    json!(u64::MAX),
                ])
                .clone(),
            3 | 4 => json!(self.text()),
            5 => (0..self.below(4))
                .map(|_| self.anything(depth - 1))
                .collect(),
            _ => {
                let fields = (0..self.below(4)).map(|_| (self.text(), self.anything(depth - 1)));
                Value::Object(fields.collect::<Map<_, _>>())
            }
        }
    }

    /// A value of the schema, with something else in it now and then.
    fn value(&mut self, schema: &Value, all: &Value, depth: usize) -> Value {
        if self.below(25) == 0 || depth == 0 {
            return self.anything(2);
        }
        if let Some(place) = schema["$ref"].as_str() {
            let named = all.pointer(&place[1..]).expect("a type of the description");
            return self.value(named, all, depth - 1);
        }
        for several in ["oneOf", "anyOf", "enum"] {
            if let Some(variants) = schema[several].as_array() {
                let chosen = self.one(variants).clone();
                let is_value = several == "enum";
                return if is_value {
                    chosen
                } else {
                    self.value(&chosen, all, depth - 1)
                };
            }
        }
        if !schema["const"].is_null() {
            return schema["const"].clone();
        }
        let kind = match &schema["type"] {
            Value::Array(kinds) => self.one(kinds).clone(),
            one => one.clone(),
        };
        match kind.as_str().unwrap_or("") {
            "boolean" => json!(self.below(2) == 0),
            "integer" => json!(self.below(6)),
            "number" => json!(self.below(100) as f64 / 8.0),
            "string" => json!(self.text()),
            "array" => {
                let count = self.below(4);
                (0..count)
                    .map(|_| self.value(&schema["items"], all, depth - 1))
                    .collect()
            }
            "object" => self.object(schema, all, depth),
            _ => Value::Null,
        }
    }

    fn object(&mut self, schema: &Value, all: &Value, depth: usize) -> Value {
        let mut fields = Map::new();
        if let Some(properties) = schema["properties"].as_object() {
            for (name, property) in properties {
                if self.below(12) > 0 {
                    fields.insert(name.clone(), self.value(property, all, depth - 1));
                }
            }
        } else {
            for _ in 0..self.below(3) {
                let name = self.text();
                fields.insert(
                    name,
                    self.value(&schema["additionalProperties"], all, depth - 1),
                );
            }
        }
        Value::Object(fields)
    }
}

fn encoded(text: &str) -> String {
    text.bytes().map(|byte| format!("%{byte:02X}")).collect()
}

fn address(luck: &mut Luck, path: &str, parameters: &Value) -> String {
    let mut path = path.to_owned();
    let mut query = Vec::new();
    for parameter in parameters.as_array().into_iter().flatten() {
        let name = parameter["name"].as_str().expect("a name");
        let value = match luck.below(5) {
            0 => luck.text().chars().take(200).collect(),
            _ => match parameter["schema"]["enum"].as_array() {
                Some(words) => luck.one(words).as_str().expect("a word").to_owned(),
                None => (1 + luck.below(6)).to_string(),
            },
        };
        if parameter["in"] == "path" {
            path = path.replace(&format!("{{{name}}}"), &encoded(&value));
        } else if luck.below(6) > 0 {
            query.push(format!("{name}={}", encoded(&value)));
        }
    }
    if query.is_empty() {
        return path;
    }
    format!("{path}?{}", query.join("&"))
}

#[test]
fn no_request_breaks_the_desk() {
    let desk = Served::demo();
    let description = desk.get("/api/openapi.json").good();
    let mut operations = Vec::new();
    for (path, methods) in description["paths"].as_object().expect("paths") {
        for (method, operation) in methods.as_object().expect("methods") {
            // Each try of a token takes its time by intent, and a stream lasts
            // as long as its run.
            if !path.contains("/log") && !path.ends_with("/events") {
                operations.push((path, method.to_uppercase(), operation));
            }
        }
    }
    let mut luck = Luck(0x9e37_79b9_7f4a_7c15);
    let mut good = 0;
    for _ in 0..REQUESTS {
        let (path, method, operation) = luck.one(&operations).clone();
        let address = address(&mut luck, path, &operation["parameters"]);
        let content = operation["requestBody"]["content"].as_object();
        let (kind, body) = match content.and_then(|content| content.iter().next_back()) {
            Some((kind, media)) if kind == "application/json" => {
                let body = luck.value(&media["schema"], &description, 8).to_string();
                let cut = if luck.below(30) == 0 {
                    body.len() / 2
                } else {
                    body.len()
                };
                let whole = (0..=cut).rev().find(|at| body.is_char_boundary(*at));
                (kind.clone(), body[..whole.unwrap_or(0)].to_owned())
            }
            Some((kind, _)) => (kind.clone(), luck.text()),
            None => (String::new(), String::new()),
        };
        let headers = [("content-type", kind.as_str())];
        let headers = if kind.is_empty() {
            &[][..]
        } else {
            &headers[..]
        };
        let reply = desk.ask(&method, &address, headers, body.as_bytes());
        let told = format!(
            "{method} {address} {body:.300}: {} {:.300}",
            reply.status,
            reply.text()
        );
        assert!(reply.status < 500 || reply.code() == "queue-full", "{told}");
        if (200..300).contains(&reply.status) {
            good += 1;
            let known = &operation["responses"][reply.status.to_string()];
            assert!(known.is_object(), "a status that nobody described: {told}");
        } else {
            let error = &reply.json()["error"];
            for part in ["code", "message", "mend"] {
                assert!(
                    error[part].as_str().is_some_and(|text| !text.is_empty()),
                    "{told}"
                );
            }
        }
    }
    assert!(good > REQUESTS / 10, "{good} requests made sense");
}
