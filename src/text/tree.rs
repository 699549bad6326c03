//! A tree of nodes that know where they stand.

use std::collections::HashMap;
use std::ops::Range;

use super::path::parts;

/// A node of a [`Tree`].
pub type NodeId = usize;

/// One parsed text.
#[derive(Debug, Clone, Default)]
pub struct Tree {
    pub(super) nodes: Vec<Node>,
    pub(super) root: Option<NodeId>,
    /// Nodes that were taken over from another text.
    pub(super) elsewhere: HashMap<NodeId, Elsewhere>,
    /// Whether the text ends within an open bracket: nobody knows what would have followed.
    pub breaks_off: bool,
}

#[derive(Debug, Clone)]
pub(super) struct Node {
    pub span: Range<usize>,
    pub kind: Kind,
    /// Nodes below and including this one, aliases counted each time.
    pub weight: usize,
}

/// What a node is.
#[derive(Debug, Clone)]
pub enum Kind {
    /// A single value as it was written, escapes processed; `plain` when it had no quotes and no block mark.
    Scalar {
        /// The text.
        text: String,
        /// Whether the text stands without quotes, so that `5` is a number and `true` a yes.
        plain: bool,
    },
    /// Keys and values, in the order of the text.
    Map(Map),
    /// Items in order.
    Seq(Vec<NodeId>),
}

/// The entries of a mapping.
#[derive(Debug, Clone, Default)]
pub struct Map {
    pub(super) entries: Vec<Entry>,
    /// Only for mappings with many keys; small ones are searched from the front.
    #[expect(clippy::box_collection, reason = "most mappings have none, and every node would pay for its room")]
    pub(super) index: Option<Box<HashMap<String, usize>>>,
}

/// A key with its value.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The key's text.
    pub key: String,
    /// Where the key stands.
    pub key_span: Range<usize>,
    /// The value.
    pub value: NodeId,
    /// Where the value is used: the alias, when it is defined elsewhere.
    pub used_at: Range<usize>,
}

/// A plain value by the YAML 1.2 core schema.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scalar<'a> {
    /// Nothing, `~` or `null`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A whole number.
    Int(i64),
    /// Any other number.
    Float(f64),
    /// Everything else.
    Text(&'a str),
}

/// Where a value stands that was taken over from another text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Elsewhere {
    /// Which of the other texts.
    pub text: usize,
    /// The words there.
    pub span: Range<usize>,
}

/// Where a path leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Located {
    /// The words to point at: the value where it is a single one, the key of a thing with parts.
    pub span: Range<usize>,
    /// Whether the whole path exists; otherwise `span` is the nearest thing that does.
    pub exact: bool,
    /// Where the value is written, when the plan uses it through an alias.
    pub defined_at: Option<Range<usize>>,
    /// Where the value is written in another text, when the plan takes it over from there.
    pub elsewhere: Option<Elsewhere>,
}

impl Map {
    /// From this many keys on a mapping keeps an index.
    pub(super) const INDEXED: usize = 48;

    /// Of entries that all have keys of their own.
    pub(super) fn of(entries: Vec<Entry>) -> Self {
        let mut map = Self { entries, index: None };
        map.find_index();
        map
    }

    /// All entries.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry of a key.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        match &self.index {
            Some(index) => index.get(key).map(|at| &self.entries[*at]),
            None => self.entries.iter().find(|entry| entry.key == key),
        }
    }

    /// Adds an entry with a key that is not there yet.
    pub(super) fn push(&mut self, entry: Entry) {
        if let Some(index) = &mut self.index {
            index.insert(entry.key.clone(), self.entries.len());
        }
        self.entries.push(entry);
        if self.index.is_none() {
            self.find_index();
        }
    }

    /// Takes out an entry by its number.
    pub(super) fn remove(&mut self, at: usize) -> Entry {
        let entry = self.entries.remove(at);
        self.find_index();
        entry
    }

    fn find_index(&mut self) {
        let keys = || self.entries.iter().enumerate().map(|(at, entry)| (entry.key.clone(), at));
        self.index = (self.entries.len() > Self::INDEXED).then(|| Box::new(keys().collect()));
    }
}

impl Tree {
    /// The topmost node, if the text holds one.
    pub fn root(&self) -> Option<NodeId> {
        self.root
    }

