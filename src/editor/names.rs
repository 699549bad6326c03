//! Names: where a thing is declared, where it is referred to, and calling it something else everywhere.

use std::ops::Range;

use gen_lsp_types::{Location, Range as Span, WorkspaceEdit};

use super::changes::{self, applied};
use super::client::Client;
use super::document::{Document, Judged};
use super::requests::Refusal;
use crate::house::House;
use crate::judge::judge_briefly;
use crate::plan::{Reading, holds_names, read_with};
use crate::rules;
use crate::rules::plan::references::{self, Reference};
use crate::solve::Job;
use crate::text::{Edit, Map};
use crate::words::excerpt;

/// Sections whose keys are the names of things that are declared elsewhere.
const REFERRING: [&str; 2] = ["mounts", "settings"];
/// Where the keys of a path's last part are such names too.
const MEASURED: &str = "measured.";

/// A thing by its section and name.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Name {
    section: String,
    name: String,
}

/// Words that stand for a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Mention {
    /// The name alone, without what stands around it.
    at: Range<usize>,
    of: Name,
    declares: bool,
}

/// Where the thing under the pointer is declared; of a value that an alias stands for, where it is written.
pub fn definition(document: &Document, judged: &Judged, offset: usize) -> Option<Location> {
    let mentions = mentions(&judged.reading, &judged.house);
    if let Some(here) = mention_at(&mentions, offset) {
        let declared = mentions.iter().find(|other| other.declares && other.of == here.of)?;
        return Some(document.location(&declared.at));
    }
    let tree = &judged.reading.tree;
    let spotted = tree.at(offset).filter(|spotted| !spotted.on_key)?;
    let terminal = output(&judged.reading, &spotted.path).map(|path| tree.locate_key(&path));
    let written = terminal.or_else(|| tree.locate(&spotted.path).defined_at)?;
    Some(document.location(&written))
}

/// The output of a block that a terminal names.
fn output(reading: &Reading, path: &str) -> Option<String> {
    let words = reading.tree.text(reading.tree.node(path)?)?;
    let (block, output) = words.split_once('.')?;
    let path = format!("blocks.{block}.outputs.{output}");
    reading.tree.node(&path).map(|_| path)
}

/// Every place that stands for the thing under the pointer.
pub fn references(document: &Document, judged: &Judged, offset: usize, own: bool) -> Vec<Location> {
    let mentions = mentions(&judged.reading, &judged.house);
    let Some(here) = mention_at(&mentions, offset) else { return Vec::new() };
    let all = mentions.iter().filter(|other| other.of == here.of && (own || !other.declares));
    all.map(|mention| document.location(&mention.at)).collect()
}

/// The words that would be replaced if the thing under the pointer were called otherwise.
///
/// # Errors
/// When there is nothing that has a name.
pub fn renamed(document: &Document, judged: &Judged, offset: usize) -> Result<Span, Refusal> {
    let mentions = mentions(&judged.reading, &judged.house);
    let here = mention_at(&mentions, offset).ok_or_else(nameless)?;
    Ok(document.span(&here.at))
}

/// Calls the thing under the pointer something else, everywhere.
///
/// # Errors
/// When that cannot be done without changing what the plan says.
pub fn rename(
    document: &Document,
    judged: &Judged,
    offset: usize,
    new: &str,
    client: &Client,
) -> Result<WorkspaceEdit, Refusal> {
    let Judged { reading, house, .. } = judged;
    let mentions = mentions(reading, house);
    let here = mention_at(&mentions, offset).ok_or_else(nameless)?;
    if !is_name(new) {
        let words = format!("`{}` is no name: use letters, digits, hyphens and underscores", excerpt(new, 40));
        return Err(Refusal::new(words));
    }
    if !reading.misreads.is_empty() {
        return Err(Refusal::new("words that cannot be read may stand for it too: mend them first"));
    }
    let edit = |mention: &Mention| Edit { at: mention.at.clone(), text: new.to_owned() };
    let edits: Vec<Edit> = mentions.iter().filter(|other| other.of == here.of).map(edit).collect();
    let after = read_with(applied(&reading.text, &edits), &reading.shelves);
    if new != here.of.name && !says_the_same(judged, &after, &here.of, new, edits.len()) {
        return Err(Refusal::new(format!("another thing is called `{new}`, and the two could not be told apart")));
    }
    Ok(changes::of(document, &edits, client))
}

/// Whether a plan in which a thing is called otherwise says what it said: as many words stand for the thing, and as much
/// is found.
fn says_the_same(before: &Judged, after: &Reading, of: &Name, new: &str, mentioned: usize) -> bool {
    let renamed = Name { name: new.to_owned(), ..of.clone() };
    let mentions = mentions(after, &before.house).into_iter().filter(|mention| mention.of == renamed).count();
    let judged = judge_briefly(after, &before.house, &rules::all());
    let found = (before.judgement.failed().count(), before.judgement.open().count());
    after.misreads.is_empty() && mentions == mentioned && (judged.failed().count(), judged.open().count()) == found
}

fn nameless() -> Refusal {
    Refusal::new("nothing with a name stands here")
}

/// The names that the schema takes.
fn is_name(word: &str) -> bool {
    let plain = word.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_');
    plain && word.starts_with(|first: char| first.is_ascii_alphanumeric())
}

fn mention_at(mentions: &[Mention], offset: usize) -> Option<&Mention> {
    mentions.iter().find(|mention| mention.at.start <= offset && offset <= mention.at.end)
}

