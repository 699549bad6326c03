//! The workshop's jobs and exactly what is found in each.

#[path = "common/clean.rs"]
mod clean;
mod common;
#[path = "examples/faulty.rs"]
mod faulty;
#[path = "examples/readme.rs"]
mod readme;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clean::CLEAN;
use testlamp::house::House;
use testlamp::judge::{Check, Judgement, Outcome, Severity, judge};
use testlamp::plan::{self, Day, Reading, Stage};
use testlamp::quantity::{Power, Range};
use testlamp::rules;
use testlamp::solve::{Case, Job};

/// The day on which the jobs are judged: it decides which waivers have ended.
const TODAY: &str = "2026-12-01";

const DRAFTS: [&str; 2] = ["j-2042-half-filled-draft.yaml", "j-2053-city-car-first-notes.yaml"];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs")
}

/// The names of all jobs, in order.
fn jobs() -> BTreeSet<String> {
    let files = std::fs::read_dir(folder()).expect("the jobs");
    files.map(|file| file.expect("a job").file_name().into_string().expect("a plain name")).collect()
}

fn read(job: &str) -> Reading {
    let reading = plan::read(std::fs::read_to_string(folder().join(job)).expect("the job"));
    assert!(reading.misreads.is_empty(), "{job}: {:?}", reading.misreads);
    reading
}

fn judged(job: &str) -> Judgement {
    judged_by(job, &House::default())
}

/// By a house, on the day on which the jobs are judged.
fn judged_by(job: &str, house: &House) -> Judgement {
    let house = House { today: Some(Day::read(TODAY).expect("a day")), ..house.clone() };
    judge(&read(job), &house, &rules::all())
}

/// The workshop's own settings.
fn house() -> House {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/house.yaml");
    let known: Vec<_> = rules::all().into_iter().map(testlamp::judge::Rule::known).collect();
    let reading = testlamp::house::read(std::fs::read_to_string(file).expect("the house"), "house.yaml", &known);
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    reading.house
}

/// A plan with one of its values left out.
fn without(text: &str, path: &str) -> Option<Reading> {
    let reading = plan::read(text.to_owned());
    let edit = testlamp::text::change(&reading.text, &reading.tree, path, &testlamp::text::Deed::Strike).ok()?;
    let reading = plan::read(edit.apply(text));
    reading.misreads.is_empty().then_some(reading)
}

/// The paths of all single values.
fn values(value: &serde_yaml::Value, path: &str, found: &mut Vec<String>) {
    let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
    match value {
        serde_yaml::Value::Mapping(map) => {
            for (key, value) in map {
                values(value, &below(key.as_str().expect("keys are words")), found);
            }
        }
        serde_yaml::Value::Sequence(items) => {
            items.iter().enumerate().for_each(|(at, item)| values(item, &below(&at.to_string()), found));
        }
        _ => found.push(path.to_owned()),
    }
}

/// What is open and nobody could know what to find out for.
fn in_the_dark(judgement: &Judgement) -> Vec<String> {
    let dark = judgement.open().filter(|check| check.needs.is_empty() && check.turns.is_empty());
    dark.map(|check| format!("{} {}", check.rule.code, check.subject)).collect()
}

/// The battery's resistance and those of fuse and joints decide together; each alone leaves the drop open.
#[test]
fn what_only_several_facts_decide_names_them_all() {
    let mut house = House::default();
    house.limits.supply_drop.value = testlamp::quantity::Quantity::new(0.4);
    let judgement = judged_by("j-2052-installed-wrong.yaml", &house);
    let drop = judgement.open().find(|check| check.rule.code == "WIRE-02").expect("it is open");
    assert!(drop.turns.is_empty() && drop.needs.len() > 1, "{:?}", drop.needs);
    let named = |place: &testlamp::solve::Place| judgement.find_out.iter().any(|fact| fact.place == *place);
    assert!(drop.needs.iter().all(named), "{:?}", drop.needs);
    assert!(in_the_dark(&judgement).is_empty(), "{:?}", in_the_dark(&judgement));
}