    /// What a node is.
    pub fn kind(&self, node: NodeId) -> &Kind {
        &self.nodes[node].kind
    }

    /// The byte range of a node.
    pub fn span(&self, node: NodeId) -> Range<usize> {
        self.nodes[node].span.clone()
    }

    /// The nodes just below one.
    pub fn parts(&self, node: NodeId) -> Vec<NodeId> {
        match &self.nodes[node].kind {
            Kind::Map(map) => map.entries.iter().map(|entry| entry.value).collect(),
            Kind::Seq(items) => items.clone(),
            Kind::Scalar { .. } => Vec::new(),
        }
    }

    /// Whether words without quotes are a value of the same kind as a node is: a number, a yes or no, text.
    pub fn is_alike(&self, node: NodeId, words: &str) -> bool {
        self.scalar(node).is_some_and(|own| std::mem::discriminant(&own) == std::mem::discriminant(&resolve(words)))
    }

    /// Makes a node the single value that these words are without quotes. Where it stands is still told of the old ones.
    pub fn say(&mut self, node: NodeId, words: &str) {
        self.nodes[node].kind = Kind::Scalar { text: words.to_owned(), plain: true };
    }

    /// Adds something that is not written, and of which nothing is known: behind the last item of a list, or under a key that
    /// a mapping does not have yet. Nothing where neither can be.
    pub fn put(&mut self, node: NodeId, key: &str) -> Option<NodeId> {
        let (value, end) = (self.nodes.len(), self.nodes[node].span.end..self.nodes[node].span.end);
        match &mut self.nodes[node].kind {
            Kind::Map(map) if map.get(key).is_none() => {
                map.push(Entry { key: key.to_owned(), key_span: end.clone(), value, used_at: end.clone() });
            }
            Kind::Seq(items) => items.push(value),
            Kind::Map(_) | Kind::Scalar { .. } => return None,
        }
        self.nodes.push(Node { span: end, kind: Kind::Scalar { text: String::new(), plain: true }, weight: 1 });
        Some(value)
    }

    /// A mapping's entries.
    pub fn map(&self, node: NodeId) -> Option<&Map> {
        match &self.nodes[node].kind {
            Kind::Map(map) => Some(map),
            _ => None,
        }
    }

