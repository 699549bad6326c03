//! One cause, one finding: what only follows from another finding is told below it.

use std::collections::HashSet;

use super::Rule;
use super::apply::apply_all;
use super::check::{Check, is_within};
use super::verdict::{Finding, Outcome};
use crate::house::House;
use crate::plan::Reading;
use crate::solve::{Job, Place};

/// So many findings are looked at of which nothing says what was meant; each is judged a few times.
const MOST_UNSURE: usize = 8;

type Name = (&'static str, Place);

/// Marks findings that follow from others: those whose rule says so, and those that vanish when a value that another
/// finding is about is read as it was probably meant.
pub(super) fn mark(checks: &mut [Check], reading: &Reading, house: &House, rules: &[&'static Rule]) {
    let standing: HashSet<Name> = checks.iter().filter(|check| check.stands()).map(name).collect();
    for check in checks.iter_mut().filter(|check| check.stands()) {
        let cause = check.finding.as_ref().and_then(|finding| finding.follows.clone());
        check.follows = cause.filter(|cause| standing.contains(cause));
    }
    let causes: Vec<(Name, Reading)> = checks
        .iter()
        .filter_map(|check| meant(reading, standing_finding(check)?).map(|meant| (name(check), meant)))
        .collect();
    for (cause, meant) in &causes {
        follow(checks, cause, &still_fail(meant, house, rules));
    }
    let unsure: Vec<(Name, Vec<Reading>)> = checks
        .iter()
        .filter_map(|check| standing_finding(check).map(|finding| (name(check), could_be(reading, finding))))
        .filter(|(_, could)| !could.is_empty())
        .take(MOST_UNSURE)
        .collect();
    for (cause, could) in &unsure {
        let left = could.iter().map(|reading| still_fail(reading, house, rules));
        // The likeliest is the one with which the least is wrong.
        if let Some(left) = left.filter(|left| !left.contains(cause)).min_by_key(HashSet::len) {
            follow(checks, cause, &left);
        }
    }
    // What needs several values to be wrong vanishes only with all of them.
    if let [first, _, ..] = causes.as_slice() {
        let findings: Vec<&Finding> = checks.iter().filter_map(standing_finding).collect();
        let all = findings.into_iter().fold(reading.clone(), |all, finding| meant(&all, finding).unwrap_or(all));
        follow(checks, &first.0.clone(), &still_fail(&all, house, rules));
    }
}

/// No facts are asked for of things that a standing finding says are not there; what waits only for such is set aside.
pub(super) fn set_aside(checks: &mut [Check]) {
    let standing = checks.iter().filter(|check| check.stands()).filter_map(|check| check.finding.as_ref());
    let missing: Vec<String> = standing.flat_map(|finding| &finding.missing).map(Place::path).collect();
    let is_missing = |need: &Place| missing.iter().any(|thing| is_within(&need.path(), thing));
    let open = checks.iter_mut().filter(|check| check.outcome == Outcome::Open && check.waived.is_none());
    open.for_each(|check| check.no_longer_needs(&is_missing, "it waits for something that is not in the plan"));
}

/// Findings that are gone from `left` follow from the cause.
fn follow(checks: &mut [Check], cause: &Name, left: &HashSet<Name>) {
    for check in checks.iter_mut().filter(|check| check.stands() && check.follows.is_none()) {
        // A cause follows from nothing, and what is judged last is judged over all the rest.
        let is_cause =
            check.finding.as_ref().is_none_or(|finding| finding.meant.is_some() || !finding.could.is_empty());
        if !is_cause && check.rule.judges_the_plan() && !left.contains(&name(check)) {
            check.follows = Some(cause.clone());
        }
    }
}

fn standing_finding(check: &Check) -> Option<&Finding> {
    check.finding.as_deref().filter(|_| check.stands())
}

fn name(check: &Check) -> Name {
    (check.rule.code, check.subject.clone())
}

/// The plan as it was probably meant, if a finding says so.
fn meant(reading: &Reading, finding: &Finding) -> Option<Reading> {
    reading.with(&finding.at.place.path(), finding.meant.as_ref()?).ok()
}

/// The plan in each of the ways in which it may have been meant, if a finding says so.
fn could_be(reading: &Reading, finding: &Finding) -> Vec<Reading> {
    let place = finding.at.place.path();
    finding.could.iter().filter_map(|value| reading.with(&place, value).ok()).collect()
}

fn still_fail(reading: &Reading, house: &House, rules: &[&'static Rule]) -> HashSet<Name> {
    let job = Job::new(&reading.plan, house);
    let checks = apply_all(&job, rules);
    checks.iter().filter(|check| check.outcome == Outcome::Fail).map(name).collect()
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, judged};

    /// The load names a second coil of a driver that has one: what waits for that coil is set aside, unless somebody accepted
    /// that it is not known.
    #[test]
    fn what_waits_for_something_that_is_not_there_is_set_aside_unless_it_is_waived() {
        let text = "plan: 1\namplifiers: {amp: {class: D, rated: [{load: 4 ohm, power: 75 W}]}}\ndrivers: {left: {coils: [4 ohm]}}\n\
                    wires: {main: {from: battery.positive, to: amp.power, size: 8 AWG}}\n\
                    loads: {l: {amplifier: amp, outputs: [1], coils: left.2}}\n";
        let judged = judged(text);
        let waits = |check: &&crate::judge::Check| {
            check.reason == Some("it waits for something that is not in the plan")
                && check.rule.severity < crate::judge::Severity::Danger
        };
        let put_by = judged.checks.iter().find(waits).expect("something waits");
        let (code, subject) = (put_by.rule.code, put_by.subject.path());
        assert_eq!(put_by.outcome, Outcome::NotApplicable);
        let waiver =
            format!("waivers: [{{rule: {code}, at: {subject}, reason: known, by: M. Example, until: 2999-01-01}}]\n");
        let waived = check(&format!("{text}{waiver}"), code, &subject);
        assert_eq!((waived.outcome, waived.waived.is_some()), (Outcome::Open, true));
    }
}
