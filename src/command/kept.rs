//! What is kept of a run beside its reports: the gate record, the baseline, the time that every part took.

use std::io;
use std::path::Path;

use super::baseline::{Baseline, Ledger};
use super::bench::{Bench, Beside};
use super::record::Book;
use super::{complain, timings};
use crate::judge::Times;
use crate::report::{NotRead, Summary};

/// What is kept of all plans so far.
pub struct Kept {
    ledger: Ledger,
    book: Option<Book>,
    times: Times,
}

impl Kept {
    /// Nothing yet, and a gate record where one is wanted.
    ///
    /// # Errors
    /// When the record cannot be opened.
    pub fn open(record: Option<&Path>) -> io::Result<Self> {
        Ok(Self { ledger: Ledger::default(), book: record.map(Book::open).transpose()?, times: Times::default() })
    }

    /// What is kept of a plan.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn take(&mut self, beside: Beside) -> io::Result<()> {
        if let Some(filed) = beside.filed {
            self.ledger.take(filed);
        }
        if let Some(times) = &beside.times {
            self.times.add(times);
        }
        self.line(beside.line)
    }

    fn line(&mut self, line: Option<String>) -> io::Result<()> {
        self.book.as_mut().zip(line).map_or(Ok(()), |(book, line)| book.line(&line))
    }

    /// Entries of the baseline for plans that are gone.
    pub fn gone(&self, bench: &Bench<'_>) -> usize {
        bench.baseline.as_ref().map_or(0, |baseline| baseline.gone(&self.ledger))
    }

    /// Puts files in their place and tells what is left to tell.
    ///
    /// # Errors
    /// When something cannot be written; older files are still there then.
    pub fn end(mut self, bench: Bench<'_>, not_read: &[NotRead], summary: &Summary, quiet: bool) -> io::Result<()> {
        if let Some(stamp) = &bench.stamp {
            not_read.iter().try_for_each(|not_read| self.line(Some(stamp.not_read(not_read))))?;
        }
        let gone = self.gone(&bench);
        if gone > 0 {
            complain(&format!("{} in the baseline for plans that are gone", entries(gone)));
        }
        self.book.map_or(Ok(()), Book::keep)?;
        if bench.timed {
            timings::write(&self.times, &bench.rules, summary.plans, &mut io::stderr().lock())?;
        }
        file_away(bench.baseline, self.ledger, summary, quiet)
    }
}

/// Writes the baseline anew where that was asked for.
fn file_away(baseline: Option<Baseline>, ledger: Ledger, summary: &Summary, quiet: bool) -> io::Result<()> {
    let Some(baseline) = baseline.filter(Baseline::is_written) else { return Ok(()) };
    let name = baseline.name();
    if summary.counts.broken > 0 {
        complain(&format!("{name} stays as it was, because a rule broke down"));
        return Ok(());
    }
    let left = baseline.write(ledger)?;
    if !quiet {
        complain(&format!("{} in {name}; {} taken out", entries(left), entries(summary.counts.stale)));
    }
    Ok(())
}

fn entries(number: usize) -> String {
    if number == 1 { "1 entry".into() } else { format!("{number} entries") }
}
