//! What a house decides: limits, assumptions, stock, rules, gate.

use super::{LOOSE, RETURN, Ran, check, folder, fused, house, judged, run};
use serde_json::Value;
use testlamp::house::{House, OpenChecks, Severity};
use testlamp::judge::{Outcome, judge};
use testlamp::{plan, rules};

#[test]
fn every_figure_can_be_set_by_its_name_and_carries_its_source() {
    let schema = testlamp::house::schema();
    let (mut limits, mut assumptions) = (House::default().limits, House::default().assumptions);
    for (section, of, key, all) in
        [("limits", "Limits", "value", limits.all()), ("assumptions", "Assumptions", "range", assumptions.all())]
    {
        let keys = schema.pointer(&format!("/$defs/{of}/properties")).and_then(Value::as_object).expect("the keys");
        let names: Vec<&str> = all.iter().map(|setting| setting.name()).collect();
        assert_eq!(keys.keys().map(String::as_str).collect::<Vec<_>>(), names);
        for setting in all {
            assert!(!setting.source().is_empty(), "{}", setting.name());
            assert!(testlamp::house::about(&format!("{section}.{}", setting.name())).is_some_and(|a| a.len() > 8));
            let value = setting.value();
            // `0.3 to 1.5 A` is written `0.3 A .. 1.5 A`.
            let written = match value.split_once(" to ") {
                Some((low, high)) => format!("{low}{} .. {high}", high.trim_start_matches(|c: char| c != ' ')),
                None => value.clone(),
            };
            let name = setting.name();
            let mut house = house(&format!("{section}:\n  {name}: {{{key}: {written}, source: ours}}"));
            let all = if section == "limits" { house.limits.all() } else { house.assumptions.all() };
            let set = all.into_iter().find(|other| other.name() == name).expect("it is there");
            assert_eq!((set.value(), set.source()), (value, "house.yaml, line 3: ours"), "{name}");
        }
    }
}

#[test]
fn a_limit_takes_effect_and_shows_where_it_comes_from() {
    let shipped = check(&House::default(), RETURN, "GROUND-02", "wires.return");
    assert_eq!(shipped.outcome, Outcome::Fail);
    let vans = house("limits: {return-length: {value: 36 in, source: what our vans need}}");
    let own = check(&vans, RETURN, "GROUND-02", "wires.return");
    assert_eq!(own.outcome, Outcome::Pass);
    assert_eq!(own.working.expect("it compares").source, "house.yaml, line 2: what our vans need");
    // 60 A on 51 A: 117 %.
    let over = fused("60 A", "insulation: 105 C, ");
    assert_eq!(check(&House::default(), &over, "FUSE-01", "wires.main.fuse").outcome, Outcome::Fail);
    let loose = house("limits: {fuse-over-ampacity: {value: 120 %, source: by the law}}");
    assert_eq!(check(&loose, &over, "FUSE-01", "wires.main.fuse").outcome, Outcome::Pass);
}

#[test]
fn an_assumption_and_a_zone_take_effect() {
    // 40 A: under 60 C insulation 10 AWG carries less (33 CFR 183.425 table 5), from 75 C on 40 A at 30 C.
    let unstated = fused("30 A", "");
    assert_eq!(check(&House::default(), &unstated, "FUSE-01", "wires.main.fuse").outcome, Outcome::Open);
    let better = house("assumptions: {insulation: {range: 105 C, source: we buy nothing else}}");
    assert_eq!(check(&better, &unstated, "FUSE-01", "wires.main.fuse").outcome, Outcome::Pass);
    let fine = fused("50 A", "insulation: 105 C, ");
    assert_eq!(check(&House::default(), &fine, "FUSE-01", "wires.main.fuse").outcome, Outcome::Pass);
    let hot = house("zones: {engine-bay: {temperature: 80 C, source: measured in July}}");
    let found = check(&hot, &fine, "FUSE-01", "wires.main.fuse");
    assert_eq!(found.outcome, Outcome::Fail);
    let inputs = format!("{:?}", found.working.expect("it compares").inputs);
    assert!(inputs.contains("house.yaml, line 2: measured in July"), "{inputs}");
}

