//! Practice plans: what is planted is what is found, and answers are graded by it.

#[path = "common/clean.rs"]
mod clean;
mod common;

use std::fs;
use std::path::{Path, PathBuf};

use clean::CLEAN;
use rayon::prelude::*;
use testlamp::drill::{Level, Practice, Unplantable, Wanted, plant};
use testlamp::house::House;
use testlamp::judge::{Judgement, Rule, judge};
use testlamp::plan::{self, Day, Reading};
use testlamp::rules;

fn job(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs").join(name)
}

fn read(name: &str) -> Reading {
    plan::read(fs::read_to_string(job(name)).expect("the job"))
}

fn house() -> House {
    House { today: Some(Day::read("2026-12-01").expect("a day")), ..House::default() }
}

fn planted(reading: &Reading, faults: usize, seed: u64, level: Level, only: &[&'static Rule]) -> Practice {
    plant(reading, &house(), &rules::all(), &Wanted { faults, seed, rules: only, level }).expect("a clean plan")
}

/// Code and place of every finding that stands on its own.
fn causes(judgement: &Judgement) -> Vec<(&'static str, String)> {
    let causes = judgement.failed().filter(|check| check.follows.is_none());
    let place = |check: &testlamp::judge::Check| check.finding.as_ref().expect("a finding").at.place.path();
    let mut causes: Vec<_> = causes.map(|check| (check.rule.code, place(check))).collect();
    causes.sort();
    causes
}

/// That the text as it was written, read anew, has exactly the faults, and reads as another reader reads it.
fn assert_exact(practice: &Practice, told: &str) {
    let text = &practice.reading.text;
    let anew = plan::read(text.clone());
    assert!(anew.misreads.is_empty(), "{told}: {:?}", anew.misreads);
    let mut expected: Vec<_> = practice.faults.iter().map(|fault| (fault.code, fault.place.path())).collect();
    expected.sort();
    assert_eq!(causes(&judge(&anew, &house(), &rules::all())), expected, "{told}");
    let other: serde_json::Value = serde_yaml::from_str(text).expect("the other reader takes it");
    assert_eq!(anew.tree.to_json(anew.tree.root().expect("a plan")), other, "{told}");
    // What is left empty goes too, but the section stays.
    for fault in &practice.faults {
        let section = fault.changed[0].split('.').next().unwrap_or_default();
        assert!(anew.tree.node(section).is_some(), "{told}: {:?}", fault.changed);
    }
}

/// With so many seeds each rule is broken.
const SEEDS: u64 = 5;

/// Each rule alone, over seeds, each from another example on until one takes it.
#[test]
fn every_rule_is_broken_alone() {
    let readings: Vec<Reading> = CLEAN.iter().map(|name| read(name)).collect();
    let broken = |rule: &&'static Rule| {
        (1..=SEEDS).all(|seed| {
            let first = usize::try_from(seed).expect("small") * 3;
            (0..CLEAN.len()).any(|at| {
                let at = (first + at) % CLEAN.len();
                let practice = planted(&readings[at], 1, seed, Level::Subtle, &[*rule]);
                let told = format!("{} in {} by seed {seed}", rule.code, CLEAN[at]);
                assert_exact(&practice, &told);
                practice.faults.iter().for_each(|fault| assert_eq!(fault.code, rule.code, "{told}"));
                !practice.faults.is_empty()
            })
        })
    };
    let all = rules::all();
    let unbroken: Vec<&str> = all.par_iter().filter(|rule| !broken(rule)).map(|rule| rule.code).collect();
    assert!(unbroken.is_empty(), "no clean example takes a fault by {unbroken:?}");
    println!("{0} of {0} rules are broken alone, each by {SEEDS} seeds", all.len());
}

#[test]
fn several_faults_stand_side_by_side_and_come_again_by_the_same_seed() {
    let reading = read(CLEAN[0]);
    for (seed, level) in [(1, Level::Plain), (2, Level::Near), (3, Level::Subtle)] {
        let practice = planted(&reading, 4, seed, level, &rules::all());
        assert_eq!(practice.faults.len(), 4, "{level:?}");
        assert_exact(&practice, &format!("{level:?}"));
        assert!(practice.faults.iter().all(|fault| fault.level <= level), "{:?}", practice.faults);
        let again = planted(&reading, 4, seed, level, &rules::all());
        assert_eq!((again.reading.text, again.faults), (practice.reading.text, practice.faults));
    }
    let other = planted(&reading, 4, 9, Level::Plain, &rules::all());
    assert_ne!(other.faults, planted(&reading, 4, 1, Level::Plain, &rules::all()).faults);
}

#[test]
fn the_first_level_has_one_fault_a_thing_and_dangers_first() {
    let practice = planted(&read(CLEAN[8]), 6, 5, Level::Plain, &rules::all());
    let thing = |path: &str| path.splitn(3, '.').take(2).collect::<Vec<_>>().join(".");
    let mut things: Vec<String> = practice.faults.iter().map(|fault| thing(&fault.place.path())).collect();
    things.sort();
    things.dedup();
    assert_eq!(things.len(), practice.faults.len(), "{:?}", practice.faults);
    let severities: Vec<_> =
        practice.faults.iter().map(|fault| rules::find(fault.code).expect("a rule").severity).collect();
    assert!(severities.is_sorted_by(|one, other| one >= other), "{severities:?}");
}

#[test]
fn a_plan_that_is_not_clean_is_refused() {
    let reading = read("j-2059-bridged-on-2-ohm.yaml");
    let wanted = Wanted { faults: 1, seed: 1, rules: &rules::all(), level: Level::Plain };
    let refused = plant(&reading, &house(), &rules::all(), &wanted).expect_err("not clean");
    assert_eq!(refused, Unplantable::NotClean(vec!["LOAD-02"]));
}

