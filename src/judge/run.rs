//! Runs rules over a job.

use super::apply::{apply, apply_to_checks};
use super::check::{Check, Judgement};
use super::{Rule, fold, turning, waive};
use crate::house::House;
use crate::plan::Reading;
use crate::solve::Job;

/// Judges a plan by rules.
pub fn judge(reading: &Reading, house: &House, rules: &[&'static Rule]) -> Judgement {
    judged(reading, house, rules, turning::decide)
}

/// Judges a plan without looking where open checks turn, which can take many times as long as all the rest.
pub fn judge_briefly(reading: &Reading, house: &House, rules: &[&'static Rule]) -> Judgement {
    judged(reading, house, rules, |_, _| {})
}

fn judged(reading: &Reading, house: &House, rules: &[&'static Rule], decide: fn(&mut [Check], &Job<'_>)) -> Judgement {
    let job = Job::new(&reading.plan, house);
    let mut checks = apply_all(&job, rules);
    decide(&mut checks, &job);
    waive::mark(&mut checks, &job);
    let last: Vec<Check> = rules.iter().flat_map(|rule| apply_to_checks(rule, &job, &checks)).collect();
    checks.extend(last);
    fold::mark(&mut checks, reading, house, rules);
    let place = |check: &Check| {
        let place = check.finding.as_ref().map_or(&check.subject, |finding| &finding.at.place);
        reading.tree.locate(&place.path()).span.start
    };
    checks.sort_by_cached_key(|check| (place(check), check.rule.code, check.subject.path()));
    let find_out = turning::find_out(&checks);
    Judgement { checks, find_out }
}

/// Every rule that judges the plan itself.
pub(super) fn apply_all(job: &Job<'_>, rules: &[&'static Rule]) -> Vec<Check> {
    rules.iter().flat_map(|rule| apply(rule, job)).collect()
}
