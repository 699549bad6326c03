//! Names: where a thing is declared, where it is referred to, and calling it something else everywhere.

use std::ops::Range;

use gen_lsp_types::{Location, Range as Span, WorkspaceEdit};

use super::changes::{self, applied};
use super::client::Client;
use super::desk::{Desk, Refusal};
use super::document::{Document, Judged, Sheet};
use super::kind::Kind;
use super::paper::Paper;
use super::shelf;
use crate::house::House;
use crate::judge::judge_briefly;
use crate::plan::{Reading, holds_names, read_with, section_of};
use crate::rules;
use crate::rules::plan::references::{self, Reference};
use crate::solve::Job;
use crate::text::{Edit, Entry, Map, NodeId, Tree};
use crate::words::excerpt;

/// Sections whose keys are the names of things that are declared elsewhere, but for settings with a name of their own.
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

/// Where the thing under the pointer is declared; of a value that an alias stands for, where it is written; of a reference to
/// a shelf, the thing there.
pub fn definition(document: &Document, judged: &Judged, offset: usize, desk: &Desk<'_>) -> Option<Location> {
    let mentions = mentions(&judged.reading, &judged.house);
    if let Some(here) = mention_at(&mentions, offset) {
        let declared = mentions.iter().find(|other| other.declares && other.of == here.of)?;
        return Some(document.location(&declared.at));
    }
    let tree = &judged.reading.tree;
    let spotted = tree.at(offset).filter(|spotted| !spotted.on_key)?;
    let on_shelf = shelf::definition(&judged.found, tree, &spotted.path, document, desk);
    on_shelf.or_else(|| Some(document.location(&tree.locate(&spotted.path).defined_at?)))
}

/// Every place that stands for the thing under the pointer.
pub fn references(document: &Document, judged: &Judged, offset: usize, own: bool, desk: &Desk<'_>) -> Vec<Location> {
    let mentions = mentions(&judged.reading, &judged.house);
    let Some(here) = mention_at(&mentions, offset) else {
        let to = to_shelf_at(&judged.reading.tree, offset);
        return to.map(|to| everywhere(&to, desk)).unwrap_or_default();
    };
    let all = mentions.iter().filter(|other| other.of == here.of && (own || !other.declares));
    all.map(|mention| document.location(&mention.at)).collect()
}

/// A reference to a thing on a shelf.
struct ToShelf {
    section: &'static str,
    name: String,
    at: Range<usize>,
}

/// Every reference to a shelf in a plan or on a shelf.
fn to_shelves(tree: &Tree) -> Vec<ToShelf> {
    let mut found = Vec::new();
    if let Some(root) = tree.root() {
        find_to_shelves(tree, root, "", &mut found);
    }
    found
}

fn to_shelf_at(tree: &Tree, offset: usize) -> Option<ToShelf> {
    to_shelves(tree).into_iter().find(|to| to.at.start <= offset && offset <= to.at.end)
}

fn find_to_shelves(tree: &Tree, node: NodeId, path: &str, found: &mut Vec<ToShelf>) {
    for entry in tree.map(node).into_iter().flat_map(Map::entries).filter(|entry| tree.is_written_here(entry)) {
        let below = if path.is_empty() { entry.key.clone() } else { format!("{path}.{}", entry.key) };
        if let (Some(section), Some(name)) = (section_of(&below), tree.text(entry.value)) {
            found.push(ToShelf { section, name: name.to_owned(), at: entry.used_at.clone() });
        } else if below.matches('.').count() < 3 {
            find_to_shelves(tree, entry.value, &below, found);
        }
    }
}

/// Every reference to the thing of a shelf under the pointer, in the texts that are open.
pub fn references_on_shelf(paper: &Paper, offset: usize, desk: &Desk<'_>) -> Vec<Location> {
    if paper.kind != Kind::Shelf {
        return Vec::new();
    }
    let referring = to_shelf_at(&paper.tree, offset);
    let declared = || {
        let spotted = paper.tree.at(offset).filter(|spotted| spotted.on_key)?;
        let section = section_of(&format!("{}.shelf", spotted.path))?;
        let name = spotted.path.rsplit('.').next()?.to_owned();
        (spotted.path.matches('.').count() == 1).then_some(ToShelf { section, name, at: spotted.span })
    };
    referring.or_else(declared).map(|to| everywhere(&to, desk)).unwrap_or_default()
}

fn everywhere(to: &ToShelf, desk: &Desk<'_>) -> Vec<Location> {
    let mut found = Vec::new();
    for document in desk.documents.values() {
        let tree = match desk.sheet(document) {
            Sheet::Plan(judged) => &judged.reading.tree,
            Sheet::Paper(paper) => &paper.tree,
        };
        let same = to_shelves(tree).into_iter().filter(|other| other.section == to.section && other.name == to.name);
        found.extend(same.map(|other| document.location(&other.at)));
    }
    found
}

