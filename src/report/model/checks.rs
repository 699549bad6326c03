//! What a check came to: found, waiting for a fact, or weighed for the record.

use schemars::JsonSchema;
use serde::Serialize;

use super::numbers::Numbers;
use super::places::{Point, Spot};
use crate::judge::{Outcome, Severity};

/// A rule by its two names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RuleName {
    /// Its code, like `FUSE-01`.
    pub code: &'static str,
    /// Its name, like `fuse-above-wire`.
    pub name: &'static str,
    /// Its page, for formats that bring their rules along.
    #[serde(skip)]
    pub page: &'static str,
}

/// A check that failed.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Found {
    /// The rule.
    pub rule: RuleName,
    /// How much harm it stands for.
    pub severity: Severity,
    /// The thing that was judged.
    pub subject: String,
    /// What was found and what is allowed.
    pub title: String,
    /// Where.
    pub at: Point,
    /// Other places that matter.
    pub also: Vec<Point>,
    /// Why it matters; may be empty.
    pub why: String,
    /// What to do; may be empty.
    pub mend: String,
    /// Whether it shuts the gate of the house at the stage of the job.
    pub holds_gate: bool,
    /// The numbers behind it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working: Option<Numbers>,
    /// The check that it only follows from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub follows: Option<Settled>,
    /// Who answers for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waiver: Option<Signature>,
}

/// Who answers for a finding that stays.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Signature {
    /// The path of the waiver.
    pub path: String,
    /// The line on which it begins.
    pub line: usize,
    /// Why the finding is accepted.
    pub reason: String,
    /// Who accepts it.
    pub by: String,
    /// The last day on which that holds.
    pub until: String,
}

/// Every verdict on a plan, with what it was reached by.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Evidence {
    /// How many rules judged.
    pub rules: usize,
    /// SHA-256 of the rules: their codes, severities and pages, and the version of the program.
    pub rules_digest: String,
    /// SHA-256 of the settings of the house that decide verdicts.
    pub house_digest: String,
    /// SHA-256 of the plan as it was read.
    pub plan_digest: String,
    /// The day on which it was judged; it decides which waivers have ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub judged_on: Option<String>,
    /// Findings, then open checks, then passes with the thinnest margin first, then checks that do not apply.
    pub verdicts: Vec<Weighed>,
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Weighed {
    /// The rule.
    pub rule: RuleName,
    /// How much harm a finding would stand for.
    pub severity: Severity,
    /// The thing that was judged.
    pub subject: String,
    /// The line on which it stands.
    pub line: usize,
    /// What it came to.
    pub outcome: Outcome,
    /// Whether somebody answers for it.
    pub waived: bool,
    /// Why the rule has nothing to say; may be empty.
    #[serde(skip_serializing_if = "String::is_empty")]
    #[schemars(default)]
    pub reason: String,
    /// The numbers behind it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working: Option<Numbers>,
}

/// A check that waits for a fact.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Waiting {
    /// The rule.
    pub rule: RuleName,
    /// How much harm a finding would stand for.
    pub severity: Severity,
    /// The thing that is judged.
    pub subject: String,
    /// Where it stands.
    pub at: Spot,
    /// Whether the gate waits for it, because the stage of the job does not allow it.
    pub holds_gate: bool,
    /// Whether the gate would wait for it if the baseline did not know it.
    #[serde(skip_serializing_if = "is_false")]
    #[schemars(default)]
    pub baselined: bool,
    /// Who answers for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waiver: Option<Signature>,
    /// Paths of facts that have to be stated.
    pub needs: Vec<String>,
    /// Facts of which one alone decides.
    pub turns: Vec<Turning>,
    /// What would be found; may be empty.
    pub would_be: String,
    /// What would do whatever the fact turns out to be; may be empty. For people alone.
    #[serde(skip)]
    #[schemars(skip)]
    pub in_any_case: String,
    /// The numbers so far.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working: Option<Numbers>,
}

/// Where a verdict turns.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Turning {
    /// The path of the fact.
    pub path: String,
    /// The value at which the verdict turns, as a plan writes it.
    pub value: String,
    /// The word before it, where the fact is a word of a closed list; for reports in words.
    #[serde(skip)]
    pub before: Option<String>,
    /// What the check comes to from that value up.
    pub above: Outcome,
    /// What it comes to below it.
    pub below: Outcome,
}

/// A fact to find out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Fact {
    /// The path at which the plan would state it.
    pub path: String,
    /// Where that would be: the thing, if the fact is not there yet.
    pub at: Spot,
    /// What the key means; may be empty.
    pub about: String,
    /// The checks that it settles.
    pub settles: Vec<Settled>,
    /// Where the verdicts turn, in words.
    pub turns: Vec<String>,
}

/// A check that a fact settles.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Settled {
    /// The code of the rule.
    pub code: &'static str,
    /// The thing that is judged.
    pub subject: String,
}

/// A rule that broke down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Broken {
    /// The code of the rule; empty when the reading of the plan itself broke down.
    pub code: &'static str,
    /// The thing that was judged.
    pub subject: String,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
fn is_false(flag: &bool) -> bool {
    !flag
}
