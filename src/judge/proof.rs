//! What proves a fix: what was found in a plan before a change, held against what is found after it.

use std::collections::HashMap;
use std::ops::Range;

use super::Severity;
use super::check::{Check, Judgement};
use super::verdict::Outcome;
use crate::house::House;
use crate::plan::{Plan, Reading};
use crate::quantity::Quantity;
use crate::solve::{Job, Place};
use crate::text::{Edit, comments};

/// Whether two checks are the same one: a rule and its subject, on two plans.
pub(super) fn is(one: &Check, other: &Check) -> bool {
    one.rule.code == other.rule.code && one.subject == other.subject
}

/// What a finding is called: its rule and its subject, items of lists without their numbers, since these shift when an
/// item comes, goes or moves.
type Name = (&'static str, String);

/// What the finding of a check is called.
pub(super) fn name(check: &Check) -> Name {
    let path = check.subject.path();
    let is_number = |segment: &str| segment.bytes().all(|byte| byte.is_ascii_digit());
    let segments: Vec<&str> = path.split('.').map(|segment| if is_number(segment) { "*" } else { segment }).collect();
    (check.rule.code, segments.join("."))
}

/// How often each is found, of an outcome and at least so severe.
fn count(judgement: &Judgement, outcome: Outcome, than: Severity) -> HashMap<Name, usize> {
    let mut counts = HashMap::new();
    for check in judgement.checks.iter().filter(|check| check.outcome == outcome && check.severity >= than) {
        *counts.entry(name(check)).or_insert(0) += 1;
    }
    counts
}

/// Whether a finding is gone: its check passes or has nothing more to judge, as when what it was about is gone. Of items
/// of lists there is one finding less. A rule that breaks down has not been asked.
pub(super) fn is_cleared(check: &Check, before: &Judgement, after: &Judgement) -> bool {
    let own = name(check);
    if after.checks.iter().any(|other| other.broke && other.rule.code == check.rule.code) {
        return false;
    }
    let unclear = |judgement: &Judgement| {
        let wanting = |other: &&Check| matches!(other.outcome, Outcome::Fail | Outcome::Open) && name(other) == own;
        judgement.checks.iter().filter(wanting).count()
    };
    if own.1.contains('*') {
        return unclear(after) < unclear(before);
    }
    let now = after.checks.iter().find(|other| is(other, check));
    now.is_none_or(|now| matches!(now.outcome, Outcome::Pass | Outcome::NotApplicable))
}

/// What a check has to spare, as a share of the limit.
pub(super) fn margin(check: &Check) -> Option<f64> {
    check.working.as_deref().and_then(super::Working::margin)
}

/// Whether a change brings nothing of this severity or worse: no check fails that did not fail, and none is open that
/// passed. What could not be judged before and is open now is no loss. No rule breaks down that did not.
pub(super) fn no_worse(before: &Judgement, after: &Judgement, than: Severity) -> bool {
    if breaks_more(before, after) {
        return false;
    }
    let (failed, passed, open) =
        (count(before, Outcome::Fail, than), count(before, Outcome::Pass, than), count(before, Outcome::Open, than));
    let more = |counts: &HashMap<Name, usize>, name: &Name, now: usize| now > counts.get(name).copied().unwrap_or(0);
    let fails = count(after, Outcome::Fail, than);
    let opens = count(after, Outcome::Open, than);
    fails.iter().all(|(name, now)| !more(&failed, name, *now))
        && opens.iter().all(|(name, now)| !passed.contains_key(name) || !more(&open, name, *now))
}

/// Whether a fault is found with what was changed itself that was not found before: a rating that its load opens mends no
/// danger.
pub(super) fn spoils(before: &Judgement, after: &Judgement, changed: &[&Place]) -> bool {
    let failed = count(before, Outcome::Fail, Severity::Fault);
    let is_changed = |check: &&Check| check.finding.as_ref().is_some_and(|found| changed.contains(&&found.at.place));
    let mut faults = after.failed().filter(|check| check.severity >= Severity::Fault).filter(is_changed);
    faults.any(|check| !failed.contains_key(&name(check)))
}

/// Whether a fuse is made larger than the wires behind it carry for sure, be it that nobody knows what they carry: whatever
/// asks for it, it is no fix.
pub(super) fn outgrows_wire(before: &Plan, after: &Plan, house: &House) -> bool {
    let rated = |job: &Job<'_>| -> Vec<(Place, f64)> {
        let fuses = job.protection().fuses.iter();
        fuses.filter_map(|site| Some((site.place.clone(), site.fuse.rating?.base()))).collect()
    };
    let (known, job) = (rated(&Job::new(before, house)), Job::new(after, house));
    let over = house.limits.fuse_over_ampacity.base() * (1.0 + 1e-9);
    let carries =
        |wire: usize, amperes: f64| job.ampacity(&job.wires[wire]).is_ok_and(|is| amperes <= is.ampacity.low() * over);
    job.protection().fuses.iter().enumerate().any(|(fuse, site)| {
        let was = known.iter().find(|(place, _)| *place == site.place).map(|(_, rating)| *rating);
        let now = site.fuse.rating.map(Quantity::base);
        let grown = now.filter(|now| was.is_some_and(|was| *now > was));
        grown.is_some_and(|now| job.protected_by(fuse).into_iter().any(|wire| !carries(wire, now)))
    })
}

