//! What is known already: a baseline, what goes into it, and what an entry outlives.

use std::fs;

use super::{DANGER, FAULTS, OPEN, check, fits, folder, read, run, run_on, with_baseline, write, written};
use serde_json::Value;

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

fn rename(folder: &tempfile::TempDir, from: &str, to: &str) {
    fs::rename(folder.path().join(from), folder.path().join(to)).expect("it is there");
}

/// The number of the job says which plan it is, whatever its file is called.
#[test]
fn a_plan_that_was_renamed_is_known_by_the_number_of_its_job() {
    let folder = folder(&[("a.yaml", FAULTS), ("other.yaml", OPEN)]);
    with_baseline(&folder, &["a.yaml", "--write-baseline"]);
    let all = written(&folder);
    rename(&folder, "a.yaml", "b.yaml");
    let (status, out, err) = with_baseline(&folder, &["b.yaml"]);
    assert_eq!(status, 0, "{out}");
    assert_eq!(
        err,
        "testlamp: b.yaml is known in known.jsonl as a.yaml: both are job J-2052; --prune puts the new name in\n"
    );
    // What has changed since is known no longer.
    write(&folder, "b.yaml", &FAULTS.replace("36 V", "35 V"));
    let (status, out, _) = with_baseline(&folder, &["b.yaml"]);
    assert!(status == 1 && out.contains(": fault PROOF-06 ") && out.contains("stale entry"), "{out}");
    write(&folder, "b.yaml", FAULTS);
    let (status, _, err) = with_baseline(&folder, &["b.yaml", "--prune"]);
    assert!(status == 0 && err.contains("0 entries taken out"), "{err}");
    let known = read(&folder, "known.jsonl");
    assert_eq!((written(&folder), known.matches(r#""file":"b.yaml""#).count()), (all, all), "{known}");
    let (status, _, err) = with_baseline(&folder, &["b.yaml"]);
    assert_eq!((status, err.as_str()), (0, ""));
}

/// Whatever the files are called, what was accepted of one job is accepted of no other.
#[test]
fn what_is_accepted_of_one_job_covers_no_other() {
    let other = FAULTS.replace("number: J-2052", "number: J-9999");
    let unnumbered = FAULTS.replace("  number: J-2052\n", "");
    assert!(other != FAULTS && unnumbered != FAULTS);
    let after = |first: &str, files: &[(&str, &str)]| {
        let folder = folder(&[("a.yaml", first)]);
        with_baseline(&folder, &["--write-baseline"]);
        fs::remove_file(folder.path().join("a.yaml")).expect("it is there");
        for (name, text) in files {
            write(&folder, name, text);
        }
        let (status, _, err) = with_baseline(&folder, &["."]);
        assert!(!err.contains("is known in"), "{err}");
        status
    };
    assert_eq!(after(FAULTS, &[("b.yaml", &other)]), 1, "another number under another name");
    assert_eq!(after(FAULTS, &[("a.yaml", &other)]), 1, "another number under the same name");
    assert_eq!(after(FAULTS, &[("b.yaml", FAULTS), ("c.yaml", FAULTS)]), 1, "a copy beside it");
    assert_eq!(after(FAULTS, &[("a.yaml", FAULTS), ("b.yaml", FAULTS)]), 1, "a copy, and the plan is where it was");
    assert_eq!(after(&unnumbered, &[("b.yaml", &unnumbered)]), 1, "no number");
    assert_eq!(after(&unnumbered, &[("a.yaml", FAULTS)]), 0, "the same plan, numbered since");
    assert_eq!(after(FAULTS, &[("a.yaml", &unnumbered)]), 0, "the same plan without its number");
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
