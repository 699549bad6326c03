//! JSON Schemas generated from types, and the check of a tree against them.

use std::collections::HashSet;
use std::sync::{LazyLock, OnceLock};

use jsonschema::error::{TypeKind, ValidationErrorKind};
use jsonschema::json::Node as _;
use jsonschema::{Draft, Keyword, ValidationError};
use schemars::transform::{RecursiveTransform, Transform};
use schemars::{Schema, generate::SchemaSettings};
use serde_json::{Map, Value};

use super::instance::{Instance, Instances};
use crate::quantity::{self, Dimension, Gauge, Quantity, Range, Window};
use crate::text::{self, Misread, NodeId, Tree};
use crate::words;

type Validator = jsonschema::Validator<Instances>;

/// So many places that cannot be read are told one by one.
pub(super) const MOST_TOLD: usize = 200;

/// A format of files that people write: plans, house files.
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
    /// What it asks of a file, without what it tells people.
    pub asked: fn() -> Value,
    /// The check that is made of it on first demand. `None` where a run reads so few files that a check of just the keys
    /// that a file states costs less.
    pub validator: Option<OnceLock<Option<Validator>>>,
}

impl Format {
    /// The check of whole files, where it is shared.
    pub(super) fn shared(&self) -> Option<&Option<Validator>> {
        Some(self.validator.as_ref()?.get_or_init(|| compiled(&(self.asked)())))
    }
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

/// Checks a tree against the schema: every error, with the node to strike out where there is one.
pub(super) fn check(format: &Format, tree: &Tree, root: NodeId) -> Vec<(Option<NodeId>, Misread)> {
    let own;
    let validator = if let Some(shared) = format.shared() {
        shared
    } else {
        own = compiled(&stated(&(format.asked)(), tree, root));
        &own
    };
    let Some(validator) = validator else { return Vec::new() };
    let (mut found, mut decimals) = (Vec::new(), Vec::new());
    for error in validator.iter_errors(Instance::Node(tree, root)) {
        report(format, tree, &error, &mut found, &mut decimals);
    }
    // What is left of a number that a comma has cut need not make sense.
    let cut: HashSet<Option<NodeId>> = decimals.iter().map(|(node, _)| *node).collect();
    found.retain(|(node, _)| !cut.contains(node));
    found.extend(decimals);
    found
}

/// Of what our schemas say, draft 7 means the same as theirs, and its own schema, by which each is checked before it is
/// compiled, is a fraction as large. No key stands beside a `$ref` but descriptions.
fn compiled(schema: &Value) -> Option<Validator> {
    let options = jsonschema::options_for::<Instances>().with_draft(Draft::Draft7);
    options.with_keyword("x-quantity", written).build(schema).ok()
}

/// The part of a schema that a file can break: without the keys that it does not state, in the file and in its
/// sections. A section's type is used by no other.
fn stated(schema: &Value, tree: &Tree, file: NodeId) -> Value {
    let Some((root, whole)) = schema.as_object().zip(schema.get("$defs").and_then(Value::as_object)) else {
        return schema.clone();
    };
    let keys = root.iter().filter(|(key, _)| *key != "$defs").map(|(key, value)| (key.clone(), value.clone()));
    let mut part = Value::Object(keys.collect());
    part["$defs"] = Value::Object(Map::new());
    only_stated(&mut part, tree.map(file));
    let sections = part.get("properties").and_then(Value::as_object).cloned().unwrap_or_default();
    for (section, is) in &sections {
        if let Some((name, mut def)) = referred(is).and_then(|name| Some((name, whole.get(name)?.clone()))) {
            let is = tree.map(file).and_then(|map| map.get(section)).and_then(|entry| tree.map(entry.value));
            only_stated(&mut def, is);
            part["$defs"][name] = def;
        }
    }
    let mut wanted: Vec<String> = Vec::new();
    references(&part, &mut wanted);
    while let Some(name) = wanted.pop() {
        if part["$defs"].get(&name).is_none() {
            part["$defs"][&name] = whole.get(&name).cloned().unwrap_or_default();
            references(&part["$defs"][&name], &mut wanted);
        }
    }
    part
}

fn only_stated(schema: &mut Value, stated: Option<&text::Map>) {
    if let (Some(Value::Object(keys)), Some(stated)) = (schema.get_mut("properties"), stated) {
        keys.retain(|key, _| stated.get(key).is_some());
    }
}

/// The name of the type that a schema refers to.
fn referred(schema: &Value) -> Option<&str> {
    schema.get("$ref")?.as_str()?.strip_prefix("#/$defs/")
}

/// Every type that a schema refers to, however deep.
fn references(schema: &Value, found: &mut Vec<String>) {
    found.extend(referred(schema).map(str::to_owned));
    match schema {
        Value::Object(map) => map.values().for_each(|part| references(part, found)),
        Value::Array(items) => items.iter().for_each(|part| references(part, found)),
        _ => {}
    }
}

/// One error of the schema in words, at its place; numbers that a comma has cut go into a list of their own.
fn report(
    format: &Format,
    tree: &Tree,
    error: &ValidationError<'_>,
    found: &mut Vec<(Option<NodeId>, Misread)>,
    decimals: &mut Vec<(Option<NodeId>, Misread)>,
) {
    let parts = parts_of(error.instance_path().as_str());
    let parts = || parts.iter().map(String::as_str);
    let node = tree.node_parts(parts());
    let span = tree.locate_parts(parts()).span;
    // Where a key stands here, and its value.
    let written = |key: &str| {
        let entry = node.and_then(|node| tree.map(node)).and_then(|map| map.get(key));
        entry.map_or((None, span.clone()), |entry| (Some(entry.value), entry.key_span.clone()))
    };
    // A value left empty is not stated; it has no shape that could be wrong.
    if error.instance().is_null() {
        return;
    }
    let kept = |what: String, mend: &str| (node, Misread::new(span.clone(), what, mend));
    let value = error.instance();
    match error.kind() {
        ValidationErrorKind::AdditionalProperties { unexpected } => {
            let known = known_keys(format, error);
            let cut = node.map_or_else(Vec::new, |node| cut_by_commas(tree, node, unexpected));
            let keys: HashSet<&str> = cut.iter().flat_map(|cut| cut.keys.iter().copied()).collect();
            for cut in &cut {
                let list = if cut.is_number() { &mut *decimals } else { &mut *found };
                list.push((Some(cut.value), cut.misread()));
            }
            for (at, key) in unexpected.iter().enumerate().filter(|(_, key)| !keys.contains(key.as_str())) {
                let (node, span) = written(key);
                // The nearest is looked for only where it will be told.
                let known: &[String] = if at < MOST_TOLD { &known } else { &[] };
                found.push((node, unknown_key(span, key, known)));
            }
        }
        ValidationErrorKind::PropertyNames { error: inner } => {
            let key = inner.instance().as_str().unwrap_or_default().to_owned();
            let (node, span) = written(&key);
            let misread = match inner.kind() {
                ValidationErrorKind::Enum { options } => unknown_key(span, &key, &strings(options)),
                _ => Misread::new(
                    span,
                    format!("`{}` cannot be a name", words::excerpt(&key, 40)),
                    "name things with letters, digits and hyphens, like bass-amp",
                ),
            };
            found.push((node, misread));
        }
        ValidationErrorKind::Enum { options } => {
            let (node, misread) = kept(unknown_word(value, &strings(options)), "");
            found.push((node, misread.meant(near_word(value, &strings(options)))));
        }
        ValidationErrorKind::Custom { message, .. } => {
            let states_nothing = !shown(value).contains(|c: char| c.is_ascii_digit());
            let (node, misread) =
                kept(message.clone(), if states_nothing { "leave it empty while it is not known" } else { "" });
            found.push((node, misread.meant(respelt(format, error))));
        }
        ValidationErrorKind::Pattern { .. } => found.push(kept(format!("{} does not fit here", shown(value)), "")),
        ValidationErrorKind::Type { kind } => {
            // What says which words are taken says enough.
            if !is_quantity(format, error) && subschema(format, error).is_none_or(|schema| schema.get("enum").is_none())
            {
                found.push(kept(wrong_type(value, kind), other_shape(value, kind)));
            }
        }
        ValidationErrorKind::Required { property } => {
            let key = property.as_str().unwrap_or_default();
            found.push(kept(format!("the key `{key}` is missing here"), ""));
        }
        ValidationErrorKind::AnyOf { context } | ValidationErrorKind::OneOfNotValid { context } => {
            match best_branch(value, context) {
                Some(branch) => branch.iter().for_each(|inner| report(format, tree, inner, found, decimals)),
                None => found.push(kept(format!("{} does not fit here", shown(value)), "")),
            }
        }
        ValidationErrorKind::Minimum { .. } | ValidationErrorKind::Maximum { .. } if parts().eq([format.key]) => {
            let Format { key, version, .. } = format;
            let what = format!("{key} format {value} is not known to this version");
            found.push((node, Misread::new(span, what, format!("write `{key}: {version}`"))));
        }
        ValidationErrorKind::Minimum { limit } | ValidationErrorKind::Maximum { limit } => {
            found.push(kept(format!("{} does not fit here; the limit is {limit}", shown(value)), ""));
        }
        ValidationErrorKind::MinLength { .. } => found.push(kept("nothing stands here".into(), "")),
        _ => found.push(kept(words::excerpt(&error.to_string(), 200), "")),
    }
}

/// The keys of `/wires/main/fuse`. They are not joined by points: a name that nobody should write may hold one.
fn parts_of(pointer: &str) -> Vec<String> {
    pointer.split('/').skip(1).map(|part| part.replace("~1", "/").replace("~0", "~")).collect()
}

/// A text in braces that a comma has cut: what follows the comma is taken for a key.
struct Cut<'a> {
    /// The key before.
    key: &'a str,
    /// What is left of its value.
    text: &'a str,
    value: NodeId,
    /// What was cut off.
    keys: Vec<&'a str>,
    span: std::ops::Range<usize>,
}

