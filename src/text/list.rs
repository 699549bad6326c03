//! Taking out, putting in and moving: keys of a mapping and items of a list.

use std::ops::Range;

use super::comments::comments_in;
use super::edit::{Edit, end_of, last_byte, new_line, set};
use super::tree::{Kind, NodeId, Tree};

/// Takes out a key or an item, with what holds it where nothing else is left in there; what is said to people beside it
/// may stay.
pub(super) fn remove(text: &str, tree: &Tree, path: &str, comments_stay: bool) -> Result<Edit, String> {
    let (above, own) = path.rsplit_once('.').unwrap_or(("", path));
    let holder = tree.node(above).ok_or_else(|| format!("`{path}` is not in the plan"))?;
    let parts = parts(text, tree, holder);
    let at = match tree.kind(holder) {
        Kind::Map(map) => map.entries().iter().position(|entry| entry.key == own),
        Kind::Seq(items) => own.parse().ok().filter(|at| *at < items.len()),
        Kind::Scalar { .. } => None,
    };
    let at = at.filter(|at| !parts[*at].is_empty()).ok_or_else(|| format!("`{path}` is not in the plan"))?;
    if parts.len() == 1 && !above.is_empty() {
        return remove(text, tree, above, comments_stay);
    }
    if text[tree.span(holder).start..].starts_with(['{', '[']) {
        let gone = match (parts.get(at + 1), at.checked_sub(1)) {
            (Some(next), _) => parts[at].start..next.start,
            (None, Some(before)) => parts[before].end..parts[at].end,
            (None, None) => parts[at].clone(),
        };
        return Ok(Edit { at: gone, text: String::new() });
    }
    let gone = lines(text, &parts[at])?;
    if matches!(tree.kind(holder), Kind::Map(_)) && !text[gone.start..parts[at].start].trim().is_empty() {
        return Err(format!("`{path}` begins an item of a list"));
    }
    let (_, indent) = first_line(text, &parts[at])?;
    let new_line = new_line(text);
    let said = comments_in(text, tree, &gone).into_iter().filter(|_| comments_stay);
    let said: String = said.flat_map(|words| [indent.as_str(), words, new_line]).collect();
    let gone = if said.is_empty() { with_gap(text, gone) } else { gone };
    Ok(Edit { text: said, at: gone })
}

/// Lines that go, with the blank ones that would stand twice without them, or at the end of the text.
fn with_gap(text: &str, gone: Range<usize>) -> Range<usize> {
    let before = text[..gone.start].trim_end_matches([' ', '\t', '\r', '\n']);
    let above = before.len() + text[before.len()..].find('\n').map_or(0, |end| end + 1);
    let is_gap = before.is_empty() || text[above.min(gone.start)..gone.start].contains('\n');
    let rest = &text[gone.end..];
    let blank: usize = rest.split_inclusive('\n').take_while(|line| line.trim().is_empty()).map(str::len).sum();
    match () {
        () if !is_gap => gone,
        () if blank == rest.len() => above.min(gone.start)..text.len(),
        () => gone.start..gone.end + blank,
    }
}

/// Puts an item into a list: before the one at this path, or behind the last one.
pub(super) fn insert(text: &str, tree: &Tree, path: &str, value: &str) -> Result<Edit, String> {
    let (above, number) = path.rsplit_once('.').ok_or("a list is missing")?;
    let at: usize = number.parse().map_err(|_| format!("`{number}` is no number of an item"))?;
    let Some((list, parts)) = items(text, tree, above) else { return set(text, tree, above, &format!("[{value}]")) };
    let Some(last) = parts.last() else { return set(text, tree, above, &format!("[{value}]")) };
    let before = parts.get(at);
    if text[tree.span(list).start..].starts_with('[') {
        return Ok(match before {
            Some(next) => Edit { at: next.start..next.start, text: format!("{value}, ") },
            None => Edit { at: last.end..last.end, text: format!(", {value}") },
        });
    }
    let (line, indent) = first_line(text, last)?;
    let mark = format!("{indent}- {}", unbraced(value));
    let new_line = new_line(text);
    let whole = match before {
        Some(next) => with_comments(text, lines(text, next)?.start, &indent),
        None => lines(text, &(line..last.end))?.end,
    };
    let open = if text[..whole].is_empty() || text[..whole].ends_with(['\n', '\r']) { "" } else { new_line };
    Ok(Edit { at: whole..whole, text: format!("{open}{mark}{new_line}") })
}

