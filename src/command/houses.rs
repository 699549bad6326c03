//! From the place of a plan to the house that judges it.

use std::collections::{BTreeSet, HashMap};
use std::fs::{self, File};
use std::io::{self, Read};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use globset::GlobBuilder;
use ignore::WalkBuilder;

use super::inputs::{Input, Kind, fixed_part, is_pattern, shown};
use super::{Status, complain, reason};
use crate::editor::{Finder, Found, Unsaved};
use crate::house::{self, House, KnownRule, Reading, folder_of};
use crate::plan::{Day, Shelf, Shelves};
use crate::report::{HouseNote, NotRead};
use crate::rules;
use crate::text::{Lines, Misread, decode};
use crate::words::excerpt;

const NAME: &str = house::FILE_NAME;
/// A larger file is no house file.
const LARGEST: u64 = 4 << 20;
/// More slips of one file are counted, not told.
const MOST: usize = 30;

/// A house with where it comes from.
pub struct Kept {
    /// Its file, as it is called; `None` for what testlamp ships with.
    pub path: Option<String>,
    /// What its file is called in sources.
    pub name: String,
    /// The folder of the file, without links.
    folder: PathBuf,
    /// The settings; `None` where the file cannot be taken.
    pub house: Option<House>,
    /// What reports say of it.
    pub note: Option<HouseNote>,
}

/// The houses of a run, each read once.
pub struct Houses {
    list: Vec<Kept>,
    /// The house of each folder, without links.
    by_folder: HashMap<PathBuf, usize>,
    /// The house of each folder as it was named, and the folder as seen from that of the house.
    seen: HashMap<PathBuf, (usize, Option<PathBuf>)>,
    /// The house that was named judges everything.
    named: Option<usize>,
    today: Option<Day>,
    /// House files that cannot be taken.
    pub broken: Vec<NotRead>,
}

impl Houses {
    /// The houses of a run: one that is named, or those that are found above the plans.
    ///
    /// # Errors
    /// The exit status, when the one that is named cannot be taken; what is wrong has been said.
    pub fn open(named: Option<&Path>, today: Option<Day>) -> Result<Self, Status> {
        let own = House { today, ..House::default() };
        let first = Kept { path: None, name: String::new(), folder: PathBuf::new(), house: Some(own), note: None };
        let mut houses = Self {
            list: vec![first],
            by_folder: HashMap::new(),
            seen: HashMap::new(),
            named: None,
            today,
            broken: Vec::new(),
        };
        if let Some(path) = named {
            let at = houses.load(path);
            houses.list[at].house.as_ref().ok_or(Status::Usage)?;
            houses.named = Some(at);
        }
        Ok(houses)
    }

    /// The shelves of all houses and the folders that they lie in, where more may come to be.
    pub fn shelves(&self) -> Vec<PathBuf> {
        let of = |kept: &Kept| {
            let shelves = kept.house.iter().flat_map(|house| &house.shelves.files);
            let files: Vec<PathBuf> = shelves.map(|shelf| kept.folder.join(&shelf.path)).collect();
            files
        };
        let files: BTreeSet<PathBuf> = self.list.iter().flat_map(of).collect();
        let folders: BTreeSet<PathBuf> = files.iter().map(|file| folder_of(file).to_owned()).collect();
        files.into_iter().chain(folders).collect()
    }

    /// A house by its number.
    pub fn at(&self, house: usize) -> &Kept {
        &self.list[house]
    }

    /// Finds the house of every input, and takes out what are files of houses themselves.
    pub fn assign(&mut self, inputs: &mut Vec<Input>) {
        for input in inputs.iter_mut() {
            input.house = match input.kind {
                Kind::Stdin => self.above(Path::new(".")),
                _ => self.above(folder_of(&input.path)),
            };
        }
        inputs.retain(|input| input.kind != Kind::Found || !self.is_own(input));
    }

    /// The house that judges what lies in a folder.
    pub fn above(&mut self, folder: &Path) -> usize {
        if let Some((known, _)) = self.seen.get(folder) {
            return *known;
        }
        let whole = folder.canonicalize();
        let at = match (self.named, &whole) {
            (Some(named), _) => named,
            (None, Ok(whole)) => self.walk_up(whole),
            (None, Err(_)) => 0,
        };
        let below = whole.ok().and_then(|whole| Some(whole.strip_prefix(&self.list[at].folder).ok()?.to_owned()));
        self.seen.insert(folder.to_owned(), (at, below));
        at
    }