impl Cut<'_> {
    /// Whether it is a number with a comma for its point: digits before the comma and right behind it.
    fn is_number(&self) -> bool {
        let whole = !self.text.is_empty() && self.text.bytes().all(|byte| byte.is_ascii_digit());
        whole && matches!(self.keys[..], [decimals] if decimals.starts_with(|first: char| first.is_ascii_digit()))
    }

    fn misread(&self) -> Misread {
        let cut = self.keys.join(", ");
        let (what, mend) = if self.is_number() {
            let mend = format!("write decimals with a point: `{}: {}.{cut}`", self.key, self.text);
            (format!("`{},{cut}` has a comma", self.text), mend)
        } else {
            let whole = format!("{}, {cut}", self.text);
            let what = format!("`{}` stands behind a comma, where a key belongs", words::excerpt(&cut, 40));
            (what, format!("put the text in quotes: `{}: \"{}\"`", self.key, words::excerpt(&whole, 60)))
        };
        Misread::new(self.span.clone(), what, mend)
    }
}

/// The texts in a mapping that commas have cut: each with the keys behind it that are unknown and have no value.
fn cut_by_commas<'a>(tree: &'a Tree, node: NodeId, unexpected: &[String]) -> Vec<Cut<'a>> {
    let Some(map) = tree.map(node) else { return Vec::new() };
    let unexpected: HashSet<&str> = unexpected.iter().map(String::as_str).collect();
    let mut cuts: Vec<Cut<'a>> = Vec::new();
    let mut before: Option<(&text::Entry, usize)> = None;
    for entry in map.entries() {
        let is_cut = tree.is_null(entry.value) && unexpected.contains(entry.key.as_str());
        match (&mut before, is_cut) {
            // A comma and a space; in lines of their own keys stand further apart and have colons.
            (Some((whole, end)), true) if (1..=2).contains(&entry.key_span.start.saturating_sub(*end)) => {
                let Some(text) = tree.text(whole.value) else { continue };
                let is_same = cuts.last().is_some_and(|cut| cut.value == whole.value);
                match cuts.last_mut().filter(|_| is_same) {
                    Some(cut) => {
                        cut.keys.push(&entry.key);
                        cut.span.end = entry.key_span.end;
                    }
                    None => cuts.push(Cut {
                        key: &whole.key,
                        text,
                        value: whole.value,
                        keys: vec![&entry.key],
                        span: tree.span(whole.value).start..entry.key_span.end,
                    }),
                }
                *end = entry.key_span.end;
            }
            _ => before = Some((entry, tree.span(entry.value).end)),
        }
    }
    cuts
}

