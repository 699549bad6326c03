//! For the tests beside the rules: what a rule says of a plan.

use crate::house::House;
use crate::judge::{Check, Judgement, Outcome, judge};
use crate::plan;

/// Judges a plan by every rule. The text must be a plan without faults of shape.
pub fn judged(text: &str) -> Judgement {
    let reading = plan::read(text.to_owned());
    assert!(reading.misreads.is_empty(), "not a plan: {:?}", reading.misreads);
    judge(&reading, &House::default(), &super::all())
}

/// What one rule says of one subject.
pub fn check(text: &str, code: &str, subject: &str) -> Check {
    let judgement = judged(text);
    let found = judgement.checks.iter().find(|check| check.rule.code == code && check.subject.path() == subject);
    let subjects: Vec<String> = judgement.checks.iter().map(|c| format!("{} {}", c.rule.code, c.subject)).collect();
    found.unwrap_or_else(|| panic!("{code} does not judge {subject}, only {subjects:?}")).clone()
}

/// The outcome of one rule on one subject.
pub fn outcome(text: &str, code: &str, subject: &str) -> Outcome {
    check(text, code, subject).outcome
}
