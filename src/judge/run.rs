//! Runs rules over a job.

use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use super::apply::{apply, apply_all, apply_to_checks};
use super::check::{Check, Judgement};
use super::times::{Part, Times};
use super::{Rule, fold, own, struck, turning, waive};
use crate::house::House;
use crate::plan::Reading;
use crate::solve::{Job, Place};

/// Judges a plan by rules, but for those that the house has off.
pub fn judge(reading: &Reading, house: &House, rules: &[&'static Rule]) -> Judgement {
    judged(reading, house, rules, turning::decide, None)
}

/// Judges a plan without looking where open checks turn, which can take many times as long as all the rest.
pub fn judge_briefly(reading: &Reading, house: &House, rules: &[&'static Rule]) -> Judgement {
    judged(reading, house, rules, |_, _| 0, None)
}

/// Judges a plan by rules, and takes the time of every part where it can be written down.
pub fn judge_timed(
    reading: &Reading,
    house: &House,
    rules: &[&'static Rule],
    mut times: Option<&mut Times>,
) -> Judgement {
    if let Some(times) = times.as_deref_mut() {
        let on: Vec<&'static Rule> = rules.iter().copied().filter(|rule| !house.rules.is_off(rule.code)).collect();
        measure(reading, house, &on, times);
    }
    judged(reading, house, rules, turning::decide, times)
}

fn judged(
    reading: &Reading,
    house: &House,
    rules: &[&'static Rule],
    decide: fn(&mut [Check], &Job<'_>) -> usize,
    mut times: Option<&mut Times>,
) -> Judgement {
    let job = Job::new(&reading.plan, house);
    let on = rules.iter().copied().filter(|rule| !house.rules.is_off(rule.code));
    let rules: Vec<&'static Rule> = on.chain(own::rules(house)).collect();
    let rules = rules.as_slice();
    let mut checks = apply_all(&job, rules);
    checks.extend(rules.iter().flat_map(|rule| own::apply(rule, reading, &job)));
    struck::set_aside(&mut checks, reading, house, rules);
    let untried = Times::take(times.as_deref_mut(), Part::Turn, || decide(&mut checks, &job));
    weigh(&mut checks, house);
    waive::mark(&mut checks, &job);
    fold::set_aside(&mut checks);
    gate(&mut checks, &job);
    let mut last: Vec<Check> = rules.iter().flat_map(|rule| apply_to_checks(rule, &job, &checks)).collect();
    struck::set_aside_last(&mut last, reading);
    weigh(&mut last, house);
    gate(&mut last, &job);
    checks.extend(last);
    Times::take(times, Part::Fold, || fold::mark(&mut checks, reading, house, rules));
    put_in_order(&mut checks, reading);
    let find_out = turning::find_out(&checks);
    Judgement { checks, find_out, untried }
}

/// Puts checks in order, by the place in the text that they tell of, then by code and subject. Numbers are sorted in their
/// stead: a check is large, and should move little. A second list of them would be large as well, and is not made.
fn put_in_order(checks: &mut [Check], reading: &Reading) {
    let also = |at: usize| (checks[at].rule.code, &checks[at].subject, at);
    let starts = starts(checks, reading).into_iter().zip(0..);
    let mut order: Vec<(usize, u128, usize)> =
        starts.map(|(start, at)| (start, letters(checks[at].rule.code), at)).collect();
    order.sort_unstable_by(|one, other| {
        (one.0, one.1).cmp(&(other.0, other.1)).then_with(|| also(one.2).cmp(&also(other.2)))
    });
    for to in 0..order.len() {
        let mut from = order[to].2;
        // What stood here has been moved on, to where its place was.
        while from < to {
            from = order[from].2;
        }
        checks.swap(to, from);
    }
}

/// The first letters of a code as a number: such numbers lie as the letters do, and are compared in one step.
fn letters(code: &str) -> u128 {
    let mut first = [0; 16];
    first.iter_mut().zip(code.bytes()).for_each(|(letter, byte)| *letter = byte);
    u128::from_be_bytes(first)
}

/// Where in the text each check tells of something. Every thing is the subject of many rules, and is looked up once.
fn starts(checks: &[Check], reading: &Reading) -> Vec<usize> {
    let mut known: HashMap<&Place, usize> = HashMap::with_capacity(checks.len());
    let start = |place: &Place| reading.tree.locate_parts(place.segments()).span.start;
    checks
        .iter()
        .map(Check::told_at)
        .map(|place| *known.entry(place).or_insert_with_key(|place| start(place)))
        .collect()
}

/// Takes the time of every rule on a job of its own that is solved already: no rule pays for what all of them use, and
/// what is judged afterwards is judged as if nobody had looked.
fn measure(reading: &Reading, house: &House, rules: &[&'static Rule], times: &mut Times) {
    let job = Job::new(&reading.plan, house);
    // A part that breaks down breaks down again where it is told.
    let _ = Times::take(Some(times), Part::Solve, || catch_unwind(AssertUnwindSafe(|| job.solve())));
    let mut checks = Vec::new();
    for rule in rules {
        let part = Part::Rule(rule.code);
        let judged = || if rule.judges_checks() { apply_to_checks(rule, &job, &checks) } else { apply(rule, &job) };
        let own = Times::take(Some(times), part, judged);
        times.count(part, own.len());
        checks.extend(own);
    }
}

/// What findings stand for in this house.
fn weigh(checks: &mut [Check], house: &House) {
    for check in checks {
        check.severity = house.rules.severity(check.rule.code, check.rule.severity);
    }
}

/// Marks what the gate waits for.
fn gate(checks: &mut [Check], job: &Job<'_>) {
    let demand = job.house.gate.at(job.plan.stage());
    for check in checks {
        check.holds_gate = check.holds(demand);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules;

    #[test]
    fn codes_as_numbers_lie_as_their_letters_do() {
        let codes = ["FUSE-01", "FUSE-1", "FUSE-10", "FUSE-2", "OUR-SHOP-ONLY-TINNED-1", "SUPPLY-2", "TUNE-01"];
        assert!(codes.windows(2).all(|pair| pair[0] < pair[1] && letters(pair[0]) < letters(pair[1])));
        // What is longer is told apart by the codes themselves.
        assert_eq!(letters("OUR-SHOP-ONLY-TINNED-1"), letters("OUR-SHOP-ONLY-TINNED-2"));
    }

    #[test]
    fn a_rule_that_is_off_takes_no_time() {
        let reading = crate::plan::read("plan: 1\ngrounds: {floor: {on: body-sheet}, rail: {}}\n".to_owned());
        let mut house = House::default();
        let known: Vec<_> = rules::all().into_iter().map(Rule::known).collect();
        house.rules = crate::house::read(
            "house: 1\nrules: {GROUND-07: {off: true, reason: ours}}\n".to_owned(),
            "house.yaml",
            &known,
        )
        .house
        .rules;
        assert!(house.rules.is_off("GROUND-07"));
        let mut times = Times::default();
        let timed = judge_timed(&reading, &house, &rules::all(), Some(&mut times));
        assert_eq!(times.of(Part::Rule("GROUND-01")).checks, 2);
        assert_eq!(times.of(Part::Rule("GROUND-07")).checks, 0);
        assert_eq!(timed.checks.len(), judge(&reading, &house, &rules::all()).checks.len());
        assert!(times.of(Part::Solve).time > std::time::Duration::ZERO);
    }
}
