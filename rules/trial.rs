//! For the tests beside the rules: what a rule says of a plan.

use std::cell::Cell;

use crate::house::House;
use crate::judge::{Check, Finding, Judgement, Outcome, Rule, Severity, Subjects, judge};
use crate::plan;

/// Judges a plan by every rule. The text must be a plan without faults of shape.
pub fn judged(text: &str) -> Judgement {
    judged_by(&House::default(), text)
}

/// The same in a house with settings of its own.
fn judged_by(house: &House, text: &str) -> Judgement {
    let reading = plan::read(text.to_owned());
    assert!(reading.misreads.is_empty(), "not a plan: {:?}", reading.misreads);
    judge(&reading, house, &super::all())
}

/// What one rule says of one subject.
pub fn check(text: &str, code: &str, subject: &str) -> Check {
    picked(&judged(text), code, subject)
}

fn picked(judgement: &Judgement, code: &str, subject: &str) -> Check {
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

/// What one rule says of one subject in a house with settings of its own.
pub fn check_by(house: &House, text: &str, code: &str, subject: &str) -> Check {
    picked(&judged_by(house, text), code, subject)
}

/// The outcome of one rule on one subject in a house with settings of its own.
pub fn outcome_by(house: &House, text: &str, code: &str, subject: &str) -> Outcome {
    check_by(house, text, code, subject).outcome
}

/// What one rule tells of one subject.
pub fn finding(text: &str, code: &str, subject: &str) -> Finding {
    let check = check(text, code, subject);
    *check.finding.unwrap_or_else(|| panic!("{code} finds nothing at {subject}: {:?}", check.outcome))
}

/// What one rule offers to change for one subject: each offer's title with the places that it changes.
pub fn offered(text: &str, code: &str, subject: &str) -> Vec<(String, Vec<String>)> {
    let places = |offer: &crate::judge::Offer| offer.places().iter().map(|place| place.path()).collect();
    finding(text, code, subject).offers.iter().map(|offer| (offer.title.clone(), places(offer))).collect()
}

/// The plan with what one rule offers for one subject, each offer taken by itself.
pub fn after(text: &str, code: &str, subject: &str) -> Vec<String> {
    let take = |offer: &crate::judge::Offer| {
        offer.deeds.iter().fold(text.to_owned(), |text, (place, deed)| {
            let reading = plan::read(text);
            let edit = crate::text::change(&reading.text, &reading.tree, &place.path(), deed);
            edit.unwrap_or_else(|why| panic!("{} cannot be done: {why}", offer.title)).apply(&reading.text)
        })
    };
    finding(text, code, subject).offers.iter().map(take).collect()
}
