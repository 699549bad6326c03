//! Fixes and reports under a house, and what `testlamp house` shows.

use std::fs;
use std::path::Path;

use super::{GEAR, LONGER, ONE_OHM, Ran, folder, run};
use serde_json::Value;
use tempfile::TempDir;

/// Faults of a draft do not shut this gate, and a rule is off.
const LENIENT: &str = "house: 1\nshelves: [gear.yaml]\ngate: {draft: {findings: danger}}\n\
                       rules: {WIRE-13: {off: true, reason: sleeves}}\n";

#[test]
fn a_mended_plan_stands_by_its_house() {
    let strict = LENIENT.replace("danger", "fault");
    let files =
        [("house.yaml", LENIENT), ("strict.yaml", strict.as_str()), ("gear.yaml", GEAR), ("jobs/a.yaml", ONE_OHM)];
    let folder = folder(&files);
    assert_eq!(run(folder.path(), &["fix", "jobs"], "").status, 0);
    assert_eq!(run(folder.path(), &["fix", "jobs", "--house", "strict.yaml"], "").status, 1);
    fs::write(folder.path().join("house.yaml"), "house: 2\n").expect("a file");
    let Ran { status, out, err } = run(folder.path(), &["fix", "jobs"], "");
    assert_eq!(status, 2, "{out}");
    assert!(err.contains("house.yaml:1:8: unreadable"), "{err}");
}

#[test]
fn every_report_follows_the_gate_of_the_house_and_says_what_is_off() {
    let strict = LENIENT.replace("danger", "fault");
    let files =
        [("house.yaml", LENIENT), ("strict.yaml", strict.as_str()), ("gear.yaml", GEAR), ("jobs/a.yaml", ONE_OHM)];
    let folder = folder(&files);
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published/sarif-2.1.0-rtm.5.json");
    // The published schema has a bracket too many where it describes `language`, so that its pattern is none.
    let schema = fs::read_to_string(schema).expect("the schema").replace("-[a-zA-Z]{2}]?$", "-[a-zA-Z]{2}$");
    let schema: Value = serde_json::from_str(&schema).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    for (house, holds) in [("house.yaml", false), ("strict.yaml", true)] {
        let of = |format: &str| {
            let ran = run(folder.path(), &["check", "jobs", "--house", house, "--format", format], "");
            assert_eq!(ran.status, i32::from(holds), "{format}: {}", ran.out);
            ran.out
        };
        let sarif: Value = serde_json::from_str(&of("sarif")).expect("JSON");
        assert!(validator.is_valid(&sarif), "{sarif:#}");
        let run = &sarif["runs"][0];
        assert_eq!(
            (&run["results"][0]["ruleId"], &run["results"][0]["properties"]["holdsGate"]),
            (&"LOAD-01".into(), &holds.into())
        );
        let off = &run["invocations"][0]["ruleConfigurationOverrides"];
        assert_eq!((off.as_array().map(Vec::len), &off[0]["configuration"]["enabled"]), (Some(1), &false.into()));
        let index = usize::try_from(off[0]["descriptor"]["index"].as_u64().expect("a number")).expect("a number");
        assert_eq!(run["tool"]["driver"]["rules"][index]["id"], "WIRE-13");
        let junit = of("junit");
        assert_eq!(junit.contains("<failure"), holds, "{junit}");
        assert!(junit.contains("\"rule off\" value=\"WIRE-13: "), "{junit}");
        assert!(of("markdown").contains("WIRE-13 is off"));
        assert!(of("github").contains("1 rule is off by the house"));
    }
}

#[test]
fn settings_say_where_each_comes_from() {
    let text =
        format!("{LONGER}name: Own\nrules: {{WIRE-13: {{off: true, reason: black}}}}\nstock: {{wires: [4 AWG]}}\n");
    let folder = folder(&[("house.yaml", &text), ("jobs/j.yaml", "plan: 1\n")]);
    let schema = testlamp::command::house_settings_schema();
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    for path in [".", "jobs", "jobs/j.yaml"] {
        let Ran { status, out, err } = run(folder.path(), &["house", path, "--format", "json"], "");
        assert_eq!(status, 0, "{err}");
        let settings: Value = serde_json::from_str(&out).expect("JSON");
        assert!(validator.is_valid(&settings), "{out}");
        let row = |path: &str| {
            let rows = settings["figures"].as_array().expect("rows");
            rows.iter().find(|row| row["path"] == path).cloned().expect("a row")
        };
        let own = row("limits.return-length");
        assert_eq!((&own["value"], &own["from"], &own["line"]), (&"36 in".into(), &"house".into(), &2.into()));
        assert_eq!(own["source"], "what our vans need");
        assert_eq!(row("limits.fuse-distance")["from"], "default");
        assert_eq!(settings["rules"][0]["code"], "WIRE-13");
    }
    let Ran { out, .. } = run(folder.path(), &["house"], "");
    for words in ["Settings of Own, house.yaml", "house, line 2: what our vans need", "WIRE-13 is off", "wires: 4 AWG"]
    {
        assert!(out.contains(words), "{words}: {out}");
    }
    let nowhere = TempDir::new().expect("a folder");
    let Ran { status, out, .. } = run(nowhere.path(), &["house"], "");
    assert_eq!(status, 0);
    assert!(out.starts_with("No house file"), "{out}");
    assert_eq!(run(nowhere.path(), &["house", "none"], "").status, 3);
}

#[test]
fn the_digest_of_the_house_follows_what_decides_verdicts() {
    let digest = |house: &str| {
        let folder = folder(&[("house.yaml", house), ("j.yaml", "plan: 1\n")]);
        let Ran { out, .. } = run(folder.path(), &["check", "j.yaml", "--evidence", "--format", "json"], "");
        let report: Value = serde_json::from_str(&out).expect("JSON");
        report["plans"][0]["evidence"]["house_digest"].as_str().expect("a digest").to_owned()
    };
    assert_eq!(digest("house: 1\n"), digest("house: 1\nname: Own\n"));
    for own in [
        "gate: {draft: {findings: danger}}",
        "zones: {roof: {temperature: 40 C, source: x}}",
        "stock: {wires: [4 AWG]}",
    ] {
        assert_ne!(digest("house: 1\n"), digest(&format!("house: 1\n{own}\n")), "{own}");
    }
}
