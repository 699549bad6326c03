//! One check worked in the numbers of its plan, line by line.

use super::build::numbers;
use super::model::{Given, Must, Numbers};
use crate::house::House;
use crate::judge::{Change, Check, Outcome, changes};
use crate::plan::{Reading, in_words};
use crate::solve::Place;

/// A heading and what stands beside it; the heading is empty where the line goes on with the one before.
pub type Line = (&'static str, String);

/// More ways to turn a verdict are not shown.
const MOST_CHANGES: usize = 5;

/// What went into a check, what came out and what is still to be found out.
pub fn worked(reading: &Reading, check: &Check) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some(finding) = &check.finding {
        let would = if check.outcome == Outcome::Open { "would be" } else { "found" };
        lines.push((would, finding.title.clone()));
    }
    if let Some(working) = &check.working {
        lines.extend(sum(&numbers(reading, working)));
    }
    lines.extend(check.needs.iter().map(|place| ("find out", named(place))));
    lines.extend(check.turns.iter().map(|turn| ("find out", format!("{}: {}", named(&turn.place), turn.words))));
    if check.outcome == Outcome::Open && check.needs.is_empty() && check.turns.is_empty() {
        lines.push(("find out", "what is assumed above: no single fact settles it".into()));
    }
    lines.retain(|(_, words)| !words.is_empty());
    lines
}

/// A fact in words, with the place where the plan would state it.
fn named(place: &Place) -> String {
    let (path, words) = (place.path(), in_words(&place.path()));
    if words == path { path } else { format!("{words} ({path})") }
}

fn sum(numbers: &Numbers) -> Vec<Line> {
    let given = numbers.inputs.iter().enumerate();
    let mut lines: Vec<Line> = given.map(|(at, given)| (if at == 0 { "given" } else { "" }, given.words())).collect();
    lines.extend([
        ("formula", numbers.formula.clone()),
        ("put in", put_in(numbers)),
        ("result", numbers.comparison().trim_start_matches("result ").to_owned()),
        ("limit", numbers.source.clone()),
    ]);
    lines
}

/// The smallest changes of single facts that would turn the verdict.
pub fn turned(reading: &Reading, house: &House, check: &Check) -> Vec<Line> {
    let changes = changes(reading, house, check).into_iter().take(MOST_CHANGES).enumerate();
    let told = changes.map(|(at, Change { place, from, to, outcome, .. })| {
        let comes_to = match outcome {
            Outcome::Pass => "passes",
            Outcome::Fail => "fails",
            Outcome::Open | Outcome::NotApplicable => "is open",
        };
        (if at == 0 { "turns" } else { "" }, format!("{comes_to} with {place} = {to} (now {from})"))
    });
    told.collect()
}

/// What a check came to, as the end of a sentence.
pub fn verdict(check: &Check) -> &'static str {
    match (check.outcome, check.waived) {
        (Outcome::Pass, _) => "passes",
        (Outcome::Fail, None) => "fails",
        (Outcome::Fail, Some(_)) => "fails, and is waived",
        (Outcome::Open, _) => "is open",
        (Outcome::NotApplicable, _) => "does not apply",
    }
}

/// A formula with its inputs put in; where it is told in words, or words are left, the result against the limit.
fn put_in(numbers: &Numbers) -> String {
    let is_sum = [" x ", " / ", " + ", " - ", " = ", "sqrt("].iter().any(|sign| numbers.formula.contains(sign));
    if is_sum {
        let mut inputs: Vec<&Given> = numbers.inputs.iter().collect();
        inputs.sort_by_key(|given| std::cmp::Reverse(given.name.len()));
        let with = |value: fn(&Given) -> &str| {
            inputs.iter().fold(numbers.formula.clone(), |put, given| put.replace(given.name, value(given)))
        };
        let put = with(|given| &given.value);
        if put != numbers.formula && !has_words(&with(|_| "1")) {
            return put;
        }
    }
    let sign = if numbers.must_be == Must::AtMost { "<=" } else { ">=" };
    format!("{} {sign} {}", numbers.result.text, numbers.limit.text)
}

/// Whether two words stand side by side in a formula: what is neither a number nor a sign.
fn has_words(formula: &str) -> bool {
    let words: Vec<&str> = formula.split(' ').collect();
    let is_word = |word: &str| word.len() > 1 && word.chars().all(|letter| letter.is_alphabetic() || letter == '\'');
    words.windows(2).any(|pair| pair.iter().all(|word| is_word(word)))
}
