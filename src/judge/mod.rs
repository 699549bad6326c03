//! From a solved job to verdicts.
//!
//! A [`Rule`] is data plus one pure function of a subject. [`judge`] is handed a list of rules and never names one. What is
//! found by judging changed plans stands here too: where open checks turn, which changes turn a verdict, fixes that are
//! proved, and sizes.

mod apply;
mod change;
mod check;
mod compare;
mod decided;
mod fix;
mod fold;
mod made;
mod own;
mod proof;
mod run;
mod sizes;
mod skeleton;
mod slip;
mod struck;
mod times;
mod turning;
mod verdict;
mod waive;

pub use change::{Change, METRIC, Reach, changes, turned_at};
pub use check::{Check, FindOut, Judgement, Turn};
pub use compare::{Comparison, at_least, at_most};
pub use decided::{is_decision, may_be_offered};
pub use fix::{Fix, Left, Made, Tier, Wanted, Workshop, left, mend};
pub use own::rules as own_rules;
pub use run::{judge, judge_briefly, judge_timed};
pub use sizes::{Chosen, Sizes, Sizing, sizes};
pub use skeleton::{with_facts, with_waivers};
pub use slip::Slip;
pub use times::{Part, Spent, Times};
pub use verdict::{Figure, Finding, Input, Label, Offer, Outcome, Relation, Value, Verdict, Working};

use crate::house::KnownRule;
use crate::house::OwnRule;
pub use crate::house::Severity;
use crate::plan;
use crate::solve::gear::Gear;
use crate::solve::{Decided, Job, Place, Thing};

/// What a check comes to, or why it cannot be told.
pub type Judged = Decided<Verdict>;

/// Subjects that a rule found itself, each with what it comes to.
pub type Several = Vec<(Place, Judged)>;

/// A rule over what all other rules found.
pub type OverChecks = fn(&Job<'_>, &[Check]) -> Several;

/// What a rule judges, one subject at a time.
#[derive(Clone, Copy)]
pub enum Subjects {
    /// The job as a whole.
    Job(fn(&Job<'_>) -> Judged),
    /// Each supply wire.
    Wire(fn(&Thing<'_, plan::Wire>, &Job<'_>) -> Judged),
    /// Each fuse in a wire or a block, by its place in [`crate::solve::protection::Protection::fuses`].
    Fuse(fn(usize, &Job<'_>) -> Judged),
    /// Each ground.
    Ground(fn(&Thing<'_, plan::Ground>, &Job<'_>) -> Judged),
    /// Each amplifier.
    Amplifier(fn(&Thing<'_, plan::Amplifier>, &Job<'_>) -> Judged),
    /// Each amplifier, each processor and each converter.
    Gear(fn(&Gear<'_>, &Job<'_>) -> Judged),
    /// Each load.
    Load(fn(&Thing<'_, plan::Load>, &Job<'_>) -> Judged),
    /// Each turn-on lead.
    TurnOn(fn(&Thing<'_, plan::TurnOn>, &Job<'_>) -> Judged),
    /// Each signal.
    Signal(fn(&Thing<'_, plan::Signal>, &Job<'_>) -> Judged),
    /// Subjects that the rule finds itself: each with its own verdict.
    Each(fn(&Job<'_>) -> Several),
    /// What all other rules found: judged last, and never waived.
    Checks(OverChecks),
    /// What a house states in its own file: worked on the plan as it is written.
    Stated(&'static OwnRule),
}

/// A rule: what it is called, how much harm it stands for, what it teaches and how it judges.
#[derive(Clone, Copy)]
pub struct Rule {
    /// Its code, like `FUSE-01`; it never changes its meaning.
    pub code: &'static str,
    /// Its name, like `fuse-above-wire`.
    pub name: &'static str,
    /// How much harm a finding stands for.
    pub severity: Severity,
    /// The version that brought it.
    pub since: &'static str,
    /// The page that teaches it, in markdown.
    pub page: &'static str,
    /// How it judges.
    pub check: Subjects,
    /// How plans come to break it; nothing for a rule of the house's own.
    pub slips: &'static [Slip],
}

/// What a page says first below its title.
pub fn summary(page: &'static str) -> &'static str {
    let mut lines = page.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    lines.next().unwrap_or_default().trim()
}

impl Rule {
    /// Whether somebody who writes this means this rule: its code or its name, in any case of letters.
    pub fn is_called(&self, word: &str) -> bool {
        self.code.eq_ignore_ascii_case(word) || self.name.eq_ignore_ascii_case(word)
    }

    /// What it reports: the page's first sentence below its title.
    pub fn summary(&self) -> &'static str {
        summary(self.page)
    }

    /// Whether a house has made it for itself.
    pub fn is_of_the_house(&self) -> bool {
        matches!(self.check, Subjects::Stated(_))
    }

    /// What a house has to know of it to change how it counts.
    pub fn known(&self) -> KnownRule {
        KnownRule { code: self.code, name: self.name, severity: self.severity, watches: self.judges_checks() }
    }

    /// Whether it judges the supply, or work on it: of a supply that cannot be planned it says nothing.
    pub(crate) fn is_of_supply(&self) -> bool {
        ["SUPPLY", "FUSE", "WIRE", "GROUND", "TURN", "STEP", "PROOF"].contains(&self.family())
    }

    /// The family, like `FUSE`.
    pub fn family(&self) -> &'static str {
        self.code.split('-').next().unwrap_or(self.code)
    }
}

/// Rules that judge one part of the trade, in order of their codes.
#[derive(Clone, Copy)]
pub struct Family {
    /// The code of the family, like `FUSE`.
    pub code: &'static str,
    /// What it judges, in a few words.
    pub title: &'static str,
    /// Its rules.
    pub rules: &'static [Rule],
}
