//! What there is to tell of a plan, one thing after the other, for every format that lists.

use super::model::{Beside, Broken, Found, Numbers, PlanReport, Point, Settled, Signature, Spot, Unreadable, Waiting};
use crate::judge::Severity;

/// Where a thing stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It cannot be read as part of a plan.
    Unreadable,
    /// A check failed.
    Failed,
    /// A check waits for a fact, and the gate waits for it.
    Held,
    /// A check waits for a fact, and may at this stage.
    Open,
    /// Somebody answers for it.
    Waived,
    /// A rule broke down.
    Broken,
}

/// One thing to tell.
#[derive(Debug)]
pub struct Told<'a> {
    /// Where it stands.
    pub standing: Standing,
    /// Whether it waits for a fact: it stands as held, open or waived.
    pub is_open: bool,
    /// Whether the gate of the house is shut because of it.
    pub holds_gate: bool,
    /// The code of the rule; `unreadable` and `broken` where there is none.
    pub code: &'static str,
    /// The name of the rule; may be empty.
    pub name: &'static str,
    /// The page of the rule; may be empty.
    pub page: &'static str,
    /// How much harm it stands for.
    pub severity: Severity,
    /// The thing that was judged; may be empty.
    pub subject: &'a str,
    /// Where.
    pub at: Spot,
    /// That place by its path; empty when it has none or the plan does not state it.
    pub path: &'a str,
    /// What was found.
    pub title: String,
    /// Why it matters; may be empty.
    pub why: &'a str,
    /// What to do, what it follows from, or who answers for it; may be empty.
    pub mend: String,
    /// Other places that matter.
    pub also: &'a [Point],
    /// A second place that matters where words cannot be read.
    pub beside: Option<&'a Beside>,
    /// The numbers behind it.
    pub working: Option<&'a Numbers>,
    /// What it only follows from.
    pub follows: Option<&'a Settled>,
    /// Who answers for it.
    pub waiver: Option<&'a Signature>,
}

/// Everything there is to tell of a plan: unreadable places, findings, open checks, what is waived, what broke down.
pub fn told(report: &PlanReport) -> Vec<Told<'_>> {
    let mut all: Vec<Told<'_>> = report.unreadable.iter().map(unreadable).collect();
    all.extend(report.findings.iter().map(found));
    let (waived, open): (Vec<Told<'_>>, Vec<Told<'_>>) =
        report.open.iter().map(waiting).partition(|told| told.standing == Standing::Waived);
    all.extend(open);
    all.extend(report.waived.iter().map(found));
    all.extend(waived);
    all.extend(report.broken.iter().map(broken));
    all
}

/// The beginning of a text: what has no place stands there.
const START: Spot = Spot { start: 0, end: 0, line: 1, column: 1 };

fn unreadable(unreadable: &Unreadable) -> Told<'_> {
    Told {
        standing: Standing::Unreadable,
        is_open: false,
        holds_gate: true,
        code: "unreadable",
        name: "",
        page: "",
        severity: Severity::Danger,
        subject: "",
        at: unreadable.at.clone(),
        path: "",
        title: unreadable.what.clone(),
        why: "",
        mend: unreadable.mend.clone(),
        also: &[],
        beside: unreadable.also.as_ref(),
        working: None,
        follows: None,
        waiver: None,
    }
}

fn found(found: &Found) -> Told<'_> {
    let mend = match &found.follows {
        Some(cause) => format!("follows from {} at {}", cause.code, cause.subject),
        None => found.mend.clone(),
    };
    Told {
        standing: if found.waiver.is_some() { Standing::Waived } else { Standing::Failed },
        is_open: false,
        holds_gate: found.holds_gate,
        code: found.rule.code,
        name: found.rule.name,
        page: found.rule.page,
        severity: found.severity,
        subject: &found.subject,
        at: found.at.at.clone(),
        path: if found.at.stated { &found.at.path } else { "" },
        title: found.title.clone(),
        why: &found.why,
        mend: found.waiver.as_ref().map_or(mend, Signature::words),
        also: &found.also,
        beside: None,
        working: found.working.as_ref(),
        follows: found.follows.as_ref(),
        waiver: found.waiver.as_ref(),
    }
}

