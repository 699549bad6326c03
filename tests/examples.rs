//! The workshop's jobs and exactly what is found in each.

use std::path::Path;

use testlamp::house::House;
use testlamp::judge::{Judgement, Outcome, judge};
use testlamp::{plan, rules};

fn judged(job: &str) -> Judgement {
    judged_by(job, &House::default())
}

fn judged_by(job: &str, house: &House) -> Judgement {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs").join(job);
    let reading = plan::read(std::fs::read_to_string(file).expect("the job"));
    assert!(reading.misreads.is_empty(), "{job}: {:?}", reading.misreads);
    judge(&reading, house, &rules::all())
}

/// The workshop's own settings.
fn house() -> House {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/house.yaml");
    let known: Vec<_> = rules::all().into_iter().map(testlamp::judge::Rule::known).collect();
    let reading = testlamp::house::read(std::fs::read_to_string(file).expect("the house"), "house.yaml", &known);
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    reading.house
}

/// Codes and primary places of all findings, in the order of codes.
fn findings(job: &str, house: &House) -> Vec<(&'static str, String)> {
    let judgement = judged_by(job, house);
    let of = |check: &testlamp::judge::Check| {
        let place = check.finding.as_ref().map(|finding| finding.at.place.path());
        (check.rule.code, place.unwrap_or_default())
    };
    let mut found: Vec<_> = judgement.failed().map(of).collect();
    found.sort();
    found
}

fn assert_found(job: &str, expected: &[(&'static str, &str)]) {
    let expected: Vec<(&str, String)> = expected.iter().map(|(code, place)| (*code, (*place).to_owned())).collect();
    assert_eq!(findings(job, &House::default()), expected, "{job}");
    assert_eq!(findings(job, &house()), expected, "{job} by the workshop's own settings");
}

#[test]
fn the_clean_jobs_are_clean_and_decided() {
    for job in [
        "j-2041-one-subwoofer.yaml",
        "j-2043-two-amplifiers.yaml",
        "j-2044-second-battery.yaml",
        "j-2045-24-volt-truck.yaml",
        "j-2051-one-subwoofer-installed.yaml",
    ] {
        assert_found(job, &[]);
        let judgement = judged(job);
        let open: Vec<String> =
            judgement.open().map(|check| format!("{} {}", check.rule.code, check.subject)).collect();
        assert!(open.is_empty(), "{job}: {open:?}");
        assert!(judgement.count(Outcome::Pass) > 100, "{job}");
    }
}

#[test]
fn the_draft_has_no_finding_and_a_list_of_what_to_find_out() {
    assert_found("j-2042-half-filled-draft.yaml", &[]);
    let judgement = judged("j-2042-half-filled-draft.yaml");
    let wanted: Vec<String> = judgement.find_out.iter().map(|fact| fact.place.path()).collect();
    for fact in ["wires.main.insulation", "wires.main.conductor", "grounds.load-floor.surface", "turn_on"] {
        assert!(wanted.iter().any(|place| place == fact), "{fact} is not asked for: {wanted:?}");
    }
    let turns: Vec<&String> = judgement.find_out.iter().flat_map(|fact| &fact.turns).collect();
    assert!(turns.iter().any(|turn| *turn == "FUSE-01 fails below 75 C"), "{turns:?}");
}

#[test]
fn a_cable_that_was_too_good_a_bargain() {
    assert_found(
        "j-2046-fuse-above-wire.yaml",
        &[
            ("FUSE-01", "wires.main.fuse.rating"),
            ("FUSE-10", "wires.main.fuse.rating"),
            ("WIRE-02", "wires.main.length"),
            ("WIRE-03", "wires.main.conductor"),
            ("WIRE-04", "wires.main.insulation"),
        ],
    );
}

#[test]
fn a_fuse_too_far_and_an_unsealed_firewall_pass() {
    assert_found(
        "j-2047-fuse-far-firewall-open.yaml",
        &[
            ("FUSE-02", "wires.main.fuse.distance"),
            ("ROUTE-01", "wires.main.crossings.firewall.through"),
            ("ROUTE-09", "wires.main.crossings.firewall.blind_side"),
        ],
    );
}

#[test]
fn a_ground_on_paint_under_a_seat_bolt() {
    assert_found(
        "j-2048-painted-ground.yaml",
        &[
            ("GROUND-01", "grounds.load-floor.surface"),
            ("GROUND-02", "wires.return.length"),
            ("GROUND-04", "grounds.load-floor.on"),
            ("GROUND-08", "grounds.load-floor.fastener.locking"),
            ("WIRE-12", "wires.return.length"),
        ],
    );
}

#[test]
fn an_amplifier_that_never_sleeps() {
    assert_found(
        "j-2049-never-off.yaml",
        &[
            ("ROUTE-03", "signals.left.lead.path.0"),
            ("TURN-01", "turn_on.remote.from.kind"),
            ("TURN-04", "turn_on.remote.tap"),
        ],
    );
}

#[test]
fn no_fuse_and_names_that_lead_nowhere() {
    assert_found(
        "j-2050-unprotected.yaml",
        &[
            ("FUSE-03", "wires.main.from"),
            ("PLAN-01", "turn_on.remote.to.0"),
            ("PLAN-01", "wires.return.to"),
            ("PLAN-03", "amplifiers.bass-amp"),
            ("TURN-02", "amplifiers.bass-amp"),
        ],
    );
}

#[test]
fn a_sound_plan_that_was_not_built_as_planned() {
    assert_found(
        "j-2052-installed-wrong.yaml",
        &[
            ("PROOF-02", "measured.grounds.load-floor"),
            ("PROOF-03", "measured.loads.bass.dc_resistance"),
            ("PROOF-04", "measured.key_off"),
            ("PROOF-06", "measured.settings.bass-amp.gain"),
            ("PROOF-07", "measured.indicators.bass-amp.off"),
        ],
    );
}

#[test]
fn the_readme_shows_a_finding_as_it_is_and_counts_the_rules_right() {
    let readme = include_str!("../README.md");
    let picture = readme.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).expect("a picture");
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_testlamp"))
        .args(["check", "--color", "never", "examples/jobs/j-2046-fuse-above-wire.yaml"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("it runs");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains(picture), "the picture in README.md is old; now:\n{told}");
    for family in rules::FAMILIES {
        let row = readme.lines().find(|line| line.starts_with(&format!("| {} |", family.code)));
        let count = format!(" {} |", family.rules.len());
        assert!(row.is_some_and(|row| row.ends_with(&count)), "{} has{count} rules: {row:?}", family.code);
    }
}
