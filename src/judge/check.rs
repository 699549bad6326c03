//! What judging a plan gives: one check per rule and subject.

use super::verdict::{Finding, Outcome, Working};
use super::{Rule, Severity};
use crate::plan::Stage;
use crate::solve::Place;

/// A fact that alone decides an open check.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// Where the plan would state it.
    pub place: Place,
    /// The value at which the verdict turns, as a plan writes it.
    pub value: String,
    /// What the check comes to from that value up.
    pub above: Outcome,
    /// What it comes to below it.
    pub below: Outcome,
    /// The turn in words, like "passes from 90 C" or "passes with copper".
    pub words: String,
}

/// A fact to find out.
#[derive(Debug, Clone, PartialEq)]
pub struct FindOut {
    /// Where the plan would state it.
    pub place: Place,
    /// The checks that need it or that it decides, by code and subject.
    pub settles: Vec<(&'static str, Place)>,
    /// Where the verdicts turn, in words.
    pub turns: Vec<String>,
}

/// One rule on one subject.
#[derive(Clone)]
pub struct Check {
    /// The rule.
    pub rule: &'static Rule,
    /// The subject.
    pub subject: Place,
    /// What it came to.
    pub outcome: Outcome,
    /// The numbers behind it.
    pub working: Option<Working>,
    /// What to tell, when it failed; for an open check, what it would be.
    pub finding: Option<Finding>,
    /// For an open check: facts that have to be stated.
    pub needs: Vec<Place>,
    /// For an open check: facts of which one alone decides, and where the verdict turns.
    pub turns: Vec<Turn>,
    /// For a check that does not apply: why.
    pub reason: Option<&'static str>,
    /// Whether the rule broke down on this subject: a fault of the program, not of the plan.
    pub broke: bool,
    /// The waiver in the plan's list that accepts it.
    pub waived: Option<usize>,
    /// For a failed check: the failed check, by rule and subject, that it only follows from.
    pub follows: Option<(&'static str, Place)>,
}

impl Check {
    /// Whether it failed and nobody answers for it.
    pub fn stands(&self) -> bool {
        self.outcome == Outcome::Fail && self.waived.is_none()
    }

    /// Whether it is open and must not be at this stage: a planned job knows what is dangerous, an installed one all.
    pub fn holds(&self, stage: Stage) -> bool {
        let demanded = match stage {
            Stage::Draft => false,
            Stage::Planned => self.rule.severity == Severity::Danger,
            Stage::Installed => true,
        };
        demanded && self.outcome == Outcome::Open && self.waived.is_none()
    }
}

/// All checks of one plan.
#[derive(Clone, Default)]
pub struct Judgement {
    /// The checks, by place in the text and then by code.
    pub checks: Vec<Check>,
    /// What has to be found out, the fact that settles most first.
    pub find_out: Vec<FindOut>,
}

impl Judgement {
    /// How many checks came to an outcome.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.checks.iter().filter(|check| check.outcome == outcome).count()
    }

    /// The checks that failed and that nobody answers for.
    pub fn failed(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.stands())
    }

    /// The checks that are open.
    pub fn open(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.outcome == Outcome::Open)
    }
}
