//! Places in the text of a plan, and words there that cannot be read.

use schemars::JsonSchema;
use serde::Serialize;

/// A place in the text of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Spot {
    /// The first byte, counted from 0.
    pub start: usize,
    /// The byte after the last.
    pub end: usize,
    /// The line of the first character, counted from 1.
    pub line: usize,
    /// The column of the first character, counted from 1 in characters.
    pub column: usize,
}

/// A place by its path, with the words that stand for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Point {
    /// The path, like `wires.main.fuse.rating`.
    pub path: String,
    /// Whether the plan states it; otherwise `at` is the nearest thing that it does state.
    pub stated: bool,
    /// Where it stands.
    pub at: Spot,
    /// Where the value is written, when the plan uses it through an alias.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written_at: Option<Spot>,
    /// The shelf and the line on which the value is written, when the plan takes it from there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shelf: Option<String>,
    /// What there is to say about it; may be empty.
    pub label: String,
}

/// Words that cannot be read as part of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unreadable {
    /// What was found.
    pub what: String,
    /// What to write instead; empty where `what` says it all.
    pub mend: String,
    /// Where.
    pub at: Spot,
    /// A second place that matters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub also: Option<Beside>,
}

/// A second place that matters where words cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Beside {
    /// What there is to say about it.
    pub what: String,
    /// Where.
    pub at: Spot,
}
