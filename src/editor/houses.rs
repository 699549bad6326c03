//! The house above every open text, read again when something that it rests on has changed.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::SystemTime;

use crate::house::{House, folder_of};
use crate::plan::Day;
use crate::text::{Misread, Tree};

/// The texts that are open in the editor, by file: they count before what is on disk.
pub type Unsaved<'a> = &'a dyn Fn(&Path) -> Option<String>;

/// Finds houses.
#[derive(Debug, Clone, Copy)]
pub struct Finder {
    /// The house that judges a file.
    pub above: fn(&Path, Unsaved<'_>) -> Found,
    /// The house of a house file.
    pub of_file: fn(&Path, Unsaved<'_>) -> Found,
}

/// A house as far as it could be read.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// The settings. What could not be read of them is as testlamp ships it.
    pub house: Rc<House>,
    /// Its file; `None` for what testlamp ships with.
    pub file: Option<PathBuf>,
    /// The files of its shelves, in their order.
    pub shelves: Vec<PathBuf>,
    /// Files and folders that decide what is found, those that might come to be among them.
    pub rests_on: BTreeSet<PathBuf>,
    /// The text of its file.
    pub text: String,
    /// The tree of its file.
    pub tree: Tree,
    /// What could not be read or taken of it and its shelves, in the order of its file.
    pub misreads: Vec<Misread>,
}

/// When a file was last written, and how long it is.
type Stamp = Option<(SystemTime, u64)>;

struct Kept {
    found: Rc<Found>,
    stamps: Vec<(PathBuf, Stamp)>,
}

/// The houses of a session, by folder.
pub struct Houses {
    finder: Finder,
    known: RefCell<BTreeMap<PathBuf, Kept>>,
}

impl Houses {
    /// Nothing is known yet.
    pub fn new(finder: Finder) -> Self {
        Self { finder, known: RefCell::default() }
    }

    /// The house that judges a file. It is read again when anything it rests on has another date or length than before.
    pub fn above(&self, file: &Path, unsaved: Unsaved<'_>) -> Rc<Found> {
        let folder = folder_of(file);
        if let Some(kept) = self.known.borrow().get(folder).filter(|kept| kept.is_current()) {
            return Rc::clone(&kept.found);
        }
        let found = Rc::new((self.finder.above)(file, unsaved));
        let stamps = found.rests_on.iter().map(|file| (file.clone(), stamp(file))).collect();
        self.known.borrow_mut().insert(folder.to_owned(), Kept { found: Rc::clone(&found), stamps });
        found
    }

    /// The house of a house file.
    pub fn of_file(&self, file: &Path, unsaved: Unsaved<'_>) -> Rc<Found> {
        let above = self.above(file, unsaved);
        if above.file.as_deref() == Some(file) { above } else { Rc::new((self.finder.of_file)(file, unsaved)) }
    }

    /// Forgets the houses that rest on a file; the folders whose files they judge.
    pub fn touched(&self, file: &Path) -> Vec<PathBuf> {
        let rests = |kept: &Kept| kept.found.rests_on.contains(file);
        self.forget(rests)
    }

    /// The same for a file that may have come or gone.
    pub fn come_or_gone(&self, file: &Path) -> Vec<PathBuf> {
        let rests_on = |kept: &Kept, file: &Path| kept.found.rests_on.contains(file);
        self.forget(|kept| rests_on(kept, file) || rests_on(kept, folder_of(file)))
    }

    /// Forgets all houses.
    pub fn forget_all(&self) {
        self.known.borrow_mut().clear();
    }

    fn forget(&self, is_old: impl Fn(&Kept) -> bool) -> Vec<PathBuf> {
        let mut known = self.known.borrow_mut();
        let old: Vec<PathBuf> =
            known.iter().filter(|(_, kept)| is_old(kept)).map(|(folder, _)| folder.clone()).collect();
        for folder in &old {
            known.remove(folder);
        }
        old
    }
}

impl Kept {
    fn is_current(&self) -> bool {
        let today = self.found.house.today;
        today == today.map(|_| Day::today()) && self.stamps.iter().all(|(file, then)| stamp(file) == *then)
    }
}

fn stamp(file: &Path) -> Stamp {
    let found = file.metadata().ok()?;
    Some((found.modified().ok()?, found.len()))
}

/// The file of an address, without links in its folder; an address of another kind is a file that does not exist.
pub fn file_of(uri: &str) -> PathBuf {
    let path = path_of(uri);
    let folder = folder_of(&path).canonicalize();
    match (path.canonicalize(), folder, path.file_name()) {
        (Ok(whole), ..) => whole,
        (_, Ok(folder), Some(name)) => folder.join(name),
        _ => path,
    }
}

fn path_of(uri: &str) -> PathBuf {
    let escaped = uri.strip_prefix("file://").unwrap_or(uri);
    let mut bytes = Vec::with_capacity(escaped.len());
    let mut rest = escaped.as_bytes();
    while let Some((first, others)) = rest.split_first() {
        let code = others.get(..2).filter(|_| *first == b'%').and_then(|code| std::str::from_utf8(code).ok());
        if let Some(byte) = code.and_then(|code| u8::from_str_radix(code, 16).ok()) {
            bytes.push(byte);
            rest = &others[2..];
        } else {
            bytes.push(*first);
            rest = others;
        }
    }
    PathBuf::from(String::from_utf8_lossy(&bytes).into_owned())
}

/// The address of a file.
pub fn uri_of(file: &Path) -> String {
    let escaped = |byte: u8| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' | b'~' => char::from(byte).to_string(),
        other => format!("%{other:02X}"),
    };
    let path: String = file.to_string_lossy().bytes().map(escaped).collect();
    format!("file://{path}")
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::*;

    #[test]
    fn an_address_names_a_file_and_a_file_has_an_address() {
        assert_eq!(path_of("file:///jobs/J%202041%C3%A4.yaml"), Path::new("/jobs/J 2041ä.yaml"));
        assert_eq!(path_of("untitled:1%"), Path::new("untitled:1%"));
        assert_eq!(uri_of(Path::new("/jobs/J 2041ä.yaml")), "file:///jobs/J%202041%C3%A4.yaml");
    }

    thread_local! {
        static READ: Cell<usize> = const { Cell::new(0) };
    }

    fn found(file: &Path, _: Unsaved<'_>) -> Found {
        READ.set(READ.get() + 1);
        Found { rests_on: BTreeSet::from([folder_of(file).join("house.yaml")]), ..Found::default() }
    }

    #[test]
    fn a_house_is_read_again_only_when_what_it_rests_on_has_changed() {
        let folder = tempfile::tempdir().expect("a folder");
        let (plan, house) = (folder.path().join("a.yaml"), folder.path().join("house.yaml"));
        let houses = Houses::new(Finder { above: found, of_file: found });
        let read = |houses: &Houses| {
            houses.above(&plan, &|_| None);
            READ.get()
        };
        assert_eq!((read(&houses), read(&houses)), (1, 1));
        std::fs::write(&house, "house: 1\n").expect("written");
        assert_eq!((read(&houses), read(&houses)), (2, 2), "it has come to be");
        std::fs::write(&house, "house: 1\nname: x\n").expect("written");
        assert_eq!(read(&houses), 3);
        assert!(houses.touched(&plan).is_empty() && read(&houses) == 3);
        assert_eq!(houses.touched(&house), [folder.path()]);
        assert_eq!(read(&houses), 4);
    }
}
