//! One cause, one finding: what only follows from another finding is told below it.

use std::collections::HashSet;

use super::Rule;
use super::check::Check;
use super::run::apply_all;
use super::verdict::Outcome;
use crate::house::House;
use crate::plan::Reading;
use crate::solve::{Job, Place};

type Name = (&'static str, Place);

/// Marks findings that follow from others: those whose rule says so, and those that vanish when a value that another
/// finding is about is read as it was probably meant.
pub(super) fn mark(checks: &mut [Check], reading: &Reading, house: &House, rules: &[&'static Rule]) {
    let standing: HashSet<Name> = checks.iter().filter(|check| check.stands()).map(name).collect();
    for check in checks.iter_mut().filter(|check| check.stands()) {
        let cause = check.finding.as_ref().and_then(|finding| finding.follows.clone());
        check.follows = cause.filter(|cause| standing.contains(cause));
    }
    for at in 0..checks.len() {
        let Some(meant) = meant(&checks[at], reading) else { continue };
        let cause = name(&checks[at]);
        let left: HashSet<Name> = still_fail(&meant, house, rules);
        let vanished =
            checks.iter_mut().filter(|check| check.stands() && check.follows.is_none() && !left.contains(&name(check)));
        for check in vanished {
            // A cause follows from nothing, and what is judged last is judged over all the rest.
            let is_cause = check.finding.as_ref().is_none_or(|finding| finding.meant.is_some());
            if !is_cause && !check.rule.judges_checks() {
                check.follows = Some(cause.clone());
            }
        }
    }
}

fn name(check: &Check) -> Name {
    (check.rule.code, check.subject.clone())
}

/// The plan as it was probably meant, if a finding says so.
fn meant(check: &Check, reading: &Reading) -> Option<Reading> {
    let finding = check.finding.as_ref().filter(|_| check.stands())?;
    reading.with(&finding.at.place.path(), finding.meant.as_ref()?).ok()
}

fn still_fail(reading: &Reading, house: &House, rules: &[&'static Rule]) -> HashSet<Name> {
    let job = Job::new(&reading.plan, house);
    let checks = apply_all(&job, rules);
    checks.iter().filter(|check| check.outcome == Outcome::Fail).map(name).collect()
}
