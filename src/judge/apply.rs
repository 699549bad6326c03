//! One rule on all its subjects.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::check::Check;
use super::verdict::Outcome;
use super::{Judged, Rule, Subjects};
use crate::solve::{Job, Place, Undecided, earth};

/// One rule on all its subjects.
pub(super) fn apply(rule: &'static Rule, job: &Job<'_>) -> Vec<Check> {
    apply_where(rule, job, &|_| true)
}

/// Every rule that judges the plan itself.
pub(super) fn apply_all(job: &Job<'_>, rules: &[&'static Rule]) -> Vec<Check> {
    let mut checks = Vec::new();
    for rule in rules {
        checks.extend(apply(rule, job));
    }
    checks
}

/// One rule on those of its subjects that are wanted.
pub(super) fn apply_where(rule: &'static Rule, job: &Job<'_>, wanted: &dyn Fn(&Place) -> bool) -> Vec<Check> {
    let mut checks = judged_where(rule, job, wanted);
    if rule.is_of_supply() && job.polarity().positive_earth.is_some() {
        let says_so = |check: &Check| check.finding.as_ref().is_some_and(|finding| finding.is_beyond);
        checks.iter_mut().filter(|check| !says_so(check)).for_each(|check| check.put_by(earth::WHY));
    }
    checks
}

fn judged_where(rule: &'static Rule, job: &Job<'_>, wanted: &dyn Fn(&Place) -> bool) -> Vec<Check> {
    let one = |subject: Place, judged: &dyn Fn() -> Judged| wanted(&subject).then(|| contained(rule, subject, judged));
    match rule.check {
        Subjects::Job(check) => one(Place::of("job"), &|| check(job)).into_iter().collect(),
        Subjects::Wire(check) => of_things(&job.wires, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::Ground(check) => of_things(&job.grounds, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::Amplifier(check) => of_things(&job.amplifiers, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::Gear(check) => of_things(&job.gear, &|gear| one(gear.place.clone(), &|| check(gear, job))),
        Subjects::Load(check) => of_things(&job.loads, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::TurnOn(check) => of_things(&job.turn_on, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::Signal(check) => of_things(&job.signals, &|thing| one(thing.place(), &|| check(thing, job))),
        Subjects::Fuse(check) => {
            let fuses = job.protection().fuses.iter().enumerate();
            fuses.filter_map(|(at, site)| one(site.place.clone(), &|| check(at, job))).collect()
        }
        Subjects::Each(check) => {
            let mut checks = each(rule, &|| check(job));
            checks.retain(|check| wanted(&check.subject));
            checks
        }
        Subjects::Checks(_) | Subjects::Stated(_) => Vec::new(),
    }
}

fn of_things<T>(things: &[T], one: &dyn Fn(&T) -> Option<Check>) -> Vec<Check> {
    things.iter().filter_map(one).collect()
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
        Ok(verdict) => {
            let asks = verdict.finding.as_ref().filter(|_| verdict.outcome == Outcome::Open);
            let needs = asks.map(|finding| finding.asks.clone()).unwrap_or_default();
            Check { outcome: verdict.outcome, working: verdict.working, finding: verdict.finding, needs, ..blank }
        }
        Err(Undecided::Open(needs)) => Check { needs, ..blank },
        Err(Undecided::NotApplicable(reason)) => {
            Check { outcome: Outcome::NotApplicable, reason: Some(reason), ..blank }
        }
    }
}

fn broken(rule: &'static Rule, subject: Place) -> Check {
    let reason = "the rule broke down here: a fault of testlamp, not of the plan";
    Check { broke: true, ..check_of(rule, subject, Err(Undecided::NotApplicable(reason))) }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::check;

    #[test]
    fn a_rule_that_says_nothing_of_a_subject_says_why() {
        let text = "plan: 1\namplifiers: {amp: {}}\n";
        let quiet = check(text, "WIRE-06", "amplifiers.amp");
        assert_eq!(
            (quiet.outcome, quiet.reason),
            (Outcome::NotApplicable, Some("it has no feed or no return to compare"))
        );
    }

    /// Of the supply nothing is said where the positive stands on the body, but that it does; the rest is judged.
    #[test]
    fn of_a_positive_earth_only_the_supply_is_left_out() {
        let text = "plan: 1\nvehicle: {voltage: 12 V, body: steel}\namplifiers: {amp: {}}\n\
                    grounds: {floor: {on: body-structure, surface: painted}}\nwires:\n  \
                    live: {from: battery.negative, to: amp.ground, path: [firewall], crossings: {firewall: {sealed: false}}, \
                    fuse: {rating: 30 A, distance: 15 cm}}\n  earth: {from: amp.power, to: grounds.floor}\n  \
                    strap: {from: battery.positive, to: grounds.floor}\n";
        let of = |code: &str, subject: &str| check(text, code, subject).outcome;
        assert_eq!(of("WIRE-15", "vehicle.earth"), Outcome::Fail);
        assert_eq!(of("ROUTE-01", "wires.live"), Outcome::Fail);
        assert_eq!(of("GROUND-01", "grounds.floor"), Outcome::NotApplicable);
        let earthed = text.replace("battery.negative, to: amp.ground", "battery.positive, to: amp.power");
        let earthed = earthed.replace("from: amp.power, to", "from: amp.ground, to");
        let earthed = earthed.replace("strap: {from: battery.positive", "strap: {from: battery.negative");
        assert_eq!(check(&earthed, "GROUND-01", "grounds.floor").outcome, Outcome::Fail);
    }
}
