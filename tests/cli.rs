//! The command line: exit statuses, inputs, formats.

mod common;
#[path = "common/files.rs"]
mod files;

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use files::folder;

/// A draft that states nothing a rule could judge.
const EMPTY: &str = "plan: 1\n";
/// A fuse of 60 A on 10 AWG that passes the engine bay: FUSE-01 finds 51 A.
const FAULTY: &str = "plan: 1
amplifiers: {bass-amp: {}}
wires:
  main:
    from: battery.positive
    to: bass-amp.power
    size: 10 AWG
    conductor: copper
    insulation: 105 C
    length: 4.9 m
    path: [engine-bay, firewall, cargo]
    fuse: {form: bolt-down, distance: 20 cm, rating: 60 A}
    crossings: {firewall: {through: factory-grommet, sealed: true}}
";

struct Ran {
    status: i32,
    out: String,
    err: String,
}

fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = common::program(folder, arguments);
    command.env_remove("NO_COLOR");
    command
}

fn ran(mut command: Command) -> Ran {
    let (status, out, err) = common::ended(&mut command);
    Ran { status, out, err }
}

fn run(folder: &Path, arguments: &[&str]) -> Ran {
    ran(command(folder, arguments))
}

#[test]
fn nothing_at_the_gate_is_status_0() {
    let folder = folder(&[("a.yaml", EMPTY)]);
    let Ran { status, out, err } = run(folder.path(), &["check", "a.yaml"]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("1 plan judged"), "{out}");
}

#[test]
fn a_danger_is_status_1_and_shows_its_words_and_numbers() {
    let folder = folder(&[("a.yaml", FAULTY)]);
    let Ran { status, out, .. } = run(folder.path(), &["check", "a.yaml"]);
    assert_eq!(status, 1);
    for words in ["danger FUSE-01", "a.yaml:12:54", "60 A", "51 A", "why", "mend", "33 CFR 183.425"] {
        assert!(out.contains(words), "{words} is missing in\n{out}");
    }
}

#[test]
fn wrong_usage_is_status_2() {
    let folder = folder(&[]);
    for arguments in [&["chek"][..], &["check", "--format", "xml"], &["explain", "FUSE-1"], &["schema", "wire"], &[]] {
        let ran = run(folder.path(), arguments);
        assert_eq!(ran.status, 2, "{arguments:?}");
        assert!(!ran.err.is_empty() && ran.out.is_empty(), "{arguments:?}");
    }
}

#[test]
fn an_input_that_cannot_be_read_is_status_3_and_does_not_stop_the_others() {
    let folder = folder(&[("a.yaml", FAULTY)]);
    let Ran { status, out, err } = run(folder.path(), &["check", "missing.yaml", "a.yaml", "--format", "short"]);
    assert_eq!(status, 3);
    assert!(err.contains("missing.yaml could not be read: there is no such file"), "{err}");
    assert!(out.contains("FUSE-01") && out.contains("1 input not read"), "{out}");
}

#[test]
fn nothing_to_check_is_status_4() {
    let folder = folder(&[("empty/readme.txt", ""), ("other/compose.yaml", "services: {}\n"), ("a.yaml", EMPTY)]);
    for argument in ["empty", "other", "*.yml", "none/**/*.yaml"] {
        let Ran { status, err, .. } = run(folder.path(), &["check", argument]);
        assert_eq!(status, 4, "{argument}");
        assert!(err.contains("nothing to check") && err.contains(argument), "{err}");
        // An empty argument beside a full one is a mistake as well.
        assert_eq!(run(folder.path(), &["check", "a.yaml", argument]).status, 4, "{argument}");
    }
}

#[test]
fn a_plan_that_cannot_be_read_is_status_1() {
    let folder = folder(&[("a.yaml", "plan: 1\nwires: {main: {length: 5}}\n")]);
    let Ran { status, out, .. } = run(folder.path(), &["check", "a.yaml", "--format", "short"]);
    assert_eq!(status, 1);
    assert!(out.starts_with("a.yaml:2:24: unreadable: "), "{out}");
}

#[test]
fn standard_input_has_a_name() {
    let folder = folder(&[]);
    let mut line = command(folder.path(), &["check", "-", "--stdin-name", "van.yaml", "--format", "short"]);
    line.write_stdin(FAULTY);
    let Ran { status, out, .. } = ran(line);
    assert_eq!(status, 1);
    assert!(out.contains("van.yaml:12:54: danger FUSE-01"), "{out}");
}

