//! The list of all rules in markdown, as it stands in `rules/README.md`.

use std::fmt::Write;

use super::{SEVERITIES, extent};
use crate::judge::{Family, Rule};

/// Where the page of each rule stands below `rules/`, by code.
const PAGES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/pages.rs"));

const HEAD: &str = "# Rules

Each rule judges one kind of thing in a plan, and each check passes, fails, or stays open until a fact is found out.
";

/// All rules as one markdown document; its links lead from the folder `rules/` to the page of each rule.
pub fn list(families: &[Family]) -> String {
    let mut text = String::from(HEAD);
    for (severity, meaning) in SEVERITIES {
        let _ = writeln!(text, "- **{}**: {meaning}", severity.word());
    }
    let _ = writeln!(text, "\n{}.", extent(families));
    for family in families {
        let _ = writeln!(
            text,
            "\n## {} {}\n\n| code | name | severity | what it reports |\n|---|---|---|---|",
            family.code, family.title
        );
        for rule in family.rules {
            let Rule { name, severity, .. } = rule;
            let summary = rule.summary().replace('|', "\\|");
            let _ = writeln!(text, "| {} | {name} | {} | {summary} |", link(rule), severity.word());
        }
    }
    text
}

fn link(rule: &Rule) -> String {
    let page = PAGES.iter().find(|(code, _)| *code == rule.code);
    page.map_or_else(|| rule.code.to_owned(), |(code, path)| format!("[{code}]({path})"))
}
