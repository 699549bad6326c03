//! Which facts decide an open check, and at which value the verdict turns.

use std::collections::BTreeMap;

use super::apply::{apply, apply_where};
use super::check::{Check, FindOut, Turn};
use super::verdict::Outcome;
use super::{Severity, Subjects};
use crate::solve::{Assumed, Job, Pins, Place};

/// How finely a fact is tried over its range when any number in it may be.
const TRIES: usize = 5;
/// How often the turning value is halved in on.
const HALVINGS: usize = 10;

/// So much is tried in one plan: jobs solved, each counted by the square of its wires, as long as it takes to solve. It
/// is enough for a draft of six amplifiers with nearly everything open; one of dozens must not hold up the others, and
/// is told how many facts were not tried.
const MOST_WORK: usize = 400_000;

/// Narrows one assumed fact at a time and looks which open checks that decides. Gives how many facts were not tried.
pub(super) fn decide(checks: &mut [Check], job: &Job<'_>) -> usize {
    let undecided: Vec<usize> =
        (0..checks.len()).filter(|at| checks[*at].outcome == Outcome::Open && checks[*at].needs.is_empty()).collect();
    if undecided.is_empty() {
        return 0;
    }
    let facts = job.assumed();
    let mut jobs = 0;
    for (at, fact) in facts.iter().enumerate() {
        if is_too_much(jobs, job) {
            return facts.len() - at;
        }
        let mut trial = Trial { job, values: values(fact), fact, pinned: BTreeMap::new(), found: BTreeMap::new() };
        for at in &undecided {
            let turn = trial.turn(&checks[*at]);
            checks[*at].turns.extend(turn);
        }
        jobs += trial.pinned.len();
    }
    for at in undecided.into_iter().filter(|at| checks[*at].turns.is_empty()).collect::<Vec<_>>() {
        checks[at].needs = together(&checks[at], job, &facts, &mut jobs);
    }
    0
}

fn is_too_much(jobs: usize, job: &Job<'_>) -> bool {
    jobs * job.wires.len().pow(2) > MOST_WORK
}

/// The facts that decide a check together where none does alone: as few as are left when, with all stated in the middle of
/// what is assumed, or at one end of it, those are let go one after the other without which it stays decided. None where
/// that takes too much.
fn together(check: &Check, job: &Job<'_>, facts: &[Assumed], jobs: &mut usize) -> Vec<Place> {
    let decided_with = |stated: &[&Assumed], share: f64| {
        let pins = stated.iter().map(|fact| (fact.place.path(), value_at(fact, share))).collect();
        let pinned = Job::pinned(job.plan, job.house, pins);
        let again = apply_where(check.rule, &pinned, &|subject| *subject == check.subject);
        again.first().is_some_and(|check| check.outcome != Outcome::Open)
    };
    let mut kept: Vec<&Assumed> = facts.iter().collect();
    let Some(share) = [0.5, 0.0, 1.0].into_iter().find(|share| decided_with(&kept, *share)) else { return Vec::new() };
    let decided = |stated: &[&Assumed]| decided_with(stated, share);
    // Many at once first: most facts have nothing to do with it.
    let mut size = kept.len().div_ceil(2);
    while size > 0 {
        let mut at = 0;
        while at < kept.len() {
            if is_too_much(*jobs, job) {
                return Vec::new();
            }
            let end = (at + size).min(kept.len());
            let fewer: Vec<&Assumed> = [&kept[..at], &kept[end..]].concat();
            *jobs += 1;
            if decided(&fewer) { kept = fewer } else { at = end }
        }
        size = if size == 1 { 0 } else { size.div_ceil(2) };
    }
    kept.into_iter().map(|fact| fact.place.clone()).collect()
}

