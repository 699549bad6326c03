//! Where in a half-written plan the pointer stands: which key or value is being typed there.
//!
//! A word that stands for nothing is put in the place of what is being typed; where it turns up in the tree is the path.

use std::ops::Range;

use crate::text::{Kind, Limits, NodeId, Tree, parse};

/// The word that is put in the place of what is being typed.
pub const WORD: &str = "zz-typed-here";

/// What is being typed.
#[derive(Debug)]
pub struct Slot {
    /// The path of the key or value that is being typed; a key ends with [`WORD`].
    pub path: String,
    /// Whether it is a key.
    pub is_key: bool,
    /// The bytes that it takes.
    pub replace: Range<usize>,
    /// What is typed so far, up to the pointer.
    pub typed: String,
    /// Whether a space has to come before it.
    pub needs_space: bool,
    /// Whether a key has its colon already.
    pub has_colon: bool,
    /// The text in which it is typed. A key that was there before under the same name is called otherwise in it.
    text: String,
    /// What closes the brackets that are still open, for texts in which nobody has closed them yet.
    closes: String,
    /// The tree of the text with the word in it.
    pub tree: Tree,
}

/// What may stand at the pointer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// A key, at the beginning of a line or in braces.
    Key,
    /// A value behind a colon.
    Value,
    /// A value in a list.
    Item,
    /// A value in a list, or the first key of one.
    Either,
    /// Nothing: a value has just been closed.
    Nothing,
}

/// What is being typed at a byte offset.
pub fn find(text: &str, offset: usize) -> Option<Slot> {
    let scan = Scan::of(text, offset)?;
    let start = offset - text[scan.start..offset].trim_start().len();
    let places: &[Place] = match scan.place {
        Place::Either => &[Place::Key, Place::Item],
        Place::Nothing => return None,
        ref other => std::slice::from_ref(other),
    };
    places.iter().find_map(|place| {
        let found = scan.slot(text, start, offset, *place);
        let again = || scan.slot(&without_namesake(text, start)?, start, offset, *place);
        found.or_else(|| again().filter(|_| *place == Place::Value))
    })
}

/// The text with the key that was there before under the name of the one whose value begins here called otherwise: of two
/// keys with one name only the first is read.
fn without_namesake(text: &str, start: usize) -> Option<String> {
    let colon = text[..start].trim_end().strip_suffix(':')?;
    let begin = colon.rfind(['\n', '\r', '{', ',']).map_or(0, |at| at + 1);
    let key = colon[begin..].trim_start_matches([' ', '\t', '-']);
    let name = key.trim().trim_matches(['"', '\'']);
    let (tree, _) =
        parse(&format!("{}{WORD}{}", &text[..colon.len() - key.len()], &text[colon.len()..]), Limits::default());
    let path = path_of(&tree, tree.root()?, true)?;
    let above = path.rsplit_once('.').map_or("", |(above, _)| above);
    let other = tree.map(tree.node(above)?)?.get(name).filter(|_| !name.is_empty())?.key_span.clone();
    let mut text = text.to_owned();
    (other.end <= start).then(|| text.replace_range(other.clone(), &"z".repeat(other.len())))?;
    Some(text)
}

/// What stands before the pointer.
struct Scan {
    /// The brackets that are open.
    open: Vec<char>,
    place: Place,
    /// Where what is being typed may begin.
    start: usize,
}

impl Scan {
    /// Reads up to the pointer; nothing within quotes and comments.
    fn of(text: &str, offset: usize) -> Option<Self> {
        let mut scan = Self { open: Vec::new(), place: Place::Key, start: 0 };
        let mut characters = text[..offset].char_indices().peekable();
        while let Some((at, c)) = characters.next() {
            let fresh = text[scan.start..at].trim().is_empty();
            let next = text[at + c.len_utf8()..].chars().next();
            let ends_word = next.is_none_or(|next| next.is_whitespace() || (scan.in_flow() && ",]}".contains(next)));
            match c {
                '\n' | '\r' if !scan.in_flow() => scan.go(at + 1, Place::Key),
                '#' if text[..at].ends_with(char::is_whitespace) || at == 0 => {
                    let line = text[at..].find(['\n', '\r']).map_or(text.len(), |end| at + end);
                    if line >= offset {
                        return None;
                    }
                    while characters.peek().is_some_and(|(at, _)| *at < line) {
                        characters.next();
                    }
                }
                '"' | '\'' if fresh => loop {
                    let (at, inner) = characters.next()?;
                    match inner {
                        '\\' if c == '"' => drop(characters.next()),
                        _ if inner != c => {}
                        _ if c == '\'' && text[at + 1..].starts_with('\'') => drop(characters.next()),
                        _ => break,
                    }
                },
                '{' | '[' if fresh => {
                    scan.open.push(c);
                    scan.go(at + 1, scan.inside());
                }
                '}' | ']' if scan.in_flow() => {
                    scan.open.pop();
                    scan.go(at + 1, Place::Nothing);
                }
                ',' if scan.in_flow() => scan.go(at + 1, scan.inside()),
                '-' if fresh && ends_word && !scan.in_flow() => scan.go(at + 1, Place::Either),
                ':' if ends_word => scan.go(at + 1, Place::Value),
                _ => {}
            }
        }
        Some(scan)
    }

    fn in_flow(&self) -> bool {
        !self.open.is_empty()
    }

    fn inside(&self) -> Place {
        if self.open.last() == Some(&'[') { Place::Item } else { Place::Key }
    }

    fn go(&mut self, start: usize, place: Place) {
        (self.start, self.place) = (start, place);
    }

