//! What fits and what does not, and what is told of it.

use std::path::Path;
use std::sync::LazyLock;

use jsonschema::{Keyword, ValidationError, Validator};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::super::kind::Kind;
use super::super::schema::checked_in;
use super::super::shape::{self, Shape};
use super::check;
use crate::quantity::Unread;
use crate::text::{Limits, NodeId, Tree, parse};

/// A format: its tables, its published schema as somebody else reads it, and files of the examples.
struct Format {
    shape: &'static Shape,
    other: Validator,
    texts: Vec<String>,
}

static PLAN: LazyLock<Format> = LazyLock::new(|| Format {
    shape: &shape::PLAN,
    other: other(include_str!("../../../schema/plan.schema.json")),
    texts: texts("examples/jobs"),
});

static SHELF: LazyLock<Format> = LazyLock::new(|| Format {
    shape: &shape::SHELF,
    other: other(include_str!("../../../schema/shelf.schema.json")),
    texts: texts("examples/shelf"),
});

static HOUSE: LazyLock<Format> = LazyLock::new(|| Format {
    shape: &shape::HOUSE,
    other: other(include_str!("../../../schema/house.schema.json")),
    texts: texts("examples"),
});

/// A general-purpose checker of JSON Schema, told of the texts that plans read in their own way, and that a value left
/// empty is not stated.
fn other(schema: &str) -> Validator {
    let mut schema = checked_in(schema);
    let types = schema["$defs"].clone();
    or_nothing(&mut schema, &types);
    let options = jsonschema::options().with_keyword("x-quantity", |_, name: &Value, _| {
        let read = Kind::of(name.as_str().unwrap_or_default()).read;
        Ok(Box::new(Read(read)) as Box<dyn for<'i> Keyword<'i>>)
    });
    options.build(&schema).expect("a schema")
}

struct Read(fn(&str) -> Result<(), Unread>);

impl<'i> Keyword<'i> for Read {
    fn validate(&self, instance: &'i Value) -> Result<(), ValidationError<'i>> {
        if self.is_valid(instance) { Ok(()) } else { Err(ValidationError::custom("not read")) }
    }
    fn is_valid(&self, instance: &Value) -> bool {
        match instance {
            Value::String(text) => (self.0)(text).is_ok(),
            Value::Number(number) => (self.0)(&number.to_string()).is_ok(),
            _ => true,
        }
    }
}

/// Lets every value be left empty.
fn or_nothing(schema: &mut Value, types: &Value) {
    let inside = |is: &mut Value| or_nothing(is, types);
    let nullable = |is: &mut Value| {
        or_nothing(is, types);
        *is = json!({ "anyOf": [{ "type": "null" }, is.take()] });
    };
    for (key, value) in schema.as_object_mut().into_iter().flatten() {
        match (key.as_str(), value) {
            ("properties", Value::Object(keys)) => keys.values_mut().for_each(nullable),
            ("$defs", Value::Object(types)) => types.values_mut().for_each(inside),
            ("additionalProperties", is @ Value::Object(_)) => nullable(is),
            ("items", is @ Value::Object(_)) if may_be_open(is, types) => nullable(is),
            ("items", is @ Value::Object(_)) => inside(is),
            ("anyOf", Value::Array(ways)) => ways.iter_mut().for_each(inside),
            _ => {}
        }
    }
}

/// Whether an item of a list is a thing that has to state nothing.
fn may_be_open(item: &Value, types: &Value) -> bool {
    let name = item["$ref"].as_str().and_then(|path| path.rsplit('/').next());
    let item = name.map_or(item, |name| &types[name]);
    item["type"] == "object" && item.get("required").is_none()
}

/// The files that lie in a folder.
fn texts(folder: &str) -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let files = std::fs::read_dir(folder).expect("the examples").filter_map(Result::ok);
    let mut files: Vec<_> =
        files.map(|file| file.path()).filter(|path| path.extension().is_some_and(|is| is == "yaml")).collect();
    files.sort();
    files.iter().map(|path| std::fs::read_to_string(path).expect("a file")).collect()
}

/// What somebody may write by mistake, or the wrong place's words.
const WORDS: [&str; 50] = [
    "none",
    "4 AWG",
    "12 V",
    "true",
    "5",
    "1.5",
    "~",
    "[]",
    "{}",
    "[a, b]",
    "{a: b}",
    "\"5\"",
    ".nan",
    "-3",
    "1e9",
    "300",
    "nane",
    "sub.1",
    "x.y.z",
    "2041",
    "8.8",
    "30.6.2027",
    "2027-06-30",
    "1.0",
    "0",
    "{series: [sub.1]}",
    "{series: []}",
    "{series: [sub.1], parallel: [sub.2]}",
    "50 %",
    "0.7",
    "bass-amp.power",
    "[1, 2, 300]",
    "70mm",
    "4AWG",
    "null",
    "256",
    "+5",
    "{load: 4 ohm}",
    "{load: 4 ohm, power: 50 W}",
    "[{load: 4 ohm, power: 5 W}]",
    "{power: 5}",
    "99999999999 m",
    "fault",
    "danger",
    "blade-regular",
    "engine-bay",
    "0 C .. 40 C",
    "{value: 0.4 V, source: ours}",
    "{value: 0.4 V}",
    "\"\"",
];

fn nodes(tree: &Tree) -> Vec<NodeId> {
    let mut nodes: Vec<NodeId> = tree.root().into_iter().collect();
    let mut at = 0;
    while let Some(node) = nodes.get(at) {
        nodes.extend(tree.parts(*node));
        at += 1;
    }
    nodes
}

