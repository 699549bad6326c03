//! Texts in braces that a comma has cut: `{rating: 1,5 A}`.

use std::ops::Range;

use crate::quantity::marked::Marked;
use crate::text::{Entry, Map, Misread, NodeId, Tree};
use crate::words;

/// A text that a comma has cut: what follows the comma is taken for a key.
pub(super) struct Cut<'a> {
    /// The key before.
    key: &'a str,
    /// What is left of its value.
    text: &'a str,
    /// The node of its value.
    pub value: NodeId,
    /// What was cut off.
    pub keys: Vec<&'a str>,
    span: Range<usize>,
}

impl Cut<'_> {
    /// Whether a decimal comma has cut a number.
    pub fn is_number(&self) -> bool {
        let is_digits = !self.text.is_empty() && self.text.bytes().all(|byte| byte.is_ascii_digit());
        let is_one = self.keys.len() == 1 && self.keys[0].starts_with(|first: char| first.is_ascii_digit());
        is_digits && (is_one || self.marked().is_some())
    }

    /// The number whose thousands commas part, or may.
    fn marked(&self) -> Option<Marked> {
        Marked::begins(&format!("{},{}", self.text, self.keys.join(",")))
    }

    /// What is told of it.
    pub fn misread(&self) -> Misread {
        let Self { key, text, .. } = self;
        let cut = self.keys.join(if self.is_number() { "," } else { ", " });
        let whole = format!("{text},{cut}");
        if let Some(marked) = self.marked() {
            let (what, ways) = (marked.told(&whole, &[]), marked.ways(&[]));
            let misread = Misread::new(self.span.clone(), what, "").meant(marked.sure(&[]));
            return misread.could(ways);
        }
        let (what, mend) = if self.is_number() {
            (format!("`{text},{cut}` has a comma"), format!("write decimals with a point: `{key}: {text}.{cut}`"))
        } else {
            let what = format!("`{}` stands behind a comma, where a key belongs", words::excerpt(&cut, 40));
            (what, format!("put the text in quotes: `{key}: \"{}\"`", words::excerpt(&format!("{text}, {cut}"), 60)))
        };
        let meant = self.is_number().then(|| format!("{text}.{cut}"));
        Misread::new(self.span.clone(), what, mend).meant(meant)
    }
}

/// The texts in a mapping that commas have cut: each with the keys behind it that are unknown and have no value.
pub(super) fn by_commas<'a>(tree: &'a Tree, map: &'a Map, is_known: &dyn Fn(&str) -> bool) -> Vec<Cut<'a>> {
    let mut cuts: Vec<Cut<'a>> = Vec::new();
    let mut before: Option<(&Entry, usize)> = None;
    for entry in map.entries() {
        let is_cut = tree.is_null(entry.value) && !is_known(&entry.key);
        match (&mut before, is_cut) {
            // A comma and a space; in lines of their own keys stand further apart and have colons.
            (Some((whole, end)), true) if (1..=2).contains(&entry.key_span.start.saturating_sub(*end)) => {
                let Some(text) = tree.text(whole.value) else { continue };
                let is_same = cuts.last().is_some_and(|cut| cut.value == whole.value);
                match cuts.last_mut().filter(|_| is_same) {
                    Some(cut) => {
                        cut.keys.push(&entry.key);
                        cut.span.end = entry.key_span.end;
                    }
                    None => cuts.push(Cut {
                        key: &whole.key,
                        text,
                        value: whole.value,
                        keys: vec![&entry.key],
                        span: tree.span(whole.value).start..entry.key_span.end,
                    }),
                }
                *end = entry.key_span.end;
            }
            _ => before = Some((entry, tree.span(entry.value).end)),
        }
    }
    cuts
}