#[test]
fn the_shelf_decides_which_fuses_and_wires_there_are() {
    let stock = house("stock: {wires: [2 AWG, 8 AWG], fuses: {bolt-down: [80 A, 40 A]}}");
    let plan = fused("60 A", "insulation: 105 C, ");
    let check = |house: &House, code: &str| check(house, &plan, code, "wires.main.fuse");
    assert_eq!(check(&House::default(), "FUSE-09").outcome, Outcome::Pass);
    let missing = check(&stock, "FUSE-09");
    assert_eq!(missing.outcome, Outcome::Fail);
    let finding = missing.finding.expect("it fails");
    assert_eq!(finding.title, "no bolt-down fuse of 60 A is in stock");
    assert_eq!(finding.mend, "plan 40 A if it carries the load (FUSE-04), or have this one ordered");
    assert_eq!(check(&house("stock: {fuses: {bolt-down: [60 A]}}"), "FUSE-09").outcome, Outcome::Pass);
    // A form that is not listed is not known to be missing, an empty list is.
    assert_eq!(check(&house("stock: {fuses: {blade-large: [60 A]}}"), "FUSE-09").outcome, Outcome::Pass);
    assert_eq!(check(&house("stock: {fuses: {bolt-down: []}}"), "FUSE-09").outcome, Outcome::Fail);
    let mend = check(&stock, "FUSE-01").finding.expect("it fails").mend;
    assert!(mend.contains("at most 51 A (40 A is in stock)"), "{mend}");
    // The next size for 10 AWG is 8 AWG where nothing is known, and 2 AWG where that is what there is.
    let reading = plan::read(plan.clone());
    let turns = |house: &House| {
        let judgement = judge(&reading, house, &rules::all());
        let above = judgement.checks.into_iter().find(|check| check.rule.code == "FUSE-01").expect("judged");
        let changes = testlamp::judge::changes(&reading, house, &above);
        let size = changes.into_iter().find(|change| change.place.path() == "wires.main.size");
        size.expect("a size turns it").to
    };
    assert_eq!(turns(&House::default()), "8 AWG");
    assert_eq!(turns(&house("stock: {wires: [1/0 AWG, 2 AWG]}")), "2 AWG");
    let clad = plan.replace("conductor: copper", "conductor: copper-clad-aluminium");
    let mend = |house: &House| {
        let judgement = judged(house, &clad);
        let check = judgement.checks.into_iter().find(|check| check.rule.code == "WIRE-03").expect("judged");
        check.finding.expect("it fails").mend
    };
    assert!(mend(&House::default()).contains("or 8 AWG of copper-clad"), "{}", mend(&House::default()));
    assert!(mend(&house("stock: {wires: [10 AWG, 4 AWG]}")).contains("or 4 AWG of copper-clad"));
}

#[test]
fn rules_can_be_off_or_count_otherwise_and_that_is_told() {
    let off = "house: 1\nrules:\n  ground-return-long: {off: true, reason: we run long returns}\n  \
               GROUND-08: {severity: danger, reason: it cost us a day}\n";
    let folder = folder(&[("house.yaml", off), ("j.yaml", &RETURN.replace("floor: {}", LOOSE))]);
    let Ran { status, out, .. } = run(folder.path(), &["check", "j.yaml", "--format", "json"], "");
    assert_eq!(status, 1, "{out}");
    let report: Value = serde_json::from_str(&out).expect("JSON");
    let validator = jsonschema::validator_for(&testlamp::report::schema()).expect("a schema");
    assert!(validator.is_valid(&report), "{out}");
    let findings = report["plans"][0]["findings"].as_array().expect("a list");
    assert!(findings.iter().all(|found| found["rule"]["code"] != "GROUND-02"), "{out}");
    let raised = findings.iter().find(|found| found["rule"]["code"] == "GROUND-08").expect("found");
    assert_eq!((&raised["severity"], &raised["holds_gate"]), (&"danger".into(), &true.into()));
    let told = &report["plans"][0]["house"];
    assert_eq!(told["path"], "house.yaml");
    assert_eq!(told["rules_off"][0]["code"], "GROUND-02");
    assert_eq!(told["rules_off"][0]["reason"], "house.yaml, line 3: we run long returns");
    assert_eq!(told["severities"][0]["severity"], "danger");
    assert_eq!(report["summary"]["rules_off"], 1);
    for format in ["terminal", "short"] {
        let Ran { out, .. } = run(folder.path(), &["check", "j.yaml", "--format", format], "");
        assert!(out.contains("1 rule is off by the house"), "{out}");
    }
    let Ran { status, err, .. } = run(folder.path(), &["explain", "GROUND-02", "--plan", "j.yaml"], "");
    assert_eq!(status, 4, "{err}");
    assert!(err.contains("GROUND-02 is off by the house (house.yaml, line 3: we run long returns)"), "{err}");
}

