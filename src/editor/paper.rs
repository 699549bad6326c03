//! House files and shelf files: what is wrong with them, what they mean, where they lead.

use std::fmt::Write;
use std::ops::Range;
use std::rc::Rc;

use gen_lsp_types::{DiagnosticSeverity, Hover, Location};

use super::document::{Document, Kind};
use super::houses::Found;
use super::hover::{Explained, shown};
use super::requests::Desk;
use crate::house::{self, Assumptions, Limits};
use crate::judge::{Rule, Severity};
use crate::plan::{self, Lookup, OnShelf, Shelves, section_of};
use crate::report::clean;
use crate::rules;
use crate::text::{Lines, Misread, Tree, last_byte};

/// A house file or a shelf file as far as it could be read.
pub struct Paper {
    /// Which of the two.
    pub kind: Kind,
    /// For a house file its house; for a shelf the house that it belongs to.
    pub found: Rc<Found>,
    /// Its tree.
    pub tree: Tree,
    /// What is wrong with it, in the order of the text.
    pub misreads: Vec<(DiagnosticSeverity, Misread)>,
}

impl Paper {
    /// A house file with its house.
    pub fn house(found: Rc<Found>) -> Self {
        let misreads = found.misreads.iter().map(|misread| (DiagnosticSeverity::Error, misread.clone())).collect();
        Self { kind: Kind::House, tree: found.tree.clone(), misreads, found }
    }

    /// A shelf file by itself. What a house refuses is an error; the rest is what a plan that refers to it would be told.
    pub fn shelf(text: &str, found: Rc<Found>) -> Self {
        let refused = house::read_shelf(String::new(), text.to_owned()).1;
        let (tree, told) = plan::read_shelf(text, &found.house.shelves);
        let is_new =
            |misread: &Misread| refused.iter().all(|known| known.span != misread.span && known.what != misread.what);
        let told: Vec<_> =
            told.into_iter().filter(is_new).map(|misread| (DiagnosticSeverity::Warning, misread)).collect();
        let refused = refused.into_iter().map(|misread| (DiagnosticSeverity::Error, misread));
        let mut misreads: Vec<_> = refused.chain(told).collect();
        misreads.sort_by_key(|(_, misread)| (misread.span.start, misread.span.end));
        Self { kind: Kind::Shelf, found, tree, misreads }
    }

    /// What there is to say about a place in the text.
    pub fn hover(&self, document: &Document, offset: usize, is_markdown: bool) -> Option<Hover> {
        let spotted = self.tree.at(offset)?;
        let explained = Explained { lookup: lookup(self.kind), tree: &self.tree, path: &spotted.path };
        let own = match self.kind {
            Kind::Shelf => brought(&self.found.house.shelves, &self.tree, &spotted.path),
            _ => setting(&spotted.path).or_else(|| rule(&spotted.path)).unwrap_or_default(),
        };
        shown(&[explained.meaning(), explained.units(), own].concat(), document.span(&spotted.span), is_markdown)
    }

    /// Where the word at a place leads: to a shelf, or to a thing on one.
    pub fn definition(&self, document: &Document, offset: usize, desk: &Desk<'_>) -> Option<Location> {
        let spotted = self.tree.at(offset)?;
        if self.kind == Kind::Shelf {
            return definition(&self.found, &self.tree, &spotted.path, document, desk);
        }
        spotted.path.strip_prefix("shelves.")?;
        let words = self.tree.text(self.tree.node(&spotted.path)?)?;
        let named = words.strip_prefix("./").unwrap_or(words);
        let file = self.found.house.shelves.files.iter().position(|shelf| shelf.path == named)?;
        place_on_shelf(&self.found, file, &(0..0), document, desk)
    }
}

/// What the schema of a kind of text says.
pub fn lookup(kind: Kind) -> Lookup {
    match kind {
        Kind::Plan => plan::lookup(),
        Kind::House => house::lookup(),
        Kind::Shelf => plan::shelf_lookup(),
    }
}

/// What testlamp ships a figure of the house with.
pub fn shipped(path: &str) -> Option<(String, &'static str)> {
    let (section, rest) = path.split_once('.')?;
    let name = rest.split('.').next()?;
    let (mut limits, mut assumptions) = (Limits::default(), Assumptions::default());
    let all = match section {
        "limits" => limits.all(),
        "assumptions" => assumptions.all(),
        _ => return None,
    };
    let setting = all.into_iter().find(|setting| setting.name() == name)?;
    Some((setting.value(), setting.source()))
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
    let off = if *severity == Severity::Danger { " It cannot be off." } else { "" };
    Some(format!("**{code} {name}**, {}: {}.{off}\n\n", severity.word(), is.summary().trim_end_matches('.')))
}

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

fn place_on_shelf(
    found: &Found,
    file: usize,
    words: &Range<usize>,
    document: &Document,
    desk: &Desk<'_>,
) -> Option<Location> {
    let (path, shelf) = (found.shelves.get(file)?, found.house.shelves.files.get(file)?);
    Some(document.location_in(desk.uri(path), &shelf.text, words))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_of_the_house_says_what_testlamp_ships() {
        let names = |section: &str| lookup(Kind::House).keys(section);
        for (section, most) in [("limits", 20), ("assumptions", 10)] {
            let names = names(section);
            assert!(names.len() > most, "{section}: {names:?}");
            for (name, _) in names {
                assert!(shipped(&format!("{section}.{name}.source")).is_some(), "{section}.{name}");
            }
        }
        assert_eq!(shipped("stock.wires"), None);
    }

    #[test]
    fn a_rule_that_is_changed_is_told_by_code_or_name() {
        assert!(rule("rules.FUSE-01.severity").expect("it is a rule").contains("cannot be off"));
        assert_eq!(rule("rules.fuse-above-wire"), rule("rules.FUSE-01"));
        assert_eq!(rule("rules.FUSE-99"), None);
    }

    #[test]
    fn a_shelf_tells_once_what_is_wrong() {
        for text in ["", "amplifiers: {}\n", "shelf: 2\n", "shelf: 1\namplifiers: {a: [\n", "shelf: 1\nwires: {}\n"] {
            let paper = Paper::shelf(text, Rc::default());
            let words: Vec<&String> = paper.misreads.iter().map(|(_, misread)| &misread.what).collect();
            assert_eq!(words.len(), 1, "{text:?}: {words:?}");
        }
    }
}