/// Whether rules break down on a plan that did not on another: they have not been asked then.
pub(super) fn breaks_more(before: &Judgement, after: &Judgement) -> bool {
    let did = |check: &Check| before.checks.iter().any(|other| other.broke && is(other, check));
    after.checks.iter().any(|check| check.broke && !did(check))
}

/// Whether a plan still says to people what it said, be it in another order.
pub(super) fn keeps_comments(before: &Reading, after: &Reading) -> bool {
    let of = |reading: &Reading| -> Vec<String> {
        let mut words: Vec<String> = comments(&reading.text, &reading.tree).into_iter().map(str::to_owned).collect();
        words.sort_unstable();
        words
    };
    of(before) == of(after)
}

/// The bytes in which two texts differ, on character boundaries.
pub(super) fn difference(before: &str, after: &str) -> Edit {
    let same = |pairs: &mut dyn Iterator<Item = ((usize, char), (usize, char))>| {
        pairs.take_while(|((_, one), (_, other))| one == other).map(|((_, one), _)| one.len_utf8()).sum::<usize>()
    };
    let front = same(&mut before.char_indices().zip(after.char_indices()));
    let (rest_before, rest_after) = (&before[front..], &after[front..]);
    let back = same(&mut rest_before.char_indices().rev().zip(rest_after.char_indices().rev()));
    let at: Range<usize> = front..before.len() - back;
    Edit { at, text: after[front..after.len() - back].to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_difference_lies_on_character_boundaries() {
        assert_eq!(difference("aäb", "aöb"), Edit { at: 1..3, text: "ö".into() });
        assert_eq!(difference("ab", "aab"), Edit { at: 1..1, text: "a".into() });
        assert_eq!(difference("a", "a"), Edit { at: 1..1, text: String::new() });
    }

    #[test]
    fn a_finding_about_an_item_of_a_list_is_not_cleared_by_nothing() {
        let text = "plan: 1\nwaivers: [{rule: GROUND-01, at: grounds.floor, reason: rig, by: me, until: 2999-06-30}]\n";
        let (idle, without) = (crate::rules::trial::judged(text), crate::rules::trial::judged("plan: 1\n"));
        let check = idle.failed().find(|check| check.subject.path() == "waivers.0").expect("it is idle");
        assert!(!is_cleared(check, &idle, &idle) && is_cleared(check, &idle, &without));
    }

    /// 10 AWG of class 105 C carries 51 A at 50 C (33 CFR 183.425 table 5); what a wire of no stated size carries nobody knows.
    #[test]
    fn a_fuse_that_is_made_larger_than_its_wire_carries_outgrows_it() {
        let plan = |size: &str, fuse: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, {size}conductor: copper, \
                 insulation: 105 C, length: 4 m, path: [engine-bay]{fuse}}}\n"
            );
            crate::plan::read(text).plan
        };
        let mut house = House::default();
        let in_house = |house: &House, size: &str, before: &str, after: &str| {
            let fuse = |rating: &str| format!(", fuse: {{rating: {rating}}}");
            outgrows_wire(&plan(size, &fuse(before)), &plan(size, &fuse(after)), house)
        };
        let grows = |size: &str, before: &str, after: &str| in_house(&House::default(), size, before, after);
        let ten = "size: 10 AWG, ";
        assert!(grows(ten, "40 A", "60 A") && !grows(ten, "40 A", "50 A"));
        assert!(!grows(ten, "60 A", "60 A") && !grows(ten, "80 A", "60 A"), "it is made no larger");
        assert!(grows(ten, "59.5 A", "60 A"), "by however little");
        assert!(grows("", "30 A", "35 A"));
        assert!(!outgrows_wire(&plan(ten, ""), &plan(ten, ", fuse: {rating: 60 A}"), &House::default()), "it is new");
        // Where the house allows half as much again that is 76.5 A.
        house.limits.fuse_over_ampacity.value = Quantity::new(1.5);
        assert!(!in_house(&house, ten, "40 A", "75 A") && in_house(&house, ten, "40 A", "80 A"));
    }
}
