//! Findings that somebody answers for.

use schemars::JsonSchema;
use serde::Deserialize;

/// A finding that is accepted, by whom, why and until when.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Waiver {
    /// The rule's code or name, like `GROUND-02`.
    pub rule: Option<String>,
    /// The element it is about, like `wires.return`.
    pub at: Option<String>,
    /// Why it is accepted.
    pub reason: Option<String>,
    /// Who answers for it.
    pub by: Option<String>,
    /// The last day on which it holds, like `2027-06-30`.
    pub until: Option<String>,
}
