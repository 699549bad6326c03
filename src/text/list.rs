//! Changes of what a text lists: keys and items that go, come or change their place.

use std::ops::Range;

use super::edit::{Edit, end_of, last_byte};
use super::tree::{Kind, NodeId, Tree};

/// The change that takes a key with its value, or an item of a list, out of a text.
///
/// # Errors
/// A sentence: it is not there, it comes from another place, or nothing would be left beside it.
pub fn remove(text: &str, tree: &Tree, path: &str) -> Result<Edit, String> {
    let (above, at) = holder(tree, path)?;
    let parts = parts(text, tree, above);
    if parts.len() < 2 {
        return Err(format!("nothing would be left beside `{path}`"));
    }
    if in_brackets(text, tree, above) {
        let gap =
            if at + 1 < parts.len() { parts[at].start..parts[at + 1].start } else { parts[at - 1].end..parts[at].end };
        return Ok(Edit { at: gap, text: String::new() });
    }
    let lines = lines_of(text, &parts[at]).ok_or_else(|| format!("`{path}` shares its line"))?;
    Ok(Edit { at: lines, text: String::new() })
}

/// The change that puts one more item into a list, before the one that has this number, or behind the last.
///
/// # Errors
/// A sentence: there is no such list, or it is empty.
pub fn insert(text: &str, tree: &Tree, list: &str, before: usize, item: &str) -> Result<Edit, String> {
    let node = tree.node(list).filter(|node| matches!(tree.kind(*node), Kind::Seq(_)));
    let node = node.ok_or_else(|| format!("`{list}` is no list"))?;
    let parts = parts(text, tree, node);
    let last = parts.last().ok_or_else(|| format!("`{list}` is empty"))?;
    let next = parts.get(before);
    if in_brackets(text, tree, node) {
        return Ok(match next {
            Some(next) => Edit { at: next.start..next.start, text: format!("{item}, ") },
            None => Edit { at: last.end..last.end, text: format!(", {item}") },
        });
    }
    let beside = lines_of(text, next.unwrap_or(last)).ok_or_else(|| format!("`{list}` shares its line"))?;
    let indent = &text[beside.start..next.unwrap_or(last).start];
    let at = if next.is_some() { beside.start } else { beside.end };
    Ok(Edit { at: at..at, text: format!("{indent}- {item}{}", line_break(text)) })
}

/// The text with an item of a list at another place, its comment with it.
///
/// # Errors
/// A sentence: there is no such item, or it shares its line with another.
pub fn reorder(text: &str, tree: &Tree, list: &str, from: usize, before: usize) -> Result<String, String> {
    let node = tree.node(list).ok_or_else(|| format!("`{list}` is no list"))?;
    let parts = parts(text, tree, node);
    let line = |at: usize| parts.get(at).and_then(|part| lines_of(text, part));
    let item = line(from).ok_or_else(|| format!("`{list}.{from}` has no line of its own"))?;
    let to = line(before).ok_or_else(|| format!("`{list}.{before}` has no line of its own"))?.start;
    let words = &text[item.clone()];
    Ok(if to <= item.start {
        format!("{}{words}{}{}", &text[..to], &text[to..item.start], &text[item.end..])
    } else {
        format!("{}{}{words}{}", &text[..item.start], &text[item.end..to], &text[to..])
    })
}

/// The change that writes a thing once more, under another name, behind itself.
///
/// # Errors
/// A sentence: it is not there, or it comes from another place.
pub fn repeat(text: &str, tree: &Tree, path: &str, name: &str) -> Result<Edit, String> {
    let (above, at) = holder(tree, path)?;
    let Kind::Map(map) = tree.kind(above) else { return Err(format!("`{path}` has no name")) };
    let entry = &map.entries()[at];
    let part = parts(text, tree, above).swap_remove(at);
    let words = format!("{name}{}", &text[entry.key_span.end..part.end]);
    if in_brackets(text, tree, above) {
        return Ok(Edit { at: part.end..part.end, text: format!(", {words}") });
    }
    let lines = lines_of(text, &part).ok_or_else(|| format!("`{path}` shares its line"))?;
    let indent = &text[lines.start..part.start];
    Ok(Edit { at: lines.end..lines.end, text: format!("{indent}{words}{}", line_break(text)) })
}