fn waiting(waiting: &Waiting) -> Told<'_> {
    let asks = format!("find out {}", waiting.asks());
    Told {
        standing: match (&waiting.waiver, waiting.holds_gate) {
            (Some(_), _) => Standing::Waived,
            (None, true) => Standing::Held,
            (None, false) => Standing::Open,
        },
        is_open: true,
        holds_gate: waiting.holds_gate,
        code: waiting.rule.code,
        name: waiting.rule.name,
        page: waiting.rule.page,
        severity: waiting.severity,
        subject: &waiting.subject,
        at: waiting.at.clone(),
        path: "",
        title: format!("{} cannot be judged yet", waiting.subject),
        why: "",
        mend: waiting.waiver.as_ref().map_or(asks, Signature::words),
        also: &[],
        beside: None,
        working: waiting.working.as_ref(),
        follows: None,
        waiver: waiting.waiver.as_ref(),
    }
}

fn broken(broken: &Broken) -> Told<'_> {
    Told {
        standing: Standing::Broken,
        is_open: false,
        holds_gate: false,
        code: if broken.code.is_empty() { "broken" } else { broken.code },
        name: "",
        page: "",
        severity: Severity::Danger,
        subject: &broken.subject,
        at: START,
        path: "",
        title: broken.words(),
        why: "",
        mend: String::new(),
        also: &[],
        beside: None,
        working: None,
        follows: None,
        waiver: None,
    }
}

impl Signature {
    /// Who answers for it, until when and why.
    pub fn words(&self) -> String {
        format!("waived by {} until {}: {}", self.by, self.until, self.reason)
    }
}

impl Told<'_> {
    /// What kind of thing it is, in a word or two: `danger`, `open fault`, `waived advice`.
    pub fn kind(&self) -> String {
        let severity = self.severity.word();
        match self.standing {
            Standing::Unreadable => "unreadable".into(),
            Standing::Broken => "broken".into(),
            Standing::Failed => severity.into(),
            Standing::Held | Standing::Open => format!("open {severity}"),
            Standing::Waived => format!("waived {severity}"),
        }
    }

    /// The rule by its names; empty where none is concerned.
    pub fn rule(&self) -> String {
        match (self.standing, self.name) {
            (Standing::Unreadable, _) => String::new(),
            (_, "") => self.code.into(),
            (_, name) => format!("{} {name}", self.code),
        }
    }

    /// What was found, why it matters and what to do, a sentence each.
    pub fn sentences(&self) -> Vec<String> {
        let said = [format!("{}.", self.title), sentence(self.why), sentence(&self.mend)];
        said.into_iter().filter(|words| !words.is_empty()).collect()
    }

    /// The numbers behind it, a line each.
    pub fn steps(&self) -> Vec<String> {
        let Some(numbers) = self.working else { return Vec::new() };
        let limit = Some(format!("limit: {}", numbers.source)).filter(|_| !numbers.source.is_empty());
        numbers.steps().into_iter().chain(limit).collect()
    }
}

/// Words with a capital and a full stop.
fn sentence(words: &str) -> String {
    let mut rest = words.chars();
    let Some(first) = rest.next() else { return String::new() };
    format!("{}{}.", first.to_uppercase(), rest.as_str().trim_end_matches('.'))
}

/// What the exit status of a run means.
pub fn verdict(status: u8) -> &'static str {
    match status {
        0 => "nothing stands in the way",
        1 => "the gate is shut",
        2 => "not to be trusted: a rule broke down, or what was to be supposed cannot be",
        3 => "not complete: an input could not be read",
        _ => "nothing to check",
    }
}