#[test]
fn a_waiver_follows_the_severity_of_the_house() {
    let plan = "plan: 1\namplifiers: {amp: {}}\nwires: {main: {from: battery.positive, to: amp.power, fuse: {}}}\n\
                waivers: [{rule: FUSE-04, at: wires.main.fuse, reason: x, by: y, until: 2027-01-01}]\n";
    let shipped = check(&House::default(), plan, "FUSE-04", "wires.main.fuse");
    assert_eq!((shipped.outcome, shipped.severity, shipped.waived), (Outcome::Open, Severity::Fault, Some(0)));
    let raised = house("rules: {FUSE-04: {severity: danger, reason: two came back}}");
    let own = check(&raised, plan, "FUSE-04", "wires.main.fuse");
    assert_eq!((own.severity, own.waived), (Severity::Danger, None), "an open danger cannot be waived");
}

#[test]
fn the_gate_is_what_the_house_says() {
    let plan = |stage: &str| format!("plan: 1\njob: {{stage: {stage}}}\ngrounds: {{{LOOSE}}}\n");
    let advice = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: bare-metal, coated_after: false}}\n";
    for (gate, plan, expected) in [
        ("{}", plan("draft"), 1),
        ("{draft: {findings: danger}}", plan("draft"), 0),
        ("{planned: {findings: danger}}", plan("draft"), 1),
        ("{}", plan("planned"), 1),
        ("{planned: {findings: danger}}", plan("planned"), 0),
        ("{}", advice.to_owned(), 0),
        ("{draft: {findings: advice}}", advice.to_owned(), 1),
    ] {
        let folder = folder(&[("house.yaml", &format!("house: 1\ngate: {gate}\n")), ("j.yaml", &plan)]);
        let Ran { status, out, .. } = run(folder.path(), &["check", "j.yaml"], "");
        assert_eq!(status, expected, "{gate}: {out}");
    }
}

#[test]
fn open_checks_hold_the_gate_as_the_house_says() {
    // GROUND-01 is an open danger here, GROUND-07 an open advice.
    let plan = |stage: &str| format!("plan: 1\njob: {{stage: {stage}}}\ngrounds: {{floor: {{on: body-sheet}}}}\n");
    let held = |gate: &str, stage: &str| -> Vec<&'static str> {
        let judgement = judged(&house(&format!("gate: {gate}")), &plan(stage));
        let held = judgement.checks.iter().filter(|check| check.holds_gate && check.outcome == Outcome::Open);
        held.map(|check| check.rule.code).filter(|code| code.starts_with("GROUND")).collect()
    };
    let plan_09 =
        |gate: &str, stage: &str| check(&house(&format!("gate: {gate}")), &plan(stage), "PLAN-09", "job.stage").outcome;
    assert_eq!(held("{}", "draft"), [""; 0]);
    assert_eq!(plan_09("{}", "draft"), Outcome::NotApplicable);
    assert_eq!(held("{draft: {open: danger}}", "draft"), ["GROUND-01"]);
    assert_eq!(plan_09("{draft: {open: danger}}", "draft"), Outcome::Fail);
    assert_eq!(held("{}", "planned"), ["GROUND-01"]);
    assert!(held("{planned: {open: all}}", "planned").contains(&"GROUND-07"));
    assert_eq!(held("{installed: {open: danger}}", "installed"), ["GROUND-01"]);
    assert_eq!(house("").gate.installed.open, OpenChecks::All);
}
