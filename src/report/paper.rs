//! What a report is written on: how wide, whether in colour, and words that are safe to show.

use crate::words::{is_unsafe, stay_together};

/// What a report is written on.
#[derive(Debug, Clone, Copy)]
pub struct Paper {
    /// Columns.
    pub width: usize,
    /// Whether colours are shown.
    pub colour: bool,
    /// Whether lines may be drawn with more than ASCII.
    pub unicode: bool,
    /// Whether only findings are wanted.
    pub quiet: bool,
}

impl Default for Paper {
    fn default() -> Self {
        Self { width: 100, colour: false, unicode: false, quiet: false }
    }
}

impl Paper {
    /// Words that stand out.
    pub fn strong(&self, words: &str) -> String {
        if self.colour { format!("\u{1b}[1m{words}\u{1b}[0m") } else { words.to_owned() }
    }

    /// Words broken into lines, each after the first indented; the first is taken to start at that indent as well.
    pub fn wrap(&self, words: &str, indent: usize) -> String {
        self.lines(words, indent).join(&format!("\n{}", " ".repeat(indent)))
    }

    /// Words broken into lines that leave room for an indent. Names and numbers with their units stay whole.
    pub fn lines(&self, words: &str, indent: usize) -> Vec<String> {
        let room = self.width.saturating_sub(indent).max(30);
        let mut lines: Vec<String> = Vec::new();
        for part in whole(words) {
            match lines.last_mut() {
                Some(line) if line.chars().count() + 1 + part.chars().count() <= room => {
                    line.push(' ');
                    line.push_str(&part);
                }
                _ => lines.push(part),
            }
        }
        lines
    }
}

/// Words, each number with its unit as one.
fn whole(words: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match parts.last_mut() {
            Some(before) if stay_together(before, word) => *before = format!("{before} {word}"),
            _ => parts.push(word.to_owned()),
        }
    }
    parts
}

/// Somebody's words without characters that could steer a terminal.
pub fn clean(words: &str) -> String {
    words.chars().map(|c| if is_unsafe(c) { '\u{fffd}' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_broken_between_words_only() {
        let paper = Paper { width: 40, ..Paper::default() };
        assert_eq!(
            paper.wrap("one two three four five six seven eight", 10),
            "one two three four five six\n          seven eight"
        );
    }

    #[test]
    fn a_number_keeps_its_unit_and_a_name_its_hyphens() {
        let paper = Paper { width: 30, ..Paper::default() };
        assert_eq!(
            paper.lines("a box tuned to 38.1 Hz allows 53.9 Hz on bass-amp.line-left", 0),
            ["a box tuned to 38.1 Hz allows", "53.9 Hz on bass-amp.line-left",]
        );
        assert_eq!(paper.lines("it was 4 miles and 10 A, or 12 V", 12)[0], "it was 4 miles and 10 A, or");
    }
}