#[test]
fn a_folder_is_walked_in_order_and_says_what_it_passed_over() {
    let files = [
        ("b.yaml", FAULTY),
        ("a/z.yml", FAULTY),
        ("notes.yaml", "a: 1\n"),
        (".ignore", "off.yaml\n"),
        ("off.yaml", FAULTY),
    ];
    let folder = folder(&files);
    let Ran { status, out, .. } = run(folder.path(), &["check", "--format", "short"]);
    assert_eq!(status, 1);
    let found: Vec<&str> = out.lines().filter(|l| l.contains("FUSE-01")).filter_map(|l| l.split(':').next()).collect();
    assert_eq!(found, ["a/z.yml", "b.yaml"]);
    assert!(out.contains("2 plans judged") && out.contains("1 file without a plan passed over"), "{out}");
}

#[test]
fn patterns_are_expanded_where_the_shell_did_not() {
    let folder = folder(&[("jobs/a.yaml", EMPTY), ("jobs/deep/b.yaml", EMPTY), ("jobs/c.txt", EMPTY)]);
    for (pattern, plans) in [("jobs/*.yaml", 1), ("jobs/**/*.yaml", 2), ("jobs/[ac].*", 2), ("./jobs/{a,c}.yaml", 1)] {
        let ran = run(folder.path(), &["check", pattern]);
        assert!(
            ran.out.contains(&format!("{plans} plan")) && ran.out.contains("judged: "),
            "{pattern}: {}{}",
            ran.out,
            ran.err
        );
    }
}

#[test]
fn a_plan_is_judged_once_however_often_it_is_named() {
    let folder = folder(&[("a.yaml", EMPTY)]);
    let Ran { status, out, .. } = run(folder.path(), &["check", "a.yaml", "./a.yaml", "."]);
    assert_eq!(status, 0, "{out}");
    assert!(out.contains("1 plan judged"), "{out}");
}

#[test]
fn an_open_danger_holds_the_gate_unless_the_plan_is_a_draft() {
    let open = FAULTY.replace("    size: 10 AWG\n", "");
    for (stage, expected) in [("draft", 0), ("planned", 1), ("installed", 1)] {
        let plan = format!("{open}job: {{stage: {stage}}}\n");
        let folder = folder(&[("a.yaml", &plan)]);
        let Ran { out, .. } = run(folder.path(), &["check", "a.yaml", "--format", "json"]);
        let report: serde_json::Value = serde_json::from_str(&out).expect("JSON");
        let of_rule = |list: &str| {
            let list = report["plans"][0][list].as_array().expect("a list").clone();
            list.into_iter().find(|check| check["rule"]["code"] == "FUSE-01")
        };
        assert!(of_rule("findings").is_none());
        let waiting = of_rule("open").expect("FUSE-01 is open");
        assert_eq!(waiting["holds_gate"], expected == 1, "{stage}");
        assert_eq!(waiting["needs"][0], "wires.main.size");
        if expected == 1 {
            assert_eq!(report["summary"]["status"], 1, "{stage}");
        }
    }
}

#[test]
fn the_find_out_list_says_what_a_fact_is_and_where_the_verdict_turns() {
    let plan = FAULTY.replace("    insulation: 105 C\n", "").replace("60 A", "40 A");
    let folder = folder(&[("a.yaml", &plan)]);
    let Ran { out, .. } = run(folder.path(), &["check", "a.yaml"]);
    let (_, list) = out.split_once("To find out for a.yaml").expect("the list");
    let (_, fact) =
        list.split_once("  main: the temperature its insulation is made for, like `105 C`\n").expect("the fact");
    assert!(fact.trim_start().starts_with("wires.main.insulation\n"), "{fact}");
    assert!(fact.contains("FUSE-01 passes from"), "{fact}");
}

#[test]
fn json_fits_its_schema() {
    let open = FAULTY.replace("    insulation: 105 C\n", "").replace("60 A", "40 A") + "job: {stage: planned}\n";
    let files =
        [("a.yaml", FAULTY), ("b.yaml", "plan: 1\nwires: {m: {length: 5}}\n"), ("c.yaml", &open), ("d.yaml", "x: [")];
    let folder = folder(&files);
    let line = ["check", "--format", "json", "a.yaml", "b.yaml", "c.yaml", "d.yaml", "missing.yaml"];
    let Ran { status, out, .. } = run(folder.path(), &line);
    assert_eq!(status, 3);
    let report: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    valid(&report, "schema/report.schema.json");
    assert_eq!(report["summary"]["plans"], 4);
    assert_eq!(report["not_read"][0]["path"], "missing.yaml");
    assert!(report["plans"][0]["findings"][0]["working"]["margin"].as_f64().expect("a margin") < 0.0);
    // The schema is no rubber stamp.
    let mut spoilt = report.clone();
    spoilt["plans"][0]["findings"][0]["severity"] = "terrible".into();
    assert!(!validator("schema/report.schema.json").is_valid(&spoilt));
}