/// Moves an item of a list, with the comments right above it.
pub(super) fn shift(text: &str, tree: &Tree, path: &str, to: usize) -> Result<Edit, String> {
    let missing = || format!("`{path}` is not in the list");
    let (above, number) = path.rsplit_once('.').ok_or("a list is missing")?;
    let from: usize = number.parse().map_err(|_| missing())?;
    let (list, parts) = items(text, tree, above).ok_or_else(missing)?;
    let own = parts.get(from).ok_or_else(missing)?;
    if to == from || to == from + 1 || to > parts.len() {
        return Err(format!("`{path}` stands there already"));
    }
    if text[tree.span(list).start..].starts_with('[') {
        let mut order: Vec<&str> = parts.iter().map(|part| &text[part.clone()]).collect();
        let moved = order.remove(from);
        order.insert(if to > from { to - 1 } else { to }, moved);
        // Between items of one line there are only commas; what is more stays as it is.
        let whole = parts[0].start..parts[parts.len() - 1].end;
        let between = parts.windows(2).map(|pair| &text[pair[0].end..pair[1].start]);
        let words: String =
            order.iter().zip(between.chain([""])).flat_map(|(item, gap)| [*item, gap]).collect::<Vec<_>>().concat();
        return Ok(Edit { at: whole, text: words });
    }
    let (_, indent) = first_line(text, own)?;
    let own = lines(text, own)?;
    let own = with_comments(text, own.start, &indent)..own.end;
    let target = match parts.get(to) {
        Some(next) => with_comments(text, lines(text, next)?.start, &indent),
        None => lines(text, &parts[parts.len() - 1])?.end,
    };
    let new_line = new_line(text);
    let ended = |words: &str| if words.ends_with('\n') { words.to_owned() } else { format!("{words}{new_line}") };
    let item = ended(&text[own.clone()]);
    Ok(if target <= own.start {
        let end = own.end;
        Edit { at: target..end, text: format!("{item}{}", &text[target..own.start]) }
    } else {
        Edit { at: own.start..target, text: format!("{}{item}", ended(&text[own.end..target])) }
    })
}

/// Writes a thing once more, under another name, behind itself.
pub(super) fn repeat(text: &str, tree: &Tree, path: &str, name: &str) -> Result<Edit, String> {
    let missing = || format!("`{path}` is not in the plan");
    let (above, own) = path.rsplit_once('.').unwrap_or(("", path));
    let holder = tree.node(above).ok_or_else(missing)?;
    let entries = tree.map(holder).ok_or_else(missing)?.entries();
    let entry = entries.iter().find(|entry| entry.key == own && tree.elsewhere(entry.value).is_none());
    let entry = entry.ok_or_else(missing)?;
    let part = entry.key_span.start..last_byte(text, tree, entry);
    let words = format!("{name}{}", &text[entry.key_span.end..part.end]);
    if text[tree.span(holder).start..].starts_with('{') {
        return Ok(Edit { at: part.end..part.end, text: format!(", {words}") });
    }
    let (_, indent) = first_line(text, &part)?;
    let end = lines(text, &part)?.end;
    let new_line = new_line(text);
    let open = if text[..end].ends_with('\n') { "" } else { new_line };
    Ok(Edit { at: end..end, text: format!("{open}{indent}{}{new_line}", words.trim_end()) })
}

/// The words of every part of a mapping or a list; empty for one that is written elsewhere.
fn parts(text: &str, tree: &Tree, holder: NodeId) -> Vec<Range<usize>> {
    match tree.kind(holder) {
        Kind::Map(map) => {
            let own = map.entries().iter().filter(|entry| tree.elsewhere(entry.value).is_none());
            own.map(|entry| entry.key_span.start..last_byte(text, tree, entry)).collect()
        }
        Kind::Seq(items) => items.iter().map(|item| tree.span(*item).start..end_of(text, tree, *item)).collect(),
        Kind::Scalar { .. } => Vec::new(),
    }
}