fn drill(arguments: &[&str]) -> (i32, String, String) {
    common::ended(&mut common::program(Path::new("."), &[&["drill"][..], arguments].concat()))
}

/// A practice plan in a folder of its own.
fn practice(arguments: &[&str]) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("practice.yaml").to_str().expect("a plain name").to_owned();
    let (status, said, told) = drill(&[arguments, &["--output", &path]].concat());
    assert_eq!((status, said.as_str(), told.as_str()), (0, "", ""));
    (folder, path)
}

/// The answers in a key, without its notes.
fn answers(key: &str) -> Vec<&str> {
    key.lines().filter(|line| !line.is_empty() && !line.starts_with('#')).collect()
}

fn graded(folder: &tempfile::TempDir, answers: &str, practice: &str) -> (i32, String) {
    let file = folder.path().join("answers.txt");
    fs::write(&file, answers).expect("a file");
    let (status, said, _) = drill(&["--grade", file.to_str().expect("a plain name"), practice]);
    (status, said)
}

#[test]
fn answers_are_graded() {
    let (folder, path) = practice(&["--faults", "3", "--seed", "7", "--families", "FUSE,WIRE"]);
    let (status, key, _) = drill(&["--key", &path]);
    assert_eq!((status, answers(&key).len()), (0, 3), "{key}");
    for heading in ["#   given", "#   why", "#   mend"] {
        assert!(key.matches(heading).count() > 1, "{heading}: {key}");
    }
    let last = |said: &str| said.lines().last().unwrap_or_default().to_owned();

    let (status, said) = graded(&folder, &key, &path);
    assert_eq!((status, last(&said).as_str()), (0, "3 of 3 faults found, 0 missed, 0 wrongly accused"), "{said}");
    let (status, said) = graded(&folder, "", &path);
    assert_eq!((status, last(&said).as_str()), (1, "0 of 3 faults found, 3 missed, 0 wrongly accused"));
    let (status, said) = graded(&folder, &format!("{key}MOUNT-01 mounts.bass-amp\n1 TUNE-01\n"), &path);
    assert_eq!((status, last(&said).as_str()), (1, "3 of 3 faults found, 0 missed, 2 wrongly accused"));
    assert!(said.contains("wrongly accused: TUNE-01 line 1: this rule judges nothing there"), "{said}");

    // By the numbers of their lines, the other way round, with one said twice.
    let line = |line: &str| {
        let (code, rest) = line.split_once(' ').expect("a code");
        let number = rest.split("# line ").nth(1).expect("a line");
        format!("- {number} {code}\n")
    };
    let lines: String = answers(&key).into_iter().map(line).collect();
    let (status, said) = graded(&folder, &format!("{lines}{lines}"), &path);
    assert_eq!((status, last(&said).as_str()), (0, "3 of 3 faults found, 0 missed, 0 wrongly accused"), "{said}");
}

#[test]
fn a_practice_plan_says_what_it_was_made_with_and_not_what_is_wrong() {
    let source = job(CLEAN[0]);
    let (folder, path) =
        practice(&[source.to_str().expect("a plain name"), "--faults", "2", "--seed", "3", "--level", "2"]);
    let text = fs::read_to_string(&path).expect("it is there");
    let head: Vec<&str> = text.lines().take(8).collect();
    assert!(head.iter().all(|line| line.starts_with("# ")), "{head:?}");
    assert!(head[5].starts_with("# practice plan: faults 2, level 2, seed 3, families all, testlamp "), "{}", head[5]);
    // What lies past a limit of the workshop's own is a fault there and nowhere else.
    let house = source.parent().and_then(Path::parent).expect("the workshop").join("house.yaml");
    let house = house.to_str().expect("a plain name");
    let (_, key, _) = drill(&["--key", &path, "--house", house]);
    for place in answers(&key).into_iter().filter_map(|line| line.split(' ').nth(1)) {
        assert!(!head.join("\n").contains(place), "{place}");
    }
    fs::write(&path, text.replace("faults 2,", "faults 5,")).expect("a file");
    let (_, _, told) = drill(&["--key", &path, "--house", house]);
    assert!(told.contains("5 faults were planted, and 2 are found"), "{told}");
    drop(folder);
}

#[test]
fn what_cannot_be_is_told() {
    let source = job(CLEAN[0]);
    let source = source.to_str().expect("a plain name");
    let (status, _, told) = drill(&[source, "--faults", "9", "--families", "PROOF-03,WIRE-07"]);
    assert_eq!(status, 0, "{told}");
    assert!(told.contains(" faults of 9 could be planted: of 2 rules the plan has something to break for 1"), "{told}");
    let (status, _, told) = drill(&[source, "--families", "FUZE"]);
    assert!(status == 2 && told.contains("did you mean FUSE?"), "{told}");
    let faulty = job("j-2059-bridged-on-2-ohm.yaml");
    let (status, _, told) = drill(&[faulty.to_str().expect("a plain name")]);
    assert!(status == 1 && told.contains("has findings of its own (LOAD-02)"), "{told}");
    let (status, key, told) = drill(&["--key", faulty.to_str().expect("a plain name")]);
    assert!(status == 0 && key.starts_with("LOAD-02") && told.contains("does not say at its top"), "{told}");
    assert_eq!(drill(&["--key"]).0, 2);
}

/// With no plan named, the families decide which of testlamp's own is taken: only one that is installed has measured values.
#[test]
fn without_a_plan_one_is_brought_along() {
    let (_folder, path) = practice(&["--families", "PROOF", "--seed", "11"]);
    let (_, key, _) = drill(&["--key", &path]);
    let answers = answers(&key);
    assert!(answers.len() == 3 && answers.iter().all(|line| line.starts_with("PROOF-")), "{key}");
}
