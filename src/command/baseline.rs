//! Findings of old jobs that are known: they stay visible and do not shut the gate.
//!
//! The file holds JSON lines, a heading and then one entry a line in order, so that two people's changes to it can be
//! merged and a reader sees what came and went.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::fs;
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};

use clap::Args;
use serde::{Deserialize, Serialize};

use super::inputs::Input;
use super::whole::Whole;
use super::{moved, reason};
use crate::judge::Severity;
use crate::report::{Found, PlanReport, Stale, Waiting, text_digest};
use crate::text::Tree;
use crate::words::excerpt;

/// The version of the format.
const FORMAT: u32 = 1;

/// What the command line says of a baseline.
#[derive(Debug, Args)]
pub struct Options {
    /// Known findings of finished jobs: what this file knows stays visible and does not shut the gate, until the element
    /// that it is about changes
    #[arg(long, value_name = "FILE")]
    baseline: Option<PathBuf>,
    /// Put what is found now into the baseline, and take out what is stale; entries of other plans stay
    #[arg(long, requires = "baseline", conflicts_with_all = ["prune", "set", "watch", "record"])]
    write_baseline: bool,
    /// With --write-baseline, put dangers in too. They are left out otherwise: a finished vehicle is on the road, and a
    /// danger in it is a reason to call it back, or for a waiver that somebody signs, not for a list
    #[arg(long, requires = "write_baseline")]
    with_dangers: bool,
    /// Take stale entries out of the baseline: what is mended, what has changed, plans that are gone
    #[arg(long, requires = "baseline", conflicts_with_all = ["set", "watch", "record"])]
    prune: bool,
}

