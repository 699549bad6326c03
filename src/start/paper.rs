//! How a draft is written: keys, values and what is said beside them.

use std::fmt::{Display, Write};

/// The column in which remarks begin, as long as the words before leave room.
const REMARKS: usize = 34;

/// A draft on its way.
#[derive(Default)]
pub struct Paper(String);

impl Paper {
    /// A remark on a line of its own.
    pub fn remark(&mut self, words: &str) {
        let _ = writeln!(self.0, "# {words}");
    }

    /// The heading of a section, with an empty line before it.
    pub fn section(&mut self, key: &str) {
        let _ = writeln!(self.0, "\n{key}:");
    }

    /// A key with its value; without one, a fact to be found out. The remark may be empty.
    pub fn key(&mut self, depth: usize, key: &str, value: impl Display, remark: &str) {
        let value = value.to_string();
        let space = if value.is_empty() { "" } else { " " };
        let line = format!("{:indent$}{key}:{space}{value}", "", indent = 2 * depth);
        self.line(&line, remark);
    }

    /// Facts to be found out, each with what there is to say of it.
    pub fn open(&mut self, depth: usize, facts: &[(&str, &str)]) {
        for (key, remark) in facts {
            self.key(depth, key, "", remark);
        }
    }

    /// An entry of a list.
    pub fn entry(&mut self, words: &str, remark: &str) {
        self.line(&format!("  - {words}"), remark);
    }

    /// The text.
    pub fn text(self) -> String {
        self.0
    }

    fn line(&mut self, line: &str, remark: &str) {
        if remark.is_empty() {
            self.0.push_str(line);
        } else {
            let _ = write!(self.0, "{line:REMARKS$}  # {remark}");
        }
        self.0.push('\n');
    }
}

/// A value, or nothing.
pub fn maybe(value: Option<impl Display>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

/// A line of text as YAML reads it back: as it is, or in quotes.
pub fn quoted(text: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || " -_./()'".contains(c) || c == ',';
    let starts = text.starts_with(|c: char| c.is_alphabetic()) && !text.ends_with(' ');
    let is_word = ["true", "false", "null", "yes", "no", "on", "off", "y", "n", ".inf", ".nan"]
        .contains(&text.to_lowercase().as_str());
    if starts && !is_word && text.chars().all(is_plain) {
        return text.to_owned();
    }
    // A JSON string is a YAML string in double quotes.
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_yaml_would_take_for_something_else_is_quoted() {
        assert_eq!(quoted("estate car, diesel"), "estate car, diesel");
        for hostile in
            ["2041", "a: b", "a #b", "- a", "{a}", "no", "Null", "say \"so\"", "&a", "*a", "!a", "%a", "é: ü", "a\\b"]
        {
            let text = format!("key: {}\n", quoted(hostile));
            let (tree, misreads) = crate::text::parse(&text, crate::text::Limits::default());
            assert!(misreads.is_empty(), "{text}: {misreads:?}");
            assert_eq!(tree.node("key").and_then(|node| tree.text(node)), Some(hostile), "{text}");
        }
    }
}
