//! Where reports go: to standard output, and to files that are there whole or not at all.

use std::io::{self, Write};
use std::path::PathBuf;
use std::str::FromStr;

use clap::ValueEnum;

use super::whole::Whole;
use crate::report::{Github, Json, Judged, Junit, Markdown, NotRead, Paper, Printer, Sarif, Short, Summary, Terminal};

/// How findings are written.
#[derive(Debug, Clone, Copy, Default, ValueEnum)]
pub enum Format {
    /// For people: the words underlined, why, what to do, the working
    #[default]
    Terminal,
    /// One line a finding
    Short,
    /// For machines (`testlamp schema report` prints its schema)
    Json,
    /// SARIF 2.1.0, for code scanning and viewers
    Sarif,
    /// `JUnit` XML, for the test page of a CI: what holds the gate is a failure
    Junit,
    /// Annotations of GitHub Actions
    Github,
    /// For the comment of a merge request
    Markdown,
}

impl Format {
    fn printer(self, paper: Paper) -> Box<dyn Printer> {
        match self {
            Self::Terminal => Box::new(Terminal::new(paper)),
            Self::Short => Box::new(Short { paper }),
            Self::Json => Box::new(Json::default()),
            Self::Sarif => Box::new(Sarif::default()),
            Self::Junit => Box::new(Junit::default()),
            Self::Github => Box::new(Github::new(paper)),
            Self::Markdown => Box::new(Markdown::default()),
        }
    }
}

/// A report that goes to a file.
#[derive(Debug, Clone)]
pub struct Output {
    format: Format,
    file: PathBuf,
}

impl FromStr for Output {
    type Err = String;

    fn from_str(written: &str) -> Result<Self, String> {
        let (format, file) = written.split_once('=').unwrap_or((written, ""));
        if file.is_empty() {
            return Err("write a format, an equals sign and a file, like json=report.json".into());
        }
        let format = Format::from_str(format.trim(), true).map_err(|_| {
            let known: Vec<String> = Format::value_variants()
                .iter()
                .filter_map(Format::to_possible_value)
                .map(|v| v.get_name().into())
                .collect();
            format!("`{}` is no format; write {}", crate::words::excerpt(format, 40), crate::words::either(&known))
        })?;
        Ok(Self { format, file: file.into() })
    }
}

/// All reports of a run.
pub struct Deliveries<'a> {
    out: &'a mut dyn Write,
    printer: Box<dyn Printer>,
    files: Vec<ToFile>,
}

struct ToFile {
    printer: Box<dyn Printer>,
    file: Whole,
}

impl<'a> Deliveries<'a> {
    /// Opens every report.
    ///
    /// # Errors
    /// When one cannot be opened.
    pub fn open(format: Format, outputs: &[Output], paper: Paper, out: &'a mut dyn Write) -> io::Result<Self> {
        let mut printer = format.printer(paper);
        let files = outputs.iter().map(ToFile::open).collect::<io::Result<Vec<_>>>()?;
        printer.begin(out)?;
        Ok(Self { out, printer, files })
    }

    /// One plan.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn plan(&mut self, plan: &Judged) -> io::Result<()> {
        for ToFile { printer, file } in &mut self.files {
            printer.plan(file, plan)?;
        }
        self.printer.plan(self.out, plan)
    }

    /// Hands over what is written so far.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }

    /// What stands after the last plan; only now files take the place of older ones.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn end(self, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        let Self { out, mut printer, files } = self;
        printer.end(out, not_read, summary)?;
        out.flush()?;
        files.into_iter().try_for_each(|file| file.end(not_read, summary))
    }
}

impl ToFile {
    fn open(output: &Output) -> io::Result<Self> {
        let mut file = Whole::open(&output.file)?;
        let mut printer = output.format.printer(Paper::default());
        printer.begin(&mut file)?;
        Ok(Self { printer, file })
    }

    fn end(self, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        let Self { mut printer, mut file } = self;
        printer.end(&mut file, not_read, summary)?;
        file.keep()
    }
}
