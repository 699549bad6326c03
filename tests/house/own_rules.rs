//! A house's own rules.

use std::fs;
use std::path::Path;

use super::{check, folder, house, known, refused, run};
use testlamp::judge::Outcome;

/// A rule of the house's own: thick cable goes in loom.
const LOOMED: &str = "own_rules:\n  HOUSE-01:\n    each: wire\n    when: wire.size >= 20.0\n    must: wire.covering == \"loom\"\n    \
                      says: thick cable without loom\n    mend: put it in loom\n    severity: fault\n    source: our own practice\n";

fn covered(keys: &str) -> String {
    format!("plan: 1\namplifiers: {{amp: {{}}}}\nwires: {{main: {{{keys}}}}}\n")
}

#[test]
fn a_house_has_rules_of_its_own() {
    let house = house(LOOMED);
    let outcome = |keys: &str| check(&house, &covered(keys), "HOUSE-01", "wires.main").outcome;
    assert_eq!(outcome("size: 4 AWG, covering: loom"), Outcome::Pass);
    assert_eq!(outcome("size: 4 AWG, covering: none"), Outcome::Fail);
    assert_eq!(outcome("size: 8 AWG, covering: none"), Outcome::NotApplicable);
    let open = check(&house, &covered("size: 4 AWG"), "HOUSE-01", "wires.main");
    assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.main.covering"));
    let found =
        check(&house, &covered("size: 4 AWG, covering: none"), "HOUSE-01", "wires.main").finding.expect("it fails");
    assert_eq!((found.title.as_str(), found.mend.as_str()), ("thick cable without loom", "put it in loom"));
    assert!(found.why == "house.yaml, line 3: our own practice", "{}", found.why);
}

#[test]
fn the_houses_own_rules_see_what_is_solved() {
    let house = house(
        "own_rules:\n  HOUSE-02: {each: amplifier, must: 'figures.run_drop.high <= 0.4', says: over our own drop, source: ours}\n",
    );
    let plan =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs/j-2041-one-subwoofer.yaml"));
    let plan = plan.expect("the job");
    assert_eq!(check(&house, &plan, "HOUSE-02", "amplifiers.bass-amp").outcome, Outcome::Fail);
    let thick = plan.replace("size: 4 AWG", "size: 1/0 AWG");
    assert_eq!(check(&house, &thick, "HOUSE-02", "amplifiers.bass-amp").outcome, Outcome::Pass);
}

/// Rules over the order of work: most steps do not state the key that is asked for.
#[test]
fn a_rule_looks_through_the_steps() {
    let house = house(
        "own_rules:\n  HOUSE-03: {each: job, must: 'plan.steps.exists(s, s.test == \"key-off\")', says: nobody measures what it \
         draws asleep, source: ours}\n  HOUSE-04: {each: job, must: 'plan.steps[0].radio == \"note-code\"', says: note the code \
         first, source: ours}\n",
    );
    let of = |code: &str, steps: &str| check(&house, &format!("plan: 1\n{steps}"), code, "job");
    let whole = "steps: [{radio: note-code}, {run: main}, {test: key-off}]\n";
    assert_eq!((of("HOUSE-03", whole).outcome, of("HOUSE-04", whole).outcome), (Outcome::Pass, Outcome::Pass));
    let other = "steps: [{run: main}, {test: commissioning}]\n";
    assert_eq!(of("HOUSE-03", other).outcome, Outcome::Fail);
    let open = of("HOUSE-04", other);
    assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "steps.0.radio"));
    let none = of("HOUSE-03", "");
    assert_eq!((none.outcome, none.needs[0].path().as_str()), (Outcome::Open, "steps"));
}

#[test]
fn an_expression_that_cannot_be_worked_is_told_with_its_place_and_stops_no_other() {
    let text = format!(
        "house: 1\n{LOOMED}  HOUSE-03: {{each: wire, must: wire.sise > 1.0, says: a, source: b}}\n  \
         HOUSE-04: {{each: ground, must: ground.surface > 3.0, says: a, source: b}}\n  \
         FUSE-77: {{each: wire, must: 'true', says: a, source: b}}\n"
    );
    let told = refused(&text);
    let said =
        |words: &str| told.iter().find(|(at, _)| at == words).unwrap_or_else(|| panic!("{words}: {told:?}")).1.clone();
    assert!(said("wire.sise > 1.0").contains("did you mean `size`?"), "{told:?}");
    assert!(said("FUSE-77").contains("a family that testlamp has itself"), "{told:?}");
    assert_eq!(told.len(), 3, "{told:?}");
    let reading = testlamp::house::read(text, "house.yaml", &known());
    assert_eq!(reading.house.own.len(), 1, "the sound one stays");
}

#[test]
fn a_rule_of_the_house_is_reported_explained_waived_and_switched_by_its_code() {
    let plan = covered("size: 4 AWG, covering: none");
    let waived =
        format!("{plan}waivers: [{{rule: HOUSE-01, at: wires.main, reason: short, by: lead, until: 2099-01-01}}]\n");
    let folder = folder(&[("house.yaml", &format!("house: 1\n{LOOMED}")), ("a.yaml", &plan), ("b.yaml", &waived)]);
    let ran = run(folder.path(), &["check", "a.yaml", "--format", "short"], "");
    assert!(ran.status == 1 && ran.out.contains("fault HOUSE-01"), "{}{}", ran.out, ran.err);
    let ran = run(folder.path(), &["check", "b.yaml", "--format", "short"], "");
    assert!(ran.status == 0 && ran.out.contains("waived fault HOUSE-01"), "{}{}", ran.out, ran.err);
    let ran = run(folder.path(), &["explain", "HOUSE-01"], "");
    assert!(ran.status == 0 && ran.out.contains("where wire.size >= 20.0"), "{}{}", ran.out, ran.err);
    let ran = run(folder.path(), &["explain", "house-01", "--plan", "a.yaml"], "");
    assert!(ran.status == 0 && ran.out.contains("wires.main, line 3: fails"), "{}{}", ran.out, ran.err);
    for format in ["sarif", "junit", "github", "markdown", "json"] {
        let ran = run(folder.path(), &["check", "a.yaml", "--format", format], "");
        assert!(ran.out.contains("HOUSE-01"), "{format}: {}", ran.out);
    }
}

/// The finding stands at the words that the rule looks at, and tells the figures that went into it.
#[test]
fn a_finding_points_at_what_the_rule_looks_at() {
    let house = house(
        "own_rules:\n  HOUSE-01:\n    each: wire\n    must: wire.size <= 10.0 && wire.ends.to.kind == \"ring\" && figures.ampacity.low > \
         1000.0\n    says: not as we do it\n    severity: fault\n    source: our own\n",
    );
    let plan = "plan: 1\nwires: {main: {size: 4 AWG, insulation: 105 C, conductor: copper, path: [cargo], ends: {to: {kind: ring}}}}\n";
    let finding = check(&house, plan, "HOUSE-01", "wires.main").finding.expect("it fails");
    assert_eq!(finding.at.place.path(), "wires.main.size");
    assert_eq!(finding.also[0].place.path(), "wires.main.ends.to.kind");
    assert!(finding.title.starts_with("not as we do it (ampacity "), "{}", finding.title);
}