fn unknown_key(span: std::ops::Range<usize>, key: &str, known: &[String]) -> Misread {
    let what = format!("`{}` is not a key that is known here", words::excerpt(key, 40));
    let near = words::nearest(key, known.iter().map(String::as_str));
    let mend = match near {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => String::new(),
        None => format!("known here: {}", words::all(known)),
    };
    Misread::new(span, what, mend).meant(near.map(str::to_owned))
}

/// The known word nearest to a mistyped one.
fn near_word(value: &Value, known: &[String]) -> Option<String> {
    words::nearest(value.as_str()?, known.iter().map(String::as_str)).map(str::to_owned)
}

/// A quantity that is only spelt in another way, as a plan spells it.
fn respelt(format: &Format, error: &ValidationError<'_>) -> Option<String> {
    let kind = subschema(format, error)?;
    let words = match error.instance().as_ref() {
        Value::String(words) => words.clone(),
        _ => return None,
    };
    (kind_of(kind.get("x-quantity")?.as_str()?).1)(&words)
}

fn unknown_word(value: &Value, known: &[String]) -> String {
    let found = shown(value);
    let choices = words::either(known);
    match near_word(value, known) {
        // A long list hides the one word that was meant.
        Some(near) if known.len() > 8 => format!("{found} is not known here; did you mean `{near}`?"),
        Some(near) => format!("{found} is not known here; did you mean `{near}`? Taken: {choices}"),
        None => format!("{found} is not known here; write {choices}"),
    }
}