/// What an entry stands for: one rule on one element as that element stood.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    /// The plan, from the folder of the baseline, with forward slashes.
    file: String,
    /// The number of its job, where it states one: by that the plan is found again when its file has another name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    job: Option<String>,
    rule: String,
    /// A rule that has become more severe since is no longer covered.
    severity: String,
    outcome: Was,
    subject: String,
    at: String,
    /// SHA-256 of what the plan says of the elements that the finding points at.
    digest: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Was {
    Fail,
    Open,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Heading {
    baseline: u32,
}

/// An entry and the line on which it stands.
struct Known {
    entry: Entry,
    line: usize,
}

/// A baseline as it was read.
pub struct Baseline {
    path: PathBuf,
    folder: PathBuf,
    known: BTreeMap<String, Vec<Known>>,
    /// What plans that have moved are called in it, by what they are called now.
    moved: BTreeMap<String, String>,
    /// Findings that are put in, below or at this severity.
    put_in: Option<Severity>,
    /// SHA-256 of the file as it was read.
    pub digest: String,
    /// The file that takes its place, when it is to be written.
    next: Option<Whole>,
}

/// What a judged plan leaves in the baseline.
#[derive(Default)]
pub struct Filed {
    /// The plan, when the baseline knows something of it.
    file: Option<String>,
    entries: Vec<Entry>,
}

/// What all judged plans leave in it.
#[derive(Default)]
pub struct Ledger {
    entries: Vec<Entry>,
    seen: HashSet<String>,
}

impl Options {
    /// The file, if there is one.
    pub fn file(&self) -> Option<&Path> {
        self.baseline.as_deref()
    }

    /// Reads the baseline, and makes ready to write it where that is asked for.
    ///
    /// # Errors
    /// A sentence on what is wrong with it, with the line.
    pub fn open(&self) -> Result<Option<Baseline>, String> {
        let Some(path) = &self.baseline else { return Ok(None) };
        let name = path.display();
        let text = match path.metadata() {
            Ok(found) if !found.is_file() => return Err(format!("{name} is no file, and a baseline is one")),
            Ok(_) => Some(fs::read(path).map_err(|error| format!("{name} could not be read: {}", reason(&error)))?),
            Err(error) if error.kind() == io::ErrorKind::NotFound && self.write_baseline => None,
            Err(error) => {
                let hint = if error.kind() == io::ErrorKind::NotFound { "; --write-baseline makes it" } else { "" };
                return Err(format!("the baseline {name} could not be read: {}{hint}", reason(&error)));
            }
        };
        let text =
            text.map(String::from_utf8).transpose().map_err(|_| format!("{name} is no baseline: it is not UTF-8"))?;
        let known = text.as_deref().map(read).transpose().map_err(|(line, why)| {
            format!(
                "the baseline {name} cannot be read: line {line}: {why}; mend or take out that line, or write it anew"
            )
        })?;
        let next = (self.write_baseline || self.prune).then(|| Whole::open(path)).transpose();
        let most = if self.with_dangers { Severity::Danger } else { Severity::Fault };
        Ok(Some(Baseline {
            path: path.clone(),
            folder: folder_of(path),
            known: known.unwrap_or_default(),
            moved: BTreeMap::new(),
            put_in: self.write_baseline.then_some(most),
            digest: text_digest(text.as_deref().unwrap_or_default()),
            next: next.map_err(|error| error.to_string())?,
        }))
    }
}

/// Reads a baseline; what is wrong comes with its line.
fn read(text: &str) -> Result<BTreeMap<String, Vec<Known>>, (usize, String)> {
    let mut lines = text.lines().enumerate().map(|(at, line)| (at + 1, line));
    let (_, heading) = lines.next().ok_or((1, "the file is empty".to_owned()))?;
    let heading: Heading = serde_json::from_str(heading)
        .map_err(|error| (1, format!("it must be {{\"baseline\":{FORMAT}}}, and {}", plain(&error))))?;
    if heading.baseline != FORMAT {
        return Err((1, format!("it is of version {}, and this testlamp reads version {FORMAT}", heading.baseline)));
    }
    let mut known: BTreeMap<String, Vec<Known>> = BTreeMap::new();
    for (line, written) in lines {
        let entry: Entry = serde_json::from_str(written).map_err(|error| (line, plain(&error)))?;
        entry.sound().map_err(|why| (line, why))?;
        known.entry(entry.file.clone()).or_default().push(Known { entry, line });
    }
    Ok(known)
}

/// What is wrong with a line of JSON, without the reader's own count of lines.
fn plain(error: &serde_json::Error) -> String {
    let words = error.to_string();
    let words = words.rsplit_once(" at line ").map_or(words.as_str(), |(words, _)| words);
    if error.is_data() { words.to_owned() } else { format!("it is not whole JSON ({words})") }
}

impl Entry {
    /// Whether somebody who accepted this accepted that: the same of the same plan, and of no other job. Its file may have
    /// another name by now.
    fn covers(&self, other: &Self) -> bool {
        let is_other_job = self.job.is_some() && other.job.is_some() && self.job != other.job;
        let named = Self { file: other.file.clone(), job: other.job.clone(), ..self.clone() };
        !is_other_job && named == *other
    }

    /// Whether its values can be what testlamp wrote.
    fn sound(&self) -> Result<(), String> {
        let known = [Severity::Advice, Severity::Fault, Severity::Danger].map(Severity::word);
        if !known.contains(&self.severity.as_str()) {
            return Err(format!("`{}` is no severity", excerpt(&self.severity, 40)));
        }
        if self.digest.len() != 64 || !self.digest.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')) {
            return Err("its digest is not 64 hexadecimal digits".into());
        }
        if [&self.file, &self.rule, &self.subject, &self.at].into_iter().any(String::is_empty) {
            return Err("file, rule, subject and at must not be empty".into());
        }
        Ok(())
    }
}

impl Baseline {
    /// Marks in a report what the baseline knows of a plan, and says what of it is stale.
    pub fn apply(&self, report: &mut PlanReport, tree: &Tree, path: &Path) -> Filed {
        let Some(file) = self.key(path) else { return Filed::default() };
        let called = self.moved.get(&file).unwrap_or(&file);
        let known = self.known.get(called).map(Vec::as_slice).unwrap_or_default();
        if known.is_empty() && self.put_in.is_none() {
            return Filed::default();
        }
        let (used, new, job) = (vec![false; known.len()], Vec::new(), report.job.as_deref().and_then(moved::number));
        let mut desk = Desk { baseline: self, file: &file, job, tree, known, used, new };
        desk.findings(report);
        desk.open(report);
        let Desk { used, new, job, .. } = desk;
        // What could not be read or judged this time may stand as it did.
        let trusted = report.counts.unreadable == 0 && report.counts.broken == 0;
        let (stays, stale): (Vec<_>, Vec<_>) = known.iter().zip(used).partition(|(_, used)| *used || !trusted);
        report.stale = stale.into_iter().map(|(known, _)| known.stale()).collect();
        report.counts.stale = report.stale.len();
        let anew = |known: &Known| {
            let entry = known.entry.clone();
            Entry { file: file.clone(), job: entry.job.or_else(|| job.clone()), ..entry }
        };
        let stays = stays.into_iter().map(|(known, _)| anew(known));
        let entries = if self.next.is_some() { stays.chain(new).collect() } else { Vec::new() };
        Filed { file: (!known.is_empty()).then(|| called.clone()), entries }
    }

