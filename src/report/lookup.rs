//! What a key of a plan means, in the words of the plan's schema.

use std::sync::LazyLock;

use serde_json::Value;

static SCHEMA: LazyLock<Value> = LazyLock::new(crate::plan::schema);

/// The first sentence that the schema says about the key at a path, without its full stop.
pub fn about(path: &str) -> Option<String> {
    let mut at: Vec<&Value> = vec![&SCHEMA];
    for segment in path.split('.') {
        at = at.into_iter().flat_map(|schema| below(schema, segment)).collect();
    }
    let text = at.into_iter().find_map(described)?;
    let text = text.split("\n\n").next().unwrap_or(text);
    let end = text.find(". ").unwrap_or(text.len());
    Some(text[..end].trim_end_matches('.').replace('\n', " "))
}

/// What a schema says about itself, or the type it refers to does.
fn described(schema: &Value) -> Option<&str> {
    schema.get("description").and_then(Value::as_str)
}

/// The schemas of a key or an item, in every way the value may be written.
fn below<'a>(schema: &'a Value, segment: &str) -> Vec<&'a Value> {
    let mut found = Vec::new();
    for schema in branches(schema) {
        let named = schema.get("properties").and_then(|keys| keys.get(segment));
        let other = schema.get("additionalProperties").filter(|other| other.is_object());
        let item = schema.get("items").filter(|_| segment.bytes().all(|byte| byte.is_ascii_digit()));
        found.extend(named.or(other).or(item));
    }
    found
}

/// A schema with the types it refers to and the choices it leaves.
fn branches(schema: &Value) -> Vec<&Value> {
    let mut found = vec![schema];
    let mut at = 0;
    while let Some(schema) = found.get(at).copied() {
        at += 1;
        let referred = schema.get("$ref").and_then(Value::as_str);
        found.extend(referred.and_then(|path| SCHEMA.pointer(path.trim_start_matches('#'))));
        for choice in ["anyOf", "oneOf", "allOf"] {
            found.extend(schema.get(choice).and_then(Value::as_array).into_iter().flatten());
        }
        if found.len() > 64 {
            break;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::about;

    #[test]
    fn keys_are_found_by_their_path() {
        for path in ["vehicle.body", "wires.main.insulation", "wires.main.fuse.rating", "amplifiers.amp.rated.0.load"] {
            let words = about(path).unwrap_or_else(|| panic!("{path}"));
            assert!(!words.is_empty() && !words.ends_with('.'), "{path}: {words}");
        }
        assert_eq!(about("wires.main.no-such-key"), None);
    }
}
