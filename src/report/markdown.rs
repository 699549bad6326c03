//! For the comment of a merge request: a verdict, a table a plan, the rest folded.
//!
//! The verdict stands first and is known last, so that the page is held until the end; its length is bounded.

use std::fmt::Write as _;
use std::io::{self, Write};

use super::model::{Fact, NotRead, PlanReport, RuleOff, Summary, Supposed};
use super::place::Here;
use super::terminal::summary_line;
use super::told::{Standing, Told, told, verdict};
use super::{Judged, Printer};
use crate::plan::Stage;
use crate::words::{count, excerpt};

/// Forges take comments of 65,536 characters and more; the verdict and the end need some of that.
const LONGEST: usize = 60_000;
/// More rows are counted, not shown.
const MOST_ROWS: usize = 50;
/// More facts to find out are counted, not shown.
const MOST_FACTS: usize = 20;
/// Longer pieces of text are cut.
const LONGEST_PIECE: usize = 300;

/// Prints one page of markdown.
#[derive(Debug)]
pub struct Markdown {
    here: Here,
    body: String,
    left_out: usize,
}

impl Default for Markdown {
    fn default() -> Self {
        Self { here: Here::current(), body: String::new(), left_out: 0 }
    }
}

impl Printer for Markdown {
    fn begin(&mut self, _: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }

    fn plan(&mut self, _: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let report = &plan.report;
        let all = told(report);
        let rows: Vec<&Told<'_>> = all.iter().filter(|told| told.standing != Standing::Open).collect();
        if rows.is_empty() && report.find_out.is_empty() {
            return Ok(());
        }
        let table = heading(report, &self.here) + &table(&rows);
        let folds = details(&rows) + &waived(&rows) + &find_out(&report.find_out);
        let room = LONGEST.saturating_sub(self.body.len());
        if table.len() + folds.len() <= room {
            self.body += &(table + &folds);
        } else if table.len() <= room {
            self.body += &table;
        } else {
            self.left_out += 1;
        }
        Ok(())
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        writeln!(out, "**testlamp: {}** · {}", verdict(summary.status), summary_line(summary))?;
        for input in not_read.iter().take(MOST_FACTS) {
            let path = plain(&self.here.relative(&input.path));
            writeln!(out, "\n{path} could not be read: {}", plain(&input.why))?;
        }
        out.write_all(more(not_read.len(), MOST_FACTS, "input").as_bytes())?;
        out.write_all(self.body.as_bytes())?;
        match self.left_out {
            0 => Ok(()),
            many => {
                writeln!(out, "\nNo room was left for {}; other formats of the report hold all.", count(many, "plan"))
            }
        }
    }
}

fn heading(report: &PlanReport, here: &Here) -> String {
    let stage = match report.stage {
        Stage::Draft => "draft",
        Stage::Planned => "planned",
        Stage::Installed => "installed",
    };
    let mut heading = format!("\n### {} ({stage})\n", plain(&here.relative(&report.path)));
    for RuleOff { code, reason } in report.house.iter().flat_map(|house| &house.rules_off) {
        let _ = writeln!(heading, "\n{code} is off: {}.", plain(reason));
    }
    for Supposed { path, value } in &report.supposed {
        let _ = writeln!(heading, "\nJudged as if it said {} = {}.", plain(path), plain(value));
    }
    heading
}