/// Whatever a plan leaves out, each check that waits says what for. Every seventh value is tried, another of the seven in
/// each job.
#[test]
fn every_open_check_says_what_to_find_out() {
    use rayon::prelude::*;
    let mut trials = Vec::new();
    for (job, name) in jobs().iter().enumerate() {
        let text = std::fs::read_to_string(folder().join(name)).expect("the job");
        let mut paths = Vec::new();
        values(&serde_yaml::from_str(&text).expect("a plan"), "", &mut paths);
        let some = paths.into_iter().skip(job % 7).step_by(7);
        trials.extend(some.map(|path| (name.clone(), text.clone(), path)));
    }
    let house = House { today: Some(Day::read(TODAY).expect("a day")), ..House::default() };
    let dark = |(name, text, path): &(String, String, String)| {
        let judgement = judge(&without(text, path)?, &house, &rules::all());
        let dark = in_the_dark(&judgement);
        (!dark.is_empty()).then(|| format!("{name} without {path}: {dark:?}"))
    };
    let dark: Vec<String> = trials.par_iter().filter_map(dark).collect();
    assert!(dark.is_empty(), "{} of {}:\n{}", dark.len(), trials.len(), dark.join("\n"));
}

/// How many checks were judged: those that apply.
fn judged_checks(judgement: &Judgement) -> usize {
    judgement.checks.len() - judgement.count(Outcome::NotApplicable)
}

fn place(check: &Check) -> String {
    check.finding.as_ref().map(|finding| finding.at.place.path()).unwrap_or_default()
}

/// Codes and primary places of all findings, in the order of codes.
fn findings(job: &str, house: &House) -> Vec<(&'static str, String)> {
    let mut found: Vec<_> = judged_by(job, house).failed().map(|check| (check.rule.code, place(check))).collect();
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
    for job in CLEAN {
        assert_found(job, &[]);
        let judgement = judged(job);
        let open: Vec<String> =
            judgement.open().map(|check| format!("{} {}", check.rule.code, check.subject)).collect();
        assert!(open.is_empty(), "{job}: {open:?}");
        assert!(judgement.count(Outcome::Pass) > 200, "{job}");
    }
}

#[path = "../examples/generate.rs"]
#[allow(dead_code, reason = "only the plans are of use here")]
mod generate;

#[test]
fn generated_plans_are_clean_and_decided() {
    for (number, amplifiers) in [(0, 1), (1, 5), (2, 5), (3, 20)] {
        let reading = plan::read(generate::plan(number, amplifiers));
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let judgement = judge(&reading, &House::default(), &rules::all());
        let left = judgement.failed().chain(judgement.open());
        let left: Vec<String> = left.map(|check| format!("{} {}", check.rule.code, check.subject)).collect();
        assert!(left.is_empty(), "{number} with {amplifiers}: {left:?}");
    }
}

#[test]
fn each_stage_has_two_clean_jobs() {
    for stage in [Stage::Draft, Stage::Planned, Stage::Installed] {
        let clean = CLEAN.iter().chain(&DRAFTS).filter(|job| read(job).plan.stage() == stage);
        assert!(clean.count() >= 2, "{stage:?}");
    }
}

#[test]
fn each_family_has_a_faulty_job() {
    let codes: BTreeSet<&str> =
        jobs().iter().flat_map(|job| findings(job, &House::default())).map(|(code, _)| code).collect();
    for family in rules::FAMILIES {
        let shown = codes.iter().any(|code| code.rsplit_once('-').is_some_and(|(of, _)| of == family.code));
        assert!(shown, "no job shows a fault of {}", family.code);
    }
}