/// What a fact is at a share of the way through its range; of steps the first, the middle or the last.
fn value_at(fact: &Assumed, share: f64) -> f64 {
    let (low, high) = fact.range;
    match fact.steps.as_slice() {
        [] => low + (high - low) * share,
        [first, ..] if share <= 0.0 => *first,
        [.., last] if share >= 1.0 => *last,
        steps => steps[steps.len() / 2],
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

/// One fact, pinned to one value after the other. What is solved for one check serves the others.
struct Trial<'t, 'a> {
    job: &'t Job<'a>,
    fact: &'t Assumed,
    /// The values to try, in order.
    values: Vec<f64>,
    /// The job as solved so far, by the bits of the value.
    pinned: BTreeMap<u64, Job<'a>>,
    /// What rules that find their subjects themselves found, by the value and the rule.
    found: BTreeMap<(u64, &'static str), Vec<Check>>,
}

impl Trial<'_, '_> {
    fn outcome(&mut self, check: &Check, value: f64) -> Outcome {
        let (job, fact) = (self.job, self.fact);
        let pin = || Job::pinned(job.plan, job.house, Pins::from([(fact.place.path(), value)]));
        let pinned = self.pinned.entry(value.to_bits()).or_insert_with(pin);
        let again = if matches!(check.rule.check, Subjects::Each(_)) {
            let found = self.found.entry((value.to_bits(), check.rule.code));
            let found = found.or_insert_with(|| apply(check.rule, pinned));
            found.iter().find(|other| other.subject == check.subject).map(|other| other.outcome)
        } else {
            apply_where(check.rule, pinned, &|subject| *subject == check.subject).first().map(|check| check.outcome)
        };
        again.unwrap_or(Outcome::Open)
    }

    /// Where a check turns, if the fact alone decides it somewhere in its range.
    fn turn(&mut self, check: &Check) -> Option<Turn> {
        let is_number = self.fact.steps.is_empty();
        let ends = [*self.values.first()?, *self.values.last()?];
        // What neither end of a range decides hardly anything between them does; to look would cost half as much again.
        if is_number && ends.iter().all(|end| self.outcome(check, *end) == Outcome::Open) {
            return None;
        }
        let values = self.values.clone();
        let outcomes: Vec<Outcome> = values.iter().map(|value| self.outcome(check, *value)).collect();
        let turns = (0..values.len() - 1).filter(|at| outcomes[*at] != outcomes[at + 1]);
        // Where a fact leads from a failure over what is open to a pass, the value from which it passes is of use.
        let mut turns: Vec<usize> = turns.collect();
        turns.sort_by_key(|at| !outcomes[*at..=at + 1].contains(&Outcome::Pass));
        let (change, low, high) = turns.into_iter().find_map(|change| {
            let (low, high) =
                self.narrow(check, (outcomes[change], outcomes[change + 1]), (values[change], values[change + 1]));
            (!is_number || !is_at_an_end(self.fact, high)).then_some((change, low, high))
        })?;
        let (below, above) = (self.outcome(check, low), outcomes[change + 1]);
        let value = (self.fact.show)(high);
        let before = (!is_written_number(&value)).then(|| (self.fact.show)(low));
        let words = words(&value, before.as_deref(), below, above);
        Some(Turn { place: self.fact.place.clone(), value, before, above, below, words })
    }

    /// Halves the way between two values until the outcome below is seen to end between the two that are left; what is
    /// open on the way to a pass is no pass yet.
    fn narrow(
        &mut self,
        check: &Check,
        (below, above): (Outcome, Outcome),
        (mut low, mut high): (f64, f64),
    ) -> (f64, f64) {
        let stays = |outcome| if above == Outcome::Pass { outcome != above } else { outcome == below };
        for _ in 0..if self.fact.steps.is_empty() { HALVINGS } else { 0 } {
            let middle = f64::midpoint(low, high);
            if stays(self.outcome(check, middle)) {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low, high)
    }
}

/// Whether a value is so near to an end of what is assumed that nobody would find the fact beyond it.
fn is_at_an_end(fact: &Assumed, value: f64) -> bool {
    let (low, high) = fact.range;
    let share = (value - low) / (high - low);
    !(0.01..=0.99).contains(&share)
}

/// The turn in words. Numbers have an order; words do not, so the word that decides is named.
fn words(value: &str, before: Option<&str>, below: Outcome, above: Outcome) -> String {
    let (verb, decided_below) = match (below, above) {
        (Outcome::Pass, _) => ("passes", true),
        (_, Outcome::Pass) => ("passes", false),
        (Outcome::Fail, _) => ("fails", true),
        _ => ("fails", false),
    };
    match (before, decided_below) {
        (None, true) => format!("{verb} below {value}"),
        (None, false) => format!("{verb} from {value}"),
        (Some(before), true) => format!("{verb} with {before}"),
        (Some(_), false) => format!("{verb} with {value}"),
    }
}

fn is_written_number(value: &str) -> bool {
    value.starts_with(|first: char| first.is_ascii_digit() || first == '-')
}

/// All open checks by the facts that they wait for, the fact that settles most first, and among equals most dangers.
pub(super) fn find_out<'a>(checks: &'a [Check]) -> Vec<FindOut> {
    let mut facts: BTreeMap<String, (usize, FindOut, Vec<Turned<'a>>)> = BTreeMap::new();
    let mut note = |place: &Place, check: &Check, turn: Option<Turned<'a>>| {
        let unknown = || (0, FindOut { place: place.clone(), settles: Vec::new(), turns: Vec::new() }, Vec::new());
        let (dangers, fact, turns) = facts.entry(place.path()).or_insert_with(unknown);
        *dangers += usize::from(check.severity == Severity::Danger);
        fact.settles.push((check.rule.code, check.subject.clone()));
        turns.extend(turn);
    };
    for check in checks.iter().filter(|check| check.outcome == Outcome::Open && check.waived.is_none()) {
        for place in &check.needs {
            note(place, check, None);
        }
        for turn in &check.turns {
            note(&turn.place, check, Some((check.rule.code, &check.subject, &turn.words)));
        }
    }
    let settled = |(dangers, mut fact, turns): (usize, FindOut, Vec<Turned<'a>>)| {
        fact.settles.dedup();
        fact.turns = said(&turns);
        (dangers, fact)
    };
    let mut list: Vec<(usize, FindOut)> = facts.into_values().map(settled).collect();
    list.sort_by_key(|(dangers, fact)| std::cmp::Reverse((fact.settles.len(), *dangers)));
    list.into_iter().map(|(_, fact)| fact).collect()
}

/// Where the verdict of a rule on a subject turns, in words.
type Turned<'a> = (&'static str, &'a Place, &'a str);

/// Turns in words; where a rule turns otherwise on another subject, each with its subject.
fn said(turns: &[Turned<'_>]) -> Vec<String> {
    let is_split = |code: &str, words: &str| turns.iter().any(|(other, _, said)| *other == code && *said != words);
    let one = |(code, subject, words): &Turned<'_>| {
        let at = if is_split(code, words) { format!(" at {subject}") } else { String::new() };
        format!("{code} {words}{at}")
    };
    let mut said: Vec<String> = turns.iter().map(one).collect();
    said.dedup();
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;
    use crate::rules::trial::judged;

    fn fact(range: (f64, f64), steps: &[f64]) -> Assumed {
        let place = Place::of("wires.main.length");
        Assumed { place, range, steps: steps.to_vec(), show: |value| value.to_string(), source: "" }
    }

    #[test]
    fn a_fact_is_tried_over_its_whole_range() {
        assert_eq!(values(&fact((10.0, 20.0), &[])), [10.0, 12.5, 15.0, 17.5, 20.0]);
        assert_eq!(values(&fact((0.0, 2.0), &[0.0, 1.0, 2.0])), [0.0, 1.0, 2.0]);
    }

    #[test]
    fn a_hundredth_from_an_end_is_at_the_end() {
        let is_at = |value: f64| is_at_an_end(&fact((100.0, 200.0), &[]), value);
        assert_eq!([100.5, 102.0, 150.0, 198.0, 199.5].map(is_at), [true, false, false, false, true]);
    }

    #[test]
    fn a_turn_is_told_by_what_is_decided() {
        let (pass, fail, open) = (Outcome::Pass, Outcome::Fail, Outcome::Open);
        assert_eq!(words("4 m", None, pass, fail), "passes below 4 m");
        assert_eq!(words("4 m", None, fail, pass), "passes from 4 m");
        assert_eq!(words("4 m", None, fail, open), "fails below 4 m");
        assert_eq!(words("4 m", None, open, fail), "fails from 4 m");
        assert_eq!(words("copper", Some("clad"), fail, open), "fails with clad");
        assert_eq!(words("copper", Some("clad"), fail, pass), "passes with copper");
    }

    #[test]
    fn a_subject_is_named_only_where_its_rule_turns_otherwise_on_another() {
        let (main, rear) = (Place::of("wires.main"), Place::of("wires.rear"));
        let alike =
            [("FUSE-01", &main, "passes from 4 m"), ("FUSE-01", &rear, "passes from 4 m"), ("WIRE-01", &rear, "fails")];
        assert_eq!(said(&alike), ["FUSE-01 passes from 4 m", "WIRE-01 fails"]);
        let split = [("FUSE-01", &main, "passes from 4 m"), ("FUSE-01", &rear, "passes from 5 m")];
        assert_eq!(said(&split), ["FUSE-01 passes from 4 m at wires.main", "FUSE-01 passes from 5 m at wires.rear"]);
    }

    /// The surface of a ground decides a danger, what holds it a fault only: each settles one check.
    #[test]
    fn of_facts_that_settle_as_much_the_one_of_a_danger_comes_first() {
        let text = "plan: 1\ngrounds: {floor: {on: body-sheet}}\n";
        let judgement = judged(text);
        let of = |code: &str| {
            let mut check = judgement.checks.iter().find(|check| check.rule.code == code).expect("judged").clone();
            (check.needs, check.turns) = (vec![Place::of(format!("zz.{code}"))], Vec::new());
            check
        };
        let (danger, fault) = (of("GROUND-01"), of("GROUND-08"));
        assert_eq!((danger.outcome, danger.severity), (Outcome::Open, Severity::Danger));
        assert!(fault.outcome == Outcome::Open && fault.severity < Severity::Danger);
        let first = |checks: &[Check]| find_out(checks).first().map(|fact| fact.place.path());
        assert_eq!(first(&[fault.clone(), danger.clone()]).as_deref(), Some("zz.GROUND-01"));
        // Two faults settle more than one danger; of two facts with as many, the one with more dangers comes first.
        let at = |check: &Check, place: &str| Check { needs: vec![Place::of(place)], ..check.clone() };
        let many = [at(&fault, "a"), at(&fault, "a"), at(&danger, "b"), at(&danger, "b")].map(|mut check| {
            check.subject = Place::of(format!("grounds.{}", check.needs[0]));
            check
        });
        let each =
            many.iter().enumerate().map(|(at, check)| Check { subject: Place::of(format!("x.{at}")), ..check.clone() });
        assert_eq!(first(&each.collect::<Vec<_>>()).as_deref(), Some("b"));
    }

    #[test]
    fn a_fact_that_somebody_answers_for_is_not_asked_for() {
        let text = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: bare-metal}}\n";
        let asked =
            |text: &str| judged(text).find_out.iter().any(|fact| fact.place.path() == "grounds.floor.coated_after");
        let waiver =
            "waivers: [{rule: GROUND-07, at: grounds.floor, reason: known, by: M. Example, until: 2999-01-01}]\n";
        assert!(asked(text) && !asked(&format!("{text}{waiver}")));
    }

    /// Every job is solved for as many values as a fact has; the square of seven hundred wires is more than may be tried, so
    /// that one fact is tried and the other ones are told.
    #[test]
    fn how_many_facts_were_not_tried_in_a_large_plan_is_told() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    length: 4 m, fuse: {form: bolt-down, rating: 40 A, distance: 20 cm}}\n";
        let rules = [crate::rules::find("FUSE-01").expect("a rule")];
        let untried = |wires: usize| {
            let more = (0..wires).map(|at| format!("  w{at}: {{}}")).collect::<Vec<_>>().join("\n");
            let reading = crate::plan::read(format!("{text}{more}"));
            let plan = Job::new(&reading.plan, &House::default()).wires.len();
            assert_eq!(plan, wires + 1);
            let judgement = crate::judge::judge(&reading, &House::default(), &rules);
            assert!(judgement.checks.iter().any(|check| check.outcome == Outcome::Open && check.needs.is_empty()));
            judgement.untried
        };
        let reading = crate::plan::read(text.to_owned());
        let house = House::default();
        let job = Job::new(&reading.plan, &house);
        apply(rules[0], &job);
        let facts = job.assumed().len();
        assert!(facts > 1);
        assert_eq!((untried(0), untried(100), untried(700)), (0, 0, facts - 1));
    }

    #[test]
    fn a_fact_is_stated_at_an_end_or_in_the_middle_of_what_it_may_be() {
        let number = fact((10.0, 20.0), &[]);
        assert_eq!([0.0, 0.5, 1.0].map(|share| value_at(&number, share)), [10.0, 15.0, 20.0]);
        let steps = fact((0.0, 4.0), &[0.0, 1.0, 2.0, 3.0]);
        assert_eq!([0.0, 0.5, 1.0].map(|share| value_at(&steps, share)), [0.0, 2.0, 3.0]);
    }

    /// Neither the metal nor the class of a wire decides alone whether its fuse is small enough, and what else is assumed has
    /// nothing to do with it.
    #[test]
    fn what_decides_only_together_is_asked_for_together() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    length: 4 m, fuse: {form: bolt-down, rating: 40 A, distance: 20 cm}}\n  \
                    other: {from: battery.positive, to: amp.remote, size: 18 AWG, length: 4 m, fuse: {rating: 5 A}}\n";
        let reading = crate::plan::read(text.to_owned());
        let house = House::default();
        let job = Job::new(&reading.plan, &house);
        let rule = crate::rules::find("FUSE-01").expect("a rule");
        let checks = apply(rule, &job);
        let check = checks.iter().find(|check| check.subject.path() == "wires.main.fuse").expect("judged");
        assert_eq!(check.outcome, Outcome::Open);
        let facts = job.assumed();
        let mut tried = 0;
        let asked: Vec<String> = together(check, &job, &facts, &mut tried).iter().map(Place::path).collect();
        assert!(!asked.is_empty() && asked.iter().all(|path| path.starts_with("wires.main.")), "{asked:?}");
        assert!(tried > 0 && asked.len() < facts.len());
        // All of them decide it, and none of them can be left out.
        let outcome = |left_out: Option<&String>| {
            let stated =
                facts.iter().filter(|fact| asked.contains(&fact.place.path()) && Some(&fact.place.path()) != left_out);
            let pins = |share: f64| stated.clone().map(|fact| (fact.place.path(), value_at(fact, share))).collect();
            [0.5, 0.0, 1.0].map(|share| {
                let pinned = Job::pinned(&reading.plan, &house, pins(share));
                apply_where(rule, &pinned, &|subject| *subject == check.subject)[0].outcome
            })
        };
        assert!(outcome(None).iter().any(|outcome| *outcome != Outcome::Open));
        for path in &asked {
            assert!(outcome(Some(path)).contains(&Outcome::Open), "{path} is not needed");
        }
    }
}
