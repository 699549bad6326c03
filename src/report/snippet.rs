//! Words of a plan, underlined.

use std::fmt::{self, Display};
use std::ops::Range;
use std::sync::OnceLock;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity,
    SourceCode, SourceSpan, SpanContents, ThemeCharacters, ThemeStyles,
};

use super::model::Spot;
use super::{Paper, clean};
use crate::text::Lines;
use crate::words::is_unsafe;

/// Longer lines are not drawn; a few words around the place stand for them.
const LONGEST_LINE: usize = 400;
/// Places further apart than this many lines are not drawn together.
const FAR: usize = 10;
/// What stands before every line of a headline: a margin and a sign.
const HEADLINE_INDENT: usize = 6;
/// How many characters of a long line are shown before and after a place.
const AROUND: usize = 30;

/// One text, ready to be drawn from.
#[derive(Debug)]
pub struct Source<'a> {
    name: String,
    text: &'a str,
    /// Made when something is drawn: most plans have nothing to show.
    drawing: OnceLock<Drawing>,
}

#[derive(Debug)]
struct Drawing {
    safe: String,
    lines: Lines,
}

/// A place with what to say about it.
pub struct Mark<'a> {
    /// Where.
    pub at: &'a Spot,
    /// What to say there.
    pub label: String,
}

impl<'a> Source<'a> {
    /// A text under the name that is shown for it.
    pub fn new(name: &str, text: &'a str) -> Self {
        Self { name: clean(name), text, drawing: OnceLock::new() }
    }

    fn drawing(&self) -> &Drawing {
        self.drawing.get_or_init(|| Drawing { safe: disarm(self.text), lines: Lines::new(self.text) })
    }

    fn lines(&self) -> &Lines {
        &self.drawing().lines
    }

    fn safe(&self) -> &str {
        &self.drawing().safe
    }

    /// What the plan is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// A headline with the marked words of the text below it, the first mark being the one it is about.
    pub fn draw(&self, paper: &Paper, severity: Severity, headline: &str, marks: &[Mark<'_>]) -> String {
        // The primary place decides whether anything is drawn; others are drawn where they stand near it.
        let drawable = marks.first().is_some_and(|mark| self.is_drawable(mark.at));
        let near = |mark: &Mark<'_>| drawable && self.is_drawable(mark.at) && self.is_near(mark.at, marks[0].at);
        let labels = marks.iter().enumerate().filter(|(_, mark)| near(mark)).map(|(at, mark)| {
            let label = Some(clean(&mark.label)).filter(|label| !label.is_empty());
            let span = (mark.at.start, mark.at.end - mark.at.start);
            match at {
                0 => LabeledSpan::new_primary_with_span(label, span),
                _ => LabeledSpan::new_with_span(label, span),
            }
        });
        let mut labels: Vec<LabeledSpan> = labels.collect();
        labels.sort_by_key(|label| (label.offset(), label.len()));
        let headline = paper.lines(&clean(headline), HEADLINE_INDENT).join("\n");
        let shown = Shown { source: self, severity, headline, labels };
        let mut drawn = String::new();
        if handler(paper).render_report(&mut drawn, &shown).is_err() {
            drawn = format!("  {}\n", shown.headline);
        }
        drawn.extend(marks.iter().filter(|mark| !near(mark)).map(|mark| self.in_words(mark)));
        drawn
    }

    /// Whether there is something to draw and every line of it is short enough.
    fn is_drawable(&self, at: &Spot) -> bool {
        let (first, last) = (self.lines().line(at.start), self.lines().line(at.end));
        let near = first.saturating_sub(1)..=(last + 1).min(first + 4);
        !self.text.trim().is_empty()
            && last - first <= 3
            && near.into_iter().all(|line| self.lines().range(self.text, line).len() <= LONGEST_LINE)
    }

    /// Whether two places fit into one drawing without a page of lines between them.
    fn is_near(&self, one: &Spot, other: &Spot) -> bool {
        self.lines().line(one.start).abs_diff(self.lines().line(other.start)) <= FAR
    }

    /// A place in words, with what stands around it.
    fn in_words(&self, mark: &Mark<'_>) -> String {
        let Spot { start, end, line, column } = *mark.at;
        let row = self.lines().range(self.text, self.lines().line(start));
        let before: Vec<char> = self.safe()[row.start.min(start)..start].chars().rev().take(AROUND).collect();
        let after = self.safe()[start..row.end.max(start).min(self.safe().len())]
            .chars()
            .take(AROUND.max((end - start).min(AROUND)));
        let around: String = before.into_iter().rev().chain(after).collect();
        let mut words = format!("    {}:{line}:{column}", self.name);
        for part in [mark.label.as_str(), around.trim()] {
            if !part.is_empty() {
                words.push_str("  ");
                words.push_str(&clean(part));
            }
        }
        words.push('\n');
        words
    }
}

/// The text with every character that could steer a terminal replaced by as many bytes of harmless ones, so that all
/// places stay true. A lone carriage return ends a line, as it does in YAML.
fn disarm(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\n' | '\t' => safe.push(c),
            '\r' if rest.peek() == Some(&'\n') => safe.push(' '),
            '\r' => safe.push('\n'),
            '\u{feff}' if safe.is_empty() => safe.push_str("   "),
            _ if is_unsafe(c) => safe.extend(std::iter::repeat_n('?', c.len_utf8())),
            _ => safe.push(c),
        }
    }
    safe
}

/// How snippets are drawn: links off, so that nothing but text reaches the terminal.
fn handler(paper: &Paper) -> GraphicalReportHandler {
    let mut characters = if paper.unicode { ThemeCharacters::unicode() } else { ThemeCharacters::ascii() };
    if !paper.unicode {
        (characters.error, characters.warning, characters.advice) = ("x".into(), "!".into(), "-".into());
    }
    let styles = if paper.colour { ThemeStyles::ansi() } else { ThemeStyles::none() };
    GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
        .with_width(paper.width)
        .with_wrap_lines(false)
        .with_links(false)
        .with_context_lines(1)
        .without_syntax_highlighting()
}

/// The one kind of thing that is drawn.
#[derive(Debug)]
struct Shown<'a> {
    source: &'a Source<'a>,
    severity: Severity,
    headline: String,
    labels: Vec<LabeledSpan>,
}

impl Display for Shown<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.headline)
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        (!self.labels.is_empty()).then(|| Box::new(self.labels.iter().cloned()) as Box<_>)
    }
}

impl SourceCode for Source<'_> {
    /// The lines of a span and those around it, found by the index of lines and not by reading from the start.
    fn read_span<'s>(
        &'s self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'s> + 's>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        if end > self.safe().len() {
            return Err(MietteError::OutOfBounds);
        }
        let (first, last) = (self.lines().line(start), self.lines().line(end));
        let top = first.saturating_sub(before);
        let from = self.lines().range(self.text, top).start;
        let to = self.lines().range(self.text, last + after).end.max(end);
        let data: Range<usize> = from..to.min(self.safe().len());
        let column = if before == 0 { self.safe()[from..start].chars().count() } else { 0 };
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            &self.safe().as_bytes()[data.clone()],
            (data.start, data.len()).into(),
            top,
            column,
            last + after,
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::disarm;

    #[test]
    fn a_disarmed_text_keeps_every_place() {
        let text = "\u{feff}a\u{1b}[2J\u{202e}é\r\nb\rc\td\u{85}";
        let safe = disarm(text);
        assert_eq!(safe.len(), text.len());
        assert_eq!(safe, "   a?[2J???é \nb\nc\td??");
    }
}
