//! What a shop keeps of a run of the gate: one line of JSON a plan.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use super::whole::Whole;
use crate::house::House;
use crate::judge::Rule;
use crate::plan::{Day, Reading, Stage};
use crate::report::{
    Counts, NotRead, PlanReport, Program, Signature, Supposed, house_digest, rules_digest, text_digest,
};

/// The version of the format.
const FORMAT: u32 = 1;

/// One line of a gate record.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Line<'a> {
    /// Version of the format of the record: 1.
    record: u32,
    /// What judged.
    program: Program,
    /// The plan, as it was named.
    plan: &'a str,
    /// What the gate said.
    result: Gate,
    /// Why it could not be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<&'a str>,
    /// The day as of which it was judged, when one was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    as_of: Option<&'a str>,
    /// SHA-256 of all rules: their codes, severities and pages, and the version of the program. Which of them are off is
    /// in the digest of the house.
    rules_digest: &'a str,
    /// SHA-256 of the baseline, when there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    baseline_digest: Option<&'a str>,
    /// What was judged; missing where the plan could not be read.
    #[serde(flatten)]
    judged: Option<Judged<'a>>,
}

/// What was judged, and what came of it.
#[derive(Debug, Serialize, JsonSchema)]
struct Judged<'a> {
    /// The shop's own number of the job, where the plan states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    job: Option<&'a str>,
    /// How far the job has come.
    stage: Stage,
    /// SHA-256 of the plan as it was read.
    plan_digest: String,
    /// SHA-256 of what the house decides.
    house_digest: String,
    /// The shelves from which the plan takes something.
    shelves: Vec<ShelfLine<'a>>,
    /// What the plan was read as if it said.
    #[serde(skip_serializing_if = "<[Supposed]>::is_empty")]
    #[schemars(default)]
    supposed: &'a [Supposed],
    /// How many checks came to what.
    counts: Counts,
    /// Who answers for what.
    waivers: Vec<Signed<'a>>,
}

/// A shelf.
#[derive(Debug, Serialize, JsonSchema)]
struct ShelfLine<'a> {
    /// Its path from the folder of the house.
    path: &'a str,
    /// SHA-256 of its text.
    digest: String,
}

/// A check that somebody answers for.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
struct Signed<'a> {
    /// The code of the rule.
    rule: &'static str,
    /// The thing that was judged.
    subject: &'a str,
    /// Who accepts it.
    by: &'a str,
    /// The last day on which that holds.
    until: &'a str,
    /// Why it is accepted.
    reason: &'a str,
}

/// What the gate says of a plan.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Gate {
    /// Nothing stands in the way.
    Clear,
    /// Something does.
    Held,
    /// A rule broke down: the verdict is not to be trusted.
    Broken,
    /// The plan could not be read.
    NotRead,
}

/// What every line of a run has in common.
#[derive(Debug)]
pub struct Stamp {
    as_of: Option<String>,
    rules: String,
    baseline: Option<String>,
}

impl Stamp {
    /// What judged. The day is in it only when it was given, so that the same run leaves the same bytes.
    pub fn new(rules: &[&'static Rule], baseline: Option<String>, as_of: Option<Day>) -> Self {
        Self { as_of: as_of.map(|day| day.to_string()), rules: rules_digest(rules), baseline }
    }

    /// The line of a plan that was judged.
    pub fn judged(&self, reading: &Reading, report: &PlanReport, house: &House) -> String {
        let files = &reading.shelves.files;
        let shelf = |at: usize| {
            let shelf = files.get(at)?;
            Some(ShelfLine { path: &shelf.path, digest: text_digest(&shelf.text) })
        };
        let result = match report.counts {
            counts if counts.broken > 0 => Gate::Broken,
            counts if counts.holds_gate() => Gate::Held,
            _ => Gate::Clear,
        };
        let judged = Judged {
            job: report.job.as_deref(),
            stage: report.stage,
            plan_digest: text_digest(&reading.text),
            house_digest: house_digest(house),
            shelves: reading.tree.texts().into_iter().filter_map(shelf).collect(),
            supposed: &report.supposed,
            counts: report.counts,
            waivers: signed(report),
        };
        self.line(&report.path, result, None, Some(judged))
    }

    /// The line of a plan that could not be read.
    pub fn not_read(&self, not_read: &NotRead) -> String {
        self.line(&not_read.path, Gate::NotRead, Some(&not_read.why), None)
    }

    fn line(&self, plan: &str, result: Gate, why: Option<&str>, judged: Option<Judged<'_>>) -> String {
        let line = Line {
            record: FORMAT,
            program: Program::default(),
            plan,
            result,
            why,
            as_of: self.as_of.as_deref(),
            rules_digest: &self.rules,
            baseline_digest: self.baseline.as_deref(),
            judged,
        };
        serde_json::to_string(&line).unwrap_or_default()
    }
}

/// Who answers for what, in order.
fn signed(report: &PlanReport) -> Vec<Signed<'_>> {
    let failed = report.waived.iter().map(|found| (found.rule.code, &found.subject, found.waiver.as_ref()));
    let open = report.open.iter().map(|waiting| (waiting.rule.code, &waiting.subject, waiting.waiver.as_ref()));
    let all: BTreeSet<Signed<'_>> = failed
        .chain(open)
        .filter_map(|(rule, subject, waiver)| {
            let Signature { by, until, reason, .. } = waiver?;
            Some(Signed { rule, subject, by, until, reason })
        })
        .collect();
    all.into_iter().collect()
}

/// The record of a run on its way to its file.
pub struct Book {
    file: Whole,
}

impl Book {
    /// Opens a record; an older one stays until this one is whole.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub fn open(path: &Path) -> io::Result<Self> {
        Ok(Self { file: Whole::open(path)? })
    }

    /// Writes a line.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn line(&mut self, line: &str) -> io::Result<()> {
        writeln!(self.file, "{line}")
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn keep(self) -> io::Result<()> {
        self.file.keep()
    }
}

/// The JSON Schema of a line.
pub fn schema() -> serde_json::Value {
    crate::report::schema_of::<Line<'_>>("gate record, one line")
}
