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

/// Whether a finding is told below another one, because it only follows from it.
fn told_below(check: &testlamp::judge::Check, judgement: &Judgement) -> bool {
    let follows = check.finding.as_ref().and_then(|finding| finding.follows.as_ref());
    follows.is_some_and(|(code, subject)| {
        judgement.failed().any(|other| other.rule.code == *code && other.subject == *subject)
    })
}

/// Code and line of every finding that is told by itself.
fn findings(reading: &Reading, judgement: &Judgement) -> Vec<(&'static str, usize)> {
    let lines = Lines::new(&reading.text);
    let of = |check: &testlamp::judge::Check| {
        let finding = check.finding.as_ref().expect("a failed check has a finding");
        let place = reading.tree.locate(&finding.at.place.path());
        (check.rule.code, lines.position(&reading.text, place.span.start).0)
    };
    judgement.failed().filter(|check| !told_below(check, judgement)).map(of).collect()
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
            let found = findings(&reading, &judgement);
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
            let found = findings(&reading, &judgement);
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
