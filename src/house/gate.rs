//! What shuts the gate at each stage of a job.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::plan::Stage;

/// How much harm a finding stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Workmanship.
    Advice,
    /// It will not work as intended, or something gets damaged.
    Fault,
    /// Somebody can be hurt or the vehicle can burn.
    Danger,
}

impl Severity {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Advice => "advice",
            Self::Fault => "fault",
            Self::Danger => "danger",
        }
    }

    /// How many steps lie between two severities.
    pub const fn steps_to(self, other: Self) -> u8 {
        (self as u8).abs_diff(other as u8)
    }
}

/// Which open checks shut the gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OpenChecks {
    /// None of them.
    None,
    /// Those of severity danger.
    Danger,
    /// All of them.
    All,
}

impl OpenChecks {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Danger => "danger",
            Self::All => "all",
        }
    }
}

/// What one stage demands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Demand {
    /// Findings of this severity and above shut the gate.
    pub findings: Severity,
    /// Open checks that shut it.
    pub open: OpenChecks,
}

impl Demand {
    /// Whether a finding of this severity shuts the gate.
    pub fn holds_finding(self, severity: Severity) -> bool {
        severity >= self.findings
    }

    /// Whether an open check of this severity shuts the gate.
    pub fn holds_open(self, severity: Severity) -> bool {
        match self.open {
            OpenChecks::None => false,
            OpenChecks::Danger => severity == Severity::Danger,
            OpenChecks::All => true,
        }
    }
}

/// What every stage demands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Gate {
    /// While facts are still being found out.
    pub draft: Demand,
    /// When everything is decided.
    pub planned: Demand,
    /// When it is built and measured.
    pub installed: Demand,
}

impl Gate {
    /// What a stage demands.
    pub const fn at(&self, stage: Stage) -> Demand {
        match stage {
            Stage::Draft => self.draft,
            Stage::Planned => self.planned,
            Stage::Installed => self.installed,
        }
    }

    /// What a stage demands, to be set.
    pub(super) fn at_mut(&mut self, stage: Stage) -> &mut Demand {
        match stage {
            Stage::Draft => &mut self.draft,
            Stage::Planned => &mut self.planned,
            Stage::Installed => &mut self.installed,
        }
    }
}

impl Default for Gate {
    /// A planned job knows what is dangerous, an installed one everything.
    fn default() -> Self {
        let demand = |open| Demand { findings: Severity::Fault, open };
        Self {
            draft: demand(OpenChecks::None),
            planned: demand(OpenChecks::Danger),
            installed: demand(OpenChecks::All),
        }
    }
}
