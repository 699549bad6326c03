//! A job cannot go to the next stage on facts that nobody knows.

use std::collections::{BTreeMap, BTreeSet};

use crate::house::OpenChecks;
use crate::judge::{Check, Finding, Judged, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::{Stage, word};
use crate::solve::{Job, Origin, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-09",
    name: "facts-the-stage-demands",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("facts.md"),
    check: Subjects::Checks(check),
    slips: &[
        super::Slip::Drop("wires.*.crossings.*.sealed"),
        super::Slip::Drop("vehicle.high_voltage"),
        super::Slip::Drop("mounts.*.blind_side"),
        super::Slip::Drop("grounds.*.surface"),
        super::Slip::Drop("wires.*.insulation"),
        super::Slip::Drop("wires.*.fuse.breaking_capacity"),
    ],
};

/// More facts are counted, not named.
const NAMED: usize = 5;

fn check(job: &Job<'_>, checks: &[Check]) -> Vec<(Place, Judged)> {
    vec![(Place::of("job.stage"), judged(job, checks))]
}

fn judged(job: &Job<'_>, checks: &[Check]) -> Judged {
    let stage = job.plan.stage();
    let demanded = job.house.gate.at(stage).open;
    if demanded == OpenChecks::None {
        return Err(Undecided::NotApplicable("a draft may have open checks"));
    }
    let is_held = |check: &&Check| check.outcome == Outcome::Open && check.holds_gate;
    let held: Vec<&Check> = checks.iter().filter(is_held).collect();
    let kind = if demanded == OpenChecks::Danger { "danger check" } else { "check" };
    Ok(Verdict::pass_if(held.is_empty(), || finding(stage, kind, &held)))
}

fn finding(stage: Stage, kind: &str, held: &[&Check]) -> Finding {
    let facts = facts(held);
    let title = format!("stage {} leaves {} open", word(&stage), words::count(held.len(), kind));
    let finding =
        facts.iter().take(NAMED).fold(Finding::new(Place::of("job.stage"), title), |finding, (place, codes)| {
            finding.also((*place).clone(), format!("{place} decides {}", words::all(codes)))
        });
    let mut named: Vec<String> = facts.iter().take(NAMED).map(|(place, _)| place.path()).collect();
    if facts.len() > NAMED {
        named.push(words::count(facts.len() - NAMED, "more fact"));
    }
    let mend = match named.as_slice() {
        [] => narrowed(held),
        some => format!("find out {}; until then the job is a draft", words::all(some)),
    };
    let mend = match in_any_case(held) {
        Some(ways) => format!("{ways}; or {mend}"),
        None => mend,
    };
    finding.label("this stage").because("what is not known cannot be built safely, or called done").mend(mend)
}

/// What makes every check that is held pass whatever the facts turn out to be, where there is such a thing for each.
fn in_any_case(held: &[&Check]) -> Option<String> {
    let mut ways: BTreeMap<(&str, &str), Vec<String>> = BTreeMap::new();
    for check in held {
        let mend = check.finding.as_ref()?.in_any_case.as_deref()?;
        ways.entry((mend, check.rule.code)).or_default().push(check.subject.path());
    }
    let said = ways.iter().map(|((mend, code), subjects)| format!("{mend} ({code} {})", words::all(subjects)));
    (held.len() <= NAMED).then(|| words::all(&said.collect::<Vec<_>>()))
}

/// What to do where no fact decides alone: state what is assumed in the checks that are held.
fn narrowed(held: &[&Check]) -> String {
    let inputs = held.iter().filter_map(|check| check.working.as_ref()).flat_map(|working| &working.inputs);
    let assumed: BTreeSet<String> = inputs
        .filter_map(|input| match &input.origin {
            Origin::Assumed(place, _) => Some(place.path()),
            _ => None,
        })
        .collect();
    let named: Vec<&String> = assumed.iter().take(NAMED).collect();
    let mut codes: Vec<&str> = held.iter().map(|check| check.rule.code).collect();
    codes.dedup();
    match named.as_slice() {
        [] => format!("look at what {} assumes, and state more of it", words::all(&codes)),
        some => format!("no fact decides {} alone; state {}", words::all(&codes), words::all(some)),
    }
}

/// The facts that decide, with the codes they decide; those that decide most first.
fn facts<'a>(held: &[&'a Check]) -> Vec<(&'a Place, Vec<&'static str>)> {
    let mut facts: BTreeMap<&Place, Vec<&'static str>> = BTreeMap::new();
    for check in held {
        for place in check.needs.iter().chain(check.turns.iter().map(|turn| &turn.place)) {
            facts.entry(place).or_default().push(check.rule.code);
        }
    }
    let mut facts: Vec<_> = facts.into_iter().collect();
    facts.sort_by_key(|(_, codes)| std::cmp::Reverse(codes.len()));
    for (_, codes) in &mut facts {
        codes.sort_unstable();
        codes.dedup();
    }
    facts
}