fn items(text: &str, tree: &Tree, path: &str) -> Option<(NodeId, Vec<Range<usize>>)> {
    let list = tree.node(path).filter(|list| matches!(tree.kind(*list), Kind::Seq(_)))?;
    Some((list, parts(text, tree, list)))
}

/// The whole lines that a part stands on, if nothing else does.
fn lines(text: &str, part: &Range<usize>) -> Result<Range<usize>, String> {
    let (start, _) = first_line(text, part)?;
    let end = part.start + text[part.clone()].trim_end().len();
    let line_end = text[end..].find('\n').map_or(text.len(), |at| end + at + 1);
    let rest = text[end..line_end].trim();
    if rest.is_empty() || rest.starts_with('#') {
        Ok(start..line_end)
    } else {
        Err("something else stands on the same line".into())
    }
}

/// Where the first line of a part begins, and what stands before it there: spaces, for an item those before its dash.
fn first_line(text: &str, part: &Range<usize>) -> Result<(usize, String), String> {
    let start = text[..part.start].rfind('\n').map_or(0, |at| at + 1);
    let before = &text[start..part.start];
    let before = before.trim_end().strip_suffix('-').unwrap_or(before);
    if before.trim().is_empty() {
        Ok((start, before.to_owned()))
    } else {
        Err("something else stands on the same line".into())
    }
}

/// Where the lines of comments begin that stand right above a line and as deep as it.
fn with_comments(text: &str, mut line: usize, indent: &str) -> usize {
    while line > 0 {
        let above = text[..line - 1].rfind('\n').map_or(0, |at| at + 1);
        let words = text[above..line].strip_prefix(indent);
        if !words.is_some_and(|words| words.starts_with('#')) {
            break;
        }
        line = above;
    }
    line
}

