//! `check` as the gate over all jobs of a shop: baseline, record, lists, and what happens when something goes wrong.

mod common;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
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

fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    for (name, text) in files {
        write(&folder, name, text);
    }
    folder
}

fn write(folder: &TempDir, name: &str, text: &str) {
    let path = folder.path().join(name);
    fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    fs::write(path, text).expect("a file");
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).expect(name)
}

/// Exit status, what it said, what it complained of.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    run_on(folder, arguments, &[])
}

fn run_on(folder: &Path, arguments: &[&str], set: &[(&str, &str)]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("testlamp").expect("the program");
    command.current_dir(folder).args(arguments).envs(set.iter().copied());
    common::ended(&mut command)
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

#[test]
fn known_findings_stay_visible_and_do_not_shut_the_gate() {
    let folder = folder(&[("jobs/a.yaml", FAULTS)]);
    let (status, before, _) = check(&folder, &[]);
    assert_eq!(status, 1);
    let faults = before.lines().filter(|line| line.contains(": fault ")).count();
    assert!(faults > 2, "{before}");
    let (status, _, err) = with_baseline(&folder, &["--write-baseline"]);
    assert_eq!((status, written(&folder)), (0, faults));
    assert_eq!(err, format!("testlamp: {faults} entries in known.jsonl; 0 entries taken out\n"));
    let (status, out, err) = with_baseline(&folder, &[]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert_eq!(out.lines().filter(|line| line.contains(": baselined fault ")).count(), faults, "{out}");
    assert!(out.contains(&format!("{faults} baselined")), "{out}");
    assert_eq!(check(&folder, &[]).0, 1, "only with the baseline");
    let (_, drawn, _) = run(folder.path(), &["check", "--baseline", "known.jsonl"]);
    assert!(drawn.contains("In the baseline for jobs/a.yaml"), "{drawn}");
    let (_, json, _) = run(folder.path(), &["check", "--baseline", "known.jsonl", "--format", "json"]);
    let report: Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(report["plans"][0]["baselined"].as_array().map(Vec::len), Some(faults));
    assert_eq!(report["summary"]["counts"]["baselined"], faults);
    fits(&report, "report");
}

#[test]
fn an_entry_survives_edits_elsewhere_and_dies_with_its_element() {
    let folder = folder(&[("a.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    let all = written(&folder);
    let elsewhere = format!("# words\n\n{}", FAULTS.replace("colour: red", "colour: blue"));
    assert_ne!(elsewhere.matches("blue").count(), FAULTS.matches("blue").count());
    let spaced = elsewhere.replace(": ", ":   ");
    write(&folder, "a.yaml", &spaced);
    assert_eq!(with_baseline(&folder, &[]).0, 0);
    let changed = FAULTS.replace("36 V", "35 V");
    assert_ne!(changed, FAULTS);
    write(&folder, "a.yaml", &changed);
    let (status, out, _) = with_baseline(&folder, &[]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains(": fault PROOF-06 "), "{out}");
    assert!(out.contains("stale entry, line ") && out.contains("of the baseline: PROOF-06 on "), "{out}");
    assert!(out.contains("1 stale entry in the baseline"), "{out}");
    let (status, _, err) = with_baseline(&folder, &["--prune"]);
    assert_eq!((status, written(&folder)), (1, all - 1), "{err}");
    assert!(!with_baseline(&folder, &[]).1.contains("stale"));
    with_baseline(&folder, &["--write-baseline"]);
    assert_eq!((with_baseline(&folder, &[]).0, written(&folder)), (0, all));
}

#[test]
fn dangers_go_into_a_baseline_only_by_name() {
    let folder = folder(&[("a.yaml", DANGER)]);
    let (status, out, _) = with_baseline(&folder, &["--write-baseline"]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains(": danger FUSE-01"), "{out}");
    assert!(!read(&folder, "known.jsonl").contains("danger"));
    let (status, out, _) = with_baseline(&folder, &["--write-baseline", "--with-dangers"]);
    assert_eq!(status, 0, "{out}");
    assert!(out.contains("baselined, of which 2 dangers"), "{out}");
    // They stay when it is written again without the word, and what changes is danger again.
    assert_eq!(with_baseline(&folder, &["--write-baseline"]).0, 0);
    write(&folder, "a.yaml", &DANGER.replace("rating: 80 A", "rating: 90 A"));
    assert_eq!(with_baseline(&folder, &[]).0, 1);
    // The wire that the fuse is too large for is pointed at too.
    write(&folder, "a.yaml", &DANGER.replace("size: 8 AWG", "size: 10 AWG"));
    assert_eq!(with_baseline(&folder, &[]).0, 1);
    let help = run(folder.path(), &["check", "--help"]).1.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(help.contains("a finished vehicle is on the road"), "{help}");
}

#[test]
fn open_checks_that_hold_the_gate_can_be_known_too() {
    let folder = folder(&[("a.yaml", OPEN)]);
    let (status, out, _) = check(&folder, &[]);
    assert!(status == 1 && out.contains(": open danger FUSE-01"), "{out}");
    assert_eq!(with_baseline(&folder, &["--write-baseline"]).0, 1);
    assert_eq!(with_baseline(&folder, &["--write-baseline", "--with-dangers"]).0, 0);
    let (status, out, _) = with_baseline(&folder, &[]);
    assert!(status == 0 && out.contains("baselined open FUSE-01 fuse-above-wire"), "{out}");
    // Once the fact is stated the check is decided, and nobody has accepted what it comes to.
    write(
        &folder,
        "a.yaml",
        &OPEN.replace("conductor: copper\n", "conductor: copper\n    size: 16 AWG\n    insulation: 105 C\n"),
    );
    let (status, out, _) = with_baseline(&folder, &[]);
    assert!(status == 1 && out.contains(": danger FUSE-01") && out.contains("stale entry"), "{out}");
}

#[test]
fn entries_of_plans_that_are_not_judged_stay_while_the_plan_is_there() {
    let folder = folder(&[("jobs/a.yaml", FAULTS), ("jobs/b.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    let all = written(&folder);
    let (status, out, _) = with_baseline(&folder, &["jobs/a.yaml", "--prune"]);
    assert_eq!((status, written(&folder)), (0, all), "{out}");
    fs::remove_file(folder.path().join("jobs/b.yaml")).expect("it is there");
    let (status, out, err) = with_baseline(&folder, &["jobs/a.yaml"]);
    assert_eq!(status, 0, "{out}");
    assert!(err.contains("in the baseline for plans that are gone"), "{err}");
    assert!(out.contains(&format!("{} stale entries in the baseline", all / 2)), "{out}");
    with_baseline(&folder, &["jobs/a.yaml", "--prune"]);
    assert_eq!(written(&folder), all / 2);
    // What cannot be read is not taken for mended.
    write(&folder, "jobs/a.yaml", "plan: 1\nwires: [\n");
    let (status, out, _) = with_baseline(&folder, &["--prune"]);
    assert!(status == 1 && !out.contains("stale"), "{out}");
    assert_eq!(written(&folder), all / 2);
}

#[test]
fn a_plan_is_known_whatever_it_is_called() {
    let folder = folder(&[("jobs/a.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    let jobs = folder.path().join("jobs");
    let whole = jobs.join("a.yaml");
    for name in ["a.yaml", ".", "../jobs/a.yaml", whole.to_str().expect("a path")] {
        let (status, out, _) = run(&jobs, &["check", name, "--baseline", "../known.jsonl", "--format", "short"]);
        assert_eq!(status, 0, "{name}: {out}");
    }
    assert!(read(&folder, "known.jsonl").contains(r#"{"file":"jobs/a.yaml","#));
}

#[test]
fn a_baseline_is_the_same_whatever_the_threads() {
    let names: Vec<String> = (0..150).map(|at| format!("jobs/{at}.yaml")).collect();
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), OPEN)).collect();
    let folder = folder(&files);
    let with = |threads: &str| {
        let line = ["check", "--baseline", threads, "--write-baseline", "--with-dangers", "--format", "json"];
        let (_, out, _) = run_on(folder.path(), &line, &[("RAYON_NUM_THREADS", threads)]);
        (out, read(&folder, threads))
    };
    let (one, two) = (with("1"), with("2"));
    assert!(one == two);
    let entries: Vec<&str> = one.1.lines().skip(1).collect();
    assert!(entries.len() > 150 && entries.is_sorted_by_key(|line| line.split("\"severity\"").next()), "sorted");
}

#[test]
fn a_broken_baseline_is_status_2_with_its_line() {
    let folder = folder(&[("a.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    let good = read(&folder, "known.jsonl");
    let broken = [
        (good.replace("\"baseline\":1", "\"baseline\":7"), "line 1: it is of version 7"),
        (format!("{good}<<<<<<< mine\n"), &*format!("line {}: it is not whole JSON", good.lines().count() + 1)),
        (good.replacen("\"rule\"", "\"rules\"", 1), "line 2: unknown field `rules`"),
        (String::new(), "line 1: the file is empty"),
    ];
    for (text, words) in broken {
        write(&folder, "known.jsonl", &text);
        for more in [&[][..], &["--write-baseline"], &["--prune"]] {
            let (status, out, err) = with_baseline(&folder, more);
            assert_eq!((status, out.as_str()), (2, ""), "{words}");
            assert!(err.contains(words) && err.contains("known.jsonl"), "{err}");
            assert_eq!(read(&folder, "known.jsonl"), text, "it stays as it is");
        }
    }
    let (status, _, err) = check(&folder, &["--baseline", "none.jsonl"]);
    assert!(status == 2 && err.contains("there is no such file") && err.contains("--write-baseline"), "{err}");
    for wrong in [&["--write-baseline"][..], &["--prune"], &["--baseline", "known.jsonl", "--with-dangers"]] {
        assert_eq!(check(&folder, wrong).0, 2, "{wrong:?}");
    }
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

#[test]
fn nothing_is_drawn_where_nobody_watches() {
    let names: Vec<String> = (0..200).map(|at| format!("{at}.yaml")).collect();
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), CLEAN)).collect();
    let folder = folder(&files);
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

#[cfg(target_os = "linux")]
mod linux {
    use std::io::{BufRead, BufReader, Read, Write};
    use std::process::{Child, Command, Stdio};
    use std::sync::mpsc::{Receiver, channel};
    use std::time::{Duration, Instant};

    use super::*;

    fn program() -> std::path::PathBuf {
        assert_cmd::cargo::cargo_bin("testlamp")
    }

    #[test]
    fn a_full_disk_and_a_folder_that_takes_no_files_are_told() {
        let folder = folder(&[("a.yaml", CLEAN)]);
        for (target, why) in [("/dev/full", "there is no space left"), ("/proc/record", "")] {
            for option in [["--record", target], ["--output", &format!("json={target}")]] {
                let (status, _, err) = check(&folder, &option);
                assert_eq!(status, 2, "{option:?}: {err}");
                assert!(err.contains(target) && err.contains(why), "{err}");
            }
        }
        assert!(!Path::new("/dev/full").metadata().expect("it is there").is_file(), "a device stays one");
        let (status, _, err) = check(&folder, &["--baseline", "/dev/full", "--write-baseline"]);
        assert!(status == 2 && err.contains("/dev/full is no file"), "{err}");
    }

    /// Files can grow to 512 bytes in this shell: what is longer breaks off in the middle.
    fn run_with_little_room(folder: &TempDir, arguments: &str) -> (i32, String) {
        let line = format!("trap '' XFSZ; ulimit -f 1; exec '{}' {arguments}", program().display());
        let output = Command::new("sh").args(["-c", &line]).current_dir(folder.path()).output().expect("a shell");
        (output.status.code().expect("an exit status"), String::from_utf8_lossy(&output.stderr).into_owned())
    }

    #[test]
    fn a_write_that_breaks_off_leaves_the_old_file_and_nothing_else() {
        let folder = folder(&[("a.yaml", DANGER), ("known.jsonl", "{\"baseline\":1}\n"), ("record.jsonl", "old\n")]);
        let (status, err) = run_with_little_room(&folder, "check a.yaml --baseline known.jsonl --write-baseline");
        assert!(status == 2 && err.contains("known.jsonl"), "{status}: {err}");
        let (status, err) = run_with_little_room(&folder, "check a.yaml --record record.jsonl");
        assert!(status == 2 && err.contains("record.jsonl"), "{status}: {err}");
        assert_eq!(read(&folder, "known.jsonl"), "{\"baseline\":1}\n");
        assert_eq!(read(&folder, "record.jsonl"), "old\n");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 3, "nothing is left beside them");
    }

    #[test]
    fn a_run_that_is_killed_half_way_leaves_the_old_files() {
        for written in [["--baseline", "known.jsonl", "--write-baseline"].as_slice(), &["--record", "record.jsonl"]] {
            let folder =
                folder(&[("a.yaml", DANGER), ("known.jsonl", "{\"baseline\":1}\n"), ("record.jsonl", "old\n")]);
            let mut child = Command::new(program())
                .args(["check", "a.yaml", "-", "--format", "short"])
                .args(written)
                .current_dir(folder.path())
                .stdin(Stdio::piped())
                .stdout(Stdio::null())
                .spawn()
                .expect("it runs");
            // The unfinished file is there, and standard input, the second plan, has no end yet.
            child.stdin.as_mut().expect("a pipe").write_all(b"plan: 1\n").expect("it reads");
            let deadline = Instant::now() + Duration::from_secs(20);
            while fs::read_dir(folder.path()).expect("a folder").count() < 4 {
                assert!(Instant::now() < deadline, "it never began to write");
                std::thread::sleep(Duration::from_millis(10));
            }
            child.kill().expect("it still runs");
            child.wait().expect("it ends");
            assert_eq!(read(&folder, "known.jsonl"), "{\"baseline\":1}\n");
            assert_eq!(read(&folder, "record.jsonl"), "old\n");
            // What is left over is hidden and no plan.
            assert_eq!(check(&folder, &["--list-plans"]).1, "a.yaml\n");
        }
    }

    #[test]
    fn a_reader_that_goes_away_does_not_cut_the_record_short() {
        let names: Vec<String> = (0..100).map(|at| format!("{at:03}.yaml")).collect();
        let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), OPEN)).collect();
        let folder = folder(&files);
        let mut child = Command::new(program())
            .args(["check", "--format", "json", "--record", "record.jsonl"])
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it runs");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(1), ""));
        assert_eq!(read(&folder, "record.jsonl").lines().count(), 100);
    }

    /// A run that watches, with the lines that it says on either side.
    struct Watching {
        child: Child,
        said: Receiver<String>,
    }

    impl Watching {
        fn start(folder: &TempDir, more: &[&str]) -> Self {
            let mut child = Command::new(program())
                .args(["check", "jobs", "--watch", "--format", "short"])
                .args(more)
                .current_dir(folder.path())
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .expect("it runs");
            let (sender, said) = channel();
            let sides: [Box<dyn Read + Send>; 2] =
                [Box::new(child.stdout.take().expect("a pipe")), Box::new(child.stderr.take().expect("a pipe"))];
            for side in sides {
                let sender = sender.clone();
                std::thread::spawn(move || {
                    BufReader::new(side).lines().map_while(Result::ok).try_for_each(|line| sender.send(line))
                });
            }
            Self { child, said }
        }

        /// What is said until it waits again.
        fn round(&self) -> String {
            let mut said = String::new();
            // Two sides are read at once: the last line of the report may come after the line that says it waits.
            while !(said.contains("(Ctrl-C ends)") && said.contains("judged: ")) {
                let line = self.said.recv_timeout(Duration::from_secs(20));
                said += &(line.unwrap_or_else(|_| panic!("it said no more than\n{said}")) + "\n");
            }
            said
        }
    }

    impl Drop for Watching {
        fn drop(&mut self) {
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }

    #[test]
    fn watching_judges_again_what_changes() {
        let folder = folder(&[("jobs/a.yaml", CLEAN), ("jobs/b.yaml", FAULTS)]);
        with_baseline(&folder, &["--write-baseline"]);
        let mut watching = Watching::start(&folder, &BASELINE);
        let first = watching.round();
        assert!(first.contains("2 plans judged") && first.contains("nothing stands in the way"), "{first}");
        assert!(!first.contains('\u{1b}'), "a pipe has no screen to clear");
        write(&folder, "jobs/a.yaml", DANGER);
        let second = watching.round();
        assert!(second.contains("jobs/a.yaml:") && second.contains("1 plan judged"), "{second}");
        assert!(second.contains("watching 2 plans: something stands in the way of jobs/a.yaml"), "{second}");
        write(&folder, "jobs/c.yaml", CLEAN);
        let third = watching.round();
        assert!(third.contains("1 plan judged") && third.contains("watching 3 plans"), "{third}");
        // The baseline judges all of them.
        write(&folder, "known.jsonl", "{\"baseline\":1}\n");
        let fourth = watching.round();
        assert!(fourth.contains("3 plans judged"), "{fourth}");
        assert!(fourth.contains("in the way of jobs/a.yaml and jobs/b.yaml"), "{fourth}");
        let id = watching.child.id().to_string();
        assert!(Command::new("kill").args(["-INT", &id]).status().expect("kill").success());
        let ended = watching.child.wait().expect("it ends");
        assert_eq!(std::os::unix::process::ExitStatusExt::signal(&ended), Some(2), "it ends by the signal itself");
        assert_eq!(watching.said.recv_timeout(Duration::from_secs(5)).ok(), None, "and says nothing");
    }

    #[test]
    fn watching_judges_all_again_when_house_or_shelf_changes() {
        let plan = "plan: 1\namplifiers: {bass: {shelf: mono}}\ndrivers: {sub: {kind: subwoofer, coils: [1 ohm]}}\n\
                    loads: {sub: {amplifier: bass, outputs: [1], coils: sub.1}}\n";
        let gear = |least: &str| format!("shelf: 1\namplifiers: {{mono: {{channels: 1, minimum_load: {least}}}}}\n");
        let house = "house: 1\nshelves: [shelf/gear.yaml]\n";
        let folder = folder(&[("jobs/a.yaml", plan), ("jobs/b.yaml", CLEAN), ("shelf/gear.yaml", &gear("1 ohm"))]);
        let mut watching = Watching::start(&folder, &[]);
        let first = watching.round();
        assert!(first.contains("the house has none") && first.contains("in the way of jobs/a.yaml"), "{first}");
        write(&folder, "house.yaml", house);
        let second = watching.round();
        assert!(second.contains("2 plans judged") && second.contains("nothing stands in the way"), "{second}");
        write(&folder, "shelf/gear.yaml", &gear("2 ohm"));
        let third = watching.round();
        assert!(third.contains("LOAD-01") && third.contains("in the way of jobs/a.yaml"), "{third}");
        write(&folder, "house.yaml", "house: 2\n");
        let fourth = watching.round();
        assert!(fourth.contains("in the way of jobs/a.yaml and jobs/b.yaml"), "{fourth}");
        watching.child.kill().expect("it ends");
        watching.child.wait().expect("it ended");
    }

    #[test]
    fn watching_ends_when_nobody_reads() {
        let folder = folder(&[("jobs/a.yaml", CLEAN)]);
        let mut child = Command::new(program())
            .args(["check", "--watch"])
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("it runs");
        drop(child.stdout.take());
        let deadline = Instant::now() + Duration::from_secs(20);
        while child.try_wait().expect("a child").is_none() {
            if Instant::now() > deadline {
                let _ = child.kill();
                panic!("it goes on");
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        assert_eq!(child.wait().expect("it ended").code(), Some(0));
    }

    #[test]
    fn standard_input_cannot_be_watched() {
        let folder = folder(&[]);
        let (status, _, err) = run(folder.path(), &["check", "-", "--watch"]);
        assert!(status == 2 && err.contains("standard input cannot be watched"), "{err}");
    }

    #[test]
    fn the_shell_takes_what_completes_it() {
        let folder = folder(&[]);
        for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
            let (status, script, _) = run(folder.path(), &["completions", shell]);
            assert_eq!(status, 0, "{shell}");
            for words in ["write-baseline", "rulebook", "list-plans"] {
                assert!(script.contains(words), "{shell}: {words}");
            }
        }
        let (_, script, _) = run(folder.path(), &["completions", "bash"]);
        write(&folder, "complete.bash", &script);
        let asks = "source ./complete.bash && COMP_WORDS=(testlamp ru) COMP_CWORD=1 && _testlamp testlamp ru testlamp && \
                    echo \"${COMPREPLY[@]}\"";
        let output = Command::new("bash").args(["-c", asks]).current_dir(folder.path()).output().expect("bash");
        assert_eq!(String::from_utf8_lossy(&output.stdout), "rulebook\n", "{output:?}");
    }

    #[test]
    fn the_gate_of_the_shell_ends_with_its_status_and_keeps_reports() {
        let folder = folder(&[("jobs/a.yaml", FAULTS)]);
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/ci/gate.sh");
        let path =
            format!("{}:{}", program().parent().expect("a folder").display(), std::env::var("PATH").expect("PATH"));
        let gate = |folder: &TempDir| {
            let output =
                Command::new("sh").arg(&script).current_dir(folder.path()).env("PATH", &path).output().expect("sh");
            output.status.code()
        };
        assert_eq!(gate(&folder), Some(1));
        let line = ["--baseline", "known-findings.jsonl", "--write-baseline"];
        check(&folder, &line);
        assert_eq!(gate(&folder), Some(0));
        let report: Value = serde_json::from_str(&read(&folder, "reports/report.json")).expect("JSON");
        fits(&report, "report");
        assert_eq!(read(&folder, "reports/record.jsonl").lines().count(), 1);
        fs::remove_file(folder.path().join("jobs/a.yaml")).expect("it is there");
        assert_eq!(gate(&folder), Some(4));
    }
}

fn yaml(path: &str) -> serde_yaml::Value {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).expect(path);
    serde_yaml::from_str(&text).expect("YAML")
}

fn words(value: &serde_yaml::Value) -> Vec<String> {
    let text = |value: &serde_yaml::Value| value.as_str().expect("a word").to_owned();
    value
        .as_sequence()
        .map_or_else(|| text(value).split(' ').map(str::to_owned).collect(), |list| list.iter().map(text).collect())
}

#[test]
fn the_hook_runs_what_it_says() {
    let hooks = yaml(".pre-commit-hooks.yaml");
    let hook = &hooks.as_sequence().expect("a list")[0];
    for key in ["id", "name", "entry", "language", "files"] {
        assert!(hook.get(key).is_some(), "{key}");
    }
    let line = [words(&hook["entry"]), words(&hook["args"])].concat();
    let (program, arguments) = line.split_first().expect("a command");
    assert_eq!(program, "testlamp");
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    assert_eq!(run(folder(&[("jobs/a.yaml", CLEAN)]).path(), &arguments).0, 0);
    let (status, out, _) =
        run(folder(&[("jobs/a.yaml", DANGER), ("compose.yaml", "services: {}\n")]).path(), &arguments);
    assert!(status == 1 && out.contains("jobs/a.yaml:"), "{out}");
}

#[test]
fn the_workflow_runs_what_it_says() {
    let workflow = yaml("examples/ci/annotations.yml");
    let steps = workflow["jobs"]["gate"]["steps"].as_sequence().expect("steps").clone();
    let lines: Vec<Vec<String>> = steps.iter().filter_map(|step| step.get("run")).map(words).collect();
    let line = lines.iter().find(|line| line[0] == "testlamp").expect("it judges");
    let arguments: Vec<&str> = line[1..].iter().map(String::as_str).collect();
    assert!(arguments.contains(&"github"), "{arguments:?}");
    let folder = folder(&[("jobs/a.yaml", DANGER)]);
    let (status, out, err) = run(folder.path(), &arguments);
    assert!(status == 1 && out.contains("FUSE-01"), "{out}{err}");
    for kept in ["report.json", "record.jsonl"] {
        assert!(!read(&folder, kept).is_empty(), "{kept}");
    }
}

#[test]
fn the_manual_names_every_command_option_and_exit_status() {
    let folder = folder(&[]);
    let (status, first, _) = run(folder.path(), &["manual"]);
    assert_eq!(status, 0);
    for command in ["check", "explain", "figures", "rulebook", "schema", "completions", "manual"] {
        assert!(first.contains(&format!("testlamp {command}")), "{command}");
        let (status, page, _) = run(folder.path(), &["manual", command]);
        assert_eq!(status, 0, "{command}");
        for page in [&first, &page] {
            troff(page);
            for words in
                [".SH NAME", ".SH SYNOPSIS", ".SH \"EXIT STATUS\"", "nothing to check", "an input could not be read"]
            {
                assert!(page.contains(words), "{command}: {words} is missing in\n{page}");
            }
        }
    }
    let (_, page, _) = run(folder.path(), &["manual", "check"]);
    let (_, help, _) = run(folder.path(), &["check", "--help"]);
    let options = help.split_whitespace().filter(|word| word.starts_with("--") && word.len() > 2);
    for option in options.map(|word| word.trim_matches([',', ';', '.', ':'])) {
        let written = option.replace('-', "\\-");
        assert!(page.contains(&written), "{option}");
    }
    let (status, _, err) = run(folder.path(), &["manual", "chek"]);
    assert!(status == 2 && err.contains("did you mean check?"), "{err}");
}

/// Every line that begins with a dot is a request that the man macros know; there is one title, and it comes first.
fn troff(page: &str) {
    const KNOWN: [&str; 11] = ["TH", "SH", "TP", "PP", "RS", "RE", "IP", "br", "ie", "el", "ds"];
    let requests: Vec<&str> = page
        .lines()
        .filter_map(|line| line.strip_prefix('.'))
        .map(|line| line.trim_start().split([' ', '\\']).next().unwrap_or_default())
        .collect();
    for request in &requests {
        assert!(KNOWN.contains(request), ".{request} in\n{page}");
    }
    assert_eq!(requests.iter().filter(|request| **request == "TH").count(), 1);
    let (title, name) = (page.find(".TH ").expect("a title"), page.find(".SH NAME").expect("a name"));
    assert!(title < name);
}
