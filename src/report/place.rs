//! Places as other programs count them: lines, columns in UTF-16 units, paths from the working folder.

use std::path::{Component, Path, PathBuf};

use serde::Serialize;

use super::model::Spot;
use crate::text::Lines;

/// A piece of a text, lines and columns from 1, the columns in UTF-16 units; the end is the first column behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Region {
    pub start_line: usize,
    pub start_column: usize,
    pub end_line: usize,
    pub end_column: usize,
}

/// One text, ready to be measured.
#[derive(Debug)]
pub struct Ruler<'a> {
    text: &'a str,
    lines: Lines,
}

impl<'a> Ruler<'a> {
    /// A text.
    pub fn new(text: &'a str) -> Self {
        Self { text, lines: Lines::new(text) }
    }

    /// A place in UTF-16 units. A byte order mark is no column.
    pub fn region(&self, at: &Spot) -> Region {
        let (start_line, start_column) = self.position(at.start);
        let (end_line, end_column) = self.position(at.end);
        Region { start_line, start_column, end_line, end_column }
    }

    /// The words at a place that lies within one line; a longer piece holds more than the one thing it stands for.
    pub fn words(&self, at: &Spot) -> &'a str {
        if self.lines.line(at.start) == self.lines.line(at.end) { &self.text[at.start..at.end] } else { "" }
    }

    fn position(&self, offset: usize) -> (usize, usize) {
        let line = self.lines.line(offset);
        let before = &self.text[self.lines.range(self.text, line).start..offset];
        let before = if line == 0 { before.trim_start_matches('\u{feff}') } else { before };
        (line + 1, before.encode_utf16().count() + 1)
    }
}

/// The folder that paths are told from.
#[derive(Debug, Clone, Default)]
pub struct Here(PathBuf);

impl Here {
    /// The working folder of this process.
    pub fn current() -> Self {
        Self(std::env::current_dir().unwrap_or_default())
    }

    /// A path as seen from here, with forward slashes and without a root.
    pub fn relative(&self, name: &str) -> String {
        let path = Path::new(name);
        let parts: Vec<Component<'_>> = path.components().filter(|part| *part != Component::CurDir).collect();
        let folder: Vec<Component<'_>> = self.0.components().collect();
        let shared = parts.iter().zip(&folder).take_while(|(one, other)| path.is_absolute() && one == other).count();
        let up = if shared > 0 { folder.len() - shared } else { 0 };
        let down = parts[shared..].iter().filter(|part| !matches!(part, Component::RootDir | Component::Prefix(_)));
        let up = std::iter::repeat_n("..".into(), up);
        up.chain(down.map(|part| part.as_os_str().to_string_lossy())).collect::<Vec<_>>().join("/")
    }

    /// The same as a relative reference of RFC 3986: all but unreserved characters and slashes percent-encoded.
    pub fn uri(&self, name: &str) -> String {
        let kept = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
        let encode = |byte: u8| if kept(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
        self.relative(name).bytes().map(encode).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn region(text: &str, words: &str) -> (usize, usize, usize, usize) {
        let start = text.find(words).expect("the words");
        let at = Spot { start, end: start + words.len(), line: 0, column: 0 };
        let region = Ruler::new(text).region(&at);
        (region.start_line, region.start_column, region.end_line, region.end_column)
    }

    #[test]
    fn columns_are_utf_16_units() {
        assert_eq!(region("a: é x", "x"), (1, 6, 1, 7), "one unit in two bytes");
        assert_eq!(region("a: 中 x", "x"), (1, 6, 1, 7), "one unit in three bytes");
        assert_eq!(region("a: 🚗 x", "x"), (1, 7, 1, 8), "two units in four bytes");
        assert_eq!(region("k: 1\r\n\"🚗🚗\": b\rc", "🚗🚗"), (2, 2, 2, 6));
        assert_eq!(region("k: 1\r\n\"🚗🚗\": b\rc", "c"), (3, 1, 3, 2));
        assert_eq!(region("a\nb\nc", "b\nc"), (2, 1, 3, 2));
    }

    #[test]
    fn a_byte_order_mark_is_no_column() {
        assert_eq!(region("\u{feff}plan: 1", "plan"), (1, 1, 1, 5));
        assert_eq!(region("\u{feff}plan: 1", "\u{feff}plan"), (1, 1, 1, 5));
        assert_eq!(region("a\n\u{feff}b", "b"), (2, 2, 2, 3));
    }

    #[cfg(unix)]
    #[test]
    fn paths_are_told_from_the_working_folder() {
        let here = Here("/shop/bench".into());
        for (name, relative) in [
            ("a.yaml", "a.yaml"),
            ("./jobs/./a.yaml", "jobs/a.yaml"),
            ("../a.yaml", "../a.yaml"),
            ("/shop/bench/jobs/a.yaml", "jobs/a.yaml"),
            ("/shop/other/a.yaml", "../other/a.yaml"),
            ("/a.yaml", "../../a.yaml"),
        ] {
            assert_eq!(here.relative(name), relative, "{name}");
        }
        assert_eq!(here.uri("jobs/a b:é%20[1].yaml"), "jobs/a%20b%3A%C3%A9%2520%5B1%5D.yaml");
        assert_eq!(Here::default().relative("/a.yaml"), "a.yaml");
    }
}
