//! A text at a glance: its sections and the things in them, to jump to and to fold.

use std::ops::Range;

use gen_lsp_types::{BaseSymbolInformation, DocumentSymbol, FoldingRange, SymbolInformation, SymbolKind};

use super::client::Client;
use super::desk::{Answered, written};
use super::document::Document;
use crate::report::clean;
use crate::text::{Entry, Kind, Map, NodeId, Tree, last_byte};

/// A section, or a thing in one.
struct Part {
    name: String,
    detail: Option<String>,
    kind: SymbolKind,
    range: Range<usize>,
    words: Range<usize>,
    parts: Vec<Part>,
}

/// The outline of a text, with levels where the editor knows them.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn symbols(document: &Document, tree: &Tree, client: &Client) -> Answered {
    let parts = parts(&document.text, tree);
    if client.levels {
        return written(&parts.iter().map(|part| with_levels(document, part)).collect::<Vec<_>>());
    }
    let flat = parts.iter().flat_map(|section| {
        let below = section.parts.iter().map(|part| symbol(document, part, Some(&section.name)));
        std::iter::once(symbol(document, section, None)).chain(below).collect::<Vec<_>>()
    });
    written(&flat.collect::<Vec<_>>())
}

/// What can be folded: every section and every thing that goes over several lines.
pub fn folds(document: &Document, tree: &Tree) -> Vec<FoldingRange> {
    let sections = parts(&document.text, tree);
    let all = sections.iter().flat_map(|section| std::iter::once(section).chain(&section.parts));
    let lines =
        all.map(|part| (document.positions.line(part.range.start), document.positions.line(part.range.end.max(1) - 1)));
    let folds = lines.filter(|(start, end)| start < end);
    folds.map(|(start_line, end_line)| FoldingRange { start_line, end_line, ..Default::default() }).collect()
}

#[allow(deprecated, reason = "the type has no other way to leave the old mark out")]
fn with_levels(document: &Document, part: &Part) -> DocumentSymbol {
    let children: Vec<DocumentSymbol> = part.parts.iter().map(|part| with_levels(document, part)).collect();
    DocumentSymbol {
        name: part.name.clone(),
        detail: part.detail.clone(),
        kind: part.kind,
        tags: None,
        deprecated: None,
        range: document.span(&part.range),
        selection_range: document.span(&part.words),
        children: (!children.is_empty()).then_some(children),
    }
}

#[allow(deprecated, reason = "the type has no other way to leave the old mark out")]
fn symbol(document: &Document, part: &Part, within: Option<&str>) -> SymbolInformation {
    let container_name = within.map(str::to_owned);
    let base = BaseSymbolInformation { name: part.name.clone(), kind: part.kind, tags: None, container_name };
    SymbolInformation { deprecated: None, location: document.location(&part.range), base_symbol_information: base }
}

/// The sections of a text with what is in them.
fn parts(text: &str, tree: &Tree) -> Vec<Part> {
    let sections = tree.root().and_then(|root| tree.map(root)).into_iter().flat_map(Map::entries);
    let section = |entry: &Entry| Part { parts: within(text, tree, entry.value), ..entry_part(text, tree, entry) };
    sections.map(section).collect()
}

fn within(text: &str, tree: &Tree, node: NodeId) -> Vec<Part> {
    match tree.kind(node) {
        Kind::Map(map) => {
            let own = map.entries().iter().filter(|entry| tree.is_written_here(entry));
            own.map(|entry| entry_part(text, tree, entry)).collect()
        }
        Kind::Seq(items) => items.iter().enumerate().map(|(at, item)| item_part(tree, at, *item)).collect(),
        Kind::Scalar { .. } => Vec::new(),
    }
}

fn entry_part(text: &str, tree: &Tree, entry: &Entry) -> Part {
    let start = entry.key_span.start;
    let kind = match tree.kind(entry.value) {
        Kind::Map(_) => SymbolKind::Object,
        Kind::Seq(_) => SymbolKind::Array,
        Kind::Scalar { .. } => SymbolKind::Property,
    };
    Part {
        name: shown(&entry.key),
        detail: tree.text(entry.value).map(shown),
        kind,
        range: start..last_byte(text, tree, entry).max(entry.key_span.end),
        words: entry.key_span.clone(),
        parts: Vec::new(),
    }
}

/// An item of a list, called by its number and the first thing that it says.
fn item_part(tree: &Tree, at: usize, item: NodeId) -> Part {
    let first = tree.map(item).and_then(|map| map.entries().first());
    let says = match first {
        Some(entry) => format!("{} {}", entry.key, tree.text(entry.value).unwrap_or_default()),
        None => tree.text(item).unwrap_or_default().to_owned(),
    };
    let span = tree.span(item);
    Part {
        name: shown(format!("{}: {says}", at + 1).trim()),
        detail: None,
        kind: SymbolKind::Object,
        words: span.start..first.map_or(span.end, |entry| entry.used_at.end.max(entry.key_span.end)).min(span.end),
        range: span,
        parts: Vec::new(),
    }
}

/// A name for an outline; it must not be empty.
fn shown(words: &str) -> String {
    let words = clean(words);
    if words.trim().is_empty() { "-".into() } else { words }
}
