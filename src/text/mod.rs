//! The text of a plan: one YAML parse into a tree of nodes with byte ranges, what is read out of it, and changes that touch
//! no other byte.
//!
//! Everything that speaks of a place in a file does so by a node path such as `wires.main.fuse.rating`;
//! [`Tree::locate`] is the one way from a path to a byte range. Lines and columns appear only at the
//! edges, through [`Lines`].

mod comments;
mod decode;
mod deed;
mod edit;
mod fault;
mod find;
mod graft;
mod lines;
mod list;
mod outlier;
mod parse;
mod path;
mod pattern;
mod read;
mod tree;

pub use comments::comments;
pub use decode::decode;
pub use deed::{Deed, change};
pub use edit::{Edit, is_plain, last_byte, new_line, set};
pub use find::Spotted;
pub use lines::Lines;
pub use parse::{Limits, parse};
pub use path::{parts, thing};
pub use pattern::{fits, places};
pub use read::{Blanks, ReadError, Reader};
pub use tree::{Elsewhere, Entry, Kind, Located, Map, NodeId, Scalar, Tree};

use std::ops::Range;

/// A place in a text that cannot be read as it should be: what stands there, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// Byte range in the text.
    pub span: Range<usize>,
    /// What was found and why it cannot stand.
    pub what: String,
    /// What to write instead; empty where `what` says it all.
    pub mend: String,
    /// The words that were probably meant in place of those at `span`.
    pub meant: Option<String>,
    /// Words that would fit there, where nothing says which were meant.
    pub could: Box<[String]>,
    /// A second place that matters, with a few words about it. Few have one.
    pub also: Option<Box<(Range<usize>, &'static str)>>,
}

impl Misread {
    /// A misread at a byte range.
    pub fn new(span: Range<usize>, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { span, what: what.into(), mend: mend.into(), meant: None, could: Box::default(), also: None }
    }

    /// A misread as a step that cannot go on gives it back.
    fn boxed(span: Range<usize>, what: impl Into<String>, mend: impl Into<String>) -> Box<Self> {
        Box::new(Self::new(span, what, mend))
    }

    /// A second place that matters.
    #[must_use]
    pub fn also(mut self, span: Range<usize>, words: &'static str) -> Self {
        self.also = Some(Box::new((span, words)));
        self
    }

    /// What would fit in place of the words.
    #[must_use]
    pub fn could(mut self, words: impl IntoIterator<Item = String>) -> Self {
        self.could = words.into_iter().collect();
        self
    }

    /// What was probably meant in place of the words.
    #[must_use]
    pub fn meant(mut self, words: Option<String>) -> Self {
        self.meant = words;
        self
    }
}
