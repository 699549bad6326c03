//! An open plan: its text as the editor has it, and what was found in it.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;

use gen_lsp_types::{Location, Position, Range as Span, TextDocumentContentChangeEvent, Uri};

use super::positions::{Counting, Positions};
use crate::house::House;
use crate::judge::{Fix, Judgement, Workshop, judge};
use crate::plan::{self, Reading};
use crate::rules;
use crate::solve::{Job, Place};

/// An open plan.
pub struct Document {
    /// Its address.
    pub uri: Uri,
    /// The version of its text, as the editor counts.
    pub version: i32,
    /// Its text.
    pub text: String,
    /// The lines of the text.
    pub positions: Positions,
    /// Whether the editor has been told what was found in this text.
    pub told: bool,
    counting: Counting,
    judged: OnceCell<Judged>,
}

/// What was found in a text.
pub struct Judged {
    /// The plan as far as it could be read.
    pub reading: Reading,
    /// What the rules came to.
    pub judgement: Judgement,
    /// What they were judged by.
    pub house: House,
    /// Fixes that were proved, by the number of the check.
    fixes: RefCell<HashMap<usize, Rc<Vec<Fix>>>>,
}

impl Document {
    /// A plan that was opened.
    pub fn new(uri: Uri, version: i32, text: String, counting: Counting) -> Self {
        let positions = Positions::new(&text, counting);
        Self { uri, version, text, positions, told: false, counting, judged: OnceCell::new() }
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
        self.judged = OnceCell::new();
        self.told = false;
    }

    /// What is found in the text, judged when it is first asked for.
    pub fn judged(&self, house: impl FnOnce() -> House) -> &Judged {
        self.judged.get_or_init(|| {
            let house = house();
            let reading = plan::read(self.text.clone());
            let judgement = judge(&reading, &house, &rules::all());
            Judged { reading, judgement, house, fixes: RefCell::default() }
        })
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

impl Judged {
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
        work(&Workshop { reading, judgement, house, rules: &rules })
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
}