    /// Looks where plans have gone that are known and no longer there: to where the one plan is that states the same number
    /// of a job. What was found so is told.
    pub fn follow(&mut self, inputs: &[Input]) -> Vec<String> {
        let known = self.known.iter().filter_map(|(file, known)| Some((one_job(known)?, file)));
        let (there, gone): (Vec<_>, Vec<_>) = known.partition(|(_, file)| self.is_there(file));
        // A plan of that number that is where it was is the one that was known.
        let is_there = |job: &String| there.iter().any(|(other, _)| other == job);
        let gone = gone.into_iter().filter(|(job, _)| !is_there(job)).map(|(job, file)| (job, file.clone()));
        let found = moved::find(gone, inputs);
        let moved = found.into_iter().filter_map(|moved| {
            let now = self.key(&moved.path).filter(|now| !self.known.contains_key(now))?;
            Some((now, moved))
        });
        let moved: Vec<(String, moved::Moved)> = moved.collect();
        let told = moved.iter().map(|(now, moved)| {
            let (name, job) = (self.name(), excerpt(&moved.job, 40));
            let hint = if self.is_written() { "" } else { "; --prune puts the new name in" };
            format!("{now} is known in {name} as {}: both are job {job}{hint}", moved.file)
        });
        let told = told.collect();
        self.moved = moved.into_iter().map(|(now, moved)| (now, moved.file)).collect();
        told
    }

    /// What a plan is called in the baseline. `None` where its name cannot be written down.
    fn key(&self, path: &Path) -> Option<String> {
        let path = folder_of(path).join(path.file_name()?);
        let mut own = self.folder.components().peekable();
        let mut theirs = path.components().peekable();
        while own.peek().is_some() && own.peek() == theirs.peek() {
            own.next();
            theirs.next();
        }
        let up = own.map(|_| Some(".."));
        let down = theirs.map(|part| match part {
            Component::Normal(name) => name.to_str(),
            _ => None,
        });
        let parts: Option<Vec<&str>> = up.chain(down).collect();
        Some(parts?.join("/"))
    }

    /// Whether the plan of an entry that was not judged is still there.
    fn is_there(&self, file: &str) -> bool {
        file.split('/').fold(self.folder.clone(), |path, part| path.join(part)).exists()
    }

    /// Entries of plans that are gone.
    pub fn gone(&self, ledger: &Ledger) -> usize {
        let unseen = self.known.iter().filter(|(file, _)| !ledger.seen.contains(*file));
        unseen.filter(|(file, _)| !self.is_there(file)).map(|(_, known)| known.len()).sum()
    }

    /// Whether plans leave something in it.
    pub fn is_written(&self) -> bool {
        self.next.is_some()
    }

    /// Writes it anew: what the judged plans leave in it, and the entries of plans that were not judged and are there.
    /// Gives back how many entries there are now.
    ///
    /// # Errors
    /// When it cannot be written; the old one is still there then.
    pub fn write(self, ledger: Ledger) -> io::Result<usize> {
        let unseen = self.known.iter().filter(|(file, _)| !ledger.seen.contains(*file) && self.is_there(file));
        let mut entries: BTreeSet<Entry> =
            unseen.flat_map(|(_, known)| known).map(|known| known.entry.clone()).collect();
        entries.extend(ledger.entries);
        let Some(mut file) = self.next else { return Ok(entries.len()) };
        let mut line = |value: String| writeln!(file, "{value}");
        line(serde_json::to_string(&Heading { baseline: FORMAT })?)?;
        entries.iter().try_for_each(|entry| line(serde_json::to_string(entry)?))?;
        file.keep()?;
        Ok(entries.len())
    }

    /// What it is called.
    pub fn name(&self) -> String {
        self.path.display().to_string()
    }
}