    /// Where what is being typed ends.
    fn end(&self, text: &str, offset: usize, place: Place) -> usize {
        let rest = &text[offset..];
        let line = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let rest = &rest[..line];
        let stop = match place {
            Place::Key => rest.find(|c: char| c == ':' || c.is_whitespace() || ",}]".contains(c)),
            _ if self.in_flow() => rest.find([',', ']', '}']),
            _ => None,
        };
        let rest = &rest[..stop.unwrap_or(rest.len())];
        let rest = rest.find(" #").map_or(rest, |comment| &rest[..comment]);
        offset + rest.trim_end().len()
    }

    fn slot(&self, text: &str, start: usize, offset: usize, place: Place) -> Option<Slot> {
        let end = self.end(text, offset, place);
        let is_key = place == Place::Key;
        let needs_space = place == Place::Value && text[..start].ends_with(':');
        let mut slot = Slot {
            path: String::new(),
            is_key,
            replace: start..end,
            typed: text[start..offset].to_owned(),
            needs_space,
            has_colon: is_key && text[end..].starts_with(':'),
            text: text.to_owned(),
            closes: String::new(),
            tree: Tree::default(),
        };
        let closes: String = self.open.iter().rev().map(|open| if *open == '[' { ']' } else { '}' }).collect();
        for closes in [String::new(), closes] {
            slot.closes = closes;
            let (tree, _) = parse(&slot.with(WORD, ""), Limits::default());
            if let Some(path) = tree.root().and_then(|root| path_of(&tree, root, is_key)) {
                return Some(Slot { path, tree, ..slot });
            }
        }
        None
    }
}

impl Slot {
    /// The text as if a word stood where something is being typed; a key that has no value yet gets this one.
    pub fn with(&self, word: &str, value: &str) -> String {
        let text = &self.text;
        let space = if self.needs_space { " " } else { "" };
        let value = if self.is_key && !self.has_colon { format!(": {value}") } else { String::new() };
        let (before, after) = (&text[..self.replace.start], &text[self.replace.end..]);
        format!("{before}{space}{word}{value}{}{after}", self.closes)
    }

    /// The path of what holds this key or value.
    pub fn above(&self) -> &str {
        self.path.rsplit_once('.').map_or("", |(above, _)| above)
    }
}

/// The path at which the word stands.
fn path_of(tree: &Tree, node: NodeId, is_key: bool) -> Option<String> {
    let join = |name: &str, below: &str| if below.is_empty() { name.to_owned() } else { format!("{name}.{below}") };
    match tree.kind(node) {
        Kind::Map(map) => map.entries().iter().find_map(|entry| match (is_key, entry.key == WORD) {
            (true, true) => Some(WORD.to_owned()),
            _ => Some(join(&entry.key, &path_of(tree, entry.value, is_key)?)),
        }),
        Kind::Seq(items) => {
            items.iter().enumerate().find_map(|(at, item)| Some(join(&at.to_string(), &path_of(tree, *item, is_key)?)))
        }
        Kind::Scalar { text, .. } => (!is_key && text == WORD).then(String::new),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The path that is being typed at the mark.
    fn at(marked: &str) -> Option<(String, String)> {
        let offset = marked.find('|').expect("a mark");
        let slot = find(&marked.replacen('|', "", 1), offset)?;
        Some((slot.path.replace(WORD, "?"), slot.typed))
    }

    #[test]
    fn what_is_typed_has_a_path_in_every_style() {
        for (marked, path, typed) in [
            ("wires:\n  main:\n    si|\n    length: 4 m\n", "wires.main.?", "si"),
            ("wires:\n  main:\n    |\n", "wires.main.?", ""),
            ("wires:\n  main:\n    size: 4 A|\n    length: 4 m\n", "wires.main.size", "4 A"),
            ("wires:\n  main:\n    size:|\n", "wires.main.size", ""),
            ("wires: {main: {size: 4 AWG, le|}}\n", "wires.main.?", "le"),
            ("wires: {main: {size: |, length: 4 m}}\n", "wires.main.size", ""),
            ("wires:\n  main: {size: 4 AWG, |\n  back: {size: 4 AWG}\n", "wires.main.?", ""),
            ("wires:\n  main:\n    path: [dash, ca|]\n", "wires.main.path.1", "ca"),
            ("wires:\n  main:\n    path: [dash, |\n    size: 4 AWG\n", "wires.main.path.1", ""),
            ("steps:\n  - run: ma|\n", "steps.0.run", "ma"),
            ("steps:\n  - r|\n", "steps.0.?", "r"),
            ("job: {summary: don't, note: x}\nwi|\n", "?", "wi"),
            ("a:\n  b: 'it''s: {'\n  c|: 1\n", "a.?", "c"),
            ("wires:\n  main:\n    size: 4 AWG\n    size: 2|\n", "wires.main.size", "2"),
            ("steps:\n  - run: main\n    run: |\n", "steps.0.run", ""),
            ("wires: {main: {size: 4 AWG, size: |}}\n", "wires.main.size", ""),
        ] {
            for marked in [marked.to_owned(), marked.replace('\n', "\r\n")] {
                assert_eq!(at(&marked), Some((path.to_owned(), typed.to_owned())), "{marked:?}");
            }
        }
    }

    #[test]
    fn nothing_is_typed_in_comments_and_quotes_and_behind_what_is_closed() {
        for marked in ["a: 1 # b|\n", "a: \"b|\"\n", "a: {b: 1} |\n"] {
            assert_eq!(at(marked), None, "{marked}");
        }
    }

    #[test]
    fn the_whole_word_is_replaced() {
        let text = "wires: {main: {size: 4 AWG, length: 4 m}}";
        let slot = find(text, text.find("AWG").expect("a unit")).expect("a slot");
        assert_eq!(&text[slot.replace.clone()], "4 AWG");
        assert_eq!(slot.with("2 AWG", ""), text.replace("4 AWG", "2 AWG"));
    }
}