fn wrong_type(value: &Value, kind: &TypeKind) -> String {
    let wanted: Vec<&str> = match kind {
        TypeKind::Single(one) => vec![type_word(one.as_str())],
        TypeKind::Multiple(many) => many.iter().map(|one| type_word(one.as_str())).collect(),
    };
    let mut wanted = wanted;
    wanted.dedup();
    format!("{} stands where {} belongs", shown(value), words::either(&wanted))
}

/// How a list is written as keys, and keys as a list.
fn other_shape(value: &Value, kind: &TypeKind) -> &'static str {
    let takes = |wanted: &str| match kind {
        TypeKind::Single(one) => one.as_str() == wanted,
        TypeKind::Multiple(many) => many.iter().any(|one| one.as_str() == wanted),
    };
    match value {
        Value::Array(_) if takes("object") => "write each as a key with a colon, without a dash",
        Value::Object(_) if takes("array") => "begin each item with a dash and a space",
        _ => "",
    }
}

fn type_word(json: &str) -> &'static str {
    match json {
        "object" => "a group of keys",
        "array" => "a list like [a, b]",
        "boolean" => "true or false",
        "integer" => "a whole number",
        "number" => "a number",
        _ => "a word",
    }
}

/// A value as it is named in a message.
fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => format!("`{}`", words::excerpt(text, 40)),
        Value::Object(_) => "a group of keys".into(),
        Value::Array(_) => "a list".into(),
        Value::Null => "nothing".into(),
        other => format!("`{other}`"),
    }
}

fn strings(options: &Value) -> Vec<String> {
    options.as_array().into_iter().flatten().filter_map(Value::as_str).map(str::to_owned).collect()
}

/// The part of the published schema that an error speaks of.
fn subschema<'a>(format: &'a Format, error: &ValidationError<'_>) -> Option<&'a Value> {
    let path = error.schema_path().as_str();
    let above = path.rsplit_once('/').map_or("", |(above, _)| above);
    format.schema.pointer(above)
}

fn known_keys(format: &Format, error: &ValidationError<'_>) -> Vec<String> {
    let properties = subschema(format, error).and_then(|schema| schema.get("properties")?.as_object());
    properties.map(|map| map.keys().cloned().collect()).unwrap_or_default()
}

fn is_quantity(format: &Format, error: &ValidationError<'_>) -> bool {
    subschema(format, error).is_some_and(|schema| schema.get("x-quantity").is_some())
}

/// Of the ways a value may be written, the one that the writer seems to have meant.
fn best_branch<'a>(
    value: &Value,
    branches: &'a [Vec<ValidationError<'static>>],
) -> Option<&'a [ValidationError<'static>]> {
    let misses_type = |errors: &[ValidationError<'_>]| {
        errors.iter().any(|error| {
            error.instance_path().as_str().is_empty() && matches!(error.kind(), ValidationErrorKind::Type { .. })
                || error.instance().as_ref() == value && matches!(error.kind(), ValidationErrorKind::Type { .. })
        })
    };
    let fitting = branches.iter().filter(|errors| !misses_type(errors));
    fitting.min_by_key(|errors| errors.len()).or_else(|| branches.first()).map(Vec::as_slice)
}

/// The keyword `x-quantity`: reads the text the way the plan does and says what the plan would say.
#[allow(clippy::unnecessary_wraps, clippy::result_large_err, reason = "the validator's signature")]
fn written<'a>(
    _: &'a Map<String, Value>,
    name: &'a Value,
    _: jsonschema::paths::Location,
) -> Result<Box<dyn for<'i> Keyword<'i, Instances>>, ValidationError<'a>> {
    let name = name.as_str().unwrap_or_default();
    Ok(Box::new(Written { read: kind_of(name).0, plain: name.starts_with(quantity::dimension::Ratio::NAME) }))
}

