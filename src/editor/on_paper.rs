//! What is asked about a place in a house file or a shelf file.

use gen_lsp_types::{Hover, Location};

use super::desk::Desk;
use super::document::Document;
use super::explained::{Explained, shown};
use super::kind::{Kind, lookup, shipped};
use super::paper::Paper;
use super::shelf::{self, brought, place_on_shelf};
use crate::judge::{Rule, Severity};
use crate::rules;

/// What there is to say about a place in the text.
pub fn hover(paper: &Paper, document: &Document, offset: usize, is_markdown: bool) -> Option<Hover> {
    let spotted = paper.tree.at(offset)?;
    let explained = Explained { lookup: lookup(paper.kind), tree: &paper.tree, path: &spotted.path };
    let own = match paper.kind {
        Kind::Shelf => brought(&paper.found.house.shelves, &paper.tree, &spotted.path),
        _ => setting(&spotted.path).or_else(|| rule(&spotted.path)).unwrap_or_default(),
    };
    shown(&[explained.meaning(), explained.units(), own].concat(), document.span(&spotted.span), is_markdown)
}

/// Where the word at a place leads: to a shelf, or to a thing on one.
pub fn definition(paper: &Paper, document: &Document, offset: usize, desk: &Desk<'_>) -> Option<Location> {
    let spotted = paper.tree.at(offset)?;
    if paper.kind == Kind::Shelf {
        return shelf::definition(&paper.found, &paper.tree, &spotted.path, document, desk);
    }
    spotted.path.strip_prefix("shelves.")?;
    let words = paper.tree.text(paper.tree.node(&spotted.path)?)?;
    let named = words.strip_prefix("./").unwrap_or(words);
    let file = paper.found.house.shelves.files.iter().position(|shelf| shelf.path == named)?;
    place_on_shelf(&paper.found, file, &(0..0), document, desk)
}

fn setting(path: &str) -> Option<String> {
    let (value, source) = shipped(path)?;
    Some(format!("testlamp ships {value}: {}.\n\n", source.trim_end_matches('.')))
}

/// The rule that a key of the house changes.
fn rule(path: &str) -> Option<String> {
    let key = path.strip_prefix("rules.")?.split('.').next()?;
    let is = rules::find(key)?;
    let Rule { code, name, severity, .. } = is;
    let off = if *severity == Severity::Danger { " It cannot be off or count for less." } else { "" };
    Some(format!("**{code} {name}**, {}: {}.{off}\n\n", severity.word(), is.summary().trim_end_matches('.')))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_that_is_changed_is_told_by_code_or_name() {
        assert!(rule("rules.FUSE-01.severity").expect("it is a rule").contains("cannot be off"));
        assert_eq!(rule("rules.fuse-above-wire"), rule("rules.FUSE-01"));
        assert_eq!(rule("rules.FUSE-99"), None);
    }
}