#[cfg(test)]
mod tests {
    use super::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(stage: &str, ground: &str) -> String {
        format!("plan: 1\njob: {{stage: {stage}}}\ngrounds: {{floor: {{{ground}}}}}\n")
    }

    #[test]
    fn a_planned_job_knows_its_dangers_and_an_installed_one_everything() {
        let known = "on: body-sheet, surface: bare-metal";
        for (stage, ground, expected) in [
            ("draft", "on: body-sheet", Outcome::NotApplicable),
            ("planned", "on: body-sheet", Outcome::Fail),
            ("planned", known, Outcome::Pass),
            ("installed", known, Outcome::Fail),
        ] {
            assert_eq!(outcome(&plan(stage, ground), "PLAN-09", "job.stage"), expected, "{stage} {ground}");
        }
    }

    #[test]
    fn the_facts_are_named() {
        let finding = check(&plan("planned", "on: body-sheet"), "PLAN-09", "job.stage").finding.expect("it fails");
        assert_eq!(finding.title, "stage planned leaves 1 danger check open");
        assert_eq!(finding.also[0].place.path(), "grounds.floor.surface");
        assert_eq!(finding.also[0].text, "grounds.floor.surface decides GROUND-01");
    }

    /// A fuse that breaks more ends it, whatever the battery turns out to let flow.
    #[test]
    fn what_would_do_in_any_case_comes_first() {
        let text = "plan: 1\njob: {stage: planned}\nvehicle: {voltage: 12 V, battery: {cold_cranking: 700 A}}\namplifiers: {amp: {}}\n\
                    wires: {main: {from: battery.positive, to: amp.power, size: 4 AWG, length: 5 m, fuse: {form: bolt-down, rating: 60 A, \
                    distance: 20 cm, breaking_capacity: 2 kA}}}\n";
        let open = check(text, "FUSE-06", "wires.main.fuse");
        assert_eq!(open.outcome, Outcome::Open);
        let mend = super::finding(crate::plan::Stage::Planned, "check", &[&open]).mend;
        assert!(mend.starts_with("fit a bolt-down fuse that breaks at least 4.1 kA"), "{mend}");
        assert!(mend.contains(" (FUSE-06 wires.main.fuse); or find out "), "{mend}");
    }

    #[test]
    fn five_facts_are_named_and_the_others_counted() {
        let of = |grounds: usize| {
            let each = (1..=grounds).map(|at| format!("g{at}: {{on: body-sheet}}"));
            let text =
                format!("plan: 1\njob: {{stage: planned}}\ngrounds: {{{}}}\n", each.collect::<Vec<_>>().join(", "));
            check(&text, "PLAN-09", "job.stage").finding.expect("it fails").mend
        };
        let five = "find out grounds.g1.surface, grounds.g2.surface, grounds.g3.surface, grounds.g4.surface";
        assert_eq!(of(5), format!("{five} and grounds.g5.surface; until then the job is a draft"));
        assert_eq!(of(7), format!("{five}, grounds.g5.surface and 2 more facts; until then the job is a draft"));
    }

    #[test]
    fn where_no_fact_decides_alone_what_is_assumed_is_asked_for() {
        let mend = |gear: &str, subject: &str, fasteners: &str| {
            let text = format!(
                "plan: 1\n{gear}\nmounts: {{it: {{fasteners: {{count: 2, kind: bracket-bolt, {fasteners}}}}}}}\n"
            );
            let mut open = check(&text, "MOUNT-02", subject);
            assert_eq!(open.outcome, Outcome::Open);
            open.turns.clear();
            open.needs.clear();
            super::finding(crate::plan::Stage::Planned, "check", &[&open]).mend
        };
        let battery = "batteries: {it: {capacity: 40 Ah}}";
        assert_eq!(
            mend(battery, "batteries.it", "thread: M3, class: '4.8'"),
            "no fact decides MOUNT-02 alone; state batteries.it.mass"
        );
        let boxed = "enclosures: {it: {mass: 11 kg}}";
        assert_eq!(mend(boxed, "enclosures.it", "thread: M3"), "look at what MOUNT-02 assumes, and state more of it");
    }
}
