//! What a reference to a shelf brings, and where it leads.

use std::fmt::Write;
use std::ops::Range;

use gen_lsp_types::Location;

use super::desk::Desk;
use super::document::Document;
use super::houses::Found;
use crate::plan::{OnShelf, Shelves, section_of};
use crate::report::clean;
use crate::text::{Lines, Tree, last_byte};

/// The thing on the shelf that the reference at a path leads to.
fn referred<'a>(shelves: &'a Shelves, tree: &Tree, path: &str) -> Option<OnShelf<'a>> {
    shelves.on_shelf(section_of(path)?, tree.text(tree.node(path)?)?)
}

/// What the reference at a path brings: the words on the shelf, and those that it refers to in turn.
pub fn brought(shelves: &Shelves, tree: &Tree, path: &str) -> String {
    let (mut words, mut passed) = (String::new(), Vec::new());
    let mut next = referred(shelves, tree, path);
    while let Some(thing) = next {
        let OnShelf { shelf, entry, file, refers_to } = thing;
        let at = (file, entry.key_span.start);
        if passed.contains(&at) {
            break;
        }
        passed.push(at);
        let (line, _) = Lines::new(&shelf.text).position(&shelf.text, entry.key_span.start);
        let own = entry.key_span.start..last_byte(&shelf.text, &shelf.tree, entry);
        let own = shelf.text.get(own).unwrap_or_default().trim_end();
        let own: Vec<String> = own.lines().map(|line| clean(line).replace("```", "'''")).collect();
        let _ = write!(words, "{}, line {line}:\n\n```yaml\n{}\n```\n\n", clean(&shelf.path), own.join("\n"));
        next = refers_to.and_then(|name| shelves.on_shelf(section_of(path)?, name));
    }
    words
}

/// Where the thing stands that the reference at a path leads to.
pub fn definition(found: &Found, tree: &Tree, path: &str, document: &Document, desk: &Desk<'_>) -> Option<Location> {
    let thing = referred(&found.house.shelves, tree, path)?;
    place_on_shelf(found, thing.file, &thing.entry.key_span, document, desk)
}

/// Where words stand in a shelf file.
pub fn place_on_shelf(
    found: &Found,
    file: usize,
    words: &Range<usize>,
    document: &Document,
    desk: &Desk<'_>,
) -> Option<Location> {
    let (path, shelf) = (found.shelves.get(file)?, found.house.shelves.files.get(file)?);
    Some(document.location_in(desk.uri(path), &shelf.text, words))
}
