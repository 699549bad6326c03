//! How far a long run has come, in one line on standard error that leaves no trace.

use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

/// Work that is done within this time shows nothing.
const PATIENCE: Duration = Duration::from_secs(1);
/// The line is not drawn more often than this.
const PAUSE: Duration = Duration::from_millis(100);
/// Columns of the bar.
const BAR: usize = 24;

/// The line.
pub struct Progress<'a> {
    out: Option<Box<dyn Write + 'a>>,
    all: usize,
    start: Instant,
    drawn: Option<Instant>,
    shown: bool,
    /// Whether the report goes to a terminal as well, most likely the same.
    beside_report: bool,
}

impl<'a> Progress<'a> {
    /// A line for this many files; only where a person watches it.
    pub fn new(all: usize, quiet: bool) -> Self {
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let dumb = set("TERM").is_some_and(|kind| kind == "dumb");
        let watched = io::stderr().is_terminal() && !quiet && !dumb && set("CI").is_none();
        Self::on(watched.then(|| Box::new(io::stderr()) as Box<dyn Write>), all, Instant::now())
    }

    fn on(out: Option<Box<dyn Write + 'a>>, all: usize, start: Instant) -> Self {
        Self { out, all, start, drawn: None, shown: false, beside_report: io::stdout().is_terminal() }
    }

    /// Takes the line away, so that something else can be written.
    pub fn hide(&mut self) {
        if let Some(out) = self.out.as_mut().filter(|_| self.shown) {
            // A line that cannot be drawn is no reason to stop.
            let _ = write!(out, "\r\u{1b}[K").and_then(|()| out.flush());
            self.shown = false;
        }
    }

    /// Takes the line away where the report would run into it.
    pub fn make_way(&mut self) {
        if self.beside_report {
            self.hide();
        }
    }

    /// Whether it is time to draw the line.
    pub fn is_due(&self, now: Instant) -> bool {
        let rested = self.drawn.is_none_or(|drawn| now.duration_since(drawn) >= PAUSE) || !self.shown;
        self.out.is_some() && now.duration_since(self.start) >= PATIENCE && rested
    }

    /// Draws the line: so many files are done.
    pub fn draw(&mut self, done: usize, now: Instant) {
        let all = self.all.max(1);
        let filled = BAR * done.min(all) / all;
        let Some(out) = &mut self.out else { return };
        let bar = format!("{}{}", "#".repeat(filled), ".".repeat(BAR - filled));
        let _ = write!(out, "\r[{bar}] {done} of {} files\u{1b}[K", self.all).and_then(|()| out.flush());
        self.drawn = Some(now);
        self.shown = true;
    }
}

impl Drop for Progress<'_> {
    fn drop(&mut self) {
        self.hide();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_waits_a_second_and_leaves_no_trace() {
        let mut written = Vec::new();
        let start = Instant::now();
        let mut progress = Progress::on(Some(Box::new(&mut written)), 200, start);
        assert!(!progress.is_due(start + Duration::from_millis(999)));
        let now = start + Duration::from_secs(1);
        assert!(progress.is_due(now));
        progress.draw(50, now);
        assert!(!progress.is_due(now + Duration::from_millis(99)));
        assert!(progress.is_due(now + PAUSE));
        progress.hide();
        progress.hide();
        drop(progress);
        let written = String::from_utf8(written).expect("UTF-8");
        assert_eq!(written, "\r[######..................] 50 of 200 files\u{1b}[K\r\u{1b}[K");
    }

    #[test]
    fn where_nobody_watches_it_is_never_due() {
        let start = Instant::now();
        assert!(!Progress::on(None, 200, start).is_due(start + Duration::from_mins(1)));
    }
}
