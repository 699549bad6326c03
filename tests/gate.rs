//! `check` as the gate over all jobs of a shop: baseline, record, lists, and what happens when something goes wrong.

#[path = "gate/baseline.rs"]
mod baseline;
mod common;
#[path = "common/files.rs"]
mod files;
#[cfg(target_os = "linux")]
#[path = "gate/linux.rs"]
mod linux;
#[path = "gate/shipped.rs"]
mod shipped;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use files::{folder, write};
use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

/// An installed job with faults and no danger.
const FAULTS: &str = include_str!("../examples/jobs/j-2052-installed-wrong.yaml");
/// A job with a danger.
const DANGER: &str = include_str!("../examples/jobs/j-2046-fuse-above-wire.yaml");
/// A job without a finding.
const CLEAN: &str = include_str!("../examples/jobs/j-2041-one-subwoofer.yaml");
/// A planned job that does not say what it must.
const OPEN: &str = "plan: 1
job: {stage: planned}
amplifiers: {bass-amp: {}}
wires:
  main:
    from: battery.positive
    to: bass-amp.power
    conductor: copper
    fuse: {form: bolt-down, rating: 60 A}
";

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).expect(name)
}

/// Exit status, what it said, what it complained of.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    run_on(folder, arguments, &[])
}

fn run_on(folder: &Path, arguments: &[&str], set: &[(&str, &str)]) -> (i32, String, String) {
    common::ended(common::program(folder, arguments).envs(set.iter().copied()))
}

/// `check` in one line a finding, with more arguments.
fn check(folder: &TempDir, more: &[&str]) -> (i32, String, String) {
    run(folder.path(), &[&["check", "--format", "short"][..], more].concat())
}

const BASELINE: [&str; 2] = ["--baseline", "known.jsonl"];

fn with_baseline(folder: &TempDir, more: &[&str]) -> (i32, String, String) {
    check(folder, &[&BASELINE[..], more].concat())
}

fn written(folder: &TempDir) -> usize {
    read(folder, "known.jsonl").lines().count() - 1
}

