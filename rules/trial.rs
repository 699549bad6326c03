//! For the tests beside the rules: what a rule says of a plan.

use std::cell::Cell;

use crate::house::House;
use crate::judge::{Check, Judgement, Outcome, Rule, Severity, Subjects, judge};
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

/// A rule that breaks down on every wire but one that is called `holds`.
pub static FALLS: Rule = Rule {
    code: "TRIAL-01",
    name: "trial-falls",
    severity: Severity::Fault,
    since: "0.1.0",
    page: "# TRIAL-01 trial-falls\n\nIt falls.\n",
    check: Subjects::Wire(|wire, _| {
        assert!(wire.name == "holds", "on purpose");
        Err(crate::solve::Undecided::NotApplicable("it holds"))
    }),
    slips: &[],
};

thread_local! {
    static MORE: Cell<Option<&'static Rule>> = const { Cell::new(None) };
}

/// The rule that a test has put beside all others, for its own thread.
pub fn more() -> Option<&'static Rule> {
    MORE.get()
}

/// Takes the rule away again.
pub struct Beside;

impl Drop for Beside {
    fn drop(&mut self) {
        MORE.set(None);
    }
}

/// Puts a rule beside all others until the test ends.
pub fn beside(rule: &'static Rule) -> Beside {
    MORE.set(Some(rule));
    Beside
}
