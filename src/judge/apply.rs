//! One rule on all its subjects.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::check::Check;
use super::verdict::Outcome;
use super::{Judged, Rule, Subjects};
use crate::solve::{Job, Place, Undecided};

/// One rule on all its subjects.
pub(super) fn apply(rule: &'static Rule, job: &Job<'_>) -> Vec<Check> {
    apply_where(rule, job, &|_| true)
}

/// One rule on those of its subjects that are asked for.
pub(super) fn apply_where(rule: &'static Rule, job: &Job<'_>, is_asked: &dyn Fn(&Place) -> bool) -> Vec<Check> {
    let one =
        |subject: Place, judged: &dyn Fn() -> Judged| is_asked(&subject).then(|| contained(rule, subject, judged));
    match rule.check {
        Subjects::Job(check) => one(Place::of("job"), &|| check(job)).into_iter().collect(),
        Subjects::Wire(check) => {
            job.wires.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Ground(check) => {
            job.grounds.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Amplifier(check) => {
            job.amplifiers.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Load(check) => {
            job.loads.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::TurnOn(check) => {
            job.turn_on.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Signal(check) => {
            job.signals.iter().filter_map(|thing| one(thing.place(), &|| check(thing, job))).collect()
        }
        Subjects::Fuse(check) => {
            let fuses = job.protection().fuses.iter().enumerate();
            fuses.filter_map(|(at, site)| one(site.place.clone(), &|| check(at, job))).collect()
        }
        Subjects::Each(check) => {
            each(rule, &|| check(job)).into_iter().filter(|check| is_asked(&check.subject)).collect()
        }
        Subjects::Checks(_) | Subjects::Stated(_) => Vec::new(),
    }
}

/// A rule that judges what the other rules found.
pub(super) fn apply_to_checks(rule: &'static Rule, job: &Job<'_>, checks: &[Check]) -> Vec<Check> {
    match rule.check {
        Subjects::Checks(check) => each(rule, &|| check(job, checks)),
        _ => Vec::new(),
    }
}

fn each(rule: &'static Rule, judged: &dyn Fn() -> Vec<(Place, Judged)>) -> Vec<Check> {
    match catch_unwind(AssertUnwindSafe(judged)) {
        Ok(judged) => judged.into_iter().map(|(subject, judged)| check_of(rule, subject, judged)).collect(),
        Err(_) => vec![broken(rule, Place::of("job"))],
    }
}

/// A rule that breaks down on one subject must not take the others with it.
fn contained(rule: &'static Rule, subject: Place, judged: &dyn Fn() -> Judged) -> Check {
    match catch_unwind(AssertUnwindSafe(judged)) {
        Ok(judged) => check_of(rule, subject, judged),
        Err(_) => broken(rule, subject),
    }
}

pub(super) fn check_of(rule: &'static Rule, subject: Place, judged: Judged) -> Check {
    let blank = Check {
        rule,
        severity: rule.severity,
        subject,
        outcome: Outcome::Open,
        working: None,
        finding: None,
        needs: Vec::new(),
        turns: Vec::new(),
        reason: None,
        broke: false,
        waived: None,
        follows: None,
        holds_gate: false,
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