/// The words that would be replaced if the thing under the pointer were called otherwise.
///
/// # Errors
/// When there is nothing that has a name.
pub fn renamed(document: &Document, judged: &Judged, offset: usize) -> Result<Span, Refusal> {
    let reading = &judged.reading;
    let mentions = mentions(reading, &judged.house);
    let here = mention_at(&mentions, offset).ok_or_else(|| nameless(reading, offset))?;
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
    let here = mention_at(&mentions, offset).ok_or_else(|| nameless(reading, offset))?;
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
        let words = format!("`{new}` would change what the plan says: another thing is called so, or this cannot be");
        return Err(Refusal::new(words));
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

fn nameless(reading: &Reading, offset: usize) -> Refusal {
    if to_shelf_at(&reading.tree, offset).is_some() {
        return Refusal::new("the shelf names it, and other plans may refer to it: it is changed by hand");
    }
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
    for reference in &references::of(&job) {
        found.extend(referring(reading, reference));
        found.extend(end_of(reading, reference));
    }
    found.extend((0..reading.plan.waivers.len()).flat_map(|at| waived(reading, at)));
    found.sort_by_key(|mention| (mention.at.start, mention.at.end));
    found.dedup();
    found
}

fn declared(reading: &Reading) -> Vec<Mention> {
    let tree = &reading.tree;
    let sections = tree.root().and_then(|root| tree.map(root)).into_iter().flat_map(Map::entries);
    let holding = sections.filter(|entry| holds_names(&entry.key));
    let declared = holding.flat_map(|section| {
        let things = tree.map(section.value).into_iter().flat_map(Map::entries);
        let refers = REFERRING.contains(&section.key.as_str());
        let named =
            move |thing: &&Entry| !refers || references::names(&reading.plan, &section.key).contains(&&*thing.key);
        things.filter(named).filter_map(|thing| {
            let of = Name { section: section.key.clone(), name: thing.key.clone() };
            mention(reading, &thing.key_span, "", of, true)
        })
    });
    let blocks = tree.node("blocks").and_then(|blocks| tree.map(blocks)).into_iter().flat_map(Map::entries);
    let outputs = blocks.filter(|block| tree.is_written_here(block)).flat_map(|block| {
        let outputs = tree.map(block.value).and_then(|block| tree.map(block.get("outputs")?.value));
        let written = outputs.into_iter().flat_map(Map::entries).filter(|output| tree.is_written_here(output));
        written.filter_map(|output| {
            let of = Name { section: outputs_of(&block.key), name: output.key.clone() };
            mention(reading, &output.key_span, "", of, true)
        })
    });
    declared.chain(outputs).collect()
}

/// What the outputs of a block are called by.
fn outputs_of(block: &str) -> String {
    format!("blocks.{block}.outputs")
}

/// The terminal within a reference, where it has a name of its own: an output of a block, an input of an amplifier.
fn end_of(reading: &Reading, reference: &Reference<'_>) -> Option<Mention> {
    let (plan, thing, end) = (&reading.plan, reference.name, reference.terminal?);
    let is_output = plan.blocks.get(thing).is_some_and(|block| block.outputs.contains_key(end));
    let is_input = plan.amplifiers.contains_key(thing) && (end.starts_with("line-") || end.starts_with("speaker-"));
    let section = match (is_output, is_input) {
        (true, _) => outputs_of(thing),
        (_, true) => format!("amplifiers.{thing}.inputs"),
        _ => return None,
    };
    let of = Name { section, name: end.to_owned() };
    mention(reading, &written(reading, &reference.place.path())?, &format!("{thing}."), of, false)
}

fn referring(reading: &Reading, reference: &Reference<'_>) -> Option<Mention> {
    let known = |section: &&&str| references::names(&reading.plan, section).contains(&reference.name);
    let section = reference.sections.iter().find(known)?;
    let of = Name { section: (*section).to_owned(), name: reference.name.to_owned() };
    let path = reference.place.path();
    let names_section = |section: &str| path.strip_prefix(section).is_some_and(|rest| rest.matches('.').count() == 1);
    let is_key = path.starts_with(MEASURED) || REFERRING.into_iter().any(names_section);
    let words = if is_key { reading.tree.locate_key(&path) } else { written(reading, &path)? };
    mention(reading, &words, reference.before, of, false)
}

/// The element that a waiver is about, and the output of a block where it is one.
fn waived(reading: &Reading, at: usize) -> Vec<Mention> {
    let Some(words) = reading.plan.waivers[at].at.as_ref() else { return Vec::new() };
    let Some(span) = written(reading, &format!("waivers.{at}.at")) else { return Vec::new() };
    let parts: Vec<&str> = words.trim().split('.').collect();
    let mut found = Vec::new();
    if let [section, name, ..] = *parts
        && references::names(&reading.plan, section).contains(&name)
    {
        let of = Name { section: section.to_owned(), name: name.to_owned() };
        found.extend(mention(reading, &span, &format!("{section}."), of, false));
    }
    if let ["blocks", block, "outputs", output, ..] = *parts
        && reading.plan.blocks.get(block).is_some_and(|block| block.outputs.contains_key(output))
    {
        let of = Name { section: outputs_of(block), name: output.to_owned() };
        found.extend(mention(reading, &span, &format!("blocks.{block}.outputs."), of, false));
    }
    found
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
    use std::rc::Rc;

    use super::super::positions::Counting;
    use super::*;

    const PLAN: &str = "plan: 1\namplifiers: {bass: {}, front: {}}\nloads: {bass: {amplifier: bass}}\n\
        wires: {main: {from: battery.positive, to: \"bass.power\"}, back: {from: bass.ground, to: grounds.bass}}\n\
        grounds: {bass: {}}\nsettings: {bass: {tone: 50 Hz}}\nsteps: [{run: main}, {set: bass}, {ground: bass}]\n\
        waivers: [{rule: WIRE-01, at: amplifiers.bass}]\n";

    fn after(find: &str, new: &str) -> Result<String, String> {
        after_in(PLAN, find, new)
    }

    fn after_in(plan: &str, find: &str, new: &str) -> Result<String, String> {
        let document = Document::new("file:///a.yaml".into(), 1, plan.into(), Counting::Utf16);
        let judged = document.brief(Rc::default);
        assert!(judged.reading.misreads.is_empty(), "{:?}", judged.reading.misreads);
        let offset = plan.find(find).expect("the words") + find.len();
        let edit = rename(&document, judged, offset, new, &Client::default()).map_err(|refusal| refusal.words)?;
        let edits = edit.changes.and_then(|mut all| all.remove(&document.uri)).expect("edits");
        let edits =
            edits.into_iter().map(|edit| Edit { at: document.positions.range(plan, edit.range), text: edit.new_text });
        Ok(applied(plan, &edits.collect::<Vec<_>>()))
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

    const BLOCK: &str = "plan: 1\nblocks: {split: {outputs: {one: {fuse: {rating: 30 A}}, two: {}}}, one: {outputs: {split: {}}}}\n\
        amplifiers: {amp: {}}\nsources: {one: {}}\nsignals: {left: {from: one, to: amp.line-left}, right: {from: one, to: amp.line-right}}\n\
        wires: {a: {from: split.one, to: amp.power}, b: {from: split.two, to: amp.remote}, c: {from: one.split, to: one.in}}\n\
        waivers: [{rule: FUSE-01, at: blocks.split.outputs.one}]\n";

    #[test]
    fn a_setting_with_a_name_of_its_own_is_called_otherwise_and_follows_its_amplifier() {
        let plan = "plan: 1\namplifiers: {quad: {}}\nsettings: {rear: {amplifier: quad, outputs: [3]}, quad: {tone: 1 kHz}}\n\
                    steps: [{set: rear}, {set: quad}]\nmeasured: {settings: {rear: {gain: 9 V}}}\n";
        assert_eq!(after_in(plan, "set: re", "back"), Ok(plan.replace("rear", "back")));
        assert_eq!(after_in(plan, "settings: {re", "back"), Ok(plan.replace("rear", "back")));
        assert_eq!(after_in(plan, "amplifier: qu", "four"), Ok(plan.replace("quad", "four")));
    }

    #[test]
    fn outputs_of_blocks_and_inputs_of_amplifiers_have_names_too() {
        let renamed = after_in(BLOCK, "from: split.on", "front").expect("it can be");
        let expected = BLOCK.replace("split.one", "split.front").replace("outputs: {one", "outputs: {front");
        assert_eq!(renamed, expected.replace("outputs.one", "outputs.front"));
        assert_eq!(after_in(BLOCK, "outputs.on", "front").as_ref(), Ok(&renamed));
        assert_eq!(after_in(BLOCK, "{outputs: {on", "front").as_ref(), Ok(&renamed));
        let renamed = after_in(BLOCK, "amp.line-le", "line-a").expect("it can be");
        assert_eq!(renamed, BLOCK.replace("line-left", "line-a"));
        assert!(after_in(BLOCK, "from: split.on", "two").expect_err("taken").contains("another thing"));
    }

    #[test]
    fn a_name_that_is_taken_or_is_no_name_is_refused() {
        assert!(after("amplifier: ba", "front").expect_err("taken").contains("another thing"));
        assert!(after("amplifier: ba", "my amp").expect_err("no name").contains("is no name"));
        assert!(after("plan: 1", "x").expect_err("nothing").contains("nothing with a name"));
    }
}
