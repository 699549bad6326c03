//! Which facts decide an open check, and at which value the verdict turns.

use std::collections::BTreeMap;

use super::Severity;
use super::apply::apply_where;
use super::check::{Check, FindOut, Turn};
use super::verdict::Outcome;
use crate::solve::{Assumed, Job, Pins, Place};

/// How finely a fact is tried over its range when any number in it may be.
const TRIES: usize = 5;
/// How often the turning value is halved in on.
const HALVINGS: usize = 10;

/// Narrows one assumed fact at a time and looks which open checks that decides.
pub(super) fn decide(checks: &mut [Check], job: &Job<'_>) {
    let undecided: Vec<usize> =
        (0..checks.len()).filter(|at| checks[*at].outcome == Outcome::Open && checks[*at].needs.is_empty()).collect();
    if undecided.is_empty() {
        return;
    }
    for fact in job.assumed() {
        let values = values(&fact);
        let tried: Vec<Vec<Outcome>> =
            values.iter().map(|value| outcomes(checks, &undecided, job, &fact, *value)).collect();
        for (column, at) in undecided.iter().enumerate() {
            let outcomes: Vec<Outcome> = tried.iter().map(|row| row[column]).collect();
            if let Some(turn) = turn(&checks[*at], job, &fact, &values, &outcomes) {
                checks[*at].turns.push(turn);
            }
        }
    }
}

#[allow(clippy::cast_precision_loss, reason = "a handful of tries")]
fn values(fact: &Assumed) -> Vec<f64> {
    if !fact.steps.is_empty() {
        return fact.steps.clone();
    }
    let (low, high) = fact.range;
    (0..TRIES).map(|at| low + (high - low) * at as f64 / (TRIES - 1) as f64).collect()
}

/// What some checks come to with one fact pinned.
fn outcomes(checks: &[Check], which: &[usize], job: &Job<'_>, fact: &Assumed, value: f64) -> Vec<Outcome> {
    let pinned = Job::pinned(job.plan, job.house, Pins::from([(fact.place.path(), value)]));
    let mut by_rule: BTreeMap<&str, Vec<Check>> = BTreeMap::new();
    which
        .iter()
        .map(|at| {
            let check = &checks[*at];
            let wanted = |subject: &Place| {
                let mut asked = which.iter().map(|at| &checks[*at]);
                asked.any(|other| other.rule.code == check.rule.code && other.subject == *subject)
            };
            let again = by_rule.entry(check.rule.code).or_insert_with(|| apply_where(check.rule, &pinned, &wanted));
            again.iter().find(|other| other.subject == check.subject).map_or(Outcome::Open, |other| other.outcome)
        })
        .collect()
}

/// Where a check turns, if this fact alone decides it somewhere in its range.
fn turn(check: &Check, job: &Job<'_>, fact: &Assumed, values: &[f64], outcomes: &[Outcome]) -> Option<Turn> {
    let change = outcomes.windows(2).position(|pair| pair[0] != pair[1])?;
    let (below, above) = (outcomes[change], outcomes[change + 1]);
    let (mut low, mut high) = (values[change], values[change + 1]);
    if fact.steps.is_empty() {
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            let there = self::outcomes(std::slice::from_ref(check), &[0], job, fact, middle);
            if there.first() == Some(&below) {
                low = middle;
            } else {
                high = middle;
            }
        }
    }
    if fact.steps.is_empty() && is_at_an_end(fact, high) {
        return None;
    }
    let value = (fact.show)(high);
    let words = words(fact, &value, (low, below), above);
    Some(Turn { place: fact.place.clone(), value, above, below, words })
}

/// Whether a value is so near to an end of what is assumed that nobody would find the fact beyond it.
fn is_at_an_end(fact: &Assumed, value: f64) -> bool {
    let (low, high) = fact.range;
    let share = (value - low) / (high - low);
    !(0.01..=0.99).contains(&share)
}

/// The turn in words. Numbers have an order; words do not, so the word that decides is named.
fn words(fact: &Assumed, value: &str, (low, below): (f64, Outcome), above: Outcome) -> String {
    let number = value.starts_with(|first: char| first.is_ascii_digit());
    let (verb, decided_below) = match (below, above) {
        (Outcome::Pass, _) => ("passes", true),
        (_, Outcome::Pass) => ("passes", false),
        (Outcome::Fail, _) => ("fails", true),
        _ => ("fails", false),
    };
    match (number, decided_below) {
        (true, true) => format!("{verb} below {value}"),
        (true, false) => format!("{verb} from {value}"),
        (false, true) => format!("{verb} with {}", (fact.show)(low)),
        (false, false) => format!("{verb} with {value}"),
    }
}

/// All open checks by the facts that they wait for, the fact that settles most first, and among equals most dangers.
pub(super) fn find_out(checks: &[Check]) -> Vec<FindOut> {
    let mut facts: BTreeMap<String, (usize, FindOut)> = BTreeMap::new();
    let mut note = |place: &Place, check: &Check, turn: Option<String>| {
        let unknown = || (0, FindOut { place: place.clone(), settles: Vec::new(), turns: Vec::new() });
        let (dangers, fact) = facts.entry(place.path()).or_insert_with(unknown);
        *dangers += usize::from(check.severity == Severity::Danger);
        fact.settles.push((check.rule.code, check.subject.clone()));
        fact.turns.extend(turn);
    };
    for check in checks.iter().filter(|check| check.outcome == Outcome::Open && check.waived.is_none()) {
        for place in &check.needs {
            note(place, check, None);
        }
        for turn in &check.turns {
            let words = format!("{} {}", check.rule.code, turn.words);
            note(&turn.place, check, Some(words));
        }
    }
    let mut list: Vec<(usize, FindOut)> = facts.into_values().collect();
    for (_, fact) in &mut list {
        fact.settles.dedup();
        fact.turns.dedup();
    }
    list.sort_by_key(|(dangers, fact)| std::cmp::Reverse((fact.settles.len(), *dangers)));
    list.into_iter().map(|(_, fact)| fact).collect()
}