/// A text with the words of one of its nodes, or of one of its keys, written over, if that still is YAML.
fn slipped(text: &str, at: prop::sample::Index, word: &str, is_key: bool) -> String {
    let (tree, _) = parse(text, Limits::default());
    let keys = nodes(&tree).into_iter().filter_map(|node| tree.map(node)).flat_map(|map| map.entries().to_vec());
    let spans: Vec<_> = if is_key {
        keys.map(|entry| entry.key_span).collect()
    } else {
        nodes(&tree).into_iter().map(|node| tree.span(node)).filter(|span| !span.is_empty()).collect()
    };
    let span = if spans.is_empty() { 0..0 } else { at.get(&spans).clone() };
    let slipped = format!("{}{word}{}", &text[..span.start], &text[span.end..]);
    let (tree, faults) = parse(&slipped, Limits::default());
    let is_whole = faults.is_empty() && tree.root().is_some_and(|root| tree.map(root).is_some());
    if is_whole { slipped } else { text.to_owned() }
}

type Slips = Vec<(prop::sample::Index, &'static str, bool)>;

/// Which file, and what is written over in it: where, with which words, and whether they are a key's.
fn slips() -> impl Strategy<Value = (prop::sample::Index, Slips)> {
    let slip = (any::<prop::sample::Index>(), prop::sample::select(&WORDS[..]), prop::bool::weighted(0.2));
    (any::<prop::sample::Index>(), prop::collection::vec(slip, 0..4))
}

/// What the check takes the published schema takes, and what it refuses the schema refuses.
fn agree(format: &Format, file: prop::sample::Index, slips: Slips) -> Result<(), TestCaseError> {
    let mut text = file.get(&format.texts).clone();
    for (at, word, is_key) in slips {
        text = slipped(&text, at, word, is_key);
    }
    let (tree, _) = parse(&text, Limits::default());
    let root = tree.root().expect("a file");
    let found = check(format.shape, &text, &tree, root).0;
    let json = tree.to_json(root);
    let other = format.other.iter_errors(&json);
    let other: Vec<String> = other.map(|error| format!("{} {error}", error.instance_path())).collect();
    prop_assert_eq!(found.is_empty(), other.is_empty(), "{:?} {:?}\n{}", found, other, text);
    Ok(())
}

proptest! {
    #[test]
    fn the_check_and_the_published_schema_agree((plan, slips) in slips()) {
        agree(&PLAN, plan, slips)?;
    }

    #[test]
    fn they_agree_on_shelves((shelf, slips) in slips()) {
        agree(&SHELF, shelf, slips)?;
    }

    #[test]
    fn they_agree_on_houses((house, slips) in slips()) {
        agree(&HOUSE, house, slips)?;
    }
}

/// `is not a` may stand in what somebody wrote: that says nothing of what is wrong with it.
#[test]
fn what_is_wrong_is_told_by_the_reader_and_not_read_from_its_words() {
    let told = |length: &str| {
        let text = format!("wires: {{main: {{length: {length}}}}}\n");
        let (tree, _) = parse(&text, Limits::default());
        let found = check(&shape::PLAN, &text, &tree, tree.root().expect("a plan")).0;
        found.into_iter().map(|(_, misread)| (misread.what, misread.mend)).next().expect("it is refused")
    };
    let (what, mend) = told("\"2,5 m\"");
    assert!(what.contains("has a comma"), "{what}");
    assert_eq!(mend, "write `2.5 m`");
    assert_eq!(told("M8").0, "`M8` is not how a plan writes it; write `8 mm`");
}

/// A list of words or numbers has no open places; a step of which nothing is known yet is one.
#[test]
fn an_empty_place_in_a_list_is_told() {
    let told = |text: &str| {
        let (tree, _) = parse(text, Limits::default());
        let found = check(&shape::PLAN, text, &tree, tree.root().expect("a plan")).0;
        found.into_iter().map(|(_, misread)| format!("{:?} {}", misread.span, misread.what)).collect::<Vec<_>>()
    };
    let at = |span: &str| vec![format!("{span} nothing stands at this place of the list")];
    assert_eq!(told("loads: {bass: {coils: {parallel: [~, sub.2]}}}\n"), at("34..35"));
    assert_eq!(told("loads: {bass: {outputs: [1, ]}}\n"), [""; 0]);
    assert_eq!(told("amplifiers: {amp: {rated: [null]}}\n"), at("27..31"));
    assert_eq!(told("wires:\n  main:\n    path:\n      - cargo\n      -\n"), at("46..46"));
    assert_eq!(told("steps: [~, {battery: disconnect}]\n"), [""; 0]);
}

#[test]
fn slips_are_mostly_refused() {
    // Else the properties above would say little.
    for format in [&PLAN, &SHELF, &HOUSE] {
        let (count, of) = refused(format);
        assert!(count * 2 > of && count < of, "{count} of {of}");
    }
}

/// How many slips are refused, of how many that leave a file of YAML.
fn refused(format: &Format) -> (usize, usize) {
    let text = &format.texts[0];
    let (tree, _) = parse(text, Limits::default());
    let spans: Vec<_> = nodes(&tree).into_iter().map(|node| tree.span(node)).collect();
    let refused = |word: &str| {
        let texts = spans.iter().map(|span| format!("{}{word}{}", &text[..span.start], &text[span.end..]));
        let trees = texts.map(|text| (parse(&text, Limits::default()), text));
        let whole = trees.filter(|((_, faults), _)| faults.is_empty());
        let found = whole.map(|((tree, _), text)| {
            tree.root().is_some_and(|root| !check(format.shape, &text, &tree, root).0.is_empty())
        });
        let found: Vec<bool> = found.collect();
        (found.iter().filter(|is| **is).count(), found.len())
    };
    let tried = ["300", "ours", "4 ohm"].map(refused);
    tried.iter().fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
}
