//! What the schema has to say about a place, and how an editor shows it.

use std::fmt::Write;

use gen_lsp_types::{Hover, MarkupContent, MarkupKind, Range as Span};

use crate::plan::{Lookup, otherwise};
use crate::report::clean;
use crate::text::Tree;
use crate::words::either;

/// Words as the editor shows them; none where nothing is said.
pub fn shown(words: &str, range: Span, is_markdown: bool) -> Option<Hover> {
    let words = words.trim();
    if words.is_empty() {
        return None;
    }
    let (kind, value) =
        if is_markdown { (MarkupKind::Markdown, words.to_owned()) } else { (MarkupKind::PlainText, plain(words)) };
    Some(Hover { contents: MarkupContent { kind, value }.into(), range: Some(range) })
}

/// What the schema has to say about a place.
pub struct Explained<'a> {
    /// The schema.
    pub lookup: Lookup,
    /// The text's tree.
    pub tree: &'a Tree,
    /// The place.
    pub path: &'a str,
}

impl Explained<'_> {
    fn written(&self) -> Option<&str> {
        self.tree.text(self.tree.node(self.path)?)
    }

    /// What the key means and which words it takes.
    pub fn meaning(&self) -> String {
        let mut words = String::new();
        if let Some(about) = self.lookup.about(self.path) {
            let _ = writeln!(words, "`{}`: {about}.\n", self.path);
        }
        let taken = self.lookup.meanings(self.path);
        let own = self.written();
        if let Some((word, means)) = taken.iter().find(|(word, means)| Some(word.as_str()) == own && !means.is_empty())
        {
            let _ = writeln!(words, "`{word}`: {means}.\n");
        }
        let taken: Vec<String> = taken.into_iter().map(|(word, _)| format!("`{word}`")).collect();
        if !taken.is_empty() {
            let _ = writeln!(words, "It is {}.\n", either(&taken));
        }
        words
    }

    /// A quantity in other units, or how one is written here. Of a range each end.
    pub fn units(&self) -> String {
        let Some(kind) = self.lookup.kind(self.path) else { return String::new() };
        let written = self.written().unwrap_or_default().trim();
        let mut words = String::new();
        for end in written.split("..").map(str::trim).filter(|end| !end.is_empty()) {
            let others = otherwise(kind, end);
            if !others.is_empty() {
                let _ = write!(words, "{} = {}\n\n", clean(end), others.join(" = "));
            }
        }
        match self.lookup.example(self.path) {
            Some(example) if written.is_empty() => format!("Write it like `{example}`.\n\n"),
            _ => words,
        }
    }
}

/// The same words without marks.
fn plain(words: &str) -> String {
    let lines = words.lines().filter(|line| !line.starts_with("```"));
    lines.map(|line| line.replace("**", "").replace('`', "")).collect::<Vec<_>>().join("\n")
}
