//! From the words on the command line to files.

use std::collections::{HashMap, HashSet};
use std::ffi::OsString;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use globset::GlobBuilder;
use ignore::{DirEntry, WalkBuilder};

use super::reason;
use crate::report::NotRead;

/// No plan is as large; a larger file is no plan, and reading it would cost more than it tells.
const LARGEST: u64 = 16 << 20;
const TOO_LARGE: &str = "it is larger than 16 MB, and a plan is a few hundred lines";

/// Where an input comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// It was named.
    Named,
    /// It was found by a pattern, and may hold something other than a plan.
    Matched,
    /// It was found in a folder, and may hold something other than a plan.
    Found,
    /// Standard input.
    Stdin,
}

/// One text to judge.
#[derive(Debug, Clone)]
pub struct Input {
    /// Where it is; of standard input, what to call it.
    pub path: Arc<Path>,
    /// Where it comes from.
    pub kind: Kind,
    /// Which argument brought it.
    pub argument: usize,
    /// The house that judges it, by its place in [`super::houses::Houses`].
    pub house: usize,
}

/// What the arguments stand for.
#[derive(Debug, Default)]
pub struct Inputs {
    /// Everything to judge, in the order of the arguments, folders sorted by path.
    pub list: Vec<Input>,
    /// What could not be read.
    pub not_read: Vec<NotRead>,
    /// Arguments that only name again what an earlier one brought.
    pub repeated: HashSet<usize>,
    seen: HashSet<Own>,
    /// Folders without links in their paths, by the path they were come by, each with a number of its own.
    folders: HashMap<PathBuf, usize>,
    numbers: HashMap<PathBuf, usize>,
}

/// What a file is known by, whatever way led to it: the number of its folder and its name there.
type Own = (usize, OsString);

impl Inputs {
    /// Finds what the arguments stand for.
    pub fn find(arguments: &[PathBuf], stdin_name: &str) -> Self {
        let mut inputs = Self::default();
        for (at, argument) in arguments.iter().enumerate() {
            inputs.argument(at, argument, stdin_name);
        }
        inputs
    }

    /// The arguments that brought something.
    pub fn arguments(&self) -> HashSet<usize> {
        self.list.iter().map(|input| input.argument).collect()
    }

    fn argument(&mut self, at: usize, argument: &Path, stdin_name: &str) {
        if argument.as_os_str() == "-" {
            let own = (usize::MAX, argument.as_os_str().to_owned());
            return self.push(at, own, Path::new(stdin_name), Kind::Stdin);
        }
        match argument.metadata() {
            Ok(found) if found.is_dir() => self.walk(at, argument, Kind::Found, &|path| is_yaml(path)),
            Ok(found) if found.is_file() => {
                let own = self.own(argument, argument.is_symlink());
                self.push(at, own, argument, Kind::Named);
            }
            Ok(_) => self.fail(argument, "it is neither a file nor a folder (use - to read from a pipe)"),
            Err(error) => match argument.to_str().filter(|text| is_pattern(text)) {
                Some(pattern) => self.pattern(at, pattern),
                None => self.fail(argument, &reason(&error)),
            },
        }
    }

    fn pattern(&mut self, at: usize, pattern: &str) {
        let wanted = pattern.strip_prefix("./").unwrap_or(pattern);
        let matcher = match GlobBuilder::new(wanted).literal_separator(true).build() {
            Ok(glob) => glob.compile_matcher(),
            Err(error) => {
                return self.fail(Path::new(pattern), &format!("the pattern cannot be read: {}", error.kind()));
            }
        };
        let fixed = fixed_part(wanted);
        let root = if fixed.as_os_str().is_empty() { PathBuf::from(".") } else { fixed };
        if root.is_dir() {
            self.walk(at, &root, Kind::Matched, &|path| matcher.is_match(path.strip_prefix("./").unwrap_or(path)));
        }
    }

    fn walk(&mut self, at: usize, root: &Path, how: Kind, wanted: &dyn Fn(&Path) -> bool) {
        let walk = WalkBuilder::new(root).require_git(false).sort_by_file_path(Ord::cmp).build();
        for entry in walk {
            match entry {
                Ok(entry) if wanted(entry.path()) => self.entry(at, &entry, how),
                Ok(_) => {}
                Err(error) => {
                    let path = failed_path(&error).unwrap_or(root).to_owned();
                    let why =
                        error.into_io_error().map_or_else(|| "it cannot be walked".into(), |error| reason(&error));
                    self.fail(&path, &why);
                }
            }
        }
    }

    fn entry(&mut self, at: usize, entry: &DirEntry, how: Kind) {
        let kind = entry.file_type();
        if kind.is_some_and(|kind| kind.is_file()) {
            let own = self.own(entry.path(), false);
            return self.push(at, own, entry.path(), how);
        }
        if kind.is_some_and(|kind| kind.is_symlink()) {
            match entry.path().metadata() {
                Ok(target) if target.is_file() => {
                    let own = self.own(entry.path(), true);
                    self.push(at, own, entry.path(), how);
                }
                Ok(_) => {}
                Err(_) => self.fail(entry.path(), "the link leads nowhere"),
            }
        }
    }