/// What stands in the way or should be told, a row each.
fn table(rows: &[&Told<'_>]) -> String {
    let rows: Vec<&&Told<'_>> = rows.iter().filter(|told| told.standing != Standing::Waived).collect();
    if rows.is_empty() {
        return String::new();
    }
    let mut table = String::from("\n| | rule | line | what |\n|---|---|---|---|\n");
    for told in rows.iter().take(MOST_ROWS) {
        let follows = told.follows.map(|_| format!(" ({})", plain(&told.mend))).unwrap_or_default();
        let (kind, rule, line) = (told.kind(), told.rule(), told.at.line);
        let _ = writeln!(table, "| {kind} | {rule} | {line} | {}{follows} |", plain(&told.title));
    }
    table + &more(rows.len(), MOST_ROWS, "row")
}

/// Why, what to do and the numbers.
fn details(rows: &[&Told<'_>]) -> String {
    let rows = rows.iter().filter(|told| told.standing != Standing::Waived && told.follows.is_none());
    let mut list = String::new();
    for told in rows.take(MOST_ROWS) {
        let place = format!("line {}", told.at.line);
        let head = if told.rule().is_empty() { place } else { format!("{}, {place}", told.rule()) };
        // The table has said what was found.
        let sentences: Vec<String> = told.sentences().iter().skip(1).map(|words| plain(words)).collect();
        if sentences.is_empty() && told.working.is_none() {
            continue;
        }
        let _ = writeln!(list, "- **{head}**: {}", sentences.join(" "));
        for step in told.steps() {
            let _ = writeln!(list, "  - {}", plain(&step));
        }
    }
    folded("Why, what to do, and the working", &list)
}

fn waived(rows: &[&Told<'_>]) -> String {
    let rows: Vec<&&Told<'_>> = rows.iter().filter(|told| told.standing == Standing::Waived).collect();
    let mut list = String::new();
    for told in rows.iter().take(MOST_ROWS) {
        let (kind, rule, line) = (told.kind(), told.rule(), told.at.line);
        let _ = writeln!(list, "- {kind} {rule}, line {line}: {}; {}", plain(&told.title), plain(&told.mend));
    }
    folded(&format!("{} waived", rows.len()), &(list + &more(rows.len(), MOST_ROWS, "waived check")))
}

fn find_out(facts: &[Fact]) -> String {
    let mut list = String::new();
    for fact in facts.iter().take(MOST_FACTS) {
        let _ =
            writeln!(list, "- {} ({}): {}", plain(&fact.heading()), plain(&fact.path), plain(&fact.words().join("; ")));
    }
    folded(&format!("{} to find out", count(facts.len(), "fact")), &(list + &more(facts.len(), MOST_FACTS, "fact")))
}

/// A list behind a heading that opens it; nothing where the list is empty.
fn folded(heading: &str, list: &str) -> String {
    if list.is_empty() {
        return String::new();
    }
    format!("\n<details><summary>{heading}</summary>\n\n{list}\n</details>\n")
}

fn more(all: usize, shown: usize, noun: &str) -> String {
    all.checked_sub(shown + 1).map(|more| format!("\nand {} more\n", count(more + 1, noun))).unwrap_or_default()
}

/// Somebody's words as words: markup is spelt out as character references, and what forges read as a mention, a
/// reference, a link or a short code after all is parted by a word joiner, which nobody sees.
fn plain(words: &str) -> String {
    const MARKUP: &str = "\\`*_{}[]<>#!|~$&@^";
    const REFERS: &str = "@#!$~%&:^{[";
    let short = excerpt(words, LONGEST_PIECE);
    let mut text = String::with_capacity(short.len());
    let mut before = ' ';
    let mut rest = short.chars().peekable();
    while let Some(c) = rest.next() {
        // `www.` begins a link too.
        if MARKUP.contains(c) || (c == '.' && before.eq_ignore_ascii_case(&'w')) {
            let _ = write!(text, "&#{};", u32::from(c));
        } else {
            text.push(c);
        }
        let parts = REFERS.contains(c) || (c == '.' && before.eq_ignore_ascii_case(&'w'));
        if parts && rest.peek().is_some_and(|next| !next.is_whitespace()) {
            text.push_str("&#8288;");
        }
        before = c;
    }
    text
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn plain_words_stay_as_they_are() {
        assert_eq!(
            plain("80 A fuse on wires.main: 38.4 to 39.6 A, 100 %"),
            "80 A fuse on wires.main: 38.4 to 39.6 A, 100 %"
        );
    }

    #[test]
    fn markup_and_references_are_words() {
        assert_eq!(plain("a|b `c`"), "a&#124;b &#96;c&#96;");
        assert_eq!(plain("@who"), "&#64;&#8288;who");
        assert_eq!(plain("http://x"), "http:&#8288;//x");
        assert_eq!(plain("www.x"), "www&#46;&#8288;x");
        assert_eq!(plain("<b>"), "&#60;b&#62;");
    }
}