impl Ledger {
    /// Takes what a judged plan leaves.
    pub fn take(&mut self, filed: Filed) {
        self.entries.extend(filed.entries);
        self.seen.extend(filed.file);
    }
}

impl Known {
    fn stale(&self) -> Stale {
        let Entry { rule, subject, at, .. } = self.entry.clone();
        Stale { rule, subject, at, line: self.line }
    }
}

/// One plan against what is known of it.
struct Desk<'a> {
    baseline: &'a Baseline,
    file: &'a str,
    job: Option<String>,
    tree: &'a Tree,
    known: &'a [Known],
    used: Vec<bool>,
    new: Vec<Entry>,
}

impl Desk<'_> {
    /// Findings that are known leave the list of those that stand.
    fn findings(&mut self, report: &mut PlanReport) {
        let (mut known, standing): (Vec<Found>, Vec<Found>) = std::mem::take(&mut report.findings)
            .into_iter()
            .partition(|found| self.takes(found.severity, || failed(found)));
        report.findings = standing;
        // What follows from a finding that is filed away is told on its own.
        let stands: HashSet<(&'static str, String)> =
            report.findings.iter().map(|found| (found.rule.code, found.subject.clone())).collect();
        for found in &mut report.findings {
            found.follows = found.follows.take().filter(|cause| stands.contains(&(cause.code, cause.subject.clone())));
        }
        let counts = &mut report.counts;
        for found in &mut known {
            counts.held -= usize::from(std::mem::take(&mut found.holds_gate));
            match found.severity {
                Severity::Danger => counts.dangers -= 1,
                Severity::Fault => counts.faults -= 1,
                Severity::Advice => counts.advice -= 1,
            }
            counts.baselined += 1;
            counts.baselined_dangers += usize::from(found.severity == Severity::Danger);
        }
        report.baselined = known;
    }

    /// Open checks that would hold the gate and are known hold it no longer.
    fn open(&mut self, report: &mut PlanReport) {
        for waiting in report.open.iter_mut().filter(|waiting| waiting.holds_gate) {
            if self.takes(waiting.severity, || waits(waiting)) {
                waiting.holds_gate = false;
                waiting.baselined = true;
                report.counts.held_open -= 1;
                report.counts.open -= 1;
                report.counts.baselined += 1;
                report.counts.baselined_dangers += usize::from(waiting.severity == Severity::Danger);
            }
        }
    }

    /// Whether the baseline knows it, or is to know it from now on.
    fn takes(&mut self, severity: Severity, shape: impl FnOnce() -> Shape) -> bool {
        let Shape { outcome, rule, subject, at, points_at } = shape();
        let entry = Entry {
            file: self.file.to_owned(),
            job: self.job.clone(),
            rule: rule.to_owned(),
            severity: severity.word().to_owned(),
            outcome,
            digest: digest(self.tree, &points_at),
            subject,
            at,
        };
        let mut found = false;
        for (_, used) in self.known.iter().zip(&mut self.used).filter(|(known, _)| known.entry.covers(&entry)) {
            *used = true;
            found = true;
        }
        let put_in = !found && self.baseline.put_in.is_some_and(|most| severity <= most);
        if put_in {
            self.new.push(entry);
        }
        found || put_in
    }
}

/// The number of the job that all entries of a plan name.
fn one_job(known: &[Known]) -> Option<String> {
    let job = known.first()?.entry.job.clone()?;
    known.iter().all(|known| known.entry.job.as_ref() == Some(&job)).then_some(job)
}

/// What an entry is made of.
struct Shape {
    outcome: Was,
    rule: &'static str,
    subject: String,
    at: String,
    /// Paths of what it is about.
    points_at: Vec<String>,
}

fn failed(found: &Found) -> Shape {
    let Found { rule, subject, at, also, .. } = found;
    let mut points_at: Vec<String> = std::iter::once(at).chain(also).map(|point| point.path.clone()).collect();
    // The subject `job` is the job as a whole, and not what the plan says under that key.
    points_at.extend((subject != "job").then(|| subject.clone()));
    Shape { outcome: Was::Fail, rule: rule.code, subject: subject.clone(), at: at.path.clone(), points_at }
}