/// Whether a value fits a published schema.
fn fits(value: &Value, schema: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("schema/{schema}.schema.json"));
    let schema = serde_json::from_str(&fs::read_to_string(path).expect("the schema")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let faults: Vec<String> = validator.iter_errors(value).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().fold(String::new(), |mut digits, byte| {
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}

#[test]
fn a_record_holds_a_line_a_plan_and_is_the_same_each_time() {
    let waived = format!(
        "{FAULTS}\nwaivers:\n  - {{rule: PROOF-06, at: measured, reason: as wanted, by: Ada Example, until: 2030-01-31}}\n"
    );
    let files = [("a.yaml", CLEAN), ("b.yaml", DANGER), ("c.yaml", waived.as_str()), ("d.yaml", "plan: 1\nwires: 4\n")];
    let folder = folder(&files);
    let line = ["check", ".", "missing.yaml", "--record", "record.jsonl", "--as-of", "2026-11-02", "--quiet"];
    assert_eq!(run_on(folder.path(), &line, &[("RAYON_NUM_THREADS", "1")]).0, 3);
    let first = read(&folder, "record.jsonl");
    assert_eq!(run_on(folder.path(), &line, &[("RAYON_NUM_THREADS", "2")]).0, 3);
    assert_eq!(first, read(&folder, "record.jsonl"));
    let lines: Vec<Value> = first.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    for line in &lines {
        fits(line, "record");
    }
    let named: Vec<(&str, &str)> = lines
        .iter()
        .map(|line| (line["plan"].as_str().expect("a name"), line["result"].as_str().expect("a word")))
        .collect();
    let expected =
        [("a.yaml", "clear"), ("b.yaml", "held"), ("c.yaml", "held"), ("d.yaml", "held"), ("missing.yaml", "not-read")];
    assert_eq!(named, expected);
    let digest = sha256(CLEAN);
    assert_eq!(lines[0]["plan_digest"], digest.as_str());
    assert_eq!((&lines[0]["stage"], &lines[0]["as_of"]), (&"planned".into(), &"2026-11-02".into()));
    assert_eq!(lines[2]["counts"]["waived"], 1);
    assert_eq!(lines[2]["waivers"][0]["by"], "Ada Example");
    assert_eq!(lines[2]["waivers"][0]["until"], "2030-01-31");
    // Without a given day there is none in it.
    run(folder.path(), &["check", ".", "--record", "record.jsonl"]);
    assert!(!read(&folder, "record.jsonl").contains("as_of"));
}

#[test]
fn a_record_says_how_many_findings_the_baseline_knew_and_which_baseline() {
    let folder = folder(&[("a.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    with_baseline(&folder, &["--record", "record.jsonl"]);
    let line: Value = serde_json::from_str(&read(&folder, "record.jsonl")).expect("JSON");
    assert_eq!((&line["result"], &line["counts"]["baselined"]), (&"clear".into(), &written(&folder).into()));
    let digest = sha256(&read(&folder, "known.jsonl"));
    assert_eq!(line["baseline_digest"], digest.as_str());
}

#[test]
fn plans_are_listed_without_being_judged() {
    let folder =
        folder(&[("b/b.yaml", DANGER), ("a.yaml", "plan: 1\nwires: 4\n"), ("notes.yaml", "a: 1\n"), ("empty/x", "")]);
    assert_eq!(run(folder.path(), &["check", "--list-plans"]), (0, "a.yaml\nb/b.yaml\n".into(), String::new()));
    let (status, out, err) = run(folder.path(), &["check", "--list-plans", "empty"]);
    assert_eq!((status, out.as_str()), (4, ""));
    assert!(err.contains("nothing to check"), "{err}");
    let (status, out, err) = run(folder.path(), &["check", "--list-plans", "missing.yaml", "b"]);
    assert_eq!((status, out.as_str()), (3, "b/b.yaml\n"));
    assert!(err.contains("missing.yaml could not be read"), "{err}");
}

/// Its first name is what it goes by.
#[test]
fn a_plan_is_judged_once_by_whatever_names_it_is_come_by() {
    let folder = folder(&[("jobs/a.yaml", FAULTS), ("jobs/b.yaml", CLEAN)]);
    let listed = |paths: &[&str]| run(folder.path(), &[&["check", "--list-plans"], paths].concat());
    for paths in [["jobs", "jobs/a.yaml"], ["jobs", "./jobs/../jobs/a.yaml"], ["jobs/*.yaml", "jobs"]] {
        assert_eq!(listed(&paths), (0, "jobs/a.yaml\njobs/b.yaml\n".into(), String::new()), "{paths:?}");
    }
    let whole = folder.path().join("jobs/a.yaml");
    assert_eq!(listed(&["jobs/a.yaml", whole.to_str().expect("a path")]).1, "jobs/a.yaml\n");
    assert_eq!(listed(&["jobs/b.yaml", "jobs"]).1, "jobs/b.yaml\njobs/a.yaml\n");
    #[cfg(unix)]
    {
        let link = |to: &str, name: &str| {
            std::os::unix::fs::symlink(to, folder.path().join(name)).expect("a link");
        };
        link("a.yaml", "jobs/link.yaml");
        link("jobs", "same");
        assert_eq!(listed(&["jobs"]).1, "jobs/a.yaml\njobs/b.yaml\n");
        assert_eq!(listed(&["jobs/link.yaml", "jobs"]).1, "jobs/link.yaml\njobs/b.yaml\n");
        assert_eq!(listed(&["same/b.yaml", "jobs"]).1, "same/b.yaml\njobs/a.yaml\n");
        // An argument that only names again what is judged already is not told to hold no plan.
        let (status, out, err) = check(&folder, &["jobs", "jobs/link.yaml"]);
        assert_eq!((status, err.as_str()), (1, ""), "{out}");
        assert!(out.contains("2 plans judged") && !out.contains("are job"), "{out}");
    }
}

#[test]
fn timings_stand_beside_the_report_and_leave_it_alone() {
    let folder = folder(&[("a.yaml", OPEN), ("b.yaml", DANGER)]);
    let (status, plain, silent) = check(&folder, &[]);
    let (timed_status, timed, err) = check(&folder, &["--timings"]);
    assert_eq!((timed_status, &timed, silent.as_str()), (status, &plain, ""));
    for words in ["on 2 plans", "bare parse", "schema check", "solve", "where open checks turn"] {
        assert!(err.contains(words), "{words}: {err}");
    }
    for rule in testlamp::rules::all() {
        assert!(err.contains(&format!("  {} {}", rule.code, rule.name)), "{}", rule.code);
    }
}

/// A folder of so many plans like one, each of them a job of its own.
fn jobs(like: &str, plans: usize) -> TempDir {
    let plan = |at: usize| (format!("{at}.yaml"), like.replacen("number: J-", &format!("number: J-{at}-"), 1));
    let plans: Vec<(String, String)> = (0..plans).map(plan).collect();
    folder(&plans.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect::<Vec<_>>())
}

#[test]
fn two_plans_of_one_job_number_are_named() {
    let folder = folder(&[("a.yaml", CLEAN), ("b.yaml", CLEAN), ("c.yaml", DANGER)]);
    let (_, _, err) = run(folder.path(), &["check"]);
    assert_eq!(err, "testlamp: 2 plans are job J-2041: a.yaml, b.yaml\n");
    assert_eq!(run(folder.path(), &["check", "--quiet"]).2, "");
}

#[test]
fn nothing_is_drawn_where_nobody_watches() {
    let folder = jobs(CLEAN, 200);
    let (status, out, err) = run(folder.path(), &["check"]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(!out.contains('\r') && !out.contains('\u{1b}'));
}

#[test]
fn a_record_that_cannot_be_opened_is_told_before_anything_is_judged() {
    let folder = folder(&[("a.yaml", CLEAN), ("records/x", "")]);
    for (target, why) in [("none/r.jsonl", "no such"), ("records", "it is a folder")] {
        let (status, out, err) = check(&folder, &["--record", target]);
        assert_eq!((status, out.as_str()), (2, ""), "{target}");
        assert!(err.contains(target) && err.contains(why), "{err}");
    }
}

/// A closed box that booms: advice.
const ADVICE: &str = "plan: 1
drivers: {sub: {enclosure: box, resonance: 30 Hz, total_q: 0.55, compliance_volume: 60 L}}
enclosures: {box: {kind: sealed, net_volume: 12 L}}
";

#[test]
fn what_only_this_house_does_not_let_pass_can_be_known_too() {
    let folder = folder(&[("jobs/a.yaml", ADVICE), ("house.yaml", "house: 1\ngate: {draft: {findings: advice}}\n")]);
    assert_eq!(check(&folder, &["jobs"]).0, 1);
    let (status, out, _) = with_baseline(&folder, &["jobs", "--write-baseline"]);
    assert_eq!(status, 0, "{out}");
    let (status, out, _) = with_baseline(&folder, &["jobs"]);
    assert_eq!((status, out.contains("baselined advice BOX-02")), (0, true), "{out}");
    // What the house makes more severe is not what was accepted.
    let severe = "house: 1\nrules: {BOX-02: {severity: fault, reason: they complain}}\n";
    write(&folder, "house.yaml", severe);
    let (status, out, _) = with_baseline(&folder, &["jobs"]);
    assert_eq!((status, out.contains("fault BOX-02")), (1, true), "{out}");
}

#[test]
fn a_record_says_by_which_house_each_plan_was_judged() {
    let off = "house: 1\nrules: {WIRE-13: {off: true, reason: sleeves}}\n";
    let folder = folder(&[
        ("plain/a.yaml", CLEAN),
        ("own/house.yaml", off),
        ("own/b.yaml", CLEAN),
        ("own/c.yaml", CLEAN),
        ("bad/house.yaml", "house: 2\n"),
        ("bad/d.yaml", CLEAN),
    ]);
    let (status, _, err) = check(&folder, &["--record", "record.jsonl"]);
    assert_eq!(status, 2, "{err}");
    let text = read(&folder, "record.jsonl");
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let of = |plan: &str| lines.iter().find(|line| line["plan"] == plan).unwrap_or_else(|| panic!("{plan}: {text}"));
    let (plain, own) = (of("plain/a.yaml"), of("own/b.yaml"));
    assert_eq!(own["house_digest"], of("own/c.yaml")["house_digest"]);
    assert_ne!(own["house_digest"], plain["house_digest"]);
    assert_eq!(of("bad/d.yaml")["result"], "not-read");
    assert_eq!(lines.len(), 4, "{text}");
    // The evidence of a plan says the same.
    let (_, out, _) = run(folder.path(), &["check", "own/b.yaml", "--evidence", "--format", "json"]);
    let report: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(report["plans"][0]["evidence"]["house_digest"], own["house_digest"]);
}

#[test]
fn a_list_names_what_the_house_takes_for_plans() {
    let house = "house: 1\nshelves: [gear.yaml]\nplans: {exclude: ['old/**']}\n";
    let files = [("house.yaml", house), ("gear.yaml", "shelf: 1\n"), ("a.yaml", CLEAN), ("old/b.yaml", CLEAN)];
    let folder = folder(&files);
    assert_eq!(run(folder.path(), &["check", "--list-plans"]).1, "a.yaml\n");
    write(&folder, "house.yaml", "house: 2\n");
    let (status, out, err) = run(folder.path(), &["check", "--list-plans"]);
    assert_eq!((status, out.as_str()), (2, ""), "{err}");
}
