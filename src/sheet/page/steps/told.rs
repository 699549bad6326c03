//! What the sheet tells of a step.

/// What to do, and what belongs to it.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// What to do.
    pub does: String,
    /// What belongs to it, a line each.
    pub belongs: Vec<String>,
}

/// What to do, to which nothing more belongs.
pub fn does(words: impl Into<String>) -> Told {
    Told { does: words.into(), belongs: Vec::new() }
}

/// What to do, with what belongs to it.
pub fn with(words: impl Into<String>, belongs: impl IntoIterator<Item = String>) -> Told {
    Told { does: words.into(), belongs: belongs.into_iter().collect() }
}
