//! A report as data. This is the JSON format; its schema is derived from these types.

mod checks;
mod counts;
mod numbers;
mod places;

pub use checks::*;
pub use counts::Counts;
pub use numbers::*;
pub use places::*;

use schemars::JsonSchema;
use serde::Serialize;

use crate::house::House;
use crate::judge::Severity;
use crate::plan::Stage;

/// The version of the report format.
pub const FORMAT: u32 = 1;

/// What testlamp found in some plans.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    /// Version of the report format: 1. It grows when something is taken away or changes its meaning.
    pub format: u32,
    /// What wrote the report.
    pub program: Program,
    /// The plans, in the order in which they were given; those of a folder by path.
    pub plans: Vec<PlanReport>,
    /// Inputs that could not be read at all.
    pub not_read: Vec<NotRead>,
    /// All plans together.
    pub summary: Summary,
}

/// What wrote the report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Program {
    /// Its name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
}

impl Default for Program {
    fn default() -> Self {
        Self { name: "testlamp", version: env!("CARGO_PKG_VERSION") }
    }
}

/// What was found in one plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanReport {
    /// The file, as it was named.
    pub path: String,
    /// What the plan was read as if it said.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub supposed: Vec<Supposed>,
    /// The house file that it was judged by; missing where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub house: Option<HouseNote>,
    /// The shop's own number of the job, where the plan states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(default)]
    pub job: Option<String>,
    /// How far the job has come.
    pub stage: Stage,
    /// Words that cannot be read as part of a plan, in the order of the text.
    pub unreadable: Vec<Unreadable>,
    /// Checks that failed, in the order of the text.
    pub findings: Vec<Found>,
    /// Checks that failed and that somebody answers for, in the order of the text.
    pub waived: Vec<Found>,
    /// Checks that failed and that the baseline knows, in the order of the text.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub baselined: Vec<Found>,
    /// Checks that wait for a fact, in the order of the text.
    pub open: Vec<Waiting>,
    /// What has to be found out, the fact that settles most checks first.
    pub find_out: Vec<Fact>,
    /// Facts that may decide open checks and were not tried, because the plan is too large for it.
    #[serde(skip_serializing_if = "is_zero")]
    #[schemars(default)]
    pub untried: usize,
    /// Entries of the baseline for this plan that nothing fits any more.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub stale: Vec<Stale>,
    /// Rules that broke down: faults of the program, not of the plan.
    pub broken: Vec<Broken>,
    /// How many checks came to what.
    pub counts: Counts,
    /// Every verdict, when the record of them was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub evidence: Option<Evidence>,
}

/// An entry of the baseline that nothing fits any more: what it stood for is mended, or its element has changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stale {
    /// The code of the rule.
    pub rule: String,
    /// The thing that was judged.
    pub subject: String,
    /// Where the finding was.
    pub at: String,
    /// The line of the baseline on which the entry stands.
    pub line: usize,
}

/// A value that a plan was read as if it said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Supposed {
    /// The path, like `wires.main.size`.
    pub path: String,
    /// The value, as a plan writes it.
    pub value: String,
}

/// A house file, and what it changes about the rules.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HouseNote {
    /// The file.
    pub path: String,
    /// Rules that are off.
    pub rules_off: Vec<RuleOff>,
    /// Rules whose findings stand for more or less harm.
    pub severities: Vec<RuleMoved>,
}

/// A rule that a house has off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RuleOff {
    /// The code of the rule.
    pub code: &'static str,
    /// Why, with the place in the house file.
    pub reason: &'static str,
}

/// A rule whose findings stand for more or less harm in a house.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RuleMoved {
    /// The code of the rule.
    pub code: &'static str,
    /// How much harm they stand for here.
    pub severity: Severity,
    /// Why, with the place in the house file.
    pub reason: &'static str,
}

impl HouseNote {
    /// What there is to say of a house.
    pub fn new(path: &str, house: &House) -> Self {
        let off = house.rules.off.iter().map(|(code, reason)| RuleOff { code, reason });
        let moved = house.rules.counts_as.iter().map(|(code, changed)| RuleMoved {
            code,
            severity: changed.severity,
            reason: changed.reason,
        });
        Self { path: path.to_owned(), rules_off: off.collect(), severities: moved.collect() }
    }
}

/// All plans together.
#[derive(Debug, Clone, Copy, Default, Serialize, JsonSchema)]
pub struct Summary {
    /// Plans that were judged.
    pub plans: usize,
    /// Files of a folder that were passed over because they hold no plan.
    pub skipped: usize,
    /// Files of a folder that the house leaves out.
    pub left_out: usize,
    /// Inputs that were not judged, because their house file cannot be taken.
    pub not_judged: usize,
    /// Rules that the house, or any of the houses, has off.
    pub rules_off: usize,
    /// Inputs that could not be read.
    pub not_read: usize,
    /// All their checks.
    pub counts: Counts,
    /// The exit status.
    pub status: u8,
}

/// An input that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NotRead {
    /// The input, as it was named.
    pub path: String,
    /// Why not.
    pub why: String,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "the serializer's signature")]
const fn is_zero(count: &usize) -> bool {
    *count == 0
}
