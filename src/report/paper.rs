//! What a report is written on: how wide, whether in colour, and words that are safe to show.

use crate::words::is_unsafe;

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
        let room = self.width.saturating_sub(indent).max(30);
        let mut text = String::new();
        let mut used = 0;
        for word in words.split_whitespace() {
            let long = word.chars().count();
            if used > 0 && used + 1 + long > room {
                text.push('\n');
                text.extend(std::iter::repeat_n(' ', indent));
                used = 0;
            } else if used > 0 {
                text.push(' ');
                used += 1;
            }
            text.push_str(word);
            used += long;
        }
        text
    }
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
}
