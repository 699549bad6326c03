//! Changes of a text that leave every other byte as it was.

use std::ops::Range;

use super::comments::comments_in;
use super::parse::{Limits, parse};
use super::tree::{Entry, Kind, Map, NodeId, Tree};

/// What stands at a byte range becomes something else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// The bytes that go.
    pub at: Range<usize>,
    /// What comes in their place.
    pub text: String,
}

impl Edit {
    /// The text after the change.
    pub fn apply(&self, text: &str) -> String {
        format!("{}{}{}", &text[..self.at.start], self.text, &text[self.at.end..])
    }
}

/// How lines end in a text.
pub fn new_line(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// The change that makes a path say a value, written as in a plan: `1/0 AWG`, `true`, `[dash, cargo]`.
///
/// Keys that are missing on the way are put behind the last one of the mapping they belong to.
///
/// # Errors
/// A sentence: the value is no YAML, or the path leads through something that has no keys.
pub fn set(text: &str, tree: &Tree, path: &str, value: &str) -> Result<Edit, String> {
    let value = in_line(value)?;
    let mut node = tree.root().ok_or("the text holds no plan")?;
    let segments: Vec<&str> = path.split('.').collect();
    for (depth, segment) in segments.iter().enumerate() {
        let last = depth + 1 == segments.len();
        let below = || nested(&segments[depth + 1..], &value);
        let (next, used_at) = match tree.kind(node) {
            Kind::Map(map) => match map.get(segment) {
                Some(entry) if tree.elsewhere(entry.value).is_none() => (entry.value, value_range(text, entry)),
                _ if segments.get(depth + 1).is_some_and(|next| next.parse::<usize>().is_ok()) => {
                    return Err(format!(
                        "the list `{}` is not written in this plan; set it whole",
                        segments[..=depth].join(".")
                    ));
                }
                // What another text says is overridden here.
                _ => return Ok(add(text, tree, node, map, segment, &below())),
            },
            Kind::Seq(items) => {
                let item = segment.parse::<usize>().ok().and_then(|at| items.get(at));
                let item = *item.ok_or_else(|| format!("`{}` is not in the list", segments[..=depth].join(".")))?;
                (item, tree.span(item))
            }
            Kind::Scalar { .. } => {
                return Err(format!("`{}` holds a single value and has no keys", segments[..depth].join(".")));
            }
        };
        if last {
            let said = comments_in(text, tree, &used_at);
            return Ok(replace(text, on_the_line(text, used_at), &with_comments(text, &value, &said)));
        }
        if tree.is_null(next) {
            return Ok(replace(text, used_at, &below()));
        }
        node = next;
    }
    Err("a path is missing".into())
}

/// A value as it can stand anywhere on a line, between braces too.
pub(super) fn in_line(value: &str) -> Result<String, String> {
    let value = value.trim();
    let (tree, misreads) = parse(value, Limits::default());
    if let Some(misread) = misreads.first() {
        return Err(misread.what.clone());
    }
    match tree.root().map(|root| tree.kind(root)) {
        None => Ok("~".into()),
        Some(Kind::Scalar { text, plain: true }) if is_plain(text) => Ok(text.clone()),
        // Quotes and escapes of JSON are those of YAML.
        Some(Kind::Scalar { text, .. }) => Ok(serde_json::Value::from(text.as_str()).to_string()),
        Some(_) if value.starts_with(['{', '[']) && !value.contains(['\n', '\r']) => Ok(value.to_owned()),
        Some(_) => Err("several values are written in one line, like [dash, cargo] or {form: bolt-down}".into()),
    }
}

/// Whether words mean themselves without quotes, whatever stands around them.
pub fn is_plain(text: &str) -> bool {
    let marks = [',', '[', ']', '{', '}', '#', ':', '&', '*', '!', '|', '>', '\'', '"', '%', '@', '`', '?', '\n', '\r'];
    !text.is_empty() && !text.contains(marks) && !text.starts_with("- ") && text != "-"
}

/// A value below keys that are not there yet.
fn nested(keys: &[&str], value: &str) -> String {
    keys.iter().rev().fold(value.to_owned(), |value, key| format!("{{{key}: {value}}}"))
}

/// Where the value of a key stands; of a key without one, where it would.
fn value_range(text: &str, entry: &Entry) -> Range<usize> {
    if !entry.used_at.is_empty() {
        return entry.used_at.clone();
    }
    let colon = text[entry.key_span.end..].find(':').map_or(entry.key_span.end, |at| entry.key_span.end + at + 1);
    colon..colon
}

/// The same range from behind the key's colon, where only the end of a line lies between.
fn on_the_line(text: &str, at: Range<usize>) -> Range<usize> {
    let before = text[..at.start].trim_end();
    if before.ends_with(':') && text[before.len()..at.start].contains('\n') { before.len()..at.end } else { at }
}

/// A value with what was said to people within the one before it.
fn with_comments(text: &str, value: &str, said: &[&str]) -> String {
    let new_line = new_line(text);
    if said.is_empty() { value.to_owned() } else { format!("{value} {}", said.join(new_line)) }
}

fn replace(text: &str, at: Range<usize>, value: &str) -> Edit {
    // A key without a value ends at its colon.
    let gap = if text[..at.start].ends_with(':') { " " } else { "" };
    Edit { at, text: format!("{gap}{value}") }
}

/// A new key behind the last one of a mapping.
fn add(text: &str, tree: &Tree, node: NodeId, map: &Map, key: &str, value: &str) -> Edit {
    let span = tree.span(node);
    let end = map.entries().iter().map(|entry| last_byte(text, tree, entry)).max();
    if text[span.start..].starts_with('{') {
        let (at, comma) = end.map_or((span.start + 1, ""), |end| (end, ", "));
        return Edit { at: at..at, text: format!("{comma}{key}: {value}") };
    }
    let first = map.entries().first().map_or(span.start, |entry| entry.key_span.start);
    let line_start = text[..first].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let indent: String = text[line_start..first].chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
    let end = text[..end.unwrap_or(first)].trim_end().len();
    let line_end = text[end..].find(['\n', '\r']).map_or(text.len(), |at| end + at);
    let new_line = new_line(text);
    let indent = indent.trim_start_matches('\u{feff}');
    Edit { at: line_end..line_end, text: format!("{new_line}{indent}{key}: {value}") }
}

/// Where the words of an entry end: its own, not those of an anchor it refers to.
pub fn last_byte(text: &str, tree: &Tree, entry: &Entry) -> usize {
    let used = entry.used_at.end.max(entry.key_span.end);
    let is_own = entry.used_at.start <= tree.span(entry.value).start;
    if is_own { end_of(text, tree, entry.value).max(entry.key_span.end) } else { used }
}

/// Where the last word of a value ends. The span of one that is told by its indent goes on to the next word.
pub(super) fn end_of(text: &str, tree: &Tree, node: NodeId) -> usize {
    let span = tree.span(node);
    let in_brackets = text[span.start..].starts_with(['{', '[']);
    let last = match tree.kind(node) {
        _ if in_brackets => None,
        Kind::Map(map) => map.entries().last().map(|entry| last_byte(text, tree, entry)),
        Kind::Seq(items) => items.last().map(|item| end_of(text, tree, *item)),
        Kind::Scalar { .. } => None,
    };
    last.unwrap_or(span.end)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(text: &str, path: &str, value: &str) -> String {
        let (tree, misreads) = parse(text, Limits::default());
        assert!(misreads.is_empty(), "{misreads:?}");
        let changed = set(text, &tree, path, value).expect("it can be set").apply(text);
        let (tree, misreads) = parse(&changed, Limits::default());
        assert!(misreads.is_empty(), "{changed}: {misreads:?}");
        assert!(tree.node(path).is_some(), "{path} is not in {changed}");
        changed
    }

    #[test]
    fn a_value_is_replaced_and_nothing_else() {
        let text = "wires: # all\n  main: {size: 4 AWG, length: 4.9 m} # feed\n";
        assert_eq!(after(text, "wires.main.size", "1/0 AWG"), text.replace("4 AWG", "1/0 AWG"));
        assert_eq!(after("a: [x, y]\r\nb: 1\r\n", "a.1", "z"), "a: [x, z]\r\nb: 1\r\n");
        assert_eq!(after("a:\n  b: 1\nc: 2\n", "a", "{d: 3}"), "a: {d: 3}\nc: 2\n");
        assert_eq!(after("a:\n  b: 1 # one\nc: 2\n", "a", "{d: 3}"), "a: {d: 3} # one\nc: 2\n");
    }

    #[test]
    fn a_new_key_comes_behind_the_last_one() {
        assert_eq!(after("a:\n  b: 1 # one\nc: 2\n", "a.d", "3"), "a:\n  b: 1 # one\n  d: 3\nc: 2\n");
        assert_eq!(after("a: {b: {c: 1}}\n", "a.d", "x y"), "a: {b: {c: 1}, d: x y}\n");
        assert_eq!(after("a: {}\n", "a.b.c", "1"), "a: {b: {c: 1}}\n");
        assert_eq!(after("a:\nb: 1\n", "a.c", "2"), "a: {c: 2}\nb: 1\n");
        assert_eq!(
            after("a:\n  b:\n    c: 1\n\n# next\nd: 2\n", "a.e", "3"),
            "a:\n  b:\n    c: 1\n  e: 3\n\n# next\nd: 2\n"
        );
        assert_eq!(after("a: 1\r\n", "b", "2"), "a: 1\r\nb: 2\r\n");
        assert_eq!(after("a: 1", "b", "2"), "a: 1\nb: 2");
    }

    #[test]
    fn lists_of_things_get_keys_in_their_own_column() {
        assert_eq!(
            after("a:\n  - b: 1\n    c: 2\n  - d: 3\n", "a.0.e", "4"),
            "a:\n  - b: 1\n    c: 2\n    e: 4\n  - d: 3\n"
        );
    }

    #[test]
    fn an_alias_is_replaced_where_it_is_used() {
        assert_eq!(after("a: &x 4 AWG\nb: *x\n", "b", "2 AWG"), "a: &x 4 AWG\nb: 2 AWG\n");
    }

    #[test]
    fn words_that_would_mean_something_else_are_quoted() {
        assert_eq!(after("a: {b: 1}\n", "a.b", "'x, y: z'"), "a: {b: \"x, y: z\"}\n");
    }

    #[test]
    fn what_cannot_be_said_is_refused() {
        let (tree, _) = parse("a: [1]\nb: 2\n", Limits::default());
        for (path, value) in [("a.5", "1"), ("b.c", "1"), ("b", "[1"), ("b", "x: 1\ny: 2")] {
            assert!(set("a: [1]\nb: 2\n", &tree, path, value).is_err(), "{path} {value}");
        }
    }
}