    /// A single value, its kind decided by the YAML 1.2 core schema.
    pub fn scalar(&self, node: NodeId) -> Option<Scalar<'_>> {
        match &self.nodes[node].kind {
            Kind::Scalar { text, plain: true } => Some(resolve(text)),
            Kind::Scalar { text, plain: false } => Some(Scalar::Text(text)),
            _ => None,
        }
    }

    /// The text of a single value as written.
    pub fn text(&self, node: NodeId) -> Option<&str> {
        match &self.nodes[node].kind {
            Kind::Scalar { text, .. } => Some(text),
            _ => None,
        }
    }

    /// Whether the value is left empty, which a plan takes as not stated.
    pub fn is_null(&self, node: NodeId) -> bool {
        matches!(self.scalar(node), Some(Scalar::Null))
    }

    /// The node at the end of a path.
    pub fn node(&self, path: &str) -> Option<NodeId> {
        self.node_parts(parts(path))
    }

    /// The node at the end of the parts of a path, which may hold points themselves.
    fn node_parts<'p>(&self, parts: impl IntoIterator<Item = &'p str>) -> Option<NodeId> {
        let mut node = self.root?;
        for segment in parts {
            node = match &self.nodes[node].kind {
                Kind::Map(map) => map.get(segment)?.value,
                Kind::Seq(items) => *items.get(segment.parse::<usize>().ok()?)?,
                Kind::Scalar { .. } => return None,
            };
        }
        Some(node)
    }

    /// From a path to the words in the text. A path that does not exist leads to the nearest thing above it.
    pub fn locate(&self, path: &str) -> Located {
        self.locate_parts(parts(path))
    }

    /// From the parts of a path to the words in the text.
    pub fn locate_parts<'p>(&self, parts: impl IntoIterator<Item = &'p str>) -> Located {
        let mut parts = parts.into_iter();
        let Some(mut node) = self.root else {
            return Located { span: 0..0, exact: parts.next().is_none(), defined_at: None, elsewhere: None };
        };
        let mut exact = true;
        let mut words: Option<&Range<usize>> = None;
        for segment in parts {
            let next = match &self.nodes[node].kind {
                Kind::Map(map) => map.get(segment).map(|entry| (entry.value, self.words(entry))),
                Kind::Seq(items) => {
                    let item = segment.parse::<usize>().ok().and_then(|at| items.get(at));
                    item.map(|item| (*item, &self.nodes[*item].span))
                }
                Kind::Scalar { .. } => None,
            };
            let Some((value, span)) = next else {
                exact = false;
                break;
            };
            words = Some(span);
            node = value;
        }
        let own = &self.nodes[node];
        let Some(span) = words.cloned() else {
            return Located { span: own.span.start..own.span.start, exact, defined_at: None, elsewhere: None };
        };
        let is_elsewhere = span.end <= own.span.start || own.span.end <= span.start;
        let is_defined = is_elsewhere && matches!(own.kind, Kind::Scalar { .. });
        let defined_at = is_defined.then(|| own.span.clone());
        Located { span, exact, defined_at, elsewhere: self.elsewhere.get(&node).cloned() }
    }

    /// The words that stand for an entry: its value where that is a single one, its key otherwise.
    pub fn words<'a>(&'a self, entry: &'a Entry) -> &'a Range<usize> {
        let single = matches!(self.nodes[entry.value].kind, Kind::Scalar { .. });
        if single && !entry.used_at.is_empty() { &entry.used_at } else { &entry.key_span }
    }

    /// The key's own words, for findings about the key itself.
    pub fn locate_key(&self, path: &str) -> Range<usize> {
        let (parent, key) = path.rsplit_once('.').unwrap_or(("", path));
        self.node(parent)
            .and_then(|node| self.map(node))
            .and_then(|map| map.get(key))
            .map_or_else(|| self.locate(path).span, |entry| entry.key_span.clone())
    }

    /// The value as JSON, for the schema.
    pub fn to_json(&self, node: NodeId) -> serde_json::Value {
        use serde_json::Value;
        match &self.nodes[node].kind {
            Kind::Map(map) => {
                Value::Object(map.entries.iter().map(|entry| (entry.key.clone(), self.to_json(entry.value))).collect())
            }
            Kind::Seq(items) => Value::Array(items.iter().map(|item| self.to_json(*item)).collect()),
            Kind::Scalar { text, .. } => match self.scalar(node) {
                Some(Scalar::Null) => Value::Null,
                Some(Scalar::Bool(yes)) => Value::Bool(yes),
                Some(Scalar::Int(number)) => Value::from(number),
                Some(Scalar::Float(number)) if number.is_finite() => Value::from(number),
                _ => Value::String(text.clone()),
            },
        }
    }
}

/// The YAML 1.2 core schema for plain values.
fn resolve(text: &str) -> Scalar<'_> {
    match text {
        "" | "~" | "null" | "Null" | "NULL" => Scalar::Null,
        "true" | "True" | "TRUE" => Scalar::Bool(true),
        "false" | "False" | "FALSE" => Scalar::Bool(false),
        _ => number(text).unwrap_or(Scalar::Text(text)),
    }
}

fn number(text: &str) -> Option<Scalar<'_>> {
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    if let Some(digits) = unsigned.strip_prefix("0x") {
        return i64::from_str_radix(digits, 16).ok().map(Scalar::Int);
    }
    if let Some(digits) = unsigned.strip_prefix("0o") {
        return i64::from_str_radix(digits, 8).ok().map(Scalar::Int);
    }
    match unsigned {
        ".inf" | ".Inf" | ".INF" => return Some(Scalar::Float(f64::INFINITY)),
        ".nan" | ".NaN" | ".NAN" => return Some(Scalar::Float(f64::NAN)),
        _ => {}
    }
    let starts_well = unsigned.starts_with(|c: char| c.is_ascii_digit())
        || (unsigned.starts_with('.') && unsigned[1..].starts_with(|c: char| c.is_ascii_digit()));
    let numeric = unsigned.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'e' | b'E' | b'+' | b'-'));
    if !starts_well || !numeric {
        return None;
    }
    if unsigned.bytes().all(|b| b.is_ascii_digit()) {
        return text.parse::<i64>().ok().map(Scalar::Int).or_else(|| text.parse().ok().map(Scalar::Float));
    }
    text.parse::<f64>().ok().map(Scalar::Float)
}