    fn walk_up(&mut self, folder: &Path) -> usize {
        if let Some(known) = self.by_folder.get(folder) {
            return *known;
        }
        let file = folder.join(NAME);
        // A link that leads nowhere is meant as a house file, a folder of that name is not.
        let is_there = file.symlink_metadata().is_ok() && !file.is_dir();
        let at = match folder.parent() {
            _ if is_there => self.load(&file),
            Some(above) => self.walk_up(above),
            None => 0,
        };
        self.by_folder.insert(folder.to_owned(), at);
        at
    }

    /// Whether the house of an input leaves it out of what is found in its folder.
    pub fn leaves_out(&self, input: &Input) -> bool {
        let kept = self.at(input.house);
        let Some(house) = kept.house.as_ref().filter(|_| input.kind == Kind::Found) else { return false };
        let is_stated = house.plans.include.is_some() || house.plans.exclude.is_some();
        is_stated && self.seen_from_house(input).is_some_and(|path| house.plans.leaves_out(&path))
    }

    /// A file as seen from the folder of its house; `None` where it lies outside.
    fn seen_from_house(&self, input: &Input) -> Option<PathBuf> {
        let (_, below) = self.seen.get(folder_of(&input.path))?;
        Some(below.as_ref()?.join(input.path.file_name()?))
    }

    /// Whether a file is the house file itself or one of its shelves.
    fn is_own(&self, input: &Input) -> bool {
        let kept = self.at(input.house);
        if kept.path.is_none() {
            return false;
        }
        let Some(path) = self.seen_from_house(input) else { return false };
        let is_shelf = |house: &House| house.shelves.files.iter().any(|shelf| path == Path::new(&shelf.path));
        path == Path::new(&kept.name) || kept.house.as_ref().is_some_and(is_shelf)
    }

    /// Whether an input may hold something other than a plan: it was found, and the house does not say what it is.
    pub fn may_be_no_plan(&self, input: &Input) -> bool {
        match input.kind {
            Kind::Found => !self.takes_for_plan(input),
            Kind::Matched => true,
            Kind::Named | Kind::Stdin => false,
        }
    }

    /// Whether the house says that an input is a plan, whatever the file says.
    fn takes_for_plan(&self, input: &Input) -> bool {
        let includes = |house: &House| house.plans.include.is_some();
        self.at(input.house).house.as_ref().is_some_and(includes) && self.seen_from_house(input).is_some()
    }

    /// Reads a house file and tells what is wrong with it.
    fn load(&mut self, path: &Path) -> usize {
        let name = shown(&from_here(path));
        let folder = folder_of(path).canonicalize().unwrap_or_default();
        let short = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let house = match taken(path, &name, &short, &folder) {
            Ok(house) => Some(House { today: self.today, ..house }),
            Err(slips) => {
                self.broken.push(NotRead { path: name.clone(), why: told(&name, &slips) });
                None
            }
        };
        let note = house.as_ref().map(|house| HouseNote::new(&name, house));
        self.list.push(Kept { path: Some(name), name: short, folder, house, note });
        self.list.len() - 1
    }
}

/// Where house files of plans in these folders lie or might come to be, when none is named.
pub fn places<'a>(folders: impl Iterator<Item = &'a Path>) -> BTreeSet<PathBuf> {
    let whole: BTreeSet<PathBuf> = folders.filter_map(|folder| folder.canonicalize().ok()).collect();
    whole.iter().flat_map(|folder| folder.ancestors()).map(|folder| folder.join(NAME)).collect()
}

/// The house that judges one plan.
///
/// # Errors
/// The exit status, when its file cannot be taken; what is wrong has been said.
pub fn of_plan(named: Option<&Path>, plan: &Path) -> Result<House, Status> {
    let mut houses = Houses::open(named, Some(Day::today()))?;
    let is_stdin = plan.as_os_str() == "-";
    let folder = if is_stdin { Path::new(".") } else { folder_of(plan) };
    let at = houses.above(folder);
    houses.list.swap_remove(at).house.ok_or(Status::Usage)
}

/// Finds houses for an editor.
pub const FOR_EDITOR: Finder = Finder { above, of_file };

/// The house above a file that is being written, with the texts that are open in place of those on disk.
fn above(file: &Path, unsaved: Unsaved<'_>) -> Found {
    let folder = whole(folder_of(file));
    let places: Vec<PathBuf> = folder.ancestors().map(|folder| folder.join(NAME)).collect();
    let is_there = |file: &&PathBuf| unsaved(file).is_some() || (file.symlink_metadata().is_ok() && !file.is_dir());
    let mut found = match places.iter().find(is_there) {
        Some(file) => of_file(file, unsaved),
        None => Found { house: Rc::new(House { today: Some(Day::today()), ..House::default() }), ..Found::default() },
    };
    found.rests_on.extend(places);
    found
}

