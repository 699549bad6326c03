//! What if, how so, and who says so: `--set`, `explain --plan`, `--evidence` and waivers, as a user types them.

mod common;

use std::path::Path;

const JOBS: &str = "examples/jobs";
const CLEAN: &str = "examples/jobs/j-2041-one-subwoofer.yaml";
const THIN: &str = "examples/jobs/j-2046-fuse-above-wire.yaml";
const TORN: &str = "examples/jobs/j-2050-unprotected.yaml";

/// Exit status, what it said, what it complained of.
fn run(arguments: &[&str]) -> (i32, String, String) {
    run_on(arguments, "")
}

fn run_on(arguments: &[&str], stdin: &str) -> (i32, String, String) {
    let mut command = common::program(Path::new(env!("CARGO_MANIFEST_DIR")), arguments);
    common::ended(command.env("COLUMNS", "100").write_stdin(stdin))
}

/// The words without their line ends and gaps.
fn flat(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_thinner_wire_is_judged_as_if_the_plan_said_so() {
    let (status, out, _) = run(&["check", CLEAN, "--format", "short", "--set", "wires.main.size=8 AWG"]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("fault WIRE-02 supply-drop"), "{out}");
    assert_eq!(run(&["check", CLEAN]).0, 0, "the file is as it was");
}

#[test]
fn several_values_are_taken_together_and_in_order() {
    let sets =
        ["--set", "wires.main.size=8 AWG", "--set", "wires.main.size=1/0 AWG", "--set", "wires.main.length=1.2 m"];
    let (_, out, _) = run(&[&["figures", CLEAN, "--format", "json"][..], &sets].concat());
    let figures: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(figures["supposed"].as_array().map(Vec::len), Some(3));
    let rows = figures["wires"][0]["rows"].as_array().expect("rows").clone();
    let carries = rows.iter().find(|row| row["name"] == "carries where it runs").expect("a row");
    // 33 CFR 183.425 table 5: 285 A for 1/0 AWG of 105 C, times 0.85 in an engine space.
    assert!((carries["amount"]["high"].as_f64().expect("a number") - 285.0 * 0.85).abs() < 1e-9, "{carries}");
}

#[test]
fn what_cannot_be_set_is_wrong_usage_and_says_why() {
    for (set, told) in [
        ("wires.man.size=4 AWG", "did you mean wires.main?"),
        ("wires.main.size=4AWG", "write `4 AWG`"),
        ("wires.main.sise=4 AWG", "size"),
        ("wires.main.size", "equals sign"),
        ("amplifiers.bass-amp.rated.7.power=1 W", "not in the list"),
    ] {
        let (status, _, err) = run(&["check", CLEAN, "--set", set]);
        assert_eq!(status, 2, "{set}");
        assert!(err.contains(told), "{set}: {err}");
    }
    assert_eq!(run(&["explain", "FUSE-01", "--set", "wires.main.size=4 AWG"]).0, 2);
}

#[test]
fn a_rule_is_worked_in_the_plans_own_numbers() {
    let (status, out, _) = run(&["explain", "fuse-above-wire", "--plan", THIN]);
    assert_eq!(status, 0);
    let out = flat(&out);
    for told in [
        "wires.main.fuse, line 69: fails",
        "given fuse rating = 80 A (wires.main.fuse.rating, line 69)",
        "insulation = 75 C (wires.main.insulation, line 65)",
        "put in 80 A <= 38.4 to 39.6 A",
        "result 80 A, must be at most",
        "at worst 108 % above the limit",
        "limit 33 CFR 183.425 table 5",
        "passes with wires.main.fuse.rating = 30 A (now 80 A)",
        "passes with wires.main.size = 2 AWG (now 8 AWG)",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
}

/// Whatever `explain` says would turn a verdict turns it.
#[test]
fn the_smallest_change_is_true() {
    for (code, plan) in [("FUSE-01", THIN), ("WIRE-02", CLEAN), ("GROUND-01", CLEAN), ("FUSE-04", CLEAN)] {
        let (_, worked, _) = run(&["explain", code, "--plan", plan]);
        let out = flat(&worked);
        let turns: Vec<(&str, &str)> = out
            .split(" with ")
            .filter_map(|rest| rest.split_once(" (now ")?.0.split_once(" = "))
            .filter(|(path, _)| path.contains('.') && !path.contains(' '))
            .collect();
        assert!(!turns.is_empty(), "{code} {plan}: {out}");
        let headline = |out: &str| out.lines().find(|line| line.contains(", line ")).map(str::to_owned);
        let outcome = |out: &str| headline(out).and_then(|line| Some(line.rsplit_once(": ")?.1.to_owned()));
        let before = outcome(&worked);
        for (path, value) in turns.into_iter().take(2) {
            let (_, after, err) = run(&["explain", code, "--plan", plan, "--set", &format!("{path}={value}")]);
            assert_ne!(outcome(&after), before, "{code} {plan} {path}={value} {err}");
        }
    }
}

#[test]
fn only_what_was_asked_for_is_worked() {
    let (_, out, _) = run(&["explain", "WIRE-12", "--plan", CLEAN, "--at", "wires.main"]);
    assert!(out.contains("wires.main") && !out.contains("wires.return, line"), "{out}");
    let (status, _, err) = run(&["explain", "WIRE-12", "--plan", CLEAN, "--at", "wires.mian"]);
    assert_eq!((status, err.contains("wires.main")), (4, true), "{err}");
}

#[test]
fn every_verdict_is_on_record_thinnest_margin_first() {
    let (_, out, _) = run(&["check", CLEAN, "--evidence", "--format", "json", "--as-of", "2026-11-27"]);
    let report: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    let plan = &report["plans"][0];
    let verdicts = plan["evidence"]["verdicts"].as_array().expect("verdicts");
    let of = |outcome: &str| verdicts.iter().filter(|verdict| verdict["outcome"] == outcome).count() as u64;
    assert_eq!(Some(of("pass")), plan["counts"]["passes"].as_u64());
    assert_eq!(Some(of("not-applicable")), plan["counts"]["not_applicable"].as_u64());
    let margins: Vec<f64> = verdicts.iter().filter_map(|verdict| verdict["working"]["margin"].as_f64()).collect();
    assert!(margins.len() > 30 && margins.windows(2).all(|pair| pair[0] <= pair[1]), "{margins:?}");
    assert_eq!(plan["evidence"]["judged_on"], "2026-11-27");
    for digest in ["plan_digest", "rules_digest", "house_digest"] {
        assert_eq!(plan["evidence"][digest].as_str().map(str::len), Some(64), "{digest}");
    }
    let other = run(&["check", CLEAN, "--evidence", "--format", "json", "--as-of", "2026-11-27"]).1;
    assert_eq!(out, other, "the record is the same each time");
}

#[test]
fn a_waived_finding_stays_visible_and_counted_but_does_not_shut_the_gate() {
    let plan = std::fs::read_to_string(CLEAN).expect("the job").replace("length: 40 cm", "length: 60 cm");
    let waiver = "waivers:\n  - {rule: GROUND-02, at: wires.return, reason: foam, by: shop lead, until: 2027-06-30}\n";
    let on = |day: &str| run_on(&["check", "-", "--format", "short", "--as-of", day], &format!("{plan}\n{waiver}"));
    let (status, out, _) = on("2027-06-30");
    assert_eq!(status, 0, "{out}");
    assert!(out.contains("waived advice GROUND-02") && out.contains("by shop lead until 2027-06-30: foam"), "{out}");
    assert!(out.contains("1 waived"), "{out}");
    let (status, out, _) = on("2027-07-01");
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("fault PLAN-06") && out.contains("ended on 2027-06-30"), "{out}");
}

#[test]
fn what_follows_from_a_wrong_name_is_told_below_it() {
    let (_, out, _) = run(&["check", TORN]);
    let headlines: Vec<&str> =
        out.lines().filter(|line| line.contains("PLAN-03") || line.contains("TURN-02")).collect();
    assert!(
        headlines.iter().all(|line| line.starts_with("  follows") || line.starts_with("           ")),
        "{headlines:?}"
    );
    assert!(flat(&out).contains("follows fault PLAN-03, line 30"), "{out}");
}

#[test]
fn a_number_with_a_slipped_unit_carries_its_consequences() {
    let (_, out, _) = run(&["check", CLEAN, "--set", "wires.main.length=490 m", "--format", "short"]);
    let lines: Vec<&str> = out.lines().filter(|line| line.contains(": fault") || line.contains(": danger")).collect();
    let (own, lines): (Vec<&str>, Vec<&str>) = lines.into_iter().partition(|line| line.contains("PLAN-05 unit-slip"));
    assert!(own.len() == 1 && !lines.is_empty(), "{out}");
    assert!(lines.iter().all(|line| line.contains("follows from PLAN-05 at wires.main.length")), "{out}");
}

#[test]
fn jobs_can_be_worked_by_rules_of_every_kind_of_subject() {
    let jobs = ["j-2041-one-subwoofer", "j-2042-half-filled-draft", "j-2050-unprotected", "j-2052-installed-wrong"];
    for job in jobs {
        for code in ["PLAN-01", "PLAN-09", "SUPPLY-03", "ROUTE-03", "STEP-07"] {
            let (status, _, err) = run(&["explain", code, "--plan", &format!("{JOBS}/{job}.yaml")]);
            assert!(status == 0 || status == 4, "{code} {job}: {err}");
        }
    }
}

#[test]
fn reports_go_to_files_whole_or_not_at_all() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(at("old.json"), "old").expect("a file");
    let (json, short) = (format!("json={}", at("old.json")), format!("short={}", at("new.txt")));
    let (status, out, _) = run(&["check", THIN, "--output", &json, "--output", &short]);
    assert_eq!((status, out.contains("danger FUSE-01")), (1, true));
    let written = std::fs::read_to_string(at("old.json")).expect("a report");
    assert_eq!(serde_json::from_str::<serde_json::Value>(&written).expect("JSON")["summary"]["status"], 1);
    assert!(std::fs::read_to_string(at("new.txt")).expect("a report").contains("danger FUSE-01"));
    let missing = format!("json={}", at("no/such/folder.json"));
    let (status, _, err) = run(&["check", THIN, "--output", &missing]);
    assert!(status == 2 && err.contains("folder.json: there is no such file or folder"), "{err}");
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 2, "nothing is left lying about");
}
