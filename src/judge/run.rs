//! Runs rules over a job.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::turning::{self, FindOut, Turn};
use super::verdict::{Finding, Outcome, Working};
use super::{Judged, Rule, Subjects};
use crate::house::House;
use crate::plan::Reading;
use crate::solve::{Job, Place, Undecided};

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

    /// The checks that failed.
    pub fn failed(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.outcome == Outcome::Fail)
    }

    /// The checks that are open.
    pub fn open(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.outcome == Outcome::Open)
    }
}

/// Judges a plan by rules.
pub fn judge(reading: &Reading, house: &House, rules: &[&'static Rule]) -> Judgement {
    let job = Job::new(&reading.plan, house);
    let mut checks: Vec<Check> = rules.iter().flat_map(|rule| apply(rule, &job)).collect();
    turning::decide(&mut checks, &job);
    let place = |check: &Check| {
        let place = check.finding.as_ref().map_or(&check.subject, |finding| &finding.at.place);
        reading.tree.locate(&place.path()).span.start
    };
    checks.sort_by_cached_key(|check| (place(check), check.rule.code, check.subject.path()));
    let find_out = turning::find_out(&checks);
    Judgement { checks, find_out }
}

/// One rule on all its subjects.
pub(super) fn apply(rule: &'static Rule, job: &Job<'_>) -> Vec<Check> {
    let one = |subject: Place, judged: &dyn Fn() -> Judged| contained(rule, subject, judged);
    match rule.check {
        Subjects::Job(check) => vec![one(Place::of("job"), &|| check(job))],
        Subjects::Wire(check) => job.wires.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect(),
        Subjects::Ground(check) => job.grounds.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect(),
        Subjects::Amplifier(check) => {
            job.amplifiers.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Load(check) => job.loads.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect(),
        Subjects::TurnOn(check) => job.turn_on.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect(),
        Subjects::Signal(check) => job.signals.iter().map(|thing| one(thing.place(), &|| check(thing, job))).collect(),
        Subjects::Fuse(check) => {
            let fuses = job.protection().fuses.iter().enumerate();
            fuses.map(|(at, site)| one(site.place.clone(), &|| check(at, job))).collect()
        }
        Subjects::Each(check) => match catch_unwind(AssertUnwindSafe(|| check(job))) {
            Ok(judged) => judged.into_iter().map(|(subject, judged)| check_of(rule, subject, judged)).collect(),
            Err(_) => vec![broken(rule, Place::of("job"))],
        },
    }
}

/// A rule that breaks down on one subject must not take the others with it.
fn contained(rule: &'static Rule, subject: Place, judged: &dyn Fn() -> Judged) -> Check {
    match catch_unwind(AssertUnwindSafe(judged)) {
        Ok(judged) => check_of(rule, subject, judged),
        Err(_) => broken(rule, subject),
    }
}

fn check_of(rule: &'static Rule, subject: Place, judged: Judged) -> Check {
    let blank = Check {
        rule,
        subject,
        outcome: Outcome::Open,
        working: None,
        finding: None,
        needs: Vec::new(),
        turns: Vec::new(),
        reason: None,
        broke: false,
    };
    match judged {
        Ok(verdict) => Check { outcome: verdict.outcome, working: verdict.working, finding: verdict.finding, ..blank },
        Err(Undecided::Open(needs)) => Check { needs, ..blank },
        Err(Undecided::NotApplicable(reason)) => {
            Check { outcome: Outcome::NotApplicable, reason: Some(reason), ..blank }
        }
    }
}

fn broken(rule: &'static Rule, subject: Place) -> Check {
    let reason = "the rule broke down here: a fault of testlamp, not of the plan";
    Check { broke: true, reason: Some(reason), ..check_of(rule, subject, Err(Undecided::NotApplicable(reason))) }
}