#[test]
fn no_job_is_further_than_its_facts() {
    for job in jobs() {
        let (judgement, stage) = (judged(&job), read(&job).plan.stage());
        let barred = |check: &&Check| match stage {
            Stage::Draft => false,
            Stage::Planned => check.rule.severity == Severity::Danger,
            Stage::Installed => true,
        };
        let open: Vec<&str> = judgement.open().filter(barred).map(|check| check.rule.code).collect();
        assert!(open.is_empty(), "{job} is {stage:?}, open: {open:?}");
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
    assert!(turns.iter().any(|turn| *turn == "FUSE-01 passes from 90 C"), "{turns:?}");
}

#[test]
fn a_second_draft_asks_for_what_the_second_visit_finds_out() {
    let job = "j-2053-city-car-first-notes.yaml";
    assert_found(job, &[]);
    let wanted: Vec<String> = judged(job).find_out.iter().map(|fact| fact.place.path()).collect();
    for fact in ["grounds.cross-member.surface", "wires.main.crossings.firewall.sealed", "mounts.seat-amp"] {
        assert!(wanted.iter().any(|place| place == fact), "{fact} is not asked for: {wanted:?}");
    }
}

/// Each of the two sections by hand, at the figures of the job. Full output: 4 x 75 W / 60 % + 300 W / 80 % = 500 + 375 =
/// 875 W. Programme: an eighth of 4 x 75 W from stages of class AB, which are 60 % x sqrt(1/8) = 21.21 % efficient at that,
/// and a third of 300 W from one of class D: 37.5 / 0.2121 + 100 / 0.80 = 176.78 + 125 = 301.78 W. With 1.5 A of idle
/// current, counted once, at what stands at its terminals.
#[test]
fn five_channels_draw_what_each_section_draws() {
    let reading = read("j-2079-five-channels.yaml");
    let house = House::default();
    let job = Job::new(&reading.plan, &house);
    let quint = job.amplifier("quint").expect("the amplifier");
    let demand = job.demand(quint).expect("everything is stated");
    let is = |range: Range<Power>, watts: f64| {
        assert!((range.low() - watts).abs() < 0.01 && (range.high() - watts).abs() < 0.01, "{range} is not {watts} W");
    };
    is(demand.audio, 4.0 * 75.0 + 300.0);
    is(demand.full, 4.0 * 75.0 / 0.60 + 300.0 / 0.80);
    is(demand.full, 875.0);
    is(demand.programme, 37.5 / (0.60 * (1.0_f64 / 8.0).sqrt()) + 100.0 / 0.80);
    is(demand.programme, 301.78);
    let main = job.wire("main").expect("the feed");
    for (case, watts) in [(Case::IdleFull, 875.0), (Case::IdleProgramme, 301.78)] {
        let (volts, amperes) = (job.terminal_voltage("quint", case), job.wire_current(main, case));
        let (volts, amperes) = (volts.expect("solved").range, amperes.expect("solved").range);
        // The higher the voltage, the smaller the current of the same power.
        for (volts, amperes) in [(volts.high(), amperes.low()), (volts.low(), amperes.high())] {
            assert!(
                (watts / volts + 1.5 - amperes).abs() < 0.02 * amperes,
                "{case:?}: {watts} W at {volts} V, {amperes} A"
            );
        }
    }
    // What the plan takes for it: a fuse above the full output, in front of fuses of 2 x 40 A on the case.
    let asked = job.wire_current(main, Case::IdleFull).expect("solved").range;
    assert!(asked.high() < 80.0 && asked.low() > 60.0, "{asked}");
    // As five of 75 W it would come out too small: 375 W / 60 % are 625 W.
    assert!(demand.full.low() > 1.3 * 5.0 * 75.0 / 0.60);
}

/// A plan that refers to a thing of the shelf can be read, and knows what it says.
#[test]
fn everything_on_the_shelf_can_be_referred_to() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/shelf/gear.yaml");
    let text = std::fs::read_to_string(path).expect("the shelf");
    let (shelf, misreads) = testlamp::house::read_shelf("shelf/gear.yaml".into(), text);
    assert!(misreads.is_empty(), "{misreads:?}");
    let names = |section: &str| -> Vec<String> {
        let map = shelf.tree.node(section).and_then(|node| shelf.tree.map(node));
        map.into_iter().flat_map(testlamp::text::Map::entries).map(|entry| entry.key.clone()).collect()
    };
    let (amplifiers, drivers, vehicles) = (names("amplifiers"), names("drivers"), names("vehicles"));
    let shelves = Arc::new(plan::Shelves { files: vec![shelf] });
    let read = |text: String| {
        let reading = plan::read_with(format!("plan: 1\n{text}\n"), &shelves);
        assert!(reading.misreads.is_empty(), "{text}: {:?}", reading.misreads);
        reading.plan
    };
    assert!([&amplifiers, &drivers, &vehicles].iter().all(|names| !names.is_empty()));
    for name in &amplifiers {
        assert!(!read(format!("amplifiers: {{one: {{shelf: {name}}}}}")).amplifiers["one"].rated.is_empty(), "{name}");
    }
    for name in &drivers {
        assert!(!read(format!("drivers: {{one: {{shelf: {name}}}}}")).drivers["one"].coils.is_empty(), "{name}");
    }
    for name in &vehicles {
        assert!(read(format!("vehicle: {{shelf: {name}}}")).system_voltage().is_some(), "{name}");
    }
}
