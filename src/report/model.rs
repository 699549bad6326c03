//! A report as data. This is the JSON format; its schema is derived from these types.

use schemars::JsonSchema;
use serde::Serialize;

use crate::house::House;
use crate::judge::{Outcome, Severity};
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

/// How many checks came to what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// Checks that apply: passes, findings, open checks, waived and baselined ones together.
    pub checks: usize,
    /// Checks that passed.
    pub passes: usize,
    /// Findings of severity danger.
    pub dangers: usize,
    /// Findings of severity fault.
    pub faults: usize,
    /// Findings of severity advice.
    pub advice: usize,
    /// Checks that wait for a fact.
    pub open: usize,
    /// Findings that shut the gate of the house.
    pub held: usize,
    /// Open checks that the stage does not allow: dangers once a job is planned, all once it is installed, or as the
    /// house says.
    pub held_open: usize,
    /// Checks that failed or are open and that somebody answers for.
    pub waived: usize,
    /// Checks that failed, or are open and must not be, and that the baseline knows.
    pub baselined: usize,
    /// Those of them that are of severity danger.
    pub baselined_dangers: usize,
    /// Entries of the baseline that nothing fits any more.
    pub stale: usize,
    /// Checks that have nothing to say about their subject.
    pub not_applicable: usize,
    /// Places that cannot be read as part of a plan.
    pub unreadable: usize,
    /// Checks that broke down.
    pub broken: usize,
}

impl Counts {
    /// Adds another plan's counts.
    pub fn add(&mut self, other: &Self) {
        self.checks += other.checks;
        self.passes += other.passes;
        self.dangers += other.dangers;
        self.faults += other.faults;
        self.advice += other.advice;
        self.open += other.open;
        self.held += other.held;
        self.held_open += other.held_open;
        self.waived += other.waived;
        self.baselined += other.baselined;
        self.baselined_dangers += other.baselined_dangers;
        self.stale += other.stale;
        self.not_applicable += other.not_applicable;
        self.unreadable += other.unreadable;
        self.broken += other.broken;
    }

    /// Whether something stands in the way of the work: by default what can burn or break.
    pub fn holds_gate(&self) -> bool {
        self.held + self.held_open + self.unreadable > 0
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

/// A rule by its two names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RuleName {
    /// Its code, like `FUSE-01`.
    pub code: &'static str,
    /// Its name, like `fuse-above-wire`.
    pub name: &'static str,
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

/// The numbers behind a verdict.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Numbers {
    /// What went in.
    pub inputs: Vec<Given>,
    /// How it was put together; may be empty.
    pub formula: String,
    /// What came out.
    pub result: Amount,
    /// How it must stand to the limit.
    pub must_be: Must,
    /// The limit.
    pub limit: Amount,
    /// Where the limit comes from; may be empty.
    pub source: String,
    /// How far the result is from the limit as a share of the limit; negative when it is beyond.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
}

/// How a result must stand to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Must {
    /// Not above it.
    AtMost,
    /// Not below it.
    AtLeast,
}

/// A number, or the range it lies in.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Amount {
    /// As it reads.
    pub text: String,
    /// The lower end in `unit`; missing when it is no finite number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// The upper end in `unit`; missing when it is no finite number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// The unit; empty for a ratio.
    pub unit: String,
}

/// Something that went into a verdict.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Given {
    /// What it is called.
    pub name: &'static str,
    /// Its value as it reads.
    pub value: String,
    /// The number, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount: Option<Amount>,
    /// Where it comes from.
    pub from: From,
    /// The path in the plan that states it or could; empty when there is none.
    pub path: String,
    /// The line of the plan that states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The source, or how it was computed; may be empty.
    pub source: String,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum From {
    /// The plan states it.
    Stated,
    /// The plan does not state it; a range is assumed.
    Assumed,
    /// A limit of the house.
    House,
    /// A table or a standard.
    Table,
    /// It is computed.
    Computed,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "the serializer's signature")]
const fn is_zero(count: &usize) -> bool {
    *count == 0
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
fn is_false(flag: &bool) -> bool {
    !flag
}
