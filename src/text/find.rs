//! From a place in the text to the path that stands there.

use std::ops::Range;

use super::tree::{Entry, Kind, NodeId, Tree};

/// What stands at a place in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spotted {
    /// Its path.
    pub path: String,
    /// Its words: the key, or the value.
    pub span: Range<usize>,
    /// Whether they are the key.
    pub on_key: bool,
}

impl Tree {
    /// The key or the single value whose words hold a byte offset; their end counts as theirs.
    pub fn at(&self, offset: usize) -> Option<Spotted> {
        self.spot(self.root()?, "", offset)
    }

    fn spot(&self, node: NodeId, path: &str, offset: usize) -> Option<Spotted> {
        let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
        let holds = |span: &Range<usize>| span.start <= offset && offset <= span.end;
        match self.kind(node) {
            Kind::Map(map) => map.entries().iter().filter(|entry| self.is_written_here(entry)).find_map(|entry| {
                if holds(&entry.key_span) {
                    return Some(Spotted { path: below(&entry.key), span: entry.key_span.clone(), on_key: true });
                }
                let used_at = holds(&entry.used_at).then(|| below(&entry.key))?;
                self.below(entry.value, &entry.used_at, used_at, offset)
            }),
            Kind::Seq(items) => {
                let mut items = items.iter().enumerate().filter(|(_, item)| holds(&self.span(**item)));
                items.find_map(|(at, item)| self.below(*item, &self.span(*item), below(&at.to_string()), offset))
            }
            Kind::Scalar { .. } => None,
        }
    }

    /// What stands at the offset within a value; an alias is one word, whatever it stands for.
    fn below(&self, value: NodeId, used_at: &Range<usize>, path: String, offset: usize) -> Option<Spotted> {
        let is_word = self.text(value).is_some() || self.span(value).start != used_at.start;
        if is_word {
            return Some(Spotted { path, span: used_at.clone(), on_key: false });
        }
        self.spot(value, &path, offset)
    }

    /// Whether an entry's own words stand in this text, at this mapping: a shelf's entries do not.
    pub fn is_written_here(&self, entry: &Entry) -> bool {
        self.elsewhere(entry.value).is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Limits, parse};

    const PLAN: &str = "wires:\n  main: {size: 4 AWG, path: [dash, cargo]}\na: &x 3 m\nb: *x\nsteps:\n  - run: main\n";

    fn at(words: &str) -> Option<(String, bool)> {
        let (tree, misreads) = parse(PLAN, Limits::default());
        assert!(misreads.is_empty());
        let offset = PLAN.find(words).expect("the words") + 1;
        tree.at(offset).map(|spotted| (spotted.path, spotted.on_key))
    }

    #[test]
    fn keys_and_values_are_found_by_their_words() {
        let found = |path: &str, on_key: bool| Some((path.to_owned(), on_key));
        assert_eq!(at("wires"), found("wires", true));
        assert_eq!(at("4 AWG"), found("wires.main.size", false));
        assert_eq!(at("cargo"), found("wires.main.path.1", false));
        assert_eq!(at("*x"), found("b", false));
        assert_eq!(at("run"), found("steps.0.run", true));
        assert_eq!(at("main\n"), found("steps.0.run", false));
        assert_eq!(at("\n  main"), None);
    }
}