/// Every word in a plan that stands for a thing, in the order of the text, each once.
fn mentions(reading: &Reading, house: &House) -> Vec<Mention> {
    let job = Job::new(&reading.plan, house);
    let mut found = declared(reading);
    found.extend(references::of(&job).iter().filter_map(|reference| referring(reading, reference)));
    found.extend((0..reading.plan.waivers.len()).filter_map(|at| waived(reading, at)));
    found.sort_by_key(|mention| (mention.at.start, mention.at.end));
    found.dedup();
    found
}

fn declared(reading: &Reading) -> Vec<Mention> {
    let tree = &reading.tree;
    let sections = tree.root().and_then(|root| tree.map(root)).into_iter().flat_map(Map::entries);
    let holding = sections.filter(|entry| holds_names(&entry.key) && !REFERRING.contains(&entry.key.as_str()));
    let declared = holding.flat_map(|section| {
        let things = tree.map(section.value).into_iter().flat_map(Map::entries);
        things.filter_map(|thing| {
            let of = Name { section: section.key.clone(), name: thing.key.clone() };
            mention(reading, &thing.key_span, "", of, true)
        })
    });
    declared.collect()
}

fn referring(reading: &Reading, reference: &Reference<'_>) -> Option<Mention> {
    let known = |section: &&&str| references::names(&reading.plan, section).contains(&reference.name);
    let section = reference.sections.iter().find(known)?;
    let of = Name { section: (*section).to_owned(), name: reference.name.to_owned() };
    let path = reference.place.path();
    let is_key = path.starts_with(MEASURED) || REFERRING.iter().any(|section| path.split('.').next() == Some(section));
    let words = if is_key { reading.tree.locate_key(&path) } else { written(reading, &path)? };
    mention(reading, &words, reference.before, of, false)
}

/// The element that a waiver is about.
fn waived(reading: &Reading, at: usize) -> Option<Mention> {
    let words = reading.plan.waivers[at].at.as_ref()?;
    let mut parts = words.trim().split('.');
    let (section, name) = (parts.next()?, parts.next()?);
    let of = Name { section: section.to_owned(), name: name.to_owned() };
    references::names(&reading.plan, section).contains(&name).then_some(())?;
    mention(reading, &written(reading, &format!("waivers.{at}.at"))?, &format!("{section}."), of, false)
}

/// Where a value is written in this text.
fn written(reading: &Reading, path: &str) -> Option<Range<usize>> {
    let located = reading.tree.locate(path);
    (located.exact && located.elsewhere.is_none()).then(|| located.defined_at.unwrap_or(located.span))
}

/// The name within its words: `amp` in `"amp.power"`.
fn mention(reading: &Reading, words: &Range<usize>, before: &str, of: Name, declares: bool) -> Option<Mention> {
    let found = reading.text.get(words.clone())?.find(&format!("{before}{}", of.name))?;
    let start = words.start + found + before.len();
    Some(Mention { at: start..start + of.name.len(), of, declares })
}

#[cfg(test)]
mod tests {
    use super::super::positions::Counting;
    use super::*;

    const PLAN: &str = "plan: 1\namplifiers: {bass: {}, front: {}}\nloads: {bass: {amplifier: bass}}\n\
        wires: {main: {from: battery.positive, to: \"bass.power\"}, back: {from: bass.ground, to: grounds.bass}}\n\
        grounds: {bass: {}}\nsettings: {bass: {tone: 50 Hz}}\nsteps: [{run: main}, {set: bass}, {ground: bass}]\n\
        waivers: [{rule: WIRE-01, at: amplifiers.bass}]\n";

    fn after(find: &str, new: &str) -> Result<String, String> {
        let document = Document::new("file:///a.yaml".into(), 1, PLAN.into(), Counting::Utf16);
        let judged = document.brief(House::default);
        assert!(judged.reading.misreads.is_empty(), "{:?}", judged.reading.misreads);
        let offset = PLAN.find(find).expect("the words") + find.len();
        let edit = rename(&document, judged, offset, new, &Client::default()).map_err(|refusal| refusal.words)?;
        let edits = edit.changes.and_then(|mut all| all.remove(&document.uri)).expect("edits");
        let edits =
            edits.into_iter().map(|edit| Edit { at: document.positions.range(PLAN, edit.range), text: edit.new_text });
        Ok(applied(PLAN, &edits.collect::<Vec<_>>()))
    }

    #[test]
    fn a_thing_is_called_otherwise_everywhere_and_its_namesakes_are_not() {
        let renamed = after("amplifier: ba", "low").expect("it can be");
        for words in ["{low: {}, front", "{bass: {amplifier: low}}", "\"low.power\"", "low.ground", "grounds.bass"] {
            assert!(renamed.contains(words), "{words}: {renamed}");
        }
        assert!(renamed.contains("settings: {low:") && renamed.contains("{set: low}, {ground: bass}"), "{renamed}");
        assert!(renamed.contains("at: amplifiers.low}"), "{renamed}");
    }

    #[test]
    fn a_name_that_is_taken_or_is_no_name_is_refused() {
        assert!(after("amplifier: ba", "front").expect_err("taken").contains("another thing"));
        assert!(after("amplifier: ba", "my amp").expect_err("no name").contains("is no name"));
        assert!(after("plan: 1", "x").expect_err("nothing").contains("nothing with a name"));
    }
}
