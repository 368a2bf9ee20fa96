//! The page's types, written from the same schemas.

use std::fmt::Write as _;

use serde_json::{Map, Value};

use super::schemas::{self, PLACE};

const HEAD: &str = "\
// Made from the Rust types by `cargo run -p linewright-desk --features schema
// --example contract`; changes belong there. No figure is computed here.

/** The number of a variant, a revision or a job. */
export type Id = number;
";

// Writing to a `String` cannot fail, so the results of `write!` are dropped.

/// All types as the text of a TypeScript module.
pub fn types() -> String {
    let mut text = HEAD.to_owned();
    for (name, schema) in schemas::all() {
        text.push('\n');
        doc(&mut text, &schema, "");
        if schema["properties"].is_object() && schema["oneOf"].is_null() {
            let _ = writeln!(text, "export interface {name} {}", object(&schema, ""));
        } else {
            let _ = writeln!(text, "export type {name} = {};", kind(&schema, ""));
        }
    }
    text
}

fn doc(text: &mut String, schema: &Value, indent: &str) {
    let Some(about) = schema["description"].as_str() else {
        return;
    };
    let lines: Vec<&str> = about.lines().map(str::trim).collect();
    match lines.as_slice() {
        [one] => {
            let _ = writeln!(text, "{indent}/** {one} */");
        }
        several => {
            let _ = writeln!(text, "{indent}/**");
            for line in several {
                let line = format!("{indent} * {line}");
                let _ = writeln!(text, "{}", line.trim_end());
            }
            let _ = writeln!(text, "{indent} */");
        }
    }
}

fn object(schema: &Value, indent: &str) -> String {
    let inner = format!("{indent}  ");
    let nothing = Map::new();
    let properties = schema["properties"].as_object().unwrap_or(&nothing);
    let needed = schema["required"].as_array();
    let mut text = "{\n".to_owned();
    for (name, property) in properties {
        let is_needed = needed.is_some_and(|needed| needed.iter().any(|n| n == name));
        doc(&mut text, property, &inner);
        let mark = if is_needed { "" } else { "?" };
        let _ = writeln!(text, "{inner}{name}{mark}: {};", kind(property, &inner));
    }
    text + indent + "}"
}

fn kind(schema: &Value, indent: &str) -> String {
    if let Some(name) = schema["$ref"]
        .as_str()
        .and_then(|place| place.strip_prefix(PLACE))
    {
        return name.to_owned();
    }
    for several in ["oneOf", "anyOf"] {
        if let Some(variants) = schema[several].as_array() {
            return union(variants.iter().map(|variant| kind(variant, indent)));
        }
    }
    if !schema["const"].is_null() {
        return schema["const"].to_string();
    }
    if let Some(words) = schema["enum"].as_array() {
        return union(words.iter().map(ToString::to_string));
    }
    match &schema["type"] {
        Value::Array(kinds) => union(kinds.iter().map(|one| {
            let mut single = schema.clone();
            single["type"] = one.clone();
            kind(&single, indent)
        })),
        Value::String(one) => plain(one, schema, indent),
        _ => "unknown".to_owned(),
    }
}

fn plain(one: &str, schema: &Value, indent: &str) -> String {
    match one {
        "null" => "null".to_owned(),
        "boolean" => "boolean".to_owned(),
        "integer" | "number" => "number".to_owned(),
        "string" => "string".to_owned(),
        "array" => match schema["prefixItems"].as_array() {
            Some(items) => {
                let items: Vec<String> = items.iter().map(|item| kind(item, indent)).collect();
                format!("[{}]", items.join(", "))
            }
            None => {
                let item = kind(&schema["items"], indent);
                if item.contains(" | ") {
                    format!("({item})[]")
                } else {
                    format!("{item}[]")
                }
            }
        },
        "object" if schema["properties"].is_object() => object(schema, indent),
        "object" if schema["additionalProperties"].is_object() => {
            format!(
                "Record<string, {}>",
                kind(&schema["additionalProperties"], indent)
            )
        }
        _ => "unknown".to_owned(),
    }
}

/// A union whose members are named once each, in their order.
fn union(members: impl Iterator<Item = String>) -> String {
    let mut seen: Vec<String> = Vec::new();
    for member in members {
        if !seen.contains(&member) {
            seen.push(member);
        }
    }
    seen.join(" | ")
}