    /// What a file is known by. Of a folder with a hundred thousand of them the links are followed once.
    fn own(&mut self, path: &Path, is_link: bool) -> Own {
        let target = is_link.then(|| path.canonicalize().ok()).flatten();
        let path = target.as_deref().unwrap_or(path);
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let number = self.folders.get(folder).copied().unwrap_or_else(|| {
            let without_links = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
            let next = self.numbers.len();
            let number = *self.numbers.entry(without_links).or_insert(next);
            self.folders.insert(folder.to_owned(), number);
            number
        });
        (number, path.file_name().unwrap_or_default().to_owned())
    }

    /// Adds an input unless it is there already, by this name or another: a plan is judged once, by the first of its names.
    fn push(&mut self, argument: usize, own: Own, path: &Path, kind: Kind) {
        if self.seen.insert(own) {
            self.list.push(Input { path: path.into(), kind, argument, house: 0 });
        } else {
            self.repeated.insert(argument);
        }
    }

    fn fail(&mut self, path: &Path, why: &str) {
        self.not_read.push(NotRead { path: shown(path), why: why.to_owned() });
    }
}

impl Input {
    /// What to call it.
    pub fn name(&self) -> String {
        if self.kind == Kind::Stdin { self.path.display().to_string() } else { shown(&self.path) }
    }

    /// An input named on its own.
    pub fn named(path: &Path) -> Result<Self, NotRead> {
        let mut inputs = Inputs::default();
        match path.metadata() {
            Ok(found) if found.is_dir() => inputs.fail(path, "it is a folder; name one plan"),
            _ => inputs.argument(0, path, "stdin"),
        }
        let nothing = || NotRead { path: shown(path), why: "there is no such file".into() };
        inputs.list.pop().ok_or_else(|| inputs.not_read.pop().unwrap_or_else(nothing))
    }

    /// Its bytes.
    ///
    /// # Errors
    /// Why it could not be read.
    pub fn read(&self) -> Result<Vec<u8>, NotRead> {
        let read = match self.kind {
            Kind::Stdin => read(&mut io::stdin().lock()),
            Kind::Named | Kind::Matched | Kind::Found => File::open(&self.path).and_then(|mut file| read(&mut file)),
        };
        let not_read = |why: &str| NotRead { path: self.name(), why: why.to_owned() };
        match read {
            Ok(bytes) if bytes.len() as u64 > LARGEST => Err(not_read(TOO_LARGE)),
            Ok(bytes) => Ok(bytes),
            Err(error) => Err(not_read(&reason(&error))),
        }
    }
}

fn read(from: &mut dyn Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(LARGEST + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

pub(super) fn shown(path: &Path) -> String {
    let path = path.strip_prefix("./").unwrap_or(path);
    if path.as_os_str().is_empty() { ".".into() } else { path.display().to_string() }
}

fn is_yaml(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "yaml" || ending == "yml")
}

/// Everything before the first part of a pattern with a wildcard: a folder.
pub(super) fn fixed_part(pattern: &str) -> PathBuf {
    let fixed = |part: &std::path::Component<'_>| part.as_os_str().to_str().is_some_and(|part| !is_pattern(part));
    Path::new(pattern).components().take_while(fixed).collect()
}

pub(super) fn is_pattern(text: &str) -> bool {
    text.contains(['*', '?', '[', '{'])
}

/// The path that an error of the walk speaks of.
fn failed_path(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => failed_path(err),
        _ => None,
    }
}

/// Whether a file that was found and not named seems to be meant as a plan. What cannot be told from its bytes counts as
/// one, so that no plan is passed over in silence.
pub fn looks_like_plan(bytes: &[u8]) -> bool {
    let wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    // Between braces a key may stand anywhere; otherwise it begins its line.
    let in_braces = text.trim_ascii_start().first().is_some_and(|byte| *byte == b'{');
    let opens = |byte: &u8| in_braces && (byte.is_ascii_whitespace() || *byte == b'{');
    let names_it = |part: &[u8]| {
        let part = &part[part.iter().take_while(|byte| opens(byte)).count()..];
        let keys = [b"plan".as_slice(), b"\"plan\"", b"'plan'"];
        let mut rests = keys.iter().filter_map(|key| part.strip_prefix(*key));
        rests.any(|rest| rest.trim_ascii_start().starts_with(b":"))
    };
    let parts = text.split(|byte| matches!(byte, b'\n' | b'\r') || in_braces && *byte == b',');
    wide || parts.into_iter().any(names_it)
}

#[cfg(test)]
mod tests {
    use super::looks_like_plan;

    #[test]
    fn a_plan_is_told_by_its_key() {
        for plan in [
            "plan: 1",
            "\u{feff}plan: 1",
            "# words\nplan: 1\n",
            "{plan: 1}",
            "{ \"plan\" : 1 }",
            "{a: 1, plan: 1}",
            "a: 1\r\nplan: 1",
        ] {
            assert!(looks_like_plan(plan.as_bytes()), "{plan:?}");
        }
        for other in ["", "# plan: 1", "job:\n  plan: 1", "plans: 1", "planning: 1", "a, plan: 1"] {
            assert!(!looks_like_plan(other.as_bytes()), "{other:?}");
        }
    }
}
