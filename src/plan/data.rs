//! What a plan states, as plain data for expressions: quantities as numbers in base units.

use serde_json::{Map, Value, json};

use super::kind::Kind as Quantities;
use super::lookup::{lookup, schema_of};
use crate::text::{Kind, NodeId, Tree};

/// What a plan states at a path. Quantities are numbers in base units (m, A, V, ohm, W, Hz, C, L, kg, s; a size in mm2; a
/// window as its `low` and `high`), words are words, and what is not stated is missing.
pub fn data(tree: &Tree, path: &str) -> Value {
    tree.node(path).map_or(Value::Null, |node| at(tree, node, path))
}

fn at(tree: &Tree, node: NodeId, path: &str) -> Value {
    let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
    match tree.kind(node) {
        Kind::Map(map) => {
            let entries = map.entries().iter().filter(|entry| !tree.is_null(entry.value));
            Value::Object(entries.map(|entry| (entry.key.clone(), at(tree, entry.value, &below(&entry.key)))).collect())
        }
        Kind::Seq(items) => {
            let items = items.iter().enumerate();
            Value::Array(items.map(|(number, item)| at(tree, *item, &below(&number.to_string()))).collect())
        }
        Kind::Scalar { text, .. } => lookup()
            .kind(path)
            .and_then(|kind| (Quantities::of(kind).measured)(text))
            .unwrap_or_else(|| tree.to_json(node)),
    }
}

/// A thing of the kind that a path leads to, with every key stated: what expressions are tried on.
pub fn specimen(path: &str) -> Value {
    schema_of(path).map_or(Value::Null, |schema| filled(schema, 0))
}

/// Coils nest in coils; deeper than this nothing is filled in.
const DEEPEST: usize = 8;

fn filled(schema: &'static Value, depth: usize) -> Value {
    let schema = super::lookup::referred(schema);
    if depth > DEEPEST {
        return Value::Null;
    }
    if let Some(kind) = schema["x-quantity"].as_str() {
        let example = schema["examples"][0].as_str().unwrap_or_default();
        return (Quantities::of(kind).measured)(example).unwrap_or_else(|| json!("a"));
    }
    if let Some(word) = schema["enum"].get(0) {
        return word.clone();
    }
    // A group of keys may ask besides how many of them stand together.
    if let Some(branches) = schema["anyOf"].as_array().filter(|_| !schema["properties"].is_object()) {
        // The richest way to write it.
        let best = branches
            .iter()
            .max_by_key(|branch| super::lookup::referred(branch)["properties"].as_object().map_or(0, Map::len));
        return best.map_or(Value::Null, |best| filled(best, depth + 1));
    }
    match schema["type"].as_str().or_else(|| schema["type"][0].as_str()) {
        Some("boolean") => json!(true),
        Some("integer") => json!(1),
        Some("number") => json!(1.0),
        Some("array") => json!([filled(&schema["items"], depth + 1)]),
        Some("object") => Value::Object(keys(schema, depth)),
        _ => json!("a"),
    }
}

fn keys(schema: &'static Value, depth: usize) -> Map<String, Value> {
    let stated = schema["properties"].as_object().into_iter().flatten();
    let mut map: Map<String, Value> = stated.map(|(key, value)| (key.clone(), filled(value, depth + 1))).collect();
    if schema["additionalProperties"].is_object() {
        // Places have names of their own; other things have any.
        let names = super::lookup::referred(&schema["propertyNames"])["enum"].as_array();
        let names: Vec<&str> = names.into_iter().flatten().filter_map(Value::as_str).collect();
        let names = if names.is_empty() { vec!["any"] } else { names };
        for name in names {
            map.insert(name.to_owned(), filled(&schema["additionalProperties"], depth + 1));
        }
    }
    map
}