/// `{key: word}` as it stands behind a dash.
fn unbraced(value: &str) -> &str {
    let inner = value.strip_prefix('{').and_then(|rest| rest.strip_suffix('}'));
    inner.filter(|inner| !inner.contains(['{', '[', ',', '"', '\''])).unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::super::{Deed, Limits, change, parse};

    fn after(text: &str, path: &str, deed: &Deed) -> String {
        let (tree, _) = parse(text, Limits::default());
        let changed = change(text, &tree, path, deed).expect("it can be done").apply(text);
        let (_, misreads) = parse(&changed, Limits::default());
        assert!(misreads.is_empty(), "{changed}: {misreads:?}");
        changed
    }

    #[test]
    fn a_key_or_an_item_goes_with_its_lines_or_its_comma() {
        let gone = |text: &str, path: &str| after(text, path, &Deed::Remove);
        assert_eq!(gone("a:\n  b: 1\n  c: {d: 2}\ne: 3\n", "a.c"), "a:\n  b: 1\ne: 3\n");
        assert_eq!(gone("a: {b: 1, c: 2, d: 3}\n", "a.c"), "a: {b: 1, d: 3}\n");
        assert_eq!(gone("a: {b: 1, c: 2}\n", "a.c"), "a: {b: 1}\n");
        assert_eq!(gone("a: [x, y]\n", "a.0"), "a: [y]\n");
        assert_eq!(gone("a:\n  b: 1\n  c: 2 # two\n", "a.c"), "a:\n  b: 1\n  # two\n");
        assert_eq!(gone("a:\n  - b: 1\n    c: 2\n  - d: 3\ne: 4\n", "a.0"), "a:\n  - d: 3\ne: 4\n");
    }

    #[test]
    fn what_holds_nothing_more_goes_too() {
        assert_eq!(after("a:\n  - b: 1\ne: 4\n", "a.0", &Deed::Remove), "e: 4\n");
        assert_eq!(after("a: {b: {c: 1}, d: 2}\n", "a.b.c", &Deed::Remove), "a: {d: 2}\n");
    }

    #[test]
    fn a_section_goes_with_one_of_the_blank_lines_around_it() {
        let gone = |text: &str, path: &str| after(text, path, &Deed::Remove);
        assert_eq!(gone("a: 1\n\nb:\n  c: 2\n\nd: 3\n", "b"), "a: 1\n\nd: 3\n");
        assert_eq!(gone("a: 1\r\n\r\nb: {c: 2}\r\n \r\nd: 3\r\n", "b"), "a: 1\r\n\r\nd: 3\r\n");
        assert_eq!(gone("a: 1\n\n\nb: {c: 2}\n\n\nd: 3\n", "b"), "a: 1\n\n\nd: 3\n");
        // At the end nothing is left to part.
        assert_eq!(gone("a: 1\n\nb: 2\n", "b"), "a: 1\n");
        assert_eq!(gone("a: 1\n\nb: 2", "b"), "a: 1\n");
        assert_eq!(gone("a: 1\n\nb: 2\n\n", "b"), "a: 1\n");
        // A blank line on one side only parts what is left, and what is said stays where it was said.
        assert_eq!(gone("a: 1\nb: 2\n\nd: 3\n", "b"), "a: 1\n\nd: 3\n");
        assert_eq!(gone("a: 1\n\nb: 2\nd: 3\n", "b"), "a: 1\n\nd: 3\n");
        assert_eq!(gone("a: 1\n\nb: 2 # two\n\nd: 3\n", "b"), "a: 1\n\n# two\n\nd: 3\n");
    }

    #[test]
    fn what_is_struck_out_takes_its_comment_along() {
        assert_eq!(after("a:\n  b: 1\n  c: 2 # two\n  d: 3\n", "a.c", &Deed::Strike), "a:\n  b: 1\n  d: 3\n");
    }

    #[test]
    fn a_thing_is_written_once_more() {
        let again = |text: &str, path: &str| after(text, path, &Deed::Repeat("new".into()));
        assert_eq!(again("a: {b: {c: 1}, d: 2}\n", "a.b"), "a: {b: {c: 1}, new: {c: 1}, d: 2}\n");
        assert_eq!(
            again("a:\n  b:\n    c: 1 # one\nd: 2\n", "a.b"),
            "a:\n  b:\n    c: 1 # one\n  new:\n    c: 1\nd: 2\n"
        );
        assert_eq!(again("a:\n  b: {c: 1}", "a.b"), "a:\n  b: {c: 1}\n  new: {c: 1}\n");
    }

    #[test]
    fn an_item_comes_in_where_it_is_wanted() {
        let put = |text: &str, path: &str| after(text, path, &Deed::Insert("{x: y}".into()));
        assert_eq!(put("a:\n  - b: 1\n  # two\n  - c: 2\n", "a.1"), "a:\n  - b: 1\n  - x: y\n  # two\n  - c: 2\n");
        assert_eq!(put("a:\n  - b: 1 # one\nd: 2\n", "a.1"), "a:\n  - b: 1 # one\n  - x: y\nd: 2\n");
        assert_eq!(put("a:\n- b: 1", "a.1"), "a:\n- b: 1\n- x: y\n");
        assert_eq!(put("a: [{b: 1}]\n", "a.0"), "a: [{x: y}, {b: 1}]\n");
        assert_eq!(put("b: 1\n", "a.0"), "b: 1\na: [{x: y}]\n");
    }

    #[test]
    fn an_item_moves_with_the_comment_above_it() {
        let text = "a:\n  - b: 1\n  # two\n  - c: 2 # two\n  - d: 3\ne: 4\n";
        assert_eq!(after(text, "a.1", &Deed::Move(0)), "a:\n  # two\n  - c: 2 # two\n  - b: 1\n  - d: 3\ne: 4\n");
        assert_eq!(after(text, "a.0", &Deed::Move(3)), "a:\n  # two\n  - c: 2 # two\n  - d: 3\n  - b: 1\ne: 4\n");
        assert_eq!(after("a: [x, y, z]\n", "a.2", &Deed::Move(0)), "a: [z, x, y]\n");
    }

    #[test]
    fn what_is_not_there_or_stands_there_already_is_refused() {
        let text = "a:\n  - b: 1\n    c: 2\n";
        let (tree, _) = parse(text, Limits::default());
        assert!(change(text, &tree, "a.0.b", &Deed::Remove).is_err(), "the dash of the item stands there");
        assert!(change(text, &tree, "a.7", &Deed::Remove).is_err());
        assert!(change(text, &tree, "a.0", &Deed::Move(1)).is_err());
    }
}
