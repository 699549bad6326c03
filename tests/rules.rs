//! Every rule has its page, its code and its examples, and the examples say what the page claims.

use std::collections::BTreeSet;

use testlamp::house::House;
use testlamp::judge::{Judgement, Outcome, Rule, judge};
use testlamp::plan::{self, Reading};
use testlamp::rules;
use testlamp::text::Lines;

/// The fenced blocks of a page with the given mark, like `yaml bad`.
fn blocks(page: &str, mark: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut open: Option<String> = None;
    for line in page.lines() {
        match &mut open {
            Some(_) if line.starts_with("```") => found.extend(open.take()),
            Some(block) => {
                block.push_str(line);
                block.push('\n');
            }
            None if line == format!("```{mark}") => open = Some(String::new()),
            None => {}
        }
    }
    found
}

fn judged(rule: &Rule, block: &str) -> (Reading, Judgement) {
    let reading = plan::read(block.to_owned());
    assert!(reading.misreads.is_empty(), "{}: a block is not a plan: {:?}", rule.code, reading.misreads);
    let judgement = judge(&reading, &House::default(), &rules::all());
    (reading, judgement)
}

/// Code and line of every finding that does not only follow from another. A block is an excerpt of a job: what the stage
/// demands of the rest of it is left to the page that teaches just that.
fn findings(rule: &Rule, reading: &Reading, judgement: &Judgement) -> Vec<(&'static str, usize)> {
    let lines = Lines::new(&reading.text);
    let of = |check: &testlamp::judge::Check| {
        let finding = check.finding.as_ref().expect("a failed check has a finding");
        let place = reading.tree.locate(&finding.at.place.path());
        (check.rule.code, lines.position(&reading.text, place.span.start).0)
    };
    judgement.failed().filter(|check| check.follows.is_none()).filter(|check| is_meant(rule, check)).map(of).collect()
}

fn is_meant(rule: &Rule, check: &testlamp::judge::Check) -> bool {
    check.rule.code != "PLAN-09" || rule.code == "PLAN-09"
}

