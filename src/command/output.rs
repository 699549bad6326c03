//! Where answers go.

use std::io::{self, BufWriter, ErrorKind, IsTerminal, StdoutLock, Write};

use clap::ValueEnum;

use crate::report::Paper;

/// When to use colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum ColourChoice {
    /// On a terminal, unless `NO_COLOR` is set
    #[default]
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl ColourChoice {
    /// What to write on, by where the answer goes.
    pub fn paper(self, quiet: bool) -> Paper {
        let terminal = io::stdout().is_terminal();
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let plain = set("NO_COLOR").is_some() || set("TERM").is_some_and(|kind| kind == "dumb");
        let colour = match self {
            Self::Auto => terminal && !plain,
            Self::Always => true,
            Self::Never => false,
        };
        let columns = set("COLUMNS").and_then(|value| value.to_str()?.parse::<usize>().ok());
        let width = if terminal { columns.unwrap_or(80).clamp(50, 140) } else { 100 };
        Paper { width, colour, unicode: terminal, quiet }
    }
}

/// Standard output, locked and buffered. When its reader has gone away the rest is dropped quietly: the run goes on to
/// its exit status, which somebody may still look at.
pub struct Out {
    inner: BufWriter<StdoutLock<'static>>,
    gone: bool,
}

impl Out {
    /// The standard output of this process.
    pub fn stdout() -> Self {
        Self { inner: BufWriter::with_capacity(1 << 16, io::stdout().lock()), gone: false }
    }

    /// Whether nobody reads it any more.
    pub fn is_gone(&self) -> bool {
        self.gone
    }

    fn forgive<T>(&mut self, done: io::Result<T>, instead: T) -> io::Result<T> {
        match done {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.gone = true;
                Ok(instead)
            }
            other => other,
        }
    }
}

impl Write for Out {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.gone {
            return Ok(bytes.len());
        }
        let done = self.inner.write(bytes);
        self.forgive(done, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.gone {
            return Ok(());
        }
        let done = self.inner.flush();
        self.forgive(done, ())
    }
}