/// A folder without links; one that does not exist yet as it is called.
fn whole(folder: &Path) -> PathBuf {
    folder.canonicalize().unwrap_or_else(|_| folder.to_owned())
}

/// A house file that is being written, as far as it can be read.
fn of_file(path: &Path, unsaved: Unsaved<'_>) -> Found {
    let folder = whole(folder_of(path));
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let file = folder.join(&name);
    let today = Some(Day::today());
    let (mut reading, of_shelves) = match read(&file, &name, &name, &folder, unsaved) {
        Ok(read) => read,
        Err(slips) => {
            let misreads = slips.into_iter().map(|Slip(words)| Misread::new(0..0, words, "")).collect();
            let (house, rests_on) = (Rc::new(House { today, ..House::default() }), BTreeSet::from([file.clone()]));
            return Found { house, file: Some(file), rests_on, misreads, ..Found::default() };
        }
    };
    let of_shelves = of_shelves.into_iter().map(|(span, Slip(words))| Misread::new(span, words, ""));
    reading.misreads.extend(of_shelves);
    reading.in_order();
    let shelves: Vec<PathBuf> = reading.house.shelves.files.iter().map(|shelf| folder.join(&shelf.path)).collect();
    let folders = shelves.iter().map(|file| folder_of(file).to_owned());
    let rests_on = folders.chain(shelves.iter().cloned()).chain([file.clone()]).collect();
    let Reading { text, tree, house, misreads, .. } = reading;
    Found { house: Rc::new(House { today, ..house }), file: Some(file), shelves, rests_on, text, tree, misreads }
}

/// A path as seen from the working folder, where it lies below it.
fn from_here(path: &Path) -> PathBuf {
    let here = std::env::current_dir().and_then(|here| here.canonicalize());
    let below = here.ok().and_then(|here| path.strip_prefix(here).ok());
    below.unwrap_or(path).to_owned()
}

/// Something wrong in a file, in a sentence that begins with the place.
struct Slip(String);

fn slips(file: &str, text: &str, misreads: &[Misread]) -> Vec<Slip> {
    let lines = Lines::new(text);
    let slip = |misread: &Misread| {
        let (line, column) = lines.position(text, misread.span.start);
        let link = if misread.mend.is_empty() { "" } else { "; " };
        Slip(format!("{file}:{line}:{column}: unreadable: {}{link}{}", misread.what, misread.mend))
    };
    misreads.iter().map(slip).collect()
}

/// Tells what is wrong with a house file and gives it back as one sentence.
fn told(name: &str, slips: &[Slip]) -> String {
    for Slip(words) in slips.iter().take(MOST) {
        complain(words);
    }
    let more = slips.len().saturating_sub(MOST);
    if more > 0 {
        complain(&format!("and {more} more in {name}"));
    }
    let first = slips.first().map(|Slip(words)| words.as_str()).unwrap_or_default();
    let others = match slips.len().saturating_sub(1) {
        0 => String::new(),
        more => format!(" (and {more} more)"),
    };
    format!("no plan is judged by it: {first}{others}")
}

/// A house file that can be taken whole.
fn taken(path: &Path, name: &str, short: &str, folder: &Path) -> Result<House, Vec<Slip>> {
    let (reading, of_shelves) = read(path, name, short, folder, &|_| None)?;
    let mut slips = slips(name, &reading.text, &reading.misreads);
    slips.extend(of_shelves.into_iter().map(|(_, slip)| slip));
    if slips.is_empty() { Ok(reading.house) } else { Err(slips) }
}

/// A house file with its shelves, as far as they can be read, and what is wrong on shelves, each with where the house file
/// names it.
type Taken = (Reading, Vec<(Range<usize>, Slip)>);

fn read(path: &Path, name: &str, short: &str, folder: &Path, unsaved: Unsaved<'_>) -> Result<Taken, Vec<Slip>> {
    let text = text_of(path, name, "a house file", unsaved)?;
    let known: Vec<KnownRule> = rules::all().into_iter().map(crate::judge::Rule::known).collect();
    let mut reading = house::read(text, short, &known);
    let of_shelves = shelves(&mut reading, folder, unsaved);
    reading.in_order();
    Ok((reading, of_shelves))
}