type Read = fn(&str) -> Result<(), String>;

struct Written {
    read: Read,
    /// Whether a bare number may stand here.
    plain: bool,
}

impl Written {
    fn complaint(&self, instance: Instance<'_>) -> Option<String> {
        if let Some(text) = instance.as_string() {
            return (self.read)(&text).err();
        }
        match instance.as_number() {
            Some(number) if self.plain => (self.read)(&number.to_string()).err(),
            Some(number) => {
                let words = || format!("`{number}` is a bare number; a name or a unit belongs here");
                Some((self.read)(&number.to_string()).err().unwrap_or_else(words))
            }
            // A coil may also be a group; the branch for groups judges that.
            None => Some(format!("{} stands where a single value belongs", shown(&instance.to_value()))),
        }
    }
}

impl<'i> Keyword<'i, Instances> for Written {
    fn validate(&self, instance: Instance<'i>) -> Result<(), ValidationError<'i>> {
        self.complaint(instance).map_or(Ok(()), |words| Err(ValidationError::custom(words)))
    }
    fn is_valid(&self, instance: Instance<'i>) -> bool {
        self.complaint(instance).is_none()
    }
}

type Respell = fn(&str) -> Option<String>;
/// A quantity as plain data in base units.
type Measure = fn(&str) -> Option<Value>;
/// How a quantity is read, how one that is spelt in another way is, and what it measures.
type Measures = (Read, Respell, Measure);

/// A quantity of a kind as plain data: a number in its base unit, or both ends of a window.
pub(super) fn measured(kind: &str, text: &str) -> Option<Value> {
    (kind_of(kind).2)(text)
}

fn ends<D: Dimension>(range: Range<D>) -> Value {
    serde_json::json!({ "low": range.low(), "high": range.high() })
}

/// Every kind of quantity that can stand in a file: how it is read, and how one that is spelt in another way is.
fn kind_of(name: &str) -> Measures {
    use quantity::dimension as kind;
    match name {
        "cross-section" => {
            return (
                |text| Gauge::read(text).map(drop),
                Gauge::respelt,
                |text| Some(Gauge::read(text).ok()?.square_millimetres().into()),
            );
        }
        "terminal" => return (|text| super::Terminal::read(text).map(drop), |_| None, |_| None),
        "day" => return (|text| super::Day::read(text).map(drop), |_| None, |_| None),
        "coil" => return (|text| super::Coil::read(text).map(drop), |_| None, |_| None),
        _ => {}
    }
    let (name, form) = name.rsplit_once(' ').unwrap_or((name, ""));
    match name {
        "length" => kinds::<kind::Length>(form),
        "current" => kinds::<kind::Current>(form),
        "voltage" => kinds::<kind::Voltage>(form),
        "resistance" => kinds::<kind::Resistance>(form),
        "power" => kinds::<kind::Power>(form),
        "temperature" => kinds::<kind::Temperature>(form),
        "frequency" => kinds::<kind::Frequency>(form),
        "volume" => kinds::<kind::Volume>(form),
        "mass" => kinds::<kind::Mass>(form),
        "duration" => kinds::<kind::Duration>(form),
        "capacity" => kinds::<kind::Capacity>(form),
        "angle" => kinds::<kind::Angle>(form),
        "level" => kinds::<kind::Level>(form),
        "share" => kinds::<kind::Share>(form),
        "slope" => kinds::<kind::Slope>(form),
        "ratio" => kinds::<kind::Ratio>(form),
        "acceleration" => kinds::<kind::Acceleration>(form),
        "speed" => kinds::<kind::Speed>(form),
        _ => (|_| Ok(()), |_| None, |_| None),
    }
}

/// One kind of quantity: a single value, both ends of a window, or either.
fn kinds<D: Dimension>(form: &str) -> Measures {
    match form {
        "window" => (
            |text| Window::<D>::read(text).map(drop),
            |_| None,
            |text| Window::<D>::read(text).ok().map(|is| ends(Range::from(is))),
        ),
        "range" => (|text| Range::<D>::read(text).map(drop), |_| None, |text| Range::<D>::read(text).ok().map(ends)),
        _ => (
            |text| Quantity::<D>::read(text).map(drop),
            quantity::text::respelt::<D>,
            |text| Some(Quantity::<D>::read(text).ok()?.base().into()),
        ),
    }
}
