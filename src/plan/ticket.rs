//! What the job is, and how far it has come.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The job this plan belongs to.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Ticket {
    /// The shop's own number of the job, like `J-2041`.
    #[schemars(extend("type" = ["string", "integer"]))]
    pub number: Option<String>,
    /// How far the job has come. A plan without a stage is a draft.
    pub stage: Option<Stage>,
    /// One line that says what is built.
    pub summary: Option<String>,
    /// Free text.
    pub note: Option<String>,
}

/// How far a job has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Facts are still being found out.
    #[default]
    Draft,
    /// Everything is decided; no panel has come off yet.
    Planned,
    /// Built and measured.
    Installed,
}
