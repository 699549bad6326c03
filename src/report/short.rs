//! One line a finding, for tools that jump to lines.

use std::io::{self, Write};

use super::model::{NotRead, Spot, Summary};
use super::terminal::summary_line;
use super::{Judged, Paper, Printer, clean};

/// Prints one line a finding.
#[derive(Debug)]
pub struct Short {
    /// What it is written on.
    pub paper: Paper,
}

impl Printer for Short {
    fn begin(&mut self, _: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let report = &plan.report;
        let mut line = |at: &Spot, what: &str, title: &str, mend: &str| {
            let link = if mend.is_empty() { "" } else { "; " };
            let words = clean(&format!("{}:{}:{}: {what}: {title}{link}{mend}", report.path, at.line, at.column));
            writeln!(out, "{words}")
        };
        for unreadable in &report.unreadable {
            line(&unreadable.at, "unreadable", &unreadable.what, &unreadable.mend)?;
        }
        for found in &report.findings {
            let what = format!("{} {} {}", found.severity.word(), found.rule.code, found.rule.name);
            let mend = match &found.follows {
                Some(cause) => format!("follows from {} at {}", cause.code, cause.subject),
                None => found.mend.clone(),
            };
            line(&found.at.at, &what, &found.title, &mend)?;
        }
        for found in &report.waived {
            let what = format!("waived {} {} {}", found.severity.word(), found.rule.code, found.rule.name);
            let signed = found.waiver.as_ref().map(|by| format!("by {} until {}: {}", by.by, by.until, by.reason));
            line(&found.at.at, &what, &found.title, &signed.unwrap_or_default())?;
        }
        for found in &report.baselined {
            let what = format!("baselined {} {} {}", found.severity.word(), found.rule.code, found.rule.name);
            line(&found.at.at, &what, &found.title, "")?;
        }
        for waiting in report.open.iter().filter(|waiting| waiting.baselined) {
            let what = format!("baselined open {} {}", waiting.rule.code, waiting.rule.name);
            line(&waiting.at, &what, &waiting.subject, &format!("find out {}", waiting.asks()))?;
        }
        for stale in &report.stale {
            let start = Spot { start: 0, end: 0, line: 1, column: 1 };
            line(&start, "stale", &stale.words(), "")?;
        }
        for waiting in report.open.iter().filter(|waiting| waiting.holds_gate) {
            let what = format!("open {} {} {}", waiting.severity.word(), waiting.rule.code, waiting.rule.name);
            line(&waiting.at, &what, &waiting.subject, &format!("find out {}", waiting.asks()))?;
        }
        for verdict in report.evidence.iter().flat_map(|evidence| &evidence.verdicts) {
            let at = Spot { start: 0, end: 0, line: verdict.line, column: 1 };
            line(&at, "verdict", &verdict.words(), "")?;
        }
        for broken in &report.broken {
            let start = Spot { start: 0, end: 0, line: 1, column: 1 };
            line(&start, "broken", &broken.words(), "")?;
        }
        Ok(())
    }

    fn end(&mut self, out: &mut dyn Write, _: &[NotRead], summary: &Summary) -> io::Result<()> {
        if self.paper.quiet { Ok(()) } else { writeln!(out, "{}", summary_line(summary)) }
    }
}