/// The text of a file that is small and readable.
fn text_of(path: &Path, name: &str, what: &str, unsaved: Unsaved<'_>) -> Result<String, Vec<Slip>> {
    if let Some(text) = unsaved(path) {
        return Ok(text);
    }
    let refused = |why: &str| vec![Slip(format!("{name} could not be read: {why}"))];
    let open = || -> io::Result<Vec<u8>> {
        let found = fs::metadata(path)?;
        if found.is_dir() {
            return Err(io::Error::other(format!("it is a folder, and {what} is a file")));
        }
        if !found.is_file() {
            return Err(io::Error::other("it is no file"));
        }
        let mut bytes = Vec::new();
        File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > LARGEST {
            return Err(io::Error::other(format!("it is larger than 4 MB, and {what} is a few hundred lines")));
        }
        Ok(bytes)
    };
    let bytes = open().map_err(|error| refused(&reason(&error)))?;
    decode(bytes).map_err(|slip| slips(name, &slip.0, std::slice::from_ref(&slip.1)))
}

/// Reads the shelf files that a house names into it.
fn shelves(reading: &mut Reading, folder: &Path, unsaved: Unsaved<'_>) -> Vec<(Range<usize>, Slip)> {
    let (mut found, mut on_shelves) = (Vec::new(), Shelves::default());
    for (span, pattern) in std::mem::take(&mut reading.shelves) {
        match files(folder, &pattern, unsaved) {
            Ok(files) => {
                for file in files {
                    if on_shelves.files.iter().any(|known| known.path == file) {
                        continue;
                    }
                    let (shelf, slips) = shelf(folder, &file, unsaved);
                    on_shelves.files.extend(shelf);
                    found.extend(slips.into_iter().map(|slip| (span.clone(), slip)));
                }
            }
            Err(what) => reading.misreads.push(Misread::new(span, what, "")),
        }
    }
    reading.house.shelves = Arc::new(on_shelves);
    found
}

/// A shelf file as far as it can be read, and what is wrong with it.
fn shelf(folder: &Path, file: &str, unsaved: Unsaved<'_>) -> (Option<Shelf>, Vec<Slip>) {
    let path = folder.join(file);
    match text_of(&path, &shown(&from_here(&path)), "a shelf file", unsaved) {
        Ok(text) => {
            let (shelf, misreads) = house::read_shelf(file.to_owned(), text);
            let slips = slips(&shown(&from_here(&path)), &shelf.text, &misreads);
            (Some(shelf), slips)
        }
        Err(slips) => (None, slips),
    }
}

/// The files of a pattern below a folder, by path with slashes.
fn files(folder: &Path, pattern: &str, unsaved: Unsaved<'_>) -> Result<Vec<String>, String> {
    let wanted = pattern.strip_prefix("./").unwrap_or(pattern);
    let quoted = excerpt(pattern, 40);
    if !is_pattern(wanted) {
        return match folder.join(wanted).symlink_metadata() {
            _ if unsaved(&folder.join(wanted)).is_some() => Ok(vec![wanted.to_owned()]),
            Ok(_) => inside(folder, wanted).map(|()| vec![wanted.to_owned()]),
            Err(_) => Err(format!("there is no file `{quoted}` below the folder of the house")),
        };
    }
    let matcher = GlobBuilder::new(wanted).literal_separator(true).build();
    let matcher =
        matcher.map_err(|error| format!("`{quoted}` is no pattern of files: {}", error.kind()))?.compile_matcher();
    let fixed = fixed_part(wanted);
    let root = folder.join(&fixed);
    let mut found = Vec::new();
    if root.is_dir() {
        inside(folder, &slashed(&fixed))?;
        for entry in WalkBuilder::new(&root).standard_filters(false).sort_by_file_path(Ord::cmp).build().flatten() {
            let name = slashed(entry.path().strip_prefix(folder).unwrap_or(entry.path()));
            if !entry.path().is_dir() && matcher.is_match(&name) {
                inside(folder, &name)?;
                found.push(name);
            }
        }
    }
    if found.is_empty() { Err(format!("no file below the folder of the house matches `{quoted}`")) } else { Ok(found) }
}

/// Refuses a path below a folder that leads out of it through a link.
fn inside(folder: &Path, name: &str) -> Result<(), String> {
    let shown = excerpt(name, 80);
    match folder.join(name).canonicalize() {
        Ok(whole) if whole.starts_with(folder) => Ok(()),
        Ok(_) => Err(format!("`{shown}` is a link that leads out of the folder of the house")),
        Err(error) => Err(format!("`{shown}` could not be read: {}", reason(&error))),
    }
}

fn slashed(path: &Path) -> String {
    path.to_string_lossy().replace('\\', "/")
}
