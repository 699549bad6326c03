//! House files and shelf files: what is wrong with them.

use std::rc::Rc;

use gen_lsp_types::DiagnosticSeverity;

use super::houses::Found;
use super::kind::Kind;
use crate::house;
use crate::plan;
use crate::text::{Misread, Tree};

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
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shelf_tells_once_what_is_wrong() {
        for text in ["", "amplifiers: {}\n", "shelf: 2\n", "shelf: 1\namplifiers: {a: [\n", "shelf: 1\nwires: {}\n"] {
            let paper = Paper::shelf(text, Rc::default());
            let words: Vec<&String> = paper.misreads.iter().map(|(_, misread)| &misread.what).collect();
            assert_eq!(words.len(), 1, "{text:?}: {words:?}");
        }
    }
}
