//! Where reports go: to standard output, and to files that are there whole or not at all.

use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

use clap::ValueEnum;
use tempfile::NamedTempFile;

use super::reason;
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
    file: BufWriter<NamedTempFile>,
    path: PathBuf,
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
        for ToFile { printer, file, path } in &mut self.files {
            printer.plan(file, plan).map_err(|error| of_file(path, &error))?;
        }
        self.printer.plan(self.out, plan)
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
        let path = output.file.clone();
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let open = || -> io::Result<Self> {
            if path.is_dir() {
                return Err(io::Error::other("it is a folder"));
            }
            let mut file = BufWriter::new(unfinished(folder)?);
            let mut printer = output.format.printer(Paper::default());
            printer.begin(&mut file)?;
            Ok(Self { printer, file, path: path.clone() })
        };
        open().map_err(|error| of_file(&path, &error))
    }

    fn end(self, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        let Self { mut printer, mut file, path } = self;
        let mut finish = || -> io::Result<()> {
            printer.end(&mut file, not_read, summary)?;
            file.flush()
        };
        finish().map_err(|error| of_file(&path, &error))?;
        let file = file.into_inner().map_err(|error| of_file(&path, error.error()))?;
        file.persist(&path).map_err(|error| of_file(&path, &error.error))?;
        Ok(())
    }
}

/// A file beside the one that it takes the place of in the end, with the rights that any new file gets.
fn unfinished(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.prefix(".testlamp-").tempfile_in(folder)
}

/// Puts a text in the place of a file, whole or not at all. The file keeps its rights; a link keeps pointing to it.
///
/// # Errors
/// When it cannot be written; the old file is then as it was.
pub fn replace(path: &Path, text: &[u8]) -> io::Result<()> {
    let path = path.canonicalize()?;
    let rights = path.metadata()?.permissions();
    if rights.readonly() {
        return Err(io::ErrorKind::PermissionDenied.into());
    }
    let mut file = unfinished(path.parent().unwrap_or(Path::new(".")))?;
    file.write_all(text)?;
    file.as_file().set_permissions(rights)?;
    file.as_file().sync_all()?;
    file.persist(&path)?;
    Ok(())
}

/// An error that names the file it is about.
fn of_file(path: &Path, error: &io::Error) -> io::Error {
    io::Error::other(format!("{}: {}", path.display(), reason(error)))
}
