//! `rulebook`: list all rules.

use std::io::{self, Write};

use clap::{Args, ValueEnum};

use super::Status;
use crate::judge::Rule;
use crate::rules;
use crate::words::count;

#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum Format {
    /// One markdown document; its links lead from the folder `rules/` to the page of each rule
    #[default]
    Markdown,
}

/// What `rulebook` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// How the list is written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Where the page of each rule stands below `rules/`, by code.
const PAGES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/pages.rs"));

const HEAD: &str = "# Rules

Each rule judges one kind of thing in a plan, and each check passes, fails, or stays open until a fact is found out.
**danger**: somebody can be hurt or the vehicle can burn. **fault**: it will not work as intended, or something gets
damaged. **advice**: workmanship.
";

/// Prints all rules.
///
/// # Errors
/// When they cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    match arguments.format {
        Format::Markdown => markdown(out)?,
    }
    Ok(Status::Clear)
}

fn markdown(out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{HEAD}\n{} in {}.", count(rules::all().len(), "rule"), families())?;
    for family in rules::FAMILIES {
        writeln!(
            out,
            "\n## {} {}\n\n| code | name | severity | what it reports |\n|---|---|---|---|",
            family.code, family.title
        )?;
        for rule in family.rules {
            let Rule { name, severity, .. } = rule;
            writeln!(
                out,
                "| {} | {name} | {} | {} |",
                link(rule),
                severity.word(),
                rule.summary().replace('|', "\\|")
            )?;
        }
    }
    Ok(())
}

fn families() -> String {
    match rules::FAMILIES.len() {
        1 => "1 family".into(),
        many => format!("{many} families"),
    }
}

fn link(rule: &Rule) -> String {
    let page = PAGES.iter().find(|(code, _)| *code == rule.code);
    page.map_or_else(|| rule.code.to_owned(), |(code, path)| format!("[{code}]({path})"))
}