fn waits(waiting: &Waiting) -> Shape {
    let Waiting { rule, subject, needs, turns, .. } = waiting;
    let mut points_at: Vec<String> = needs.iter().chain(turns.iter().map(|turn| &turn.path)).cloned().collect();
    points_at.extend((subject != "job").then(|| subject.clone()));
    Shape { outcome: Was::Open, rule: rule.code, subject: subject.clone(), at: subject.clone(), points_at }
}

/// SHA-256 of what a plan says of the elements that some paths are in: `wires.main` for `wires.main.fuse.rating`. Layout,
/// comments and the order of keys are left out; what a shelf says of an element is in.
fn digest(tree: &Tree, paths: &[String]) -> String {
    let elements: BTreeSet<&str> = paths.iter().map(|path| element(path)).collect();
    let said = elements.into_iter().map(|element| {
        let mut value = tree.node(element).map(|node| tree.to_json(node)).unwrap_or_default();
        value.sort_all_objects();
        format!("{element} {value}\n")
    });
    text_digest(&said.collect::<String>())
}

/// The element that a path is in: its first two parts.
fn element(path: &str) -> &str {
    let end = path.match_indices('.').nth(1).map_or(path.len(), |(at, _)| at);
    &path[..end]
}

/// The folder that a file is in, links followed as far as it is there.
fn folder_of(path: &Path) -> PathBuf {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let folder = path.parent().unwrap_or(&path);
    folder.canonicalize().unwrap_or_else(|_| folder.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"{"baseline":1}
{"file":"a.yaml","rule":"FUSE-01","severity":"danger","outcome":"fail","subject":"wires.main.fuse","at":"wires.main.fuse.rating","digest":"0000000000000000000000000000000000000000000000000000000000000000"}
"#;

    #[test]
    fn a_broken_line_is_named_with_its_reason() {
        assert_eq!(read(GOOD).ok().map(|known| known["a.yaml"][0].line), Some(2));
        let faults: [(&str, &str, usize, &str); 9] = [
            (GOOD, "", 1, "empty"),
            ("\"baseline\":1", "\"baseline\":2", 1, "version 2"),
            ("{\"baseline\":1}", "{}", 1, "missing field `baseline`"),
            ("\"rule\":\"FUSE-01\",", "", 2, "missing field `rule`"),
            ("\"rule\":", "\"rul\":", 2, "unknown field `rul`"),
            ("\"danger\"", "\"terrible\"", 2, "`terrible` is no severity"),
            ("\"fail\"", "\"lost\"", 2, "unknown variant `lost`"),
            ("000\"}", "\"}", 2, "64 hexadecimal digits"),
            ("\"digest\"", "<<<<<<<", 2, "not whole JSON"),
        ];
        for (from, to, line, words) in faults {
            let (at, why) = read(&GOOD.replace(from, to)).err().unwrap_or_default();
            assert!(at == line && why.contains(words), "{to}: line {at}: {why}");
        }
    }

    #[test]
    fn a_digest_is_of_what_is_said_and_not_of_how() {
        let of = |text: &str| digest(&crate::plan::read(text.to_owned()).tree, &["wires.main.fuse.rating".to_owned()]);
        let one = of("plan: 1\nwires: {main: {size: 4 AWG, fuse: {rating: 60 A, form: bolt-down}}}\n");
        let same = "# words\nwires:\n  other: {}\n  main:\n    fuse:\n      form: \"bolt-down\" # here\n      rating: 60 A\n    size: '4 AWG'\nplan: 1\n";
        assert_eq!(one, of(same));
        for other in [same.replace("60 A", "80 A"), same.replace("4 AWG", "6 AWG"), same.replace("main", "man")] {
            assert_ne!(one, of(&other), "{other}");
        }
    }

    #[test]
    fn a_plan_is_named_from_the_folder_of_the_baseline() {
        let folder = tempfile::tempdir().expect("a folder");
        let here = folder.path().canonicalize().expect("it is there");
        fs::create_dir_all(here.join("shop/jobs")).expect("folders");
        let options = Options {
            baseline: Some(here.join("shop/known")),
            write_baseline: true,
            with_dangers: false,
            prune: false,
        };
        let baseline = options.open().expect("it opens").expect("a baseline");
        let key = |path: &str| baseline.key(&here.join(path)).expect("a name");
        assert_eq!(key("shop/jobs/../jobs/a.yaml"), "jobs/a.yaml");
        assert_eq!(key("other/a.yaml"), "../other/a.yaml");
    }
}