#[test]
fn bad_blocks_give_exactly_their_finding_at_the_marked_line() {
    let mut wrong = Vec::new();
    for rule in rules::all() {
        let blocks = blocks(rule.page, "yaml bad");
        assert!(!blocks.is_empty(), "{} has no bad example", rule.code);
        for block in blocks {
            let marked = block.lines().position(|line| line.contains("# <- here")).map(|line| line + 1);
            let marked = marked.unwrap_or_else(|| panic!("{}: no line is marked `# <- here`", rule.code));
            let (reading, judgement) = judged(rule, &block);
            let found = findings(rule, &reading, &judgement);
            if found != [(rule.code, marked)] {
                wrong.push(format!("{}: expected line {marked}, found {found:?}", rule.code));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn good_blocks_give_no_finding_and_pass_the_rule() {
    let mut wrong = Vec::new();
    for rule in rules::all() {
        let blocks = blocks(rule.page, "yaml good");
        assert!(!blocks.is_empty(), "{} has no good example", rule.code);
        for block in blocks {
            let (reading, judgement) = judged(rule, &block);
            let found = findings(rule, &reading, &judgement);
            let passes = judgement.checks.iter().any(|c| c.rule.code == rule.code && c.outcome == Outcome::Pass);
            if !found.is_empty() || !passes {
                wrong.push(format!("{}: found {found:?}, passes: {passes}", rule.code));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_page_teaches_in_the_same_order() {
    let headings =
        ["## Why it matters", "## Working", "## Bad", "## Good", "## How to mend it", "## When not to", "## Sources"];
    for rule in rules::all() {
        assert!(rule.page.starts_with(&format!("# {} {}\n\n", rule.code, rule.name)), "{}: title", rule.code);
        let found: Vec<&str> = rule.page.lines().filter(|line| line.starts_with("## ")).collect();
        assert_eq!(found, headings, "{}", rule.code);
        assert!(rule.summary().ends_with('.') && rule.summary().len() < 140, "{}: {}", rule.code, rule.summary());
    }
}

#[test]
fn codes_and_names_are_unique_and_in_order() {
    let mut names = BTreeSet::new();
    for family in rules::FAMILIES {
        let codes: Vec<&str> = family.rules.iter().map(|rule| rule.code).collect();
        let mut sorted = codes.clone();
        sorted.sort_unstable();
        assert_eq!(codes, sorted);
        for rule in family.rules {
            assert_eq!(rule.family(), family.code);
            assert!(names.insert(rule.code) && names.insert(rule.name), "{} {}", rule.code, rule.name);
        }
    }
}

#[test]
fn every_page_and_module_in_the_folder_is_in_the_list() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let mut pages = 0;
    for folder in std::fs::read_dir(root).expect("the folder of rules").flatten() {
        if !folder.path().is_dir() {
            continue;
        }
        for file in std::fs::read_dir(folder.path()).expect("a family").flatten() {
            if file.path().extension().is_some_and(|ending| ending == "md") {
                pages += 1;
                assert!(file.path().with_extension("rs").exists(), "{:?} has no module", file.path());
            }
        }
    }
    assert_eq!(pages, rules::all().len());
}

/// A job in inches, feet and cubic feet, with what breaks most rules that compare lengths and volumes.
const IN_FEET: &str = "\
plan: 1
vehicle:
  voltage: 12 V
  body: steel
  battery: {location: engine-bay}
  distances: {engine-bay: 4 ft, right-sill: 8 ft, cargo: 3 ft}
amplifiers:
  bass-amp: {location: cargo, class: AB, channels: 1, rated: [{load: 4 ohm, power: 400 W}], terminals: {strip: 1/2 in}}
drivers:
  sub: {kind: subwoofer, enclosure: box, box_volume: 0.5 cu ft .. 0.9 cu ft, displacement: 0.1 cu ft}
  deep: {kind: subwoofer, enclosure: shut, resonance: 40 Hz, total_q: 0.9, compliance_volume: 4 cu ft}
enclosures:
  box: {kind: vented, net_volume: 1.4 cu ft, gross_volume: 1.4 cu ft, vent: {diameter: 2 in, length: 8 in}, mass: 40 lb}
  shut: {kind: sealed, net_volume: 0.9 cu ft}
signals:
  left: {to: bass-amp.line-left, lead: {length: 25 ft, separation: 6 in, path: [dash, right-sill, cargo]}}
  right: {to: bass-amp.line-right, lead: {length: 5 ft, path: [engine-bay, firewall, right-sill, cargo]}}
wires:
  main:
    from: battery.positive
    to: bass-amp.power
    size: 4 AWG
    length: 14 ft
    fixed_every: 24 in
    path: [engine-bay, firewall, right-sill, cargo]
    ends: {to: {kind: bare, strip: 1 in}}
    fuse: {distance: 30 in, rating: 50 A}
  second: {from: battery.positive, to: bass-amp.power, length: 25 ft, path: [engine-bay, firewall, right-sill, cargo]}
  return: {from: bass-amp.ground, to: grounds.floor, length: 24 in}
  back: {from: bass-amp.ground, to: battery.negative, length: 16 ft, path: [cargo, right-sill, firewall, engine-bay]}
grounds: {floor: {}}
mounts:
  bass-amp: {clearance: 1/4 in}
  box: {on: cargo-floor, fasteners: {count: 1, kind: machine-screw, thread: M3}}
";

#[test]
fn a_plan_in_feet_is_told_feet() {
    let reading = plan::read(IN_FEET.to_owned());
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    let judgement = judge(&reading, &House::default(), &rules::all());
    let (mut codes, mut metric) = (BTreeSet::new(), Vec::new());
    for check in judgement.failed() {
        let finding = check.finding.as_ref().expect("a failed check has a finding");
        let said = [&finding.title, &finding.mend, &finding.at.text].into_iter();
        let said = said.chain(finding.also.iter().map(|label| &label.text)).cloned();
        let offered = finding.offers.iter().flat_map(|offer| [offer.title.clone(), format!("{:?}", offer.deeds)]);
        let worked = check.working.iter().flat_map(|working| [working.result.to_string(), working.limit.to_string()]);
        let all: Vec<String> = said.chain(offered).chain(worked).collect();
        codes.insert(check.rule.code);
        let is_metric = |words: &&String| {
            let words: Vec<&str> = words.split([' ', ',', ';']).collect();
            let is_unit = |pair: &[&str]| {
                pair[0].ends_with(|c: char| c.is_ascii_digit()) && ["m", "cm", "mm", "L", "kg"].contains(&pair[1])
            };
            words.windows(2).any(is_unit)
        };
        metric.extend(all.iter().filter(is_metric).map(|words| format!("{}: {words}", check.rule.code)));
    }
    assert_eq!(metric, Vec::<String>::new());
    let expected = [
        "BOX-01",
        "BOX-02",
        "BOX-05",
        "FUSE-02",
        "FUSE-03",
        "GROUND-02",
        "GROUND-05",
        "MOUNT-02",
        "MOUNT-03",
        "PLAN-08",
        "ROUTE-03",
        "ROUTE-04",
        "SIGNAL-11",
        "WIRE-10",
        "WIRE-12",
    ];
    let missing: Vec<&str> = expected.into_iter().filter(|code| !codes.contains(code)).collect();
    assert!(missing.is_empty(), "{missing:?} of {codes:?}");
}
