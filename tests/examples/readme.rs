//! What the README says of the jobs is what `check` says.

use std::collections::BTreeSet;
use std::path::Path;

use testlamp::house::House;
use testlamp::rules;

use super::{TODAY, common, findings, house, jobs, judged_by, judged_checks, read};

/// Status and words of a run in the project's folder.
fn said(arguments: &[&str]) -> (i32, String, String) {
    common::ended(&mut common::program(Path::new(env!("CARGO_MANIFEST_DIR")), arguments))
}

/// One row of the table of jobs in the README: number with its file, stage, what it shows, what is found, status.
fn row(job: &str, readme: &str) -> Vec<String> {
    let link = format!("](examples/jobs/{job}) |");
    let row = readme.lines().find(|line| line.starts_with('|') && line.contains(&link));
    let row = row.unwrap_or_else(|| panic!("no row for {job} in README.md"));
    row.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect()
}

#[test]
fn the_readme_tells_of_each_job_what_check_says() {
    let readme = include_str!("../../README.md");
    for job in jobs() {
        let plan = read(&job).plan;
        let ticket = plan.job.as_ref().expect("a ticket");
        let number = ticket.number.as_deref().expect("a number");
        assert!(job.starts_with(&format!("{}-", number.to_lowercase())), "{job} is {number}");
        let codes: BTreeSet<&str> = findings(&job, &House::default()).into_iter().map(|(code, _)| code).collect();
        let found = if codes.is_empty() { "–".to_owned() } else { codes.into_iter().collect::<Vec<_>>().join(", ") };
        let (status, ..) = said(&["check", "--quiet", "--as-of", TODAY, &format!("examples/jobs/{job}")]);
        let status = status.to_string();
        let cells = row(&job, readme);
        let stage = format!("{:?}", plan.stage()).to_lowercase();
        let told: Vec<&str> = cells.iter().map(String::as_str).collect();
        let [label, told_stage, shows, told_found, told_status] = told[..] else { panic!("{job}: {told:?}") };
        assert!(label.starts_with(&format!("[{number}]")), "{job}: {label}");
        assert!(!shows.is_empty(), "{job}");
        assert_eq!([told_stage, told_found, told_status], [&*stage, &*found, &*status], "{job}");
    }
}

#[test]
fn the_readme_names_the_fullest_job_and_counts_its_checks() {
    let count = |job: String| (judged_checks(&judged_by(&job, &house())), job);
    let (checks, job) = jobs().into_iter().map(count).max().expect("jobs");
    let told = format!("](examples/jobs/{job}) is the fullest: {checks} checks");
    assert!(include_str!("../../README.md").contains(&told), "README.md does not say `{told}`");
}

#[test]
fn the_readme_shows_a_finding_as_it_is_and_counts_the_rules_right() {
    let readme = include_str!("../../README.md");
    let picture = readme.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).expect("a picture");
    let (_, told, _) = said(&["check", "--color", "never", "examples/jobs/j-2046-fuse-above-wire.yaml"]);
    assert!(told.contains(picture), "the picture in README.md is old; now:\n{told}");
    for family in rules::FAMILIES {
        let row = readme.lines().find(|line| line.starts_with(&format!("| {} |", family.code)));
        let count = format!(" {} |", family.rules.len());
        assert!(row.is_some_and(|row| row.ends_with(&count)), "{} has{count} rules: {row:?}", family.code);
    }
}
