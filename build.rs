//! Lists where the page of every rule stands, so that the rule book can point to it, and writes down as data what the
//! schemas ask of a file.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

use serde_json::{Map, Value, json};

fn main() -> io::Result<()> {
    let folder = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no output folder"))?;
    let folder = Path::new(&folder);
    fs::write(folder.join("pages.rs"), pages()?)?;
    let shapes: io::Result<String> = ["plan", "house", "shelf"].into_iter().map(shapes).collect();
    fs::write(folder.join("shapes.rs"), shapes?)
}

/// What the schema of a format asks, as tables in Rust: one of each type, and the whole under the name of the format.
fn shapes(format: &str) -> io::Result<String> {
    let path = format!("schema/{format}.schema.json");
    println!("cargo:rerun-if-changed={path}");
    let schema: Value = serde_json::from_str(&fs::read_to_string(&path)?)?;
    let none = Map::new();
    let types = schema["$defs"].as_object().unwrap_or(&none);
    let whole = format.to_uppercase();
    let named = |at: usize| format!("{whole}_{at}");
    let names = types.keys().enumerate().map(|(at, key)| (key.as_str(), named(at))).collect();
    let writer = Shapes { format, names };
    let mut text = String::new();
    for (at, is) in types.values().enumerate() {
        let _ = writeln!(text, "static {}: Shape = {};", named(at), writer.shape(is)?);
    }
    let _ = writeln!(text, "/// What the schema of a {format} file asks.");
    let _ = writeln!(text, "pub(crate) static {whole}: Shape = {};", writer.shape(&schema)?);
    Ok(text)
}

/// Writes what one schema asks.
struct Shapes<'a> {
    format: &'a str,
    /// What the table of each type is called.
    names: BTreeMap<&'a str, String>,
}

/// The names that things of a plan may have.
const PLAIN_NAMES: &str = "^[A-Za-z0-9][A-Za-z0-9_-]*$";

impl Shapes<'_> {
    /// A schema as a value of the type `Shape`.
    fn shape(&self, schema: &Value) -> io::Result<String> {
        let map = schema.as_object().ok_or_else(|| unknown("a schema that is no object", schema))?;
        for key in map.keys() {
            self.is_known(key)?;
        }
        if let Some(kind) = schema["x-quantity"].as_str() {
            // Quantities are read by the plan's own reader; their patterns are for editors.
            return Ok(format!("Shape::Quantity({kind:?})"));
        }
        if let Some(branches) = schema["anyOf"].as_array().filter(|_| !schema["properties"].is_object()) {
            return Ok(format!("Shape::Either(&[{}])", list(branches, |branch| self.reference(branch))?));
        }
        if map.contains_key("enum") {
            return Ok(words(schema));
        }
        match schema["type"].as_str() {
            _ if map.contains_key("$ref") => Err(unknown("a reference at the top", schema)),
            Some("object") if schema["additionalProperties"].is_object() => self.named(schema),
            Some("object") => self.group(schema),
            Some("array") => Ok(format!("Shape::List({})", self.reference(&schema["items"])?)),
            _ => value(schema),
        }
    }

    /// The shapes know just these words of schemas: with another one in use the check would say less than the schema.
    fn is_known(&self, key: &str) -> io::Result<()> {
        let told = ["$schema", "title", "description", "examples", "enumDescriptions", "$defs"];
        let asked = [
            "type",
            "x-quantity",
            "anyOf",
            "enum",
            "properties",
            "additionalProperties",
            "propertyNames",
            "items",
            "required",
            "pattern",
            "minimum",
            "maximum",
            "minLength",
            "minProperties",
            "maxProperties",
            "$ref",
        ];
        if told.contains(&key) || asked.contains(&key) {
            return Ok(());
        }
        Err(io::Error::other(format!("the check of {} files does not know `{key}` of the schema", self.format)))
    }

    /// A schema, or the table that it refers to, behind a `&`.
    fn reference(&self, schema: &Value) -> io::Result<String> {
        match schema["$ref"].as_str().and_then(|path| self.names.get(path.strip_prefix("#/$defs/")?)) {
            Some(name) => Ok(format!("&{name}")),
            None => Ok(format!("&{}", self.shape(schema)?)),
        }
    }

    fn group(&self, schema: &Value) -> io::Result<String> {
        let keys = schema["properties"].as_object().ok_or_else(|| unknown("a group without keys", schema))?;
        if schema["additionalProperties"] != Value::Bool(false) {
            return Err(unknown("a group with keys of any name", schema));
        }
        let mut text = String::new();
        for (key, is) in keys {
            let is = match is["maximum"].as_i64().filter(|most| *key == self.format && is["minimum"] == *most) {
                Some(version) => format!("&Shape::Version {{ key: {key:?}, is: {version} }}"),
                None => self.reference(is)?,
            };
            let _ = write!(text, "({key:?}, {is}), ");
        }
        let needs = schema["required"].as_array().map_or(&[][..], Vec::as_slice);
        let count = count(schema)?;
        Ok(format!("Shape::Group {{ keys: &[{text}], needs: &{}, count: Count::{count} }}", Value::from(needs)))
    }

    fn named(&self, schema: &Value) -> io::Result<String> {
        let names = &schema["propertyNames"];
        let names = match names["$ref"].as_str() {
            Some(_) => format!("Names::Of({})", self.reference(names)?),
            None if names["pattern"] == PLAIN_NAMES => "Names::Plain".to_owned(),
            None if names.is_null() => "Names::Any".to_owned(),
            None => return Err(unknown("names", names)),
        };
        Ok(format!("Shape::Named {{ names: {names}, each: {} }}", self.reference(&schema["additionalProperties"])?))
    }
}