fn line_break(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// What holds a key or an item, and its number there.
fn holder(tree: &Tree, path: &str) -> Result<(NodeId, usize), String> {
    let missing = || format!("`{path}` is not there");
    let (above, key) = path.rsplit_once('.').unwrap_or(("", path));
    let above = if above.is_empty() { tree.root() } else { tree.node(above) }.ok_or_else(missing)?;
    let at = match tree.kind(above) {
        Kind::Map(map) => map.entries().iter().position(|entry| entry.key == key),
        Kind::Seq(items) => key.parse().ok().filter(|at| *at < items.len()),
        Kind::Scalar { .. } => None,
    };
    let at = at.ok_or_else(missing)?;
    let value = match tree.kind(above) {
        Kind::Map(map) => map.entries()[at].value,
        Kind::Seq(items) => items[at],
        Kind::Scalar { .. } => above,
    };
    if tree.elsewhere(value).is_some() { Err(format!("`{path}` comes from another place")) } else { Ok((above, at)) }
}

fn in_brackets(text: &str, tree: &Tree, node: NodeId) -> bool {
    text[tree.span(node).start..].starts_with(['{', '['])
}

/// Where each entry or item stands: of an item in lines, with its dash.
fn parts(text: &str, tree: &Tree, node: NodeId) -> Vec<Range<usize>> {
    match tree.kind(node) {
        Kind::Map(map) => {
            map.entries().iter().map(|entry| entry.key_span.start..last_byte(text, tree, entry)).collect()
        }
        Kind::Seq(items) => {
            let dashed = !in_brackets(text, tree, node);
            let start = |at: usize| if dashed { text[..at].rfind('-').unwrap_or(at) } else { at };
            items.iter().map(|item| start(tree.span(*item).start)..end_of(text, tree, *item)).collect()
        }
        Kind::Scalar { .. } => Vec::new(),
    }
}

/// The whole lines of a part that shares none of them with others; a comment behind it belongs to it.
fn lines_of(text: &str, part: &Range<usize>) -> Option<Range<usize>> {
    let start = text[..part.start].rfind('\n').map_or(0, |at| at + 1);
    let end = part.start + text[part.clone()].trim_end().len();
    let line_end = text[end..].find('\n').map(|at| end + at + 1)?;
    let behind = text[end..line_end].trim_start();
    let alone = text[start..part.start].trim().is_empty() && (behind.is_empty() || behind.starts_with('#'));
    alone.then_some(start..line_end)
}

#[cfg(test)]
mod tests {
    use super::super::parse::{Limits, parse};
    use super::*;

    fn tree(text: &str) -> Tree {
        let (tree, misreads) = parse(text, Limits::default());
        assert!(misreads.is_empty(), "{text}: {misreads:?}");
        tree
    }

    fn without(text: &str, path: &str) -> String {
        let left = remove(text, &tree(text), path).expect("it goes").apply(text);
        tree(&left);
        left
    }

    #[test]
    fn a_key_goes_with_its_line_or_its_comma() {
        assert_eq!(without("a: 1 # one\nb: 2\n", "a"), "b: 2\n");
        assert_eq!(without("a: {b: 1, c: 2}\n", "a.b"), "a: {c: 2}\n");
        assert_eq!(without("a: {b: 1, c: [2, 3]}\n", "a.c"), "a: {b: 1}\n");
        assert_eq!(without("a:\n  b:\n    c: 1\n  d: 2\n", "a.b"), "a:\n  d: 2\n");
        assert_eq!(without("a:\n  - b: 1\n  - c: 2 # two\n  - d: 3\n", "a.1"), "a:\n  - b: 1\n  - d: 3\n");
        assert_eq!(without("a: [x, y, z]\n", "a.2"), "a: [x, y]\n");
        assert!(remove("a: {b: 1}\n", &tree("a: {b: 1}\n"), "a.b").is_err());
        assert!(remove("a: 1\nb: 2\n", &tree("a: 1\nb: 2\n"), "c").is_err());
    }

    #[test]
    fn an_item_comes_in_the_way_of_the_list() {
        let with = |text: &str, before| insert(text, &tree(text), "a", before, "x: 1").expect("a list").apply(text);
        assert_eq!(with("a: [b, c]\n", 1), "a: [b, x: 1, c]\n");
        assert_eq!(with("a: [b, c]\n", 9), "a: [b, c, x: 1]\n");
        assert_eq!(with("a:\n  - b: 1 # one\n  - c: 2\n", 1), "a:\n  - b: 1 # one\n  - x: 1\n  - c: 2\n");
        assert_eq!(with("a:\n  - b: 1\nc: 2\n", 9), "a:\n  - b: 1\n  - x: 1\nc: 2\n");
    }

    #[test]
    fn an_item_moves_with_its_comment() {
        let text = "a:\n  - b: 1 # one\n  - c: 2\n  - d: 3\n";
        let moved = |from, before| reorder(text, &tree(text), "a", from, before).expect("items");
        assert_eq!(moved(0, 2), "a:\n  - c: 2\n  - b: 1 # one\n  - d: 3\n");
        assert_eq!(moved(2, 0), "a:\n  - d: 3\n  - b: 1 # one\n  - c: 2\n");
        assert!(reorder("a: [b, c]\n", &tree("a: [b, c]\n"), "a", 0, 1).is_err());
    }

    #[test]
    fn a_thing_is_written_once_more() {
        let twice = |text: &str| repeat(text, &tree(text), "a.b", "b-2").expect("a thing").apply(text);
        assert_eq!(twice("a:\n  b:\n    c: 1\n  d: 2\n"), "a:\n  b:\n    c: 1\n  b-2:\n    c: 1\n  d: 2\n");
        assert_eq!(twice("a: {b: {c: 1}}\n"), "a: {b: {c: 1}, b-2: {c: 1}}\n");
    }
}
