//! An open text as the editor has it, and what was found in it.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::ops::Range;
use std::path::PathBuf;
use std::rc::Rc;

use gen_lsp_types::{Location, Position, Range as Span, TextDocumentContentChangeEvent, Uri};

use super::houses::{Found, file_of};
use super::kind::Kind;
use super::paper::Paper;
use super::positions::{Counting, Positions};
use crate::house::{self, House};
use crate::judge::{FindOut, Fix, Judgement, Workshop, judge, judge_briefly};
use crate::plan::{self, Reading};
use crate::rules;
use crate::solve::{Job, Place};

/// An open text.
pub struct Document {
    /// Its address.
    pub uri: Uri,
    /// Its file, without links.
    pub file: PathBuf,
    /// The version of its text, as the editor counts.
    pub version: i32,
    /// Its text.
    pub text: String,
    /// The lines of the text.
    pub positions: Positions,
    /// What the editor has been told of this text.
    pub told: Told,
    /// The facts that were to be found out when the text was last judged as a whole.
    pub facts: Vec<FindOut>,
    counting: Counting,
    kind: OnceCell<Kind>,
    brief: OnceCell<Judged>,
    whole: OnceCell<Judged>,
    paper: OnceCell<Paper>,
    /// What was found in the text before this one. Taking it apart can wait until the editor has been told of this one.
    old: Option<(OnceCell<Judged>, OnceCell<Judged>)>,
}

/// A text with what was found in it.
#[derive(Clone, Copy)]
pub enum Sheet<'a> {
    /// A plan.
    Plan(&'a Judged),
    /// A house file or a shelf file.
    Paper(&'a Paper),
}

/// What an editor has been told of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// Nothing yet.
    Nothing,
    /// What was found, but not where open checks turn.
    Brief,
    /// Everything.
    Whole,
}

/// What was found in a text.
pub struct Judged {
    /// The plan as far as it could be read.
    pub reading: Reading,
    /// What the rules came to.
    pub judgement: Judgement,
    /// What they were judged by.
    pub house: Rc<House>,
    /// Where that comes from.
    pub found: Rc<Found>,
    /// Whether it is known where open checks turn.
    pub is_whole: bool,
    /// Fixes that were proved, by the number of the check.
    fixes: RefCell<HashMap<usize, Rc<Vec<Fix>>>>,
}

impl Document {
    /// A text that was opened.
    pub fn new(uri: Uri, version: i32, text: String, counting: Counting) -> Self {
        let (file, positions) = (file_of(&uri.0), Positions::new(&text, counting));
        let (told, facts) = (Told::Nothing, Vec::new());
        let (kind, brief, whole, paper, old) = Default::default();
        Self { uri, file, version, text, positions, told, facts, counting, kind, brief, whole, paper, old }
    }

    /// What the text is: by the name of its file, by what its house calls it, and otherwise by what it says of itself.
    pub fn kind(&self, found: impl FnOnce() -> Rc<Found>) -> Kind {
        *self.kind.get_or_init(|| {
            if self.file.file_name().is_some_and(|name| name == house::FILE_NAME) {
                Kind::House
            } else if found().shelves.contains(&self.file) {
                Kind::Shelf
            } else {
                said(&self.text)
            }
        })
    }

    /// Takes over what was typed.
    pub fn change(&mut self, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        self.version = version;
        for change in changes {
            match change {
                TextDocumentContentChangeEvent::TextDocumentContentChangePartial(part) => {
                    let range = self.positions.range(&self.text, part.range);
                    self.text.replace_range(range, &part.text);
                }
                TextDocumentContentChangeEvent::TextDocumentContentChangeWholeDocument(whole) => self.text = whole.text,
            }
            self.positions = Positions::new(&self.text, self.counting);
        }
        self.forget();
    }

    /// Forgets what was found, because the text or the house has changed.
    pub fn forget(&mut self) {
        (self.kind, self.paper) = Default::default();
        let (brief, mut whole) = (std::mem::take(&mut self.brief), std::mem::take(&mut self.whole));
        if let Some(whole) = whole.get_mut() {
            self.facts = std::mem::take(&mut whole.judgement.find_out);
        }
        self.told = Told::Nothing;
        self.old = Some((brief, whole));
    }

    /// Whether the text was judged as a plan.
    pub fn is_judged(&self) -> bool {
        self.brief.get().is_some() || self.whole.get().is_some()
    }

    /// Takes apart what was found in the text before this one.
    pub fn drop_old(&mut self) {
        self.old = None;
    }

    /// What is found in the text, and perhaps not where open checks turn; judged when it is first asked for.
    pub fn brief(&self, found: impl FnOnce() -> Rc<Found>) -> &Judged {
        self.whole.get().unwrap_or_else(|| self.brief.get_or_init(|| Judged::briefly(self.text.clone(), found())))
    }

    /// Everything that is found in the text, judged when it is first asked for.
    pub fn whole(&self, found: impl FnOnce() -> Rc<Found>) -> &Judged {
        let brief = self.brief.get().filter(|brief| brief.is_whole);
        brief.unwrap_or_else(|| self.whole.get_or_init(|| Judged::wholly(self.text.clone(), found())))
    }

    /// What is found in a text that is no plan.
    pub fn paper(&self, read: impl FnOnce() -> Paper) -> &Paper {
        self.paper.get_or_init(read)
    }

    /// A place in another text, counted as the editor counts.
    pub fn location_in(&self, uri: Uri, text: &str, range: &Range<usize>) -> Location {
        Location { uri, range: Positions::new(text, self.counting).span(text, range) }
    }

