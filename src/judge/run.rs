//! Runs rules over a job.

use super::Rule;
use super::apply::apply;
use super::check::{Check, Judgement};
use super::turning;
use crate::house::House;
use crate::plan::Reading;
use crate::solve::Job;

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
