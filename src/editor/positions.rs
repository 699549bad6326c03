//! Places as editors count them: lines from 0, columns in UTF-16 units or in bytes.

use std::ops::Range;

use gen_lsp_types::{Position, Range as Span};

use crate::text::Lines;

/// How an editor counts within a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Counting {
    /// In units of UTF-16: what every editor knows.
    #[default]
    Utf16,
    /// In bytes.
    Utf8,
}

/// The lines of one text, for turning byte offsets into positions and back.
#[derive(Debug, Clone)]
pub struct Positions {
    lines: Lines,
    counting: Counting,
}

impl Positions {
    /// Finds the lines of a text.
    pub fn new(text: &str, counting: Counting) -> Self {
        Self { lines: Lines::new(text), counting }
    }

    /// The position of a byte offset, which is moved back to the boundary of a character.
    pub fn position(&self, text: &str, offset: usize) -> Position {
        let offset = text.floor_char_boundary(offset.min(text.len()));
        let line = self.lines.line(offset);
        let start = self.lines.range(text, line).start;
        let before = &text[start..offset];
        let column = match self.counting {
            Counting::Utf8 => before.len(),
            Counting::Utf16 => before.chars().map(char::len_utf16).sum(),
        };
        Position { line: number(line), character: number(column) }
    }

    /// The positions of a byte range.
    pub fn span(&self, text: &str, range: &Range<usize>) -> Span {
        Span { start: self.position(text, range.start), end: self.position(text, range.end.max(range.start)) }
    }

    /// The byte offset of a position. Beyond the end of a line it is that end, beyond the text the end of the text.
    pub fn offset(&self, text: &str, position: Position) -> usize {
        let line = self.lines.range(text, usize::try_from(position.line).unwrap_or(usize::MAX - 1));
        let wanted = usize::try_from(position.character).unwrap_or(usize::MAX);
        let words = &text[line.clone()];
        if self.counting == Counting::Utf8 {
            return line.start + words.floor_char_boundary(wanted.min(words.len()));
        }
        let mut units = 0;
        for (at, c) in words.char_indices() {
            units += c.len_utf16();
            if units > wanted {
                return line.start + at;
            }
        }
        line.end
    }

    /// The byte range of two positions; the wrong way round it is empty.
    pub fn range(&self, text: &str, span: Span) -> Range<usize> {
        let start = self.offset(text, span.start);
        start..self.offset(text, span.end).max(start)
    }

    /// The line of a byte offset.
    pub fn line(&self, offset: usize) -> u32 {
        number(self.lines.line(offset))
    }
}

fn number(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn columns_count_as_the_editor_counts() {
        let text = "a: 🚗 b\r\nç: d\re";
        let (wide, bytes) = (Positions::new(text, Counting::Utf16), Positions::new(text, Counting::Utf8));
        let b = text.find('b').expect("b");
        assert_eq!((wide.position(text, b), bytes.position(text, b)), (at(0, 6), at(0, 8)));
        let d = text.find('d').expect("d");
        assert_eq!((wide.position(text, d), bytes.position(text, d)), (at(1, 3), at(1, 4)));
        assert_eq!(wide.position(text, text.len()), at(2, 1));
    }

    #[test]
    fn every_boundary_comes_back_from_its_position() {
        let text = "\u{feff}plan: 1\r\nä: 🔧🔧\n\n\rz";
        for counting in [Counting::Utf16, Counting::Utf8] {
            let positions = Positions::new(text, counting);
            for (offset, c) in text.char_indices().filter(|(_, c)| !matches!(c, '\r' | '\n')) {
                assert_eq!(positions.offset(text, positions.position(text, offset)), offset, "{c:?} {counting:?}");
            }
        }
    }

    #[test]
    fn positions_outside_and_inside_characters_are_moved_to_a_boundary() {
        let text = "🔧x\r\ny";
        let positions = Positions::new(text, Counting::Utf16);
        assert_eq!(positions.offset(text, at(0, 1)), 0, "inside a pair");
        assert_eq!(positions.offset(text, at(0, 99)), 5, "before the line end");
        assert_eq!(positions.offset(text, at(9, 0)), text.len());
        assert_eq!(positions.position(text, 2), at(0, 0));
        let bytes = Positions::new(text, Counting::Utf8);
        assert_eq!(bytes.offset(text, at(0, 2)), 0);
        assert_eq!(positions.range(text, Span { start: at(1, 1), end: at(0, 0) }), 8..8);
    }

    proptest::proptest! {
        #[test]
        fn any_text_counts_as_an_editor_would_count_it(
            pieces in proptest::collection::vec(proptest::sample::select(vec!["a", "ä", "🔧", " ", "\r\n", "\n", "\r"]), 0..40),
            wild in (0_u32..50, 0_u32..50),
        ) {
            let text = pieces.concat();
            let positions = Positions::new(&text, Counting::Utf16);
            for (offset, c) in text.char_indices().filter(|(_, c)| !matches!(c, '\r' | '\n')) {
                let before = text[..offset].replace("\r\n", "\n").replace('\r', "\n");
                let words = before.rsplit('\n').next().unwrap_or_default();
                let (line, column) = (before.matches('\n').count(), words.encode_utf16().count());
                let counted = at(u32::try_from(line).expect("few"), u32::try_from(column).expect("few"));
                proptest::prop_assert_eq!(positions.position(&text, offset), counted, "{:?}", c);
                proptest::prop_assert_eq!(positions.offset(&text, counted), offset);
            }
            proptest::prop_assert!(text.is_char_boundary(positions.offset(&text, at(wild.0, wild.1))));
        }
    }
}