    /// A byte range as the editor counts.
    pub fn span(&self, range: &Range<usize>) -> Span {
        self.positions.span(&self.text, range)
    }

    /// The byte offset of a position.
    pub fn offset(&self, position: Position) -> usize {
        self.positions.offset(&self.text, position)
    }

    /// A byte range with the address of the text.
    pub fn location(&self, range: &Range<usize>) -> Location {
        Location { uri: self.uri.clone(), range: self.span(range) }
    }
}

/// What a text says of itself, in the keys at its margin.
fn said(text: &str) -> Kind {
    let says = |line: &&str, key: &str| line.strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with(':'));
    let keys = [("plan", Kind::Plan), ("house", Kind::House), ("shelf", Kind::Shelf)];
    let kind_of = |line: &str| keys.into_iter().find(|(key, _)| says(&line, key)).map(|(_, kind)| kind);
    text.lines().find_map(kind_of).unwrap_or(Kind::Plan)
}

impl Judged {
    fn briefly(text: String, found: Rc<Found>) -> Self {
        let house = Rc::clone(&found.house);
        let reading = plan::read_with(text, &house.shelves);
        let judgement = judge_briefly(&reading, &house, &rules::all());
        // Where every open check waits for a word, there is no more to know.
        let is_whole = judgement.open().all(|check| !check.needs.is_empty());
        Self { reading, judgement, house, found, is_whole, fixes: RefCell::default() }
    }

    fn wholly(text: String, found: Rc<Found>) -> Self {
        let house = Rc::clone(&found.house);
        let reading = plan::read_with(text, &house.shelves);
        let judgement = judge(&reading, &house, &rules::all());
        Self { reading, judgement, house, found, is_whole: true, fixes: RefCell::default() }
    }

    /// Where a place stands, or the nearest thing to it that does.
    pub fn range(&self, place: &Place) -> Range<usize> {
        self.reading.tree.locate(&place.path()).span
    }

    /// The plan with all that can be computed from it.
    pub fn job(&self) -> Job<'_> {
        Job::new(&self.reading.plan, &self.house)
    }

    /// The proved fixes of a check, by its number; proving is done once.
    pub fn fixes(&self, check: usize) -> Rc<Vec<Fix>> {
        if let Some(known) = self.fixes.borrow().get(&check) {
            return Rc::clone(known);
        }
        let fixes = Rc::new(self.with_workshop(|shop| shop.fixes(&self.judgement.checks[check])));
        self.fixes.borrow_mut().insert(check, Rc::clone(&fixes));
        fixes
    }

    /// What fixes are proved with.
    pub fn with_workshop<T>(&self, work: impl FnOnce(&Workshop<'_>) -> T) -> T {
        let rules = rules::all();
        let Self { reading, judgement, house, .. } = self;
        work(&Workshop::new(reading, judgement, house, &rules))
    }
}

#[cfg(test)]
mod tests {
    use gen_lsp_types::TextDocumentContentChangePartial;

    use super::*;

    #[test]
    fn changes_are_taken_one_after_the_other_each_on_the_text_that_the_one_before_left() {
        let mut document = Document::new("file:///a.yaml".into(), 1, "a: 🔧\r\nb: 2\r\n".into(), Counting::Utf16);
        let part = |start: (u32, u32), end: (u32, u32), text: &str| {
            let at = |(line, character)| Position { line, character };
            let range = Span { start: at(start), end: at(end) };
            TextDocumentContentChangePartial { range, text: text.into(), ..Default::default() }.into()
        };
        document.change(5, vec![part((0, 5), (0, 5), "x"), part((0, 6), (1, 0), "\n"), part((1, 3), (1, 4), "3")]);
        assert_eq!((document.text.as_str(), document.version), ("a: 🔧x\nb: 3\r\n", 5));
    }

    #[test]
    fn a_text_is_known_by_its_name_its_house_and_what_it_says() {
        let kind = |uri: &str, text: &str, shelves: &[&str]| {
            let found = Found { shelves: shelves.iter().map(PathBuf::from).collect(), ..Found::default() };
            Document::new(uri.to_owned().into(), 1, text.into(), Counting::Utf16).kind(|| Rc::new(found))
        };
        assert_eq!(kind("file:///none/house.yaml", "", &[]), Kind::House);
        assert_eq!(kind("file:///none/gear.yaml", "plan: 1\n", &["/none/gear.yaml"]), Kind::Shelf);
        assert_eq!(kind("file:///none/gear.yaml", "# ours\nshelf: 1\n", &[]), Kind::Shelf);
        assert_eq!(kind("file:///none/our-house.yml", "note: x\r\nhouse : 1\r\n", &[]), Kind::House);
        assert_eq!(kind("file:///none/a.yaml", "plan: 1\nhouse: 1\n", &[]), Kind::Plan);
        assert_eq!(kind("file:///none/a.yaml", "households: 1\n  house: 1\n", &[]), Kind::Plan);
    }

    #[test]
    fn where_open_checks_turn_is_known_only_of_the_whole() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    conductor: copper, length: 4 m, path: [cargo], fuse: {rating: 50 A}}\n";
        let mut document = Document::new("file:///a.yaml".into(), 1, text.into(), Counting::Utf16);
        let turns = |judged: &Judged| judged.judgement.find_out.iter().any(|fact| !fact.turns.is_empty());
        let brief = document.brief(Rc::default);
        assert!(!brief.is_whole && !turns(brief));
        let whole = document.whole(Rc::default);
        assert!(whole.is_whole && turns(whole));
        document.forget();
        assert!(document.facts.iter().any(|fact| fact.place.path() == "wires.main.insulation"));
    }
}
