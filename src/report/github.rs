//! Annotations of GitHub Actions: workflow commands on standard output, one line each.
//!
//! The format is documented under "Workflow commands for GitHub Actions": `::error file=…,line=…,title=…::message`. Data
//! escapes `%`, carriage return and line feed; properties escape `:` and `,` as well.

use std::io::{self, Write};

use super::model::{NotRead, Summary};
use super::place::{Here, Ruler};
use super::terminal::summary_line;
use super::told::{Standing, Told, told};
use super::{Judged, Paper, Printer};
use crate::judge::Severity;
use crate::words::excerpt;

/// An annotation takes no more than 64 kB; a person reads less.
const LONGEST_MESSAGE: usize = 4000;
/// Longer titles are cut off by the page that shows them.
const LONGEST_TITLE: usize = 200;

/// Prints workflow commands.
#[derive(Debug)]
pub struct Github {
    paper: Paper,
    here: Here,
}

impl Github {
    /// Annotations, and the summary unless the paper is quiet.
    pub fn new(paper: Paper) -> Self {
        Self { paper, here: Here::current() }
    }
}

impl Printer for Github {
    fn begin(&mut self, _: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let ruler = Ruler::new(&plan.text);
        let file = property(&self.here.relative(&plan.report.path));
        for told in told(&plan.report).iter().filter(|told| told.standing != Standing::Open) {
            let at = ruler.region(&told.at);
            let title = format!("{} {}", told.kind(), told.rule());
            let title = property(&excerpt(title.trim(), LONGEST_TITLE));
            write!(out, "::{} file={file},line={},endLine={}", level(told), at.start_line, at.end_line)?;
            // Columns are taken only where they lie in one line.
            if at.start_line == at.end_line {
                write!(out, ",col={},endColumn={}", at.start_column, at.end_column)?;
            }
            writeln!(out, ",title={title}::{}", message(&told.sentences()))?;
        }
        Ok(())
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        for input in not_read {
            let file = property(&self.here.relative(&input.path));
            writeln!(out, "::error file={file},title=not read::{}", message(std::slice::from_ref(&input.why)))?;
        }
        if self.paper.quiet { Ok(()) } else { writeln!(out, "{}", summary_line(summary)) }
    }
}

fn level(told: &Told<'_>) -> &'static str {
    match (told.standing, told.severity) {
        (Standing::Waived, _) | (_, Severity::Advice) => "notice",
        (_, Severity::Fault) => "warning",
        (_, Severity::Danger) => "error",
    }
}

/// Sentences, a line each, as the data of a command.
fn message(sentences: &[String]) -> String {
    let lines: Vec<String> = sentences.iter().map(|words| excerpt(words, LONGEST_MESSAGE)).collect();
    data(&lines.join("\n"))
}

fn data(words: &str) -> String {
    words.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

fn property(words: &str) -> String {
    data(&crate::report::clean(words)).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_format_reads_as_its_own_is_escaped() {
        assert_eq!(data("50 %\n%0A::error::x"), "50 %25%0A%250A::error::x");
        assert_eq!(property("a,b:c%3A\n"), "a%2Cb%3Ac%253A\u{fffd}");
    }
}
