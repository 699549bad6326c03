//! The report for machines.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CharEscape, Formatter, PrettyFormatter, Serializer};

use super::model::{FORMAT, NotRead, Program, Summary};
use super::{Judged, Printer};
use crate::words::is_unsafe;

/// Prints JSON, plan by plan.
#[derive(Debug, Default)]
pub struct Json {
    plans: usize,
}

impl Printer for Json {
    fn begin(&mut self, out: &mut dyn Write) -> io::Result<()> {
        let program = to_json(&Program::default(), 1)?;
        write!(out, "{{\n  \"format\": {FORMAT},\n  \"program\": {program},\n  \"plans\": [")
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let comma = if self.plans == 0 { "" } else { "," };
        self.plans += 1;
        write!(out, "{comma}\n    {}", to_json(&plan.report, 2)?)
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        let close = if self.plans == 0 { "]" } else { "\n  ]" };
        let (not_read, summary) = (to_json(&not_read, 1)?, to_json(summary, 1)?);
        write!(out, "{close},\n  \"not_read\": {not_read},\n  \"summary\": {summary}\n}}\n")
    }
}

/// A value as JSON, indented as if it stood this many levels deep, every character that could steer a terminal escaped.
///
/// # Errors
/// When the value cannot be written as JSON.
pub fn to_json<T: Serialize + ?Sized>(value: &T, level: usize) -> io::Result<String> {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Safe(PrettyFormatter::new()));
    value.serialize(&mut serializer).map_err(io::Error::other)?;
    let text = String::from_utf8(bytes).map_err(io::Error::other)?;
    // No raw line end stands inside a JSON string, so every one here is layout.
    Ok(text.replace('\n', &format!("\n{}", "  ".repeat(level))))
}

/// JSON layout that writes unsafe characters as `\uXXXX`.
struct Safe(PrettyFormatter<'static>);

impl Formatter for Safe {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        let mut rest = fragment;
        while let Some((at, c)) = rest.char_indices().find(|(_, c)| is_unsafe(*c)) {
            writer.write_all(&rest.as_bytes()[..at])?;
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                write!(writer, "\\u{unit:04x}")?;
            }
            rest = &rest[at + c.len_utf8()..];
        }
        writer.write_all(rest.as_bytes())
    }
    fn write_char_escape<W: ?Sized + Write>(&mut self, writer: &mut W, escape: CharEscape) -> io::Result<()> {
        self.0.write_char_escape(writer, escape)
    }
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }
    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }
    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }
    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }
    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }
    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }
    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }
    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }
    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn characters_that_steer_a_terminal_are_escaped() {
        let json = super::to_json("a\u{1b}[31m\u{202e}\u{9b}é", 0).expect("a string");
        assert_eq!(json, r#""a\u001b[31m\u202e\u009bé""#);
        assert_eq!(serde_json::from_str::<String>(&json).expect("JSON"), "a\u{1b}[31m\u{202e}\u{9b}é");
    }
}
