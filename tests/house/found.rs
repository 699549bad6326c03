//! Where a house is found, and which files it takes for plans.

use std::fs;
use std::path::Path;

use super::{LONGER, RETURN, Ran, folder, run};
use serde_json::Value;

#[test]
fn the_nearest_house_above_a_plan_judges_it() {
    let shorter = "house: 1\nlimits: {return-length: {value: 30 cm, source: near}}\n";
    let files = [
        ("house.yaml", LONGER),
        ("a/j.yaml", RETURN),
        ("b/house.yaml", shorter),
        ("b/c/j.yaml", RETURN),
        ("d/house.yaml/j.yaml", RETURN),
    ];
    let folder = folder(&files);
    let Ran { out, .. } = run(folder.path(), &["check", ".", "--format", "json"], "");
    let report: Value = serde_json::from_str(&out).expect("JSON");
    let plans = report["plans"].as_array().expect("plans");
    let told = |plan: &Value| {
        let long = plan["findings"].as_array().expect("a list").iter().any(|f| f["rule"]["code"] == "GROUND-02");
        (plan["path"].as_str().unwrap_or_default().to_owned(), plan["house"]["path"].clone(), long)
    };
    let expected = [
        ("a/j.yaml".to_owned(), "house.yaml".into(), false),
        ("b/c/j.yaml".to_owned(), "b/house.yaml".into(), true),
        // A folder that is called so is no house file.
        ("d/house.yaml/j.yaml".to_owned(), "house.yaml".into(), false),
    ];
    assert_eq!(plans.iter().map(told).collect::<Vec<(String, Value, bool)>>(), expected);
    assert!(report["summary"]["skipped"] == 0, "house files are not passed over, they are used: {out}");
    // From elsewhere, through `..`, and from within.
    for (from, path) in [("b", "../a/j.yaml"), ("a", "j.yaml"), ("b/c", "../../a")] {
        let Ran { out, .. } = run(&folder.path().join(from), &["check", path, "--format", "short"], "");
        assert!(!out.contains("GROUND-02"), "{from} {path}: {out}");
    }
    // A house that is named judges everything.
    let Ran { out, .. } =
        run(folder.path(), &["check", "a/j.yaml", "--house", "b/house.yaml", "--format", "short"], "");
    assert!(out.contains("GROUND-02"), "{out}");
}

#[test]
fn standard_input_is_judged_by_the_house_of_the_working_folder() {
    let folder = folder(&[("house.yaml", LONGER), ("deep/x", "")]);
    for arguments in [&["check", "-", "--format", "short"][..], &["explain", "GROUND-02", "--plan", "-"]] {
        let Ran { out, .. } = run(&folder.path().join("deep"), arguments, RETURN);
        assert!(!out.contains("GROUND-02 ground-return-long: ") && !out.contains("fails\n"), "{out}");
    }
    let Ran { out, .. } = run(folder.path(), &["explain", "GROUND-02", "--plan", "-", "--color", "never"], RETURN);
    assert!(out.contains("house.yaml, line 2: what our vans need"), "{out}");
}

#[test]
fn figures_are_those_of_the_house() {
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs/j-2041-one-subwoofer.yaml");
    let job = fs::read_to_string(job).expect("the job");
    let hot = "house: 1\nzones: {engine-bay: {temperature: 70 C, source: measured}}\n";
    let folder = folder(&[("hot.yaml", hot), ("j.yaml", &job)]);
    let carries = |arguments: &[&str]| {
        let Ran { out, .. } = run(folder.path(), arguments, "");
        out.lines().find(|line| line.contains("carries where it runs")).map(str::to_owned).expect("a wire")
    };
    let (cool, hot) = (carries(&["figures", "j.yaml"]), carries(&["figures", "j.yaml", "--house", "hot.yaml"]));
    assert_ne!(cool, hot);
}

#[test]
fn the_house_says_which_files_of_a_folder_are_plans() {
    let house = "house: 1\nplans: {include: ['jobs/**/*.yaml'], exclude: ['jobs/archive/**']}\n";
    let files = [
        ("house.yaml", house),
        ("jobs/a.yaml", "plan: 1\n"),
        ("jobs/deep/b.yaml", "plan: 1\n"),
        ("jobs/archive/old.yaml", RETURN),
        ("other/c.yaml", RETURN),
    ];
    let folder = folder(&files);
    for path in [".", "jobs"] {
        let Ran { status, out, .. } = run(folder.path(), &["check", path, "--format", "short"], "");
        let left_out = if path == "." { "2 files left out" } else { "1 file left out" };
        assert_eq!(status, 0, "{out}");
        assert!(out.contains("2 plans judged") && out.contains(left_out), "{path}: {out}");
    }
    // What is named is judged in any case.
    let Ran { out, .. } = run(folder.path(), &["check", "jobs/archive/old.yaml", "--format", "short"], "");
    assert!(out.contains("GROUND-02"), "{out}");
    let Ran { status, .. } = run(folder.path(), &["check", "other"], "");
    assert_eq!(status, 4);
    // What the house takes for a plan is not passed over because it forgot to say so.
    fs::write(folder.path().join("jobs/half.yaml"), "wires: {}\n").expect("a file");
    let Ran { status, out, .. } = run(folder.path(), &["check", ".", "--format", "short"], "");
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("jobs/half.yaml:1:1: unreadable"), "{out}");
}
