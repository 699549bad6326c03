//! Why a text cannot be read as a quantity.

use std::fmt;

/// A sentence for the person who wrote the text: what was found and what is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unread {
    /// The text is nothing of the kind, and the sentence only says what is taken.
    Other(String),
    /// The sentence says what is wrong with a text that otherwise is of the kind.
    Slip(String),
}

impl fmt::Display for Unread {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Self::Other(sentence) | Self::Slip(sentence)) = self;
        out.write_str(sentence)
    }
}

impl std::error::Error for Unread {}

impl From<Unread> for String {
    fn from(unread: Unread) -> Self {
        let (Unread::Other(sentence) | Unread::Slip(sentence)) = unread;
        sentence
    }
}

/// A short piece of somebody's text, safe to put into a sentence.
pub fn excerpt(text: &str) -> String {
    crate::words::excerpt(text, 40)
}