/// How many keys a group may have: any number, just one, or one and a certain one beside it.
fn count(schema: &Value) -> io::Result<String> {
    let (least, most, ways) = (&schema["minProperties"], &schema["maxProperties"], &schema["anyOf"]);
    if least == 1 && most == 1 && ways.is_null() {
        return Ok("One".to_owned());
    }
    let beside = ways[1]["required"][0].as_str().unwrap_or_default();
    let one_with = json!([{ "maxProperties": 1 }, { "maxProperties": 2, "required": [beside] }]);
    match () {
        () if least.is_null() && most.is_null() && ways.is_null() => Ok("Any".to_owned()),
        () if least.is_null() && most.is_null() && *ways == one_with => Ok(format!("OneWith({beside:?})")),
        () => Err(unknown("how many keys a group may have", schema)),
    }
}

/// A closed list of words.
fn words(schema: &Value) -> String {
    let words = schema["enum"].as_array().into_iter().flatten();
    let (words, numbers): (Vec<Value>, Vec<Value>) = words.cloned().partition(Value::is_string);
    format!("Shape::Words {{ words: &{}, numbers: &{} }}", Value::from(words), Value::from(numbers))
}

/// A single value.
fn value(schema: &Value) -> io::Result<String> {
    let types = match &schema["type"] {
        Value::Array(types) => types.clone(),
        one => vec![one.clone()],
    };
    let types = list(&types, |name| match name.as_str() {
        Some("string") => Ok("Type::Text".to_owned()),
        Some("integer") => Ok("Type::Whole".to_owned()),
        Some("number") => Ok("Type::Number".to_owned()),
        Some("boolean") => Ok("Type::YesNo".to_owned()),
        _ => Err(unknown("a type", schema)),
    })?;
    let (least, most) = (schema["minimum"].as_f64(), schema["maximum"].as_f64());
    let filled = schema["minLength"] == 1;
    Ok(format!("Shape::Value {{ types: &[{types}], least: {least:?}, most: {most:?}, filled: {filled} }}"))
}

fn list(values: &[Value], write: impl Fn(&Value) -> io::Result<String>) -> io::Result<String> {
    Ok(values.iter().map(write).collect::<io::Result<Vec<String>>>()?.join(", "))
}

fn unknown(what: &str, schema: &Value) -> io::Error {
    io::Error::other(format!("the check does not know {what}: {schema}"))
}

/// The pages of rules: code and path, as a list in Rust.
fn pages() -> io::Result<String> {
    println!("cargo:rerun-if-changed=rules");
    let mut pages: Vec<(String, String)> = Vec::new();
    for family in fs::read_dir("rules")? {
        let family = family?.path();
        if !family.is_dir() {
            continue;
        }
        println!("cargo:rerun-if-changed={}", family.display());
        for page in fs::read_dir(&family)? {
            let page = page?.path();
            if page.extension().is_some_and(|ending| ending == "md") {
                let text = fs::read_to_string(&page)?;
                let code = text.trim_start_matches("# ").split_whitespace().next().unwrap_or_default().to_owned();
                let path = page.strip_prefix("rules").unwrap_or(&page).display().to_string().replace('\\', "/");
                pages.push((code, path));
            }
        }
    }
    pages.sort();
    let mut list = String::from("&[\n");
    for (code, path) in pages {
        let _ = writeln!(list, "    ({code:?}, {path:?}),");
    }
    list.push_str("]\n");
    Ok(list)
}
