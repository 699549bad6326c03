//! The words on the terminal, kept by snapshots: read them when they change.

use testlamp::house::House;
use testlamp::judge::{Judged as Judgement, Rule, Severity, Subjects, judge};
use testlamp::plan;
use testlamp::report::{Judged, Paper, Printer, Summary, Terminal, plan_report};
use testlamp::rules;
use testlamp::solve::Job;

/// What the report says of one plan, judged by one rule, so that new rules leave these words alone.
fn words(text: &str, rule: &str) -> String {
    shown(text, rules::find(rule).expect("a rule"))
}

fn shown(text: &str, rule: &'static Rule) -> String {
    let reading = plan::read(text.to_owned());
    let judgement = judge(&reading, &House::default(), &[rule]);
    let report = plan_report("job.yaml", &reading, &judgement);
    let summary = Summary { plans: 1, counts: report.counts, ..Summary::default() };
    let mut terminal = Terminal::new(Paper::default());
    let mut out = Vec::new();
    terminal.begin(&mut out).expect("memory");
    terminal.plan(&mut out, &Judged { report, text: reading.text }).expect("memory");
    terminal.end(&mut out, &[], &summary).expect("memory");
    let text = String::from_utf8(out).expect("UTF-8");
    text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// One supply wire with its fuse.
fn wire(stage: &str, keys: &str) -> String {
    format!(
        "plan: 1
job: {{stage: {stage}}}
amplifiers: {{bass-amp: {{}}}}
wires:
  main:
    from: battery.positive
    to: bass-amp.power
    conductor: copper
    length: 4.9 m
    path: [engine-bay, cargo]
{keys}"
    )
}

#[test]
fn a_finding_with_two_places() {
    let keys = "    size: 10 AWG\n    insulation: 105 C\n    fuse: {form: bolt-down, distance: 20 cm, rating: 60 A}\n";
    insta::assert_snapshot!(words(&wire("planned", keys), "FUSE-01"));
}

#[test]
fn an_open_danger_that_turns_with_one_fact() {
    let keys = "    size: 4 AWG\n    fuse: {form: bolt-down, distance: 20 cm, rating: 90 A}\n";
    insta::assert_snapshot!(words(&wire("planned", keys), "FUSE-01"));
}

#[test]
fn a_draft_that_lacks_a_fact() {
    let keys = "    fuse: {form: bolt-down, distance: 20 cm, rating: 90 A}\n";
    insta::assert_snapshot!(words(&wire("draft", keys), "FUSE-01"));
}

#[test]
fn words_that_cannot_be_read() {
    let keys = "    size: 4AWG\n    colr: red\n    length: 5 m\n";
    insta::assert_snapshot!(words(&wire("draft", keys), "FUSE-01"));
}

#[test]
fn a_bracket_that_is_never_closed() {
    let plan = "plan: 1\nwires:\n  main:\n    path: [engine-bay, firewall, cargo\n    size: 4 AWG\n";
    insta::assert_snapshot!(words(plan, "FUSE-01"));
}

#[test]
fn a_value_that_is_written_elsewhere() {
    let plan = wire(
        "planned",
        "    size: 10 AWG\n    insulation: 105 C\n    fuse: {form: bolt-down, distance: 20 cm, rating: *large}\n",
    );
    let plan = plan.replace("plan: 1\n", "plan: 1\nnote: &large 60 A\n");
    insta::assert_snapshot!(words(&plan, "FUSE-01"));
}

#[test]
fn a_rule_that_breaks_down() {
    fn fall(_: &Job<'_>) -> Judgement {
        panic!("on purpose")
    }
    static RULE: Rule = Rule {
        code: "TRIAL-01",
        name: "trial-falls",
        severity: Severity::Fault,
        since: "0.1",
        page: "",
        check: Subjects::Job(fall),
        slips: &[],
    };
    insta::assert_snapshot!(shown("plan: 1\n", &RULE));
}
