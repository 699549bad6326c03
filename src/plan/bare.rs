//! A schema without its words. The build makes those of the checked in schemas, so that a run does not.

use serde_json::Value;

/// What a schema asks of a file, without what it tells people. Quantities are read by the plan's own reader: their
/// patterns are for editors, and slow to compile.
pub fn bare(mut schema: Value) -> Value {
    strip(&mut schema);
    schema
}

fn strip(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            let is_quantity = map.contains_key("x-quantity");
            // A key of a plan may be called like a word of schemas; what describes it is no string and no list.
            map.retain(|key, value| match key.as_str() {
                "$schema" | "title" | "description" => !value.is_string(),
                "examples" | "enumDescriptions" => !value.is_array(),
                "pattern" => !is_quantity,
                _ => true,
            });
            map.values_mut().for_each(strip);
        }
        Value::Array(items) => items.iter_mut().for_each(strip),
        _ => {}
    }
}
