//! The formats of files that people write, and their JSON Schemas, generated from types.

use std::sync::LazyLock;

use schemars::transform::{RecursiveTransform, Transform};
use schemars::{Schema, generate::SchemaSettings};
use serde_json::{Map, Value};

use super::shape::Shape;

/// A format of files that people write: plans, house files, shelf files.
pub(crate) struct Format {
    /// The key that says that a file is one, and its version.
    pub key: &'static str,
    /// The version that this program reads.
    pub version: u32,
    /// What a file of it looks like, to finish the sentence "a plan is …".
    pub like: &'static str,
    /// How many things may stand in a file, those of all sections together, items of lists counted too.
    pub most_things: usize,
    /// The schema as it is published.
    pub schema: LazyLock<Value>,
    /// What it asks of a file.
    pub shape: &'static Shape,
}

/// The JSON Schema of a format, as it is published, from its types.
pub(crate) fn derived<T: schemars::JsonSchema>(key: &str) -> Value {
    let mut schema = of::<T>();
    if let Some(map) = schema.as_object_mut() {
        map.insert("title".into(), format!("testlamp {key}").into());
        name_the_things(map);
    }
    schema
}

/// A schema that the build has read already.
pub(crate) fn checked_in(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_default()
}

/// A schema in the form that reads well: closed words as `enum`, no `null` branches, no defaults.
pub(crate) fn of<T: schemars::JsonSchema>() -> Value {
    let mut settings = SchemaSettings::draft2020_12();
    settings.inline_subschemas = false;
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    RecursiveTransform(plain_schema).transform(&mut schema);
    schema.to_value()
}

/// Things are named with letters, digits and hyphens, so that a point can part a name from a terminal.
fn name_the_things(root: &mut Map<String, Value>) {
    let Some(Value::Object(sections)) = root.get_mut("properties") else { return };
    for section in sections.values_mut().filter_map(Value::as_object_mut) {
        if section.contains_key("additionalProperties") && section.get("type") == Some(&"object".into()) {
            let names = serde_json::json!({ "pattern": "^[A-Za-z0-9][A-Za-z0-9_-]*$" });
            section.entry("propertyNames").or_insert(names);
        }
    }
}

/// What `schemars` derives, said more plainly.
fn plain_schema(schema: &mut Schema) {
    let Some(map) = schema.as_object_mut() else { return };
    map.remove("default");
    map.remove("format");
    drop_null(map);
    words_as_enum(map);
}

/// `Option<T>` derives "T or null"; a plan leaves out what it does not state.
fn drop_null(map: &mut Map<String, Value>) {
    if let Some(Value::Array(types)) = map.get_mut("type") {
        types.retain(|kind| kind != "null");
        if let [only] = types.as_slice() {
            let only = only.clone();
            map.insert("type".into(), only);
        }
    }
    if let Some(Value::Array(words)) = map.get_mut("enum") {
        words.retain(|word| !word.is_null());
    }
    let Some(Value::Array(branches)) = map.get_mut("anyOf") else { return };
    branches.retain(|branch| branch.get("type") != Some(&"null".into()));
    if let [Value::Object(only)] = branches.as_slice() {
        let only = only.clone();
        map.remove("anyOf");
        for (key, value) in only {
            map.entry(key).or_insert(value);
        }
    }
}

/// Closed words with a sentence each derive `oneOf` of constants; one `enum` gives better messages and completions.
fn words_as_enum(map: &mut Map<String, Value>) {
    let Some(Value::Array(branches)) = map.get("oneOf") else { return };
    let constant = |branch: &Value| -> Option<(Value, Value)> {
        Some((branch.get("const")?.clone(), branch.get("description").cloned().unwrap_or_default()))
    };
    let Some(words) = branches.iter().map(constant).collect::<Option<Vec<_>>>() else { return };
    let (words, meanings): (Vec<Value>, Vec<Value>) = words.into_iter().unzip();
    map.remove("oneOf");
    map.insert("type".into(), "string".into());
    map.insert("enum".into(), Value::Array(words));
    map.insert("enumDescriptions".into(), Value::Array(meanings));
}
