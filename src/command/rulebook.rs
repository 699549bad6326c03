//! `rulebook`: all rules, as a list, as a folder for a browser or as one page to print.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use super::whole::Whole;
use super::{Status, complain, houses, reason};
use crate::book;
use crate::house::OwnRule;
use crate::rules;
use crate::words::count;

/// What `rulebook` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Write a book for a browser into this folder: a page a rule, an index with search; needs no server
    #[arg(long, value_name = "FOLDER", conflicts_with = "one")]
    into: Option<PathBuf>,
    /// Write the whole book as one page to print (A4 or Letter); - is standard output
    #[arg(long, value_name = "FILE")]
    one: Option<PathBuf>,
    /// Put the rules of this house file's own into the book
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
}

/// Writes the book; without a place for it, prints the list of rules in markdown, as `rules/README.md` has it.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let own = match own(arguments) {
        Ok(own) => own,
        Err(status) => return Ok(status),
    };
    match (&arguments.into, &arguments.one) {
        (Some(folder), _) => into(folder, &own, out),
        (None, Some(file)) if file.as_os_str() == "-" => {
            out.write_all(book::one(rules::FAMILIES, &own).as_bytes())?;
            Ok(Status::Clear)
        }
        (None, Some(file)) => {
            if !may_replace(file) {
                return Ok(Status::Usage);
            }
            Whole::put(file, book::one(rules::FAMILIES, &own).as_bytes())?;
            Ok(Status::Clear)
        }
        (None, None) => {
            out.write_all(book::list(rules::FAMILIES).as_bytes())?;
            Ok(Status::Clear)
        }
    }
}

/// The rules of the house's own, for a book; what is wrong has been said.
fn own(arguments: &Arguments) -> Result<Vec<OwnRule>, Status> {
    let Some(named) = arguments.house.as_deref() else { return Ok(Vec::new()) };
    if arguments.into.is_none() && arguments.one.is_none() {
        complain("--house goes with --into or --one: the list holds what testlamp ships with");
        return Err(Status::Usage);
    }
    Ok(houses::of_plan(Some(named), Path::new("-"))?.own)
}

fn into(folder: &Path, own: &[OwnRule], out: &mut dyn Write) -> io::Result<Status> {
    if let Err(error) = fs::create_dir_all(folder) {
        let why = if folder.exists() { "it is a file".into() } else { reason(&error) };
        complain(&format!("no folder can be made at {}: {why}", folder.display()));
        return Ok(Status::Usage);
    }
    let files = book::folder(rules::FAMILIES, own);
    if !files.iter().all(|file| may_replace(&folder.join(&file.name))) {
        return Ok(Status::Usage);
    }
    for file in &files {
        Whole::put(&folder.join(&file.name), file.text.as_bytes())?;
    }
    let start = folder.join("index.html");
    let start = start.display().to_string();
    writeln!(out, "{} of the rule book; start with {}", count(files.len(), "file"), crate::report::clean(&start))?;
    Ok(Status::Clear)
}

/// How far into a file its mark is looked for.
const BEGINNING: u64 = 400;

/// Whether nothing is lost: there is no such file, or it belongs to a rule book.
fn may_replace(path: &Path) -> bool {
    let is_file = path.metadata().is_ok_and(|found| found.is_file());
    if !is_file || begins_with_mark(path).unwrap_or(false) {
        return true;
    }
    complain(&format!("{} is there already and is no page of a rule book: it stays as it is", path.display()));
    false
}

fn begins_with_mark(path: &Path) -> io::Result<bool> {
    let mut beginning = Vec::new();
    File::open(path)?.take(BEGINNING).read_to_end(&mut beginning)?;
    let is_empty = beginning.is_empty();
    Ok(is_empty || String::from_utf8_lossy(&beginning).contains(book::MARK))
}