fn validator(schema: &str) -> jsonschema::Validator {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(schema);
    let schema = serde_json::from_str(&fs::read_to_string(path).expect("the schema")).expect("JSON");
    jsonschema::validator_for(&schema).expect("a schema")
}

fn valid(report: &serde_json::Value, schema: &str) {
    let faults: Vec<String> =
        validator(schema).iter_errors(report).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn figures_are_shown_as_far_as_they_are_known() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs/j-2041-one-subwoofer.yaml");
    let example = example.to_str().expect("a path");
    let text = fs::read_to_string(example).expect("the example").replace("    length: 4.9 m\n", "");
    let folder = folder(&[("a.yaml", &text)]);
    let table = run(folder.path(), &["figures", example]);
    assert_eq!(table.status, 0);
    for words in [
        "wires.main\n",
        "amplifiers.bass-amp\n",
        "music with the engine off, vehicle.battery",
        "its fuse, wires.main.fuse",
        "60 A",
        "largest fuse for the wire",
    ] {
        assert!(table.out.contains(words), "{words} is missing in\n{}", table.out);
    }
    let open = run(folder.path(), &["figures", "a.yaml"]);
    assert!(open.out.contains("open: wires.main.length"), "{}", open.out);
    let json = run(folder.path(), &["figures", example, "--format", "json"]);
    valid(&serde_json::from_str(&json.out).expect("JSON"), "schema/figures.schema.json");
    assert_eq!(run(folder.path(), &["figures", "missing.yaml"]).status, 3);
    assert_eq!(run(folder.path(), &["figures", "."]).status, 3);
}

#[test]
fn every_rule_is_explained_by_code_and_by_name() {
    let folder = folder(&[]);
    for rule in testlamp::rules::all() {
        let by_code = run(folder.path(), &["explain", &rule.code.to_lowercase()]);
        let by_name = run(folder.path(), &["explain", &rule.name.to_uppercase()]);
        assert_eq!((by_code.status, by_name.status), (0, 0), "{}", rule.code);
        assert_eq!(by_code.out, by_name.out);
        assert!(by_code.out.starts_with(&format!("{} {} (", rule.code, rule.name)), "{}", by_code.out);
        assert!(!by_code.out.contains("```"), "{}", by_code.out);
    }
    let missed = run(folder.path(), &["explain", "fuse-abve-wire"]);
    assert!(missed.err.contains("did you mean fuse-above-wire?"), "{}", missed.err);
}

#[test]
fn colours_come_when_asked_for_and_only_then() {
    let folder = folder(&[("a.yaml", FAULTY)]);
    let coloured = |arguments: &[&str]| run(folder.path(), arguments).out.contains('\u{1b}');
    assert!(!coloured(&["check", "a.yaml"]));
    assert!(!coloured(&["check", "a.yaml", "--color", "never"]));
    assert!(coloured(&["check", "a.yaml", "--color", "always"]));
}

#[test]
fn quiet_leaves_findings_only() {
    let folder = folder(&[("a.yaml", FAULTY), ("b.yaml", EMPTY)]);
    let Ran { out, .. } = run(folder.path(), &["check", "a.yaml", "--quiet"]);
    assert!(out.contains("FUSE-01") && !out.contains("\n  working") && !out.contains("judged"), "{out}");
    let Ran { status, out, .. } = run(folder.path(), &["check", "b.yaml", "--quiet"]);
    assert_eq!((status, out.as_str()), (0, ""));
}

#[test]
fn two_threads_give_the_same_bytes_as_one() {
    let texts = [FAULTY, EMPTY, "plan: 1\nwires: {m: {length: 5}}\n"];
    let names: Vec<String> = (0..150).map(|at| format!("jobs/{at}.yaml")).collect();
    let files: Vec<(&str, &str)> = names.iter().enumerate().map(|(at, n)| (n.as_str(), texts[at % 3])).collect();
    let folder = folder(&files);
    for format in ["terminal", "short", "json", "sarif", "junit", "github", "markdown"] {
        let with = |threads: &str| {
            let mut line = command(folder.path(), &["check", "jobs", "--format", format]);
            line.env("RAYON_NUM_THREADS", threads);
            ran(line).out
        };
        let one = with("1");
        assert!(one.contains("FUSE-01"));
        assert!(one == with("2"), "{format}");
    }
}

#[test]
fn help_and_version_speak_plainly() {
    let folder = folder(&[]);
    let help = run(folder.path(), &["--help"]);
    assert_eq!(help.status, 0);
    for words in ["check", "explain", "figures", "rulebook", "schema", "Exit status"] {
        assert!(help.out.contains(words), "{words}");
    }
    let version = run(folder.path(), &["--version"]);
    assert_eq!(version.out, format!("testlamp {}\n", env!("CARGO_PKG_VERSION")));
}
